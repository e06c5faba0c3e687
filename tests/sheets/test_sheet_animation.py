"""Animated parameters: what is keyed is folded at each moment, and two ways to key one motion give one curve."""

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from known import being, there
from samelight.light.directions import angle_between, from_azimuth_elevation
from samelight.sheets.animation import COLOUR_OFF, STOPS_OFF
from samelight.sheets.keyed import Keyed, read_keys
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Level, alike
from samelight.sheets.writing import yaml_text
from sheets.sheet_help import light_of, reader, section_of, sheet_of

SPOT = {"type": "spot"}
FRAMES = st.lists(st.integers(1001, 1200), min_size=2, max_size=5, unique=True).map(sorted)


def keyed(*keys: Any, held: bool = False) -> dict[str, Any]:
    return {"keys": [list(key) for key in keys], **({"interpolation": "held"} if held else {})}


@st.composite
def keys_of(draw: st.DrawFn, values: st.SearchStrategy[Any]) -> list[Any]:
    return [[frame, draw(values)] for frame in draw(FRAMES)]


def pairs(keys: list[list[Any]]) -> tuple[tuple[float, Any], ...]:
    return tuple((frame, value) for frame, value in keys)


def at(value: Any, frame: int) -> Any:
    return value.at(frame) if isinstance(value, Curve) else value


