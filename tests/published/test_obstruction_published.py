"""How much of a light is hidden, against closed forms.

A half plane whose edge passes through the centre of a round light, as seen from a mark on its axis, hides half of what the
mark receives of it, by symmetry, at any distance; of a rectangle likewise. Of an even sky over a level surface a wall of
infinite height that stands over half the horizon leaves half (the form factor of a half space, Howell's catalog of
configuration factors, B-1); a wall that rises to an elevation e along an endless line leaves (1 + cos e) / 2 of the sky.
An edge at the offset d from the middle of a disk of radius r that is far away leaves the circular segment
(acos(d / r) - d / r sqrt(1 - d^2 / r^2)) / pi of it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from samelight.light.marks import Source
from samelight.light.mesh import mesh_of
from samelight.light.rows import cross, lengths, projection, unit
from samelight.light.solids import Solids
from samelight.light.toward import OF_A_LIGHT, OF_A_SKY, rays_to

MARK, UP = np.zeros(3), np.array([0.0, 0.0, 1.0])
HALF = 1e4


def wall(*corners: tuple[float, float, float]) -> tuple[Any, Any]:
    return np.array(corners), np.array([[0, 1, 2], [0, 2, 3]], np.int32)


def beyond(x: float, z: float = 1.0) -> tuple[Any, Any]:
    """A level half plane over the mark, at the height z, that covers everything whose x is less than this."""
    return wall((-HALF, -HALF, z), (x, -HALF, z), (x, HALF, z), (-HALF, HALF, z))


def seen(source: Source, *things: tuple[Any, Any], fast: bool) -> float:
    rays = rays_to(source, MARK, UP)
    assert rays is not None
    met = Solids.of(things, fast).first(MARK, rays.way)
    return float((rays.weight * (met < 0)).sum() / rays.weight.sum())


LIGHTS = {
    "disk": Source("disk", 1.0, position=[(0, 0, 2)], direction=[(0, 0, -1)], radius=0.5),
    "sphere": Source("sphere", 1.0, position=[(0, 0, 2)], radius=0.5),
    "rect": Source("rect", 1.0, position=[(0, 0, 2)], direction=[(0, 0, -1)], width=1.0, height=0.4),
    "cylinder": Source("cylinder", 1.0, position=[(0, 0, 2)], across=[(1, 0, 0)], radius=0.1, length=1.0),
    "distant": Source("distant", 1.0, direction=[(0, 0, -1)], angle=2.0),
    "sky": Source("environment", 1.0),
}
HELD = 0.03
"""What 64 rays hold: two of them."""


@pytest.mark.parametrize("fast", [True, False])
@pytest.mark.parametrize("name", LIGHTS)
def test_an_edge_through_the_middle_leaves_half(name: str, fast: bool) -> None:
    assert seen(LIGHTS[name], beyond(0.0), fast=fast) == pytest.approx(0.5, abs=HELD)


@pytest.mark.parametrize("offset", [-0.8, -0.5, -0.2, 0.2, 0.5, 0.8])
def test_the_segment_of_a_far_disk(offset: float) -> None:
    far = Source("disk", 1.0, position=[(0, 0, 200)], direction=[(0, 0, -1)], radius=1.0)
    left = (math.acos(offset) - offset * math.sqrt(1.0 - offset * offset)) / math.pi
    assert seen(far, beyond(offset, 199.999), fast=False) == pytest.approx(left, abs=HELD)


@pytest.mark.parametrize("elevation", [10.0, 30.0, 45.0, 60.0, 80.0])
def test_a_wall_along_the_horizon_takes_its_share_of_the_sky(elevation: float) -> None:
    top = math.tan(math.radians(elevation))
    side = wall((-1, -HALF, 0), (-1, HALF, 0), (-1, HALF, top), (-1, -HALF, top))
    left = (1.0 + math.cos(math.radians(elevation))) / 2.0
    assert seen(LIGHTS["sky"], side, fast=False) == pytest.approx(left, abs=0.01)


def test_the_rays_are_as_many_as_said_and_always_the_same() -> None:
    for name, light in LIGHTS.items():
        first, again = rays_to(light, MARK, UP), rays_to(light, MARK, UP)
        assert first is not None and again is not None
        assert len(first.way) == (OF_A_SKY if name == "sky" else OF_A_LIGHT)
        assert (first.way == again.way).all()


@pytest.mark.parametrize("seed", range(4))
def test_the_rays_to_a_mesh_add_up_to_its_closed_form(seed: int) -> None:
    """The mean of their weights over the area that faces the mark is what a light of that geometry gives: the form factors of
    its triangles, wherever it stands and however it is turned. All of it stands above the mark's horizon."""
    generator = np.random.default_rng(seed)
    corners = generator.uniform(-0.5, 0.5, (12, 3))
    text = f"{' '.join(map(str, corners.ravel()))}; {' '.join(map(str, range(12)))}"
    mesh = mesh_of(text)
    assert mesh is not None
    direction = unit(generator.normal(size=(1, 3)))
    across = unit(cross(direction, generator.normal(size=(1, 3))))
    place = np.array([[0.4, -0.3, 5.0]])
    source = Source(
        "mesh",
        1.0,
        position=place,
        direction=direction,
        across=across,
        meshes=np.array([mesh], dtype=np.object_),
    )
    rays = rays_to(source, MARK, UP)
    view = float(mesh.view(place, UP[None], direction, across)[0])
    if rays is None:
        assert view == 0.0
        return
    world = [
        place
        + sum(
            mesh.corners[:, corner, axis, None] * way
            for axis, way in enumerate((across, cross(across, direction), -direction))
        )
        for corner in range(3)
    ]
    faces = cross(world[1] - world[0], world[2] - world[0])
    area = float((lengths(faces) / 2.0)[projection(faces, world[0]) < 0.0].sum())
    assert rays.way.shape == (OF_A_LIGHT, 3)
    assert rays.weight.mean() * area == pytest.approx(view, rel=0.05)
