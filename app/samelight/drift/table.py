"""The drift table: every parameter of every shot against the master, measured and graded.

Rows are parameters, columns shots in cut order. What a view needs for every cell (drift, grade, severity) lies
in arrays of shape (rows, shots); values are kept as they are and a `Cell` is made when someone looks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import ABSENT, EXTRA, Cell, Grade
from samelight.drift.metrics import SCALES, measure, severity
from samelight.drift.policy import Lock, Policy, Tolerance
from samelight.drift.structure import Difference, differences
from samelight.sheets.canonical import Sections, parameter_name
from samelight.sheets.quantities import kind_of_value
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Value
from samelight.sheets.vocabulary import (
    COMPARED_SECTIONS,
    CURVE,
    PRESENCE,
    kind_by_name,
    kind_by_pattern,
)


@dataclass(frozen=True, slots=True)
class Row:
    """One parameter, or with an empty `leaf` the presence of a whole group."""

    parameter: str
    section: str
    group: str
    leaf: str
    kind: str
    tolerance: Tolerance
    lock: Lock | None

    @property
    def group_name(self) -> str:
        """The full name of the group the row belongs to, such as `lights.sun`."""
        return parameter_name(self.section, self.group)


@dataclass(frozen=True, slots=True)
class Entry:
    """What a row holds for one shot. `master` is the reference the value is held against."""

    master: Value | None
    value: Value | None
    drift: float
    severity: float
    grade: Grade
    remark: str = ""


@dataclass(slots=True)
class Table:
    """All rows and shots. `None` in `entries` means that the shot's sheet holds nothing to compare there.

    `drift`, `severity` (float64, NaN and inf as `Entry` says) and `grade` (uint8) have the shape
    (rows, shots).
    """

    shots: tuple[str, ...]
    rows: tuple[Row, ...]
    entries: list[list[Entry | None]]
    drift: NDArray[np.float64]
    severity: NDArray[np.float64]
    grade: NDArray[np.uint8]
    _row_of: dict[str, int] = field(default_factory=dict)
    _column_of: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._row_of = {row.parameter: index for index, row in enumerate(self.rows)}
        self._column_of = {shot: index for index, shot in enumerate(self.shots)}

    def row(self, parameter: str) -> int | None:
        """The index of a parameter's row."""
        return self._row_of.get(parameter)

    def column(self, shot: str) -> int | None:
        """The index of a shot's column."""
        return self._column_of.get(shot)

    def cell(self, row: int, column: int) -> Cell:
        """The cell at a row and column."""
        what, shot = self.rows[row], self.shots[column]
        entry = self.entries[row][column] or _NOTHING
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

    def counts(self) -> dict[str, int]:
        """How many cells have each grade, by its name."""
        return {grade.word: int(np.count_nonzero(self.grade == grade)) for grade in Grade if grade.word}


_NOTHING = Entry(None, None, math.nan, 0.0, Grade.NONE)


@dataclass(frozen=True, slots=True)
class ExtraRow:
    """A row that is computed and not typed, such as the level at a mark: reference and value for each shot."""

    parameter: str
    section: str
    group: str
    leaf: str
    kind: str
    pairs: Mapping[str, tuple[Value | None, Value | None]]


def build_table(
    shots: Sequence[str],
    sheets: Mapping[str, Sheet],
    master: Sheet | None,
    policy: Policy,
    derived: Sequence[ExtraRow] = (),
) -> Table:
    """Compare every shot that has a sheet with the master. Shots without one have empty columns.

    Without a master setup the table has no rows.
    """
    if master is None:
        return _assemble(shots, [], [])
    found = {
        shot: {(d.section, d.group, d.leaf): d for d in differences(master.sections, sheets[shot].sections)}
        for shot in shots
        if shot in sheets
    }
    rows: list[Row] = []
    entries: list[list[Entry | None]] = []
    for section, group, leaves in _layout(
        master.sections, [sheets[shot].sections for shot in shots if shot in sheets]
    ):
        light_type = _light_type(section, group, master.sections, sheets.values())
        if group:
            rows.append(_row(section, group, "", PRESENCE, policy, light_type))
            entries.append([_presence(rows[-1], found.get(shot)) for shot in shots])
        for leaf in leaves:
            reference = master.value(section, group, leaf)
            kind = _kind(section, group, leaf, reference, sheets.values(), policy)
            row = _row(section, group, leaf, kind, policy, light_type)
            rows.append(row)
            entries.append(_measure_row(row, reference, shots, sheets, found))
    for extra in derived:
        row = _row(extra.section, extra.group, extra.leaf, extra.kind, policy, "", extra.parameter)
        rows.append(row)
        cache: dict[object, Entry] = {}
        entries.append([_derived_entry(row, extra.pairs.get(shot), cache) for shot in shots])
    return _assemble(shots, rows, entries)


def _assemble(shots: Sequence[str], rows: list[Row], entries: list[list[Entry | None]]) -> Table:
    shape = (len(rows), len(shots))
    drift = np.full(shape, np.nan)
    heavy = np.zeros(shape)
    grade = np.zeros(shape, dtype=np.uint8)
    for index, line in enumerate(entries):
        drift[index] = [math.nan if entry is None else entry.drift for entry in line]
        heavy[index] = [0.0 if entry is None else entry.severity for entry in line]
        grade[index] = [0 if entry is None else entry.grade for entry in line]
    return Table(tuple(shots), tuple(rows), entries, drift, heavy, grade)