class TestWhatIsKeyedIsFoldedAtEachMoment:
    @given(
        keys_of(st.floats(0.1, 100)),
        keys_of(st.floats(-3, 3)),
        keys_of(st.floats(2000, 9000)),
        st.booleans(),
    )
    def test_of_an_emission(
        self,
        intensity: list[list[float]],
        exposure: list[list[float]],
        temperature: list[list[float]],
        held: bool,
    ) -> None:
        ways = {"interpolation": "held"} if held else {}
        light = light_of(
            {
                **SPOT,
                "intensity": {"keys": intensity, **ways},
                "exposure": {"keys": exposure, **ways},
                "temperature": {"keys": temperature, **ways},
            }
        )
        typed = [Keyed(pairs(keys), held) for keys in (intensity, exposure, temperature)]
        for frame in range(995, 1210, 7):
            now = dict(
                zip(("intensity", "exposure", "temperature"), (one.at(frame) for one in typed), strict=True)
            )
            still = light_of({**SPOT, **now})
            level, colour = at(light["level"], frame), at(light["colour"], frame)
            assert abs(math.log2(level.value / still["level"].value)) <= 3 * STOPS_OFF
            assert math.hypot(colour.u - still["colour"].u, colour.v - still["colour"].v) <= 3 * COLOUR_OFF

    @given(keys_of(st.floats(0, 360)), keys_of(st.floats(-80, 80)))
    def test_of_an_azimuth(self, azimuth: list[list[float]], elevation: list[list[float]]) -> None:
        light = light_of({"type": "distant", "azimuth": {"keys": azimuth}, "elevation": {"keys": elevation}})
        typed = [Keyed(pairs(keys)) for keys in (azimuth, elevation)]
        for frame in range(1001, 1200, 7):
            expected = from_azimuth_elevation(*(one.at(frame) for one in typed))
            # Between whole frames nobody looks; a fast turn is only as true as its frames.
            steps = [abs(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(azimuth)]
            assert angle_between(at(light["direction"], frame), expected) <= 0.1 + 0.002 * max(steps)

    @given(keys_of(st.lists(st.floats(-9, 9), min_size=3, max_size=3)), FRAMES)
    def test_of_a_light_that_follows_its_target(self, targets: list[list[Any]], frames: list[int]) -> None:
        light = light_of({**SPOT, "position": [30, 5, 0], "target": {"keys": targets}})
        typed = Keyed(pairs(targets))
        assert light["position"] == (30.0, 5.0, 0.0)
        for frame in frames:
            x, y, z = typed.at(frame)
            assert angle_between(at(light["direction"], frame), (x - 30, y - 5, z)) <= 0.2

    def test_at_the_keys_it_is_exact(self) -> None:
        light = light_of({**SPOT, "exposure": keyed([1001, 0], [1048, 4])})
        assert light["level"].at(1001) == Level(1.0)
        assert light["level"].at(1048) == Level(16.0)
        assert light["level"].at(1024.5).value == pytest.approx(4.0, rel=2e-3)

    def test_a_light_that_crosses_its_unit_distance_goes_straight(self) -> None:
        # Both ends are unit vectors, which blend along a circle where directions are meant.
        light = light_of({**SPOT, "position": keyed([1, [1, 0, 0]], [11, [0, 1, 0]])})
        assert light["position"].at(6) == pytest.approx((0.5, 0.5, 0.0), abs=2e-3)

    def test_a_vector_goes_along_the_great_circle(self) -> None:
        light = light_of({**SPOT, "direction": keyed([1, [1, 0, 0]], [11, [0, -1, 0]])})
        half = math.sqrt(0.5)
        assert light["direction"] == Curve(((1.0, (1.0, 0.0, 0.0)), (11.0, (0.0, -1.0, 0.0))))
        assert light["direction"].at(6) == pytest.approx((half, -half, 0.0))

    def test_a_colour_goes_straight_in_rgb(self) -> None:
        light = light_of({**SPOT, "color": keyed([1, [1, 0, 0]], [101, [0, 1, 0]])})
        still = light_of({**SPOT, "color": [0.5, 0.5, 0]})
        assert light["level"].at(51).value == pytest.approx(still["level"].value)
        assert light["colour"].at(51).u == pytest.approx(still["colour"].u, abs=2 * COLOUR_OFF)

    def test_a_light_that_fades_out_of_black(self) -> None:
        light = light_of({**SPOT, "color": keyed([1, [0, 0, 0]], [11, [1, 1, 1]])})
        assert light["level"] == Curve(((1.0, Level(0.0)), (11.0, Level(1.0))))
        assert isinstance(light["colour"], Colour)


class TestTurns:
    def sky(self, **typed: Any) -> Any:
        return section_of("environments", {"sky": typed})["sky"]["rotation"]

    def test_a_whole_turn_is_no_standstill(self) -> None:
        turn = self.sky(rotation=keyed([1, 0], [101, 360]))
        assert turn == Curve(((1.0, 0.0), (101.0, 360.0)))
        assert self.sky(rotation=keyed([1, 0], [101, 720])).at(51) == 360.0

    def test_past_north_it_goes_the_way_it_was_typed(self) -> None:
        assert self.sky(rotation=keyed([1, 350], [11, 370])).at(6) == 360.0
        assert self.sky(rotation=keyed([1, 350], [11, 10])).at(6) == 180.0

    def test_axes_take_the_short_way(self) -> None:
        turn = self.sky(rotation=keyed([1, [0, -350, 0]], [11, [0, -370, 0]]))
        assert turn.at(6) % 360.0 == pytest.approx(0.0, abs=1e-6)

    def test_axes_that_turn_all_the_way_round(self) -> None:
        turn = self.sky(rotation=keyed([1, [0, 0, 0]], [101, [0, -360, 0]]))
        for frame in (1, 26, 51, 76, 100):
            assert math.cos(math.radians(turn.at(frame) - 3.6 * (frame - 1))) == pytest.approx(1.0, abs=1e-3)

    def test_a_sky_that_stands_still_after_all(self) -> None:
        assert self.sky(rotation=keyed([1, 400], [11, 400])) == 40.0

    def test_a_sun_that_goes_all_the_way_round(self) -> None:
        sun = light_of({"type": "distant", "azimuth": keyed([1, 0], [361, 360]), "elevation": 30})[
            "direction"
        ]
        for frame in (1, 91, 181, 271, 360):
            assert angle_between(sun.at(frame), from_azimuth_elevation(frame - 1, 30)) < 0.05


class TestOneMotionOneCurve:
    @given(keys_of(st.floats(0.1, 100)), st.integers(1001, 1200))
    def test_a_key_on_the_line_changes_nothing(self, keys: list[list[float]], frame: int) -> None:
        assume(frame not in [key[0] for key in keys])
        on_it = Keyed(pairs(keys)).at(frame)
        more = sorted([*keys, [frame, on_it]])
        one, other = (light_of({**SPOT, "intensity": {"keys": k}})["level"] for k in (keys, more))
        assert alike(one, other)

    @given(st.floats(-4, 4), st.floats(-4, 4))
    def test_a_key_on_the_curve_of_an_exposure_changes_nothing_to_speak_of(
        self, start: float, end: float
    ) -> None:
        middle = (start + end) / 2
        one = light_of({**SPOT, "exposure": keyed([1, start], [101, end])})["level"]
        other = light_of({**SPOT, "exposure": keyed([1, start], [51, middle], [101, end])})["level"]
        for frame in range(1, 102, 5):
            assert abs(math.log2(at(one, frame).value / at(other, frame).value)) <= 2 * STOPS_OFF

    def test_still_ends_say_nothing(self) -> None:
        short = light_of({**SPOT, "cone": keyed([10, 30], [20, 40])})["cone"]
        long = light_of({**SPOT, "cone": keyed([1, 30], [10, 30], [20, 40], [90, 40])})["cone"]
        assert short == long == Curve(((10.0, 30.0), (20.0, 40.0)))

    def test_held_keys_that_change_nothing_say_nothing(self) -> None:
        some = light_of({**SPOT, "cone": keyed([1, 30], [20, 40], held=True)})["cone"]
        more = light_of({**SPOT, "cone": keyed([1, 30], [9, 30], [20, 40], [30, 40], held=True)})["cone"]
        assert some == more == Curve(((1.0, 30.0), (20.0, 40.0)), "held")

    @given(keys_of(st.just(3.0)), st.booleans())
    def test_a_curve_that_never_moves_is_a_plain_value(self, keys: list[list[float]], held: bool) -> None:
        ways = {"interpolation": "held"} if held else {}
        animated = light_of({**SPOT, "intensity": {"keys": keys, **ways}, "cone": 30})
        assert animated == light_of({**SPOT, "intensity": 3, "cone": 30})

    def test_an_intensity_and_an_exposure_that_cancel(self) -> None:
        light = light_of(
            {
                **SPOT,
                "intensity": keyed([1, 1], [9, 2], held=True),
                "exposure": keyed([1, 1], [9, 0], held=True),
            }
        )
        assert light["level"] == Level(2.0)

    def test_other_parameters_of_the_light_stay_plain(self) -> None:
        light = light_of({**SPOT, "position": [1, 2, 3], "cone": 30, "exposure": keyed([1, 0], [9, 1])})
        moving = [name for name, value in light.items() if isinstance(value, Curve)]
        assert moving == ["level"]

    @given(st.floats(0.5, 5), st.floats(0.5, 5))
    def test_units_do_not_matter(self, near: float, far: float) -> None:
        keys = [(1, near), (11, far)]
        spellings = [
            ({"radius": keyed(*keys)}, {}),
            ({"radius": keyed(*((frame, f"{100 * size!r} cm") for frame, size in keys))}, {}),
            (
                {"radius": keyed(*((frame, 100 * size) for frame, size in keys))},
                {"units": {"length": "cm", "area": "m"}},
            ),
            ({"radius": keyed((1, near), (11, f"{far!r} m"))}, {}),
        ]
        lights = [
            light_of({"type": "disk", "normalize": True, **typed}, **sheet) for typed, sheet in spellings
        ]
        for light in lights[1:]:
            for name in ("radius", "level"):
                assert at(light[name], 4) == at(lights[0][name], 4) or alike(
                    at(light[name], 4), at(lights[0][name], 4)
                )


class TestHeldAndBlended:
    def test_each_parameter_goes_its_own_way(self) -> None:
        light = light_of(
            {
                **SPOT,
                "intensity": keyed([1, 1], [11, 3], held=True),
                "position": keyed([1, [0, 0, 0]], [11, [0, 2, 0]]),
            }
        )
        assert light["level"] == Curve(((1.0, Level(1.0)), (11.0, Level(3.0))), "held")
        assert light["position"].at(6) == (0.0, 1.0, 0.0)

    def test_a_step_within_a_curve_that_blends(self) -> None:
        light = light_of(
            {**SPOT, "intensity": keyed([1, 1], [11, 3], held=True), "exposure": keyed([1, 0], [21, 1])}
        )
        level = light["level"]
        assert level.at(10.9).value == pytest.approx(2.0 ** (9.9 / 20), rel=2e-3)
        assert level.at(11).value == pytest.approx(3 * 2.0**0.5, rel=2e-3)

    def test_what_cannot_blend_holds(self) -> None:
        light = light_of(
            {
                **SPOT,
                "visible": keyed([1, True], [11, False]),
                "light_links": keyed([1, ["/a"]], [11, ["/b"]]),
                "texture": keyed([1, "a.exr"], [11, "b.exr"]),
                "mood": keyed([1, "calm"], [11, "wild"]),
            }
        )
        assert light["visible"].at(10) is True
        assert light["light_links"].at(10) == frozenset({"/a"})
        assert light["texture"].at(10) == FileRef("a.exr")
        assert light["mood"].at(11) == "wild"

    def test_unknown_quantities_blend_in_their_unit(self) -> None:
        mist = light_of({**SPOT, "mist": keyed([1, "2 m"], [11, "400 cm"])})["mist"]
        assert mist.at(6) == Amount(3.0, "length")

    def test_a_switch_that_bears_on_the_level(self) -> None:
        light = light_of(
            {"type": "rect", "width": 2, "height": 2, "normalize": keyed([1, True], [101, False], held=True)}
        )
        assert light["level"] == Curve(((1.0, Level(1.0)), (101.0, Level(4.0))), "held")

    def test_render_settings_and_passes_may_be_animated(self) -> None:
        text = yaml_text(
            {
                "samelight": 2,
                "render": {"gi": {"samples": keyed([1, 64], [9, 128])}, "rate": keyed([1, 1], [9, 2])},
            }
        )
        render = sheet_of(text).sections["render"]
        assert being(Curve, render["gi"]["samples"]).at(5) == 96.0
        assert being(Curve, render[""]["rate"]).at(5) == 1.5


class TestBetweenKeys:
    def test_what_cannot_be_folded_on_the_way_is_no_fault(self) -> None:
        # Half way from upright to upside down the matrix is flat and points nowhere.
        upright = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]
        turned = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1]
        light = light_of({**SPOT, "matrix": keyed([1, upright], [11, turned])})
        assert light["direction"].at(1) == (0.0, 0.0, -1.0)
        assert light["direction"].at(11) == (0.0, 0.0, 1.0)

    def test_a_light_that_passes_through_its_target(self) -> None:
        light = light_of({**SPOT, "target": [0, 0, 0], "position": keyed([1, [-1, 0, 0]], [11, [1, 0, 0]])})
        assert light["direction"].at(1) == (1.0, 0.0, 0.0)
        assert light["direction"].at(11) == (-1.0, 0.0, 0.0)

    def test_a_mad_turn_takes_no_mad_number_of_keys(self) -> None:
        sun = light_of({"type": "distant", "azimuth": keyed([0, 0], [1e9, 1e9]), "elevation": 30})[
            "direction"
        ]
        assert len(sun.keys) <= 2000

    def test_baked_motion_keeps_its_frames(self) -> None:
        frames = range(1001, 1101)
        baked = [[frame, [math.cos(frame / 9), math.sin(frame / 7), frame / 50]] for frame in frames]
        light = light_of({**SPOT, "position": {"keys": baked}})
        assert light["position"].frames() == [float(frame) for frame in frames]
        for frame, position in baked:
            assert light["position"].at(frame) == pytest.approx(position)


