"""What stands between the lights and the marks of a captured scene: rays from each mark to each light.

Everything that a scene shows is opaque. Of each light a mark sees a share, to two digits, as many as its 64 rays hold (256
of a sky); what most of the others meet is named.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.light.instances import instances_of
from samelight.light.levels import RELATIVE
from samelight.light.marks import Source, illuminance
from samelight.light.mesh import mesh_of
from samelight.light.rolling import across_at
from samelight.light.rows import Array, lengths, unit
from samelight.light.solids import Solids, crosses, owners
from samelight.light.toward import OF_A_LIGHT, Rays, rays_to
from samelight.sheets.errors import SheetError
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Curve, FileRef, Group, Roll, as_vector
from samelight.sheets.writing import yaml_text
from samelight.sources.remarks import Remarks

MOST_TRIANGLES = 8_000_000
"""More of them about the marks are not looked at: they would take a gigabyte and more."""
MOST_OF_MANY = 1024
"""Rays to a light of many instances, unless it has more of these."""
MOST_TIMES = 16
"""Frames at which a scene that moves is looked at: of more keys, some are taken, evenly spread."""
_FAR = 1e30
_TIES = 1e-9
"""Of what hides most of a light; what hides so little less ties with it, and what is named first counts."""


class Thing(NamedTuple):
    """An object of a scene: what it is called there, its points (n, 3) in metres, Y-up, and its triangles (m, 3)."""

    path: str
    points: Array
    triangles: NDArray[np.int32]


class Geometry(NamedTuple):
    """What a scene shows: its objects at a frame (None: as they rest), the frames at which they state something, and whether
    there is nothing at all."""

    at: Callable[[float | None], Sequence[Thing]]
    samples: frozenset[float]
    empty: bool = False


Casts = Callable[[str, str, str], bool]
"""Whether, for a mark and a light by their names, an object by its path casts a shadow."""


class TooMuchError(Exception):
    """A scene holds more geometry than is looked at."""


def add_what_is_seen(tree: dict[str, Any], geometry: Geometry, casts: Casts, remarks: Remarks) -> None:
    """Add to the marks of a captured sheet's tree what they see of its lights past what stands in the way."""
    try:
        sheet = sheet_from_document(parse_document(Path(f"{tree['shot']}.yaml"), yaml_text(tree)))
    except SheetError:
        return  # whoever asked for the sheet says what is wrong with it
    try:
        found = look(sheet, geometry, casts)
    except TooMuchError:
        remarks.note(
            f"More than {MOST_TRIANGLES:,} triangles stand about the marks, so that nobody looked for what stands in the lights' way."
        )
        return
    for mark, of_mark in found.items():
        tree["marks"][mark] |= of_mark


