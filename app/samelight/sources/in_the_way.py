"""What stands between the lights and the marks of a captured scene, and between its camera and the marks: rays from each mark to
each light, and from the camera to each mark.

Everything that a scene shows is opaque. Of each light a mark sees a share, and so does the camera of a mark, to two digits, as
many as 64 rays hold (256 of a sky); what most of the others meet is named.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.light.rows import Array, lengths, unit
from samelight.light.solids import Solids, crosses, owners
from samelight.sheets.errors import SheetError
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.remarks import Remarks
from samelight.sources.sight_lines import Cast, rays_over_time

MOST_TRIANGLES = 8_000_000
"""More of them about the marks are not looked at: they would take a gigabyte and more."""
_FEW_TRIANGLES = 200
"""So few are met sooner than what meets many faster has loaded; the answer is the same."""
_FAR = 1e30
_TIES = 1e-9
"""Of what hides most; what hides so little less ties with it, and what is named first counts."""


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


Casts = Callable[[str, str | None, str], bool]
"""Whether, for a mark and a light by their names, or the camera (None), an object by its path stands in the way."""


class TooMuchError(Exception):
    """A scene holds more geometry than is looked at."""


def add_what_is_seen(tree: dict[str, Any], geometry: Geometry, casts: Casts, remarks: Remarks) -> None:
    """Add to the marks of a captured sheet's tree what they see of its lights, and its camera of them, past what stands in the way."""
    try:
        sheet = sheet_from_document(parse_document(Path(f"{tree['shot']}.yaml"), yaml_text(tree)))
    except SheetError:
        return  # whoever asked for the sheet says what is wrong with it
    try:
        found = look(sheet, geometry, casts)
    except TooMuchError:
        remarks.note(
            f"More than {MOST_TRIANGLES:,} triangles stand about the marks, so that nobody looked for what stands in the lights' and the camera's way."
        )
        return
    for mark, of_mark in found.items():
        tree["marks"][mark] |= of_mark


def look(sheet: Sheet, geometry: Geometry, casts: Casts) -> dict[str, dict[str, Any]]:
    """What each mark of a sheet sees of its lights, `sees` and `hidden_by`, and what its camera sees of the mark, `in_view` and
    `covered_by`, by mark, as a sheet states them.

    Empty where the scene shows nothing but lights. Raises `TooMuchError` where there is more geometry than is looked at.
    """
    if geometry.empty:
        return {}
    found: dict[str, dict[str, Any]] = {mark: {} for mark in sheet.sections.get("marks", {})}
    seen: dict[tuple[str, str | None], dict[float | None, float]] = defaultdict(dict)
    hidden: dict[tuple[str, str | None], dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for time, rays in rays_over_time(sheet, geometry.samples):
        things = _crossed(geometry.at(time), rays)
        triangles = sum(len(thing.triangles) for thing in things)
        if triangles > MOST_TRIANGLES:
            raise TooMuchError
        solids = Solids.of(
            ((thing.points, thing.triangles) for thing in things), fast=triangles > _FEW_TRIANGLES
        )
        for of, (place, way) in rays.items():
            solid = np.array([casts(*of, thing.path) for thing in things], dtype=np.bool_)
            met = solids.first(place, way.way, None if solid.all() else solid)
            taken, whole = owners(met, way.weight, len(things)), math.fsum(way.weight.tolist())
            seen[of][time] = round(1.0 - math.fsum(taken.tolist()) / whole, 2) + 0.0
            for thing, weight in zip(things, taken.tolist(), strict=True):
                if weight > 0.0:
                    hidden[of][thing.path] += weight
    for (mark, light), shares in sorted(seen.items(), key=lambda one: one[0][1] is None):
        by, share = hidden[mark, light], _over_time(shares)
        most = _most(by) if by and min(shares.values()) < 1.0 else None
        if light is None:
            found[mark] |= {"in_view": share} | ({} if most is None else {"covered_by": most})
            continue
        found[mark].setdefault("sees", {})[light] = share
        if most is not None:
            found[mark].setdefault("hidden_by", {})[light] = most
    return found


def _most(by: Mapping[str, float]) -> str:
    """What hides most, by how much each hides."""
    most = max(by.values())
    return min(path for path in by if by[path] >= most - _TIES * most)


def _crossed(things: Sequence[Thing], rays: Cast) -> list[Thing]:
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
