"""The drift table: every parameter of every shot against the master, measured and graded.

Rows are parameters, columns shots in cut order. What cells hold is coded: each distinct entry stands once in a pool, and
an array of shape (rows, shots) says which one a cell has. What a view needs for every cell (drift, grade, severity) lies
in arrays of the same shape; a `ComparedCell` is made when someone looks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell, CellName, ComparedCell, Grade
from samelight.drift.grading import Place, entries_of
from samelight.drift.metrics import SCALES, kind_of
from samelight.drift.policy import Policy
from samelight.drift.rows import NOTHING, Entry, ExtraRow, Row, derived_entry, graded, one_sided
from samelight.drift.structure import Ways, held, unequal_leaves
from samelight.light.noise import figure, first_largest
from samelight.sheets.canonical import WHOLE, Sections, parameter_name
from samelight.sheets.patterns import DISTANT, SUN
from samelight.sheets.sheet import Sheet
from samelight.sheets.unstated import unstated
from samelight.sheets.values import Bound, Curve, Group, Level, Named, Value
from samelight.sheets.vocabulary import (
    COMPARED_SECTIONS,
    CURVE,
    POSITION,
    PRESENCE,
)

__all__ = ["Entry", "ExtraRow", "Row", "Table", "build_table", "graded"]

_OWN: Mapping[str, Group] = {WHOLE: {}}
"""What a section holds by itself where it states nothing but groups."""

_PRESENT = Entry("present", "present", math.nan, 0.0, Grade.SAME)


@dataclass(frozen=True, slots=True, eq=False)
class TablePart:
    """A table of some shots of another, and where its rows and columns stand in that."""

    table: Table
    rows: NDArray[np.intp]
    columns: NDArray[np.intp]


@dataclass(slots=True)
class Table:
    """All rows and shots.

    `codes` (int32) says for every cell which entry of `pool` it holds; number 0 is None: neither the shot's sheet nor
    the master holds anything there. `drift`, `severity` (float64, NaN and inf as `Entry` says) and `grade` (uint8) are
    those of the entries. All four have the shape (rows, shots). `parts` are the tables that it was joined of, where its
    shots are not graded by one policy.
    """

    shots: tuple[str, ...]
    rows: tuple[Row, ...]
    pool: list[Entry | None]
    codes: NDArray[np.int32]
    drift: NDArray[np.float64]
    severity: NDArray[np.float64]
    grade: NDArray[np.uint8]
    _row_of: dict[str, int] = field(default_factory=dict)
    _column_of: dict[str, int] = field(default_factory=dict)
    parts: tuple[TablePart, ...] = ()
    _part_of: dict[int, TablePart] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._row_of = {row.parameter: index for index, row in enumerate(self.rows)}
        self._column_of = {shot: index for index, shot in enumerate(self.shots)}

    @classmethod
    def coded(
        cls,
        shots: Sequence[str],
        rows: Sequence[Row],
        pool: list[Entry | None],
        codes: NDArray[np.int32],
    ) -> Table:
        """The table of these codes, its arrays filled from the pool."""
        drift, severity, grade = figures_of(pool)
        return cls(tuple(shots), tuple(rows), pool, codes, drift[codes], severity[codes], grade[codes])

    def of_parts(self, parts: Iterable[TablePart]) -> Table:
        """The table, which is joined of these."""
        self.parts = tuple(parts)
        self._part_of = {column: part for part in self.parts for column in part.columns.tolist()}
        return self

    def variants(self, row: int) -> list[Row]:
        """A row as it is graded in any shot, each way once."""
        ways: dict[object, Row] = {} if self.parts else {None: self.rows[row]}
        for part in self.parts:
            own = part.table.row(self.rows[row].parameter)
            if own is not None and part.table.shots:
                found = part.table.rows[own]
                ways.setdefault((found.tolerance, found.lock), found)
        return list(ways.values()) or [self.rows[row]]

    def row_in(self, row: int, column: int) -> Row:
        """A row as it is graded in one shot."""
        what, part = self.rows[row], self._part_of.get(column)
        own = None if part is None else part.table.row(what.parameter)
        graded_by = what if part is None or own is None else part.table.rows[own]
        entry = self.entry(row, column)
        return graded_by if entry is None else graded_by.of(entry.master, entry.away)

    def entry(self, row: int, column: int) -> Entry | None:
        """What a cell holds."""
        return self.pool[int(self.codes[row, column])]

    def codes_after(self, pool: Sequence[Entry | None]) -> NDArray[np.int32]:
        """The codes as they are once this table's own entries were added to another's pool: nothing is 0 in both."""
        codes: NDArray[np.int32] = np.where(self.codes > 0, self.codes + (len(pool) - 1), 0)
        return codes

    def line(self, row: int) -> list[Entry | None]:
        """What a row holds for every shot."""
        pool = self.pool
        return [pool[code] for code in self.codes[row].tolist()]

    def row(self, parameter: str) -> int | None:
        """The index of a parameter's row."""
        return self._row_of.get(parameter)

    def column(self, shot: str) -> int | None:
        """The index of a shot's column."""
        return self._column_of.get(shot)

    def places(self, names: Iterable[CellName]) -> list[Cell]:
        """Row and column of cells named by shot and parameter; those that are not there are left out."""
        found = [(self.row(parameter), self.column(shot)) for shot, parameter in names]
        return [(row, column) for row, column in found if row is not None and column is not None]

    def bound(self, row: int, column: int) -> tuple[Bound | None, Bound | None]:
        """What a decision on a cell is bound to: its value, and what that is held against.

        Of a group that only the shot has, the value is all that the group holds: each of its parameters counts.
        """
        what, entry = self.rows[row], self.entry(row, column)
        if entry is None:
            return None, None
        if (
            what.leaf
            or what.section not in COMPARED_SECTIONS
            or entry.value is None
            or entry.master is not None
        ):
            return entry.value, entry.master
        held: dict[str, Value | None] = {}
        for index in range(row + 1, len(self.rows)):
            part = self.rows[index]
            if (part.section, part.group) != (what.section, what.group):
                break
            if (of_part := self.entry(index, column)) is not None and of_part.value is not None:
                held[part.leaf] = of_part.value
        return (Named.of(held) if held else entry.value), entry.master

    def cell(self, row: int, column: int) -> ComparedCell:
        """The cell at a row and column."""
        what, shot = self.row_in(row, column), self.shots[column]
        entry = self.entry(row, column) or NOTHING
        animated = isinstance(entry.master, Curve) or isinstance(entry.value, Curve)
        held, _ = self.bound(row, column)
        return ComparedCell(
            shot=shot,
            parameter=what.parameter,
            kind=CURVE if animated else what.kind,
            value_kind=what.kind,
            master=entry.master,
            value=entry.value,
            drift=entry.drift,
            unit=SCALES[what.kind].unit,
            tolerance=what.tolerance.at_most,
            grade=entry.grade,
            remark=entry.remark,
            holds=held if isinstance(held, Named) else None,
        )

    def cells(self, above: Grade = Grade.SAME) -> Iterable[ComparedCell]:
        """Every cell whose grade is above `above`, row by row, in cut order."""
        for row, column in np.argwhere(self.grade > above):
            yield self.cell(int(row), int(column))

    def counts(self, shots: Sequence[str] | None = None) -> dict[str, int]:
        """How many cells have each grade, by its name; of these shots only, where they are given."""
        grades = self.grade
        if shots is not None:
            grades = grades[:, [self._column_of[shot] for shot in shots]]
        return {grade.word: int(np.count_nonzero(grades == grade)) for grade in Grade if grade.word}


