"""A figure preview: a small grey head where a mark is, as the lights of a shot and those of the master light it.

A model and no render: a head of two ellipsoids that looks where the mark faces, seen by the shot's own camera from afar. Each
point gets what its normal receives at the mark (in closed form), times the share of the light that the mark sees; the nose
casts a hard shadow. There is no bounce light, and no point of the head is nearer to a light than another.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samelight.drift.computed.columns import Array, Mask, column
from samelight.drift.computed.emitters import Emitter, MarkPlace
from samelight.drift.computed.in_the_way import both_shares
from samelight.drift.computed.mark_levels import levels_at
from samelight.drift.computed.moments import Rows
from samelight.drift.computed.rig import rig_of
from samelight.light.primaries import rgb_of
from samelight.light.rows import cross, lengths, level_across, projection, unit
from samelight.light.spaces import LUMINANCE
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Colour, Value

SIZE = 128
"""Pixels across."""
_STEPS = 17
"""Normals across that are worked out; those between are taken from them."""
_HEAD, _NOSE = (0.72, 0.92, 0.8), (0.1, 0.2, 0.2)
"""Half axes to the right, upwards and to where it looks."""
_NOSE_AT = (0.0, -0.08, 0.8)
_GREY = 0.5
"""Of what falls on it, how much the head gives back; the figure is exposed so that most of it lies under white."""


@dataclass(frozen=True, slots=True)
class Figure:
    """The head under the shot's lights and under the reference's: linear Rec.709, shape (128, 128, 3), NaN beside the head.

    Both have one exposure, by which the brighter one's brightest tenth begins at 0.8.
    """

    mark: str
    shot: Array
    reference: Array


def figure_of(mark: str, sheet: Sheet, reference: Sheet, key: Sheet | None) -> Figure | None:
    """The figure at a mark of a shot's sheet; None where it has no such place, or neither side has a light that is known there."""
    if mark not in sheet.sections.get("marks", {}) or "lights" not in reference.sections:
        return None
    rig = rig_of(["shot"], [sheet], [reference], key)
    if not rig.names:
        return None
    at = levels_at(rig, mark)
    if not at.shots or np.isnan(at.place.position[0]).any():
        return None
    place, normal = at.place.position[0], at.place.normal[0]
    looks, stands = rig.camera[1][at.rows[0]], rig.camera[0][at.rows[0]]
    to_camera = unit((stands - place if not np.isnan(stands).any() else -looks)[None])[0]
    facing = normal if not np.isnan(normal).any() else to_camera
    if np.isnan(to_camera).any():
        to_camera = facing
    if np.isnan(facing).any():
        return None
    head = _head(facing, to_camera)
    shares = both_shares(at)
    sides = []
    for section_of, emitters, levels, which in (
        (at.moments.references, at.held, at.reference, 0),
        (at.moments.sheets, rig.own, at.value, 1),
    ):
        colours = _colours(section_of[0], rig.lights, rig.environments, at.moments.frames[0])
        share = (
            None if shares is None or shares[0].stated[0] != shares[1].stated[0] else shares[which].share[0]
        )
        gives = np.nan_to_num(levels[0]) > 0.0
        sides.append(
            _lit(
                head,
                emitters,
                colours,
                share,
                gives | _may_shine(emitters, int(at.rows[0])),
                place,
                int(at.rows[0]),
            )
        )
    shown = np.concatenate([side[head.there] for side in sides])
    bright = np.sort(shown.max(axis=1))
    top = float(bright[int(len(bright) * 0.9)]) if len(bright) else 0.0
    if top <= 0.0:
        return None
    held, own = (side / top * 0.8 for side in sides)
    return Figure(mark, own, held)


@dataclass(frozen=True, slots=True)
class _Seen:
    """The head as it is seen: which pixels show it, and of those the place on it and the normal, in the world's axes."""

    there: Mask
    place: Array
    normal: Array
    nose: tuple[Array, Array]
    """Its middle and, row by row, its axes over their half lengths."""


def _head(facing: Array, to_camera: Array) -> _Seen:
    right = -level_across(facing[None])[0]
    up = cross(right[None], -facing[None])[0]
    up = up if up[1] >= 0.0 else -up
    right = cross(up[None], facing[None])[0]
    axes = np.stack([right, up, facing])
    x = -level_across(to_camera[None])[0]
    y = cross(to_camera[None], x[None])[0]
    steps = (np.arange(SIZE) + 0.5) / SIZE * 2.2 - 1.1
    across, down = np.meshgrid(steps, -steps)
    start = across[..., None] * x + down[..., None] * y + 4.0 * to_camera
    rays = start.reshape(-1, 3)
    nose_at = _NOSE_AT[0] * right + _NOSE_AT[1] * up + _NOSE_AT[2] * facing
    middle = np.zeros(3)
    best, normal = np.full(len(rays), np.inf), np.full((len(rays), 3), np.nan)
    for centre, half in ((middle, _HEAD), (nose_at, _NOSE)):
        scaled = axes / np.array(half)[:, None]
        far = _meets(rays - centre, -to_camera, scaled)
        nearer = far < best
        best[nearer] = far[nearer]
        on = rays[nearer] - to_camera * far[nearer, None] - centre
        normal[nearer] = unit(_mapped(scaled.T, _mapped(scaled, on)))
    there = np.isfinite(best)
    place = rays[there] - to_camera * best[there, None]
    return _Seen(there.reshape(SIZE, SIZE), place, normal[there], (nose_at, axes / np.array(_NOSE)[:, None]))


