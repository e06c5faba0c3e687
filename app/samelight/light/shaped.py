"""What the shaping of a light leaves of it at a mark: its cone and focus, taken at each point of its surface.

Seen from a mark, the points of a box near by stand at many angles off its axis: some of them inside its cone, others outside.
A light that lies wholly inside the flat part of its cone, or wholly outside the cone, and one that is far away take no cells.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from samelight.light.cells import Cells, Grid, cylinder_cells, disk_cells, rect_cells, sphere_cells
from samelight.light.elementary import arccos, arcsin, arctan2
from samelight.light.profile import scaled
from samelight.light.rows import Array, cross, lengths, projection, unit
from samelight.light.shaping import cone_share, cone_share_of_cells, focus_share, gltf_cone_share

Rows = npt.NDArray[np.intp]

_FAR = 1e-3
"""Of its distance: a light of less than this half size is shaped as a point."""
_CLOSER = 2
_SMALL = 0.3
"""How often the lit part of a light is looked at closer, and how small a part of what was looked at it is then."""
_SIDES = ((0.0, 6.0, 8), (6.0, 15.0, 16), (15.0, math.inf, 32))
"""Of lights whose half size from the mark is from so many degrees to under so many: how many cells they have each way."""
_HARD = 0.1
"""Share of a cone under which its fade is as a hard edge."""
_CELLS = 65_536
"""Cells that are made at a time."""


@dataclass(frozen=True)
class Profiled:
    """Profiles of lights over n marks, shape (n,), None for a light without one: the scale of their angles, whether they only
    shape the light and do not dim it, and the lights' own +X, (n, 3)."""

    profiles: npt.NDArray[np.object_]
    scale: Array
    normalize: npt.NDArray[np.bool_]
    across: Array

    def of(self, rows: Rows) -> Profiled:
        """Those of some of the marks."""
        return Profiled(self.profiles[rows], self.scale[rows], self.normalize[rows], self.across[rows])

    @property
    def stated(self) -> npt.NDArray[np.bool_]:
        """Where there is one, shape (n,)."""
        return np.array([one is not None for one in self.profiles.tolist()], dtype=np.bool_)

    def share(self, leaving: Array, cosine: Array, direction: Array) -> Array:
        """What leaves along unit vectors (n, k, 3), of cosines (n, k) to where the lights shine to (n, 3); 1 without a
        profile. Against its peak, or against its mean where it does not dim the light."""
        found = np.ones(cosine.shape)
        for profile in dict.fromkeys(self.profiles.tolist()):
            if profile is None:
                continue
            rows = np.flatnonzero([one == profile for one in self.profiles.tolist()])
            polar = np.degrees(arccos(np.clip(cosine[rows], -1.0, 1.0)))
            polar = scaled(polar, self.scale[rows, None])
            about = None
            if profile.planes.size > 1:
                right, ahead = self.across[rows], direction[rows]
                up = cross(right, ahead)
                along, high = (projection(leaving[rows], axis[:, None, :]) for axis in (right, up))
                about = np.degrees(arctan2(high, along))
            kept = profile.share(polar, about)
            found[rows] = kept / np.where(self.normalize[rows], profile.mean, 1.0)[:, None]
        return found


@dataclass(frozen=True)
class Shaped:
    """Lights of one shape with their shaping, over n marks: vectors (n, 3) or (1, 3), numbers (n,) or one for all.

    `shape` is sphere, disk, rect or cylinder; `across` the own +X of the last two. Sizes in metres, angles in degrees, NaN
    for a cone that is none.
    """

    shape: str
    direction: Array
    across: Array | None
    radius: Array
    width: Array
    height: Array
    length: Array
    cone: Array
    softness: Array
    inner_cone: Array
    focus: Array
    focus_tint: Array
    profile: Profiled | None = None

    @property
    def reach(self) -> Array:
        """The radius of the ball about its centre that holds it."""
        if self.shape == "rect":
            return np.sqrt(self.width**2 + self.height**2) / 2.0
        if self.shape == "cylinder":
            return np.sqrt(self.length**2 / 4.0 + self.radius**2)
        return self.radius


