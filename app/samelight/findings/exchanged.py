"""Two things that changed places: the names of two lights, one value of each, or the width and height of one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from samelight.drift.cells import Cell
from samelight.drift.table import Entry, Row
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.nearness import same
from samelight.findings.typed import level_that_follows
from samelight.findings.words import leaf_text, listed, sentence, thing
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group
from samelight.sheets.vocabulary import LEVEL

NAME = "exchanged"

_SIDES = ("width", "height")

FEW = 8
"""As many groups may hold one value in the master for it to be looked for among them."""

Key = tuple[str, str, str, str]
"""Section, both groups (one and the same for the sides of a light), and what was exchanged between them."""


def find(board: Board) -> list[Finding]:
    """One finding for each pair and what it exchanged, with every shot that has it.

    Only what holds a value that another of the master's groups holds in the same parameter is looked at.
    """
    owners = _Owners(board.master)
    left = list(board.rows_left(lambda row: row.section in ("lights", "environments") and bool(row.leaf)))
    suspects: dict[tuple[int, str], set[str]] = defaultdict(set)
    for index, row, columns in left:
        others: dict[int, set[Any]] = {}
        for column, entry in zip(columns, board.entries(index, columns), strict=True):
            master = board.master_at(column)
            if id(master) not in others:
                others[id(master)] = owners.held(master, row) - set(_marks_of(master, row))
            theirs = others[id(master)]
            if theirs and not theirs.isdisjoint(_marks_in(board, row, entry, column)):
                suspects[column, row.section].add(row.group)
    drifting: dict[tuple[int, str], dict[str, dict[str, int]]] = defaultdict(lambda: defaultdict(dict))
    for index, row, columns in left:
        for column in columns:
            if row.group in suspects.get((column, row.section), ()):
                drifting[column, row.section][row.group][row.leaf] = index
    found: dict[Key, list[Cell]] = defaultdict(list)
    for (column, section), groups in sorted(drifting.items(), key=lambda item: item[0]):
        for key, indices in _in_shot(board, column, section, groups):
            found[key].extend((index, column) for index in indices)
    return [_finding(board, key, cells) for key, cells in found.items()]


class _Owners:
    """By section and parameter, the values that the master's groups hold there, and their intensities as typed. What is animated is
    another in each of the masters that shots are compared with; all else is looked at once."""

    def __init__(self, master: Sheet) -> None:
        self._still: dict[tuple[str, str], set[Any]] = defaultdict(set)
        self._animated: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
        self._moved: dict[tuple[int, str, str], set[Any]] = {}
        for section in ("lights", "environments"):
            for name, group in master.sections.get(section, {}).items():
                for leaf, value in group.items():
                    for here in _SIDES if leaf in _SIDES else (leaf,):
                        if isinstance(value, Curve):
                            self._animated[section, here].append((name, leaf))
                        else:
                            self._still[section, here].add(value)
                self._still[section, LEVEL].update(typed_intensity(master, section, name))

    def held(self, master: Sheet, row: Row) -> set[Any]:
        """What the groups of a master hold in a row's parameter."""
        still, animated = self._still[row.section, row.leaf], self._animated[row.section, row.leaf]
        if not animated:
            return still
        key = id(master), row.section, row.leaf
        if key not in self._moved:
            self._moved[key] = still | {master.value(row.section, *of) for of in animated}
        return self._moved[key]


def _marks_of(sheet: Sheet, row: Row) -> Iterator[Any]:
    """By what a value is known again: itself, and a level by its intensity as typed, since sizes may differ."""
    value = sheet.value(row.section, row.group, row.leaf)
    if value is not None:
        yield value
    if row.leaf == LEVEL:
        yield from typed_intensity(sheet, row.section, row.group)


def _marks_in(board: Board, row: Row, entry: Entry, column: int) -> Iterator[Any]:
    """The same of a cell that differs: its sheet is opened for what was typed alone."""
    sheet = board.sheets[column]
    if entry.value is not None:
        yield entry.value
    if row.leaf == LEVEL and sheet is not None:
        yield from typed_intensity(sheet, row.section, row.group)


def typed_intensity(sheet: Sheet, section: str, name: str) -> Iterator[str]:
    """The intensity of a light as its sheet types it, where it is one number."""
    groups = sheet.typed.get(section)
    group = groups.get(name) if isinstance(groups, Mapping) else None
    typed = group.get("intensity") if isinstance(group, Mapping) else None
    if isinstance(typed, int | float | str):
        yield f"typed {typed}"


