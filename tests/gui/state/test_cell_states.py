"""What is worked out of a few changed cells is what would be worked out of all."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.policy import Tolerance
from samelight.drift.rebuilt import changed_cells, unlike
from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table
from samelight.gui.state.cell_states import STATES, Stand, Standing, standing_of
from thoroughness import examples

ROWS, SHOTS = 6, 24
CODES = 5

cells = st.tuples(st.integers(0, ROWS - 1), st.integers(0, SHOTS - 1))
codes = st.lists(st.integers(0, CODES), min_size=ROWS * SHOTS, max_size=ROWS * SHOTS)
changes = st.dictionaries(cells, st.integers(0, CODES + 2), max_size=9)
decided = st.dictionaries(cells, st.sampled_from(STATES), max_size=8)


def row(name: str) -> Row:
    return Row(
        f"lights.sun.{name}", "lights", "sun", name, "number", Tolerance(1.0, "", "*", "policy.yaml"), None
    )


def entry(number: int) -> Entry:
    grade = Grade(number % len(Grade))
    return Entry(1.0, 1.0 + number, float(number), 0.5 * number * (grade > Grade.SAME), grade)


def table_of(pool: list[Entry | None], held: np.ndarray, shots: int = SHOTS) -> Table:
    names = [f"A_{number:03d}" for number in range(shots)]
    return Table.coded(names, [row(str(number)) for number in range(len(held))], pool, held)


def assert_same(one: Standing, other: Standing) -> None:
    for name in ("states", "stands", "score", "tallies"):
        np.testing.assert_array_equal(getattr(one, name)[:], getattr(other, name)[:], err_msg=name)


@settings(max_examples=examples(60))
@given(codes, changes, decided, decided, st.booleans())
def test_after_a_change_it_is_as_if_made_anew(
    held: list[int],
    changed: Mapping[tuple[int, int], int],
    first: Mapping[tuple[int, int], State],
    then: Mapping[tuple[int, int], State],
    shares_its_pool: bool,
) -> None:
    pool: list[Entry | None] = [None, *(entry(number) for number in range(CODES))]
    more = [entry(CODES), entry(CODES + 1)]
    before = table_of(pool, np.array(held, dtype=np.int32).reshape(ROWS, SHOTS))
    now = before.codes.copy()
    for cell, code in changed.items():
        now[cell] = code
    if shares_its_pool:
        after = table_of([*pool, *more], now)
    else:  # the same cells, numbered otherwise
        whole = [*pool, *more]
        after = table_of([None, *whole[:0:-1]], np.where(now > 0, len(whole) - now, 0).astype(np.int32))
    was = standing_of(before, first)
    assert_same(standing_of(after, then, was), standing_of(after, then))
    assert_same(standing_of(before, then, was), standing_of(before, then))
    found = unlike(before, after)
    assert found is not None
    really = {(row, column) for row, column in np.argwhere(now != before.codes).tolist()}
    assert {divmod(place, SHOTS) for place in found.tolist()} == really
    names = {(after.shots[column], after.rows[row].parameter) for row, column in really}
    assert set(changed_cells(before, after)) == names


def test_tallies_count_every_cell_once() -> None:
    pool: list[Entry | None] = [None, entry(Grade.DRIFT), entry(Grade.WITHIN), entry(Grade.SAME)]
    held = np.array([[1, 2, 0], [1, 3, 1]], dtype=np.int32)
    table = table_of(pool, held, 3)
    made = standing_of(table, {(0, 0): State.INTENDED, (1, 2): State.SENT_BACK, (0, 1): State.INTENDED})
    assert made.tallies.sum(axis=0).tolist() == [2, 2, 2]
    assert made.tallies[Stand.INTENDED].tolist() == [1, 0, 0], "what is within needs no decision"
    assert made.tallies[Stand.LEFT].tolist() == [1, 0, 0]
    assert made.tallies[Stand.RETURNED].tolist() == [0, 0, 1]
    assert made.tallies[Stand.WITHIN].tolist() == [0, 1, 0]


def test_what_is_open_needs_a_look_before_what_is_intended_and_that_before_what_is_within() -> None:
    pool: list[Entry | None] = [None, entry(Grade.BREAK), entry(Grade.DRIFT), entry(Grade.WITHIN)]
    table = table_of(pool, np.array([[0, 3, 1, 2, 1]], dtype=np.int32), 5)
    made = standing_of(table, {(0, 2): State.INTENDED})
    assert np.argsort(made.score[0]).tolist() == [0, 1, 2, 3, 4]


def test_another_table_is_worked_out_whole() -> None:
    pool: list[Entry | None] = [None, entry(Grade.DRIFT)]
    small = table_of(pool, np.ones((2, 3), dtype=np.int32), 3)
    large = table_of(pool, np.ones((3, 4), dtype=np.int32), 4)
    assert unlike(small, large) is None
    assert_same(standing_of(large, {}, standing_of(small, {})), standing_of(large, {}))
