"""A shot that still stands on another master than the one it is compared with."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from samelight.drift.cells import Cell, Grade
from samelight.drift.table import Row, graded
from samelight.findings.board import Board
from samelight.findings.finding import Action, Finding, Sureness
from samelight.findings.nearness import same
from samelight.findings.words import listed, parameter_text, sentence
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Value
from samelight.sheets.vocabulary import ANGLE, COLOUR, COMPARED_SECTIONS, DIRECTION, LENGTH, LEVEL, POSITION

NAME = "old-master"

MOST = 0.6
"""Share of the parameters in which two masters differ that a shot must have as the other master has them."""


_MEASURED = frozenset({LEVEL, COLOUR, POSITION, DIRECTION, ANGLE, LENGTH})
"""Kinds in which two values are equal to the digit by one cause only."""


@dataclass(slots=True)
class _Match:
    """How a shot agrees with another master, in the parameters where that one differs from the reference."""

    version: int
    changed: int
    cells: list[Cell] = field(default_factory=list)
    drifting: int = 0
    """In how many of them the shot is not as the reference."""

    @property
    def is_half_adopted(self) -> bool:
        """Whether the shot is as the reference in some of them."""
        return self.drifting < self.changed

    @property
    def share(self) -> float:
        return len(self.cells) / self.changed if self.changed else 0.0


@dataclass(frozen=True, slots=True)
class _Change:
    """A parameter in which another master differs from the reference; `index` is its row, if the table has one."""

    index: int | None
    value: Value | None


def find(board: Board) -> list[Finding]:
    """One finding for each other master that shots still stand on."""
    reference = _reference(board)
    best: dict[int, _Match] = {}
    for version, other in sorted(board.evidence.masters.items()):
        if other is board.master:
            continue
        for column, match in _matches(board, version, other).items():
            known = best.get(column)
            if known is None or (match.share, len(match.cells)) >= (known.share, len(known.cells)):
                best[column] = match
    # What adopted nothing and what was half adopted are two things to mend.
    by_version: dict[tuple[int, bool], list[int]] = defaultdict(list)
    for column, match in sorted(best.items()):
        is_off = any(board.unsettled[cell] for cell in match.cells)
        if is_off and _convinces(board, match, board.sheets[column]):
            by_version[match.version, match.is_half_adopted].append(column)
    return [
        _finding(board, version, reference, {column: best[column] for column in columns})
        for (version, _), columns in by_version.items()
    ]


def _reference(board: Board) -> int:
    versions = (version for version, sheet in board.evidence.masters.items() if sheet is board.master)
    return next(versions, board.master.version)


def _matches(board: Board, version: int, other: Sheet) -> dict[int, _Match]:
    changes = _changes(board, other)
    found: dict[int, _Match] = {}
    off: Counter[int] = Counter()
    for change in changes:
        if change.index is None:
            continue
        row = board.table.rows[change.index]
        drifting = (board.table.grade[change.index] >= Grade.DRIFT).nonzero()[0].tolist()
        off.update(drifting)
        equal: dict[object, bool] = {}
        for column in drifting:
            value, held = board.entry(change.index, column).value, change.value
            if isinstance(held, Curve):
                held = board.master_at(column, other).value(row.section, row.group, row.leaf)
            key = (type(value), value, held)
            if key not in equal:
                equal[key] = same(row, held, value)
            if equal[key]:
                match = found.setdefault(column, _Match(version, len(changes)))
                match.cells.append((change.index, column))
    for column, match in found.items():
        match.drifting = off[column]
    return found


def _changes(board: Board, other: Sheet) -> list[_Change]:
    """Where another master differs from the reference: whole groups, and values out of tolerance."""
    found: list[_Change] = []
    for section in COMPARED_SECTIONS:
        mine, theirs = board.master.sections.get(section, {}), other.sections.get(section, {})
        for group in {**mine, **theirs}:
            if group and (group in mine) != (group in theirs):
                index = board.row_of(section, group, "")
                found.append(_Change(index, "present" if group in theirs else None))
                continue
            a, b = mine.get(group, {}), theirs.get(group, {})
            for leaf in {**a, **b}:
                index = board.row_of(section, group, leaf)
                # Without a row neither the reference nor any shot has what the other master has.
                if index is None or _differs(board.table.rows[index], a.get(leaf), b.get(leaf)):
                    found.append(_Change(index, b.get(leaf)))
    return found


def _differs(row: Row, reference: Value | None, other: Value | None) -> bool:
    if reference is None or other is None:
        return reference is not other
    return graded(row, reference, other).grade >= Grade.DRIFT


def _convinces(board: Board, match: _Match, sheet: Sheet | None) -> bool:
    """Whether a shot stands on the other master: its sheet names it and any value is as there, most of what changed is, or
    two values are that no chance makes equal."""
    if sheet is not None and sheet.master == match.version:
        return bool(match.cells)
    return len(match.cells) >= 2 and (match.share >= MOST or _telling(board, match) >= 2)


def _telling(board: Board, match: _Match) -> int:
    """How many of the values are measured, and not one of few such as a switch or a count."""
    return sum(board.table.rows[index].kind in _MEASURED for index, _ in match.cells)


def _finding(board: Board, version: int, reference: int, matches: dict[int, _Match]) -> Finding:
    columns = list(matches)
    cells = [cell for match in matches.values() for cell in match.cells]
    stated = [column for column in columns if getattr(board.sheets[column], "master", None) == version]
    whole = all(match.share == 1.0 for match in matches.values())
    lowest, changed = (
        min(len(match.cells) for match in matches.values()),
        next(iter(matches.values())).changed,
    )
    many = len(columns) > 1
    stand = "still stand" if version < reference else "already stand"
    stand += "" if many else "s"
    differ = f"which masters {min(version, reference)} and {max(version, reference)} differ"
    if changed == 1:
        share = f"the one parameter in {differ} is"
    elif whole:
        share = f"all {changed} parameters in {differ} are"
    else:
        share = f"{lowest}{' or more' if many else ''} of the {changed} parameters in {differ} are"
    rows = dict.fromkeys(index for index, _ in sorted(cells))
    names = listed([parameter_text(board.table.rows[index]) for index in rows], at_most=5)
    return board.make(
        NAME,
        sentence(
            f"{board.shots(columns)} {stand} on master {version}: {share} as in master {version} ({names})."
        ),
        cells,
        columns=columns,
        sureness=Sureness.CERTAIN if whole and len(stated) == len(columns) else Sureness.LIKELY,
        known=_stated(board, stated, columns, version),
        guessed="" if whole else _of_the_rest(board, version, reference, matches),
        do=f"Adopt master {reference}; what was said to be intended is kept.",
        actions=(Action.RETURN, Action.SHOW),
    )


def _of_the_rest(board: Board, version: int, reference: int, matches: Mapping[int, _Match]) -> str:
    """What became of the parameters in which the masters differ and that are not as in the other one."""
    changed = [
        (index, column)
        for index in (change.index for change in _changes(board, board.evidence.masters[version]))
        if index is not None
        for column, match in matches.items()
        if (index, column) not in match.cells and board.table.grade.item(index, column) >= Grade.DRIFT
    ]
    said = f"The rest is as in master {reference}: half of it was adopted."
    if not changed:
        return said
    names = listed(
        [parameter_text(board.table.rows[index]) for index in dict.fromkeys(i for i, _ in changed)], at_most=4
    )
    both = f"neither as in master {version} nor as in master {reference}"
    return f"{sentence(names)} {'is' if len(changed) == 1 else 'are'} {both}: changed in the shot."


def _stated(board: Board, stated: list[int], columns: list[int], version: int) -> str:
    sheets, name = ("The sheets", "name") if len(columns) > 1 else ("The sheet", "names")
    if not stated:
        others = sorted(
            {sheet.master for column in columns if (sheet := board.sheets[column]) and sheet.master}
        )
        if others:
            instead = listed([str(number) for number in others])
            return f"{sheets} {name} master {instead}, not {version}, so it may be a coincidence."
        return f"{sheets} {'do' if len(columns) > 1 else 'does'} not name master {version}."
    if len(stated) == len(columns):
        return f"{sheets} too {name} master {version}."
    return f"The sheets of {board.shots(stated)} too name master {version}."