def shaped_share(light: Shaped, to_centre: Array, normal: Array) -> Array:
    """The share of a light that its shaping lets through to marks, shape (n,); `to_centre` and `normal` have the shape (n, 3).

    >>> no, down, size = np.array([np.nan]), np.array([[0.0, -1.0, 0.0]]), np.array([1.2])
    >>> box = Shaped("rect", down, np.array([[1.0, 0.0, 0.0]]), no, size, size, no, np.array([25.0]), no, no, no, no)
    >>> marks = np.array([[0.0, 2.0, 0.0], [1.5, 2.0, 0.0], [1.6, 2.0, 0.0]])
    >>> shaped_share(box, marks, -np.broadcast_to(down, (3, 3))).round(3)
    array([1.   , 0.012, 0.   ])
    """
    count = to_centre.shape[0]
    direction = np.broadcast_to(light.direction, to_centre.shape)
    shaping = _shaping(light, direction)
    cone, softness, focus = shaping.cone, shaping.softness, shaping.focus
    reach, inner = (
        np.broadcast_to(np.atleast_1d(part), (count,)) for part in (light.reach, light.inner_cone)
    )
    distance = lengths(to_centre)
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine = -projection(to_centre, direction) / distance
        half = np.degrees(arcsin(np.clip(reach / distance, 0.0, 1.0)))
    half = np.where(reach < distance, half, 180.0)
    off = np.degrees(arccos(np.clip(cosine, -1.0, 1.0)))
    share = cone_share(cosine, cone, softness) * focus_share(cosine, focus, shaping.tint)
    as_gltf = ~np.isnan(inner) & ~np.isnan(cone)
    if as_gltf.any():
        share[as_gltf] = gltf_cone_share(cosine[as_gltf], cone[as_gltf], inner[as_gltf])
    share[np.isnan(cone) & (focus == 0.0)] = 1.0  # whatever the others are that it stands beside
    flat = cone * (1.0 - np.clip(np.nan_to_num(softness), 0.0, 1.0))
    even = np.isnan(cone) | (cone >= 180.0) | (off + half <= flat) | (off - half >= cone)
    plain = even & (focus <= 0.0)
    profile = light.profile
    if profile is not None and (stated := profile.stated).any():
        leaving = -to_centre / distance[:, None]
        by_profile = profile.share(leaving[:, None, :], cosine[:, None], direction)[:, 0]
        share, plain = np.where(stated, share * by_profile, share), plain & ~stated
    near = ~as_gltf & (reach > _FAR * distance) & (distance > 0.0) & ~plain & ~np.isnan(off)
    # On a hard edge the cells have to be small whatever the size; few marks see one.
    sized = np.where(~(softness > _HARD) & (cone < 180.0), 180.0, half)
    for rows, side in _sided(near, sized):
        share[rows] = _share_of(light, shaping.of(rows), to_centre, normal, rows, side)
    return share


def _sided(near: npt.NDArray[np.bool_], half: Array) -> Iterator[tuple[Rows, int]]:
    """The marks that are near, some at a time, each with how many cells a light of its half size (degrees) has each way."""
    for least, most, side in _SIDES if near.any() else ():
        of_size = np.flatnonzero(near & (half >= least) & (half < most))
        step = _CELLS // side**2
        for start in range(0, of_size.size, step):
            yield of_size[start : start + step], side


_NEAR = 0.1
"""Of its distance: a light of less than this half size is lit at its centre, within half a degree."""
_LIT_SIDE = 16


def lit_direction(light: Shaped, to_centre: Array, normal: Array) -> Array:
    """The unit vectors (n, 3) from marks to where the light that reaches them comes from on lights: the mean of the directions to
    their cells, each by what it adds. To the centre of one that is far away, or of which a mark sees nothing.

    >>> no, down, size = np.array([np.nan]), np.array([[0.0, -1.0, 0.0]]), np.array([4.0])
    >>> box = Shaped("rect", down, np.array([[1.0, 0.0, 0.0]]), no, size, size, no, no, no, no, np.zeros(1), no)
    >>> upright = np.array([[1.0, 0.0, 0.0]])  # a wall: only the half of the box before it lights it
    >>> lit_direction(box, np.array([[0.0, 1.0, 0.0]]), upright).round(2) + 0.0
    array([[0.65, 0.76, 0.  ]])
    """
    found = unit(to_centre)
    reach = np.broadcast_to(np.atleast_1d(light.reach), (len(found),))
    near = np.flatnonzero(reach > _NEAR * lengths(to_centre))
    direction = np.broadcast_to(light.direction, to_centre.shape)
    whole = _shaping(light, direction)
    step = _CELLS // _LIT_SIDE**2
    for start in range(0, near.size, step):
        rows = near[start : start + step]
        cells = _cells(light, Grid.whole(rows.size, _LIT_SIDE), to_centre, normal, rows)
        added = cells.adds
        shaping = whole.of(rows)
        if (shaping.cone < 180.0).any() or (shaping.focus > 0.0).any() or shaping.profile is not None:
            added, _, _ = cells.shaped(shaping.passes, direction[rows])
        mean = (unit(cells.places) * added[..., None]).sum(axis=1)
        lit = lengths(mean) > 0.0
        found[rows[lit]] = unit(mean[lit])
    return found


