import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from known import about
from samelight.light import levels
from samelight.light.levels import LightSizes

positive = st.floats(1e-6, 1e6)
size = st.floats(1e-3, 1e2)
exposure = st.floats(-20, 20)
shape = st.sampled_from(["rect", "disk", "sphere", "cylinder"])


@given(positive, exposure, st.floats(-8, 8))
def test_a_stop_may_stand_in_either_number(intensity: float, stops: float, moved: float) -> None:
    assert levels.effective(intensity, stops) == pytest.approx(
        levels.effective(intensity * 2**moved, stops - moved)
    )


@given(positive, positive)
def test_swapping_flips_only_the_sign(a: float, b: float) -> None:
    assert levels.stops(a, b) == -levels.stops(b, a)
    assert levels.stops(2 * a, b) == pytest.approx(levels.stops(a, b) + 1)


@given(positive, positive, positive)
def test_a_common_unit_changes_no_drift(a: float, b: float, scale: float) -> None:
    assert levels.stops(a * scale, b * scale) == pytest.approx(levels.stops(a, b), abs=1e-9)


def test_black_has_no_stops() -> None:
    assert levels.stops(0, 0) == 0
    assert levels.stops(1, 0) == math.inf
    assert levels.stops(0, 1) == -math.inf
    assert levels.stops(1e300, 1e-300) == pytest.approx(1993.156857)
    for bad in ((-1, 1), (1, -1), (math.nan, 1)):
        with pytest.raises(ValueError, match="stops"):
            levels.stops(*bad)


@pytest.mark.parametrize("bad", [(math.nan, 0), (1, math.inf), (1, 5000), (1e300, 1000)])
def test_a_level_beyond_numbers_is_refused(bad: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match=r"are finite|beyond any number"):
        levels.effective(*bad)


def test_sizes_not_given_are_usdlux_fallbacks() -> None:
    assert levels.area("rect") == 1.0
    assert levels.area("disk") == pytest.approx(math.pi / 4)
    assert levels.area("sphere") == pytest.approx(math.pi)
    assert levels.area("cylinder") == pytest.approx(math.pi)
    assert levels.area("distant") == levels.distant_size_factor(0.53)
    assert levels.area("mesh") == levels.area("point", LightSizes(radius=3)) == 1.0
    with pytest.raises(ValueError, match="radius"):
        levels.area("disk", LightSizes(radius=-1))
    with pytest.raises(ValueError, match="angle"):
        levels.area("distant", LightSizes(angle=-1))


@given(shape, positive, exposure, size, size, st.sampled_from([1.0, 0.01, 0.0254]))
def test_normalised_and_plain_lights_of_equal_light_are_equal(
    kind: str, intensity: float, stops: float, a: float, b: float, unit: float
) -> None:
    """Areas count in squares of `unit` metres, so a light of A m² has A / unit² of them."""
    sizes = {"radius": a, "width": a, "height": b, "length": b}
    area = levels.area(kind, LightSizes(**sizes))
    plain = levels.emitted(intensity, stops, shape=kind, normalize=False, sizes=LightSizes(**sizes))
    same = levels.emitted(
        intensity * area / unit**2,
        stops,
        shape=kind,
        normalize=True,
        area_unit=unit,
        sizes=LightSizes(**sizes),
    )
    assert levels.stops(plain, same) == pytest.approx(0, abs=1e-9)
    assert levels.emitted(intensity, stops, shape=kind, normalize=None, sizes=LightSizes(**sizes)) == plain


@given(shape, positive, size, size)
def test_size_moves_a_plain_light_and_not_a_normalised_one(
    kind: str, intensity: float, a: float, b: float
) -> None:
    small = {"radius": a, "width": a, "height": b, "length": b}
    large = {name: value * 2 for name, value in small.items()}
    plain = [
        levels.emitted(intensity, shape=kind, normalize=False, sizes=LightSizes(**sizes))
        for sizes in (large, small)
    ]
    kept = [
        levels.emitted(intensity, shape=kind, normalize=True, sizes=LightSizes(**sizes))
        for sizes in (large, small)
    ]
    assert levels.stops(*plain) == pytest.approx(2)
    assert levels.stops(*kept) == 0


def test_a_distant_light_is_an_illuminance() -> None:
    assert levels.emitted(3.2, shape="distant") == 3.2
    assert levels.emitted(3.2, shape="distant", normalize=True, sizes=LightSizes(angle=10)) == 3.2
    assert levels.emitted(
        1.0, shape="distant", normalize=False, sizes=LightSizes(angle=180)
    ) == pytest.approx(math.pi)
    assert levels.emitted(1.0, shape="point", normalize=True) == levels.emitted(1.0, shape="spot") == 1.0
    with pytest.raises(ValueError, match="length unit"):
        levels.emitted(1.0, shape="rect", normalize=True, area_unit=0)


