"""Rows of levels at a mark: `marks.NAME.level`, the sum, and `marks.NAME.level.LIGHT` of each light.

What they are compared with stands in `mark_levels`. A light that gives less than a 64th (six stops under) of all light
at the mark, in the shot and in the reference alike, is shown there and not graded: whatever it does, the sum does not
tell. An environment has a row of its own here where its map is known, and gives each normal its own level; an even one gives
every mark the same, which `rays.KIND.level` holds. Neither is a light graded that one side lacks altogether: its presence row says so, and the sum says what is lost.
"""

from __future__ import annotations

import numpy as np

from samelight.drift.cells import ABSENT, EXTRA
from samelight.drift.computed.derived_row import Notes, RowName, beside, derived_row, level_pairs, stops_apart
from samelight.drift.computed.mark_levels import NOISE, MarkLevels
from samelight.drift.rows import ExtraRow
from samelight.sheets.vocabulary import LEVEL

UNDER_NOISE = "under a 64th of all light here: not graded"


def level_rows(at: MarkLevels) -> list[ExtraRow]:
    """The sum at a mark, then each light's level there."""
    lights = len(at.rig.lights)
    shown = [*range(lights), *(index for index in range(lights, len(at.rig.names)) if _has_map(at, index))]
    rows = [_sum(at), *(_light(at, index) for index in shown)]
    return [row for row in rows if row is not None]


def _has_map(at: MarkLevels, index: int) -> bool:
    """Whether an environment has a map, and a name that no light has."""
    sides = (side[index].map for side in (at.rig.own, at.rig.setup))
    mapped = any(one is not None for side in sides for one in side.tolist())
    return mapped and at.rig.names[index] not in at.rig.lights


def _sum(at: MarkLevels) -> ExtraRow | None:
    reference, value = at.totals
    of_reference, of_value = at.summed_quantities
    return derived_row(
        RowName("marks", at.mark, "level", LEVEL),
        at.shots,
        at.moments,
        stops_apart(reference, value),
        lambda m: level_pairs(reference[m], value[m], (of_reference[m], of_value[m])),
        Notes(missing=at.not_summed, says=beside(_with_unknown(at, at.held_together()), at.all_uncounted)),
    )


def _with_unknown(at: MarkLevels, said: dict[int, str]) -> dict[int, str]:
    """The remarks, with the lights that a sum is without since nobody knows their level."""
    unknown = np.isnan(at.value) | np.isnan(at.reference)
    for row in np.flatnonzero(unknown.any(axis=1)).tolist():
        names = ", ".join(np.array(at.rig.names, dtype=np.object_)[unknown[row]].tolist())
        parts = (said.get(row, ""), f"without {names}, whose level at a mark is not known")
        said[row] = "; ".join(part for part in parts if part)
    return said


def _light(at: MarkLevels, index: int) -> ExtraRow | None:
    reference, value = at.reference[:, index], at.value[:, index]
    of_reference, of_value = (side[:, index] for side in at.quantities)
    in_master, in_shot = (side[:, index] for side in at.there)
    summed = at.not_summed == ""
    of_all, of_all_here = at.totals
    faint = (reference <= of_all * NOISE) & (value <= of_all_here * NOISE) & summed
    quiet = np.full(len(at.moments), "", dtype=np.object_)
    quiet[faint] = UNDER_NOISE
    quiet[np.isnan(reference) | np.isnan(value)] = "its level here is not known"
    left_out = at.uncounted(index)
    without = {row: f"without its {left_out[row]}" for row in np.flatnonzero(left_out != "").tolist()}
    quiet[~in_shot], quiet[~in_master] = ABSENT, EXTRA
    reference = np.where(in_master, reference, np.nan)
    value = np.where(in_shot, value, np.nan)
    return derived_row(
        RowName("marks", at.mark, f"level.{at.rig.names[index]}", LEVEL),
        at.shots,
        at.moments,
        stops_apart(reference, value),
        lambda m: level_pairs(reference[m], value[m], (of_reference[m], of_value[m])),
        Notes(ungraded=quiet, says=beside(at.held_as(index), without)),
    )
