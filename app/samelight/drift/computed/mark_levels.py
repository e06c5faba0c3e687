"""What each light gives at a mark in every shot, and what the master's gives there: the reference.

The master has no marks. For each shot and mark the reference is the master's lights at the shot's own mark, so that a
character who walks changes nothing by itself. A light that follows its mark, having moved and turned as the mark did
since the key shot (see `following` for how nearly), is compared there with the master's light carried along with the
mark: at its mark it keeps the level that the master's has at the key shot's. Every other light is compared with the
master's where that stands, however it moved or turned.

Where another shot stands in the master's place, its own marks stand in the key shot's.

So a spot that goes with its character keeps its level at the face while its position drifts, and an accidental nudge
shows the stops lost. A distant light has no place and follows nothing.

Left out, since a mark is a place and no surface: what stands between light and mark, light links (they name scene
paths), bounce light, filters, and profiles and textures that the sheet does not hold (`uncounted` says which). An environment whose map
the sheet holds is integrated over the hemisphere about the mark's normal; another counts as even, pi x level. Photometric
figures describe a made-up scene: on a real set a meter, local codes and licensed practice decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from samelight.drift.computed.columns import Array, Mask, Words
from samelight.drift.computed.emitters import Emitter, MarkPlace, blocks, joined
from samelight.drift.computed.following import carried_along
from samelight.drift.computed.moments import Moments, Rows
from samelight.drift.computed.rig import Rig, key_place, place_of
from samelight.light.levels import ILLUMINANCE, RELATIVE

NOISE = 1.0 / 64.0
"""Share of all light at a mark under which a light is noise there: six stops down, 1.6 % or 0.02 st of the sum."""


@dataclass(frozen=True)
class MarkLevels:
    """The levels at one mark: of m moments (those of the shots that have it) and k lights and environments.

    `value` and `reference` (m, k) are 0 where the sheet has no such light and NaN where its level is not known.
    `held` are the references' lights over all moments of the rig, carried along with the mark where they follow it, as
    `follows` says; `moved` marks the lights that stand or point elsewhere. `rows` are the moments among the rig's.
    """

    rig: Rig
    mark: str
    shots: tuple[str, ...]
    moments: Moments
    rows: Rows
    place: MarkPlace
    held: tuple[Emitter, ...]
    value: Array
    reference: Array
    follows: Mask
    moved: Mask
    quantities: tuple[Words, Words]
    there: tuple[Mask, Mask]

    @cached_property
    def totals(self) -> tuple[Array, Array]:
        """The sums of the known levels of reference and value, shape (m,) each."""
        return np.asarray(np.nansum(self.reference, axis=1)), np.asarray(np.nansum(self.value, axis=1))

    @cached_property
    def summed_quantities(self) -> tuple[Words, Words]:
        """In what the sums of reference and value are; "" where it would be two things at once."""
        sides = zip((self.reference, self.value), self.quantities, strict=True)
        reference, value = (summed_quantity(side, quantity) for side, quantity in sides)
        return both_quantities(reference, value)

    @cached_property
    def not_summed(self) -> Words:
        """Why a moment's lights cannot be summed and compared with the reference; "" where they can."""
        why = np.full(len(self.moments), "", dtype=np.object_)
        unknown = np.isnan(self.reference), np.isnan(self.value)
        uneven = (unknown[0] != unknown[1]) & self.there[0] & self.there[1]
        for index in np.flatnonzero(uneven.any(axis=0)).tolist():
            why[uneven[:, index]] = f"the level of {self.rig.names[index]} here is known on one side only"
        reference, value = self.summed_quantities
        why[(reference == "") | (value == "")] = NOT_SUMMED
        return why

    def held_as(self, light: int) -> dict[int, str]:
        """What is said of a light's reference, by moment, where the light moved or turned."""
        rows = np.flatnonzero(self.moved[:, light]).tolist()
        return {row: f"compared with {self.against(row, light)}" for row in rows}

    def uncounted(self, light: int) -> Words:
        """What of a light its level leaves out, at each moment, in the shot or in the reference; "" for nothing."""
        own, held = (side[light].uncounted[self.rows] for side in (self.rig.own, self.held))
        return np.asarray(np.where(own == "", held, own), dtype=np.object_)

    @cached_property
    def all_uncounted(self) -> dict[int, str]:
        """What the sum of all lights and environments leaves out, by moment."""
        return self._left_out(len(self.rig.names))

    @cached_property
    def lights_uncounted(self) -> dict[int, str]:
        """What is left out of the lights, one of which is the key, by moment."""
        return self._left_out(len(self.rig.lights))

    def _left_out(self, count: int) -> dict[int, str]:
        said: dict[int, list[str]] = {}
        for index, name in enumerate(self.rig.names[:count]):
            left_out = self.uncounted(index)
            for row in np.flatnonzero(left_out != "").tolist():
                what, bracket, why = left_out[row].partition(" (")
                said.setdefault(row, []).append(f"the {what} of {name}{bracket}{why}")
        return {row: f"without {', '.join(parts)}" for row, parts in said.items()}

    def held_together(self) -> dict[int, str]:
        """What is said of the reference of all lights together, by moment, where one follows its mark."""
        names = np.array(self.rig.names, dtype=np.object_)
        return {
            row: f"{', '.join(names[along].tolist())} compared with {self.against(row, int(along.argmax()))}"
            for row, along in enumerate(self.follows)
            if along.any()
        }

    def against(self, row: int, light: int) -> str:
        """What a light is compared with at a moment, in words."""
        reference = self.moments.references[row].shot
        if not self.follows[row, light]:
            return f"{reference}'s light at this shot's own mark" if reference else AT_OWN_MARK
        return (
            f"{reference}'s light carried along from the mark there{FOLLOWS}" if reference else CARRIED_ALONG
        )


