"""A tolerance that goes by the cell: a place as seen from the nearest mark, a cone by its ratio."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from findings.drafts import as_sheet
from samelight.drift.cells import Grade
from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.drift.readings import reading_of
from samelight.drift.rebuilt import Rebuild, regraded, with_columns
from samelight.drift.table import Table, build_table
from samelight.drift.traces import row_traces
from samelight.sheets.errors import SheetError
from samelight.sheets.sheet import Sheet

FAR = 20.0
SEEN = 0.349101298564
"""Metres that a degree is at 20 m: 20 tan 1°."""


def setup(x: float = FAR, cone: float = 40.0, mark: Any = (0, 0, 0)) -> dict[str, Any]:
    """A lamp on the x axis, and a mark."""
    tree: dict[str, Any] = {
        "samelight": 2,
        "lights": {"lamp": {"type": "spot", "position": [x, 0, 0], "direction": [-1, 0, 0], "cone": cone}},
    }
    return tree if mark is None else {**tree, "marks": {"face": {"position": mark}}}


MASTER = as_sheet({**setup(mark=None), "version": 1}, "", 1)


def table_of(sheets: dict[str, Sheet], policy: Policy | None = None) -> Table:
    return build_table(list(sheets), sheets, MASTER, policy or default_policy())


def cell(tree: dict[str, Any], leaf: str) -> Any:
    table = table_of({"A": as_sheet(tree, "A")})
    row = table.row(f"lights.lamp.{leaf}")
    assert row is not None
    return table.cell(row, 0)


NEARER = {"keys": [[1, [0, 0, 0]], [9, [18, 0, 0]]]}


@pytest.mark.parametrize(
    ("x", "mark", "tolerance", "grade"),
    [
        (FAR + 0.3, (0, 0, 0), SEEN, Grade.WITHIN),
        (FAR + 0.4, (0, 0, 0), SEEN, Grade.DRIFT),
        (FAR + 0.3, (18, 0, 0), 0.05, Grade.DRIFT),
        (FAR + 0.3, NEARER, 0.05, Grade.DRIFT),
        (FAR + 0.3, None, 0.05, Grade.DRIFT),
        (FAR, (0, 0, 0), 0.05, Grade.SAME),
    ],
)
def test_a_place_may_be_off_by_a_degree_as_seen_from_the_nearest_mark(
    x: float, mark: Any, tolerance: float, grade: Grade
) -> None:
    found = cell(setup(x, mark=mark), "position")
    assert (found.tolerance, found.grade) == (tolerance, grade)


@pytest.mark.parametrize(("cone", "grade"), [(41.0, Grade.WITHIN), (41.3, Grade.DRIFT), (40.0, Grade.SAME)])
def test_a_cone_goes_by_its_ratio(cone: float, grade: Grade) -> None:
    found = cell(setup(cone=cone), "cone")
    assert (found.tolerance, found.grade) == (1.2, grade)


def test_what_changed_alone_is_graded_as_all_of_it_anew() -> None:
    """A mark moves, and what the lamp may be off goes with it, though the lamp stays."""
    before = {shot: as_sheet(setup(FAR + 0.3), shot) for shot in ("A", "B", "C")}
    after = {**before, "B": as_sheet(setup(FAR + 0.3, mark=(19, 0, 0)), "B")}
    mending = Rebuild(table_of(before), ["B"], after, before, {"B": MASTER}, default_policy(), ())
    mended, anew = with_columns(mending, MASTER), table_of(after)
    assert mended is not None
    assert np.array_equal(mended.grade, anew.grade)
    row = anew.row("lights.lamp.position")
    assert row is not None
    assert [mended.cell(row, column) for column in range(3)] == [
        anew.cell(row, column) for column in range(3)
    ]
    assert mended.grade[row].tolist() == [Grade.WITHIN, Grade.DRIFT, Grade.WITHIN]


@pytest.mark.parametrize("stated", ["5 cm", "{at_most: 5 cm, seen: 0.5 deg}", "{at_most: 1 m, seen: 2 deg}"])
def test_another_policy_grades_what_was_measured_as_it_would_anew(tmp_path: Path, stated: str) -> None:
    path = tmp_path / "policy.yaml"
    path.write_text(f"samelight_policy: 2\ntolerances: {{position: {stated}}}\n", encoding="utf-8")
    own = read_policy(path, default_policy())
    sheets = {"A": as_sheet(setup(FAR + 0.3), "A"), "B": as_sheet(setup(FAR + 0.6), "B")}
    for first, then in ((default_policy(), own), (own, default_policy())):
        again, anew = regraded(table_of(sheets, first), then), table_of(sheets, then)
        assert again.rows == anew.rows
        assert np.array_equal(again.grade, anew.grade)
        assert np.array_equal(again.severity, anew.severity)


@pytest.mark.parametrize(
    ("stated", "path"),
    [
        ("level: {at_most: 0.1 st, seen: 1 deg}", "tolerances.level.seen"),
        ("position: {at_most: 5 cm, seen: 90 deg}", "tolerances.position.seen"),
        ("position: {at_most: 5 cm, seen: far}", "tolerances.position.seen"),
        ("position: {at_most: 5 cm, share: 3 %}", "tolerances.position.share"),
        ("angle: {at_most: 1 deg, share: -3 %}", "tolerances.angle.share"),
    ],
)
def test_what_goes_by_the_cell_is_of_places_and_angles_alone(tmp_path: Path, stated: str, path: str) -> None:
    file = tmp_path / "policy.yaml"
    file.write_text(f"samelight_policy: 2\ntolerances: {{{stated}}}\n", encoding="utf-8")
    with pytest.raises(SheetError) as caught:
        read_policy(file, Policy())
    assert [fault.path for fault in caught.value.faults] == [path]


def test_a_trace_has_the_band_of_each_shot() -> None:
    sheets = {"A": as_sheet(setup(FAR + 0.3), "A"), "B": as_sheet(setup(FAR + 0.3, mark=(18, 0, 0)), "B")}
    table = table_of(copy.deepcopy(sheets))
    row = table.row("lights.lamp.position")
    assert row is not None
    (trace,) = row_traces(table, row)
    assert trace.highs is not None
    assert trace.highs.tolist() == [SEEN, 0.05]
    assert reading_of("position").unit == trace.unit
