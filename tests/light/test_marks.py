import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.random import Generator
from numpy.typing import NDArray

from samelight.light import directions, levels, marks
from samelight.light.levels import LightSizes
from samelight.light.marks import Source
from samelight.light.rows import vectors
from samelight.light.shaping import cone_share, focus_share

SHAPES = ("point", "spot", "sphere", "disk", "rect", "cylinder")
shape = st.sampled_from(SHAPES)
seed = st.integers(0, 2**32 - 1)


def some_light(kind: str, generator: Generator, count: int = 5, **more: Any) -> Source:
    return Source(
        kind,
        level=generator.uniform(0.5, 5, count),
        position=generator.uniform(-1, 1, (count, 3)) + np.array((0, 4, 0)),
        direction=generator.normal(size=(count, 3)) * 0.3 + np.array((0, -1, 0)),
        across=generator.normal(size=(count, 3)),
        radius=generator.uniform(0.1, 0.5, count),
        width=generator.uniform(0.2, 2, count),
        height=generator.uniform(0.2, 2, count),
        length=generator.uniform(0.2, 3, count),
        cone=generator.uniform(30, 90, count) if kind == "spot" else math.nan,
        softness=generator.uniform(0, 1, count),
        **more,
    )


def moved(light: Source, rotation: NDArray[Any], offset: NDArray[Any] | int, scale: float = 1.0) -> Source:
    return Source(
        light.shape,
        level=light.level,
        quantity=light.quantity,
        position=(np.asarray(light.position) @ rotation.T) * scale + offset,
        direction=np.asarray(light.direction) @ rotation.T,
        across=np.asarray(light.across) @ rotation.T,
        radius=np.asarray(light.radius) * scale,
        width=np.asarray(light.width) * scale,
        height=np.asarray(light.height) * scale,
        length=np.asarray(light.length) * scale,
        cone=light.cone,
        softness=light.softness,
    )


def some_scene(kind: str, generator: Generator) -> tuple[Source, NDArray[Any], NDArray[Any]]:
    return some_light(kind, generator), generator.normal(size=(5, 3)), generator.normal(size=(5, 3))


@given(shape, seed)
def test_turning_and_moving_the_whole_scene_changes_nothing(kind: str, seed: int) -> None:
    generator = np.random.default_rng(seed)
    light, mark, normal = some_scene(kind, generator)
    rotation, offset = (
        directions.from_euler(generator.uniform(-180, 180, 3).tolist()),
        generator.normal(size=3) * 10,
    )
    there = moved(light, rotation, offset)
    turned_mark = mark @ rotation.T + offset
    for facing in (None, normal):
        before = marks.illuminance(light, mark, facing)
        after = marks.illuminance(there, turned_mark, None if facing is None else facing @ rotation.T)
        assert after == pytest.approx(before, rel=1e-6, abs=1e-9)
    assert marks.apparent_size(there, turned_mark) == pytest.approx(
        marks.apparent_size(light, mark), abs=1e-6
    )


@given(shape, seed, st.sampled_from([0.01, 0.3048, 100.0]))
def test_another_length_unit_changes_no_drift(kind: str, seed: int, scale: float) -> None:
    """One scene in other units: every level falls by the square of the scale, so that no ratio moves."""
    generator = np.random.default_rng(seed)
    light, mark, normal = some_scene(kind, generator)
    there = moved(light, np.eye(3), 0, scale)
    before, after = marks.illuminance(light, mark, normal), marks.illuminance(there, mark * scale, normal)
    assert after * scale**2 == pytest.approx(before, rel=1e-6, abs=1e-9)
    assert marks.apparent_size(there, mark * scale) == pytest.approx(
        marks.apparent_size(light, mark), rel=1e-6
    )


@given(shape, seed)
def test_one_stop_brighter_is_one_stop_at_the_mark(kind: str, seed: int) -> None:
    generator = np.random.default_rng(seed)
    light, mark = some_light(kind, generator), generator.normal(size=(5, 3))
    state = np.random.default_rng(seed)
    brighter = some_light(kind, state)
    brighter = Source(**{**vars(brighter), "level": np.asarray(light.level) * 2})
    dim, bright = marks.illuminance(light, mark), marks.illuminance(brighter, mark)
    assert bright == pytest.approx(2 * dim)


