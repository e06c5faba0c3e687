"""The result of a check as plain data, whose names are a promise."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.decisions.state import State
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.metrics import SCALES
from samelight.findings.finding import Finding, Sureness
from samelight.reports.as_data import cell_data, check_data, finding_data
from samelight.sheets.values import Curve, Level
from strategies import values

SUN = ComparedCell(
    shot="HB_040",
    parameter="lights.sun.direction",
    kind="direction",
    value_kind="direction",
    master=(1.0, 0.0, 0.0),
    value=(0.0, 0.0, -1.0),
    drift=90.0,
    unit="deg",
    tolerance=0.5,
    grade=Grade.BREAK,
)


def test_a_cell() -> None:
    assert cell_data(SUN, State.UNDECIDED) == {
        "shot": "HB_040",
        "parameter": "lights.sun.direction",
        "kind": "direction",
        "master": "az 270.0° el 0.0°",
        "value": "az 180.0° el 0.0°",
        "drift": 90.0,
        "unit": "deg",
        "tolerance": 0.5,
        "level": "break",
        "state": "undecided",
    }
    assert cell_data(SUN, State.UNDECIDED, north=(1.0, 0.0, 0.0))["master"] == "az 180.0° el 0.0°"


@pytest.mark.parametrize("drift", [math.nan, math.inf, -math.inf])
def test_a_drift_without_a_number(drift: float) -> None:
    out = ComparedCell(
        "A",
        "x",
        "level",
        "level",
        Level(1.0),
        Level(0.0),
        drift,
        "stops",
        0.1,
        Grade.DRIFT,
        "dark in the shot",
    )
    data = cell_data(out, State.SENT_BACK)
    assert (data["drift"], data["remark"], data["state"]) == (None, "dark in the shot", "sent back")


def test_an_animated_cell_says_what_of() -> None:
    curve = Curve(((1.0, Level(1.0)), (2.0, Level(2.0))))
    moving = ComparedCell("A", "x", "curve", "level", Level(1.0), curve, 1.0, "stops", 0.1, Grade.DRIFT)
    assert cell_data(moving, State.UNDECIDED)["of"] == "level"
    assert "of" not in cell_data(SUN, State.UNDECIDED)
    assert "remark" not in cell_data(SUN, State.UNDECIDED)


def test_a_finding() -> None:
    finding = Finding(
        "old-master", "It is.", ("A", "B"), ("x.y",), sureness=Sureness.LIKELY, known="k", guessed="g", do="d"
    )
    data = finding_data(finding)
    assert {**data, "sure": "likely"} == data
    assert (data["finding"], data["shots"], data["parameters"], data["says"]) == (
        "old-master",
        ["A", "B"],
        ["x.y"],
        "It is.",
    )
    assert (data["known"], data["guessed"], data["do"]) == ("k", "g", "d")


def test_the_whole() -> None:
    finding = Finding("old-master", "It is.", ("A",), ())
    data = check_data(
        "Quay", 3, [(SUN, State.UNDECIDED)], [finding], {"break": 1}, troubles=["A is unreadable"]
    )
    assert list(data) == [
        "samelight",
        "sequence",
        "master",
        "cells",
        "findings",
        "counts",
        "by_shot",
        "by_lighter",
        "troubles",
    ]
    assert data["counts"] == {"same": 0, "within": 0, "drift": 0, "break": 1}
    assert data["troubles"] == ["A is unreadable"]
    assert check_data("Quay", None, [], [finding], {}, keep=lambda found: False)["findings"] == []


@given(values, values, st.floats(), st.sampled_from(sorted(SCALES)))
def test_any_cell_is_json(master: Any, value: Any, drift: float, kind: str) -> None:
    cell = ComparedCell("A", "x.y", kind, kind, master, value, drift, SCALES[kind].unit, 1.0, Grade.DRIFT)
    data = cell_data(cell, State.UNDECIDED)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
