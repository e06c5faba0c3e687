import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from known import about, there
from samelight.light import colour, locus

channel = st.floats(0, 10)
rgb = st.tuples(channel, channel, channel).filter(lambda c: max(c) > 1e-3)
kelvin = st.floats(1001, 24900)
space = st.sampled_from(["rec709", "acescg", "rec2020"])


@given(rgb, st.floats(1e-6, 1e6), space)
def test_brightness_is_no_colour(linear: tuple[float, ...], scale: float, name: str) -> None:
    before = colour.chromaticity(linear, name)
    after = colour.chromaticity(tuple(number * scale for number in linear), name)
    assert colour.steps(there(before), there(after)) < 1e-6


@given(space)
def test_white_is_one_colour_in_every_space(name: str) -> None:
    assert colour.steps(there(colour.chromaticity((1, 1, 1), name)), locus.xy_to_uv(0.3127, 0.3290)) < 1e-6
    assert colour.luminance((1, 1, 1), name) == pytest.approx(1)


@given(rgb, space)
def test_one_colour_in_two_spaces_is_one_colour(linear: tuple[float, ...], name: str) -> None:
    moved = colour.to_rec709(linear, name)
    assert (
        colour.steps(there(colour.chromaticity(linear, name)), there(colour.chromaticity(moved, "rec709")))
        < 1e-6
    )


def test_names_of_spaces() -> None:
    assert colour.space_name("sRGB") == colour.space_name("lin_rec709") == "rec709"
    assert colour.chromaticity((1, 0, 0), "ap1") == colour.chromaticity((1, 0, 0), "ACEScg")
    for call in (colour.chromaticity, colour.luminance, colour.to_rec709):
        with pytest.raises(ValueError, match="working space"):
            call((1, 1, 1), "cmyk")


def test_black_has_no_colour() -> None:
    assert colour.chromaticity((0, 0, 0)) is None
    assert colour.chromaticity((-1, -1, -1)) is None
    assert colour.light_chromaticity((0, 0, 0), 4300) is None
    assert colour.chromaticity((1, -0.1, 0.2)) is not None
    assert colour.luminance((-1, 0, 0)) < 0
    for bad in ((1, 2), (math.nan, 1, 1), (1, math.inf, 1)):
        with pytest.raises(ValueError, match="three finite"):
            colour.chromaticity(bad)


@given(st.floats(100, 1e6))
def test_a_black_body_tints_and_does_not_dim(temperature: float) -> None:
    tint = colour.blackbody_rgb(temperature)
    assert colour.luminance(tint) == pytest.approx(1)
    assert min(tint) >= 0


@given(kelvin, kelvin)
def test_hotter_is_bluer(a: float, b: float) -> None:
    assume(abs(locus.mired(a) - locus.mired(b)) > 1e-3)
    cool, warm = colour.blackbody_rgb(max(a, b)), colour.blackbody_rgb(min(a, b))
    assert warm[0] > cool[0]
    assert warm[2] <= cool[2]


def test_the_ends_of_the_locus() -> None:
    assert colour.blackbody_rgb(600) == (about(1 / 0.2126, abs=1e-3), 0.0, 0.0)
    assert colour.blackbody_rgb(26000) != colour.blackbody_rgb(60000)
    for bad in (0, -3, math.nan):
        with pytest.raises(ValueError, match="above 0 K"):
            colour.blackbody_rgb(bad)
        with pytest.raises(ValueError, match="above 0 K"):
            locus.planckian_uv(bad)
    coldest, hottest = locus.planckian_uv(1e-9), locus.planckian_uv(1e300)
    assert coldest == (about(0.6234, abs=1e-4), about(0.5065, abs=1e-4))  # 700 nm and beyond
    assert hottest == (about(0.1801, abs=1e-4), about(0.3953, abs=1e-4))
    for bad in (3999, 25001):
        with pytest.raises(ValueError, match="daylight"):
            locus.daylight_xy(bad)


@given(st.floats(2000, 20000), space)
def test_a_temperature_means_one_colour_in_every_space(temperature: float, name: str) -> None:
    here = colour.light_chromaticity((1, 1, 1), temperature, name)
    assert colour.steps(there(here), locus.planckian_uv(temperature)) < 1e-3


@given(st.floats(500, 100_000), st.floats(0.1, 10), space)
def test_a_white_light_has_the_colour_of_the_black_body_itself(
    temperature: float, level: float, name: str
) -> None:
    """Also where Rec.709 has no room for it: under 1,900 K its blue would be negative."""
    here = colour.light_chromaticity((level, level, level), temperature, name)
    assert colour.steps(there(here), locus.planckian_uv(temperature)) < 1e-6