def _mapped(matrix: Array, vectors: Array) -> Array:
    return np.stack([projection(np.broadcast_to(row, vectors.shape), vectors) for row in matrix], axis=-1)


def _meets(start: Array, way: Array, scaled: Array) -> Array:
    """How far along `way` (3,) or (n, 3) rays from `start` (n, 3) first meet the ellipsoid, infinite where they do not."""
    a, b = _mapped(scaled, np.broadcast_to(way, start.shape)), _mapped(scaled, start)
    size, half, rest = projection(a, a), projection(a, b), projection(b, b) - 1.0
    inner = half * half - size * rest
    with np.errstate(invalid="ignore"):
        far = (-half - np.sqrt(inner)) / size
    return np.where((inner > 0.0) & (far > 0.0), far, np.inf)


def _may_shine(emitters: tuple[Emitter, ...], row: int) -> Mask:
    """Lights behind the face may light its back and its sides."""
    return np.array([bool(one.there[row] and one.level[row] > 0.0) for one in emitters], dtype=np.bool_)


def _colours(
    sheet: Sheet, lights: tuple[str, ...], skies: tuple[str, ...], frame: float
) -> list[Value | None]:
    names = [("lights", name) for name in lights] + [("environments", name) for name in skies]
    groups = [sheet.sections.get(section, {}).get(name) for section, name in names]
    return list(column(groups, "colour", [frame] * len(groups)))


def _lit(
    head: _Seen,
    emitters: tuple[Emitter, ...],
    colours: list[Value | None],
    share: Array | None,
    shines: Mask,
    place: Array,
    row: int,
) -> Array:
    """The head under these lights, linear, as bright as they are."""
    found = np.full((SIZE, SIZE, 3), np.nan)
    total = np.zeros((len(head.normal), 3))
    grid = _normals()
    normals, known = grid
    rows = np.full(len(normals), row, dtype=np.intp)
    places = MarkPlace(np.broadcast_to(place, normals.shape), normals)
    for light, emitter in enumerate(emitters):
        if not shines[light]:
            continue
        received = np.nan_to_num(emitter.received(places, rows))
        gets = _between(received[known], head.normal)
        one = MarkPlace(place[None], np.full((1, 3), np.nan))
        shining = emitter.direction_at(one, np.array([row]))[0]
        if not np.isnan(shining).any():
            start = head.place - head.nose[0] + head.normal * 0.02
            on_nose = lengths(_mapped(head.nose[1], head.place - head.nose[0])) < 1.05
            gets = np.where(np.isfinite(_meets(start, -shining, head.nose[1])) & ~on_nose, 0.0, gets)
        weight = 1.0 if share is None else float(share[light])
        total += gets[:, None] * (_tint(colours[light]) * weight * _GREY)
    found[head.there] = total
    return found


def _tint(colour: Value | None) -> Array:
    """The linear colour of a light, of luminance 1."""
    if not isinstance(colour, Colour):
        return np.ones(3)
    rgb = np.maximum(np.array(rgb_of((colour.u, colour.v))), 0.0)
    weights = np.array(LUMINANCE["rec709"], dtype=np.float64)
    return np.asarray(rgb / float(projection(rgb, weights)))


def _normals() -> tuple[Array, Rows]:
    """Normals all around, by the two halves of an octahedron folded flat, (n, 3), and their places in its square."""
    steps = np.linspace(-1.0, 1.0, _STEPS)
    u, v = np.meshgrid(steps, steps, indexing="ij")
    z = 1.0 - np.abs(u) - np.abs(v)
    x = np.where(z >= 0.0, u, (1.0 - np.abs(v)) * np.where(u >= 0.0, 1.0, -1.0))
    y = np.where(z >= 0.0, v, (1.0 - np.abs(u)) * np.where(v >= 0.0, 1.0, -1.0))
    normals = unit(np.stack([x.ravel(), y.ravel(), z.ravel()], axis=1))
    return normals, np.arange(len(normals)).reshape(_STEPS, _STEPS)


def _between(values: Array, normal: Array) -> Array:
    """What lies between the values at `_normals` (steps, steps), at these normals (n, 3)."""
    size = np.abs(normal[:, 0]) + np.abs(normal[:, 1]) + np.abs(normal[:, 2])
    x, y, z = (normal[:, axis] / size for axis in range(3))
    u = np.where(z >= 0.0, x, (1.0 - np.abs(y)) * np.where(x >= 0.0, 1.0, -1.0))
    v = np.where(z >= 0.0, y, (1.0 - np.abs(x)) * np.where(y >= 0.0, 1.0, -1.0))
    a, b = ((part + 1.0) / 2.0 * (_STEPS - 1) for part in (u, v))
    i, j = (np.minimum(part.astype(np.intp), _STEPS - 2) for part in (a, b))
    s, t = a - i, b - j
    along = values[i, j] * (1.0 - s) + values[i + 1, j] * s
    beside = values[i, j + 1] * (1.0 - s) + values[i + 1, j + 1] * s
    return np.asarray(along * (1.0 - t) + beside * t)
