"""Where a light's own +X lies: a rect that is rolled lights a mark beside it otherwise, and a cylinder lies along it."""

from __future__ import annotations

import numpy as np

from samelight.drift.computed.columns import Array, Column
from samelight.light.rolling import across_at
from samelight.sheets.values import Roll


def across_of(rolls: Column, axes: Array) -> Array:
    """The light's own +X, shape (n, 3), by its roll where it has one, else by its axis; NaN where it has neither."""
    rolled = [index for index, roll in enumerate(rolls) if isinstance(roll, Roll)]
    if not rolled:
        return axes
    found = np.array(axes)
    stated = [roll for roll in rolls if isinstance(roll, Roll)]
    about = np.array([roll.about for roll in stated], dtype=np.float64)
    found[rolled] = across_at(about, np.array([roll.degrees for roll in stated], dtype=np.float64))
    return found
