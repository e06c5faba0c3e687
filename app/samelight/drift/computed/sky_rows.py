"""Sun against sky: `sky.ENVIRONMENT.sun_angle`, how far the sun's azimuth stands from the environment's rotation.

Sun and sky turn together or not at all: when one was turned alone, the bright part of the sky no longer lies behind
the sun. The sun is the master's brightest distant light; in a shot the light of that name, or where there is none its
own brightest distant light. Both turns are clockwise seen from above; a rotation not stated is 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from samelight.drift.cells import ABSENT
from samelight.drift.computed.columns import Array, Words, column, numbers
from samelight.drift.computed.derived_row import Notes, RowName, derived_row, number_pairs
from samelight.drift.computed.emitters import Emitter
from samelight.drift.computed.rig import Rig
from samelight.drift.rows import ExtraRow
from samelight.drift.words import number_text
from samelight.light.elementary import arctan2, hypot
from samelight.light.key import STEEP
from samelight.light.noise import first_largest_of_rows, reaches
from samelight.sheets.values import Group
from samelight.sheets.vocabulary import ANGLE

NO_SUN = "no distant light"
OVERHEAD = "the sun stands too steep to have an azimuth"


def sky_rows(rig: Rig) -> list[ExtraRow]:
    """A row for each of the references' environments of which some sheet states the rotation; none without a sun."""
    suns = _suns(rig)
    if (suns[0].light < 0).all():
        return []
    no_angle = np.where(suns[0].why == "", suns[1].why, suns[0].why)
    rows = []
    for name in rig.moments.reference_names(_SECTION):
        rotations = _rotations(rig, name)
        if all(np.isnan(side).all() for side in rotations):
            continue
        reference, value = _angles(rig, name)
        missing = no_angle.copy()
        missing[[group is None for group in rig.moments.groups(_SECTION, name)]] = ABSENT
        missing[[group is None for group in rig.moments.reference_groups(_SECTION, name)]] = ""
        rows.append(_row(rig, name, reference, value, missing))
    return [row for row in rows if row is not None]


class _Sun(NamedTuple):
    """The sun of one side over the moments: which light, its azimuth clockwise from -Z, why it has none."""

    light: Array
    azimuth: Array
    why: Words


def _suns(rig: Rig) -> tuple[_Sun, _Sun]:
    """The sun of the references and of the shots."""
    count, lights = len(rig.moments), len(rig.lights)
    setup, own = rig.setup[:lights], rig.own[:lights]
    sun = _brightest(setup, count)
    followed = _followed(own, sun, count)
    return _Sun(sun, *_azimuth(setup, sun)), _Sun(followed, *_azimuth(own, followed))


_SECTION = "environments"


def _groups(rig: Rig, name: str) -> tuple[Sequence[Group | None], Sequence[Group | None]]:
    """An environment in the references and in the shots."""
    return rig.moments.reference_groups(_SECTION, name), rig.moments.compared_groups(_SECTION, name)


def _rotations(rig: Rig, name: str) -> tuple[Array, Array]:
    """The environment's rotation in the reference and in the shots, NaN where not stated."""
    held, own = (column(side, "rotation", rig.moments.frames) for side in _groups(rig, name))
    return numbers(held), numbers(own)


def _angles(rig: Rig, name: str) -> tuple[Array, Array]:
    """The angle between sun and environment on both sides, NaN where the environment is not there."""
    sides = zip(_suns(rig), _rotations(rig, name), _groups(rig, name), strict=True)
    reference, value = (_there(its, _turn(sun.azimuth - np.nan_to_num(turn))) for sun, turn, its in sides)
    return reference, value


def angle_words(rig: Rig, name: str) -> list[str]:
    """How the angle comes about in the only shot of the rig and in its reference, in words."""
    if name not in rig.environments:
        return []
    reference, value = _angles(rig, name)
    moment = int(rig.moments.worst(_turn(value - reference))[0])
    lines = []
    for whose, sun, turns in zip(("reference", "shot"), _suns(rig), _rotations(rig, name), strict=True):
        if sun.why[moment]:
            lines.append(f"{whose}: {sun.why[moment]}")
            continue
        light, azimuth = rig.lights[int(sun.light[moment])], float(sun.azimuth[moment]) % 360.0
        turn = float(np.nan_to_num(turns[moment]))
        angle = float(_turn(np.array(azimuth - turn)))
        figures = [number_text(figure, 5) for figure in (azimuth, turn, angle)]
        lines.append(f"{whose}: azimuth of {light} {figures[0]}° − rotation {figures[1]}° = {figures[2]}°")
    return lines[::-1]


def _row(rig: Rig, name: str, reference: Array, value: Array, missing: Words) -> ExtraRow | None:
    return derived_row(
        RowName("sky", name, "sun_angle", ANGLE),
        rig.shots,
        rig.moments,
        _turn(value - reference),
        lambda m: number_pairs(reference[m], value[m]),
        Notes(missing=missing),
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
    return np.where(levels.max(axis=1) > 0.0, first_largest_of_rows(levels), -1).astype(np.float64)


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
    why[reaches(np.degrees(arctan2(np.abs(y), hypot(x, z))), STEEP)] = OVERHEAD
    return np.degrees(arctan2(-x, z)), why


def _turn(angle: Array) -> Array:
    """An angle as a turn in (-180, 180]."""
    return 180.0 - (180.0 - angle) % 360.0
