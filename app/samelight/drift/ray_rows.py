"""What each kind of ray sees: `rays.KIND.level`, the summed level of the environments that such rays see.

Two copies of an environment, each seen by some kinds of ray, so equal the one that they replace, and a kind that lost
its environment goes dark. The kinds are those named in any environment's `visible_to`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from samelight.drift.columns import Array, Column, Words, column, levels, truth
from samelight.drift.derived_row import Name, Notes, derived_row, level_pairs, stops_apart
from samelight.drift.emitters import is_on
from samelight.drift.rig import Rig
from samelight.drift.rows import ExtraRow
from samelight.light.levels import RELATIVE
from samelight.light.rays import named_kinds, sees
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group
from samelight.sheets.vocabulary import LEVEL

NO_SUM = "levels of different quantities do not add up"


class _Environment:
    """One environment over the moments: its level, 0 where it is switched off, and which rays see it."""

    def __init__(self, groups: Sequence[Group | None], frames: Sequence[float]) -> None:
        amount, self.quantity = levels(column(groups, "level", frames))
        on = truth(column(groups, "visible", frames), is_on)
        self.level: Array = np.where(on & ~np.isnan(amount), amount, 0.0)
        self.visible_to: Column = column(groups, "visible_to", frames)


def ray_rows(rig: Rig, master: Sheet) -> list[ExtraRow]:
    """A row for each kind of ray; none when no environment says which rays see it."""
    frames, count = rig.moments.frames, len(rig.moments)
    own = [_Environment(rig.moments.groups("environments", name), frames) for name in rig.environments]
    sections = master.sections.get("environments", {})
    setup = [_Environment([sections.get(name)] * count, frames) for name in rig.environments]
    stated = {value for one in (*own, *setup) for value in one.visible_to if isinstance(value, frozenset)}
    rows = [_row(rig, kind, setup, own) for kind in named_kinds(stated)]
    return [row for row in rows if row is not None]


def _row(rig: Rig, kind: str, setup: list[_Environment], own: list[_Environment]) -> ExtraRow | None:
    reference, of_reference = _seen(setup, kind, len(rig.moments))
    value, of_value = _seen(own, kind, len(rig.moments))
    missing = np.where((of_reference == "") | (of_value == ""), NO_SUM, "").astype(np.object_)
    of_reference = np.where(of_reference == _NONE, np.where(of_value == _NONE, RELATIVE, of_value), of_reference)
    of_value = np.where(of_value == _NONE, of_reference, of_value)
    return derived_row(
        Name("rays", kind, "level", LEVEL),
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
        seen = truth(one.visible_to, lambda kinds: sees(kinds if isinstance(kinds, frozenset) else None, kind))
        gives = seen & (one.level > 0.0)
        total[gives] += one.level[gives]
        other = gives & (quantity != _NONE) & (quantity != one.quantity)
        quantity[gives] = one.quantity[gives]
        quantity[other] = ""
    return total, quantity
