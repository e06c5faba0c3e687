"""The drift table: every parameter of every shot against the master, measured and graded.

Rows are parameters, columns shots in cut order. What cells hold is coded: each distinct entry stands once in a pool, and
an array of shape (rows, shots) says which one a cell has. What a view needs for every cell (drift, grade, severity) lies
in arrays of the same shape; a `Cell` is made when someone looks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell, Grade
from samelight.drift.metrics import SCALES, kind_of
from samelight.drift.policy import Policy
from samelight.drift.rows import NOTHING, Entry, ExtraRow, Row, derived_entry, entry_of, graded, one_sided
from samelight.drift.structure import EXTRA, Key, differences_of_all
from samelight.sheets.canonical import Sections, parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group, Value
from samelight.sheets.vocabulary import (
    COMPARED_SECTIONS,
    CURVE,
    PRESENCE,
)

__all__ = ["Entry", "ExtraRow", "Row", "Table", "build_table", "graded"]

_PRESENT = Entry("present", "present", math.nan, 0.0, Grade.SAME)


@dataclass(slots=True)
class Table:
    """All rows and shots.

    `codes` (int32) says for every cell which entry of `pool` it holds; number 0 is None: neither the shot's sheet nor
    the master holds anything there. `drift`, `severity` (float64, NaN and inf as `Entry` says) and `grade` (uint8) are
    those of the entries. All four have the shape (rows, shots).
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

    def places(self, names: Iterable[tuple[str, str]]) -> list[tuple[int, int]]:
        """Row and column of cells named by shot and parameter; those that are not there are left out."""
        found = [(self.row(parameter), self.column(shot)) for shot, parameter in names]
        return [(row, column) for row, column in found if row is not None and column is not None]

    def cell(self, row: int, column: int) -> Cell:
        """The cell at a row and column."""
        what, shot = self.rows[row], self.shots[column]
        entry = self.entry(row, column) or NOTHING
        animated = isinstance(entry.master, Curve) or isinstance(entry.value, Curve)
        return Cell(
            shot=shot,
            parameter=what.parameter,
            kind=CURVE if animated else what.kind,
            base=what.kind,
            master=entry.master,
            value=entry.value,
            drift=entry.drift,
            unit=SCALES[what.kind].unit,
            tolerance=what.tolerance.at_most,
            grade=entry.grade,
            remark=entry.remark,
        )

    def cells(self, above: Grade = Grade.SAME) -> Iterable[Cell]:
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
    master: Sheet | None,
    policy: Policy,
    derived: Sequence[ExtraRow] = (),
    like: Table | None = None,
) -> Table:
    """Compare every shot that has a sheet with the master. Shots without one have empty columns.

    Without a master setup the table has no rows. `like` is a table by the same policy, whose rows need not be made anew.
    """
    lines = _Lines(shots, sheets, policy, like)
    if master is not None:
        lines.compare(master)
        for extra in derived:
            lines.add_derived(extra)
    return lines.table()


Figures = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.uint8]]


def figures_of(pool: Sequence[Entry | None]) -> Figures:
    """Drift, severity and grade of every entry of a pool, each an array of its length."""
    held = [entry or NOTHING for entry in pool]
    return (
        np.array([entry.drift for entry in held], dtype=np.float64),
        np.array([entry.severity for entry in held], dtype=np.float64),
        np.array([entry.grade for entry in held], dtype=np.uint8),
    )