AT_OWN_MARK = "the master's light at the shot's own mark"
FOLLOWS = ", since this light follows its mark"
CARRIED_ALONG = f"the master's light carried along from the key shot's mark{FOLLOWS}"
_DARK = "dark"
NOT_SUMMED = "relative and photometric levels do not add up"


def summed_quantity(levels: Array, quantity: Words) -> Words:
    """In what the sum of levels (m, k) of these quantities is; "" where it would be two things at once."""
    gives = levels > 0.0
    plain, metered = ((gives & (quantity == one)).any(axis=1) for one in (RELATIVE, ILLUMINANCE))
    found = np.full(plain.shape, _DARK, dtype=np.object_)
    found[plain] = RELATIVE
    found[metered] = ILLUMINANCE
    found[plain & metered] = ""
    return found


def both_quantities(reference: Words, value: Words) -> tuple[Words, Words]:
    """The quantities of two sums beside each other: a dark side has none of its own and takes the other's."""
    return (
        np.where(reference == _DARK, np.where(value == _DARK, RELATIVE, value), reference),
        np.where(value == _DARK, np.where(reference == _DARK, RELATIVE, reference), value),
    )


def levels_at(rig: Rig, mark: str) -> MarkLevels:
    """The levels at a mark of the shots that have it, and their references (see above)."""
    groups = rig.moments.groups("marks", mark)
    marked = np.array([group is not None for group in groups], dtype=np.bool_)
    has = (marked & rig.moments.compared("lights"))[rig.moments.first]
    moments, rows = rig.moments.of_shots(has)
    place = place_of([groups[row] for row in rows.tolist()], moments.frames)
    key = key_place(rig, moments, mark)
    has_key = ~np.isnan(key.position[:, 0])
    shape = (len(moments), len(rig.names))
    value, reference = np.zeros(shape), np.zeros(shape)
    follows, moved = np.zeros(shape, dtype=np.bool_), np.zeros(shape, dtype=np.bool_)
    held = list(rig.setup)
    count = len(rig.moments)
    for block in blocks(len(held), count):
        own, setup = joined(rig.own[block]), joined(rig.setup[block])
        lights = len(rig.own[block])
        # The moments of the lights that are joined, light by light, and which moment of the mark each is.
        flat = (np.arange(lights)[:, None] * count + rows).ravel()
        mark_at = np.tile(np.arange(len(rows)), lights)
        here = place.of(mark_at)
        moves = np.concatenate(rig.moved[block])[flat]
        along = np.zeros(flat.shape, dtype=np.bool_)
        may = np.flatnonzero(moves & has_key[mark_at])
        if may.size:
            along[may], setup = carried_along(own, setup, here.of(may), key.of(mark_at[may]), flat[may])
            for index in dict.fromkeys((may // len(rows)).tolist()):
                held[block.start + index] = setup.part(index * count, count)
        # The shots' lights, and after them the references' where they are others.
        other = np.flatnonzero(~np.concatenate(rig.same[block])[flat])
        surfaces, of_lights = (
            np.append(mark_at, mark_at[other]),
            np.append(flat, flat[other] + lights * count),
        )
        received = joined((own, setup)).received(place.of(surfaces), of_lights)
        levels = received[: flat.size]
        value[:, block] = levels.reshape(lights, -1).T
        levels[other] = received[flat.size :]
        reference[:, block] = levels.reshape(lights, -1).T
        moved[:, block], follows[:, block] = moves.reshape(lights, -1).T, along.reshape(lights, -1).T
    return MarkLevels(
        rig,
        mark,
        tuple(shot for shot, wanted in zip(rig.shots, has.tolist(), strict=True) if wanted),
        moments,
        rows,
        place,
        tuple(held),
        value,
        reference,
        follows,
        moved,
        (rig.quantities[0][rows], rig.quantities[1][rows]),
        (rig.there[0][rows], rig.there[1][rows]),
    )