def build_table(
    shots: Sequence[str],
    sheets: Mapping[str, Sheet],
    against: Sheet | Mapping[str, Sheet] | None,
    policy: Policy,
    derived: Sequence[ExtraRow] = (),
    like: Table | None = None,
) -> Table:
    """Compare every shot that has a sheet with what it is held against: one sheet such as the master, or for each its own.

    Shots without a sheet, or without one to be held against, have empty columns; without any there are no rows. `like` is
    a table by the same policy, whose rows need not be made anew.
    """
    lines = _Lines(shots, sheets, policy, like)
    if against is not None:
        each = against if isinstance(against, Mapping) else dict.fromkeys(shots, against)
        lines.compare(each, [against] if isinstance(against, Sheet) else list(against.values()))
        for extra in derived:
            lines.add_derived(extra)
    return lines.table()


Figures = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.uint8]]


def figures_of(pool: Sequence[Entry | None]) -> Figures:
    """Drift, severity and grade of every entry of a pool, each an array of its length."""
    held = [entry or NOTHING for entry in pool]
    return (
        np.fromiter([entry.drift for entry in held], np.float64, len(held)),
        np.fromiter([entry.severity for entry in held], np.float64, len(held)),
        np.fromiter([entry.grade for entry in held], np.uint8, len(held)),
    )


