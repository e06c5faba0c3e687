"""The drift table: every parameter of every shot against the master, measured and graded.

Rows are parameters, columns shots in cut order. What cells hold is coded: each distinct entry stands once in a pool, and
an array of shape (rows, shots) says which one a cell has. What a view needs for every cell (drift, grade, severity) lies
in arrays of the same shape; a `ComparedCell` is made when someone looks.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, groupby, islice, repeat
from operator import attrgetter
from typing import NamedTuple
from weakref import ref

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell, CellName, ComparedCell, Grade
from samelight.drift.figures import CellFigures, OfEntries
from samelight.drift.grading import Compared, entries_of
from samelight.drift.metrics import SCALES, kind_of
from samelight.drift.policy import Policy
from samelight.drift.rows import NOTHING, Entry, ExtraRow, Row, derived_entry, graded, one_sided
from samelight.drift.structure import Ways, held, unequal_columns, unequal_leaves
from samelight.light.noise import figure, first_largest
from samelight.sheets.canonical import WHOLE, Section, Sections
from samelight.sheets.names import parameter_name
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


@dataclass(slots=True, weakref_slot=True)
class Table:
    """All rows and shots.

    `codes` (int32) says for every cell which entry of `pool` it holds; number 0 is None: neither the shot's sheet nor
    the master holds anything there. `drift`, `severity` (float64, NaN and inf as `Entry` says) and `grade` (uint8) are
    those of the entries, `of_entries`. All four have the shape (rows, shots). `parts` are the tables that it was joined
    of, where its shots are not graded by one policy.
    """

    shots: tuple[str, ...]
    rows: tuple[Row, ...]
    pool: Sequence[Entry | None]
    codes: NDArray[np.int32]
    of_entries: OfEntries
    grade: NDArray[np.uint8]
    drift: CellFigures = field(init=False)
    severity: CellFigures = field(init=False)
    _row_of: dict[str, int] = field(default_factory=dict)
    _column_of: dict[str, int] = field(default_factory=dict)
    parts: tuple[TablePart, ...] = ()
    since: tuple[ref[Table], NDArray[np.intp]] | None = field(default=None, repr=False)
    """The table that this one was made after, and the cells, as places in the flattened table, that may hold another entry."""
    _part_of: dict[int, TablePart] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._row_of = {row.parameter: index for index, row in enumerate(self.rows)}
        self._column_of = {shot: index for index, shot in enumerate(self.shots)}
        self.drift, self.severity = (CellFigures(of, self.codes) for of in self.of_entries[:2])

    @classmethod
    def coded(
        cls,
        shots: Sequence[str],
        rows: Sequence[Row],
        pool: Sequence[Entry | None],
        codes: NDArray[np.int32],
    ) -> Table:
        """The table of these codes."""
        of_entries = OfEntries.of(pool)
        return cls(tuple(shots), tuple(rows), pool, codes, of_entries, of_entries.grade[codes])

    def of_parts(self, parts: Iterable[TablePart]) -> Table:
        """The table, which is joined of these."""
        self.parts = tuple(parts)
        self._part_of = {column: part for part in self.parts for column in part.columns.tolist()}
        return self

    def columns_since(self, before: Table) -> NDArray[np.intp] | None:
        """The columns in which cells may hold another entry than in the table that this one was made after, which has the same
        rows and shots; None where that is not `before`."""
        if self.since is None or self.since[0]() is not before or before.rows is not self.rows:
            return None
        return np.flatnonzero(np.bincount(self.since[1] % max(len(self.shots), 1)))

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
        """What a decision on a cell is bound to: its value, and what that is compared with.

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

    def furthest_off(self, cells: Iterable[Cell]) -> Cell | None:
        """Of these cells the one that is furthest off, by its grade and then by how many tolerances; the first of equals."""
        return max(cells, key=lambda cell: (int(self.grade[cell]), float(self.severity[cell])), default=None)

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
    """Compare every shot that has a sheet with what it is compared with: one sheet such as the master, or for each its own.

    Shots without a sheet, or without one to be compared with, have empty columns; without any there are no rows. `like` is
    a table by the same policy, whose rows need not be made anew.
    """
    lines = _Lines(shots, sheets, policy, like)
    if against is not None:
        each = against if isinstance(against, Mapping) else dict.fromkeys(shots, against)
        lines.compare(each, [against] if isinstance(against, Sheet) else list(against.values()))
        for extra in derived:
            lines.add_derived(extra)
    return lines.table()


