"""Rows of key and fill at a mark: which light is the key, how far it stands over the rest, whence it comes.

The key is the brightest light at the mark; environments are fill, however bright. Two rules keep a figure on an edge
from tipping over for nothing: the reference's key stays the key while it is within a quarter of a stop of the brightest
(`KEY_HOLDS`), and a key that turned less than 5 degrees stays on its side (`SIDE_HOLDS`). Sides are as the shot's own
camera sees them, for the reference too: a cut to another camera is no drift of light.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.drift.computed.columns import Array, Words, words
from samelight.drift.computed.derived_row import (
    NEITHER,
    Notes,
    Pair,
    RowName,
    bearing_pairs,
    bearings_apart,
    beside,
    derived_row,
    level_pairs,
    number_pairs,
    stops_apart,
)
from samelight.drift.computed.mark_levels import MarkLevels
from samelight.drift.computed.moments import Rows
from samelight.drift.rows import ExtraRow
from samelight.light.key import STEEP, key_of, key_side
from samelight.light.levels import RELATIVE
from samelight.light.noise import reaches
from samelight.sheets.vocabulary import ANGLE, CHOICE, LEVEL

KEY_HOLDS = 0.25
"""Stops under the brightest light within which the reference's key stays the key."""
SIDE_HOLDS = 5.0
"""Degrees within which a key that turned stays on its side."""

A_KEY = 0.01
"""Share of all light at a mark under which no light is a key: under a bright sky nobody sees whence it comes."""
NO_KEY = "no light gives a hundredth of all light here, so that there is no key"

Keys = NDArray[np.intp]


class KeyOfSide(NamedTuple):
    """Key and fill of one side at m moments. `light` is the key's place among the lights, -1 where there is none."""

    light: Keys
    level: Array
    fill: Array
    angle: Array
    height: Array
    size: Array
    name: Words


@dataclass(frozen=True)
class KeyLight:
    """The key at a mark, in the reference and in the shots."""

    at: MarkLevels
    reference: KeyOfSide
    value: KeyOfSide

    @cached_property
    def faint(self) -> NDArray[np.bool_]:
        """Where some light shines and neither side has one that gives a hundredth of all light: there is no key."""
        sides = self.reference, self.value
        under = [
            reaches(A_KEY * whole, side.level) for side, whole in zip(sides, self.at.totals, strict=True)
        ]
        lit = (self.reference.light >= 0) | (self.value.light >= 0)
        return np.asarray(under[0] & under[1] & lit)

    @cached_property
    def says(self) -> dict[int, str]:
        """What is said of the reference where its key moved or turned in the shot, and of what the lights leave out."""
        lights = self.reference.light.tolist()
        said = {index: self.at.held_as(index) for index in sorted(set(lights)) if index >= 0}
        held = {
            row: said[index][row] for row, index in enumerate(lights) if index >= 0 and row in said[index]
        }
        return beside(held, self.at.lights_uncounted)


def key_at(at: MarkLevels) -> KeyLight:
    """The key of both sides at a mark."""
    count = len(at.rig.lights)
    of_reference = key_of(at.reference[:, :count]).light
    of_value = held_key(at.value[:, :count], of_reference)
    reference, value = _side(at, of_reference, of_master=True), _side(at, of_value, of_master=False)
    turned = np.abs((value.angle - reference.angle + 180.0) % 360.0 - 180.0)
    raised = np.abs(value.height - reference.height)
    holds = reaches(SIDE_HOLDS, turned) & reaches(SIDE_HOLDS, raised)
    names = np.where(holds & (value.name != ""), reference.name, value.name)
    return KeyLight(at, reference, value._replace(name=names))


def held_key(levels: Array, wanted: Keys) -> Keys:
    """The brightest light at each moment, or the wanted one where that is within `KEY_HOLDS` of it."""
    found = key_of(levels)
    if levels.shape[1] == 0:
        return found.light
    theirs = np.nan_to_num(levels[np.arange(len(levels)), np.maximum(wanted, 0)])
    holds = (wanted >= 0) & (found.light >= 0) & reaches(theirs, found.level * 2.0**-KEY_HOLDS)
    return np.asarray(np.where(holds, wanted, found.light))


def key_apart(levels: Array, key: Keys) -> tuple[Array, Array]:
    """The level of the key at each moment, 0 without one, and the levels (n, k) of everything else."""
    rest = np.nan_to_num(levels)
    known = np.flatnonzero(key >= 0)
    level = np.zeros(len(key))
    level[known] = rest[known, key[known]]
    rest[known, key[known]] = 0.0
    return level, rest


def each_key(key: Keys) -> Iterator[tuple[int, Rows]]:
    """Each light that is the key at some moment, and these moments."""
    return ((light, np.flatnonzero(key == light)) for light in sorted(set(key.tolist())) if light >= 0)


def _side(at: MarkLevels, key: Keys, *, of_master: bool) -> KeyOfSide:
    level, rest = key_apart(at.reference if of_master else at.value, key)
    direction, size = np.full((len(key), 3), np.nan), np.full(len(key), np.nan)
    for index, here in each_key(key):
        light = (at.held if of_master else at.rig.own)[index]
        direction[here] = light.direction_at(at.place.of(here), at.rows[here])
        size[here] = light.apparent_size(at.place.of(here), at.rows[here])
    side = key_side(direction, _towards_camera(at))
    return KeyOfSide(key, level, rest.sum(axis=1), side.angle, side.height, size, words(side.name))