class _Sides:
    """One group on both sides: what each column is held against, and what it holds.

    `setups` are the distinct ones, of which `which` says for every column its own.
    """

    def __init__(self, setups: Sequence[Group | None], groups: Sequence[Group | None]) -> None:
        numbers: dict[int, int] = {}
        self.which = np.array(
            [numbers.setdefault(id(setup), len(numbers)) for setup in setups], dtype=np.intp
        )
        self.setups: list[Group | None] = list({id(setup): setup for setup in setups}.values())
        self.each = setups
        self.groups = groups
        self.known = [*self.setups, *groups]
        pairs = list(enumerate(zip(setups, groups, strict=True)))
        self.absent = [column for column, (setup, group) in pairs if group is None and setup is not None]
        self.extra = [column for column, (setup, group) in pairs if setup is None and group is not None]


class _Lines:
    """The table under construction: most cells equal what they are held against, so a line starts as that and is mended."""

    def __init__(
        self, shots: Sequence[str], sheets: Mapping[str, Sheet], policy: Policy, like: Table | None
    ) -> None:
        self.shots = tuple(shots)
        self.sections = [sheet.sections if (sheet := sheets.get(shot)) else None for shot in shots]
        self.policy = policy
        self.like = like
        self.rows: list[Row] = []
        self.names: set[str] = set()
        self.pool: list[Entry | None] = [None]
        self.blocks: list[NDArray[np.int32]] = []
        self.to_grade: list[Place] = []
        self.graded_as: list[int] = []
        self.aways: list[float] = []
        self.marks = [_places_of_marks(sections) for sections in self.sections]
        self.ways = Ways()
        self.sun = ""

    def table(self) -> Table:
        graded_now = zip(self.graded_as, self.aways, entries_of(self.to_grade), strict=True)
        for code, away, entry in graded_now:
            self.pool[code] = replace(entry, away=away) if away else entry
        codes = np.zeros((len(self.rows), len(self.shots)), dtype=np.int32)
        if self.blocks:
            np.concatenate(self.blocks, out=codes)
        return Table.coded(self.shots, self.rows, self.pool, codes)

    def _code(self, entry: Entry | None) -> int:
        if entry is None:
            return 0
        self.pool.append(entry)
        return len(self.pool) - 1

    def _graded(self, row: Row, reference: Value | None, value: Value | None, away: float = 0.0) -> int:
        """The code of two values that are unlike; they are graded with all others once all are known. `away` is how many
        metres what a light's place is held against is from the nearest mark."""
        self.to_grade.append((row.of(reference, away), reference, value))
        self.aways.append(away)
        self.graded_as.append(len(self.pool))
        self.pool.append(None)
        return self.graded_as[-1]

    def compare(self, references: Mapping[str, Sheet], held_against: Sequence[Sheet]) -> None:
        """Add the rows of what the shots are held against, then in each group what only shots have.

        `references` says what each shot is held against, `held_against` is all of it, in order.
        """
        pairs = [
            None if own is None or shot not in references else (references[shot].sections, own)
            for shot, own in zip(self.shots, self.sections, strict=True)
        ]
        self.sun = next((sun for one in held_against if (sun := strongest_distant(one.sections))), "")
        there = [own for pair, own in zip(pairs, self.sections, strict=True) if pair and own is not None]
        for section, laid_out in _layout([one.sections for one in held_against], there):
            sides = [
                None
                if pair is None or (setup := held(pair[0], section)) is None
                else (setup, pair[1].get(section, {}))
                for pair in pairs
            ]
            for group, leaves in laid_out.items():
                # A section's own parameters are no group that could be extra as a whole.
                setups = [None if side is None else side[0].get(group, _OWN.get(group)) for side in sides]
                groups = [None if side is None else side[1].get(group) for side in sides]
                if group or leaves:
                    self._add_group(section, group, list(leaves), _Sides(setups, groups))

    def _add_group(self, section: str, group: str, leaves: Sequence[str], sides: _Sides) -> None:
        """Add the rows of one group."""
        light_type = _light_type(sides.known) if section == "lights" else ""
        if light_type == DISTANT and group == self.sun:
            light_type = SUN
        rows: list[Row] = []
        same: list[list[int]] = []
        lacking: list[list[int]] = []
        # Nobody else asks for what shots lack, and a sheet may have thousands of lights.
        some_lack = bool(sides.absent) or section == "cost"
        if group:
            rows.append(self._row(section, group, "", PRESENCE, light_type))
            there = list(map(_presence, sides.setups))
            same.append(self._codes(there, lambda _: _PRESENT))
            lacking.append([0] * len(sides.setups))
        for leaf in leaves:
            row = self._row(section, group, leaf, self._kind(section, group, leaf, sides.known), light_type)
            rows.append(row)
            stated = [None if setup is None else setup.get(leaf) for setup in sides.setups]
            meant = unstated(section, leaf, _first(sides.known, leaf))
            meanings = [
                meant if value is None and setup is not None else value
                for setup, value in zip(sides.setups, stated, strict=True)
            ]
            neutral = SCALES[row.kind].neutral
            same.append(self._codes(meanings, lambda a: Entry(a, a, neutral, 0.0, Grade.SAME)))  # noqa: B023 - called at once
            if some_lack:
                lacking.append(self._codes(stated, lambda a: Entry(a, None, math.nan, 0.0, Grade.NONE)))
        block = np.array(same, dtype=np.int32).reshape(len(rows), -1)[:, sides.which]
        if sides.absent:
            others = np.array(lacking, dtype=np.int32).reshape(len(rows), -1)
            block[:, sides.absent] = others[:, sides.which[sides.absent]]
        self._mend(block, rows, lacking, sides)
        self.rows += rows
        self.blocks.append(block)

    def _codes(self, values: Sequence[Value | None], made: Callable[[Value], Entry]) -> list[int]:
        """The codes of the entries that are made of values, one for each object; nothing is 0."""
        known: dict[int, int] = {id(None): 0}
        for value in values:
            if value is not None and id(value) not in known:
                known[id(value)] = self._code(made(value))
        return [known[id(value)] for value in values]

    def _mend(
        self, block: NDArray[np.int32], rows: Sequence[Row], lacking: Sequence[Sequence[int]], sides: _Sides
    ) -> None:
        """Put into the codes of one group what is not as it is held against.

        `lacking` has for each row and setup the code of what a shot does not state.
        """
        place_of = {row.leaf: place for place, row in enumerate(rows)}
        known: dict[tuple[int, int, float], list[tuple[int, int]]] = {}
        at: list[tuple[int, int, int]] = []
        for column, (setup, own) in enumerate(zip(sides.each, sides.groups, strict=True)):
            if setup is own or (setup is None and own is None):
                continue
            stands = setup.get("position") if setup is not None and rows[0].section == "lights" else None
            away = 0.0 if stands is None else _from_nearest(stands, self.marks[column])
            key = id(setup), id(own), away
            if key not in known:
                known[key] = self._unlike(rows, place_of, setup, own, away)
            at += [(place, column, code) for place, code in known[key]]
        if (
            rows[0].section == "cost"
        ):  # compared where both state it, so what a shot leaves out is no difference
            at += [
                (place, column, alone[sides.which[column]])
                for place, (row, alone) in enumerate(zip(rows, lacking, strict=True))
                for column, own in enumerate(sides.groups)
                if row.leaf and own and row.leaf not in own
            ]
        if at:
            places, columns, codes = zip(*at, strict=True)
            block[places, columns] = codes

    def _unlike(
        self,
        rows: Sequence[Row],
        place_of: Mapping[str, int],
        setup: Group | None,
        own: Group | None,
        away: float,
    ) -> list[tuple[int, int]]:
        """Place and code of each row of a group in which a shot's own values are not those of its setup, which stands so
        many metres from the nearest mark."""
        section, group = rows[0].section, rows[0].group
        found: list[tuple[int, int]] = []
        if group and (setup is None or own is None):
            master, shot = _presence(setup), _presence(own)
            if (how := self.ways.of(master, shot)) is not None:
                found.append((0, self._code(one_sided(rows[0], master, shot, how))))
        if setup is None:
            # An extra group, of which its presence says so once.
            entries = {
                leaf: Entry(None, value, math.nan, 0.0, Grade.NONE) for leaf, value in (own or {}).items()
            }
            return found + [(place_of[leaf], self._code(entry)) for leaf, entry in entries.items()]
        if group and own is None:
            return found
        for leaf, reference, value in unequal_leaves(section, setup, own or {}):
            if self.ways.of(reference, value) is not None:
                place = place_of[leaf]
                far = away if rows[place].kind == POSITION else 0.0
                found.append((place, self._graded(rows[place], reference, value, far)))
        return found

    def add_derived(self, extra: ExtraRow) -> None:
        """Add a row that was computed: every shot has a reference of its own."""
        row = self._row(extra.section, extra.group, extra.leaf, extra.kind, "", extra.parameter)
        known: dict[object, int] = {}
        line = np.zeros(len(self.shots), dtype=np.int32)
        for column, shot in enumerate(self.shots):
            reference, value = extra.pairs.get(shot, (None, None))
            remark, ungraded = extra.remarks.get(shot, ""), shot in extra.ungraded
            # By identity: equal figures may be of different types.
            held = (id(reference), id(value), remark, ungraded)
            code = known.get(held)
            if code is None:
                code = known[held] = self._code(derived_entry(row, extra, shot))
            line[column] = code
        self.rows.append(row)
        self.blocks.append(line[np.newaxis])

    def _row(
        self, section: str, group: str, leaf: str, kind: str, light_type: str, parameter: str | None = None
    ) -> Row:
        name = parameter or parameter_name(section, group, leaf)
        if name in self.names:  # one value in some sheets, a group of them in others
            *above, last = (part for part in (section, group, leaf) if part)
            name = ".".join([*above, f'"{last}"'])
        self.names.add(name)
        index = self.like.row(name) if self.like is not None else None
        if self.like is not None and index is not None:
            row = self.like.rows[index]
            # Of a few groups of a setup there is no saying which distant light of it is the strongest.
            if row.kind == kind and (
                row.light_type == light_type or {row.light_type, light_type} == {SUN, DISTANT}
            ):
                return row
        tolerance = self.policy.tolerance(name, kind, light_type)
        return Row(
            name, section, group, leaf, kind, tolerance, self.policy.lock(name, light_type), light_type
        )

    def _kind(self, section: str, group: str, leaf: str, groups: Sequence[Group | None]) -> str:
        """By the policy, else by the name, else by the first value there is, the master's before any shot's."""
        return kind_of(parameter_name(section, group, leaf), leaf, _first(groups, leaf), self.policy.kinds)


