"""What marks say of the light that reaches them past what stands in its way: the share of each light that they see.

A capture looks for it in the scene's geometry; a sheet may state it by hand (`sees: {sun: 0.42}`). A light that a mark
does not name is seen whole, where the mark names any.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from samelight.drift.computed.columns import Array, Mask, column, numbers
from samelight.drift.computed.mark_levels import MarkLevels
from samelight.drift.computed.moments import first_frame
from samelight.drift.computed.rig import mark_of
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group

SEES, HIDDEN_BY = "sees.", "hidden_by."


class Shares(NamedTuple):
    """The share of each of k lights that a mark sees at n moments: `share` (n, k), and whether its sheet says any, (n,)."""

    share: Array
    stated: Mask


def shares_of(marks: Sequence[Group | None], names: Sequence[str], frames: Sequence[float]) -> Shares:
    """What marks, one a moment, say of these lights and environments."""
    stated = np.array([says_what_it_sees(mark) for mark in marks], dtype=np.bool_)
    share = np.ones((len(marks), len(names)))
    if stated.any():
        for light, name in enumerate(names):
            own = numbers(column(marks, f"{SEES}{name}", frames))
            share[:, light] = np.where(np.isnan(own), 1.0, own)
    return Shares(share, stated)


def says_what_it_sees(mark: Group | None) -> bool:
    """Whether a mark says what it sees of any light."""
    return mark is not None and any(leaf.startswith(SEES) for leaf in mark)


def held_sheet(at: MarkLevels, row: int) -> tuple[Sheet, float] | None:
    """The sheet and frame whose mark a moment's is compared with: the reference's own mark, else the key shot's; None without.

    The key shot is looked at at its first frame, of which a master is made, and beside itself at the same frame.
    """
    reference, key, own = at.moments.references[row], at.rig.key, at.moments.sheets[row]
    if mark_of(reference, at.mark) is not None:
        return reference, at.moments.frames[row]
    if key is None or mark_of(key, at.mark) is None:
        return None
    return key, at.moments.frames[row] if own is key else first_frame(key)


def both_shares(at: MarkLevels) -> tuple[Shares, Shares] | None:
    """What the marks that are compared with and the shots' own say of the rig's lights; None where none says anything."""
    groups = at.moments.groups("marks", at.mark)
    own = shares_of(groups, at.rig.names, at.moments.frames)
    chosen = [held_sheet(at, row) for row in range(len(at.moments))]
    marks = [None if one is None else mark_of(one[0], at.mark) for one in chosen]
    held = shares_of(marks, at.rig.names, [0.0 if one is None else one[1] for one in chosen])
    return (held, own) if own.stated.any() or held.stated.any() else None
