"""The sky view's state: where each light comes from in every shot, and how the sky is laid out flat. No Qt.

The sky is drawn in the Lambert azimuthal equal-area projection, centred on the zenith: equal areas of the sky take equal
areas of the map, so that a scatter of lights looks as dense as it is (J. P. Snyder, "Map Projections: A Working
Manual", USGS Professional Paper 1395, 1987, section 24, polar aspect). The map looks down from above: north is up, east is
right. The horizon is the circle of radius 1; what is below it lies outside, the point straight below being the
outermost circle, of radius sqrt 2.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from samelight.drift.rows import NOTHING, Row
from samelight.drift.table import Table
from samelight.light.directions import (
    NORTH,
    Vector,
    angles_between,
    azimuths_and_elevations,
    from_azimuth_elevation,
    to_azimuth_elevation,
)
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Value
from samelight.sheets.vocabulary import DIRECTION

Array = NDArray[np.float64]

EDGE = math.sqrt(2.0)
"""The radius of the point straight below, on a map whose horizon has radius 1."""

_STEEPEST = 89.9


def project(azimuth: ArrayLike, elevation: ArrayLike) -> tuple[Array, Array]:
    """Map coordinates (x to the east, y to the north) of directions in degrees, of any matching shapes.

    A direction at the angle c from the zenith lies sqrt 2 sin(c/2) from the centre.

    >>> x, y = project([0, 90, 180], [0, 90, -90])
    >>> x.round(6).tolist(), y.round(6).tolist()
    ([0.0, 0.0, 0.0], [1.0, 0.0, -1.414214])
    """
    turn = np.radians(np.asarray(azimuth, dtype=np.float64))
    down = np.radians(90.0 - np.asarray(elevation, dtype=np.float64))
    radius = EDGE * np.sin(down / 2.0)
    return radius * np.sin(turn), radius * np.cos(turn)


def unproject(x: float, y: float) -> tuple[float, float] | None:
    """Azimuth in [0, 360) and elevation of a place of the map; None outside of it.

    >>> [round(angle, 6) for angle in unproject(*(float(v) for v in project(131.0, 24.0)))]
    [131.0, 24.0]
    """
    radius = math.hypot(x, y)
    if radius > EDGE:
        return None
    return math.degrees(math.atan2(x, y)) % 360.0, 90.0 - 2.0 * math.degrees(math.asin(radius / EDGE))


def cap_outline(azimuth: float, elevation: float, radius: float, count: int = 90) -> tuple[Array, Array]:
    """The outline of everything within `radius` degrees of a direction, as a closed ring of map coordinates.

    >>> x, y = cap_outline(0.0, 90.0, 90.0, count=4)  # all within 90° of the zenith: the horizon
    >>> np.hypot(x, y).round(6).tolist()
    [1.0, 1.0, 1.0, 1.0, 1.0]
    """
    centre = -np.array(from_azimuth_elevation(azimuth, elevation))
    helper = np.array([0.0, 1.0, 0.0]) if abs(centre[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    across = np.cross(centre, helper)
    across /= np.linalg.norm(across)
    other = np.cross(centre, across)
    turn = np.linspace(0.0, 2.0 * math.pi, count + 1)[:, None]
    angle = math.radians(radius)
    ring = math.cos(angle) * centre + math.sin(angle) * (np.cos(turn) * across + np.sin(turn) * other)
    return project(*azimuths_and_elevations(-ring, NORTH))


class MapFrame(StrEnum):
    """What stays up on the map."""

    WORLD = "world, north up"
    CAMERA = "camera, ahead up"


@dataclass(frozen=True, slots=True, eq=False)
class LightTrack:
    """Where one light comes from, one figure for each column of the table, NaN where there is none.

    `azimuth` and `elevation` are the shots', `held_azimuth` and `held_elevation` what each is compared with, `away` the
    angle between the two; all in degrees. `moves` tells where the direction is animated: its first key counts. `row`
    is the table's row, `tolerance` its tolerance in degrees.
    """

    group: str
    name: str
    row: int
    tolerance: float
    azimuth: Array
    elevation: Array
    held_azimuth: Array
    held_elevation: Array
    away: Array
    moves: NDArray[np.bool_]
    tolerances: Array | None = None
    """By column, where set-ups have tolerances of their own."""

    def allowed(self, column: int) -> float:
        """The tolerance in one shot."""
        return self.tolerance if self.tolerances is None else float(self.tolerances[column])


@dataclass(frozen=True, eq=False)
class Sky:
    """The tracks of all lights that have a direction, and the names of the lights that have none.

    `sheets` are those of the shots, for their cameras, and `north` is the sequence's. Headings are read when they are first
    asked for: only the frame of the camera needs those of all shots.
    """

    shots: tuple[str, ...]
    tracks: tuple[LightTrack, ...]
    without: tuple[str, ...]
    sheets: Mapping[str, Sheet] = field(repr=False)
    north: Vector = NORTH

    def track_of(self, group: str) -> LightTrack | None:
        """The track of a group, such as lights.sun."""
        return next((track for track in self.tracks if track.group == group), None)

    def heading(self, column: int) -> float:
        """The azimuth (degrees) that a shot's camera looks to at its first frame; NaN without one that has any."""
        return _heading(self._camera(self.shots[column]), self.north)

    @cached_property
    def headings(self) -> Array:
        """`heading` of every shot."""
        cameras = [self._camera(shot) for shot in self.shots]
        # Sheets share what is the same in them, and so it is read once.
        known = {
            number: _heading(camera, self.north)
            for number, camera in {id(camera): camera for camera in cameras}.items()
        }
        return np.array([known[id(camera)] for camera in cameras], dtype=np.float64)

    def _camera(self, shot: str) -> Value | None:
        sheet = self.sheets.get(shot)
        return sheet.value("camera", "", "direction") if sheet is not None else None

    def turned(self, azimuth: Array, frame: MapFrame) -> Array:
        """Azimuths, one a shot, as the frame has them; NaN where a shot has no camera to turn by."""
        return azimuth if frame is MapFrame.WORLD else azimuth - self.headings

    def left_out(self, frame: MapFrame) -> int:
        """How many shots the frame cannot show, since they have no camera or one that looks straight up or down."""
        return 0 if frame is MapFrame.WORLD else int(np.isnan(self.headings).sum())


