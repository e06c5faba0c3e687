"""Watches a sequence folder, and reads again only what changed, while the window goes on."""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path

import watchfiles
from PySide6.QtCore import QObject, QThread, Signal

from samelight.decisions.ledger import FOLDER, Ledger
from samelight.gui.background.background import reason
from samelight.gui.background.folder_events import Events, folder_events
from samelight.sequence.capturing import bring_up_to_date
from samelight.sequence.colour_views import config_stamp
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sequence.references import (
    Against,
    Comparison,
    NoReferenceError,
    compare,
    compare_again,
    versions_of,
)
from samelight.sequence.session import Session
from samelight.sheets import frames
from samelight.sheets.sequence import master_versions

LOOK_EVERY = 1500
"""Milliseconds between looks where no event comes: a share tells nothing of what other machines write."""

ALL_EVERY = 10.0
"""Seconds between looks at every file of the ledger: one that was edited in its place on another machine tells nothing."""

_SHARE = 20.0
"""Such a look takes a twentieth of the time at most."""

RESTS = 600
"""How many times as long as a look at everything takes the processor there is none after it, but for what events tell of: a
film that nobody works on costs a sixth of a per cent of it, and as much for its ledger."""
LONGEST_REST = 120.0
"""Seconds after which everything is looked at in any case."""
SHORTEST_REST = 2 * LOOK_EVERY / 1000
"""Seconds between looks at everything while events come without a pause."""

_FRESH = 2.0
_RETRIES = 6
_PAUSE = 0.3

_OF_NO_SHOT = frozenset({"master", "decisions", frames.FOLDER, "measured", "views"})
"""Folders of a sequence in which nothing is the sheet of a shot. `master` is looked at each time."""

_MANY = 500
"""Events. To find the shots of more costs more than to look at all shots of a film."""


Held = tuple[Contents, Comparison]
"""A sequence as it was read, and how it was compared."""


class Live(QThread):
    """One watcher for one opened sequence.

    Events of the system bring changes at once. A look at every file's size and time finds those that come without an event:
    every second and a half, and more rarely where it costs much.
    """

    changed = Signal(object, object)
    """What was read, and how it compares with the reference that is asked for."""
    decided = Signal()
    """The ledger's folder changed."""
    recoloured = Signal()
    """The colour config that frames are seen through is another one."""
    troubled = Signal(str)
    """The sequence cannot be read now; what is shown is what was read last. Empty once it can again."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._folder: Path = session.contents.folder
        self._store: SheetStore = session.contents.store
        self._contents: Contents = session.contents
        self._held: Held = session.contents, session.comparison
        """What was compared last, and how; replaced whole, since the window's thread does so too."""
        self._stop = threading.Event()
        self._ledger: Ledger = session.ledger
        self._config = config_stamp(session.contents.sequence)
        self._all_at = 0.0
        """When every file of the ledger is to be asked for next."""
        self._trouble = ""
        self._whole, self._decisions = _Rest(), _Rest()
        """From looks at everything, and from those at the ledger."""
        self._lost = False
        """Whether there is no saying any more which shots were touched."""

    def stop(self) -> None:
        """End the watching and wait for its end."""
        self._stop.set()
        self.wait()

    def run(self) -> None:
        self._look_at_decisions(None)  # what came since they were read
        while not self._stop.is_set():
            try:
                for events in folder_events(self._stop, LOOK_EVERY, str(self._folder)):
                    self._hear(events)
            except (OSError, RuntimeError):
                # The folder is gone, or the system gives no watches. To ask for them again costs as much as a look.
                self._look_at_decisions(frozenset())
                self._look_at_everything()
                while not self._stop.wait(LOOK_EVERY / 1000) and not self._whole.is_over:
                    self._hear(set())

    def _hear(self, events: Events) -> None:
        """Look at what events tell of, and then at everything where it is time; they may come so often that there is no pause."""
        due = self._whole.until
        if events or self._decisions.is_over:
            with self._decisions.after():
                self._look_at_decisions(decisions_in(events, self._ledger.folder))
        if events:
            shots = None if self._lost else touched(self._folder, events)
            if shots is None:
                due = -math.inf
            else:
                due = max(due, self._whole.since + SHORTEST_REST)
                if not is_of_ledger(self._folder, events):
                    self.look(shots)
        if time.monotonic() >= due:
            self._look_at_everything()

    def _look_at_everything(self) -> None:
        with self._whole.after():
            self.look(None)

    def look(self, touched: frozenset[str] | None) -> None:
        """See what changed: of the shots that were touched where that is known, of everything where it is not."""
        if touched is None:
            self._lost = False
            self._look_at_config()
        try:
            if touched is None and self._contents.sequence.scenes is not None:
                bring_up_to_date(self._store)
            contents = self._settled(touched)
            compared = None
            if contents != self._contents or self._other_versions(contents):
                compared = self._compared(contents)
        except Exception as error:  # noqa: BLE001 - the window goes on with what it had
            self._lost = True
            self._say(reason(error) if self._ledger.files.home.is_there() else self._offline())
            return
        self._say("")
        if compared is not None:
            self.changed.emit(contents, compared)
            self._contents = contents

    def _look_at_config(self) -> None:
        config = config_stamp(self._contents.sequence)
        if config != self._config:
            self._config = config
            self.recoloured.emit()

    def _look_at_decisions(self, events: frozenset[str] | None) -> None:
        """See what is new in the ledger, and what of it changed as events tell, None where they do not.

        What nobody tells of is found when every file is asked for, which is done now and then, as long as it takes a
        small part of the time.
        """
        start = time.monotonic()
        thoroughly = events is None or start >= self._all_at
        if self._ledger.look(thoroughly=thoroughly, touched=events or ()):
            self.decided.emit()
        if thoroughly:
            now = time.monotonic()
            self._all_at = now + max(ALL_EVERY, _SHARE * (now - start))

    def _offline(self) -> str:
        return f"offline: {self._folder} cannot be reached. You see it as it was, and cannot decide until it is back"

    def hold(self, contents: Contents, comparison: Comparison) -> None:
        """Compare with another reference from now on, that of a comparison of some contents."""
        self._held = contents, comparison

    def _compared(self, contents: Contents) -> Comparison:
        held = was, before = self._held
        try:
            comparison = compare_again(before, was, contents)
        except NoReferenceError:  # what the window compares with has gone
            comparison = compare(contents)
        if self._held is held:
            self._held = contents, comparison
        return comparison

    def _other_versions(self, contents: Contents) -> bool:
        """Whether versions that shots are compared with are others now: only the chosen one of a shot is in the contents."""
        _, before = self._held
        if before.reference.against is not Against.VERSIONS:
            return False
        sheets = versions_of(contents, before.reference.shot or "")[0]
        return list(sheets) != list(before.sheets) or any(
            sheet is not before.sheets[name] for name, sheet in sheets.items()
        )

    def _settled(self, touched: frozenset[str] | None) -> Contents:
        """What the folder holds, read again while a file that was just touched cannot be read: it is being written."""
        contents = read_contents(self._store, only=touched)
        for _ in range(_RETRIES):
            if not self._half_written(contents) or self._stop.wait(_PAUSE):
                break
            contents = read_contents(self._store)
        return contents

    def _half_written(self, contents: Contents) -> bool:
        was, cut = self._contents, contents.sequence.cut_file
        unreadable = set(contents.versions) - set(contents.sheets)
        newly = unreadable - (set(was.versions) - set(was.sheets))
        paths = [path for shot in newly for path in contents.versions[shot].values()]
        for setup in contents.parts:
            before = was.setup_called(setup.name)
            if setup.master is None and before is not None and before.master is not None:
                paths += master_versions(self._folder, setup.name).values()
        if contents.cut is None and was.cut is not None and cut is not None:
            paths.append(cut)
        return any(_age(path) < _FRESH for path in paths)

    def _say(self, trouble: str) -> None:
        if trouble != self._trouble:
            self._trouble = trouble
            self.troubled.emit(trouble)