def _layout(master: Sections, shots: Sequence[Sections]) -> Iterable[tuple[str, str, list[str]]]:
    """Sections, groups and leaves in the master's order, then what only shots have, in order of appearance."""
    for section in COMPARED_SECTIONS:
        if section not in master:
            continue
        groups: dict[str, dict[str, None]] = {}
        for sections in (master, *shots):
            for group, leaves in sections.get(section, {}).items():
                groups.setdefault(group, {}).update(dict.fromkeys(leaves))
        if section == "cost":
            groups = {name: dict.fromkeys(master[section].get(name, {})) for name in master[section]}
        for group, names in groups.items():
            yield section, group, list(names)


def _light_type(section: str, group: str, master: Sections, sheets: Iterable[Sheet]) -> str:
    if section != "lights":
        return ""
    value = master.get(section, {}).get(group, {}).get("type")
    if value is None:
        others = (sheet.value(section, group, "type") for sheet in sheets)
        value = next((other for other in others if other is not None), None)
    return value if isinstance(value, str) else ""


def _kind(
    section: str, group: str, leaf: str, reference: Value | None, sheets: Iterable[Sheet], policy: Policy
) -> str:
    by_policy = kind_by_pattern(parameter_name(section, group, leaf), policy.kinds) if policy.kinds else None
    named = by_policy or kind_by_name(leaf)
    if named:
        return named
    value = reference
    if value is None:
        values = (sheet.value(section, group, leaf) for sheet in sheets)
        value = next((other for other in values if other is not None), None)
    if isinstance(value, Curve):
        value = value.keys[0][1]
    return kind_of_value(value) if value is not None else "text"


def _row(
    section: str,
    group: str,
    leaf: str,
    kind: str,
    policy: Policy,
    light_type: str,
    parameter: str | None = None,
) -> Row:
    name = parameter or parameter_name(section, group, leaf)
    tolerance = policy.tolerance(name, kind, light_type)
    return Row(name, section, group, leaf, kind, tolerance, policy.lock(name, light_type))


Found = Mapping[tuple[str, str, str | None], Difference]


def _presence(row: Row, found: Found | None) -> Entry | None:
    if found is None:
        return None
    difference = found.get((row.section, row.group, None))
    if difference is None:
        return Entry("present", "present", math.nan, 0.0, Grade.SAME)
    master, value = (None, "present") if difference.how == EXTRA else ("present", None)
    return Entry(master, value, math.nan, math.inf, _bad(row), difference.how)


def _bad(row: Row) -> Grade:
    return Grade.BREAK if row.lock else Grade.DRIFT


def _measure_row(
    row: Row,
    reference: Value | None,
    shots: Sequence[str],
    sheets: Mapping[str, Sheet],
    found: Mapping[str, Found],
) -> list[Entry | None]:
    neutral = SCALES[row.kind].neutral
    same = Entry(reference, reference, neutral, 0.0, Grade.SAME) if reference is not None else None
    cache: dict[object, Entry] = {}
    line: list[Entry | None] = []
    for shot in shots:
        differs = found.get(shot)
        if differs is None:
            line.append(None)
            continue
        difference = differs.get((row.section, row.group, row.leaf))
        if difference is None:
            held = sheets[shot].value(row.section, row.group, row.leaf)
            line.append(same if held is not None else None)
            continue
        value = sheets[shot].value(row.section, row.group, row.leaf)
        line.append(_entry(row, reference, value, cache))
    return line


def _entry(row: Row, reference: Value | None, value: Value | None, cache: dict[object, Entry]) -> Entry:
    if reference is None or value is None:
        how = EXTRA if reference is None else ABSENT
        return Entry(reference, value, math.nan, math.inf, _bad(row), how)
    key = (type(value), value)
    known = cache.get(key)
    if known is None:
        known = cache[key] = graded(row, reference, value)
    return known


def graded(row: Row, reference: Value, value: Value) -> Entry:
    """A value measured against its reference and graded by the row's tolerance and lock."""
    measured = measure(row.kind, reference, value)
    heavy = severity(row.kind, measured.drift, row.tolerance.at_most)
    if heavy == 0.0:
        grade = Grade.SAME
    elif heavy <= 1.0:
        grade = Grade.WITHIN
    else:
        grade = _bad(row)
    return Entry(reference, value, measured.drift, heavy, grade, measured.remark)


def _derived_entry(
    row: Row, pair: tuple[Value | None, Value | None] | None, cache: dict[object, Entry]
) -> Entry | None:
    if pair is None or (pair[0] is None and pair[1] is None):
        return None
    reference, value = pair
    if reference is None or value is None:
        return Entry(reference, value, math.nan, math.inf, _bad(row), EXTRA if reference is None else ABSENT)
    key = (type(reference), reference, type(value), value)
    known = cache.get(key)
    if known is None:
        known = cache[key] = graded(row, reference, value)
    return known
