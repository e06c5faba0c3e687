from typing import Any

import pytest

from samelight.light.colour import SPACES
from samelight.light.directions import NORTH
from samelight.sheets.conventions import Conventions, read_conventions
from samelight.sheets.errors import Faults
from sheets.sheet_help import YAML


def read(data: dict[str, Any], given: Conventions | None = None) -> Conventions:
    faults = Faults(YAML, lambda place: None)
    conventions = read_conventions(data, given or Conventions(), faults)
    faults.raise_if_any()
    return conventions


def test_without_a_word() -> None:
    assert read({}) == Conventions(1.0, None, "relative", "Y", NORTH, "rec709")


def test_what_is_not_stated_comes_from_the_sequence() -> None:
    given = Conventions(0.01, 1.0, "lx", "Z", (1.0, 0.0, 0.0), "acescg")
    assert read({}, given) == given
    assert read({"units": {"length": "m"}, "up_axis": "Y"}, given) == Conventions(
        1.0, 1.0, "lx", "Y", (1.0, 0.0, 0.0), "acescg"
    )


def test_nothing_after_a_key_states_nothing() -> None:
    nothing = dict.fromkeys(("units", "up_axis", "north", "working_space"))
    assert read(nothing, Conventions(0.01, up_axis="Z")) == Conventions(0.01, up_axis="Z")


@pytest.mark.parametrize(
    ("stated", "metres"), [("cm", 0.01), ("m", 1.0), ("in", 0.0254), ("ft", 0.3048), (0.01, 0.01), (1, 1.0)]
)
def test_units_of_length(stated: float | str, metres: float) -> None:
    assert read({"units": {"length": stated}}).length == metres
    assert read({"units": {"area": stated}}).area == metres


def test_areas_count_in_lengths_unless_they_are_stated() -> None:
    assert read({"units": {"length": "cm"}}).area_unit == 0.01
    assert read({"units": {"length": "m", "area": "cm"}}).area_unit == 0.01


@pytest.mark.parametrize(
    ("stated", "unit"), [("lux", "lx"), ("lx", "lx"), ("cd/m2", "nit"), ("relative", "relative")]
)
def test_units_of_level(stated: str, unit: str) -> None:
    assert read({"units": {"level": stated}}).level == unit


@pytest.mark.parametrize("axis", ["Y", "y", "Z", "z"])
def test_the_up_axis(axis: str) -> None:
    assert read({"up_axis": axis}).up_axis == axis.upper()


@pytest.mark.parametrize("space", [*SPACES, "ACEScg", "AP1", "Rec709", "sRGB", "LIN_REC709"])
def test_working_spaces_in_any_case(space: str) -> None:
    assert read({"working_space": space}).working_space == SPACES[space.lower()]


def test_north_is_turned_to_the_y_up_frame() -> None:
    assert read({"north": [0, 5, 0], "up_axis": "Z"}).north == (0.0, 0.0, -1.0)
    assert read({"north": [1, 0, 0]}).north == (1.0, 0.0, 0.0)


@pytest.mark.parametrize("length", [0, -1, "mile", True, [1], 1e-10, 1e10])
def test_units_of_length_that_are_none(length: Any) -> None:
    with pytest.raises(Exception, match=r"units\.length: expected one of m, cm, .*, or a number of metres"):
        read({"units": {"length": length}})


@pytest.mark.parametrize(
    "north", [[0, 0], [0, 0, 1, 0], "010", 3, {"x": 1}, [None, 0, 1], ["0", "0", "1"], [1e-9, 1, 0]]
)
def test_norths_that_are_none(north: Any) -> None:
    with pytest.raises(Exception, match=r"north: expected a horizontal vector, such as"):
        read({"north": north})


def test_a_working_space_that_is_none_names_the_nearest() -> None:
    with pytest.raises(Exception, match=r"working_space: .* \(did you mean acescg\?\)"):
        read({"working_space": "ACESgc"})