@given(shape, st.floats(50, 1000))
def test_doubling_a_great_distance_loses_two_stops(kind: str, distance: float) -> None:
    def at(metres: float) -> float:
        light = Source(
            kind,
            1.0,
            position=[(0, metres, 0)],
            direction=[(0, -1, 0)],
            radius=0.01,
            width=0.02,
            height=0.02,
            length=0.02,
        )
        return float(marks.illuminance(light, [(0, 0, 0)], [(0, 1, 0)])[0])

    assert levels.stops(at(2 * distance), at(distance)) == pytest.approx(-2, abs=2e-4)


@given(st.sampled_from(["sphere", "disk", "rect", "cylinder"]), seed, st.floats(-9, -3.3))
def test_far_away_every_light_is_a_point(kind: str, seed: int, magnitude: float) -> None:
    """Intensity x cos / d^2 is the limit of every closed form, whichever of the two is used; a cylinder's
    side comes nearer than its centre and so differs by the first power of its size."""
    generator = np.random.default_rng(seed)
    turn = directions.from_euler(generator.uniform(-180, 180, 3).tolist())
    incline = directions.from_euler(generator.uniform(-50, 50, 3).tolist())
    normal = turn @ directions.from_euler(generator.uniform(-50, 50, 3).tolist()) @ (0, -1, 0)
    size = 10**magnitude
    light = Source(
        kind,
        1.0,
        levels.INTENSITY,
        position=[turn @ (0, 1, 0)],
        direction=[turn @ incline @ (0, -1, 0)],
        across=[turn @ incline @ (1, 0, 0)],
        radius=size,
        width=size,
        height=size,
        length=size,
    )
    leaving = {
        "sphere": 1.0,
        "cylinder": math.sin(
            math.radians(directions.angle_between((incline @ (1, 0, 0)).tolist(), (0, 1, 0)))
        ),
    }.get(kind, (incline @ (0, 1, 0))[1])
    expected = leaving * max(float(normal @ (turn @ (0, 1, 0))), 0.0)
    tolerance = 3e-6 + (size if kind == "cylinder" else 0)
    assert marks.illuminance(light, [(0, 0, 0)], [normal])[0] == pytest.approx(expected, abs=tolerance)


def test_lights_without_width_are_lines() -> None:
    """A tube of no radius and a strip of no width still give their intensity; a line of 2 m seen from 1 m."""
    # Along a line of Lambertian cross-section: (1 / l) x the integral of cos^2 cos / d^2.
    ends = math.atan(1.0)
    expected = (ends + math.sin(2 * ends) / 2) / 2
    tube = Source(
        "cylinder", 1.0, levels.INTENSITY, position=[(0, 1, 0)], across=[(1, 0, 0)], radius=0.0, length=2.0
    )
    assert marks.illuminance(tube, [(0, 0, 0)])[0] == pytest.approx(expected, rel=1e-5)
    strip = Source(
        "rect",
        1.0,
        levels.INTENSITY,
        position=[(0, 1, 0)],
        direction=[(0, -1, 0)],
        across=[(1, 0, 0)],
        width=2.0,
        height=0.0,
    )
    assert marks.illuminance(strip, [(0, 0, 0)])[0] == pytest.approx(expected, rel=1e-5)
    dark = Source(
        "rect",
        levels.emitted(5, shape="rect", sizes=LightSizes(width=0.0)),
        position=[(0, 1, 0)],
        direction=[(0, -1, 0)],
        width=0.0,
    )
    assert marks.illuminance(dark, [(0, 0, 0)])[0] == 0


@given(st.sampled_from(["sphere", "disk", "rect", "cylinder"]), seed)
def test_a_luminance_an_intensity_and_a_relative_level_of_one_light_meet(kind: str, seed: int) -> None:
    generator = np.random.default_rng(seed)
    light, mark = some_light(kind, generator, count=1), generator.normal(size=(1, 3))
    sizes = {
        name: float(np.asarray(getattr(light, name))[0]) for name in ("radius", "width", "height", "length")
    }
    luminance = 120.0
    intensity, quantity = levels.photometric(luminance, "nit", shape=kind, sizes=LightSizes(**sizes))
    relative = levels.emitted(luminance, shape=kind, normalize=False, sizes=LightSizes(**sizes))
    found = [
        marks.illuminance(Source(**{**vars(light), "level": level, "quantity": kept}), mark)[0]
        for level, kept in ((luminance, levels.LUMINANCE), (intensity, quantity), (relative, levels.RELATIVE))
    ]
    assert found[0] == pytest.approx(found[1]) == pytest.approx(found[2])


