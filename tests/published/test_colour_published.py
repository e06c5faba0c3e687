"""Colours against CIE tables, colour-science's figures and USD's own function.

data/*.csv were made once with colour-science 0.4.7 by data/make_colour_values.py; their first line says with
which call.
"""

import csv
from pathlib import Path

import pytest

from known import about, there
from samelight.drift.metrics import measure
from samelight.light import colour, locus
from sheets.sheet_help import light_of

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def distance(a: tuple[float, float], b: tuple[float, float]) -> float:
    return colour.steps(a, b) * colour.STEP


def pair(row: dict[str, str], first: str, second: str) -> tuple[float, float]:
    return float(row[first]), float(row[second])


def test_the_planckian_locus() -> None:
    """Within 1e-5 in u'v' of Planck's law, 500 to 100000 K (data/planckian.csv)."""
    worst = max(
        distance(locus.planckian_uv(float(row["kelvin"])), pair(row, "u", "v"))
        for row in rows("planckian.csv")
    )
    assert worst < 1e-5


@pytest.mark.parametrize(
    ("before", "after"), [(900, 600), (26000, 60000), (1800, 1500), (1800, 1250), (100000, 40000)]
)
def test_drift_along_the_locus_is_that_of_the_black_body(before: int, after: int) -> None:
    """The distance of two white lights in steps of 0.0011 is that of the black bodies in data/planckian.csv: neither
    clamped to 1000..25000 K nor cut to Rec.709. From sheet to figure."""
    published = {float(row["kelvin"]): pair(row, "u", "v") for row in rows("planckian.csv")}
    expected = distance(published[before], published[after]) / colour.STEP
    values = [light_of({"type": "point", "temperature": kelvin})["colour"] for kelvin in (before, after)]
    assert measure("colour", *values).drift == pytest.approx(expected, abs=0.02)
    assert expected > 5


@pytest.mark.parametrize(
    ("kelvin", "x", "y"),
    [
        (2000, 0.52668, 0.41330),
        (2700, 0.45986, 0.41060),
        (2856, 0.44754, 0.40743),
        (3200, 0.42336, 0.39895),
        (4000, 0.38044, 0.37675),
        (5000, 0.34510, 0.35161),
        (6500, 0.31353, 0.32363),
        (10000, 0.28063, 0.28829),
    ],
)
def test_planckian_chromaticities(kelvin: int, x: float, y: float) -> None:
    """Planck's law at 1 nm over the CIE 1931 observer, by an independent script, to five digits."""
    assert locus.uv_to_xy(*locus.planckian_uv(kelvin)) == (
        about(x, abs=2e-5),
        about(y, abs=2e-5),
    )


def test_planckian_4000_in_cie_1960() -> None:
    """colour-science, colour/temperature/tests/test_planck1900.py: 4000 K is u 0.225109670, v 0.334387367."""
    u, v = locus.planckian_uv(4000)
    assert (u, v * 2 / 3) == (about(0.225109670, abs=5e-6), about(0.334387367, abs=5e-6))


def test_illuminant_a() -> None:
    """CIE 015:2018: illuminant A is x 0.44758, y 0.40745, a black body of 2856 K (c2 has moved since it was
    defined, so that its temperature is given as about 2856 K)."""
    a = locus.xy_to_uv(0.44758, 0.40745)
    assert distance(a, locus.planckian_uv(2856)) < 5e-5
    kelvin, duv = there(locus.cct_duv(*a))
    assert kelvin == pytest.approx(2856, abs=1)
    assert duv == pytest.approx(0, abs=2e-5)


@pytest.mark.parametrize(
    ("kelvin", "x", "y"),
    [
        (4000, 0.382343625, 0.383766261),
        (5000, 0.345741, 0.358666),
        (6500, 0.312779, 0.329183),
        (6504, 0.312714, 0.329119),
        (7000, 0.305357431, 0.321646345),
        (25000, 0.24985367, 0.25479946),
    ],
)
def test_the_daylight_locus(kelvin: int, x: float, y: float) -> None:
    """CIE 015:2018, D series; 4000, 7000 and 25000 K from colour-science,
    colour/temperature/tests/test_cie_d.py."""
    assert locus.daylight_xy(kelvin) == (about(x, abs=1e-6), about(y, abs=1e-6))


@pytest.mark.parametrize(
    ("name", "x", "y", "kelvin"),
    [("D50", 0.3457, 0.3585, 5003), ("D55", 0.33243, 0.34744, 5503), ("D65", 0.3127, 0.3290, 6504)],
)
def test_daylight_illuminants(name: str, x: float, y: float, kelvin: int) -> None:
    """CIE 015:2018: D50, D55 and D65 are daylight of about 5003, 5503 and 6504 K, some 0.003 Duv above the
    Planckian locus."""
    found, duv = there(locus.cct_duv(*locus.xy_to_uv(x, y)))
    assert found == pytest.approx(kelvin, abs=3), name
    assert 0.0025 < duv < 0.0035
    assert distance(locus.xy_to_uv(*locus.daylight_xy(kelvin)), locus.xy_to_uv(x, y)) < 3e-4


