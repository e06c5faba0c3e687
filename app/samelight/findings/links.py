"""Links that point at nothing, or lost some of what they held."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

from samelight.drift.cells import Grade
from samelight.drift.table import Row
from samelight.drift.words import MINUS
from samelight.findings.board import Board, Spot, is_extra
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import group_text, listed, parameter_text, sentence, verb_for
from samelight.sheets.values import Group, Value
from samelight.sheets.vocabulary import SET

NAME = "links"

EVERYTHING = "*"
_LINKED_SECTIONS = ("lights", "environments", "surfaces")
_MISSING = "missing_links"
"""What a capture notes of links whose target the scene does not have."""


@dataclass(frozen=True, slots=True)
class _Change:
    added: tuple[str, ...]
    removed: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def is_fault(self) -> bool:
        """Lost or replaced members, or such as nobody knows. Narrowing from everything to known things is a choice."""
        if self.unknown:
            return True
        return bool(self.removed) and self.removed != (EVERYTHING,)


def is_link(row: Row) -> bool:
    """Whether a row holds scene paths that a light, an environment or a surface is linked to."""
    last = row.leaf.rpartition(".")[2]
    return (
        row.kind == SET and row.section in _LINKED_SECTIONS and (last == "links" or last.endswith("_links"))
    )


def find(board: Board) -> list[Finding]:
    """One finding for each parameter and change of members, with every shot that has it."""
    suspects = list(board.rows_left(is_link))
    if not suspects:
        return []
    known = _known(board)
    found: list[Finding] = []
    for index, row, columns in suspects:
        alike: dict[_Change, list[Spot]] = defaultdict(list)
        for column in columns:
            entry = board.entry(index, column)
            change = _change(row, entry.master, entry.value, known)
            if change is not None:
                alike[change].append((index, column))
        found.extend(_finding(board, row, change, cells) for change, cells in alike.items())
    return found


def _change(row: Row, master: Value | None, value: Value | None, known: Counter[str]) -> _Change | None:
    mine = master if isinstance(master, frozenset) else frozenset[str]()
    theirs = value if isinstance(value, frozenset) else frozenset[str]()
    added, removed = tuple(sorted(theirs - mine)), tuple(sorted(mine - theirs))
    if row.leaf.endswith(_MISSING):
        return _Change(added, (), added) if added else None
    # One count is the shot's own.
    change = _Change(added, removed, tuple(member for member in added if known[member] <= 1))
    return change if change.is_fault else None


def _known(board: Board) -> Counter[str]:
    """How many link sets name a scene path: those of the master, which its shots share, count twice."""
    counts: Counter[str] = Counter()
    for section in _LINKED_SECTIONS:
        for group in board.master.sections.get(section, {}).values():
            counts.update(dict.fromkeys(_members(group), 2))
    by_shot: set[tuple[int, str]] = set()
    for index, row in enumerate(board.table.rows):
        if not (is_link(row) and not row.leaf.endswith(_MISSING)) and row.leaf:
            continue
        for column in (board.table.grade[index] > Grade.SAME).nonzero()[0].tolist():
            entry = board.entry(index, column)
            if row.leaf and isinstance(entry.value, frozenset):
                by_shot.update((column, member) for member in entry.value)
            elif not row.leaf and is_extra(entry):
                by_shot.update(
                    (column, member) for member in _members(board.group(column, row.section, row.group))
                )
    counts.update(member for _, member in by_shot)
    return counts


def _members(group: Group) -> set[str]:
    return {
        member
        for leaf, value in group.items()
        if (leaf.endswith("links") and not leaf.endswith(_MISSING)) and isinstance(value, frozenset)
        for member in value
    }


def _finding(board: Board, row: Row, change: _Change, cells: list[Spot]) -> Finding:
    shots = board.shots([column for _, column in cells])
    if row.leaf.endswith(_MISSING):
        says = f"Links of {group_text(row)} point at nothing in {shots}: {listed(change.added)}"
        sureness, known = Sureness.CERTAIN, "The scene that was captured does not have them."
    else:
        members = [f"{MINUS}{member}" for member in change.removed] + [
            f"+{member}" for member in change.added
        ]
        says = f"{parameter_text(row)} {verb_for(row.leaf)} not the master's in {shots}: {listed(members)}"
        sureness = Sureness.LIKELY if change.unknown else Sureness.POSSIBLE
        known = "Members were lost." if change.removed and not change.added else "Members were replaced."
    guessed = ""
    if change.unknown and sureness is not Sureness.CERTAIN:
        says += f"; nothing else is linked to {listed(change.unknown)}"
        known = f"Neither the master nor another shot knows {listed(change.unknown)}."
        guessed = "It was renamed or re-pathed, and the link points at nothing."
    return board.make(
        NAME,
        f"{sentence(says)}.",
        cells,
        sureness=sureness,
        known=known,
        guessed=guessed,
        do="Link it to what the master links it to, and check in the scene that this is there.",
    )
