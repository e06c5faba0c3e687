"""The rays of a sheet: from each mark to each light, and from the camera to each mark, at each frame at which something moves."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from samelight.light.framing import HEAD
from samelight.light.from_camera import rays_from_camera
from samelight.light.instances import instances_of
from samelight.light.levels import RELATIVE
from samelight.light.marks import Source, illuminance
from samelight.light.mesh import mesh_of
from samelight.light.rolling import across_at
from samelight.light.rows import Array, unit
from samelight.light.toward import OF_A_LIGHT, Rays, rays_to
from samelight.sheets.canonical import WHOLE
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, FileRef, Group, Roll, as_vector

MOST_OF_MANY = 1024
"""Rays to a light of many instances, unless it has more of these."""
MOST_TIMES = 16
"""Frames at which a scene that moves is looked at: of more keys, some are taken, evenly spread."""

Cast = dict[tuple[str, str | None], tuple[Array, Rays]]
"""Whence rays go, and the rays, of each mark and light; of the camera where None stands for the light."""


def rays_over_time(sheet: Sheet, samples: Collection[float]) -> Iterator[tuple[float | None, Cast]]:
    """The rays at each frame (None: as all rests) at which the lights or the camera are looked at; where the camera alone moves, those
    of lights once. `samples` are the frames at which what stands in the way states something."""
    marks, lights = sheet.sections.get("marks", {}), _lights(sheet)
    camera = sheet.sections.get("camera", {}).get(WHOLE, {})
    of_lights = _times(sheet, [*marks.values(), *(group for _, group in lights.values())], samples)
    of_camera = _times(sheet, [*marks.values(), camera], samples)
    for time in sorted({*of_lights, *of_camera}, key=lambda time: -math.inf if time is None else time):
        rays = _rays(marks, lights, time) if time in of_lights else {}
        if time in of_camera:
            rays |= _views(marks, camera, time)
        if rays:
            yield time, rays


def _lights(sheet: Sheet) -> dict[str, tuple[str, Group]]:
    """The lights and environments that give light, with the section that they stand in."""
    return {
        name: (section, group)
        for section in ("lights", "environments")
        for name, group in sheet.sections.get(section, {}).items()
        if group.get("visible") not in (False, 0.0)
    }


def _times(sheet: Sheet, groups: Sequence[Group], samples: Collection[float]) -> list[float | None]:
    """The frames to look at: one, as all rests, where none of the groups and nothing else moves."""
    keys = {
        frame
        for group in groups
        for value in group.values()
        if isinstance(value, Curve)
        for frame in value.frames()
    }
    keys.update(samples)
    if not keys:
        return [None]
    low, high = sheet.frames or (min(keys), max(keys))
    frames = sorted({float(low), *(frame for frame in keys if low <= frame <= high)})
    if len(frames) > MOST_TIMES:
        frames = [frames[round(place)] for place in np.linspace(0, len(frames) - 1, MOST_TIMES)]
    return list(frames)


def _views(marks: Mapping[str, Group], camera: Group, time: float | None) -> Cast:
    """The rays from the camera to each mark that is before it."""
    stands, looks = (as_vector(_at(camera.get(leaf), time)) for leaf in ("position", "direction"))
    found: Cast = {}
    if stands is None or looks is None or _at(camera.get("projection"), time) == "orthographic":
        return found
    for mark, group in marks.items():
        place, normal = (as_vector(_at(group.get(leaf), time)) for leaf in ("position", "normal"))
        radius = _size(_at(group.get("radius"), time))
        if place is not None:
            ways = rays_from_camera(stands, looks, place, radius if radius > 0.0 else HEAD, normal)
            if ways is not None:
                found[mark, None] = np.array(stands), Rays(ways, np.ones(len(ways)))
    return found


def _rays(marks: Mapping[str, Group], lights: Mapping[str, tuple[str, Group]], time: float | None) -> Cast:
    """The rays of each mark to each light whose light it could get."""
    found: Cast = {}
    for mark, group in marks.items():
        place, normal = (as_vector(_at(group.get(leaf), time)) for leaf in ("position", "normal"))
        if place is None:
            continue
        here, facing = np.array(place), None if normal is None else unit(np.array([normal]))[0]
        for light, (section, of_light) in lights.items():
            rays = _rays_of(section, of_light, time, here, facing)
            if rays is not None and math.fsum(rays.weight.tolist()) > 0.0:
                found[mark, light] = here, rays
    return found


def _rays_of(
    section: str, group: Group, time: float | None, here: Array, facing: Array | None
) -> Rays | None:
    """The rays from a mark to a light; of one with many instances to each, weighed by what that gives."""
    source = _source(section, group, time)
    held = group.get("instances")
    instances = instances_of(held.holds) if isinstance(held, FileRef) else None
    if instances is None:
        return rays_to(source, here, facing)
    every = -(-len(instances.position) * OF_A_LIGHT // MOST_OF_MANY)
    found: list[Rays] = []
    for position, direction, across in zip(
        instances.position, instances.direction, instances.across, strict=True
    ):
        points, lies = (None if np.isnan(way).any() else way for way in (direction, across))
        one = replace(source, position=position, direction=points, across=lies)
        rays = rays_to(one, here, facing)
        gives = float(illuminance(one, here[None], None if facing is None else facing[None])[0])
        some = None if rays is None else Rays(rays.way[::every], rays.weight[::every])
        whole = 0.0 if some is None else math.fsum(some.weight.tolist())
        if some is not None and 0.0 < gives < math.inf and whole > 0.0:
            found.append(Rays(some.way, some.weight * (gives / whole)))
    return Rays(*map(np.concatenate, zip(*found, strict=True))) if found else None


def _source(section: str, group: Group, time: float | None) -> Source:
    """A light as rays are cast to it: how bright it is does not count."""
    value = {leaf: _at(held, time) for leaf, held in group.items()}
    if section == "environments":
        return Source("environment", 1.0, RELATIVE)
    mesh = value.get("mesh")
    direction, across, roll = (
        as_vector(value.get("direction")),
        as_vector(value.get("axis")),
        value.get("roll"),
    )
    if isinstance(roll, Roll):
        x, y, z = across_at(np.array([roll.about]), np.array([roll.degrees]))[0].tolist()
        across = (x, y, z)
    return Source(
        str(value.get("type", "")),
        1.0,
        RELATIVE,
        position=as_vector(value.get("position")),
        direction=direction,
        across=across,
        radius=_size(value.get("radius")),
        width=_size(value.get("width")),
        height=_size(value.get("height")),
        length=_size(value.get("length")),
        angle=_size(value.get("angle")),
        cone=_size(value.get("cone")),
        softness=softness if isinstance(softness := value.get("softness"), float) else 0.0,
        meshes=np.array([mesh_of(mesh.holds)], dtype=np.object_) if isinstance(mesh, FileRef) else None,
    )


def _size(value: Any) -> float:
    return value if isinstance(value, float) else math.nan


def _at(value: Any, time: float | None) -> Any:
    if isinstance(value, Curve):
        return value.keys[0][1] if time is None else value.at(time)
    return value
