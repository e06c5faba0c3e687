"""Geometry that is a light, as what a sheet holds of it."""

from __future__ import annotations

import hashlib
from typing import Any

from pxr import Gf, UsdGeom

from samelight.light.mesh import MOST, mesh_of, mesh_text
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.space import Placement, PrimTrack, unit
from samelight.sources.usd.values import items


def capture_mesh(scene: Scene, prim: Any, track: PrimTrack, light: dict[str, Any]) -> None:
    """The triangles of a mesh light in its own axes and in metres, their hash, and their area; a remark where they are none
    that are counted."""
    path = str(prim.GetPath())
    mesh = UsdGeom.Mesh(prim)
    if not mesh:
        scene.remarks.about(path, "its geometry is no mesh, and is not counted at the marks.")
        return
    time = scene.clock.rest
    counts = items(mesh.GetFaceVertexCountsAttr().Get(time) or [])
    corners = items(mesh.GetFaceVertexIndicesAttr().Get(time) or [])
    points = [tuple(point) for point in items(mesh.GetPointsAttr().Get(time) or [])]
    triangles = _triangles(counts, corners, len(points))
    if triangles is None:
        scene.remarks.about(path, "its mesh is damaged, and is not counted at the marks.")
        return
    if len(triangles) > MOST:
        scene.remarks.about(
            path, f"its mesh has more than {MOST:,} triangles, and is not counted at the marks."
        )
        return
    placement = track.at(time)
    axes, frame = (placement.x, placement.y, placement.z), _frame(placement)
    if frame is None:
        return
    mirrored = Gf.Dot(Gf.Cross(Gf.Vec3d(*axes[0]), Gf.Vec3d(*axes[1])), Gf.Vec3d(*axes[2])) < 0.0
    if mirrored != (mesh.GetOrientationAttr().Get(time) == UsdGeom.Tokens.leftHanded):
        triangles = [(a, c, b) for a, b, c in triangles]
    used = sorted({corner for triangle in triangles for corner in triangle})
    number = {corner: index for index, corner in enumerate(used)}
    placed = []
    for corner in used:
        world = sum(
            (Gf.Vec3d(*axis) * part for axis, part in zip(axes, points[corner], strict=True)), Gf.Vec3d(0)
        )
        placed.append([Gf.Dot(world, axis) * scene.space.metres for axis in frame])
    text = mesh_text(placed, [(number[a], number[b], number[c]) for a, b, c in triangles])
    found = mesh_of(text)
    if found is None:
        scene.remarks.about(path, "its mesh has no area, or no finite one, and is not counted at the marks.")
        return
    light["mesh"] = f"{len(triangles)} triangles"
    light["mesh_sha256"] = hashlib.sha256(text.encode()).hexdigest()
    light["mesh_triangles"] = text
    light["area"] = float(f"{found.area:.9g}")
    if any(attribute.ValueMightBeTimeVarying() for attribute in (mesh.GetPointsAttr(),)):
        scene.remarks.about(path, "its mesh changes over time; it is counted as it is at the first frame.")


def _frame(placement: Placement) -> tuple[Any, Any, Any] | None:
    """The light's own axes: to its right, up, and away from where it shines; None where they have no direction."""
    right, ahead = unit(placement.x), placement.shines_to()
    if right is None or ahead is None:
        return None
    x, back = Gf.Vec3d(*right), -Gf.Vec3d(*ahead)
    x = (x - back * Gf.Dot(x, back)).GetNormalized()
    return x, Gf.Cross(back, x), back


def _triangles(counts: list[int], corners: list[int], points: int) -> list[tuple[int, int, int]] | None:
    """The faces cut into triangles, fan by fan; None where they name what is not there. More than `MOST` are not gone on with."""
    found: list[tuple[int, int, int]] = []
    start = 0
    for count in counts:
        face = corners[start : start + count]
        start += count
        if count < 0 or len(face) != count or any(not 0 <= corner < points for corner in face):
            return None
        found += [(face[0], face[at], face[at + 1]) for at in range(1, count - 1)]
        if len(found) > MOST:
            break
    return found or None
