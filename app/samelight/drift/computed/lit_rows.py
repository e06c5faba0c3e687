"""Rows of what really arrives at a mark: `marks.NAME.lit`, the sum, and `marks.NAME.lit.LIGHT` of each light.

They are the rows of `level` times the share of each light that the mark sees past what stands in its way; the reference
is the master's light at the shot's own mark, as seen by the same mark in the key shot. Such rows are there only where a
sheet says what its marks see.
"""

from __future__ import annotations

import math

import numpy as np

from samelight.drift.cells import ABSENT, EXTRA, ComparedCell
from samelight.drift.computed.columns import Array
from samelight.drift.computed.derived_row import Notes, RowName, derived_row, level_pairs, stops_apart
from samelight.drift.computed.in_the_way import HIDDEN_BY, Shares, both_shares
from samelight.drift.computed.lit import added
from samelight.drift.computed.mark_levels import NOISE, MarkLevels
from samelight.drift.computed.mark_rows import UNDER_NOISE
from samelight.drift.computed.sums import frame_words
from samelight.drift.rows import ExtraRow
from samelight.drift.words import number_text
from samelight.light.noise import figure
from samelight.sheets.values import Level
from samelight.sheets.vocabulary import LEVEL

ONE_SIDED = "one of the two shots alone says what stands in the light's way"


def lit_rows(at: MarkLevels) -> list[ExtraRow]:
    """The sum of what arrives at a mark, then each light's; none where no sheet says what the mark sees."""
    shares = both_shares(at)
    if shares is None:
        return []
    held, own = shares
    reference, value = at.reference * held.share, at.value * own.share
    rows = [_sum(at, reference, value, shares)]
    rows += [_light(at, light, (reference, value), shares) for light in range(len(at.rig.names))]
    return [row for row in rows if row is not None]


def _sum(at: MarkLevels, reference: Array, value: Array, shares: tuple[Shares, Shares]) -> ExtraRow | None:
    totals = added(reference), added(value)
    of_reference, of_value = at.summed_quantities
    missing = at.not_summed.copy()
    missing[(missing == "") & (shares[0].stated != shares[1].stated)] = ONE_SIDED
    return derived_row(
        RowName("marks", at.mark, "lit", LEVEL),
        at.shots,
        at.moments,
        stops_apart(*totals),
        lambda m: level_pairs(totals[0][m], totals[1][m], (of_reference[m], of_value[m])),
        Notes(missing=missing),
    )


def _light(
    at: MarkLevels, light: int, lit: tuple[Array, Array], shares: tuple[Shares, Shares]
) -> ExtraRow | None:
    reference, value = (side[:, light] for side in lit)
    of_reference, of_value = (side[:, light] for side in at.quantities)
    seen = [side.share[:, light] for side in shares]
    if all((share == 1.0).all() for share in seen):
        return None  # its level says the same
    in_master, in_shot = (side[:, light] for side in at.there)
    whole = [added(side) for side in (at.reference, at.value)]
    faint = (at.reference[:, light] <= whole[0] * NOISE) & (at.value[:, light] <= whole[1] * NOISE)
    quiet = np.full(len(at.moments), "", dtype=np.object_)
    quiet[faint] = UNDER_NOISE
    quiet[np.isnan(reference) | np.isnan(value)] = "its level here is not known"
    quiet[shares[0].stated != shares[1].stated] = ONE_SIDED
    quiet[~in_shot], quiet[~in_master] = ABSENT, EXTRA
    says = {row: _seen(at, row, light, seen) for row in np.flatnonzero(seen[0] != seen[1]).tolist()}
    return derived_row(
        RowName("marks", at.mark, f"lit.{at.rig.names[light]}", LEVEL),
        at.shots,
        at.moments,
        stops_apart(reference, value),
        lambda m: level_pairs(
            np.where(in_master, reference, np.nan)[m],
            np.where(in_shot, value, np.nan)[m],
            (of_reference[m], of_value[m]),
        ),
        Notes(ungraded=quiet, says=says),
    )


def _seen(at: MarkLevels, row: int, light: int, seen: list[Array]) -> str:
    """How much of the light the mark sees in both, and what hides it here."""
    held, own = (float(share[row]) for share in seen)
    said = (
        f"{number_text(own * 100.0, 3)} % of it is seen, for {number_text(held * 100.0, 3)} % in the key shot"
    )
    by = at.moments.groups("marks", at.mark)[row] or {}
    hider = by.get(f"{HIDDEN_BY}{at.rig.names[light]}")
    return f"{said}; {hider} hides it" if isinstance(hider, str) and own < held else said


def lit_words(at: MarkLevels, light: int | None, cell: ComparedCell) -> list[str]:
    """How what arrives of one light, or of all (None), comes about in the shot and in the reference, in words."""
    shares = both_shares(at)
    if shares is None:
        return []
    held, own = shares
    sides = ("shot", at.value, own.share), ("reference", at.reference, held.share)
    shown = cell.value.value if isinstance(cell.value, Level) else math.nan
    lights = list(range(len(at.rig.names))) if light is None else [light]
    arriving = added((at.value * own.share)[:, lights])
    moment = next((row for row, amount in enumerate(arriving.tolist()) if figure(amount) == shown), 0)
    lines = list(frame_words(at, moment))
    for whose, levels, share in sides:
        parts = [
            f"{at.rig.names[one]} {number_text(float(levels[moment, one]))} × {number_text(float(share[moment, one]))}"
            for one in lights
            if levels[moment, one] > 0.0
        ]
        total = float(added((levels * share)[moment : moment + 1, lights])[0])
        lines.append(f"{whose}: {' + '.join(parts) or 'no light'} = {number_text(total)}")
    return lines
