"""What each kind of ray sees: `rays.KIND.level`, the summed level of the environments that such rays see.

Two copies of an environment, each seen by some kinds of ray, so equal the one that they replace, and a kind that lost
its environment goes dark. The kinds are those named in any environment's `seen_by`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from samelight.drift.computed.columns import Array, Column, Mask, Words, column, levels, truth
from samelight.drift.computed.derived_row import Notes, RowName, derived_row, level_pairs, stops_apart
from samelight.drift.computed.emitters import is_on
from samelight.drift.computed.rig import Rig
from samelight.drift.rows import ExtraRow
from samelight.drift.words import number_text
from samelight.light.levels import RELATIVE
from samelight.light.rays import named_kinds, sees
from samelight.sheets.values import Group
from samelight.sheets.vocabulary import LEVEL

NO_SUM = "levels of different quantities do not add up"


class _Environment:
    """One environment over the moments: its level, 0 where it is switched off, and which rays see it."""

    def __init__(self, groups: Sequence[Group | None], frames: Sequence[float]) -> None:
        amount, self.quantity = levels(column(groups, "level", frames))
        on = truth(column(groups, "visible", frames), is_on)
        self.level: Array = np.where(on & ~np.isnan(amount), amount, 0.0)
        self.kinds: Column = column(groups, "seen_by", frames)

    def seen_by(self, kind: str) -> Mask:
        """Whether rays of this kind see it, at each moment."""
        return truth(self.kinds, lambda kinds: sees(kinds if isinstance(kinds, frozenset) else None, kind))


def ray_rows(rig: Rig) -> list[ExtraRow]:
    """A row for each kind of ray; none when no environment says which rays see it."""
    setup, own = _both_sides(rig)
    stated = {value for one in (*own, *setup) for value in one.kinds if isinstance(value, frozenset)}
    stated.add(frozenset(name.split(".")[1] for name in rig.moments.listed if name.startswith("rays.")))
    rows = [_row(rig, kind, setup, own) for kind in named_kinds(stated)]
    return [row for row in rows if row is not None]


_SECTION = "environments"


def _both_sides(rig: Rig) -> tuple[list[_Environment], list[_Environment]]:
    """The environments of the references and of the shots."""
    moments = rig.moments
    return (
        [_Environment(moments.reference_groups(_SECTION, name), moments.frames) for name in rig.environments],
        [_Environment(moments.compared_groups(_SECTION, name), moments.frames) for name in rig.environments],
    )


def seen_words(rig: Rig, kind: str) -> list[str]:
    """What this kind of ray sees in the only shot of the rig and in its reference, in words."""
    sides = _both_sides(rig)
    reference, value = (_seen(side, kind, len(rig.moments))[0] for side in sides)
    moment = int(rig.moments.worst(stops_apart(reference, value))[0])
    lines = []
    for whose, side in zip(("reference", "shot"), sides, strict=True):
        terms = [
            f"{name} {number_text(float(one.level[moment]))}"
            for name, one in zip(rig.environments, side, strict=True)
            if one.seen_by(kind)[moment] and one.level[moment] > 0.0
        ]
        lines.append(f"{whose}: {kind} rays see {' + '.join(terms) or 'no environment'}")
    return lines[::-1]


def _row(rig: Rig, kind: str, setup: list[_Environment], own: list[_Environment]) -> ExtraRow | None:
    reference, of_reference = _seen(setup, kind, len(rig.moments))
    value, of_value = _seen(own, kind, len(rig.moments))
    left_out = ~rig.moments.compared(_SECTION)
    reference[left_out] = value[left_out] = np.nan
    missing = np.where((of_reference == "") | (of_value == ""), NO_SUM, "").astype(np.object_)
    of_reference = np.where(
        of_reference == _NONE, np.where(of_value == _NONE, RELATIVE, of_value), of_reference
    )
    of_value = np.where(of_value == _NONE, of_reference, of_value)
    return derived_row(
        RowName("rays", kind, "level", LEVEL),
        rig.shots,
        rig.moments,
        stops_apart(reference, value),
        lambda m: level_pairs(reference[m], value[m], (of_reference[m], of_value[m])),
        Notes(missing=missing),
    )


_NONE = "none"


def _seen(environments: list[_Environment], kind: str, count: int) -> tuple[Array, Words]:
    """The summed level that a kind of ray sees, and its quantity: "" where there are two, "none" where it is dark."""
    total = np.zeros(count)
    quantity = np.full(count, _NONE, dtype=np.object_)
    for one in environments:
        gives = one.seen_by(kind) & (one.level > 0.0)
        total[gives] += one.level[gives]
        other = gives & (quantity != _NONE) & (quantity != one.quantity)
        quantity[gives] = one.quantity[gives]
        quantity[other] = ""
    return total, quantity
