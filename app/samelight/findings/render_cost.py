"""What a sequence costs to render, projected from one test frame a shot, and what its one-frame passes save.

An estimate, and a rough one: the test frame is taken to cost what every frame of the shot costs, and each pass to cost as
much as the whole test frame unless the pass states a `test_frame` of its own. Passes that show less cost less, and frames
differ, so that the total is rather too high than too low; what it is good for is comparing passes and shots.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.words import number_text
from samelight.findings.words import counted, listed
from samelight.sheets.canonical import WHOLE
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value

MAD_TO_SIGMA = 1.4826
"""Median absolute deviation to standard deviation, for a normal distribution (1 over the normal quantile at 3/4)."""

LEAST_SPREAD = 0.02
"""Share of the median below which no spread is believed: a few equal times would make any other an outlier."""


@dataclass(frozen=True, slots=True)
class PassCost:
    """A pass over the sequence: shots that have it, frames it renders, seconds for them, seconds that one-frame passes save.

    Seconds are estimates for one machine; see the module.
    """

    name: str
    shots: int
    frames: int
    seconds: float
    seconds_saved: float


@dataclass(frozen=True, slots=True)
class RenderCost:
    """The projection for a sequence. `left_out` names the shots without a test frame or without frames."""

    passes: tuple[PassCost, ...]
    shots: int
    left_out: tuple[str, ...]

    @property
    def seconds(self) -> float:
        """Estimated machine time of all passes, in seconds."""
        return sum(one.seconds for one in self.passes)

    @property
    def seconds_saved(self) -> float:
        """Estimated machine time that one-frame passes save, in seconds."""
        return sum(one.seconds_saved for one in self.passes)


def render_cost(sheets: Mapping[str, Sheet]) -> RenderCost:
    """The projected machine time of a sequence by pass: test frame x frames of the pass. An estimate; see the module.

    A shot without passes counts as one pass named `beauty`.
    """
    shots: dict[str, int] = {}
    frames: dict[str, int] = {}
    seconds: dict[str, float] = {}
    saved: dict[str, float] = {}
    left_out = []
    for shot, sheet in sheets.items():
        whole, length = test_frame(sheet), shot_length(sheet)
        if whole is None or length is None:
            left_out.append(shot)
            continue
        for name, values in (sheet.sections.get("passes") or {"beauty": {}}).items():
            own = values.get("test_frame")
            each = own if isinstance(own, float) and own > 0 else whole
            count = pass_length(values.get("frames"), length)
            shots[name] = shots.get(name, 0) + 1
            frames[name] = frames.get(name, 0) + count
            seconds[name] = seconds.get(name, 0.0) + each * count
            saved[name] = saved.get(name, 0.0) + each * (length - count)
    passes = tuple(PassCost(name, shots[name], frames[name], seconds[name], saved[name]) for name in shots)
    return RenderCost(passes, len(sheets) - len(left_out), tuple(left_out))


def render_cost_text(cost: RenderCost) -> str:
    """The projection in a sentence; empty when no shot has been timed."""
    if not cost.shots:
        return ""
    parts = [f"{one.name} {_hours(one.seconds)}" for one in cost.passes]
    text = f"About {_hours(cost.seconds)} of machine time for {counted(cost.shots, 'shot')} ({listed(parts)})"
    if cost.seconds_saved > 0:
        text += f"; passes of one frame save about {_hours(cost.seconds_saved)}"
    if cost.left_out:
        text += f". Not counted, as not timed: {listed(cost.left_out)}"
    return f"{text}. An estimate: every frame, and every pass, is taken to cost what the test frame did."


def _hours(seconds: float) -> str:
    return f"{number_text(seconds / 3600.0, 3)} h"


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
    """Frames that a pass renders in a shot of `length` frames: one, all, a number, or a first and a last.

    >>> pass_length("one", 96), pass_length("all", 96), pass_length((1001.0, 1010.0), 96)
    (1, 96, 10)
    """
    if frames == "one":
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