def _towards_camera(at: MarkLevels) -> Array:
    position, looks = (part[at.rows] for part in at.rig.camera)
    return np.asarray(np.where(np.isnan(position), -looks, position - at.place.position))


def key_rows(at: MarkLevels) -> list[ExtraRow]:
    """The rows of key and fill at a mark."""
    key = key_at(at)
    found = [_choice(key), *_levels(key), _side_row(key), *_angles(key)]
    return [row for row in found if row is not None]


def _notes(
    key: KeyLight,
    says: dict[int, str],
    missing: str = "",
    where: NDArray[np.bool_] | None = None,
    *,
    of_key: bool = True,
) -> Notes:
    """The notes on a row: why there are no figures at a moment, first since nothing adds up, then as given."""
    why = key.at.not_summed.copy()
    if of_key:
        why[(why == "") & key.faint] = NO_KEY
    if where is not None:
        why[(why == "") & where] = missing
    return Notes(missing=why, says=says)


def _choice(key: KeyLight) -> ExtraRow | None:
    names = np.array([*key.at.rig.lights, ""], dtype=np.object_)
    reference, value = names[key.reference.light], names[key.value.light]
    return _text_row(key, "key", reference, value)


def _side_row(key: KeyLight) -> ExtraRow | None:
    return _text_row(key, "key_side", key.reference.name, key.value.name)


def _text_row(key: KeyLight, leaf: str, reference: Words, value: Words) -> ExtraRow | None:
    def pairs(moments: Rows) -> list[Pair]:
        both = zip(reference[moments].tolist(), value[moments].tolist(), strict=True)
        return [NEITHER if not (a or b) else (a, a) if a == b else (a or None, b or None) for a, b in both]

    deviation = np.asarray(reference != value, dtype=np.float64)
    return derived_row(
        RowName("marks", key.at.mark, leaf, CHOICE),
        key.at.shots,
        key.at.moments,
        deviation,
        pairs,
        _notes(key, key.says),
    )


def _levels(key: KeyLight) -> list[ExtraRow | None]:
    at, quantities = key.at, key.at.summed_quantities
    none = (key.reference.light < 0) & (key.value.light < 0)
    without = (key.reference.fill <= 0.0) | (key.value.fill <= 0.0)
    one = (key.reference.light < 0) | (key.value.light < 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratios = key.reference.level / key.reference.fill, key.value.level / key.value.fill
    plain = (np.full(len(at.moments), RELATIVE, dtype=np.object_),) * 2
    return [
        _level_row(
            key, "fill", (key.reference.fill, key.value.fill), quantities, ("no light reaches it", none)
        ),
        _level_row(
            key,
            "key_to_fill",
            ratios,
            plain,
            ("the reference or the shot has no key or no fill", without | one),
        ),
    ]


def _level_row(
    key: KeyLight,
    leaf: str,
    sides: tuple[Array, Array],
    quantities: tuple[Words, Words],
    missing: tuple[str, NDArray[np.bool_]],
) -> ExtraRow | None:
    (reference, value), (of_reference, of_value) = sides, quantities
    return derived_row(
        RowName("marks", key.at.mark, leaf, LEVEL),
        key.at.shots,
        key.at.moments,
        stops_apart(reference, value),
        lambda m: level_pairs(reference[m], value[m], (of_reference[m], of_value[m])),
        _notes(key, beside(key.at.held_together(), key.at.all_uncounted), *missing, of_key=leaf != "fill"),
    )


def _angles(key: KeyLight) -> list[ExtraRow | None]:
    reference, value = key.reference, key.value
    steep = reaches(np.abs(reference.height), STEEP) | reaches(np.abs(value.height), STEEP)
    overhead = dict.fromkeys(np.flatnonzero(steep).tolist(), OVERHEAD)
    bearings = (reference.angle, reference.height), (value.angle, value.height)
    return [
        _angle_row(
            key,
            "key_angle",
            bearings_apart(*bearings),
            lambda m: bearing_pairs(*((angle[m], height[m]) for angle, height in bearings)),
            overhead,
        ),
        _number_row(key, "key_height", reference.height, value.height),
        _number_row(key, "key_size", reference.size, value.size),
    ]


OVERHEAD = "straight above or below: a side means little"


def _number_row(key: KeyLight, leaf: str, reference: Array, value: Array) -> ExtraRow | None:
    return _angle_row(
        key, leaf, value - reference, lambda moments: number_pairs(reference[moments], value[moments]), {}
    )


def _angle_row(
    key: KeyLight,
    leaf: str,
    deviation: Array,
    pairs: Callable[[Rows], Sequence[Pair]],
    says: Mapping[int, str],
) -> ExtraRow | None:
    return derived_row(
        RowName("marks", key.at.mark, leaf, ANGLE),
        key.at.shots,
        key.at.moments,
        deviation,
        pairs,
        _notes(key, beside(key.says, says)),
    )