@given(seed)
def test_a_cut_by_the_horizon_only_takes_away(seed: int) -> None:
    generator = np.random.default_rng(seed)
    for kind in SHAPES:
        light, mark = some_light(kind, generator), generator.normal(size=(5, 3))
        normal = generator.normal(size=(5, 3))
        lit = marks.illuminance(light, mark, normal)
        assert (lit >= 0).all()
        position = light.position
        assert position is not None
        towards = vectors(position) - mark
        # Both faces of a sheet of paper together never receive more than twice what the facing one does.
        back = marks.illuminance(light, mark, -normal)
        assert (lit + back <= 2.5 * marks.illuminance(light, mark, towards) + 1e-9).all()


@given(st.floats(0, 360), st.floats(-80, 80))
def test_a_distant_light_goes_with_the_cosine(azimuth: float, elevation: float) -> None:
    direction = [directions.from_azimuth_elevation(azimuth, elevation)]
    assume(abs(elevation) > 1)
    sun = Source("distant", 1000.0, levels.ILLUMINANCE, direction=direction)
    floor = marks.illuminance(sun, [(5, 6, 7)], [(0, 1, 0)])[0]
    assert floor == pytest.approx(1000 * max(math.sin(math.radians(elevation)), 0), rel=1e-9)
    assert marks.illuminance(sun, [(5, 6, 7)])[0] == 1000
    assert marks.apparent_size(sun, [(0, 0, 0)])[0] == 0.53
    parallel = Source("distant", 1000.0, levels.ILLUMINANCE, direction=direction, angle=0.0)
    assert marks.illuminance(parallel, [(0, 0, 0)], [(0, 1, 0)])[0] == pytest.approx(floor)


def test_half_a_sun_still_lights() -> None:
    """A disc that the horizon halves gives the light of a half disc: 4 / (3 pi) of its radius above it, times
    1/2."""
    sun = Source("distant", 1.0, direction=[(1, 0, 0)], angle=0.53)
    radius = math.sin(math.radians(0.265))
    assert marks.illuminance(sun, [(0, 0, 0)], [(0, 1, 0)])[0] == pytest.approx(
        radius * 2 / (3 * math.pi), rel=1e-5
    )


def test_an_environment_is_even() -> None:
    sky = Source("dome", [0.5, 1.0], mean=[2.0, 3.0])
    assert marks.illuminance(sky, [(0, 0, 0), (1, 1, 1)]) == pytest.approx([math.pi, 3 * math.pi])
    assert marks.apparent_size(sky, [(0, 0, 0)])[0] == 180
    assert np.isnan(marks.direction_at(sky, [(0, 0, 0)])).all()


def test_a_spot_fades_within_its_cone() -> None:
    spot = Source("spot", 100.0, position=[(0, 2, 0)], direction=[(0, -1, 0)], cone=30.0, softness=0.5)
    floor = [(math.tan(math.radians(off)) * 2, 0, 0) for off in (0, 14.9, 22.5, 30.1, 60)]
    found = marks.illuminance(spot, floor)
    squares = (np.asarray(floor) ** 2).sum(axis=1) + 4
    assert found == pytest.approx(100 / squares * (1, 1, 0.5, 0, 0))
    hard = Source("spot", 100.0, position=[(0, 2, 0)], direction=[(0, -1, 0)], cone=30.0)
    assert marks.illuminance(hard, floor) == pytest.approx(100 / squares * (1, 1, 1, 0, 0))


def test_cone_and_focus_as_usdlux() -> None:
    assert cone_share(-1.0, 180) == cone_share(0.3, math.nan) == 1
    assert cone_share(math.cos(math.radians(89)), 90, 0) == 1
    assert cone_share(1.0, 0, 0) == 1
    assert cone_share(math.cos(math.radians(10)), 40, 7) == pytest.approx(
        cone_share(math.cos(math.radians(10)), 40, 1)
    )
    assert focus_share(-0.5, 2) == 0.25
    assert focus_share(0.5, -3) == 1
    assert focus_share(0.5, 1, 0.5) == 0.75
    beam = Source("sphere", 1.0, position=[(0, 2, 0)], direction=[(0, -1, 0)], focus=3.0, radius=1e-3)
    plain = Source("sphere", 1.0, position=[(0, 2, 0)], radius=1e-3)
    aside = [(2, 0, 0)]
    assert marks.illuminance(beam, aside) == pytest.approx(marks.illuminance(plain, aside) * 0.5**1.5)


