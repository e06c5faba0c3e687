"""Traces are made of a row's distinct entries: how these are shared among the shots must not be seen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields
from itertools import pairwise
from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from samelight.drift.cells import Grade
from samelight.drift.jumps import jump_between, jumps_of
from samelight.drift.policy import Tolerance
from samelight.drift.readings import reading_of
from samelight.drift.rows import Entry, Row, entry_of
from samelight.drift.table import Table
from samelight.drift.traces import Trace, TraceScale, row_traces, traces_of
from samelight.light.directions import from_azimuth_elevation
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Level, Value
from strategies import amounts, colours, curves_of, words

NEAR = (1.0, 0.85, 1.15)
"""The last two are within a quarter of a stop of the first, and further than that from each other."""
numbers = st.sampled_from((*NEAR, 2.0, 0.0))
directions = st.builds(
    from_azimuth_elevation, st.sampled_from((0, 100, 190, 280, 359)), st.sampled_from((0, 60))
)

OF_KIND: dict[str, st.SearchStrategy[Value]] = {
    kinds.DIRECTION: directions | curves_of(directions),
    kinds.LEVEL: st.builds(Level, numbers) | st.just(Level(800.0, "illuminance")),
    kinds.COLOUR: colours,
    kinds.ANGLE: st.sampled_from((0.0, 20.0, 90.0, 270.0, 345.0)),
    kinds.LENGTH: numbers | amounts,
    kinds.CHOICE: words,
}


PLAIN = (kinds.COLOUR, kinds.LENGTH, kinds.CHOICE)
"""Neither plotted from the master nor the shorter way round."""


@st.composite
def lines(draw: st.DrawFn, of: Sequence[str] = tuple(OF_KIND)) -> tuple[Row, list[Entry | None]]:
    """A row, and what it holds for each shot: a few entries, each for several of them."""
    kind = draw(st.sampled_from(of))
    row, side = row_of(kind, 0.25), OF_KIND[kind]
    masters = draw(st.lists(side | st.none(), min_size=2, max_size=2))
    pairs = st.tuples(st.sampled_from(masters), side | st.none()).filter(lambda pair: pair != (None, None))
    few = [None, *(entry_of(row, *pair) for pair in draw(st.lists(pairs, min_size=3, max_size=6)))]
    return row, draw(st.lists(st.sampled_from(few), min_size=6, max_size=16))


def row_of(kind: str, at_most: float) -> Row:
    return Row(f"lights.lamp.{kind}", "lights", "lamp", kind, kind, Tolerance(at_most, "", "", ""), None)


def coded(row: Row, line: list[Entry | None], pool: list[Entry | None]) -> Table:
    places = {id(entry): code for code, entry in enumerate(pool, 1)}
    codes = np.array([[places[id(entry)] for entry in line]], dtype=np.int32)
    return Table.coded([f"HB_{number:03d}" for number in range(len(line))], [row], [None, *pool], codes)


def distinct(line: list[Entry | None]) -> list[Entry | None]:
    return list({id(entry): entry for entry in line}.values())


def as_said(traces: list[Trace]) -> list[list[Any]]:
    """All of the traces, their arrays to the bit."""
    found = [[getattr(trace, field.name) for field in fields(trace)] for trace in traces]
    return [[repr(v.tolist()) if isinstance(v, np.ndarray) else repr(v) for v in one] for one in found]


@given(lines())
def test_shots_that_share_an_entry_are_plotted_as_if_each_had_its_own(
    made: tuple[Row, list[Entry | None]],
) -> None:
    row, line = made
    each = [None if entry is None else entry._replace() for entry in line]
    own = coded(row, each, each)
    shared = coded(row, line, distinct(line)[::-1])  # a pool's order says nothing about that of the shots
    for scale in TraceScale:
        assert as_said(traces_of(shared, 0, scale=scale)) == as_said(traces_of(own, 0, scale=scale))
    assert as_said(row_traces(shared, 0)) == as_said(row_traces(own, 0))


@given(lines(PLAIN))
def test_each_shot_is_plotted_by_what_its_own_entry_reads(made: tuple[Row, list[Entry | None]]) -> None:
    row, line = made
    (trace,) = row_traces(coded(row, line, distinct(line)), 0)
    reading = reading_of(row.kind)
    np.testing.assert_array_equal(trace.values, [reading.of_value(entry) for entry in line])


@given(st.lists(st.sampled_from((*NEAR, 2.0, None)), min_size=2, max_size=20))
def test_a_row_jumps_at_every_cut_where_two_shots_within_tolerance_are_not_within_it_of_each_other(
    levels: list[float | None],
) -> None:
    row = row_of(kinds.LEVEL, 0.25)
    held = {value: entry_of(row, Level(1.0), Level(value)) for value in levels if value is not None}
    line = [None if value is None else held[value] for value in levels]
    apart = {(a, b) for a in NEAR for b in NEAR if abs(math.log2(a / b)) > 0.25}
    expected = [place for place, pair in enumerate(pairwise(levels)) if pair in apart]
    assert jumps_of(coded(row, line, distinct(line)), 0) == expected


PLACED = st.floats(0.3, 1.7) | st.sampled_from((0.7, 0.85, 0.95, 1.0, 1.15, 1.3))


@given(
    st.sampled_from((kinds.NUMBER, kinds.LENGTH, kinds.DURATION, kinds.ANGLE, kinds.FRACTION, kinds.COUNT)),
    st.sampled_from((0.5, 5.0, 30.0, 60.0)),
    st.lists(PLACED, min_size=2, max_size=12),
    st.sampled_from((1.0, -1.0)),
)
def test_no_jump_is_missed_whatever_the_kind_is_measured_in(
    kind: str, at_most: float, values: list[float], way: float
) -> None:
    """A percentage is of the first of two shots: 0.85 | 1.15 is 35 % although each is 15 % off 1."""
    row = row_of(kind, at_most if kind != kinds.COUNT else 1.0 + at_most / 100.0)
    if kind == kinds.COUNT:
        way = 1.0
    line: list[Entry | None] = [entry_of(row, way, way * value) for value in values]
    expected = [
        place
        for place, (one, other) in enumerate(pairwise(line))
        if one is not None
        and other is not None
        and max(one.grade, other.grade) <= Grade.WITHIN
        and jump_between(row, one, other) is not None
    ]
    assert jumps_of(coded(row, line, distinct(line)), 0) == expected
