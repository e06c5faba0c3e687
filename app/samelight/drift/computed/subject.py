"""What a mark receives in its shot, beside what the same mark receives in the key shot: two subjects, each as it is lit.

Where another shot stands in the master's place and has the mark, its own mark stands in the key shot's (`held_sheet`).
What stands in the way of light counts where both marks say what they see.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.drift.computed.columns import Array, Column, Mask, Words, column, words
from samelight.drift.computed.emitters import (
    Emitter,
    MarkPlace,
    emitters_of,
    received_by,
    received_quantity,
)
from samelight.drift.computed.in_the_way import Shares, held_sheet, shares_of
from samelight.drift.computed.key_rows import A_KEY, each_key, held_key, key_apart
from samelight.drift.computed.mark_levels import NOT_SUMMED, MarkLevels, both_quantities, summed_quantity
from samelight.drift.computed.moments import Rows
from samelight.drift.computed.rig import mark_of, place_of
from samelight.drift.computed.tints import mixture, tints, tints_of_maps
from samelight.light.key import key_of, key_side
from samelight.light.noise import reaches
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group

NO_MARK = "the key shot has no such mark to hold it against"

_CHEEK = (0.5, 0.8660254037844386)
"""Cosine and sine of 60 degrees: how far a cheek is turned from where the face looks."""


@dataclass(frozen=True)
class Lit:
    """A mark at n moments under the lights of its own sheet: `levels` (n, k) of lights and then environments.

    `quantities` (n, k) are what they are in, `tint` their colours (see `tints`), `uncounted` (n, k) what of a light is not
    counted. `on_cheeks` (n, 2, k) is their light on the two sides of the face. `lights` is how many of the k are no
    environments, `shares` how much the mark sees of each.
    """

    names: tuple[str, ...]
    lights: int
    place: MarkPlace
    levels: Array
    there: Mask
    quantities: Words
    uncounted: Words
    tint: Sequence[tuple[Array, Array]]
    on_cheeks: Array
    shares: Shares
    emitters: Sequence[Emitter]
    rows: Rows

    @cached_property
    def total(self) -> Array:
        """All known light, shape (n,)."""
        return added(self.levels)

    @cached_property
    def cheeks(self) -> Array:
        """All light on the two sides of the face, shape (n, 2)."""
        return np.stack([added(self.on_cheeks[:, side]) for side in range(2)], axis=1)

    def obstructed(self, where: Mask) -> Lit:
        """The mark as what stands in the way leaves it, at some of its moments."""
        share = np.where(where[:, None], self.shares.share, 1.0)
        return replace(self, levels=self.levels * share, on_cheeks=self.on_cheeks * share[:, None, :])

    @cached_property
    def colour(self) -> Array:
        """u'v' of all light, shape (n, 2)."""
        return mixture(self.levels, self.tint)

    def of(self, rows: Rows) -> Lit:
        """The mark at some of its moments."""
        return Lit(
            self.names,
            self.lights,
            self.place.of(rows),
            self.levels[rows],
            self.there[rows],
            self.quantities[rows],
            self.uncounted[rows],
            [(x[rows], z[rows]) for x, z in self.tint],
            self.on_cheeks[rows],
            Shares(self.shares.share[rows], self.shares.stated[rows]),
            self.emitters,
            self.rows[rows],
        )


class FacedKey(NamedTuple):
    """Key and fill of a mark at n moments, and whence the key comes as whoever looks at its face sees it.

    `light` is the key's place among the lights, -1 where there is none; `angle` in degrees as `light.key.KeySide`.
    """

    light: Rows
    level: Array
    fill: Array
    angle: Array
    height: Array
    side: Words
    faint: Mask


@dataclass(frozen=True)
class LitSubject:
    """A mark in its shots (`own`, n moments) beside the one that it is compared with (`held`, the same n moments).

    `of` names the shot of the latter, "" where there is none: neither the reference nor the key shot has the mark.
    """

    at: MarkLevels
    own: Lit
    held: Lit
    of: tuple[str, ...]

    @cached_property
    def keys(self) -> tuple[FacedKey, FacedKey]:
        """Key and fill of `held` and of `own`; the key stays the key as at other marks (`key_rows.KEY_HOLDS`)."""
        held = key_of(self.held.levels[:, : self.held.lights]).light
        return _faced(self.held, held), _faced(
            self.own, held_key(self.own.levels[:, : self.own.lights], held)
        )

    @cached_property
    def quantities(self) -> tuple[Words, Words]:
        """In what the sums of `held` and `own` are; "" where they do not add up."""
        held, own = (summed_quantity(side.levels, side.quantities) for side in (self.held, self.own))
        return both_quantities(held, own)

    @cached_property
    def not_compared(self) -> Words:
        """Why the two cannot be compared with each other at a moment; "" where they can."""
        why = np.full(len(self.of), "", dtype=np.object_)
        why[np.array([name == "" for name in self.of], dtype=np.bool_)] = NO_MARK
        held, own = self.held, self.own
        uneven = (np.isnan(held.levels) != np.isnan(own.levels)) & held.there & own.there
        for light in np.flatnonzero(uneven.any(axis=0)).tolist():
            why[(why == "") & uneven[:, light]] = (
                f"the level of {own.names[light]} is known in one of the two shots only"
            )
        reference, value = self.quantities
        why[(why == "") & ((reference == "") | (value == ""))] = NOT_SUMMED
        return why

    @cached_property
    def uncounted(self) -> dict[int, str]:
        """What the sums leave out, by moment."""
        said: dict[int, list[str]] = {}
        own, held = self.own, self.held
        left_out = (own.uncounted != "") | (held.uncounted != "")
        unknown = np.isnan(own.levels) | np.isnan(held.levels)
        for light in np.flatnonzero((left_out | unknown).any(axis=0)).tolist():
            name = own.names[light]
            for row in np.flatnonzero(left_out[:, light]).tolist():
                what = own.uncounted[row, light] or held.uncounted[row, light]
                said.setdefault(row, []).append(f"the {what} of {name}")
            for row in np.flatnonzero(unknown[:, light]).tolist():
                said.setdefault(row, []).append(name)
        return {row: f"without {', '.join(parts)}" for row, parts in said.items()}


def added(levels: Array) -> Array:
    """The sum of known levels (n, k), light by light, so that it is one sum on every processor."""
    total = np.zeros(len(levels))
    for light in np.nan_to_num(levels).T:
        total = total + light
    return total


def subject_at(at: MarkLevels) -> LitSubject | None:
    """The subject at a mark; None where no moment has anything to be compared with."""
    chosen = [held_sheet(at, row) for row in range(len(at.moments))]
    distinct = list({(id(sheet), frame): (sheet, frame) for sheet, frame in filter(None, chosen)}.values())
    if not distinct:
        return None
    place = {(id(sheet), frame): index for index, (sheet, frame) in enumerate(distinct)}
    which = np.array([0 if one is None else place[id(one[0]), one[1]] for one in chosen], dtype=np.intp)
    sheets, frames = [sheet for sheet, _ in distinct], [frame for _, frame in distinct]
    names = {
        section: tuple(
            dict.fromkeys([*of_rig, *(name for one in sheets for name in _compared(at, one, section))])
        )
        for section, of_rig in (("lights", at.rig.lights), ("environments", at.rig.environments))
    }
    held = _lit_by(at.mark, sheets, frames, names)
    own, held = _own(at, names), held.of(which)
    both = own.shares.stated & held.shares.stated
    of = tuple("" if one is None else one[0].shot for one in chosen)
    return LitSubject(at, own.obstructed(both), held.obstructed(both), of)


def _compared(at: MarkLevels, sheet: Sheet, section: str) -> Iterable[str]:
    """The lights or environments of a sheet, where that section is compared at all."""
    return sheet.sections.get(section, {}) if at.moments.compared(section).any() else ()


_Names = dict[str, tuple[str, ...]]


def _lit_by(mark: str, sheets: Sequence[Sheet], frames: Sequence[float], names: _Names) -> Lit:
    groups: list[list[Group | None]] = []
    emitters: list[Emitter] = []
    for section, of_section in names.items():
        found = [[sheet.sections.get(section, {}).get(name) for sheet in sheets] for name in of_section]
        groups += found
        emitters += emitters_of(section, found, frames) if found else []
    place = place_of([mark_of(sheet, mark) for sheet in sheets], frames)
    rows = np.arange(len(sheets), dtype=np.intp)
    every = tuple(name for of_section in names.values() for name in of_section)
    cheeks = _Cheeks.of(place)
    whole = MarkPlace(
        np.concatenate((place.position, cheeks.place.position)),
        np.concatenate((place.normal, cheeks.place.normal)),
    )
    received = received_by(emitters, whole, np.concatenate((rows, cheeks.rows)), len(rows))
    return Lit(
        every,
        len(names["lights"]),
        place,
        received[: len(rows)],
        _stacked([one.there for one in emitters], rows),
        _stacked([received_quantity(one.quantity) for one in emitters], rows),
        _stacked([one.uncounted for one in emitters], rows),
        [
            _tint(column(of_name, "colour", frames), one, place, rows)
            for of_name, one in zip(groups, emitters, strict=True)
        ],
        cheeks.spread(received[len(rows) :], len(rows)),
        shares_of([mark_of(sheet, mark) for sheet in sheets], every, frames),
        emitters,
        rows,
    )


def _own(at: MarkLevels, names: _Names) -> Lit:
    """The shots' side, whose levels are known; what only the other side has gives it nothing."""
    rig, rows, size = at.rig, at.rows, len(at.moments)
    places = {name: index for index, name in enumerate(names["lights"])}
    shift = len(places)
    places_of = [places[name] for name in rig.lights]
    places_of += [shift + names["environments"].index(name) for name in rig.environments]
    width = sum(map(len, names.values()))

    def spread(values: NDArray[Any], filler: object) -> NDArray[Any]:
        found = np.full((size, width), filler, dtype=values.dtype)
        found[:, places_of] = values
        return found

    white = tints([None] * size)
    tint = [white] * width
    sections = ["lights"] * len(rig.lights) + ["environments"] * len(rig.environments)
    for index, section, name, one in zip(places_of, sections, rig.names, rig.own, strict=True):
        colours = column(at.moments.compared_groups(section, name), "colour", at.moments.frames)
        tint[index] = _tint(colours, one, at.place, rows)
    every = tuple(name for of_section in names.values() for name in of_section)
    cheeks = _Cheeks.of(at.place)
    received = received_by(rig.own, cheeks.place, rows[cheeks.rows], len(rig.moments))
    on_cheeks = np.zeros((size, 2, width))
    on_cheeks[:, :, places_of] = cheeks.spread(received, size)
    return Lit(
        every,
        shift,
        at.place,
        spread(at.value, 0.0),
        spread(at.there[1], False),
        spread(at.quantities[1], ""),
        spread(_stacked([one.uncounted for one in rig.own], rows), ""),
        tint,
        on_cheeks,
        shares_of(at.moments.groups("marks", at.mark), every, at.moments.frames),
        _placed(rig.own, places_of, width),
        rows,
    )