class _Lines:
    """The table under construction: most cells equal the master, so a line starts as that and is mended."""

    def __init__(
        self, shots: Sequence[str], sheets: Mapping[str, Sheet], policy: Policy, like: Table | None
    ) -> None:
        self.shots = tuple(shots)
        self.sheets = [sheets.get(shot) for shot in shots]
        self.policy = policy
        self.like = like
        self.rows: list[Row] = []
        self.pool: list[Entry | None] = [None]
        self.codes: list[NDArray[np.int32]] = []

    def table(self) -> Table:
        codes = np.zeros((len(self.rows), len(self.shots)), dtype=np.int32)
        if self.codes:
            np.stack(self.codes, out=codes)
        return Table.coded(self.shots, self.rows, self.pool, codes)

    def _code(self, entry: Entry | None) -> int:
        if entry is None:
            return 0
        self.pool.append(entry)
        return len(self.pool) - 1

    def compare(self, master: Sheet) -> None:
        """Add the rows of the master's sections, then in each what only shots have."""
        columns = [column for column, sheet in enumerate(self.sheets) if sheet is not None]
        shots = [sheet.sections for sheet in self.sheets if sheet is not None]
        found: dict[Key, list[tuple[int, str]]] = {}
        for column, places in zip(columns, differences_of_all(master.sections, shots), strict=True):
            for place in places:
                found.setdefault((place.section, place.group, place.leaf), []).append((column, place.how))
        sections = [None if sheet is None else sheet.sections for sheet in self.sheets]
        for section, group, leaves in _layout(master.sections, shots):
            groups = [None if s is None else s.get(section, {}).get(group) for s in sections]
            self._add_group(section, group, leaves, master.sections[section].get(group), groups, found)

    def _add_group(
        self,
        section: str,
        group: str,
        leaves: Sequence[str],
        setup: Group | None,
        groups: Sequence[Group | None],
        found: Mapping[Key, Sequence[tuple[int, str]]],
    ) -> None:
        """Add the rows of one group: `setup` is the master's, `groups` the shots'."""
        known = [setup, *groups] if setup is not None else groups
        light_type = _light_type(known) if section == "lights" else ""
        held = np.array([other is not None for other in groups], dtype=bool)
        if group:
            row = self._row(section, group, "", PRESENCE, light_type)
            alone = {
                column: one_sided(row, None, "present", how)
                if how == EXTRA
                else one_sided(row, "present", None, how)
                for column, how in found.get((section, group, None), ())
            }
            self._add(row, held, _PRESENT if setup is not None else None, None, alone)
        for leaf in leaves:
            reference = setup.get(leaf) if setup is not None else None
            row = self._row(section, group, leaf, self._kind(section, group, leaf, known), light_type)
            same = other = None
            if reference is not None:
                same = Entry(reference, reference, SCALES[row.kind].neutral, 0.0, Grade.SAME)
                other = Entry(reference, None, math.nan, 0.0, Grade.NONE)
            self._add(row, held, same, other, self._unequal(row, reference, groups, setup is None, found))

    def _unequal(
        self,
        row: Row,
        reference: Value | None,
        groups: Sequence[Group | None],
        extra_group: bool,
        found: Mapping[Key, Sequence[tuple[int, str]]],
    ) -> dict[int, Entry]:
        """The entries of one parameter that are not the master's, each distinct value measured once."""
        if extra_group:
            return {
                column: Entry(None, group[row.leaf], math.nan, 0.0, Grade.NONE)
                for column, group in enumerate(groups)
                if group is not None and row.leaf in group
            }
        cache: dict[object, Entry] = {}
        unequal: dict[int, Entry] = {}
        if row.section == "cost":  # compared where both state it, so what a shot leaves out is no difference
            untimed = Entry(reference, None, math.nan, 0.0, Grade.NONE)
            unequal = {c: untimed for c, group in enumerate(groups) if group and row.leaf not in group}
        for column, _ in found.get((row.section, row.group, row.leaf), ()):
            group = groups[column]
            value = group.get(row.leaf) if group is not None else None
            key = (type(value), value)
            if key not in cache:
                cache[key] = entry_of(row, reference, value)
            unequal[column] = cache[key]
        return unequal

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
        self.codes.append(line)

    def _add(
        self,
        row: Row,
        held: NDArray[np.bool_],
        same: Entry | None,
        other: Entry | None,
        unequal: Mapping[int, Entry],
    ) -> None:
        """Add a row: `same` where `held`, `other` in the other shots that have a sheet, `unequal` over both."""
        line = np.full(len(self.sheets), self._code(same), dtype=np.int32)
        without = self._code(other)
        for column in np.flatnonzero(~held).tolist():
            line[column] = 0 if self.sheets[column] is None else without
        codes: dict[int, int] = {}
        for column, entry in unequal.items():
            code = codes.get(id(entry))
            if code is None:
                code = codes[id(entry)] = self._code(entry)
            line[column] = code
        self.rows.append(row)
        self.codes.append(line)

    def _row(
        self, section: str, group: str, leaf: str, kind: str, light_type: str, parameter: str | None = None
    ) -> Row:
        name = parameter or parameter_name(section, group, leaf)
        index = self.like.row(name) if self.like is not None else None
        if self.like is not None and index is not None:
            row = self.like.rows[index]
            if (row.kind, row.light_type) == (kind, light_type):
                return row
        tolerance = self.policy.tolerance(name, kind, light_type)
        return Row(
            name, section, group, leaf, kind, tolerance, self.policy.lock(name, light_type), light_type
        )

    def _kind(self, section: str, group: str, leaf: str, groups: Sequence[Group | None]) -> str:
        """By the policy, else by the name, else by the first value there is, the master's before any shot's."""
        return kind_of(parameter_name(section, group, leaf), leaf, _first(groups, leaf), self.policy.kinds)


def _layout(master: Sections, shots: Sequence[Sections]) -> Iterable[tuple[str, str, list[str]]]:
    """Sections, groups and leaves in the master's order, then what only shots have, in order of appearance."""
    for section in COMPARED_SECTIONS:
        if section not in master:
            continue
        groups = {name: dict.fromkeys(leaves) for name, leaves in master[section].items()}
        if section != "cost":
            for sections in shots:
                for name, leaves in sections.get(section, {}).items():
                    known = groups.setdefault(name, {})
                    if not leaves.keys() <= known.keys():
                        known.update(dict.fromkeys(leaves))
        for name, known in groups.items():
            yield section, name, list(known)


def _light_type(groups: Sequence[Group | None]) -> str:
    value = _first(groups, "type")
    return value if isinstance(value, str) else ""


def _first(groups: Sequence[Group | None], leaf: str) -> Value | None:
    return next((group[leaf] for group in groups if group is not None and leaf in group), None)