def _places_of_marks(sections: Sections | None) -> list[tuple[float, ...]]:
    """Where the marks of a sheet stand, at each key of those that move."""
    found = []
    for mark in (sections or {}).get("marks", {}).values():
        position = mark.get("position")
        every = [value for _, value in position.keys] if isinstance(position, Curve) else [position]
        found += [value for value in every if isinstance(value, tuple)]
    return found


def _from_nearest(place: Value, marks: Sequence[tuple[float, ...]]) -> float:
    """Metres from a place, or the first of one that moves, to the nearest of some marks; 0 without any."""
    stands = place.keys[0][1] if isinstance(place, Curve) else place
    if not isinstance(stands, tuple):
        return 0.0
    return figure(min((math.dist(stands, mark) for mark in marks if len(mark) == len(stands)), default=0.0))


def _presence(group: Group | None) -> Value | None:
    """What the row of a whole group holds."""
    return None if group is None else "present"


def _layout(
    setups: Sequence[Sections], shots: Sequence[Sections]
) -> Iterable[tuple[str, dict[str, dict[str, None]]]]:
    """Sections, of each the groups with their leaves, in the order of what shots are held against, then what only shots
    have."""
    for section in COMPARED_SECTIONS:
        stated = ((id(setup), held(setup, section)) for setup in setups)
        sources = list({key: setup for key, setup in stated if setup is not None}.values())
        if sources and section != "cost":
            sources += [shot.get(section, {}) for shot in shots]
        groups: dict[str, dict[str, None]] = {}
        for source in sources:
            for name, leaves in source.items():
                known = groups.setdefault(name, {})
                if not leaves.keys() <= known.keys():
                    known.update(dict.fromkeys(leaves))
        yield section, groups


def strongest_distant(sections: Sections) -> str:
    """The name of the distant light that gives most light, the first of several; empty where there is none."""
    strengths = {
        name: level.value if isinstance(level := light.get("level"), Level) else 0.0
        for name, light in sections.get("lights", {}).items()
        if light.get("type") == DISTANT
    }
    return list(strengths)[first_largest(strengths.values())] if strengths else ""


def _light_type(groups: Sequence[Group | None]) -> str:
    value = _first(groups, "type")
    return value if isinstance(value, str) else ""


def _first(groups: Sequence[Group | None], leaf: str) -> Value | None:
    return next((group[leaf] for group in groups if group is not None and leaf in group), None)
