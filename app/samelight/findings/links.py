"""Links that point at nothing, or lost some of what they held."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from samelight.drift.cells import Cell, Grade
from samelight.drift.table import Row
from samelight.drift.words import MINUS
from samelight.findings.board import Board, is_extra
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
    return row.kind == SET and row.section in _LINKED_SECTIONS and _holds_links(last)


def _holds_links(leaf: str) -> bool:
    return leaf in ("assigned_to", "links") or leaf.endswith("_links")


def find(board: Board) -> list[Finding]:
    """One finding for each parameter and change of members, with every shot that has it."""
    suspects = list(board.rows_left(is_link))
    if not suspects:
        return []
    found = _repaths(board, suspects)
    gone = {cell for finding in found for cell in finding.cells}
    known = _known(board)
    for index, row, columns in suspects:
        alike: dict[_Change, list[Cell]] = defaultdict(list)
        for column in columns:
            if (index, column) in gone:
                continue
            entry = board.entry(index, column)
            change = _change(row, entry.master, entry.value, known)
            if change is not None:
                alike[change].append((index, column))
        found.extend(_finding(board, row, change, cells) for change, cells in alike.items())
    return found


def _repaths(board: Board, suspects: Sequence[tuple[int, Row, Sequence[int]]]) -> list[Finding]:
    """One finding for each root that was put in place of another in all that is linked, with every shot that has it."""
    by_shot: dict[int, dict[tuple[str, str], list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, row, columns in suspects:
        for column in columns:
            entry = board.entry(index, column)
            if isinstance(entry.master, frozenset) and isinstance(entry.value, frozenset):
                roots = _roots(entry.master - entry.value, entry.value - entry.master)
                if roots is not None and not row.leaf.endswith(_MISSING):
                    by_shot[column][roots].append(index)
    alike: dict[tuple[tuple[str, str], tuple[int, ...]], list[int]] = defaultdict(list)
    for column, changes in by_shot.items():
        for roots, rows in changes.items():
            if len(rows) > 1:
                alike[roots, tuple(rows)].append(column)
    return [_repath(board, *roots, rows, columns) for (roots, rows), columns in alike.items()]


def _roots(removed: frozenset[str], added: frozenset[str]) -> tuple[str, str] | None:
    """The part of a path that was put in place of another in every member; None where there is no such part.

    >>> _roots(frozenset({"/set/a", "/set/b"}), frozenset({"/stage/set/a", "/stage/set/b"}))
    ('/set', '/stage/set')
    """
    if not removed or len(removed) != len(added):
        return None
    found = set()
    for old, new in zip(sorted(removed, key=_reversed), sorted(added, key=_reversed), strict=True):
        before, after = old.split("/"), new.split("/")
        while len(before) > 1 and len(after) > 1 and before[-1] == after[-1]:
            before, after = before[:-1], after[:-1]
        if "/".join(before) == old:
            return None
        # One part of the way in common keeps what is read: /set becomes /stage/set, not nothing /stage.
        if before == [""] or after == [""]:
            parts = [part for part in (old if after == [""] or before == [""] else new).split("/") if part]
            before, after = [*before, parts[len(before) - 1]], [*after, new.split("/")[len(after)]]
        found.add(("/".join(before), "/".join(after)))
    return found.pop() if len(found) == 1 else None


def _reversed(path: str) -> list[str]:
    return path.split("/")[::-1]


def _repath(board: Board, old: str, new: str, rows: tuple[int, ...], columns: list[int]) -> Finding:
    names = listed([group_text(board.table.rows[index]) for index in rows], at_most=4)
    return board.make(
        NAME,
        sentence(
            f"links to {old} are links to {new} in {board.shots(columns)} ({names}): one repath, not {len(rows)}."
        ).replace("links", "Links", 1),
        [(index, column) for index in rows for column in columns],
        sureness=Sureness.LIKELY,
        known=f"Every member that changed is the master's with {new} in place of {old}.",
        guessed="The set was brought in under another path; where that is not there, the links point at nothing.",
        do=f"Check in the scene that {new} is there, or bring the links back to {old}.",
    )


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
        if (_holds_links(leaf) and not leaf.endswith(_MISSING)) and isinstance(value, frozenset)
        for member in value
    }


def _finding(board: Board, row: Row, change: _Change, cells: list[Cell]) -> Finding:
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