class TestKeys:
    @pytest.mark.parametrize(
        ("keys", "frame", "value"),
        [
            (((1, 2.0), (3, 4.0)), 2, 3.0),
            (((1, 2), (3, 4)), 2, 3.0),
            (((1, 2.0), (3, 4.0)), 0, 2.0),
            (((1, 2.0), (3, 4.0)), 9, 4.0),
            (((1, "2 m"), (3, "4 m")), 2, "3.0 m"),
            (((1, "200 cm"), (3, 4)), 2, "3.0 m"),
            (((1, "20 %"), (3, "40 %")), 2, "30.0 %"),
            (((1, "4000 K"), (3, 5000)), 2, "4500.0 K"),
            (((1, "1 st"), (3, 2)), 2, "1.5 st"),
            (((1, "100 lx"), (3, "200 lux")), 2, "150.0 lx"),
            (((1, "100 lx"), (3, "200 cd")), 2, "100 lx"),
            (((1, "2 m"), (3, "40 deg")), 2, "2 m"),
            (((1, "10s"), (3, "20s")), 2, "15.0 s"),
            (((1, [0, "1 m"]), (3, [2, "3 m"])), 2, [1.0, "2.0 m"]),
            (((1, [0]), (3, [2, 3])), 2, [0]),
            (((1, True), (3, False)), 2, True),
            (((1, True), (3, 3)), 2, True),
            (((1, "calm"), (3, "wild")), 2, "calm"),
            (((1, {"a": 1}), (3, {"a": 2})), 2, {"a": 1}),
        ],
    )
    def test_between_two(self, keys: tuple[Any, Any], frame: int, value: Any) -> None:
        assert Keyed(keys).at(frame) == value

    def test_a_bare_length_beside_one_with_a_unit_counts_in_the_sheets_unit(self) -> None:
        assert Keyed(((1, 200), (3, "4 m")), length=0.01).at(2) == "3.0 m"

    def test_vectors_that_cannot_turn_hold(self) -> None:
        nowhere = Keyed(((1, [0, 0, 0]), (3, [0, 0, 1])), on_a_circle=True)
        assert nowhere.at(2) == [0, 0, 0]
        assert Keyed(((1, "up"), (3, [0, 0, 1])), on_a_circle=True).at(2) == "up"

    def test_are_read_in_order(self) -> None:
        read = reader()
        got = read_keys(
            {"keys": [[1, 2], [3, "x"]], "interpolation": "held"}, read, ("lights", "sun", "cone")
        )
        assert got == Keyed(((1.0, 2), (3.0, "x")), held=True)
        assert there(read_keys({"keys": [[1, [0, 0, 1]]]}, read, ("lights", "sun", "direction"))).on_a_circle
        read.faults.raise_if_any()