@pytest.mark.parametrize(
    ("value", "unit", "lamp", "expected"),
    [
        (100.0, "cd", {"shape": "point"}, (100.0, "intensity")),
        (4 * math.pi, "lm", {"shape": "point"}, (1.0, "intensity")),
        (4 * math.pi, "lm", {"shape": "spot"}, (1.0, "intensity")),
        (math.pi, "lm", {"shape": "spot", "cone": 60}, (1.0, "intensity")),
        (2 * math.pi, "lm", {"shape": "spot", "cone": 90}, (1.0, "intensity")),
        (1000.0, "lm", {"shape": "spot", "cone": 0}, (1000.0, "flux")),
        (5.0, "nit", {"shape": "point"}, (5.0, "luminance")),
        (5.0, "nit", {"shape": "spot", "radius": 1.0}, (5 * math.pi, "intensity")),
        (800.0, "lx", {"shape": "distant"}, (800.0, "illuminance")),
        (1.0, "nit", {"shape": "distant", "angle": 180}, (math.pi, "illuminance")),
        (7.0, "nit", {"shape": "distant", "angle": 180, "normalize": True}, (7.0, "illuminance")),
        (7.0, "cd", {"shape": "distant"}, (7.0, "intensity")),
        (10.0, "nit", {"shape": "rect", "width": 2.0, "height": 3.0}, (60.0, "intensity")),
        (60.0 * math.pi, "lm", {"shape": "rect", "width": 2.0, "height": 3.0}, (60.0, "intensity")),
        (60.0, "cd", {"shape": "rect", "width": 2.0, "height": 3.0}, (60.0, "intensity")),
        (10.0, "cd/m2", {"shape": "disk", "radius": 2.0}, (40 * math.pi, "intensity")),
        (10.0, "cd/m2", {"shape": "cylinder", "radius": 0.5, "length": 4.0}, (40.0, "intensity")),
        (9.0, "lx", {"shape": "sphere"}, (9.0, "illuminance")),
        (math.pi, "lx", {"shape": "environment"}, (1.0, "luminance")),
        (2.0, "nit", {"shape": "dome"}, (2.0, "luminance")),
        (2.0, "lm", {"shape": "mesh"}, (2.0, "flux")),
        (2.5, "relative", {"shape": "sphere"}, (2.5, "relative")),
    ],
)
def test_photometric_units_meet(
    value: float, unit: str, lamp: dict[str, Any], expected: tuple[float, str]
) -> None:
    stated = {name: lamp.pop(name) for name in ("shape", "cone", "normalize", "area_unit") if name in lamp}
    found, quantity = levels.photometric(value, unit, **stated, sizes=LightSizes(**lamp))
    assert (found, quantity) == (about(expected[0]), expected[1])


@given(shape, positive, size, size)
def test_one_area_light_in_three_units_is_one_light(kind: str, luminance: float, a: float, b: float) -> None:
    sizes = {"radius": a, "width": a, "height": b, "length": b}
    in_nits, _ = levels.photometric(luminance, "nit", shape=kind, sizes=LightSizes(**sizes))
    flux = math.pi * luminance * levels.area(kind, LightSizes(**sizes))
    in_lumens, _ = levels.photometric(flux, "lm", shape=kind, sizes=LightSizes(**sizes))
    in_candelas, _ = levels.photometric(
        luminance * levels.seen_area(kind, LightSizes(**sizes)), "cd", shape=kind, sizes=LightSizes(**sizes)
    )
    assert in_nits == pytest.approx(in_lumens) == pytest.approx(in_candelas)


@given(shape, positive, size, size, st.sampled_from([1.0, 0.01]))
def test_a_normalised_luminance_lost_its_area(
    kind: str, luminance: float, a: float, b: float, unit: float
) -> None:
    sizes = {"radius": a, "width": a, "height": b, "length": b}
    plain = levels.photometric(luminance, "nit", shape=kind, sizes=LightSizes(**sizes))
    written = luminance * levels.area(kind, LightSizes(**sizes)) / unit**2
    kept = levels.photometric(
        written, "nit", shape=kind, normalize=True, area_unit=unit, sizes=LightSizes(**sizes)
    )
    assert kept == (about(plain[0]), "intensity")


def test_wrong_photometric_input_is_refused() -> None:
    with pytest.raises(ValueError, match="lx"):
        levels.photometric(1, "foot-candle", shape="point")
    with pytest.raises(ValueError, match="cone"):
        levels.photometric(1, "lm", shape="spot", cone=181)
    with pytest.raises(ValueError, match="finite"):
        levels.photometric(math.nan, "lm", shape="spot")
    with pytest.raises(ValueError, match="no area light"):
        levels.seen_area("point")
    assert set(levels.UNITS.values()) == set(levels.UNIT_OF)