@given(st.floats(500, 100_000), rgb, space)
def test_a_coloured_light_is_a_colour_at_every_temperature(
    temperature: float, channels: tuple[float, ...], name: str
) -> None:
    assume(min(channels) > 1e-3)
    here = colour.light_chromaticity(channels, temperature, name)
    assert here is not None
    nudged = colour.light_chromaticity(channels, temperature * 1.0001, name)
    # What is left of a channel that the black body hardly has weighs as much as the light's own colour is uneven.
    assert colour.steps(here, there(nudged)) < 0.1 + 0.02 * max(channels) / min(channels)


@given(rgb, rgb, st.floats(2000, 20000), space)
def test_swapping_changes_no_distance(
    a: tuple[float, ...], b: tuple[float, ...], temperature: float, name: str
) -> None:
    one = there(colour.light_chromaticity(a, temperature, name))
    other = there(colour.light_chromaticity(b, None, name))
    assert colour.steps(one, other) == colour.steps(other, one)


def off_the_locus(temperature: float, duv: float) -> tuple[float, float]:
    """The u'v' at right angles to the locus (in CIE 1960 uv), by Duv above it."""
    u, v = locus.planckian_uv(temperature)
    ahead = locus.planckian_uv(temperature * 1.0005)
    tangent = np.array((ahead[0] - u, (ahead[1] - v) * 2 / 3))
    across = np.array((tangent[1], -tangent[0])) / np.linalg.norm(tangent)
    across = across if across[1] > 0 else -across
    return (u + across[0] * duv, v + across[1] * duv * 1.5)


@given(kelvin, st.floats(-0.02, 0.02))
def test_temperature_and_duv_come_back(temperature: float, duv: float) -> None:
    found = locus.cct_duv(*off_the_locus(temperature, duv))
    assume(found is not None)
    assert found is not None
    assert abs(locus.mired(found[0]) - locus.mired(temperature)) < 0.5
    assert found[1] == pytest.approx(duv, abs=1e-6)


def test_far_from_the_locus_there_is_no_temperature() -> None:
    assert locus.cct_duv(*there(colour.chromaticity((0, 1, 0)))) is None
    assert locus.cct_duv(*there(colour.chromaticity((0, 0, 1)))) is None
    assert locus.cct_duv(math.nan, 0.5) is None
    assert locus.cct_duv(*locus.planckian_uv(900)) is None
    assert locus.cct_duv(*locus.planckian_uv(30000)) is None
    assert there(locus.cct_duv(*locus.planckian_uv(1000)))[0] == pytest.approx(1000, rel=1e-5)
    assert there(locus.cct_duv(*locus.planckian_uv(25000)))[0] == pytest.approx(25000, rel=1e-4)


@given(st.floats(0.1, 0.5), st.floats(0.2, 0.55))
def test_xy_and_uv_come_back(u: float, v: float) -> None:
    assert locus.xy_to_uv(*locus.uv_to_xy(u, v)) == pytest.approx((u, v))


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (5600, 5590, ""),
        (5600, 5450, "slightly warmer, less than an eighth CTO would"),
        (5600, 4900, "warmer, as about an eighth CTO would"),
        (5600, 4200, "warmer, as about a quarter CTO would"),
        (6500, 3200, "warmer, as about a full CTO would"),
        (3200, 5600, "cooler, as about a full CTB would"),
        (3200, 4300, "cooler, as about a half CTB would"),
        (1500, 20000, "much cooler, more than a double CTB would"),
    ],
)
def test_warmth_in_words(before: int, after: int, words: str) -> None:
    assert colour.shift_in_words(locus.planckian_uv(before), locus.planckian_uv(after)) == words


def test_green_and_hue_in_words() -> None:
    white = there(colour.chromaticity((1, 1, 1)))
    daylight = locus.planckian_uv(5600)
    greener, pinker = off_the_locus(5600, 0.005), off_the_locus(5600, -0.01)
    assert colour.shift_in_words(daylight, greener) == "greener, as about a quarter plus-green would"
    assert colour.shift_in_words(daylight, pinker) == "more magenta, as about a half minus-green would"
    both = colour.shift_in_words(daylight, off_the_locus(4200, 0.005))
    assert both == "warmer, as about a quarter CTO would, and greener, as about a quarter plus-green would"
    assert colour.shift_in_words(white, white) == ""
    assert colour.shift_in_words(white, there(colour.chromaticity((0, 0, 1)))).startswith("bluer by ")
    assert colour.shift_in_words(white, there(colour.chromaticity((0, 1, 0)))).startswith("greener by ")
    assert colour.shift_in_words(white, there(colour.chromaticity((1, 0, 0)))).startswith("redder by ")


@given(rgb, rgb)
def test_every_visible_shift_has_words(a: tuple[float, ...], b: tuple[float, ...]) -> None:
    before, after = colour.chromaticity(a), colour.chromaticity(b)
    assert bool(colour.shift_in_words(there(before), there(after))) == (
        colour.steps(there(before), there(after)) >= 1
    )