def sky_of(table: Table, sheets: Mapping[str, Sheet], north: Vector = NORTH) -> Sky:
    """The sky of a table; `sheets` are those of its columns, for their cameras."""
    tracks, without = [], []
    directed = {row.group for row in table.rows if row.section == "lights" and row.leaf == "direction"}
    for index, row in enumerate(table.rows):
        if row.section != "lights":
            continue
        if is_track(row):
            tracks.append(_track(table, index, north))
        elif not row.leaf and row.group not in directed:
            without.append(row.group)
    return Sky(table.shots, tuple(tracks), tuple(without), sheets, north)


def spots_in(
    table: Table, rows: Sequence[int], column: int, north: Vector = NORTH
) -> list[tuple[int, float, float]]:
    """Where the lights of one shot come from, of the rows that say it: row, azimuth and elevation (degrees) of each that has a
    direction."""
    directions = _vectors(entry.value if (entry := table.entry(row, column)) else None for row in rows)
    azimuths, elevations = azimuths_and_elevations(directions, north)
    found = zip(rows, azimuths.tolist(), elevations.tolist(), strict=True)
    return [spot for spot in found if math.isfinite(spot[2])]


def is_track(row: Row) -> bool:
    """Whether a row says where a light comes from."""
    return row.section == "lights" and row.leaf == "direction" and row.kind == DIRECTION


def _track(table: Table, index: int, north: Vector) -> LightTrack:
    row = table.rows[index]
    # What several shots hold is worked out once; `at` says which shot holds which.
    distinct, at = np.unique(table.codes[index], return_inverse=True)
    entries = [table.pool[code] or NOTHING for code in distinct.tolist()]
    values = _vectors(entry.value for entry in entries)
    held = _vectors(entry.master for entry in entries)
    azimuth, elevation = azimuths_and_elevations(values, north)
    held_azimuth, held_elevation = azimuths_and_elevations(held, north)
    moves = np.array([isinstance(entry.value, Curve) for entry in entries], dtype=np.bool_)
    return LightTrack(
        row.group_name,
        row.group,
        index,
        row.tolerance.at_most,
        azimuth[at],
        elevation[at],
        held_azimuth[at],
        held_elevation[at],
        angles_between(values, held)[at],
        moves[at],
        _tolerances(table, index) if table.parts else None,
    )


def _tolerances(table: Table, index: int) -> Array:
    columns = range(len(table.shots))
    return np.array([table.row_in(index, column).tolerance.at_most for column in columns], dtype=np.float64)


def _vectors(values: Iterable[Value | None]) -> Array:
    """Directions as rows, shape (n, 3); NaN where there is none. An animated one at its first key."""
    return np.array([_still(value) or _NOWHERE for value in values], dtype=np.float64).reshape(-1, 3)