@pytest.mark.parametrize(
    "light",
    [
        Source("point", 1.0),
        Source("mesh", 1.0, position=[(0, 1, 0)]),
        Source("portal", 1.0, position=[(0, 1, 0)]),
        Source("point", 1.0, position=[(0, 0, 0)]),
        Source("point", math.nan, position=[(0, 1, 0)]),
        Source("point", 1.0, levels.LUMINANCE, position=[(0, 1, 0)]),
        Source("rect", 1.0, position=[(0, 1, 0)]),
        Source("rect", 1.0, levels.FLUX, position=[(0, 1, 0)], direction=[(0, -1, 0)]),
        Source("spot", 1.0, position=[(0, 1, 0)], cone=20.0),
        Source("distant", 1.0, levels.INTENSITY, direction=[(0, -1, 0)]),
        Source("environment", 1.0, levels.ILLUMINANCE),
        Source("cylinder", 1.0, position=[(0, 1, 0)]),
    ],
)
def test_what_is_not_known_is_nan(light: Source) -> None:
    assert np.isnan(marks.illuminance(light, [(0, 0, 0)])).all()


def test_nothing_is_known_where_the_sun_has_no_direction() -> None:
    sun = Source("distant", 1.0)
    assert np.isnan(marks.illuminance(sun, [(0, 0, 0)], [(0, 1, 0)])).all()
    assert np.isnan(marks.direction_at(sun, [(0, 0, 0)])).all()


def test_one_light_over_many_marks_and_many_lights_over_one_mark() -> None:
    one = Source("rect", 1.0, position=[(0, 3, 0)], direction=[(0, -1, 0)])
    many = Source("rect", [1.0, 1.0], position=[(0, 3, 0), (1, 3, 0)], direction=[(0, -1, 0)])
    assert marks.illuminance(one, [(0, 0, 0), (1, 0, 0)]).shape == (2,)
    assert marks.illuminance(many, [(0, 0, 0)]).shape == (2,)
    assert marks.illuminance(many, [(0, 0, 0)])[0] == marks.illuminance(one, [(0, 0, 0)])[0]
    with pytest.raises(ValueError, match="shape"):
        marks.illuminance(one, [(0, 0)])


def test_apparent_sizes() -> None:
    ball = Source("sphere", 1.0, position=[(0, 0, 2)], radius=1.0)
    assert marks.apparent_size(ball, [(0, 0, 0)])[0] == pytest.approx(60)
    assert marks.apparent_size(ball, [(0, 0, 1.5)])[0] == 360
    bare = Source("point", 1.0, position=[(0, 0, 2)])
    assert marks.apparent_size(bare, [(0, 0, 0)])[0] == 0
    bulb = Source("spot", 1.0, position=[(0, 0, 2)], radius=1.0)
    assert marks.apparent_size(bulb, [(0, 0, 0)])[0] == pytest.approx(60)
    # A disk on its axis is the base of a cone: 2 atan(r / d).
    disk = Source("disk", 1.0, position=[(0, 0, 2)], direction=[(0, 0, -1)], radius=1.0)
    assert marks.apparent_size(disk, [(0, 0, 0)])[0] == pytest.approx(2 * math.degrees(math.atan(0.5)))
    # One face of a cube from its centre is a sixth of the sky.
    face = Source("rect", 1.0, position=[(0, 0, 1)], direction=[(0, 0, -1)], width=2.0, height=2.0)
    assert marks.apparent_size(face, [(0, 0, 0)])[0] == pytest.approx(math.degrees(2 * math.acos(1 - 1 / 3)))
    assert math.isnan(marks.apparent_size(Source("mesh", 1.0, position=[(0, 0, 1)]), [(0, 0, 0)])[0])


def test_the_light_reaches_the_mark_from_its_place() -> None:
    lamp = Source("point", 1.0, position=[(0, 2, 0)])
    assert marks.direction_at(lamp, [(0, 0, 0)])[0] == pytest.approx((0, -1, 0))
    sun = Source("distant", 1.0, direction=[(0, -2, 0)])
    assert marks.direction_at(sun, [(0, 0, 0), (1, 1, 1)]) == pytest.approx(np.array([(0, -1, 0)] * 2))