def _tint(colours: Column, light: Emitter, place: MarkPlace, rows: Rows) -> tuple[Array, Array]:
    """The `tints` of a light at a mark: an environment's map has the colour of what the mark receives of it.

    A picture on a rect has that of the rect.
    """
    plain = tints(colours)
    maps = light.map[rows]  # a copy, by their numbers
    maps[light.shape[rows] == "rect"] = None
    return tints_of_maps(plain, maps, place.normal, light.turn[rows], light.tint[rows])


def _placed(emitters: Sequence[Emitter], places: Sequence[int], width: int) -> list[Emitter]:
    """Lights at their places among all; at the place of one that is not there stands another, which nobody asks for."""
    found = list(emitters[:1]) * width
    for place, one in zip(places, emitters, strict=True):
        found[place] = one
    return found


def _stacked(columns: Sequence[NDArray[Any]], rows: Rows) -> NDArray[Any]:
    """What lights state over all moments, at these rows, shape (rows, lights)."""
    return np.stack([one[rows] for one in columns], axis=1)


class _Cheeks(NamedTuple):
    """The sides of the face of a mark at those of its moments at which it has a normal: all of one side, then of the other.

    `rows` are these moments, each twice, and `place` the surfaces at them.
    """

    rows: Rows
    place: MarkPlace

    @classmethod
    def of(cls, place: MarkPlace) -> _Cheeks:
        known = np.flatnonzero(~np.isnan(place.normal[:, 0]))
        x, y, z = place.normal[known].T
        cosine, sine = _CHEEK
        normals = [
            np.stack([cosine * x + turn * z, y, cosine * z - turn * x], axis=1) for turn in (sine, -sine)
        ]
        rows = np.tile(known, 2)
        return cls(rows, MarkPlace(place.position[rows], np.concatenate(normals)))

    def spread(self, received: Array, moments: int) -> Array:
        """The light of each that they receive, shape (moments, 2, lights); NaN where the face has no normal."""
        found = np.full((moments, 2, received.shape[1]), np.nan)
        found[self.rows, np.repeat((0, 1), len(self.rows) // 2)] = received
        return found


def _faced(lit: Lit, key: Rows) -> FacedKey:
    level, rest = key_apart(lit.levels, key)
    direction = np.full((len(key), 3), np.nan)
    for index, here in each_key(key):
        direction[here] = lit.emitters[index].direction_at(lit.place.of(here), lit.rows[here])
    side = key_side(direction, lit.place.normal)
    faint = reaches(A_KEY * lit.total, level)
    return FacedKey(key, level, added(rest), side.angle, side.height, words(side.name), faint)
