"""What a mark receives in its shot, beside what the same mark receives in the key shot: two subjects, each as it is lit.

Where another shot stands in the master's place and has the mark, its own mark stands in the key shot's (`held_sheet`).
What stands in the way of light counts where both marks say what they see.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from samelight.drift.computed.columns import Array, Mask, Words, words
from samelight.drift.computed.in_the_way import held_sheet
from samelight.drift.computed.key_rows import A_KEY, each_key, held_key, key_apart
from samelight.drift.computed.lit import Lit, added, lit_by, lit_in_shots
from samelight.drift.computed.mark_levels import NOT_SUMMED, MarkLevels, both_quantities, summed_quantity
from samelight.drift.computed.moments import Rows
from samelight.light.key import key_of, key_side
from samelight.light.noise import reaches
from samelight.sheets.sheet import Sheet

NO_MARK = "the key shot has no such mark to hold it against"


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
    held = lit_by(at.mark, sheets, frames, names)
    own, held = lit_in_shots(at, names), held.of(which)
    both = own.shares.stated & held.shares.stated
    of = tuple("" if one is None else one[0].shot for one in chosen)
    return LitSubject(at, own.obstructed(both), held.obstructed(both), of)


def _compared(at: MarkLevels, sheet: Sheet, section: str) -> Iterable[str]:
    """The lights or environments of a sheet, where that section is compared at all."""
    return sheet.sections.get(section, {}) if at.moments.compared(section).any() else ()


def _faced(lit: Lit, key: Rows) -> FacedKey:
    level, rest = key_apart(lit.levels, key)
    direction = np.full((len(key), 3), np.nan)
    for index, here in each_key(key):
        direction[here] = lit.emitters[index].direction_at(lit.place.of(here), lit.rows[here])
    side = key_side(direction, lit.place.normal)
    faint = reaches(A_KEY * lit.total, level)
    return FacedKey(key, level, added(rest), side.angle, side.height, words(side.name), faint)
