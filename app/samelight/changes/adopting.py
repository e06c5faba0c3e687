"""Carrying a new master into shots that stand on an older one, with what was meant kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from samelight.changes.next_text import next_text
from samelight.changes.respell.put_back import Leaf, put_back
from samelight.decisions.state import State
from samelight.drift.metrics import kind_of, same, says_nothing
from samelight.drift.structure import differences
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.moved import moved_to
from samelight.sheets.names import parameter_name
from samelight.sheets.sequence import next_sheet
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import Patterns, together
from samelight.sheets.writing import write_whole


@dataclass(frozen=True, slots=True)
class Adoption:
    """What a shot's next version would be.

    `taken` are the parameters that follow the new master; `kept` those that a decision holds; `held` those where the
    shot has a value of its own that nobody decided on; `left` those that could not be respelt and stay as they are. Where a
    light stands and points is taken, kept or held as one: a new direction in an old place lights something else.
    """

    shot: str
    base: int
    path: Path
    tree: dict[str, Any]
    taken: tuple[str, ...]
    kept: tuple[str, ...]
    held: tuple[str, ...]
    left: tuple[str, ...]
    text: str = ""
    """What its file would say."""


def adoptions(
    session: Session, shots: Sequence[str] | None = None, failed: list[Trouble] | None = None
) -> list[Adoption]:
    """The shots whose sheet says that it stands on an older master, and what adopting the current one would do.

    `shots` None means every shot in the cut. Shots that stand on the current master, or that do not say, are left out.
    One that fails is left out and added to `failed`, without which it is raised.
    """
    found = []
    for shot in session.contents.shots if shots is None else shots:
        sheet, setup = session.contents.sheets.get(shot), session.contents.setup_of(shot)
        master = setup.master
        if sheet is None or sheet.master is None or setup.master_version is None or master is None:
            continue
        older = setup.masters.get(sheet.master)
        if older is not None and sheet.master < setup.master_version:
            with apart(shot, failed):
                found.append(_adoption(session, sheet, moved_to(older, sheet), moved_to(master, sheet)))
    return found


def _adoption(session: Session, sheet: Sheet, older: Sheet, master: Sheet) -> Adoption:
    taken: list[Leaf] = []
    kept: list[str] = []
    held: list[str] = []
    kinds = session.contents.policy.kinds
    for difference in differences(older.sections, master.sections):
        leaf = (difference.section, difference.group, difference.leaf or "")
        if _is(older, master, leaf, kinds):
            continue
        whole = [(*leaf[:2], part) for part in together(leaf[0], leaf[2])]
        if any(_state(session, sheet.shot, parameter_name(*part)) is State.INTENDED for part in whole):
            kept.append(parameter_name(*leaf))
        elif all(_is(sheet, older, part, kinds) or _is(sheet, master, part, kinds) for part in whole):
            if _is(sheet, older, leaf, kinds):
                taken.append(leaf)
        else:
            held.append(parameter_name(*leaf))
    respelt = put_back(sheet, master, taken, kinds)
    version, path = next_sheet(
        session.contents.folder, sheet.shot, session.contents.versions[sheet.shot], sheet.path.suffix
    )
    tree = {**respelt.tree, "version": version, "master": master.version}
    names = tuple(parameter_name(*leaf) for leaf in taken if parameter_name(*leaf) not in respelt.left)
    text = next_text(sheet, path, tree)
    return Adoption(
        sheet.shot, older.version, path, tree, names, tuple(kept), tuple(held), respelt.left, text
    )


def _is(sheet: Sheet, master: Sheet, leaf: Leaf, kinds: Patterns) -> bool:
    """Whether a shot has what a master has: the same value, or for a group, the group or no group.

    A value put back is as near as its spelling allows, so it is the same within the noise of its kind.
    """
    section, group, name = leaf
    mine, theirs = (side.sections.get(section, {}).get(group) for side in (sheet, master))
    if not name and (mine is None or theirs is None):
        return mine is theirs
    mine, theirs = mine or {}, theirs or {}

    def alike(leaf: str) -> bool:
        a, b = mine.get(leaf), theirs.get(leaf)
        return says_nothing(section, leaf, a, b) or same(
            kind_of(parameter_name(section, group, leaf), leaf, b, kinds), a, b
        )

    return all(alike(leaf) for leaf in ([name] if name else mine.keys() | theirs.keys()))


def _state(session: Session, shot: str, parameter: str) -> State:
    row, column = session.table.row(parameter), session.table.column(shot)
    return session.cases.state(row, column) if row is not None and column is not None else State.UNDECIDED


def adopt(adoption: Adoption) -> Path:
    """Write the shot's next version. Raises `WriteError` when that version was published meanwhile."""
    write_whole(adoption.path, adoption.text, overwrite=False)
    return adoption.path
