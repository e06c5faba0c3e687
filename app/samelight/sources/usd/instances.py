"""Lights below a point instancer: where each of their instances stands."""

from __future__ import annotations

import hashlib
from typing import Any

from pxr import UsdGeom

from samelight.light.instances import MOST, instances_text
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.shapes import lies_along, shines_to
from samelight.sources.usd.space import Placement, PrimMotion, PrimTrack

_EVEN = 1e-4


def instancer_of(prim: Any) -> tuple[Any, Any] | None:
    """The point instancer that a prim stands below, and the root of the prototype that it is part of, None where it is of none;
    None where it stands below no instancer."""
    above = prim.GetParent()
    while above and not above.IsPseudoRoot():
        if above.IsA(UsdGeom.PointInstancer):
            for path in UsdGeom.PointInstancer(above).GetPrototypesRel().GetForwardedTargets():
                if prim.GetPath().HasPrefix(path):
                    return above, path
            return above, None
        above = above.GetParent()
    return None


def instance_track(scene: Scene, prim: Any, light: dict[str, Any]) -> PrimTrack | None:
    """The placements of a light below a point instancer, as its first instance has them; None where it has none that can be
    told.

    The light gets `instances`, their hash and their places.
    """
    found = instancer_of(prim)
    if found is None:
        return None
    placements = _placements(scene, prim, *found)
    path = str(prim.GetPath())
    if placements is None:
        scene.remarks.about(
            path, "where its instances stand cannot be told; it is taken once, where its model stands."
        )
        return None
    if not placements:
        light["visible"] = False
        scene.remarks.about(path, "it is the model of a point instancer that has no instance of it.")
        return None
    if len(placements) > 1:
        text = instances_text([(one.at, shines_to(one), lies_along(one)) for one in placements])
        light["instances"] = f"{len(placements)} instances"
        light["instances_sha256"] = hashlib.sha256(text.encode()).hexdigest()
        light["instances_places"] = text
    if len(placements) > MOST:
        scene.remarks.about(
            path, f"of its {len(placements):,} instances {MOST:,} are counted, each for several."
        )
    sizes = [one.scales for one in placements]
    if any(abs(a - b) > _EVEN * max(sizes[0]) for size in sizes for a, b in zip(size, sizes[0], strict=True)):
        scene.remarks.about(path, "its instances are not of one size; that of the first is taken for all.")
    instancer = UsdGeom.PointInstancer(found[0])
    moves = (instancer.GetPositionsAttr(), instancer.GetOrientationsAttr(), instancer.GetScalesAttr())
    if any(attribute.ValueMightBeTimeVarying() for attribute in moves):
        scene.remarks.about(
            path, "its instances move over time; they are taken as they stand at the first frame."
        )
    return PrimTrack(scene.clock, PrimMotion(frozenset(), turns=False), lambda time: placements[0])


def _placements(scene: Scene, prim: Any, above: Any, root: Any) -> list[Placement] | None:
    """The placements of all instances of a light; None where the instancer does not say."""
    instancer, time = UsdGeom.PointInstancer(above), scene.clock.rest
    numbers = instancer.GetProtoIndicesAttr().Get(time)
    roots = instancer.GetPrototypesRel().GetForwardedTargets()
    if root is None or numbers is None or instancer_of(above) is not None:
        return None
    matrices = instancer.ComputeInstanceTransformsAtTime(
        time,
        time,
        UsdGeom.PointInstancer.IncludeProtoXform,
        UsdGeom.PointInstancer.IgnoreMask,
    )
    shown = list(instancer.ComputeMaskAtTime(time)) or [True] * len(numbers)
    if not matrices or not len(matrices) == len(numbers) == len(shown):
        return [] if not len(numbers) else None
    cache = UsdGeom.XformCache(time)
    whole = cache.GetLocalToWorldTransform(above)
    beside = (
        cache.GetLocalToWorldTransform(prim)
        * cache.GetLocalToWorldTransform(prim.GetStage().GetPrimAtPath(root)).GetInverse()
    )
    return [
        scene.space.placement(beside * matrix * whole)
        for number, matrix, is_shown in zip(numbers, matrices, shown, strict=True)
        if is_shown and 0 <= number < len(roots) and roots[number] == root
    ]