def _in_shot(
    board: Board, column: int, section: str, groups: Mapping[str, Mapping[str, int]]
) -> Iterator[tuple[Key, list[int]]]:
    master = board.master_at(column).sections.get(section, {})
    for name, leaves in groups.items():
        rows = _sides_exchanged(board, column, master.get(name, {}), section, name, leaves)
        if rows:
            yield (section, name, name, ""), rows
    for one, other in _pairs(board, column, groups):
        here = board.group(column, section, one), board.group(column, section, other)
        if (here[0], here[1]) == (master[other], master[one]):
            yield (section, one, other, "names"), [*groups[one].values(), *groups[other].values()]
            continue
        values = [
            leaf
            for leaf in groups[one]
            if leaf in groups[other] and _values(board, column, section, one, other, leaf)
        ]
        if values:
            what = listed([leaf_text(leaf) for leaf in values])
            yield (
                (section, one, other, what),
                [groups[name][leaf] for name in (one, other) for leaf in values],
            )


def _pairs(board: Board, column: int, groups: Mapping[str, Mapping[str, int]]) -> list[tuple[str, str]]:
    """Each two groups of which one holds a value of the other's in the master, in the order of the groups.

    A value that more than `FEW` of them hold there says nothing of where it comes from.
    """
    rows = board.table.rows
    holders: dict[tuple[str, Any], list[str]] = defaultdict(list)
    for name, leaves in groups.items():
        for leaf, index in leaves.items():
            for mark in _marks_of(board.master_at(column), rows[index]):
                holders[leaf, mark].append(name)
    order = {name: place for place, name in enumerate(groups)}
    found = {
        (min(name, other, key=order.__getitem__), max(name, other, key=order.__getitem__))
        for name, leaves in groups.items()
        for leaf, index in leaves.items()
        for mark in _marks_in(board, rows[index], board.entry(index, column), column)
        if len(others := holders.get((leaf, mark), [])) <= FEW
        for other in others
        if other != name
    }
    return sorted(found, key=lambda pair: (order[pair[0]], order[pair[1]]))


def _values(board: Board, column: int, section: str, one: str, other: str, leaf: str) -> bool:
    """Whether a value of one group is the other's in the master, and the other way round."""
    master, sheet = board.master_at(column), board.sheets[column]
    if sheet is None:
        return False
    held = [(side.value(section, one, leaf), side.value(section, other, leaf)) for side in (master, sheet)]
    if held[0] == held[1][::-1]:
        return held[0][0] != held[0][1]
    if leaf != "level":
        return False
    typed = [[side.as_typed(section, name, leaf) for name in (one, other)] for side in (master, sheet)]
    return any(_only_exchanged(typed, names) for names in (("intensity",), ("intensity", "exposure")))


def _only_exchanged(typed: Sequence[Sequence[Mapping[str, Any]]], names: tuple[str, ...]) -> bool:
    """Whether these inputs alone have changed places between two lights: `typed` is what the master has of both, then the shot."""
    held = [[[light.get(name) or 0 for name in names] for light in side] for side in typed]
    rest = [
        [{name: value for name, value in light.items() if name not in names} for light in side]
        for side in typed
    ]
    return held[0] == held[1][::-1] and held[0][0] != held[0][1] and rest[0] == rest[1]


def _sides_exchanged(
    board: Board, column: int, master: Group, section: str, name: str, leaves: Mapping[str, int]
) -> list[int]:
    if not all(side in leaves for side in _SIDES):
        return []
    here = board.group(column, section, name)
    rows = [board.table.rows[leaves[side]] for side in _SIDES]
    alike = [
        same(row, here.get(side), master.get(across))
        for row, side, across in zip(rows, _SIDES, reversed(_SIDES), strict=True)
    ]
    return (
        [*(leaves[side] for side in _SIDES), *level_that_follows(board, rows[0], column)]
        if all(alike)
        else []
    )


def _finding(board: Board, key: Key, cells: list[Cell]) -> Finding:
    _, one, other, what = key
    shots = board.shots([column for _, column in cells])
    if one == other:
        says = f"{thing(one)}'s width and height are exchanged in {shots}"
        known, guessed = "Each is the other's in the master.", "One was typed for the other."
    elif what == "names":
        says = (
            f"{thing(one)} and {thing(other)} have exchanged their names in {shots}: the picture is the same"
        )
        known, guessed = (
            "Each holds every value that the other has in the master.",
            "They were named the wrong way round.",
        )
    else:
        says = f"{thing(one)} and {thing(other)} have exchanged their {what} in {shots}"
        known, guessed = (
            "Each has what the other has in the master.",
            "A value meant for one was typed for the other.",
        )
    return board.make(
        NAME,
        sentence(f"{says}."),
        cells,
        sureness=Sureness.LIKELY,
        known=known,
        guessed=guessed,
        do="Exchange them back: what is published next looks for each by its name.",
    )
