"""A mark under the lights of a sheet: what it and the two sides of its face receive of each, in which colour.

What stands in the way of light is beside it, and not in it (see `Lit.obstructed`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.drift.computed.columns import Array, Column, Mask, Words, column
from samelight.drift.computed.emitters import (
    Emitter,
    MarkPlace,
    emitters_of,
    received_by,
    received_quantity,
)
from samelight.drift.computed.in_the_way import Shares, shares_of
from samelight.drift.computed.mark_levels import MarkLevels
from samelight.drift.computed.moments import Rows
from samelight.drift.computed.rig import mark_of, place_of
from samelight.drift.computed.tints import mixture, tints, tints_of_maps
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group

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


def added(levels: Array) -> Array:
    """The sum of known levels (n, k), light by light, so that it is one sum on every processor."""
    total = np.zeros(len(levels))
    for light in np.nan_to_num(levels).T:
        total = total + light
    return total


Names = dict[str, tuple[str, ...]]
"""The lights and the environments."""


def lit_by(mark: str, sheets: Sequence[Sheet], frames: Sequence[float], names: Names) -> Lit:
    """A mark in sheets, each at its frame, under their lights of these names."""
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


def lit_in_shots(at: MarkLevels, names: Names) -> Lit:
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