class _Rest:
    """The rest from one kind of look: how long it is hangs on what the last of them took of the processor."""

    def __init__(self) -> None:
        self.since = self.until = -math.inf

    @property
    def is_over(self) -> bool:
        return time.monotonic() >= self.until

    @contextmanager
    def after(self) -> Iterator[None]:
        """Rest from what is done in here."""
        start = time.thread_time()
        yield
        self.since = time.monotonic()
        self.until = self.since + rest_after(time.thread_time() - start)


def rest_after(look: float) -> float:
    """Seconds without a look at everything after one that took so many seconds of the processor.

    >>> rest_after(0.002), rest_after(0.03), rest_after(9.0)
    (1.2, 18.0, 120.0)
    """
    return min(RESTS * look, LONGEST_REST)


def touched(folder: Path, events: Collection[tuple[watchfiles.Change, str]]) -> frozenset[str] | None:
    """The shots of which events tell something; None where that may be any, and where there are no events, or too many.

    Files that lie in the folder itself, and those in its folders of no shot, touch none. Of what lies behind a link, or
    in a folder that is not known here, nobody can tell whose it is.
    """
    if not 0 < len(events) <= _MANY:
        return None
    real, whole = folder.resolve(), folder.absolute()
    where: dict[Path, Path] = {}
    shots: set[str] = set()
    for _, event in events:
        place = Path(event)
        parts = _below(place, folder, whole, real)
        if not parts:
            return None
        above = place.parent
        if above not in where:  # to follow links asks for every step of a way, and a share answers slowly
            where[above] = above.resolve()
        in_shots, in_ledger = parts[0] == "shots", parts[0] == FOLDER and len(parts) > 1
        if where[above] != real.joinpath(*parts[:-1]) or (not in_ledger and place.is_symlink()):
            return None
        if in_shots and len(parts) > 1:
            shots.add(parts[1])
        elif parts[0] not in _OF_NO_SHOT and (len(parts) > 1 or in_shots or place.is_dir()):
            return None
    return frozenset(shots)


def is_of_ledger(folder: Path, events: Collection[tuple[watchfiles.Change, str]]) -> bool:
    """Whether events tell of the ledger's folder, and of nothing else."""
    ways = (str(folder.absolute() / FOLDER), str(folder.resolve() / FOLDER))
    return bool(events) and all(os.path.dirname(event) in ways for _, event in events)  # noqa: PTH120


def decisions_in(events: Collection[tuple[watchfiles.Change, str]], folder: Path) -> frozenset[str] | None:
    """The names of the ledger's files of which events tell something; None where there are too many."""
    if len(events) > _MANY:
        return None
    return frozenset(os.path.basename(event) for _, event in events if folder.name in event)  # noqa: PTH119


def _below(place: Path, *folders: Path) -> tuple[str, ...]:
    """The way to a place from the first of the folders that it is in; empty where it is in none."""
    return next((place.relative_to(one).parts for one in folders if place.is_relative_to(one)), ())


def _age(path: Path) -> float:
    try:
        return time.time() - path.stat().st_mtime
    except OSError:
        return 0.0