_NOWHERE = (math.nan, math.nan, math.nan)


def _still(value: Value | None) -> Vector | None:
    """A direction as it is at its first key; None for what is none."""
    still = value.keys[0][1] if isinstance(value, Curve) else value
    if isinstance(still, tuple) and len(still) == 3 and any(still):
        return still
    return None


def _heading(camera: Value | None, north: Vector) -> float:
    """The azimuth of what a camera looks to; NaN where that is nowhere, straight up or straight down."""
    ahead = _still(camera)
    if ahead is None:
        return math.nan
    # A light from straight ahead of the camera comes from where the camera looks to.
    azimuth, elevation = to_azimuth_elevation((-ahead[0], -ahead[1], -ahead[2]), north)
    return azimuth if abs(elevation) < _STEEPEST else math.nan


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """The places of the map that a light comes from. `x` and `y` have one figure a shot; `worst` holds one shot for each
    place, the one of those there that needs a look most."""

    track: LightTrack
    x: Array
    y: Array
    worst: NDArray[np.int64]

    def shots_at(self, column: int) -> list[int]:
        """All shots in the place of one."""
        with np.errstate(invalid="ignore"):
            here = (np.abs(self.x - self.x[column]) < TOGETHER) & (np.abs(self.y - self.y[column]) < TOGETHER)
        found: list[int] = np.flatnonzero(here).tolist()
        return found


TOGETHER = 1e-4
"""Shots nearer than this on the map are one place: less than a hundredth of a degree."""


def spots_of(sky: Sky, track: LightTrack, frame: MapFrame, urgency: Array) -> Spots:
    """The places a light comes from; `urgency` has one figure a shot, the more the more it needs a look."""
    x, y = project(sky.turned(track.azimuth, frame), track.elevation)
    known = np.flatnonzero(np.isfinite(x))
    known = known[np.argsort(-urgency[known], kind="stable")]
    # Across and up as one complex number: NumPy finds like numbers far faster than like pairs.
    places = np.round(x[known] / TOGETHER) + 1j * np.round(y[known] / TOGETHER)
    _, first = np.unique(places, return_index=True)
    return Spots(track, x, y, known[first])


@dataclass(frozen=True, slots=True)
class MapView:
    """Which part of the map is shown on a widget of `width` by `height` pixels: the middle `x`, `y` of the map, and how
    many times larger than a whole map of radius `extent`."""

    width: float
    height: float
    x: float = 0.0
    y: float = 0.0
    zoom: float = 1.0
    extent: float = 1.12

    @property
    def scale(self) -> float:
        """Pixels to the radius of the horizon."""
        return max(min(self.width, self.height), 40.0) / (2.0 * self.extent) * self.zoom

    def to_pixels(self, x: Array, y: Array) -> tuple[Array, Array]:
        """Map coordinates in pixels of the widget, y downwards."""
        return self.width / 2 + (x - self.x) * self.scale, self.height / 2 - (y - self.y) * self.scale

    def to_map(self, left: float, top: float) -> tuple[float, float]:
        """The place of the map under a pixel."""
        return (
            self.x + (left - self.width / 2) / self.scale,
            self.y - (top - self.height / 2) / self.scale,
        )

    def zoomed(self, factor: float, left: float, top: float) -> MapView:
        """Closer or further away; the place under a pixel stays where it is."""
        zoom = min(max(self.zoom * factor, 1.0), 200.0)
        if zoom == 1.0:
            return replace(self, x=0.0, y=0.0, zoom=1.0)
        x, y = self.to_map(left, top)
        nearer = replace(self, zoom=zoom)
        x_, y_ = nearer.to_map(left, top)
        return replace(nearer, x=self.x + x - x_, y=self.y + y - y_)

    def framing(self, x: Array, y: Array, least: float) -> MapView:
        """The view that holds these places, and at least `least` around them."""
        known = np.isfinite(x) & np.isfinite(y)
        if not known.any():
            return replace(self, x=0.0, y=0.0, zoom=1.0)
        left, right, bottom, top = x[known].min(), x[known].max(), y[known].min(), y[known].max()
        reach = max(float(right - left), float(top - bottom), 2.0 * least) * 0.65
        zoom = min(max(self.extent / max(reach, 1e-6), 1.0), 200.0)
        return replace(self, x=float(left + right) / 2, y=float(bottom + top) / 2, zoom=zoom)
