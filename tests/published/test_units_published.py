"""Units against what defines them.

The SI Brochure (BIPM, 9th edition, 2019, updated 2022, DOI 10.59161/AUEZ1291): the prefixes deci, centi, milli and kilo
(table 7); minute, hour and degree as units accepted for use with the SI, 1 min = 60 s, 1 h = 3600 s, 1 degree = pi/180 rad
(table 8); candela, lumen, lux and kelvin (tables 2 and 4). The inch of exactly 25.4 mm, the foot of 0.3048 m and the yard of
0.9144 m: NIST Special Publication 811 (2008), appendix B.6, after the Federal Register notice of 1 July 1959. The nit as a
name of cd/m2: SP 811, section 5.1.2 names it only as one that is not to be used; its meaning is common practice.
The mired, 1e6 / K: definition, written from memory. A stop as a factor of two: common practice, no source.
All numbers were written from memory of these texts.
"""

import math

import pytest

from known import being, there
from samelight.sheets.units import parse_duration, parse_quantity
from samelight.sheets.values import Level
from sheets.sheet_help import light_of


@pytest.mark.parametrize(
    ("unit", "metres"),
    [
        ("km", 1000.0),
        ("dm", 0.1),
        ("cm", 0.01),
        ("mm", 0.001),
        ("in", 0.0254),
        ("ft", 0.3048),
        ("yd", 0.9144),
    ],
)
def test_lengths(unit: str, metres: float) -> None:
    assert there(parse_quantity(f"1 {unit}")).value == metres


def test_twelve_inches_are_a_foot_and_three_feet_a_yard_exactly() -> None:
    assert there(parse_quantity("12 in")).value == there(parse_quantity("1 ft")).value
    assert there(parse_quantity("3 ft")).value == there(parse_quantity("1 yd")).value
    assert there(parse_quantity("36 in")).value == there(parse_quantity("914.4 mm")).value


def test_a_degree_and_a_radian() -> None:
    assert there(parse_quantity("1 deg")).value == 1.0
    assert there(parse_quantity(f"{math.pi / 180:.17f} rad")).value == pytest.approx(1.0, rel=1e-14)


def test_minute_and_hour() -> None:
    assert parse_duration("1 min") == 60.0
    assert parse_duration("1 h") == 3600.0


@pytest.mark.parametrize(
    ("kelvin", "mired"),
    # CALC, by the definition 1e6 / K.
    [(3200.0, 312.5), (5600.0, 178.571428571), (2856.0, 350.140056022), (6504.0, 153.751537515)],
)
def test_mireds(kelvin: float, mired: float) -> None:
    assert there(parse_quantity(f"{mired} mired")).value == pytest.approx(kelvin, rel=1e-10)


@pytest.mark.parametrize("unit", ["nit", "nits", "cd/m2", "cd/m²"])
def test_spellings_of_luminance_are_one(unit: str) -> None:
    panel = {"type": "rect", "width": 2, "height": 1, "intensity": f"500 {unit}"}
    # Along its normal an even emitter of luminance L and area A has the luminous intensity L x A: 500 x 2.
    assert light_of(panel)["level"] == Level(1000.0, "intensity")


def test_a_stop_doubles() -> None:
    assert light_of({"type": "point", "exposure": "1 st"})["level"] == Level(2.0)
    assert light_of({"type": "point", "exposure": "-2 stops"})["level"] == Level(0.25)


def test_a_lumen_from_a_point_spreads_over_the_sphere() -> None:
    # 1 cd = 1 lm/sr and a sphere has 4 pi sr (SI Brochure, table 4).
    level = light_of({"type": "point", "intensity": "1000 lm"})["level"]
    assert being(Level, level).quantity == "intensity"
    assert being(Level, level).value == pytest.approx(1000.0 / (4.0 * math.pi), rel=1e-12)