class _Sides:
    """One section on both sides: what each column is compared with, and what it holds.

    `setups` are the distinct ones of what they are compared with, of which `which` says for every column its own; None is
    for a column that is compared with nothing.
    """

    def __init__(self, pairs: Sequence[tuple[Section, Section] | None]) -> None:
        against = [None if pair is None else pair[0] for pair in pairs]
        self.setups: list[Section | None] = list({id(setup): setup for setup in against}.values())
        numbers = {id(setup): number for number, setup in enumerate(self.setups)}
        self.which = [numbers[id(setup)] for setup in against]
        self.shots = [None if pair is None else pair[1] for pair in pairs]

    def of(self, name: str) -> _Group:
        """A group of the section as each setup and each column has it."""
        # A section's own parameters are no group that could be extra as a whole.
        other = _OWN.get(name)
        return _Group(
            [None if setup is None else setup.get(name, other) for setup in self.setups],
            [None if shot is None else shot.get(name) for shot in self.shots],
        )


class _Group(NamedTuple):
    """A group on both sides: of each setup, and of each column; None where it is not there."""

    setups: list[Group | None]
    shots: list[Group | None]

    def first(self, leaf: str) -> Value | None:
        """The first value that a parameter has, a setup's before any shot's."""
        for groups in self:
            for group in groups:
                if group is not None and leaf in group:
                    return group[leaf]
        return None


class _Unlike(NamedTuple):
    """A group that is not as it is compared with, the columns that have it, and how many metres that is from the nearest mark."""

    group: Group
    away: float
    columns: list[int]


_columns_of = attrgetter("columns")


