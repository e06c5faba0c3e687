"""Where the frames of a sequence stand, and those that were grabbed, and how their files end."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TypeVar

Number = TypeVar("Number", int, float)

FOLDER = "frames"
GRABBED = "grabs"
"""The folder of pictures of frames as they were seen in a review."""
ENDINGS = (".exr", ".png", ".jpg", ".jpeg")
"""The pictures that are read. Of several for one shot the first of these is shown."""
MEASURED = ".exr"
"""The frames in which marks are measured: they alone keep the light as it was rendered."""


def step_of(numbers: Sequence[Number]) -> Number | None:
    """The step in which most of these frames, in order, follow each other, the shortest of several; None for fewer than two.

    >>> step_of([1001, 1003, 1005, 1011, 1013]), step_of([1001])
    (2, None)
    """
    gaps = [after - before for before, after in pairwise(numbers)]
    return max(set(gaps), key=lambda gap: (gaps.count(gap), -gap), default=None)
