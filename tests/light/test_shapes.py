"""Every closed form against a plain sum over the surface of the light, and against the limits that geometry
knows."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.random import Generator
from numpy.typing import NDArray

from samelight.light import cylinder, shapes, solid_angles
from samelight.light.marks import Source, illuminance
from samelight.light.shaping import angle_of
from thoroughness import examples

seed = st.integers(0, 2**32 - 1)


def unit_vector(generator: Generator) -> NDArray[Any]:
    vector = generator.normal(size=3)
    return vector / np.linalg.norm(vector)


def square_to(generator: Generator, axis: NDArray[Any]) -> NDArray[Any]:
    across = np.cross(axis, unit_vector(generator))
    square: NDArray[Any] = across / np.linalg.norm(across)
    return square


def gauss(count: int, low: float, high: float) -> tuple[NDArray[Any], NDArray[Any]]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return (low + high) / 2 + (high - low) / 2 * nodes, (high - low) / 2 * weights


def summed(
    points: NDArray[Any], outwards: NDArray[Any], areas: NDArray[Any], normal: NDArray[Any]
) -> tuple[float, ...]:
    """Projected and plain solid angle of a surface given as points (n, 3) with their normals and areas."""
    squared = (points**2).sum(axis=1)
    distance = np.sqrt(squared)
    leaving = np.maximum(-(points * outwards).sum(axis=1) / distance, 0)
    arriving = np.maximum(points @ normal / distance, 0)
    return (arriving * leaving / squared * areas).sum(), (leaving / squared * areas).sum()


def row(value: Any) -> NDArray[Any]:
    return np.array([value], dtype=float)


def scene(generator: Generator) -> tuple[NDArray[Any], ...]:
    centre = unit_vector(generator) * generator.uniform(1.5, 5)
    return centre, unit_vector(generator), unit_vector(generator)


@given(seed)
@settings(max_examples=examples(60))
def test_a_rectangle_is_the_sum_of_its_parts(seed: int) -> None:
    generator = np.random.default_rng(seed)
    centre, normal, direction = scene(generator)
    assume(abs(centre @ direction) > 0.2)
    across = square_to(generator, direction)
    width, height = generator.uniform(0.2, 2, 2)
    x, x_weight = gauss(120, -width / 2, width / 2)
    y, y_weight = gauss(120, -height / 2, height / 2)
    points = centre + x[:, None, None] * across + y[None, :, None] * np.cross(across, direction)
    areas = np.outer(x_weight, y_weight).ravel()
    expected, solid = summed(points.reshape(-1, 3), direction, areas, normal)
    lamp = {"width": row(width), "height": row(height), "direction": row(direction), "across": row(across)}
    assert shapes.rect_view(row(centre), row(normal), **lamp)[0] == pytest.approx(expected, abs=3e-4)
    assert solid_angles.rect_solid_angle(row(centre), **lamp)[0] == pytest.approx(solid, abs=1e-9)
    facing = row(centre / np.linalg.norm(centre))
    whole, _ = summed(points.reshape(-1, 3), direction, areas, facing[0])
    if np.all(points @ facing[0] > 0):
        assert shapes.rect_view(row(centre), facing, **lamp)[0] == pytest.approx(whole, rel=1e-7, abs=1e-12)


@given(seed)
@settings(max_examples=examples(60))
def test_a_disk_is_the_sum_of_its_parts(seed: int) -> None:
    generator = np.random.default_rng(seed)
    centre, normal, direction = scene(generator)
    assume(abs(centre @ direction) > 0.2)
    across = square_to(generator, direction)
    radius = generator.uniform(0.1, 1)
    ring, ring_weight = gauss(80, 0, radius)
    turn = np.linspace(0, 2 * math.pi, 240, endpoint=False)
    circle = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * np.cross(direction, across)
    points = centre + ring[:, None, None] * circle
    areas = np.repeat(ring * ring_weight * 2 * math.pi / 240, 240)
    expected, solid = summed(points.reshape(-1, 3), direction, areas, normal)
    lamp = {"radius": row(radius), "direction": row(direction)}
    assert shapes.disk_view(row(centre), row(normal), **lamp)[0] == pytest.approx(expected, abs=3e-4)
    assert solid_angles.disk_solid_angle(row(centre), **lamp)[0] == pytest.approx(solid, abs=1e-6)
    facing = row(centre / np.linalg.norm(centre))
    whole, _ = summed(points.reshape(-1, 3), direction, areas, facing[0])
    if np.all(points @ facing[0] > 0):
        assert shapes.disk_view(row(centre), facing, **lamp)[0] == pytest.approx(whole, rel=1e-7, abs=1e-12)


@given(seed)
@settings(max_examples=examples(60))
def test_a_sphere_is_the_sum_of_its_cap(seed: int) -> None:
    generator = np.random.default_rng(seed)
    centre, normal, _ = scene(generator)
    distance = np.linalg.norm(centre)
    radius = generator.uniform(0.02, 0.98) * distance
    towards = centre / distance
    across = square_to(generator, towards)
    cosine, weight = gauss(200, math.sqrt(1 - (radius / distance) ** 2), 1)
    turn = np.linspace(0, 2 * math.pi, 400, endpoint=False)
    circle = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * np.cross(towards, across)
    rays = cosine[:, None, None] * towards + np.sqrt(1 - cosine**2)[:, None, None] * circle
    expected = (np.maximum(rays @ normal, 0) * weight[:, None]).sum() * 2 * math.pi / 400
    assert shapes.sphere_view(row(centre), row(normal), radius=row(radius))[0] == pytest.approx(
        expected, abs=1e-4
    )
    assert solid_angles.sphere_solid_angle(row(distance), row(radius))[0] == pytest.approx(
        weight.sum() * 2 * math.pi
    )


@given(seed)
@settings(max_examples=examples(60))
def test_a_cylinder_is_the_sum_of_its_side(seed: int) -> None:
    generator = np.random.default_rng(seed)
    centre, normal, axis = scene(generator)
    off_axis = centre - (centre @ axis) * axis
    distance = np.linalg.norm(off_axis)
    radius, length = distance / generator.uniform(1.3, 8), generator.uniform(0.1, 5)
    first = -off_axis / distance
    half = math.acos(radius / distance)
    turn, turn_weight = gauss(160, -half, half)
    along, along_weight = gauss(160, -length / 2, length / 2)
    outwards = np.cos(turn)[:, None] * first + np.sin(turn)[:, None] * np.cross(axis, first)
    points = (centre + radius * outwards)[:, None, :] + along[None, :, None] * axis
    areas = radius * np.outer(turn_weight, along_weight).ravel()
    normals = np.broadcast_to(outwards[:, None, :], points.shape).reshape(-1, 3)
    expected, solid = summed(points.reshape(-1, 3), normals, areas, normal)
    lamp = {"radius": row(radius), "length": row(length), "axis": row(axis)}
    assert cylinder.cylinder_view(row(centre), row(normal), **lamp)[0] == pytest.approx(expected, abs=4e-3)
    assert cylinder.cylinder_solid_angle(row(centre), **lamp)[0] == pytest.approx(solid, rel=1e-4)
    facing = centre / np.linalg.norm(centre)
    if np.all(points @ facing > 0):
        whole, _ = summed(points.reshape(-1, 3), normals, areas, facing)
        assert cylinder.cylinder_view(row(centre), row(facing), **lamp)[0] == pytest.approx(whole, rel=1e-4)


@given(seed)
def test_a_disk_and_the_square_around_it(seed: int) -> None:
    """A disk shows more than its inscribed square and less than its circumscribed one, whatever the horizon
    cuts."""
    generator = np.random.default_rng(seed)
    centre, normal, direction = scene(generator)
    across = square_to(generator, direction)
    radius = generator.uniform(0.1, 1)
    disk = shapes.disk_view(row(centre), row(normal), radius=row(radius), direction=row(direction))[0]
    square = [
        shapes.rect_view(
            row(centre),
            row(normal),
            width=row(side),
            height=row(side),
            direction=row(direction),
            across=row(across),
        )[0]
        for side in (radius * math.sqrt(2), radius * 2)
    ]
    assert square[0] - 1e-12 <= disk <= square[1] + 1e-12


@given(st.floats(-1, 1), st.floats(0, 1))
def test_a_patch_of_sky_and_the_rest_of_it(cosine: float, sine: float) -> None:
    """A cap and its mirror image below the horizon differ by pi sine^2 cosine, as the cut parts cancel."""
    above = shapes.cap_view(np.array(cosine), np.array(sine))
    below = shapes.cap_view(np.array(-cosine), np.array(sine))
    assert above - below == pytest.approx(math.pi * sine**2 * cosine, abs=1e-9)
    assert 0 <= above <= math.pi + 1e-12


def test_a_hemisphere_of_light_fills_half_where_the_surface_stands_upright() -> None:
    assert shapes.cap_view(np.array(0.0), np.array(1.0)) == pytest.approx(math.pi / 2)
    assert shapes.cap_view(np.array(1.0), np.array(1.0)) == pytest.approx(math.pi)


def test_a_huge_rectangle_close_by_is_a_hemisphere() -> None:
    huge = {"width": row(1e5), "height": row(1e5), "direction": row((0, 0, -1)), "across": row((1, 0, 0))}
    overhead = shapes.rect_view(row((0, 0, 1)), row((0, 0, 1)), **huge)[0]
    upright = shapes.rect_view(row((0, 0, 1)), row((1, 0, 0)), **huge)[0]
    assert overhead == pytest.approx(math.pi, rel=1e-6)
    assert upright == pytest.approx(math.pi / 2, rel=1e-4)
    assert solid_angles.rect_solid_angle(row((0, 0, 1)), **huge)[0] == pytest.approx(2 * math.pi, rel=1e-4)


def test_behind_a_light_and_inside_it_is_dark() -> None:
    behind = {"direction": row((0, 0, 1))}
    assert shapes.disk_view(row((0, 0, 1)), row((0, 0, 1)), radius=row(1), **behind)[0] == 0
    assert solid_angles.disk_solid_angle(row((0, 0, 1)), radius=row(1), **behind)[0] == 0
    flat = {"width": row(1), "height": row(1), "across": row((1, 0, 0)), **behind}
    assert shapes.rect_view(row((0, 0, 1)), row((0, 0, 1)), **flat)[0] == 0
    assert solid_angles.rect_solid_angle(row((0, 0, 1)), **flat)[0] == 0
    assert shapes.sphere_view(row((0, 0, 1)), row((0, 0, 1)), radius=row(2))[0] == 0
    pipe = {"radius": row(2), "length": row(9), "axis": row((1, 0, 0))}
    assert cylinder.cylinder_view(row((0, 0, 1)), row((0, 0, 1)), **pipe)[0] == 0
    assert cylinder.cylinder_solid_angle(row((0, 0, 1)), **pipe)[0] == 0


def test_a_long_thin_tube_falls_off_with_distance_not_its_square() -> None:
    def view(distance: int) -> float:
        pipe = {"radius": row(0.01), "length": row(1000), "axis": row((1, 0, 0))}
        return float(cylinder.cylinder_view(row((0, 0, distance)), row((0, 0, 1)), **pipe)[0])

    assert view(1) / view(2) == pytest.approx(2, rel=1e-3)


def test_what_is_unknown_stays_unknown() -> None:
    nowhere = row((math.nan, 0, 1))
    up, one = row((0, 0, 1)), row(1)
    assert math.isnan(shapes.disk_view(nowhere, up, radius=one, direction=-up)[0])
    assert math.isnan(shapes.sphere_view(nowhere, up, radius=one)[0])
    flat = {"width": one, "height": one, "direction": -up, "across": row((1, 0, 0))}
    assert math.isnan(shapes.rect_view(nowhere, up, **flat)[0])
    assert math.isnan(solid_angles.rect_solid_angle(nowhere, **flat)[0])
    pipe = {"radius": one, "length": one, "axis": row((1, 0, 0))}
    assert math.isnan(cylinder.cylinder_view(nowhere, up, **pipe)[0])
    assert math.isnan(cylinder.cylinder_solid_angle(nowhere, **pipe)[0])
    leaning = row((math.nan, 0, 1))
    assert math.isnan(shapes.sphere_view(row((0, 0, 3)), leaning, radius=one)[0])
    assert math.isnan(cylinder.cylinder_view(row((0, 0, 3)), leaning, **pipe)[0])


def test_an_angle_by_products_alone_is_that_of_the_c_library() -> None:
    cosines = np.linspace(-1.0, 1.0, 2001)
    exact = [math.degrees(math.acos(cosine)) for cosine in cosines.tolist()]
    assert np.abs(angle_of(cosines) - exact).max() < 2e-6


BOX = Source(
    "rect",
    1.0,
    position=[(0, 0, 2)],
    direction=[(0, 0, -1)],
    width=1.2,
    height=1.2,
    cone=25.0,
    across=[(1, 0, 0)],
)


@pytest.mark.parametrize(("aside", "expected"), [(0.0, 1.0), (0.55, None), (1.5, None), (1.6, 0.0)])
def test_a_box_passes_what_of_it_lies_inside_the_cone(aside: float, expected: float | None) -> None:
    """The part of a rectangle inside a circle of directions, by counting 1,000 x 1,000 points of it."""
    mark, up = [(aside, 0.0, 0.0)], [(0.0, 0.0, 1.0)]
    found = float(illuminance(BOX, mark, up)[0])
    x, y = np.meshgrid(*((np.arange(1000) + 0.5) / 1000 * 1.2 - 0.6,) * 2)
    x = x - aside
    squared = x**2 + y**2 + 4.0
    inside = np.sqrt(x**2 + y**2) <= 2.0 * math.tan(math.radians(25.0))
    counted = float((4.0 / squared**2 * inside).mean())
    assert found == pytest.approx(counted, rel=2e-3, abs=1e-12)
    if expected == 0.0:
        assert found == 0.0


@pytest.mark.parametrize("angle", [150.0, 180.0, 200.0, 300.0, 360.0])
@pytest.mark.parametrize("tilt", [0.0, 50.0, 120.0, 180.0])
def test_a_distant_light_of_any_width_by_summing_its_sky(angle: float, tilt: float) -> None:
    """Even radiance over a disc of sky as wide as that, which may be more than half of all.

    Its level is what both sides of a surface that faces it receive together, as its size factor counts it.
    """
    source = Source("distant", 10.0, direction=[(0, -1, 0)], angle=angle)
    normal = [(math.sin(math.radians(tilt)), math.cos(math.radians(tilt)), 0.0)]
    polar, turn = np.meshgrid(
        (np.arange(600) + 0.5) / 600 * math.radians(angle / 2), np.arange(720) / 720 * 2 * np.pi
    )
    cosine = np.sin(polar) * np.cos(turn) * normal[0][0] + np.cos(polar) * normal[0][1]
    whole = (np.abs(np.cos(polar)) * np.sin(polar)).sum()
    summed = 10.0 * (np.maximum(cosine, 0.0) * np.sin(polar)).sum() / whole
    assert float(illuminance(source, [(0, 0, 0)], normal)[0]) == pytest.approx(summed, rel=2e-3, abs=1e-6)


def test_a_cylinder_far_away_is_as_exact_by_few_points() -> None:
    """From 2.5 radii off its axis 16 points stand for 32 where no horizon cuts it: within a ten-millionth. Nearer, and where it is cut, there are as many as before; what is wholly below the horizon is dark."""
    generator = np.random.default_rng(3)
    far, length = 10.0 ** generator.uniform(math.log10(2.5), 3, 400), 10.0 ** generator.uniform(-2, 3, 400)
    centre = np.stack([generator.uniform(-2, 2, 400) * length, np.zeros(400), far], axis=1)
    tube = {"radius": np.ones(400), "length": length, "axis": np.tile((1.0, 0.0, 0.0), (400, 1))}
    tilt = 0.9 * generator.uniform(-1, 1, 400) * (far - 1) / (np.abs(centre[:, 0]) + length)
    normal = np.stack([tilt, generator.uniform(-0.1, 0.1, 400), np.ones(400)], axis=1)
    normal /= np.sqrt((normal * normal).sum(axis=1))[:, None]
    exact = fine(centre, normal, length)
    found = cylinder.cylinder_view(centre, normal, **tube)
    off = np.abs(found / exact - 1.0)
    assert off.max() < 1e-7
    assert (cylinder.cylinder_view(centre, -normal, **tube) == 0.0).all()
    seen = cylinder.cylinder_solid_angle(centre, **tube)
    assert np.abs(seen / fine(centre, None, length) - 1.0).max() < 1e-7


def fine(centre: NDArray[Any], normal: NDArray[Any] | None, length: NDArray[Any]) -> NDArray[Any]:
    """The view of tubes of radius 1 along +X, or their solid angle, line by line of 300 around the lit arc."""
    half = np.arccos(1.0 / centre[:, 2])
    total = np.zeros(len(centre))
    for turn, weight in zip(*gauss(300, -1.0, 1.0), strict=True):
        out = np.stack([0 * half, np.sin(turn * half), -np.cos(turn * half)], axis=1)
        line = centre + out
        near = np.hypot(line[:, 1], line[:, 2])
        facing = -(line * out).sum(axis=1)
        low, high = line[:, 0] - length / 2, line[:, 0] + length / 2
        if normal is None:
            part = [z / (near**2 * np.hypot(near, z)) for z in (low, high)]
        else:
            rise = normal[:, 1] * line[:, 1] + normal[:, 2] * line[:, 2]
            part = [
                rise * (z / (2 * near**2 * (near**2 + z**2)) + np.arctan(z / near) / (2 * near**3))
                - normal[:, 0] / (2 * (near**2 + z**2))
                for z in (low, high)
            ]
        total += weight * half * facing * (part[1] - part[0])
    return total
