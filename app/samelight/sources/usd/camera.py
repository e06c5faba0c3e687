"""The camera of a shot, and the marks: prims whose place matters, such as a face."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pxr import UsdGeom

from samelight.sheets.names import as_name
from samelight.sources.numbers import tidy
from samelight.sources.over_time import over_time
from samelight.sources.rolls import Rolled
from samelight.sources.usd.custom import MARK
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.shapes import lies_along, shines_to, stands_at
from samelight.sources.usd.space import Placement, unit
from samelight.sources.usd.values import AttributeSource, authored_names

_LONGEST_LENS = 2000.0
_BESIDE = (
    ("vertical_aperture_mm", "verticalAperture"),
    ("horizontal_offset_mm", "horizontalApertureOffset"),
    ("vertical_offset_mm", "verticalApertureOffset"),
)
_SHUTTER = (("shutter_open", "shutter:open"), ("shutter_close", "shutter:close"))
"""Frames before and after the one that is exposed."""


def capture_camera(scene: Scene, prim: Any) -> dict[str, Any]:
    """Position, aim, lens and whether the camera moves.

    UsdGeomCamera counts focal length and aperture in tenths of a scene unit, which is millimetres in a scene of
    centimetres.
    """
    camera: dict[str, Any] = {}
    track = scene.space.track(prim)
    if track is not None:
        camera["position"] = track.over_time(stands_at)
        camera["direction"] = track.over_time(shines_to, circle=True)
        camera["roll"] = track.over_time(Rolled(shines_to, lies_along))
        pose = track.over_time(lambda placement: [*placement.at, *placement.x, *placement.y])
        camera["moves"] = isinstance(pose, dict)
    focal, aperture = (scene.attributes.source(prim, name) for name in ("focalLength", "horizontalAperture"))
    if focal is None or aperture is None:
        return camera
    tenth, authored = scene.space.metres * 1000.0 / 10.0, authored_names(prim)
    for name, source in (("focal_length_mm", focal), ("horizontal_aperture_mm", aperture)):
        camera[name] = _sampled(scene, [source], lambda values: tidy(values[0] * tenth))
    for name, attribute in _BESIDE:
        beside = scene.attributes.source(prim, attribute)
        # The schema's own height of 15.29 tenths of a unit belongs to no width that somebody wrote.
        if beside is not None and attribute in authored:
            camera[name] = _sampled(scene, [beside], lambda values: tidy(values[0] * tenth))
    for name, attribute in _SHUTTER:
        if attribute in authored:
            camera[name] = scene.attributes.moment(prim, attribute)
    if scene.attributes.moment(prim, "projection") == UsdGeom.Tokens.perspective:
        camera["fov"] = _sampled(scene, [focal, aperture], _field_of_view)
    else:
        camera["projection"] = "orthographic"
    length = camera["focal_length_mm"]
    if isinstance(length, float) and length > _LONGEST_LENS:
        scene.remarks.about(
            str(prim.GetPath()),
            f"its focal length reads as {length:g} mm, since USD counts it in tenths of a scene unit.",
        )
    return {name: value for name, value in camera.items() if value is not None}


def _field_of_view(values: Sequence[float]) -> float | None:
    """Horizontal, degrees, of focal length and aperture in equal units."""
    return tidy(math.degrees(2.0 * math.atan2(values[1], 2.0 * values[0]))) if values[0] > 0 else None


def _sampled(scene: Scene, sources: Sequence[AttributeSource], read: Any) -> Any:
    def at(time: Any) -> Any:
        values = [source.at(time) for source in sources]
        return None if None in values else read(values)

    samples = {time for source in sources for time in source.samples}
    uneven = len([source for source in sources if source.samples]) > 1 or any(
        source.splined for source in sources
    )
    return over_time(scene.clock, samples, at, linear=True, every_frame=uneven)


def mark_name(prim: Any) -> str | None:
    """The name that a prim's own `samelight:mark` gives it as a mark; None for a prim that is none."""
    attribute = prim.GetAttribute(MARK)
    value = attribute.Get() if attribute else None
    if value is True:
        return str(prim.GetName())
    return as_name(value) if isinstance(value, str) and value else None


def capture_mark(scene: Scene, prim: Any) -> dict[str, Any] | None:
    """The place of a prim, and its own +Z in the world as the normal of what stands there."""
    track = scene.space.track(prim)
    if track is None:
        return None
    mark: dict[str, Any] = {"position": track.over_time(stands_at)}
    normal = track.over_time(_faces_to, circle=True)
    if normal is not None:
        mark["normal"] = normal
    return mark


def _faces_to(placement: Placement) -> list[float] | None:
    normal = unit(placement.z)
    return list(normal) if normal else None
