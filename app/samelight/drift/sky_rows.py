"""Sun against sky: `sky.ENVIRONMENT.sun_angle`, how far the sun's azimuth stands from the environment's rotation.

Sun and sky turn together or not at all: when one was turned alone, the bright part of the sky no longer lies behind
the sun. The sun is the master's brightest distant light; in a shot the light of that name, or where there is none its
own brightest distant light. Both turns are clockwise seen from above; a rotation not stated is 0.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from samelight.drift.cells import ABSENT, EXTRA
from samelight.drift.columns import Array, Words, column, numbers
from samelight.drift.derived_row import Name, Notes, derived_row, number_pairs
from samelight.drift.emitters import Emitter
from samelight.drift.rig import Rig
from samelight.drift.rows import ExtraRow
from samelight.light.key import STEEP
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group
from samelight.sheets.vocabulary import ANGLE

NO_SUN = "no distant light"
OVERHEAD = "the sun stands too steep to have an azimuth"


def sky_rows(rig: Rig, master: Sheet) -> list[ExtraRow]:
    """A row for each environment of which some sheet states the rotation."""
    count, frames = len(rig.moments), rig.moments.frames
    setup = rig.setup[: len(rig.lights)]
    sun = _brightest(setup, count)
    its_azimuth, why = _azimuth(setup, sun)
    azimuth, why_here = _azimuth(rig.own[: len(rig.lights)], _followed(rig.own[: len(rig.lights)], sun, count))
    missing = np.where(why == "", why_here, why)
    rows = []
    for name in rig.environments:
        groups = rig.moments.groups("environments", name)
        held: Sequence[Group | None] = [master.sections["environments"].get(name)] * count
        rotations = [numbers(column(side, "rotation", frames)) for side in (held, groups)]
        if all(np.isnan(side).all() for side in rotations):
            continue
        reference, value = (
            _turn(its - np.nan_to_num(rotation))
            for its, rotation in zip((its_azimuth, azimuth), rotations, strict=True)
        )
        rows.append(_row(rig, name, _there(held, reference), _there(groups, value), missing))
    return [row for row in rows if row is not None]


def _row(rig: Rig, name: str, reference: Array, value: Array, missing: Words) -> ExtraRow | None:
    alone = np.full(len(rig.moments), "", dtype=np.object_)
    alone[np.isnan(value)], alone[np.isnan(reference)] = ABSENT, EXTRA
    return derived_row(
        Name("sky", name, "sun_angle", ANGLE),
        rig.shots,
        rig.moments,
        _turn(value - reference),
        lambda m: number_pairs(reference[m], value[m]),
        Notes(missing=np.where(alone == "", missing, ""), ungraded=alone),
    )


def _there(groups: Sequence[Group | None], angle: Array) -> Array:
    return np.where(np.array([group is not None for group in groups], dtype=np.bool_), angle, np.nan)


def _distant(light: Emitter) -> Array:
    """The level of a light where it is distant, has a direction and is on; under 0 elsewhere."""
    with np.errstate(invalid="ignore"):
        on = light.there & (light.shape == "distant") & (light.level > 0.0)
    return np.where(on & ~np.isnan(light.direction[:, 0]), light.level, -1.0)


def _brightest(lights: Sequence[Emitter], count: int) -> Array:
    """The place of the brightest distant light at each moment, -1 where there is none."""
    if not lights:
        return np.full(count, -1.0)
    levels = np.stack([_distant(light) for light in lights], axis=1)
    return np.where(levels.max(axis=1) > 0.0, levels.argmax(axis=1), -1).astype(np.float64)


def _followed(lights: Sequence[Emitter], sun: Array, count: int) -> Array:
    """The master's sun where the shot has it as a distant light, else the shot's own brightest."""
    found = _brightest(lights, count)
    for index, light in enumerate(lights):
        found[(sun == index) & (_distant(light) > 0.0)] = index
    return found


def _azimuth(lights: Sequence[Emitter], sun: Array) -> tuple[Array, Words]:
    """The azimuth from which the chosen light comes, degrees clockwise from -Z, and why there is none, "" if there is."""
    direction = np.full((len(sun), 3), np.nan)
    for index, light in enumerate(lights):
        here = sun == index
        direction[here] = light.direction[here]
    x, y, z = direction.T
    why = np.where(sun < 0, NO_SUN, "").astype(np.object_)
    why[np.degrees(np.arctan2(np.abs(y), np.hypot(x, z))) >= STEEP] = OVERHEAD
    return np.degrees(np.arctan2(-x, z)), why


def _turn(angle: Array) -> Array:
    """An angle as a turn in (-180, 180]."""
    return 180.0 - (180.0 - angle) % 360.0