def look(sheet: Sheet, geometry: Geometry, casts: Casts) -> dict[str, dict[str, Any]]:
    """What each mark of a sheet sees of its lights: `sees` and `hidden_by`, by mark, as a sheet states them.

    Empty where the scene shows nothing but lights. Raises `TooMuchError` where there is more geometry than is looked at.
    """
    if geometry.empty:
        return {}
    marks, lights = sheet.sections.get("marks", {}), _lights(sheet)
    seen: dict[tuple[str, str], dict[float | None, float]] = defaultdict(dict)
    hidden: dict[tuple[str, str], dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for time in _times(sheet, marks, lights, geometry):
        rays = _rays(marks, lights, time)
        things = _crossed(geometry.at(time), rays)
        if sum(len(thing.triangles) for thing in things) > MOST_TRIANGLES:
            raise TooMuchError
        solids = Solids.of((thing.points, thing.triangles) for thing in things)
        for (mark, light), (place, way) in rays.items():
            solid = np.array([casts(mark, light, thing.path) for thing in things], dtype=np.bool_)
            met = solids.first(place, way.way, None if solid.all() else solid)
            taken, whole = owners(met, way.weight, len(things)), math.fsum(way.weight.tolist())
            seen[mark, light][time] = round(1.0 - math.fsum(taken.tolist()) / whole, 2) + 0.0
            for thing, weight in zip(things, taken.tolist(), strict=True):
                if weight > 0.0:
                    hidden[mark, light][thing.path] += weight
    found: dict[str, dict[str, Any]] = {}
    for (mark, light), shares in seen.items():
        of_mark = found.setdefault(mark, {"sees": {}})
        of_mark["sees"][light] = _over_time(shares)
        if min(shares.values()) < 1.0 and (by := hidden[mark, light]):
            most = max(by.values())
            of_mark.setdefault("hidden_by", {})[light] = min(
                path for path in by if by[path] >= most - _TIES * most
            )
    return found


def _lights(sheet: Sheet) -> dict[str, tuple[str, Group]]:
    """The lights and environments that give light, with the section that they stand in."""
    return {
        name: (section, group)
        for section in ("lights", "environments")
        for name, group in sheet.sections.get(section, {}).items()
        if group.get("visible") not in (False, 0.0)
    }


def _times(
    sheet: Sheet, marks: Mapping[str, Group], lights: Mapping[str, tuple[str, Group]], geometry: Geometry
) -> list[float | None]:
    """The frames to look at: one, as all rests, where nothing moves."""
    groups = [*marks.values(), *(group for _, group in lights.values())]
    keys = {
        frame
        for group in groups
        for value in group.values()
        if isinstance(value, Curve)
        for frame in value.frames()
    }
    keys |= geometry.samples
    if not keys:
        return [None]
    low, high = sheet.frames or (min(keys), max(keys))
    frames = sorted({float(low), *(frame for frame in keys if low <= frame <= high)})
    if len(frames) > MOST_TIMES:
        frames = [frames[round(place)] for place in np.linspace(0, len(frames) - 1, MOST_TIMES)]
    return list(frames)


_Cast = dict[tuple[str, str], tuple[Array, Rays]]


def _rays(marks: Mapping[str, Group], lights: Mapping[str, tuple[str, Group]], time: float | None) -> _Cast:
    """The rays of each mark to each light whose light it could get."""
    found: _Cast = {}
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


def _crossed(things: Sequence[Thing], rays: _Cast) -> list[Thing]:
    """The objects whose box some ray crosses: nothing else of the scene is looked at."""
    boxed = [(thing, box) for thing in things if (box := _box(thing.points)) is not None]
    if not boxed or not rays:
        return []
    low, high = (np.array([box[end] for _, box in boxed]) for end in range(2))
    crossed = np.zeros(len(boxed), dtype=np.bool_)
    for place, cast in rays.values():
        waiting = np.flatnonzero(~crossed)
        long = np.minimum(lengths(cast.way), _FAR)
        for begin in range(0, waiting.size, 10_000):
            some = waiting[begin : begin + 10_000]
            crossed[some] = crosses(place, unit(cast.way), long, low[some], high[some]).any(axis=0)
    return [thing for (thing, _), meets in zip(boxed, crossed.tolist(), strict=True) if meets]


def _box(points: Array) -> tuple[Array, Array] | None:
    """The corners of what holds all points that are numbers; None where none is."""
    if not len(points):
        return None
    low, high = points.min(axis=0), points.max(axis=0)
    if np.isfinite(low).all() and np.isfinite(high).all():
        return low, high
    kept = points[np.isfinite(points).all(axis=1)]
    return (kept.min(axis=0), kept.max(axis=0)) if len(kept) else None


def _over_time(shares: Mapping[float | None, float]) -> Any:
    """A share, or its keys where it changes."""
    values = list(shares.values())
    if all(value == values[0] for value in values):
        return values[0]
    return {
        "keys": [
            [int(time) if time is not None and time.is_integer() else time, value]
            for time, value in shares.items()
        ]
    }
