"""The next master setup: made of a key shot's sheet, tried against every shot, then published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.table import Row, Table, build_table
from samelight.drift.words import first_names
from samelight.sequence.contents import Contents
from samelight.sequence.session import Session
from samelight.sequence.setups import comes_from
from samelight.sequence.store import SheetStore
from samelight.sheets.errors import SamelightError
from samelight.sheets.moved import each_moved
from samelight.sheets.names import parameter_name
from samelight.sheets.sequence import master_versions
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document, read_document
from samelight.sheets.values import alike
from samelight.sheets.vocabulary import FORMAT_VERSION, together
from samelight.sheets.writing import write_sheet, yaml_text

_KEPT = (
    "units",
    "up_axis",
    "north",
    "working_space",
    "lights",
    "environments",
    "render",
    "surfaces",
    "passes",
)
"""What a master takes from a key shot. Camera, marks and cost are the shot's own."""
_START = ("frames", "sync_frame")
"""What says where animation starts: a master has it where it keeps some."""


class PublishError(SamelightError):
    """A master setup that cannot be published as asked."""


class NeedsDespiteError(PublishError):
    """One that can be published as asked by whoever says that it is to be, despite what the message says."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A master setup that is not published yet, and `tried`: the one it is tried against, None where there is none.

    `sheet` is what shots would be compared with; `setup` is the name of the set-up that it is for, where there are several.
    """

    version: int
    path: Path
    tree: Mapping[str, Any]
    sheet: Sheet
    tried: Sheet | None = None
    setup: str = ""

    @property
    def text(self) -> str:
        """Which master setup it would be, in words."""
        return f"{self.setup} master v{self.version:03d}".lstrip()

    @property
    def tried_text(self) -> str:
        """What it is tried against, in words."""
        if self.tried is not None:
            return f"tried against master v{self.tried.version:03d}"
        return "the first" if self.version == 1 else "not tried: the master before it cannot be read"

    def by(self, who: str) -> Candidate:
        """The same setup, published by somebody else."""
        return replace(self, tree={**self.tree, "published": {**self.tree["published"], "by": who}})


def candidate_from(
    session: Session, shot: str, who: str, *, despite_breaks: bool = False, setup: str | None = None
) -> Candidate:
    """The next master version, made of a shot's current sheet: next to what the session has seen.

    It is of the shot's own set-up, or of the one that is named.

    Raises `PublishError` when the shot has no readable sheet, or `despite_breaks` is false and it has open breaks, or
    there is a master that cannot be read: what everybody is to follow should not itself break a lock by accident.
    """
    sheet = session.contents.sheets.get(shot)
    if sheet is None:
        raise PublishError(f"{shot} has no readable sheet to make a master of")
    of = session.contents.setup_asked_for(session.contents.setup_of(shot).name if setup is None else setup)
    if of.master is None and of.newest_master and not despite_breaks:
        raise NeedsDespiteError(
            f"{shot} cannot be tried against the current master, which cannot be read: mend that first, or publish despite it"
        )
    broken = unsettled_breaks(session, shot)
    if broken and not despite_breaks:
        raise NeedsDespiteError(
            f"{shot} itself has breaks that are not intended ({first_names(broken, 5)}): decide on them first, or publish despite them"
        )
    version = of.newest_master + 1
    tree: dict[str, Any] = {
        **as_master(sheet.typed),
        "version": version,
        "key_shot": shot,
        "published": {"by": who, "on": _today(), "from": f"{shot} v{sheet.version:03d}"},
    }
    path = session.contents.folder / "master" / f"{of.name or 'master'}.v{version:03d}.yaml"
    text = yaml_text(tree)
    made = sheet_from_document(
        parse_document(path, text),
        version=version,
        given=session.contents.sequence.conventions,
        kinds=session.contents.policy.kinds,
    )
    tried = of.master if of.master_version is None else of.published.get(of.master_version, of.master)
    return Candidate(version, path, tree, _as_held(session, of, made), tried, of.name)