def _shaping(light: Shaped, direction: Array) -> _Part:
    """The shaping over all the marks, which the lights shine on along `direction`, (n, 3)."""
    parts = (light.cone, light.softness, np.maximum(np.nan_to_num(light.focus), 0.0), light.focus_tint)
    cone, softness, focus, tint = (np.broadcast_to(np.atleast_1d(part), (len(direction),)) for part in parts)
    return _Part(cone, softness, focus, tint, direction, light.profile)


@dataclass(frozen=True)
class _Part:
    """The shaping of some of the marks' lights."""

    cone: Array
    softness: Array
    focus: Array
    tint: Array
    direction: Array
    profile: Profiled | None

    def of(self, rows: Rows) -> _Part:
        """That of some of them."""
        profile = None if self.profile is None else self.profile.of(rows)
        return _Part(
            self.cone[rows],
            self.softness[rows],
            self.focus[rows],
            self.tint[rows],
            self.direction[rows],
            profile,
        )

    def passes(self, leaving: Array, cosine: Array, width: Array) -> Array:
        """What of cells passes; see `Cells.share`."""
        passed = cone_share_of_cells(cosine, width, self.cone, self.softness)
        if (self.focus > 0.0).any():
            passed = passed * focus_share(cosine, self.focus[:, None], self.tint[:, None])
        if self.profile is not None:
            passed = passed * self.profile.share(leaving, cosine, self.direction)
        return passed


def _share_of(light: Shaped, shaping: _Part, to_centre: Array, normal: Array, rows: Rows, side: int) -> Array:
    """The share of some of the marks' lights that passes. Where only a part of a light lies inside its cone, that part is looked
    at closer, twice at most."""
    direction = np.broadcast_to(light.direction, to_centre.shape)[rows]
    grid = Grid.whole(rows.size, side)
    cells = _cells(light, grid, to_centre, normal, rows)
    whole = cells.total
    added, passed, cosine = cells.shaped(shaping.passes, direction)
    share = added.sum(axis=-1)
    left = np.arange(rows.size)
    for _ in range(_CLOSER):
        lit = (passed > 0.0) & (cells.adds > 0.0)
        none = ~lit.any(axis=1)
        lit[none] = cosine[none] >= cosine[none].max(axis=1, keepdims=True)
        window = grid.around(lit)
        small = np.flatnonzero(
            (window.size[:, 0] * window.size[:, 1]) < _SMALL * (grid.size[:, 0] * grid.size[:, 1])
        )
        if not small.size:
            break
        left, grid = left[small], Grid(window.start[small], window.size[small], side)
        cells = _cells(light, grid, to_centre, normal, rows[left])
        added, passed, cosine = cells.shaped(shaping.of(left).passes, direction[left])
        share[left] = added.sum(axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(whole > 0.0, share / whole, np.where(np.isnan(whole), np.nan, 0.0))


def _cells(light: Shaped, grid: Grid, to_centre: Array, normal: Array, rows: Rows) -> Cells:
    count, to_centre, normal = to_centre.shape[0], to_centre[rows], normal[rows]

    def of(part: Array) -> Array:
        whole: Array = np.broadcast_to(np.atleast_1d(part), (count, *part.shape[1:]))[rows]
        return whole

    match light.shape:
        case "sphere":
            return sphere_cells(
                grid, to_centre, normal, radius=of(light.radius), direction=of(light.direction)
            )
        case "disk":
            return disk_cells(grid, to_centre, normal, radius=of(light.radius), direction=of(light.direction))
    assert light.across is not None
    across = of(light.across)
    if light.shape == "cylinder":
        return cylinder_cells(
            grid, to_centre, normal, radius=of(light.radius), length=of(light.length), axis=across
        )
    direction = of(light.direction)
    return rect_cells(
        grid,
        to_centre,
        normal,
        width=of(light.width),
        height=of(light.height),
        direction=direction,
        across=across,
    )