def test_correlated_temperature_and_duv() -> None:
    """Ohno 2014 (Leukos 10:47, "Practical use and calculation of CCT and Duv") as colour-science has it
    (data/cct_duv.csv): within 0.15 mired and 2e-5 Duv on both sides of the locus."""
    for row in rows("cct_duv.csv"):
        kelvin, duv = pair(row, "kelvin", "duv")
        found = locus.cct_duv(*pair(row, "u", "v"))
        assert found is not None
        assert abs(locus.mired(found[0]) - locus.mired(kelvin)) < 0.15, row
        assert found[1] == pytest.approx(duv, abs=2e-5), row


def test_working_spaces() -> None:
    """RGB to u'v' and Y of Rec.709, ACEScg (Bradford to D65) and Rec.2020 (data/chromaticity.csv)."""
    for row in rows("chromaticity.csv"):
        rgb = tuple(float(row[name]) for name in ("red", "green", "blue"))
        assert distance(there(colour.chromaticity(rgb, row["space"])), pair(row, "u", "v")) < 3e-5, row
        assert colour.luminance(rgb, row["space"]) == pytest.approx(float(row["luminance"]), abs=2e-5), row


def test_luma_coefficients() -> None:
    """ITU-R BT.709-6: 0.2126, 0.7152, 0.0722. ITU-R BT.2020-2: 0.2627, 0.6780, 0.0593. S-2014-004 (ACEScg):
    0.2722287, 0.6740818, 0.0536895."""
    expected = {
        "rec709": (0.2126, 0.7152, 0.0722),
        "rec2020": (0.2627, 0.6780, 0.0593),
        "acescg": (0.27223, 0.67408, 0.05369),
    }
    for space, luma in expected.items():
        found = [colour.luminance(rgb, space) for rgb in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
        assert found == [pytest.approx(share, abs=5e-5) for share in luma]


def test_one_step() -> None:
    """CIE TN 001:2014: an n-step circle has a radius of 0.0011 n in u'v'."""
    assert colour.STEP == 0.0011
    assert colour.steps((0.2, 0.47), (0.2, 0.47 + 3 * 0.0011)) == pytest.approx(3)


@pytest.mark.parametrize(
    ("before", "after", "shift"),
    [(3200, 5600, -133.929), (2856, 6504, -196.389), (5000, 5500, -18.182), (9000, 9500, -5.848)],
)
def test_mired(before: int, after: int, shift: float) -> None:
    """1e6 / K by definition; figures by hand. The same 500 K are a third of the shift at 9000 K."""
    assert locus.mired(after) - locus.mired(before) == pytest.approx(shift, abs=5e-4)


def usd_blackbody(kelvin: int) -> tuple[float, ...]:
    from pxr import UsdLux

    return tuple(UsdLux.BlackbodyTemperatureAsRgb(kelvin))


@pytest.mark.parametrize("kelvin", range(2000, 10001, 100))
def test_black_bodies_as_usd_has_them(kelvin: int) -> None:
    """usd-core's UsdLux.BlackbodyTemperatureAsRgb, a spline through a short table: within 0.0006 in u'v',
    0.01 in RGB."""
    ours, theirs = colour.blackbody_rgb(kelvin), usd_blackbody(kelvin)
    assert distance(there(colour.chromaticity(ours)), there(colour.chromaticity(theirs))) < 6e-4
    assert ours == pytest.approx(theirs, abs=0.01)


def test_black_bodies_below_2000_kelvin_stand_apart() -> None:
    """There USD's table leaves the locus; the distances that the docstring states."""
    apart = {
        kelvin: distance(
            there(colour.chromaticity(colour.blackbody_rgb(kelvin))),
            there(colour.chromaticity(usd_blackbody(kelvin))),
        )
        for kelvin in range(1000, 2000, 20)
    }
    assert max(apart.values()) == pytest.approx(0.0174, abs=1e-4)
    assert max(apart, key=apart.__getitem__) == 1000
    assert max(gap for kelvin, gap in apart.items() if kelvin >= 1100) < 0.0095


def test_a_black_body_of_6500_kelvin_is_not_white() -> None:
    """The schema text says white; usd-core's function gives (1.0433, 0.9836, 1.0346)."""
    assert usd_blackbody(6500) == pytest.approx((1.0433, 0.9836, 1.0346), abs=1e-4)
    assert colour.blackbody_rgb(6500) == pytest.approx((1.0433, 0.9836, 1.0346), abs=1e-3)
