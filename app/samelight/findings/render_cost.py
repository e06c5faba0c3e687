"""What a shot's test frame says of the cost of rendering it, alone and among the others.

An estimate, and a rough one: the test frame is taken to cost what every frame of the shot costs, and each pass to cost as
much as the whole test frame unless the pass states a `test_frame` of its own. Passes that show less cost less, and frames
differ, so that the total is rather too high than too low; what it is good for is comparing passes and shots.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from samelight.sheets.canonical import WHOLE
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value

MAD_TO_SIGMA = 1.4826
"""Median absolute deviation to standard deviation, for a normal distribution (1 over the normal quantile at 3/4)."""

LEAST_SPREAD = 0.02
"""Share of the median below which no spread is believed: a few equal times would make any other an outlier."""


def test_frame(sheet: Sheet) -> float | None:
    """Seconds that the test frame of a shot took; None where it was not timed."""
    value = sheet.value("cost", WHOLE, "test_frame")
    return value if isinstance(value, float) and value > 0 else None


def pixels(sheet: Sheet) -> float | None:
    """Pixels of the test frame; None where its resolution is not stated."""
    value = sheet.value("cost", WHOLE, "resolution")
    if isinstance(value, tuple) and len(value) == 2 and min(value) > 0:
        return value[0] * value[1]
    return None


def shot_length(sheet: Sheet) -> int | None:
    """Frames of a shot, first and last included; None where the sheet does not say."""
    return None if sheet.frames is None else sheet.frames[1] - sheet.frames[0] + 1


def pass_length(frames: Value | None, length: int) -> int:
    """Frames that a pass renders in a shot of `length` frames: held, all, a number, or a first and a last.

    >>> pass_length("held", 96), pass_length("all", 96), pass_length((1001.0, 1010.0), 96)
    (1, 96, 10)
    """
    if frames == "held":
        return 1
    if isinstance(frames, str) and frames.isdigit():
        return min(int(frames), length)
    if isinstance(frames, tuple) and len(frames) == 2:
        return max(min(int(frames[1] - frames[0]) + 1, length), 0)
    return length


def normalised_times(sheets: Mapping[str, Sheet]) -> dict[str, float]:
    """Seconds of each timed shot's test frame, as if all had the median number of pixels.

    Render time is taken to grow with the pixels, which holds for the tracing and not for the loading. A shot without
    a resolution is taken as it is.
    """
    times = {shot: time for shot, sheet in sheets.items() if (time := test_frame(sheet)) is not None}
    sizes = {shot: size for shot in times if (size := pixels(sheets[shot])) is not None}
    if not sizes:
        return times
    middle = float(np.median(list(sizes.values())))
    return {shot: time * (middle / sizes[shot] if shot in sizes else 1.0) for shot, time in times.items()}


def robust_scores(times: NDArray[np.float64]) -> tuple[float, float, NDArray[np.float64]]:
    """Median, robust sigma (1.4826 x MAD, at least 2 % of the median) and the score of each time, (x - median) / sigma.

    The modified z-score of Iglewicz and Hoaglin, How to Detect and Handle Outliers, ASQC 1993, from memory. Raises
    ValueError without times.

    >>> median, sigma, scores = robust_scores(np.array([10.0, 11.0, 12.0, 13.0, 50.0]))
    >>> median, round(sigma, 4), round(float(scores[-1]), 1)
    (12.0, 1.4826, 25.6)
    """
    if times.size == 0:
        raise ValueError("no times to score")
    middle = float(np.median(times))
    sigma = max(MAD_TO_SIGMA * float(np.median(np.abs(times - middle))), LEAST_SPREAD * middle)
    scores: NDArray[np.float64] = (times - middle) / sigma
    return middle, sigma, scores