def as_master(typed: Mapping[str, Any]) -> dict[str, Any]:
    """Of a shot's sheet what a master is made of, with where each light stands in the scene that it was captured from: captures of
    other shots go by it."""
    kept = {key: typed[key] for key in _KEPT if key in typed}
    if _is_animated(kept):
        kept |= {key: typed[key] for key in _START if key in typed}
    source = typed.get("source")
    lights = source.get("lights") if isinstance(source, Mapping) else None
    paths = {"source": {"lights": dict(lights)}} if isinstance(lights, Mapping) and lights else {}
    return {"samelight": FORMAT_VERSION, **kept, **paths}


def _as_held(session: Session, setup: Contents, made: Sheet) -> Sheet:
    """A master as shots would be compared with it, where its set-up comes from another."""
    stated = session.contents.sequence.setups.get(setup.name)
    if stated is None or stated.base is None:
        return made
    base = session.contents.setup_asked_for(stated.base).master
    return comes_from(stated, {made.version: made}, base, SheetStore(session.contents.folder))[made.version]


def _is_animated(typed: Any) -> bool:
    """Whether anything in a typed tree has keys."""
    if not isinstance(typed, Mapping):
        return False
    return "keys" in typed or any(map(_is_animated, typed.values()))


def _today() -> str:
    """The day on the user's own clock."""
    return datetime.now().astimezone().date().isoformat()


def unsettled_breaks(session: Session, shot: str) -> list[str]:
    """The locked parameters of a shot that differ from the current master and that nobody has intended."""
    column = session.table.column(shot)
    return [
        session.table.rows[row].parameter
        for row, where in session.cases.unsettled_cells(Grade.BREAK)
        if column is not None and where == column
    ]


class Follows(StrEnum):
    """What a shot does when a parameter of the master changes."""

    FOLLOWS = "follows"
    HOLDS = "holds its own"
    THERE = "is there already"


@dataclass(frozen=True, slots=True)
class Effect:
    """What a new master would do to one parameter of one shot. `lapses`: a decision on it would no longer hold."""

    shot: str
    parameter: str
    follows: Follows
    lapses: bool


@dataclass(frozen=True, slots=True)
class Preview:
    """What would happen. `changed` are the parameters that the candidate changes, in whatever shots; `tried` are the shots it
    was tried on, in the order of their set-ups; `heirs` are the set-ups that it changes since they are held to its own."""

    changed: tuple[str, ...]
    effects: tuple[Effect, ...]
    tried: tuple[str, ...]
    heirs: tuple[str, ...] = ()

    def shots(self, follows: Follows) -> tuple[str, ...]:
        """The shots with at least one effect of this kind, in cut order."""
        found = {effect.shot for effect in self.effects if effect.follows is follows}
        return tuple(shot for shot in self.tried if shot in found)

    def lapsing(self) -> tuple[Effect, ...]:
        """The effects by which a decision would lapse."""
        return tuple(effect for effect in self.effects if effect.lapses)

    @property
    def heirs_text(self) -> str:
        """Which other set-ups it changes, in words; empty where it changes none."""
        return f"Held to it and changed with it: {first_names(self.heirs, 5)}." if self.heirs else ""


def preview(session: Session, candidate: Sheet, setup: str = "") -> Preview:
    """Try a candidate against every shot, or against those of the set-up that it is for and of those that are held to it.

    A shot follows where it equals today's master, and so takes the new value with its next reference; it holds its
    own value where it equals neither. Where a light stands and points counts as one.
    """
    changed: dict[str, None] = {}
    effects: list[Effect] = []
    tried: list[str] = []
    heirs: list[str] = []
    for of, held in _held_with(session, session.contents.setup_asked_for(setup), candidate):
        names, found = _effects(session, of, held)
        if names and of.name != setup:
            heirs.append(of.name)
        changed.update(dict.fromkeys(names))
        effects += found
        tried += of.shots
    return Preview(tuple(changed), tuple(effects), tuple(tried), tuple(heirs))


def _held_with(session: Session, setup: Contents, candidate: Sheet) -> list[tuple[Contents, Sheet]]:
    """A set-up with its candidate, and whatever comes from it, by way of others too, with what it would be compared with."""
    found = {setup.name: (setup, candidate)}
    waiting = [setup.name]
    while waiting:
        base = waiting.pop()
        for part in session.contents.setups:
            stated = session.contents.sequence.setups.get(part.name)
            own = part.published.get(part.master_version or 0)
            if part.follows or stated is None or own is None or stated.base != base or part.name in found:
                continue
            store = SheetStore(session.contents.folder)
            held = comes_from(stated, {own.version: own}, found[base][1], store)[own.version]
            found[part.name] = part, held
            waiting.append(part.name)
    return list(found.values())


