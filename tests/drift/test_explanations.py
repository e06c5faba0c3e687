"""How a figure came about, for whoever doubts it."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.explanations import formula, tolerance_text
from samelight.drift.metrics import SCALES, measure
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Level
from strategies import values


def cell(base: str, master: Any, value: Any, tolerance: float = 1.0) -> ComparedCell:
    if master is None or value is None:
        drift, remark = math.nan, "extra" if master is None else "absent"
    else:
        measured = measure(base, master, value)
        drift, remark = measured.drift, measured.remark
    return ComparedCell(
        "A", "x.y", base, base, master, value, drift, SCALES[base].unit, tolerance, Grade.DRIFT, remark
    )


@pytest.mark.parametrize(
    ("what", "parts"),
    [
        (cell("level", Level(4.0), Level(1.0)), ["intensity × 2^exposure", "log₂(1 / 4) = −2.00 st"]),
        (cell("direction", (1.0, 0.0, 0.0), (0.0, 0.0, -1.0)), ["great-circle", "(1, 0, 0) to (0, 0, −1) = 90.0°"]),
        (cell("temperature", 5000.0, 4000.0), ["10⁶/4000 − 10⁶/5000 = +50.0 MK⁻¹"]),
        (cell("position", (0.0, 0.0, 0.0), (0.0, 0.5, 0.0)), ["straight-line distance = 50.0 cm"]),
        (cell("length", 3.5, 350.0), ["350 / 3.5 − 1 = +9900 %"]),
        (cell("number", (3.0, 4.0), (3.0, 4.5)), ["distance ÷ length of the master's = +10.0 %"]),
        (cell("position", (0.0, 0.0, 0.0), (0.0, 0.5)), ["Equal or not"]),
        (cell("angle", 350.0, 10.0), ["10 − 350 = +20.0° (the shorter way round)"]),
        (cell("fraction", 0.2, 0.25), ["0.25 − 0.2 = +5.00 pp"]),
        (cell("count", 96.0, 8.0), ["8 / 96 = ×0.0833", "noise ×3.46"]),
        (cell("set", frozenset("ab"), frozenset("bc")), ["added: c", "lost: a"]),
        (cell("file", FileRef("a"), FileRef("b")), ["compared by path"]),
        (cell("file", FileRef("a", "1"), FileRef("b", "2")), ["compared by content"]),
        (cell("colour", Colour(0.2, 0.47), Colour(0.2011, 0.47)), ["÷ 0.0011 = 1.00 steps"]),
        (cell("level", None, Level(1.0)), ["Only the shot has it."]),
        (cell("level", Level(1.0), None), ["Only the master has it."]),
        (cell("switch", True, False), ["Equal or not"]),
        (cell("level", Level(1.0, "illuminance"), Level(1.0)), ["Not comparable: illuminance against relative."]),
        (cell("angle", 32.0, Amount(32.0, "temperature")), ["Type changed."]),
        (cell("level", Level(1.0), Curve(((1.0, Level(1.0)), (7.0, Level(2.0))))), ["largest at frame 7"]),
    ],
)  # fmt: skip
def test_lines(what: ComparedCell, parts: list[str]) -> None:
    said = "\n".join(formula(what))
    for part in parts:
        assert part in said


@given(st.none() | values, st.none() | values, st.sampled_from(sorted(SCALES)))
def test_any_cell_can_be_explained(master: Any, value: Any, kind: str) -> None:
    if master is not None or value is not None:
        lines = formula(cell(kind, master, value))
        assert lines
        assert not any(line.endswith("= ") for line in lines)


PLAIN = st.integers(-400, 400).filter(bool).map(lambda number: number / 4)


@given(PLAIN, PLAIN)
def test_a_share_is_what_its_formula_comes_to(master: float, value: float) -> None:
    """Also below zero, where the share is of the size: −2 for −1 is 100 % less."""
    said = next(line for line in formula(cell("number", master, value)) if "=" in line)
    left, _, right = said.replace("−", "-").partition(" = ")
    assert re.fullmatch(r"[-0-9. ()/]+", left)
    stated = float(right.removesuffix(" %"))
    assert 100.0 * eval(left) == pytest.approx(stated, rel=0.02, abs=0.02)


def test_tolerances() -> None:
    assert tolerance_text(cell("level", Level(1.0), Level(2.0), 0.1)) == "0.1 st"
    assert tolerance_text(cell("count", 1.0, 2.0, 1.0)) == "none: equal or not"
    assert tolerance_text(cell("count", 1.0, 2.0, 2.0)) == "×2 either way"
    assert tolerance_text(cell("switch", True, False, 0.0)) == "none: equal or not"
