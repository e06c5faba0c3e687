"""UsdLux domes into the environments of a sheet."""

from __future__ import annotations

import math
from typing import Any

from pxr import UsdGeom, UsdLux

from samelight.light.directions import Vector, turn_between
from samelight.sources.usd import attributes as table
from samelight.sources.usd.custom import merge, own_attributes
from samelight.sources.usd.lights import core_of, emission, keep, related, texture
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.space import Placement, unit
from samelight.sources.usd.values import authored_names, targets

_UPRIGHT = 1e-6
Axes = tuple[Vector, Vector, Vector]


def is_dome(prim: Any) -> bool:
    """Whether a prim is a DomeLight of either version."""
    return any(prim.IsA(getattr(UsdLux, name)) for name in table.DOME_TYPES)


def capture_dome(scene: Scene, prim: Any) -> dict[str, Any]:
    """One environment of a sheet: texture, turn, emission, portals, links and what is its own."""
    authored = authored_names(prim)
    dome: dict[str, Any] = {}
    texture(scene, prim, dome)
    keep(scene, prim, authored, [table.FORMAT], dome)
    emission(scene, prim, authored, dome)
    _turned(scene, prim, dome)
    portals = targets(prim, "portals")
    if portals:
        dome["portals"] = portals
        gone = [path for path in portals if not scene.stage.GetPrimAtPath(path)]
        if gone:
            scene.remarks.about(
                str(prim.GetPath()), f"its portals name what is not there: {', '.join(gone)}."
            )
    related(scene, prim, authored, dome)
    merge(dome, own_attributes(scene.attributes, prim, authored, core_of(prim), scene.space.metres))
    return dome


def _turned(scene: Scene, prim: Any, dome: dict[str, Any]) -> None:
    """Rotation about the vertical where the dome stands upright, its whole matrix otherwise.

    At rest a dome has its pole on its own +Y and the centre of its texture on +Z, on a Z-up stage too; only
    DomeLight_1 with its pole axis on Z starts from there turned by 90 degrees about X.
    """
    track = scene.space.track(prim)
    on_z = pole_on_z(scene, prim)

    def matrix(placement: Placement) -> list[float] | None:
        axes = axes_of(placement, on_z)
        return [number for axis in axes for number in (*axis, 0.0)] + [0.0, 0.0, 0.0, 1.0] if axes else None

    path = str(prim.GetPath())
    turned = track.over_time(matrix) if track else None
    if track is None or turned is None:
        scene.remarks.about(path, "its transform leaves it no rotation.")
        return
    keys = [key[1] for key in turned["keys"]] if isinstance(turned, dict) else [turned]
    if all(_upright(key) for key in keys):
        dome["rotation"] = track.over_time(_Turn(on_z))
        return
    dome["matrix"] = turned
    if _mirrored(keys[0]):
        dome["mirrored"] = True
        scene.remarks.about(path, "a scale of -1 mirrors its environment.")
    elif abs(keys[0][5]) < 1e-3:
        scene.remarks.about(
            path, "its pole lies on the horizon: a dome at rest has its pole on Y, on a Z-up stage too."
        )


class _Turn:
    """Degrees clockwise seen from above; each placement's turn counts on from the one before, past 360 too."""

    def __init__(self, on_z: bool) -> None:
        self._on_z = on_z
        self._last: float | None = None

    def __call__(self, placement: Placement) -> float | None:
        axes = axes_of(placement, self._on_z)
        if axes is None:
            return None
        x, _, z = axes[2]
        turn = round(-math.degrees(math.atan2(x, z)), 9)
        self._last = turn % 360.0 if self._last is None else self._last + turn_between(self._last, turn)
        return round(self._last, 9)


def pole_on_z(scene: Scene, prim: Any) -> bool:
    """Whether a dome starts with its pole on Z."""
    pole = scene.attributes.moment(prim, table.POLE.usd)
    return bool(pole == "Z" or (pole == "scene" and scene.space.up_axis == UsdGeom.Tokens.z))


def axes_of(placement: Placement, on_z: bool) -> Axes | None:
    """World images of the dome's x, its pole and the centre of its texture, as unit vectors."""
    a, b, c = placement.y
    images = (placement.x, placement.z, (-a, -b, -c)) if on_z else (placement.x, placement.y, placement.z)
    x, pole, centre = (unit(image) for image in images)
    return (x, pole, centre) if x and pole and centre else None


def _upright(matrix: list[float]) -> bool:
    x, pole, centre = matrix[0:3], matrix[4:7], matrix[8:11]
    off = (pole[0], pole[1] - 1.0, pole[2], centre[0] + x[2], centre[1], centre[2] - x[0])
    return max(map(abs, off)) <= _UPRIGHT


def _mirrored(matrix: list[float]) -> bool:
    (a, b, c), (d, e, f), (g, h, i) = matrix[0:3], matrix[4:7], matrix[8:11]
    return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g) < 0.0
