"""What a cell says in ever shorter forms: never a number cut off, and never one in a unit that nobody names."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.metrics import SCALES
from samelight.gui.grid.words import MORE, cell_forms
from samelight.light.directions import from_azimuth_elevation
from samelight.sequence.saved_views import Shown
from samelight.sheets.values import Colour, Curve, FileRef, Level, Value

SUN = from_azimuth_elevation(143.0, 24.0)


def cell(kind: str, value: Value | None, drift: float = 0.0, **more: Any) -> ComparedCell:
    known: dict[str, Any] = {"master": value, "grade": Grade.DRIFT if drift else Grade.SAME, "remark": ""}
    return ComparedCell(
        shot="QU_010",
        parameter="lights.key.it",
        kind=kind,
        value_kind=kind,
        value=value,
        drift=drift,
        unit=SCALES[kind].unit,
        tolerance=1.0,
        **(known | more),
    )


@pytest.mark.parametrize(
    ("kind", "drift", "forms"),
    [
        ("direction", 11.0, ("11.0°", "11°", "11.0", "11")),
        ("level", -0.35, ("−0.35 st", "−0.35")),
        ("level", -0.5, ("−0.50 st", "−0.5 st", "−0.50", "−0.5")),
        ("position", 0.03, ("3.0 cm", "3 cm", "0.03")),
        ("position", 0.0012, ("1.2 mm", "0.0012")),
        ("position", 1.5, ("1.50 m", "1.5 m", "1.5")),
        ("colour", 9.44, ("9.44 steps", "9.44")),
        ("count", 0.25, ("×0.25", "×.25")),
        ("count", 2 / 3, ("×0.667", "×.67")),
        ("length", 100.0, ("+100 %", "+100")),
    ],
)
def test_a_drift_loses_zeros_and_its_unit_but_no_figure(
    kind: str, drift: float, forms: tuple[str, ...]
) -> None:
    values: dict[str, Value] = {"direction": SUN, "colour": Colour(0.2, 0.5), "position": (1.0, 2.0, 3.0)}
    assert cell_forms(cell(kind, values.get(kind, 1.0), drift), Shown.DRIFT, unit_known=True) == forms


def test_a_light_as_a_whole_keeps_the_unit_that_its_line_does_not_name() -> None:
    for kind, drift, value in (("direction", 11.0, SUN), ("level", -0.35, 1.0), ("position", 0.03, SUN)):
        forms = cell_forms(cell(kind, value, drift), Shown.DRIFT, unit_known=False)
        assert forms and not any(form[-1].isdigit() for form in forms)


@pytest.mark.parametrize(
    ("kind", "value", "short"),
    [
        ("direction", SUN, "143/24"),
        ("direction", from_azimuth_elevation(359.7, -0.2), "0/0"),
        ("direction", from_azimuth_elevation(20.25, -12.6), "20/−13"),
        ("colour", Colour(0.2202, 0.4961), ".220/.496"),
        ("level", Level(3.1234, "lux"), "3.1"),
        ("position", (1.718, 2.4, -0.333), "1.7 2.4 −.33"),
        ("set", frozenset({"camera", "indirect", "shadow"}), "3 names"),
        ("file", FileRef("textures/dawn.exr"), "dawn.exr"),
        ("level", Curve(((1001, 1.0), (1010, 2.0)), "linear"), "2 keys"),
        ("switch", True, "on"),
    ],
)
def test_a_value_has_a_short_form(kind: str, value: Value, short: str) -> None:
    forms = cell_forms(cell(kind, value), Shown.VALUE, unit_known=True)
    assert forms[-2:] == (short, MORE)
    assert cell_forms(cell(kind, value), Shown.BOTH, unit_known=True) == forms
    assert cell_forms(cell(kind, value), Shown.DRIFT, unit_known=True) == ()


def test_a_set_says_what_came_and_went() -> None:
    held = frozenset({"camera", "shadow"})
    changed = cell(
        "set", frozenset({"camera", "a", "b"}), float("nan"), grade=Grade.DRIFT, master=held, remark="changed"
    )
    assert cell_forms(changed, Shown.DRIFT, unit_known=True) == ("+2 −1", "+2−1")
    one = changed._replace(value=frozenset({"camera"}))
    assert cell_forms(one, Shown.DRIFT, unit_known=True) == ("− shadow", "−1")
    assert "+2 −1" in cell_forms(changed, Shown.VALUE, unit_known=True)
    both = cell_forms(changed, Shown.BOTH, unit_known=True)
    assert all(form.startswith("+2") for form in both) and "+2 −1  +2 −1" not in both


def test_a_count_says_both_and_a_great_share_its_factor() -> None:
    few = cell("count", 8.0, 8 / 96)._replace(master=96.0)
    assert cell_forms(few, Shown.DRIFT, unit_known=True) == ("8 for 96", "×0.0833", "×.083")
    far = cell("length", 350.0, 9900.0)
    assert cell_forms(far, Shown.DRIFT, unit_known=True)[:2] == ("×100", "+9900 %")
    nearer = cell("length", 3.5, 200.0)
    assert cell_forms(nearer, Shown.DRIFT, unit_known=True)[0] == "+200 %"


def test_the_drift_comes_before_the_value_and_stays_when_that_has_no_room() -> None:
    forms = cell_forms(cell("direction", SUN, 11.0), Shown.BOTH, unit_known=True)
    assert forms[0] == "11.0°  az 143.0° el 24.0°"
    assert "11°  143/24" in forms
    assert forms[-4:] == ("11.0°", "11°", "11.0", "11")
    assert all(form.startswith("11") for form in forms)


def test_what_is_absent_says_so_in_every_way_that_shows_drift() -> None:
    gone = cell("level", None, float("nan"), master=Level(1.0), grade=Grade.DRIFT)
    assert cell_forms(gone, Shown.BOTH, unit_known=True)[0] == "absent"
    assert cell_forms(gone, Shown.VALUE, unit_known=True) == ()


@given(st.floats(1e-3, 1e5), st.sampled_from(["direction", "level", "angle", "length", "number", "duration"]))
def test_every_form_of_a_drift_is_as_much_as_the_fullest(size: float, kind: str) -> None:
    forms = cell_forms(cell(kind, SUN if kind == "direction" else 1.0, size), Shown.DRIFT, unit_known=True)
    said = {float(re.sub(r"[^\d.]", "", form)) for form in forms if not form.startswith("×")}
    assert len(said) == 1