class _Lines:
    """The table under construction: most cells equal what they are compared with, so a line starts as that and is mended."""

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
        self.to_grade: list[Compared] = []
        self.graded_from: list[int] = []
        self.aways: dict[int, float] = {}
        self.marks = [_places_of_marks(sections) for sections in self.sections]
        self.ways = Ways()
        self.sun = ""
        # By identity, and what is no drift by that of its kind: the sheets keep their values.
        self.same: dict[tuple[int, float], int] = {}
        self.lacks: dict[int, int] = {}
        self.present = self._code(_PRESENT)

    def table(self) -> Table:
        entries = iter(entries_of(self.to_grade))
        for start, one in zip(self.graded_from, self.to_grade, strict=True):
            self.pool[start : start + len(one.values)] = islice(entries, len(one.values))
        for code, away in self.aways.items():
            self.pool[code] = (self.pool[code] or NOTHING)._replace(away=away)
        codes = np.zeros((len(self.rows), len(self.shots)), dtype=np.int32)
        if self.blocks:
            np.concatenate(self.blocks, out=codes)
        return Table.coded(self.shots, self.rows, self.pool, codes)

    def _code(self, entry: Entry | None) -> int:
        if entry is None:
            return 0
        self.pool.append(entry)
        return len(self.pool) - 1

    def _graded(
        self, row: Row, reference: Value | None, values: Sequence[Value | None], away: float = 0.0
    ) -> range:
        """The codes of values that are unlike what they are compared with; they are graded with all others once all are known.
        `away` is how many metres what a light's place is compared with is from the nearest mark."""
        codes = range(len(self.pool), len(self.pool) + len(values))
        self.to_grade.append(Compared(row.of(reference, away), reference, values))
        self.graded_from.append(codes.start)
        self.pool += [None] * len(values)
        if away:
            self.aways.update(dict.fromkeys(codes, away))
        return codes

    def compare(self, references: Mapping[str, Sheet], in_order: Sequence[Sheet]) -> None:
        """Add the rows of what the shots are compared with, then in each group what only shots have.

        `references` says what each shot is compared with, `in_order` is all of it.
        """
        pairs = [
            None if own is None or shot not in references else (references[shot].sections, own)
            for shot, own in zip(self.shots, self.sections, strict=True)
        ]
        self.sun = next((sun for one in in_order if (sun := strongest_distant(one.sections))), "")
        there = [own for pair, own in zip(pairs, self.sections, strict=True) if pair and own is not None]
        for section, laid_out in _layout([one.sections for one in in_order], there):
            pairs_here = [
                None
                if pair is None or (setup := held(pair[0], section)) is None
                else (setup, pair[1].get(section, {}))
                for pair in pairs
            ]
            self._add_section(section, laid_out, _Sides(pairs_here))

    def _add_section(self, section: str, laid_out: Mapping[str, Collection[str]], sides: _Sides) -> None:
        """Add the rows of one section, all as what they are compared with, then put in what is not."""
        as_stated: list[list[int]] = []
        unlike_places, unlike_columns, unlike_codes = array("i"), array("i"), array("i")
        for name, leaves in laid_out.items():
            if not (name or leaves):
                continue
            group, start = sides.of(name), len(as_stated)
            rows = self._rows_of(section, name, leaves, group)
            as_stated += [self._as_stated(row, group) for row in rows]
            for place, columns, codes in self._unlike_in(rows, group, sides.which):
                unlike_places.extend(repeat(start + place, len(columns)))
                unlike_columns.extend(columns)
                unlike_codes.extend(codes)
            self.rows += rows
        block = np.array(as_stated, dtype=np.int32).reshape(len(as_stated), len(sides.setups))[
            :, np.array(sides.which, dtype=np.intp)
        ]
        block[np.array(unlike_places, np.intp), np.array(unlike_columns, np.intp)] = unlike_codes
        self.blocks.append(block)

    def _rows_of(self, section: str, name: str, leaves: Iterable[str], group: _Group) -> list[Row]:
        """The rows of one group, that of its presence first."""
        light_type = ""
        if section == "lights" and isinstance(stated := group.first("type"), str):
            light_type = SUN if stated == DISTANT and name == self.sun else stated
        rows = (
            [self._row(parameter_name(section, name), section, name, "", PRESENCE, light_type)]
            if name
            else []
        )
        for leaf in leaves:
            parameter = parameter_name(section, name, leaf)
            # By the policy, else by the name, else by the first value there is.
            kind = kind_of(parameter, leaf, group.first(leaf), self.policy.kinds)
            rows.append(self._row(parameter, section, name, leaf, kind, light_type))
        return rows

    def _as_stated(self, row: Row, group: _Group) -> list[int]:
        """The codes of a row where nothing differs, as each setup has it or means it; nothing is 0."""
        if not row.leaf:
            return [0 if setup is None else self.present for setup in group.setups]
        codes, neutral = [], SCALES[row.kind].neutral
        for setup in group.setups:
            value = None if setup is None else setup.get(row.leaf)
            if value is None and setup is not None:
                value = unstated(row.section, row.leaf, group.first(row.leaf))
            code = 0 if value is None else self.same.get((id(value), neutral))
            if code is None:
                code = self.same[id(value), neutral] = self._code(
                    Entry(value, value, neutral, 0.0, Grade.SAME)
                )
            codes.append(code)
        return codes

    def _unlike_in(
        self, rows: Sequence[Row], group: _Group, which: Sequence[int]
    ) -> Iterator[tuple[int, Sequence[int], Iterable[int]]]:
        """The cells in which one group is not as it is compared with: the place of a row, columns, and the code in each."""
        place_of = {row.leaf: place for place, row in enumerate(rows)}
        is_light = rows[0].section == "lights"
        columns_of: dict[tuple[int, int, float], list[int]] = {}
        for column, (number, shot) in enumerate(zip(which, group.shots, strict=True)):
            setup = group.setups[number]
            if setup is not shot:
                stands = setup.get("position") if is_light and setup is not None else None
                away = 0.0 if stands is None else _from_nearest(stands, self.marks[column])
                columns_of.setdefault((number, id(shot), away), []).append(column)
        alike: dict[int, list[_Unlike]] = {}
        for (number, _, away), columns in columns_of.items():
            setup, shot = group.setups[number], group.shots[columns[0]]
            if setup is not None and shot is not None and _laid_out_alike(rows[0].section, setup, shot):
                alike.setdefault(number, []).append(_Unlike(shot, away, columns))
                continue
            for place, code in self._unlike(rows, place_of, setup, shot, away).items():
                yield place, columns, repeat(code, len(columns))
        for number, unlike in alike.items():
            setup, groups = group.setups[number] or {}, [one.group for one in unlike]
            for leaf, reference, which_of, values in unequal_columns(setup, groups, self.ways):
                place, ones = place_of[leaf], [*map(unlike.__getitem__, which_of)]
                codes = self._unequal(rows[place], reference, values, ones)
                of_each: list[list[int]] = [*map(_columns_of, ones)]
                yield (
                    place,
                    [*chain.from_iterable(of_each)],
                    chain.from_iterable(map(repeat, codes, map(len, of_each))),
                )

    def _unequal(
        self, row: Row, reference: Value, values: Sequence[Value], unlike: Sequence[_Unlike]
    ) -> Iterable[int]:
        """The codes of values of one row that are unlike one reference."""
        if row.kind != POSITION:
            return self._graded(row, reference, values)
        # What a place may be off hangs on the marks of its shot.
        together = groupby(zip(values, unlike, strict=True), lambda held: held[1].away)
        return chain.from_iterable(
            self._graded(row, reference, [value for value, _ in held], away) for away, held in together
        )

    def _unlike(
        self,
        rows: Sequence[Row],
        place_of: Mapping[str, int],
        setup: Group | None,
        shot: Group | None,
        away: float,
    ) -> dict[int, int]:
        """By the place of each row of a group in which a shot's values are not those of its setup, which stands so many metres
        from the nearest mark, the code."""
        section, name = rows[0].section, rows[0].group
        found: dict[int, int] = {}
        if setup is None:
            # An extra group, of which its presence says so once.
            for leaf, own in (shot or {}).items():
                found[place_of[leaf]] = self._code(Entry(None, own, math.nan, 0.0, Grade.NONE))
        elif shot is None or section == "cost":
            # Cost is compared where both state it, so that what a shot leaves out is no difference.
            for leaf, place in place_of.items():
                if leaf and (not shot or leaf not in shot):
                    found[place] = self._lacking(setup.get(leaf))
        if name and (setup is None or shot is None):
            there, here = _presence(setup), _presence(shot)
            if (how := self.ways.of(there, here)) is not None:
                found[0] = self._code(one_sided(rows[0], there, here, how))
        elif setup is not None:
            for leaf, reference, value in unequal_leaves(section, setup, shot or {}):
                if type(reference) is type(value) or self.ways.of(reference, value) is not None:
                    place = place_of[leaf]
                    far = away if rows[place].kind == POSITION else 0.0
                    found[place] = self._graded(rows[place], reference, [value], far)[0]
        return found

    def _lacking(self, value: Value | None) -> int:
        """The code of what a shot does not state, where that is no difference by itself; nothing is 0."""
        if value is None:
            return 0
        code = self.lacks.get(id(value))
        if code is None:
            code = self.lacks[id(value)] = self._code(Entry(value, None, math.nan, 0.0, Grade.NONE))
        return code

    def add_derived(self, extra: ExtraRow) -> None:
        """Add a row that was computed: every shot has a reference of its own."""
        row = self._row(extra.parameter, extra.section, extra.group, extra.leaf, extra.kind, "")
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

    def _row(self, name: str, section: str, group: str, leaf: str, kind: str, light_type: str) -> Row:
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
    if not (marks and isinstance(stands, tuple)):
        return 0.0
    return figure(min((math.dist(stands, mark) for mark in marks if len(mark) == len(stands)), default=0.0))


def _laid_out_alike(section: str, setup: Group, shot: Group) -> bool:
    """Whether two groups are compared parameter by parameter, in order. Cost is compared where both state it."""
    return section != "cost" and len(setup) == len(shot) and list(setup) == list(shot)


def _presence(group: Group | None) -> Value | None:
    """What the row of a whole group holds."""
    return None if group is None else "present"


def _layout(
    setups: Sequence[Sections], shots: Sequence[Sections]
) -> Iterable[tuple[str, dict[str, dict[str, None]]]]:
    """Sections, of each the groups with their leaves, in the order of what shots are compared with, then what only shots
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
