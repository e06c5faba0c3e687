"""Which lights follow a mark, at each moment: those that moved and turned as the mark did.

The mark's way leads from the mark of what the shot is compared with (for a master, which has none, the key shot's) to
the shot's own; the light's from where it stands there to where it stands in the shot. The two ways are compared with
each other in two ways of being carried along:

- *beside the mark*: the light keeps its distance and bearing from the mark, however the mark turns. Its way is the
  mark's. It points as before, or past the mark as before (so that one aimed at the mark still is), or it turned as the
  mark's normal did.
- *as one body with the mark*: the mark's normal turned, and the light went round the mark with it, as when a whole set
  is turned with all its lights. It points past the mark as before, or turned as the normal did.

A light follows if it stands where it would then stand, give or take a tenth of the way that it would go (`SHARE`), or 5
cm where that is more (`ROOM`), yet never more than a quarter of the way (`MOST`), and if it points where it would then
point, give or take 5 degrees (`AIM`). Places are typed to the centimetre and lights set beside an actor by eye, so that
a way of metres is met within decimetres; a light whose way is off by more than that went somewhere of its own. Of a
light within these bounds nothing is hidden: it is compared with the master's light carried along, which tells what the
rest of its way and of its turn does to the mark.

So a light that was knocked while its character walked does not follow, nor does one that was nudged where the mark
stands still, nor one that went along and was turned away, nor one that stands still and only pans after a character: what it
gives to everything else in the picture has changed. A distant light has no place and follows nothing.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from samelight.drift.computed.columns import Array, Mask
from samelight.drift.computed.emitters import STILL, Emitter, MarkPlace
from samelight.drift.computed.moments import Rows
from samelight.light.noise import NOISE, reaches
from samelight.light.rows import cross, lengths, projection, unit

SHARE = 0.1
"""Of the way that a light would go with the mark: how far off it may stand."""
ROOM = 0.05
"""Metres that it may be off in any case: places are typed to the centimetre, four of them make up a way."""
MOST = 0.25
"""Of the way, the most that `ROOM` may allow: short ways are no reason to call every nudge one."""
AIM = 5.0
"""Degrees by which it may point elsewhere."""


def carried_along(
    own: Emitter, setup: Emitter, place: MarkPlace, key: MarkPlace, rows: Rows
) -> tuple[Mask, Emitter]:
    """Where a light follows the mark, shape (rows,), and the reference's light, there carried along with the mark.

    `place` and `key`, of these rows, are the mark in the shot and in what it is compared with. The emitters are over
    all moments of a rig, and so is the one returned.
    """
    stands, pointed, axis = setup.position[rows], setup.direction[rows], setup.across[rows]
    found, points = own.position[rows], own.direction[rows]
    turn = _turn(key.normal, place.normal)
    beside, bound = (
        place.position - key.position + stands,
        _turned(turn, stands - key.position) + place.position,
    )
    bearing = _turn(unit(key.position - stands), unit(place.position - found))
    still, past, round_ = (
        _apart(aim, points) for aim in (pointed, _turned(bearing, pointed), _turned(turn, pointed))
    )
    limit = 2.0 * math.sin(math.radians(AIM) / 2.0)
    is_beside = _near(beside, stands, found) & reaches(limit, np.fmin(np.fmin(still, past), round_))
    is_bound = _near(bound, stands, found) & reaches(limit, np.fmin(past, round_))
    is_bound &= ~is_beside | (lengths(bound - found) + STILL < lengths(beside - found))
    turns = is_bound | (is_beside & (round_ + NOISE < np.fmin(still, past)))
    position, direction, across = setup.position.copy(), setup.direction.copy(), setup.across.copy()
    position[rows] = _chosen((is_beside, beside), (is_bound, bound), otherwise=stands)
    direction[rows] = _chosen((turns, _turned(turn, pointed)), otherwise=pointed)
    across[rows] = _chosen((turns, _turned(turn, axis)), otherwise=axis)
    return is_beside | is_bound, replace(setup, position=position, direction=direction, across=across)


def _near(expected: Array, stands: Array, found: Array) -> Mask:
    """Whether a light stands where it is expected, of the way there from where it stood; a way of nothing is none."""
    way = lengths(expected - stands)
    room = np.maximum(SHARE * way, np.minimum(ROOM, MOST * way))
    return np.asarray((way > STILL) & reaches(room, lengths(expected - found)))


def _apart(aim: Array, points: Array) -> Array:
    """How far two unit vectors are apart; 0 for a light that shines alike to every side in both."""
    alike = np.isnan(aim[:, 0]) & np.isnan(points[:, 0])
    return np.where(alike, 0.0, lengths(aim - points))


Turn = tuple[Array, Array]
"""The smallest turn of one unit vector onto another: its axis times its sine, and its cosine."""


def _turn(start: Array, end: Array) -> Turn:
    return cross(start, end), projection(start, end)


def _turned(turn: Turn, vectors: Array) -> Array:
    """Vectors turned (Rodrigues' formula); NaN where the turn is not known or a half one, whose axis is any."""
    axis, cosine = turn[0], turn[1][:, None]
    along = projection(axis, vectors)[:, None]
    with np.errstate(invalid="ignore", divide="ignore"):
        turned: Array = vectors * cosine + cross(axis, vectors) + axis * along / (1.0 + cosine)
    return turned


def _chosen(*choices: tuple[Mask, Array], otherwise: Array) -> Array:
    found = otherwise
    for where, vectors in choices:
        found = np.where(where[:, None], vectors, found)
    return found
