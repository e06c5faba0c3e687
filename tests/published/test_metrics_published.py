"""The figures of the drift table against published ones, by way of `measure`, which is what a lighter sees."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from samelight.drift.metrics import measure
from samelight.light.directions import from_azimuth_elevation
from samelight.sheets import vocabulary as kinds
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Colour, Level, Value


def sheet(lights: str) -> Sheet:
    text = f"samelight: 2\nlights: {{{lights}}}\n"
    return sheet_from_document(parse_document(Path("sheet.yaml"), text))


def value(of: Sheet, light: str, leaf: str) -> Value:
    found = of.value("lights", light, leaf)
    assert found is not None
    return found


class TestMired:
    """CIE S 017:2020 (ILV 17-23-069), reciprocal colour temperature: 1e6 / K. The shifts are worked out by hand."""

    @pytest.mark.parametrize(
        ("master", "shot", "shift"),
        [
            (3200.0, 5600.0, -133.929),  # 312.500 to 178.571
            (5600.0, 3200.0, 133.929),
            (2856.0, 6504.0, -196.389),  # illuminant A to D65
            (5000.0, 5500.0, -18.182),
            (9000.0, 9500.0, -5.848),  # the same 500 K, a third of the shift
        ],
    )
    def test_shifts(self, master: float, shot: float, shift: float) -> None:
        assert measure(kinds.TEMPERATURE, master, shot).drift == pytest.approx(shift, abs=5e-4)


class TestStops:
    def test_intensity_and_exposure(self) -> None:
        """UsdLux schema text (usd-core 26.11, LightAPI `inputs:exposure`): intensity 1 at exposure 2 is 4 nits."""
        typed = sheet("a: {type: distant, intensity: 1, exposure: 2}, b: {type: distant, intensity: 4}")
        assert measure(kinds.LEVEL, value(typed, "a", "level"), value(typed, "b", "level")).drift == 0.0

    def test_two_public_stages(self) -> None:
        """Intensity 3.5 at 2 stops and 0.35 at 6 stops stand in public sample stages: 14 and 22.4, so log2(1.6)."""
        typed = sheet(
            "a: {type: rect, intensity: 3.5, exposure: 2}, b: {type: rect, intensity: 0.35, exposure: 6}"
        )
        measured = measure(kinds.LEVEL, value(typed, "a", "level"), value(typed, "b", "level"))
        assert measured.drift == pytest.approx(0.678, abs=5e-4)

    def test_inverse_square_and_cosine(self) -> None:
        """E = I cos t / d^2 (Lambert 1760): 100 cd give 100 lx at 1 m, 25 lx at 2 m and 12.5 lx there at 60 degrees."""
        lux = [
            Level(100.0 * math.cos(math.radians(t)) / d**2, "illuminance")
            for d, t in ((1, 0), (2, 0), (2, 60))
        ]
        assert measure(kinds.LEVEL, lux[0], lux[1]).drift == pytest.approx(-2.0)
        assert measure(kinds.LEVEL, lux[1], lux[2]).drift == pytest.approx(-1.0)

    def test_a_normalised_sun(self) -> None:
        """UsdLux, `inputs:normalize` of a DistantLight: its size factor at 0.53 degrees is 6.72037e-5 (schema formula)."""
        typed = sheet(
            "a: {type: distant, intensity: 1, angle: 0.53, normalize: true}, "
            "b: {type: distant, intensity: 1, angle: 0.53, normalize: false}"
        )
        measured = measure(kinds.LEVEL, value(typed, "a", "level"), value(typed, "b", "level"))
        assert 2.0**measured.drift == pytest.approx(6.72037e-5, rel=1e-5)


class TestGreatCircle:
    def test_nashville_to_los_angeles(self) -> None:
        """Rosetta Code, task "Haversine formula": 36.12 N 86.67 W to 33.94 N 118.40 W, R = 6372.8 km: 2887.2599 km
        (from memory)."""
        places = [from_azimuth_elevation(lon, lat) for lat, lon in ((36.12, -86.67), (33.94, -118.40))]
        angle = measure(kinds.DIRECTION, *places).drift
        assert math.radians(angle) * 6372.8 == pytest.approx(2887.2599, abs=1e-4)

    def test_los_angeles_to_new_york(self) -> None:
        """E. Williams, "Aviation Formulary", worked example LAX to JFK: 0.623585 rad (from memory)."""
        places = [
            from_azimuth_elevation(lon, lat)
            for lat, lon in ((33 + 57 / 60, -(118 + 24 / 60)), (40 + 38 / 60, -(73 + 47 / 60)))
        ]
        assert math.radians(measure(kinds.DIRECTION, *places).drift) == pytest.approx(0.623585, abs=1e-6)

    def test_two_lights_of_public_stages(self) -> None:
        """The suns of two public sample stages, read off to four to seven digits: acos of their dot product, 50.03 degrees."""
        typed = sheet(
            "a: {type: distant, direction: [-0.3289899, -0.8191520, 0.4698463]}, "
            "b: {type: distant, direction: [0.4967, -0.8192, 0.2868]}"
        )
        measured = measure(kinds.DIRECTION, value(typed, "a", "direction"), value(typed, "b", "direction"))
        assert measured.drift == pytest.approx(50.03, abs=0.01)


class TestColourSteps:
    """CIE TN 001:2014: an n-step circle has a radius of 0.0011 n in CIE 1976 u'v'."""

    @pytest.mark.parametrize("count", [1, 2, 5, 7])
    @pytest.mark.parametrize("turn", [0.0, 0.7, 2.2])
    def test_circles(self, count: int, turn: float) -> None:
        centre = (0.1978, 0.4683)  # D65, CIE 015:2018
        edge = Colour(
            centre[0] + 0.0011 * count * math.cos(turn), centre[1] + 0.0011 * count * math.sin(turn)
        )
        assert measure(kinds.COLOUR, Colour(*centre), edge).drift == pytest.approx(count)

    def test_d65_to_d50(self) -> None:
        """CIE 015:2018: D65 is x 0.3127 y 0.3290 and D50 x 0.3457 y 0.3585; u' = 4x/(-2x + 12y + 3), v' = 9y/(same):
        (0.19783, 0.46832) and (0.20916, 0.48808), by hand 0.02278 apart, 20.7 steps."""
        found = []
        for x, y in ((0.3127, 0.3290), (0.3457, 0.3585)):
            below = -2 * x + 12 * y + 3
            found.append(Colour(4 * x / below, 9 * y / below))
        assert [round(found[0].u, 5), round(found[0].v, 5)] == pytest.approx([0.19783, 0.46832], abs=2e-5)
        assert [round(found[1].u, 5), round(found[1].v, 5)] == pytest.approx([0.20916, 0.48808], abs=2e-5)
        assert measure(kinds.COLOUR, *found).drift == pytest.approx(20.7, abs=0.05)

    def test_white_is_white_in_every_working_space(self) -> None:
        """RGB 1, 1, 1 of Rec.709 (ITU-R BT.709-6) is D65: no step from the chromaticity that CIE 015:2018 gives it."""
        white = value(sheet("a: {type: point, color: [1, 1, 1]}"), "a", "colour")
        x, y = 0.3127, 0.3290
        below = -2 * x + 12 * y + 3
        assert measure(kinds.COLOUR, Colour(4 * x / below, 9 * y / below), white).drift == pytest.approx(
            0.0, abs=0.05
        )