def _effects(session: Session, of: Contents, candidate: Sheet) -> tuple[list[str], list[Effect]]:
    """What a candidate changes of what the shots of one set-up are compared with, and what that does to each of them."""
    table = session.table_of(of)
    against = each_moved(candidate, session.contents.sheets, table.shots)
    after = build_table(table.shots, session.contents.sheets, against, of.policy)
    decided = session.cases.judged().states
    changed: list[str] = []
    effects: list[Effect] = []
    for index, row in enumerate(after.rows):
        before, shown = table.row(row.parameter), session.table.row(row.parameter)
        if before is None or shown is None or not row.leaf or not _master_moves(table, after, before, index):
            continue
        changed.append(row.parameter)
        has_its_own = _stands_its_own_way(table, after, row)
        for column, shot in enumerate(after.shots):
            if shot not in session.contents.sheets:
                continue
            grades = table.grade[before, column], after.grade[index, column]
            place = shown, session.table.column(shot)
            state = (
                State.UNDECIDED if place[1] is None else decided.get((place[0], place[1]), State.UNDECIDED)
            )
            lapses = state is State.INTENDED or state.to_mend
            follows = Follows.HOLDS if has_its_own[column] else _follows(*grades)
            effects.append(Effect(shot, row.parameter, follows, lapses))
    return [*changed, *_only_in(after, table)], effects


def _stands_its_own_way(before: Table, after: Table, row: Row) -> NDArray[np.bool_]:
    """By shot, whether something that is taken over together with a row is neither the old master's nor the new one's."""
    found = np.zeros(len(after.shots), dtype=np.bool_)
    for leaf in together(row.section, row.leaf):
        name = parameter_name(row.section, row.group, leaf)
        old, new = before.row(name), after.row(name)
        if old is not None and new is not None:
            found |= (before.grade[old] > Grade.SAME) & (after.grade[new] > Grade.SAME)
    return found


def _follows(before: np.uint8, after: np.uint8) -> Follows:
    if before == Grade.SAME:
        return Follows.FOLLOWS
    return Follows.THERE if after == Grade.SAME else Follows.HOLDS


def _master_moves(before: Table, after: Table, row: int, index: int) -> bool:
    old = next((entry.master for entry in before.line(row) if entry is not None), None)
    new = next((entry.master for entry in after.line(index) if entry is not None), None)
    return not alike(old, new)


def _only_in(after: Table, before: Table) -> list[str]:
    return [row.parameter for row in after.rows if not row.leaf and before.row(row.parameter) is None]


def publish(candidate: Candidate) -> Path:
    """Write the master setup, where what it was tried against is still the master.

    Raises `PublishError` where another was published or what it was tried against changed since, and `WriteError` where
    another is published at the same moment: of all who do so with one version one alone succeeds.
    """
    newest = max(master_versions(candidate.path.parent.parent, candidate.setup), default=0)
    if newest != candidate.version - 1:
        there = f"v{newest:03d} is the newest" if newest else "there is none"
        raise PublishError(
            f"{candidate.text} was not published: it was {candidate.tried_text}, "
            f"and now {there}. Look at what it would do now, and publish again"
        )
    if candidate.tried is not None and not _is_as_it_was(candidate.tried):
        raise PublishError(
            f"{candidate.text} was not published: master v{candidate.tried.version:03d}, which it was tried against, "
            "has changed since. Look at what it would do now, and publish again"
        )
    write_sheet(candidate.path, candidate.tree, overwrite=False)
    return candidate.path


def _is_as_it_was(sheet: Sheet) -> bool:
    try:
        data = read_document(sheet.path).data
    except SamelightError:
        return False
    return repr(data) == repr(_plain(sheet.typed))


def _plain(typed: Any) -> Any:
    """A typed tree, of which a kept one is put together as it is asked for, as it was read."""
    return {key: typed[key] for key in typed}
