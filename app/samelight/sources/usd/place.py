"""Where a light is to stand and shine in the world, as a transform in the space of what is above it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pxr import Gf, Sdf, Usd, UsdGeom

from samelight.light.directions import Vector, normalised
from samelight.light.noise import first_largest
from samelight.light.rolling import Turned, across_at, axes_turned
from samelight.light.rows import cross, image, inverse, lengths, product, projection, unit
from samelight.sources.keyed import frames_of, value_at
from samelight.sources.usd.author import NoWayError
from samelight.sources.usd.domes import axes_of, pole_on_z
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.space import Placement, PrimTrack

Array = NDArray[np.float64]

AIM = ("position", "direction", "roll", "axis")
TURN = ("rotation", "matrix", "mirrored", "tilt", "roll")
_OPERATION = "xformOp:transform:samelightFix"


def aim(scene: Scene, prim: Any, wanted: Mapping[str, Any]) -> None:
    """Give a light the world position, direction, roll and axis that are asked for (metres, Y-up, degrees).

    Each may be animated. What is not asked for stays: its scale, its roll about the way it shines (it turns the shortest
    way), and its place or its aim. Where the light or anything above it moves, the transform is told at every frame that the capture looks at.
    Raises `NoWayError`.
    """

    def change(world: Array, placement: Placement, frame: float) -> Array:
        vectors = {
            name: _vector(value_at(value, frame, circle=name != "position"))
            for name, value in wanted.items()
            if name != "roll"
        }
        if "roll" in wanted:
            vectors["across"] = _rolled(placement, vectors.get("direction"), value_at(wanted["roll"], frame))
        changed = world.copy()
        changed[:3, :3] = product(world[:3, :3], _rotation(scene, placement, vectors))
        if "position" in vectors:
            changed[3, :3] = np.array(_to_stage(scene, vectors["position"])) / scene.space.metres
        return changed

    _write(scene, prim, change, wanted.values())


def turn(scene: Scene, prim: Any, wanted: Mapping[str, Any]) -> None:
    """Give a dome the turn about the vertical, or the whole matrix, that is asked for. Raises `NoWayError`."""
    on_z = pole_on_z(scene, prim)

    def change(world: Array, placement: Placement, frame: float) -> Array:
        axes = axes_of(placement, on_z)
        if axes is None:
            raise NoWayError("its transform leaves it no rotation")
        asked = _frame({name: value_at(value, frame) for name, value in wanted.items()})
        now = np.array([_to_stage(scene, axis) for axis in axes])
        then = np.array([_to_stage(scene, axis) for axis in asked])
        changed = world.copy()
        changed[:3, :3] = product(world[:3, :3], inverse(now), then)
        return changed

    _write(scene, prim, change, wanted.values())


def _vector(value: Any) -> Vector:
    sound = isinstance(value, list) and len(value) == 3 and all(isinstance(n, int | float) for n in value)
    if not sound:
        raise NoWayError("it is no vector; set it by hand")
    return float(value[0]), float(value[1]), float(value[2])


def _rolled(placement: Placement, direction: Vector | None, roll: Any) -> Vector:
    """Where the own +X lies of a light that points to a direction, by default its own, and has this roll."""
    direction = direction or placement.shines_to()
    if direction is None or not isinstance(roll, int | float):
        raise NoWayError("it has no roll; set it by hand")
    x, y, z = across_at(np.array([direction]), np.array([float(roll)]))[0].tolist()
    return x, y, z


def _frame(wanted: Mapping[str, Any]) -> tuple[Vector, Vector, Vector]:
    """World images of a dome's x, its pole and the centre of its texture."""
    matrix, angle = wanted.get("matrix"), wanted.get("rotation")
    if isinstance(matrix, list) and len(matrix) == 16:
        return _vector(matrix[0:3]), _vector(matrix[4:7]), _vector(matrix[8:11])
    if not isinstance(angle, int | float):
        raise NoWayError("its rotation is no single angle; set it by hand")
    tilt, roll = (float(wanted.get(name) or 0.0) for name in ("tilt", "roll"))
    east, pole, centre = (_vector(axis.tolist()) for axis in axes_turned(Turned(float(angle), tilt, roll)))
    return east, pole, centre


def _to_stage(scene: Scene, vector: Vector) -> Vector:
    """A Y-up vector in the axes of the stage."""
    x, y, z = vector
    return vector if scene.space.up_axis == UsdGeom.Tokens.y else (x, -z, y)


