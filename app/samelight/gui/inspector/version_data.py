"""A parameter over the versions of a shot's sheet, or of the master: what is plotted, and what is said. No Qt.

A quantity is plotted as its value, with the value it is compared with and the tolerance around that; a level in stops, and
a direction, a colour and a position as how far they are off. What is no quantity is plotted as steps between its values.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.computed.derived import derived_rows, key_sheet
from samelight.drift.derived_names import SECTIONS
from samelight.drift.metrics import SCALES
from samelight.drift.rows import Entry, ExtraRow, Row, entry_of
from samelight.drift.table import Table
from samelight.drift.traces import Trace, row_traces
from samelight.drift.words import drift_text, value_text
from samelight.gui.state.cell_words import published_text, sheet_name
from samelight.light.directions import Vector
from samelight.sheets import vocabulary as kinds
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Value

MOST_WORDS = 6
"""More values than this of what is no quantity make no plot that anyone reads."""

_BY_DRIFT = (kinds.DIRECTION, kinds.COLOUR, kinds.POSITION, kinds.TEMPERATURE)
_IN_WORDS = (kinds.SWITCH, kinds.CHOICE, kinds.TEXT, kinds.FILE, kinds.PRESENCE, kinds.SET)


@dataclass(frozen=True, slots=True)
class Version:
    """One version: the value in words, how far it is off, who published it where that is stated, and with `fault` why it
    cannot be read."""

    number: int
    value: str
    drift: str
    grade: Grade
    severity: float
    built_on: int | None
    published: str
    fault: str = ""

    @property
    def name(self) -> str:
        """Such as v003."""
        return f"v{self.number:03d}"

    @property
    def line(self) -> str:
        """The version in one line."""
        if self.fault:
            return f"{self.name}: cannot be read: {self.fault}"
        drift = f", {self.drift}" if self.drift not in ("", self.value) else ""
        return f"{self.name}: {self.value}{drift}"

    @property
    def whole(self) -> str:
        """The version with what its sheet states of itself."""
        built = f"built on master v{self.built_on:03d}" if self.built_on is not None else ""
        stated = self.published or ("" if self.fault else "who published it, and when, is not stated")
        return "; ".join(part for part in (self.line, built, stated) if part)


@dataclass(frozen=True, slots=True, eq=False)
class VersionHistory:
    """The versions, oldest first, and the trace that is plotted over them; None where there is nothing to plot.

    `held` says what they are compared with.
    """

    versions: tuple[Version, ...]
    trace: Trace | None
    held: str


@dataclass(frozen=True, slots=True)
class Past:
    """The sheets of every version of one shot, or why one cannot be read."""

    sheets: Mapping[int, Sheet]
    faults: Mapping[int, str]


def shot_history(
    row: Row, past: Past, reference: Sheet | None, key: Sheet | None, north: Vector
) -> VersionHistory:
    """A shot's parameter in every version, compared with `reference`. `key` is the key shot's sheet, for computed rows."""
    names = {f"v{number:03d}": sheet for number, sheet in past.sheets.items()}
    extra = None
    if row.section in SECTIONS and reference is not None:
        computed = derived_rows(tuple(names), names, reference, key)
        extra = next((found for found in computed if found.parameter == row.parameter), None)
    numbers = sorted({*past.sheets, *past.faults})
    entries = [
        _entry(row, reference, past.sheets[number], extra, f"v{number:03d}")
        if number in past.sheets
        else None
        for number in numbers
    ]
    return _history(row, numbers, entries, past, sheet_name(reference), north)


def master_history(
    row: Row,
    masters: Mapping[int, Sheet],
    current: Sheet,
    shot: Sheet | None,
    named_key: str | None,
    sheets: Mapping[str, Sheet],
    north: Vector,
) -> VersionHistory:
    """The same parameter of every master setup, compared with the one that counts.

    For a computed row that is what each master gives this shot, whose sheet is `shot`.
    """
    numbers = sorted(masters)
    if row.section in SECTIONS:
        given = {
            number: _given(row, masters[number], shot, key_sheet(named_key, masters[number], sheets))
            for number in numbers
        }
        now = given.get(current.version)
        entries = [_held(row, now, given[number]) for number in numbers]
    else:
        entries = [_entry(row, current, masters[number], None, "") for number in numbers]
    return _history(row, numbers, entries, Past(masters, {}), sheet_name(current), north)


def _given(row: Row, master: Sheet, shot: Sheet | None, key: Sheet | None) -> Value | None:
    """What a master gives a shot in a computed row."""
    if shot is None:
        return None
    computed = derived_rows((shot.shot,), {shot.shot: shot}, master, key)
    pairs = next((found.pairs for found in computed if found.parameter == row.parameter), {})
    return pairs.get(shot.shot, (None, None))[0]


def _held(row: Row, reference: Value | None, value: Value | None) -> Entry | None:
    if reference is None or value is None:
        return None if value is None else Entry(reference, value, math.nan, 0.0, Grade.NONE)
    return entry_of(row, reference, value)


def _entry(
    row: Row, reference: Sheet | None, sheet: Sheet, extra: ExtraRow | None, name: str
) -> Entry | None:
    if row.section in SECTIONS:
        held, value = extra.pairs.get(name, (None, None)) if extra is not None else (None, None)
        return _held(row, held, value)
    sides = [_side(row, reference), _side(row, sheet)]
    if row.leaf and not all(_has_group(row, one) for one in (reference, sheet)):
        return None if sides == [None, None] else Entry(sides[0], sides[1], math.nan, 0.0, Grade.NONE)
    if sides == [None, None]:
        return None
    return entry_of(row, *sides)


def _has_group(row: Row, sheet: Sheet | None) -> bool:
    return sheet is not None and row.group in sheet.sections.get(row.section, {})


def _side(row: Row, sheet: Sheet | None) -> Value | None:
    if not row.leaf:
        return "present" if _has_group(row, sheet) else None
    return sheet.value(row.section, row.group, row.leaf) if sheet is not None else None


def _history(
    row: Row, numbers: Sequence[int], entries: Sequence[Entry | None], past: Past, held: str, north: Vector
) -> VersionHistory:
    names = tuple(f"v{number:03d}" for number in numbers)
    codes = np.arange(1, len(entries) + 1, dtype=np.int32)[None, :]
    table = Table.coded(names, (row,), [None, *entries], codes)
    versions = []
    for column, number in enumerate(numbers):
        cell, sheet = table.cell(0, column), past.sheets.get(number)
        versions.append(
            Version(
                number,
                "not there" if cell.value is None else value_text(cell.value, cell.value_kind, north),
                _drift(cell),
                cell.grade,
                float(table.severity[0, column]),
                sheet.master if sheet is not None else None,
                published_text(sheet) if sheet is not None else "",
                past.faults.get(number, ""),
            )
        )
    return VersionHistory(tuple(versions), _trace(row, table, entries, north), held)


def _drift(cell: ComparedCell) -> str:
    return drift_text(cell) if cell.value is not None else ""


def _trace(row: Row, table: Table, entries: Sequence[Entry | None], north: Vector) -> Trace | None:
    if not any(entry is not None and entry.value is not None for entry in entries):
        return None
    animated = any(
        isinstance(side, Curve) for entry in entries if entry for side in (entry.master, entry.value)
    )
    if row.kind in _IN_WORDS:
        return _steps(row, entries, north)
    if row.kind in _BY_DRIFT or animated:
        return _off(row, table)
    trace = row_traces(table, 0, north)[0]
    return replace(trace, title=row.leaf or row.group)


def _off(row: Row, table: Table) -> Trace:
    """How far each version is off, in the unit of the kind; the line is what it is compared with."""
    scale = SCALES[row.kind]
    held = [entry for entry in table.line(0) if entry is not None]
    allowed = max((row.of(entry.master, entry.away).tolerance.at_most for entry in held), default=0.0)
    low = -allowed if scale.signed else scale.neutral
    high = allowed
    if row.kind == kinds.COUNT:
        low, high = 1.0 / max(allowed, 1.0), max(allowed, 1.0)
    values = table.drift[0]
    values[np.isposinf(values)] = math.nan
    sign = "×" if row.kind == kinds.COUNT else f"{scale.sign} off"
    return Trace(row.leaf, sign, 0, values, scale.neutral, low, high, nothing="dark")


def _steps(row: Row, entries: Sequence[Entry | None], north: Vector) -> Trace | None:
    """Steps between values that are no quantities, what is compared with being the lowest."""
    words: dict[str, int] = {}

    def place(value: Value | None) -> float:
        text = "not there" if value is None else value_text(value, row.kind, north)
        return float(words.setdefault(text, len(words)))

    held = next((entry.master for entry in entries if entry is not None and entry.master is not None), None)
    line = place(held) if held is not None else math.nan
    values = np.array([math.nan if entry is None else place(entry.value) for entry in entries])
    if len(words) > MOST_WORDS:
        return None
    return Trace(row.leaf or row.group, "", 0, values, line, line, line, tuple(words))
