"""Sizes, places and directions of lights in the world."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from pxr import UsdGeom

from samelight.light.directions import Vector
from samelight.sources.numbers import finite, tidy
from samelight.sources.over_time import over_time
from samelight.sources.rolls import Rolled
from samelight.sources.usd.attributes import SHAPE, Conversion
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.space import Placement, PrimTrack, even, unit
from samelight.sources.usd.values import AttributeSource

AIMED = frozenset({"distant", "rect", "disk", "portal", "mesh"})
"""Shapes that are turned one way without any shaping."""

ROLLED = frozenset({"rect", "portal", "mesh"})
"""Shapes that look otherwise when they are rolled about the way they shine, without any profile."""

_AREAL = frozenset({"rect", "disk", "portal", "sphere", "cylinder"})


def sizes(scene: Scene, prim: Any, track: PrimTrack, light: dict[str, Any]) -> None:
    """Every size of a light in the world, in metres; one that is scaled unevenly keeps its area or volume."""
    path, shape = str(prim.GetPath()), light["type"]
    for row in SHAPE:
        source = scene.attributes.source(prim, row.usd) if row.measure is Conversion.SIZE else None
        if source is None:
            continue
        by, axes = stretch(shape, row.sheet)
        size = _size(scene, source, track, by)
        if size is not None and finite(size):
            light[row.sheet] = size
        scales = track.resting.scales
        if not even(*(scales[axis] for axis in axes)):
            scene.remarks.about(
                path, f"its scale is not uniform; its {row.sheet} is that of the like shape of equal size."
            )
    if shape in _AREAL and track.resting.skewed:
        scene.remarks.about(path, "its transform shears it; its sizes are those along its axes.")


Stretch = Callable[[Vector], float]


def _size(scene: Scene, source: AttributeSource, track: PrimTrack, by: Stretch) -> Any:
    """A size times what the transform makes of it, either of which may move."""
    constant = None if source.samples else source.at(scene.clock.rest)

    def at(time: Any) -> float | None:
        own = source.at(time) if source.samples else constant
        return None if own is None else tidy(own * by(track.at(time).scales) * scene.space.metres)

    # A product of two straight lines is none.
    both = bool(source.samples and track.motion.samples)
    return over_time(
        scene.clock,
        {*source.samples, *track.motion.samples},
        at,
        linear=True,
        every_frame=not scene.clock.held and (source.splined or both or track.motion.turns),
    )


def stretch(shape: str, size: str) -> tuple[Stretch, tuple[int, ...]]:
    """By how much a transform stretches a size, from the world lengths of the axes; the axes that must agree."""
    match shape, size:
        case "sphere", _:
            return lambda s: math.cbrt(s[0] * s[1] * s[2]), (0, 1, 2)
        case "cylinder", "radius":
            return lambda s: math.sqrt(s[1] * s[2]), (1, 2)
        case _, "radius":
            return lambda s: math.sqrt(s[0] * s[1]), (0, 1)
        case _, "height":
            return lambda s: s[1], (1,)
        case _:
            return lambda s: s[0], (0,)


def placed(scene: Scene, prim: Any, track: PrimTrack, light: dict[str, Any], *, aimed: bool) -> None:
    """Position, direction where the light is aimed, its roll where that shows, and for a cylinder the axis it lies along."""
    path = str(prim.GetPath())
    if not UsdGeom.Xformable(prim):
        scene.remarks.about(path, "its type is unknown to this USD, so that its place is not known.")
        return
    if light["type"] != "distant":
        light["position"] = track.over_time(stands_at)
    if aimed:
        direction = track.over_time(shines_to, circle=True)
        if direction is None:
            scene.remarks.about(path, "its transform scales it to nothing, so that it has no direction.")
        else:
            light["direction"] = direction
            if light["type"] in ROLLED or "ies" in light:
                light["roll"] = track.over_time(Rolled(shines_to, lies_along))
    if light["type"] == "cylinder":
        axis = track.over_time(lies_along, circle=True)
        if axis is not None:
            light["axis"] = axis


def stands_at(placement: Placement) -> list[float]:
    """A place as a list."""
    return list(placement.at)


def shines_to(placement: Placement) -> list[float] | None:
    """Where a light shines to or a camera looks, as a list; None where it has no direction."""
    direction = placement.shines_to()
    return list(direction) if direction else None


def lies_along(placement: Placement) -> list[float] | None:
    """Where a light's own +X lies, as a list; None where it has none."""
    axis = unit(placement.x)
    return list(axis) if axis else None