def _rotation(scene: Scene, placement: Placement, vectors: Mapping[str, Vector]) -> Array:
    """The rotation, for row vectors of the stage, that turns what a light has to what is asked for, and no more."""
    pairs: list[tuple[Vector, Vector]] = []
    if "direction" in vectors:
        now = placement.shines_to()
        if now is None:
            raise NoWayError("its transform scales it to nothing, so that it has no direction")
        pairs.append((now, vectors["direction"]))
    if "axis" in vectors:
        pairs.append((placement.x, vectors["axis"]))
    if "across" in vectors:
        if not pairs and (points := placement.shines_to()) is not None:
            pairs.append((points, points))
        pairs.append((placement.x, vectors["across"]))
    turned = np.eye(3)
    fixed: Array | None = None
    for now, then in pairs:
        here = image(turned.T, np.array(normalised(_to_stage(scene, now))))
        there = np.array(normalised(_to_stage(scene, then)))
        turned = product(turned, _between(here, there) if fixed is None else _about(fixed, here, there))
        fixed = there
    return turned


def _between(a: Array, b: Array) -> Array:
    """The smallest rotation, for row vectors, that turns one unit vector to another."""
    axis = cross(a, b)
    length, along = float(lengths(axis)), float(projection(a, b))
    if length < 1e-12:
        if along > 0:
            return np.eye(3)
        # Opposite: any way round is as short.
        return _turned(unit(cross(a, np.eye(3)[first_largest((-np.abs(a)).tolist())])), math.pi)
    return _turned(axis / length, math.atan2(length, along))


def _about(axis: Array, a: Array, b: Array) -> Array:
    """The rotation about an axis that brings one vector as near to another as it can."""
    a, b = a - projection(a, axis) * axis, b - projection(b, axis) * axis
    return _turned(axis, math.atan2(float(projection(cross(a, b), axis)), float(projection(a, b))))


def _turned(axis: Array, angle: float) -> Array:
    """The rotation about a unit axis, for row vectors (Rodrigues' formula)."""
    x, y, z = axis.tolist()
    across = np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])
    turned: Array = np.eye(3) + math.sin(angle) * across + (1.0 - math.cos(angle)) * product(across, across)
    return turned


def _write(
    scene: Scene, prim: Any, change: Callable[[Array, Placement, float], Array], asked: Iterable[Any]
) -> None:
    xformable = UsdGeom.Xformable(prim)
    track = scene.space.track(prim) if xformable else None
    if track is None:
        raise NoWayError("it has no transform that can be read")
    resets = xformable.GetResetXformStack()
    told: list[tuple[Any, Array]] = []
    for time in _times(scene, track, asked):
        # Not from the track: what is above may itself have been placed anew.
        cache = UsdGeom.XformCache(time)
        matrix = cache.GetLocalToWorldTransform(prim)
        above = Gf.Matrix4d(1.0) if resets else cache.GetParentToWorldTransform(prim)
        if not abs(above.GetDeterminant3()) > 1e-30:
            raise NoWayError("what is above it scales it to nothing")
        frame = 0.0 if time == Usd.TimeCode.EarliestTime() else float(time.GetValue())
        world = change(np.array(matrix), scene.space.placement(matrix), frame)
        told.append((time, product(world, np.array(above.GetInverse()))))
    operation = UsdGeom.XformOp(prim.CreateAttribute(_OPERATION, Sdf.ValueTypeNames.Matrix4d, custom=False))
    first = told[0][1]
    if all(np.allclose(local, first, rtol=1e-12, atol=1e-12) for _, local in told):
        operation.Set(Gf.Matrix4d(first.tolist()))
    else:
        for time, local in told:
            operation.Set(Gf.Matrix4d(local.tolist()), time)
    xformable.SetXformOpOrder([operation], resets)


def _times(scene: Scene, track: PrimTrack, asked: Iterable[Any]) -> list[Any]:
    """When a transform is to be told: once where all stands still, else at whatever frame one of them moves."""
    keys = frames_of(*asked)
    times = {float(time.GetValue()) for time in track.times()} | set(keys)
    if keys:
        times |= set(scene.clock.whole_frames(times))
    return [scene.clock.code(time) for time in sorted(times)] or [scene.clock.rest]
