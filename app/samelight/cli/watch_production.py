"""`samelight watch` of a production: all its sequences followed at once."""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import cycle
from pathlib import Path
from typing import Any

from samelight.cli.production import own_arguments, production_of
from samelight.cli.shots import asked_shots
from samelight.cli.state_file import StateFile
from samelight.cli.terminal import COULD_NOT_RUN, complain
from samelight.cli.watch import milliseconds, print_trouble, state_of, tell
from samelight.sequence.case_events import Snapshot, from_rows, snapshot
from samelight.sequence.session import Session, open_store
from samelight.sequence.store import SheetStore
from samelight.sheets.errors import SamelightError
from samelight.sheets.shot_lists import UnknownLighterError
from samelight.sheets.unforeseen import sentence_of
from samelight.sheets.vocabulary import FORMAT_VERSION


@dataclass(slots=True)
class _Followed:
    """One sequence, and how its cases stood when it was looked at last; None where nobody knows that yet."""

    name: str
    own: argparse.Namespace
    cases: Snapshot | None
    session: Session | None = None
    shots: frozenset[str] = frozenset()
    troubles: frozenset[str] = frozenset()
    is_nobodys: bool = field(default=False)
    """Whether it does not name the lighter who is asked for."""

    def look(self) -> None:
        """Read what changed, and tell what happened. What cannot be read is told once, and looked at again."""
        try:
            if self.session is None:
                self.session = open_store(SheetStore(self.own.folder, common=self.own.common))
            else:
                self.session.reload()
            self.shots = frozenset(asked_shots(self.own, self.session))
        except UnknownLighterError:
            self.is_nobodys = True
            return
        except Exception as error:  # noqa: BLE001 - the other sequences are followed, and this one is looked at again
            said = sentence_of(error)
            if said not in self.troubles:
                print_trouble(self.name, said, self.name)
            self.troubles = frozenset({*self.troubles, said})
            return
        self.is_nobodys = False
        before = self.cases if self.cases is not None else snapshot(self.session)
        self.cases, self.troubles = tell(self.session, self.shots, before, self.troubles, self.name)

    @property
    def is_whole(self) -> bool:
        """Whether all of it could be looked at."""
        return self.is_nobodys or (self.session is not None and self.session.whole and not self.troubles)


def watch_production(arguments: argparse.Namespace) -> int:
    """Print what happens in any sequence until it is stopped. Raises `SamelightError`."""
    production = production_of(arguments)
    file = StateFile(arguments.state, lambda said: print_trouble(production.title, said))
    known = file.read(_told, " of a production") or {}
    followed = {
        name: _Followed(name, own_arguments(arguments, production, name, shots), known.get(name))
        for name, shots in production.shots(arguments.shots).items()
    }
    state = dict(known)

    def look(name: str) -> None:
        one = followed[name]
        one.look()
        if one.cases is not None and (file.trouble or state.get(name) != one.cases):
            state[name] = one.cases
            kept = {of: state_of(cases) for of, cases in state.items()}
            file.keep({"samelight": FORMAT_VERSION, "sequences": kept})

    for name in followed:
        look(name)
    if followed and all(one.is_nobodys for one in followed.values()):
        raise SamelightError(f"no sequence of {production.title} names a lighter {arguments.lighter}")
    if not arguments.once:
        for name in ticks_in({name: one.own.folder for name, one in followed.items()}, arguments.every):
            look(name)
    for name, one in followed.items():
        for trouble in sorted(one.troubles):
            complain(f"{name}: {trouble}")
    if file.trouble:
        complain(file.trouble)
    return 0 if not file.trouble and all(one.is_whole for one in followed.values()) else COULD_NOT_RUN


def ticks_in(folders: Mapping[str, Path], every: float) -> Iterator[str]:
    """The names of the sequences in which something changed; where nobody tells of anything for so many seconds one of them, each in
    its turn. A folder that is not there is looked at in its turn alone."""
    from watchfiles import watch  # which no other command needs

    turns = cycle(folders)
    real = [(str(folder.resolve()), name) for name, folder in folders.items() if folder.is_dir()]
    while not real:
        time.sleep(every)
        yield next(turns)
        real = [(str(folder.resolve()), name) for name, folder in folders.items() if folder.is_dir()]
    for changes in watch(
        *dict(real), watch_filter=None, yield_on_timeout=True, rust_timeout=milliseconds(every), debounce=400
    ):
        names = {name for _, path in changes for folder, name in real if f"{path}/".startswith(f"{folder}/")}
        yield from (name for name in folders if name in names)
        if not changes:
            yield next(turns)


def _told(data: Any) -> dict[str, Snapshot]:
    """How cases stood in each sequence."""
    return {str(name): from_rows(of["told"]) for name, of in data["sequences"].items()}
