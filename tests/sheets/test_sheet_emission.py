"""Every spelling of a level and a colour comes to the same thing."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from known import about, being
from samelight.light.colour import chromaticity, light_chromaticity, luminance
from samelight.light.levels import LightSizes, area, stops
from samelight.sheets.values import Colour, Level, alike
from sheets.sheet_help import light_of, section_of

INTENSITY = st.floats(1e-3, 1e4)
EXPOSURE = st.floats(-10, 10)
CHANNEL = st.floats(0, 10)
COLOR = st.lists(CHANNEL, min_size=3, max_size=3)
SHAPES = ["distant", "point", "sphere", "disk", "rect", "cylinder", "spot", "mesh", "portal", "LampLight"]
SHAPE = st.sampled_from(SHAPES)


def level_of(typed: dict[str, Any], **sheet: Any) -> Level:
    return being(Level, light_of(typed, **sheet)["level"])


class TestLevels:
    @given(INTENSITY, EXPOSURE, EXPOSURE, SHAPE)
    def test_what_goes_from_the_intensity_into_the_exposure_changes_nothing(
        self, intensity: float, exposure: float, shift: float, shape: str
    ) -> None:
        one = level_of({"type": shape, "intensity": intensity, "exposure": exposure})
        other = level_of({"type": shape, "intensity": intensity * 2.0**shift, "exposure": exposure - shift})
        assert alike(one, other)

    def test_the_split_of_the_design(self) -> None:
        assert level_of({"type": "spot", "intensity": 1.6, "exposure": 1}) == level_of(
            {"type": "spot", "intensity": 3.2}
        )

    @given(INTENSITY, EXPOSURE)
    def test_stops_may_be_written_out(self, intensity: float, exposure: float) -> None:
        plain = level_of({"type": "spot", "intensity": intensity, "exposure": exposure})
        assert plain == level_of({"type": "spot", "intensity": intensity, "exposure": f"{exposure!r} st"})

    def test_without_a_word_a_light_is_at_one(self) -> None:
        assert level_of({"type": "spot"}) == Level(1.0)

    @given(INTENSITY, EXPOSURE)
    def test_a_stop_is_a_stop(self, intensity: float, exposure: float) -> None:
        one = level_of({"type": "spot", "intensity": intensity, "exposure": exposure})
        other = level_of({"type": "spot", "intensity": intensity, "exposure": exposure + 1})
        assert stops(other.value, one.value) == pytest.approx(1.0)

    @given(INTENSITY, st.floats(0.01, 10), st.floats(0.01, 10))
    def test_a_normalised_light_against_one_that_is_not(
        self, intensity: float, width: float, height: float
    ) -> None:
        whole = {"type": "rect", "width": width, "height": height}
        one = level_of({**whole, "intensity": intensity, "normalize": True})
        other = level_of(
            {**whole, "intensity": intensity / area("rect", LightSizes(width=width, height=height))}
        )
        assert alike(one, other)

    @given(
        INTENSITY, st.floats(1, 1000), st.sampled_from(["rect", "disk", "sphere", "cylinder"]), st.booleans()
    )
    def test_scaling_the_unit_changes_nothing(
        self, intensity: float, size: float, shape: str, normalize: bool
    ) -> None:
        light = {"type": shape, "intensity": intensity, "normalize": normalize}
        sizes = dict.fromkeys(("radius", "width", "height", "length"), size)
        in_metres = {name: number / 100 for name, number in sizes.items()}
        one = level_of({**light, **sizes}, units={"length": "cm", "area": "m"})
        other = level_of({**light, **in_metres}, units={"length": "m"})
        assert alike(one, other)

    def test_areas_count_in_the_unit_that_is_stated_for_them(self) -> None:
        light = {"type": "rect", "width": 1, "height": 1, "intensity": 3, "normalize": True}
        assert level_of(light, units={"length": "m", "area": "cm"}).value == pytest.approx(3e-4)
        assert level_of(light, units={"length": "cm"}).value == pytest.approx(3e-4)
        assert level_of(light).value == 3.0

    @given(INTENSITY, COLOR)
    def test_the_luminance_of_the_colour_is_part_of_the_level(
        self, intensity: float, color: list[float]
    ) -> None:
        level = level_of({"type": "spot", "intensity": intensity, "color": color})
        assert level.value == pytest.approx(intensity * luminance(color), rel=1e-11, abs=1e-300)

    @given(INTENSITY, st.floats(0.1, 10))
    def test_a_grey_colour_is_a_dimmer(self, intensity: float, grey: float) -> None:
        dimmed = light_of({"type": "spot", "intensity": intensity, "color": [grey] * 3})
        plain = light_of({"type": "spot", "intensity": intensity * grey})
        assert alike(dimmed["level"], plain["level"])
        assert alike(dimmed["colour"], plain["colour"])

    @pytest.mark.parametrize(
        ("spellings", "level"),
        [
            (
                [
                    ({"intensity": "800 lx"}, {}),
                    ({"intensity": 800, "unit": "lx"}, {}),
                    ({"intensity": 800, "unit": "lux"}, {}),
                    ({"intensity": 800}, {"units": {"level": "lx"}}),
                    ({"intensity": 400, "exposure": 1, "unit": "lx"}, {"units": {"level": "cd"}}),
                    ({"intensity": "800 lx", "unit": "lux"}, {}),
                ],
                Level(800.0, "illuminance"),
            ),
        ],
    )
    def test_units_of_a_distant_light(self, spellings: list[Any], level: Level) -> None:
        for typed, sheet in spellings:
            assert level_of({"type": "distant", **typed}, **sheet) == level

    def test_a_photometric_level_is_of_another_kind_than_a_relative_one(self) -> None:
        assert level_of({"type": "point", "intensity": 100, "unit": "cd"}).quantity == "intensity"
        assert level_of(
            {"type": "point", "intensity": 100, "unit": "relative"}, units={"level": "cd"}
        ) == Level(100.0)

    def test_lumens_in_a_cone(self) -> None:
        # 2 pi (1 - cos 60) = pi steradians.
        spot = {"type": "spot", "cone": 60, "intensity": "1000 lm"}
        assert level_of(spot).value == pytest.approx(1000.0 / math.pi)

    def test_a_black_light_has_a_level_of_nothing_and_no_colour(self) -> None:
        black = light_of({"type": "spot", "color": [0, 0, 0]})
        assert black["level"] == Level(0.0)
        assert "colour" not in black

    @pytest.mark.parametrize("unit", ["nit", "relative"])
    @pytest.mark.parametrize(
        "sizes",
        [
            {"type": "sphere", "radius": 0},
            {"type": "sphere", "radius": 0, "normalize": False},
            {"type": "sphere", "radius": 0.2, "treat_as_point": True},
            {"type": "rect", "width": 0, "height": 2},
            {"type": "disk", "radius": 0},
            {"type": "cylinder", "length": 0, "radius": 0.1},
            {"type": "cylinder", "radius": 0},
            {"type": "cylinder", "length": 2, "treat_as_line": True},
            {"type": "point", "radius": 0},
            {"type": "spot", "radius": 0, "cone": 30},
            {"type": "distant", "angle": 0, "normalize": False},
            {"type": "distant", "angle": 1e-170, "normalize": False},
            {"type": "distant", "angle": 0},
            {"type": "spot", "cone": 0},
            {"type": "rect", "width": 0, "normalize": True},
            {"type": "sphere", "radius": 0, "normalize": True},
            {"type": "sphere", "treat_as_point": True, "normalize": True},
            {"type": "cylinder", "length": 0, "normalize": True},
        ],
    )
    def test_a_light_without_an_area_still_shows_every_stop(self, sizes: dict[str, Any], unit: str) -> None:
        before, after = (level_of({**sizes, "intensity": 5, "exposure": e, "unit": unit}) for e in (0, 3))
        assert before.quantity == after.quantity
        assert stops(after.value, before.value) == pytest.approx(3.0)

    def test_lumens_of_a_light_without_an_area_or_a_cone_show_every_stop(self) -> None:
        for sizes in (
            {"type": "sphere", "radius": 0},
            {"type": "rect", "width": 0},
            {"type": "spot", "cone": 0},
        ):
            before, after = (level_of({**sizes, "intensity": f"{lumens} lm"}) for lumens in (100, 200))
            assert (before.quantity, stops(after.value, before.value)) == (after.quantity, about(1.0))

    def test_a_light_without_an_area_is_no_match_for_one_that_has_one(self) -> None:
        """Nothing comes of the one at all: no figure in stops says how much brighter the other is."""
        for unit in ("nit", "relative"):
            bare, whole = (
                level_of({"type": "disk", "radius": radius, "intensity": 5, "unit": unit})
                for radius in (0, 1)
            )
            assert bare.quantity != whole.quantity
            assert bare.value == 5.0

    def test_a_light_that_is_off(self) -> None:
        assert level_of({"type": "spot", "intensity": 0, "exposure": 5}) == Level(0.0)

    def test_an_environment_has_no_size(self) -> None:
        sky = section_of(
            "environments", {"sky": {"intensity": 0.4, "exposure": 1, "radius": 3, "normalize": True}}
        )
        assert sky["sky"]["level"] == Level(0.8)
        assert sky["sky"]["radius"] == 3.0


class TestColours:
    @given(COLOR.filter(lambda rgb: max(rgb) > 1e-3), st.sampled_from(["rec709", "acescg", "rec2020"]))
    def test_a_colour_is_its_chromaticity_in_the_working_space(self, color: list[float], space: str) -> None:
        got = light_of({"type": "spot", "color": color}, working_space=space)["colour"]
        assert (got.u, got.v) == pytest.approx(chromaticity(color, space))

    @given(COLOR.filter(lambda rgb: min(rgb) > 1e-3), st.floats(0.01, 100))
    def test_how_bright_it_is_does_not_matter(self, color: list[float], factor: float) -> None:
        one = light_of({"type": "spot", "color": color})["colour"]
        other = light_of({"type": "spot", "color": [factor * channel for channel in color]})["colour"]
        assert (one.u, one.v) == pytest.approx((other.u, other.v))

    @given(st.floats(1000, 20000))
    def test_kelvin_text_and_mired(self, kelvin: float) -> None:
        spellings = [kelvin, f"{kelvin!r} K", f"{1e6 / kelvin!r} mired"]
        colours = [light_of({"type": "spot", "temperature": typed})["colour"] for typed in spellings]
        assert colours[0] == colours[1]
        assert alike(colours[0], colours[2])
        assert (colours[0].u, colours[0].v) == pytest.approx(light_chromaticity((1, 1, 1), kelvin))

    def test_a_temperature_does_not_dim(self) -> None:
        assert level_of({"type": "spot", "temperature": 2700}) == Level(1.0)

    def test_white_is_white_in_every_space(self) -> None:
        whites = {
            light_of({"type": "spot"}, working_space=space)["colour"] for space in ("rec709", "rec2020")
        }
        assert len({(round(white.u, 9), round(white.v, 9)) for white in whites}) == 1

    def test_a_colour_that_is_no_lights_keeps_how_bright_it_is(self) -> None:
        light = light_of({"type": "spot", "shadow": {"color": [0.2, 0.2, 0.2]}, "focus_tint": [0, 0, 0]})
        assert alike(light["shadow.color_level"], Level(0.2))
        assert isinstance(light["shadow.color"], Colour)
        assert light["focus_tint_level"] == Level(0.0)
        assert "focus_tint" not in light
        surfaces = section_of("surfaces", {"water": {"color": [0.5, 0.5, 0.5]}})
        assert alike(surfaces["water"]["color_level"], Level(0.5))
