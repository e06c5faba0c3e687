"""Values over time: which frames a capture looks at, and which of them it needs to keep."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from samelight.light.directions import slerp
from samelight.sources.remarks import Remarks

MOST_FRAMES = 10_000
"""Frames looked at one by one; over a longer range every n-th is."""

_TOLERANCE = 1e-6
"""Relative to the value, at least to 1: keys nearer than this to the line between their neighbours say nothing."""

LINEAR, HELD = "linear", "held"

Read = Callable[[Any], Any]
"""A value at a time (see `Clock.code`): a number, bool or text, or a list of numbers; None where there is none."""


@dataclass
class Clock:
    """The frames of a capture, first and last; None is all the time there is.

    `rest`, the time at which unvarying values are read, is the first frame. A reader whose library tells times in
    a type of its own derives from this.
    """

    frames: tuple[float, float] | None
    held: bool
    remarks: Remarks
    rest: Any = field(init=False)

    def __post_init__(self) -> None:
        self.rest = self.code(self.frames[0]) if self.frames else self.earliest()

    def code(self, frame: float) -> Any:
        """A frame as the reader's library tells it."""
        return frame

    def earliest(self) -> Any:
        """The time at which unvarying values are read where there is no range."""
        return 0.0

    def within(self, samples: Iterable[float]) -> list[float]:
        """The samples inside the range, ascending and once each."""
        first, last = self.frames or (-math.inf, math.inf)
        return sorted({time for time in samples if first <= time <= last})

    def whole_frames(self, samples: Iterable[float]) -> list[float]:
        """Every frame of the range, or from the first to the last of the samples, at least one, without a range."""
        times = list(samples)
        first, last = self.frames or (min(times), max(times))
        start, end = math.ceil(first), math.floor(last)
        step = max(1, math.ceil((end - start + 1) / MOST_FRAMES))
        if step > 1:
            self.remarks.note(
                f"The range of {end - start + 1:,} frames is longer than {MOST_FRAMES:,}: "
                f"values that move unevenly are read at every {step}th frame."
            )
        return [float(frame) for frame in range(start, end + 1, step)]


def over_time(
    clock: Clock,
    samples: Iterable[float],
    read: Read,
    *,
    linear: bool,
    every_frame: bool = False,
    circle: bool = False,
) -> Any:
    """A value, or `{keys, interpolation}` where it changes inside the range.

    `samples` are the times at which the scene states something; the value is taken there, and at the ends of the
    range where it is on its way between two samples. With `every_frame` it is taken at whole frames too, which
    are kept only where a straight line between samples (on the great circle with `circle`) would miss them.
    """
    samples = list(samples)
    if not samples:
        return read(clock.rest)
    authored = clock.within(samples)
    extra = set(clock.frames or ())
    if every_frame:
        extra.update(clock.whole_frames(samples))
    times = sorted(extra.union(authored))
    keys = [(time, read(clock.code(time))) for time in times]
    keys = [(time, value) for time, value in keys if value is not None]
    if not keys:
        return None
    blends = linear and not clock.held
    if all(_near(value, keys[0][1], 1e-9) for _, value in keys):
        return keys[0][1]
    kept = _thinned(keys, set(authored), blends, circle)
    return {
        "keys": [[int(time) if time.is_integer() else time, value] for time, value in kept],
        "interpolation": LINEAR if blends else HELD,
    }


Key = tuple[float, Any]


def _thinned(keys: list[Key], authored: set[float], blends: bool, circle: bool) -> list[Key]:
    """Without the keys between two authored ones, where the authored ones alone say what they say."""
    kept: list[Key] = []
    run: list[Key] = []
    for key in keys:
        if key[0] not in authored:
            run.append(key)
            continue
        kept += [] if _said(run, kept[-1] if kept else None, key, blends, circle) else run
        kept.append(key)
        run = []
    if run and not kept:
        # Nothing is authored inside the range: its ends carry the motion.
        inner = run[1:-1]
        return [run[0], *([] if _said(inner, run[0], run[-1], blends, circle) else inner), run[-1]]
    kept += [] if _said(run, kept[-1], None, blends, circle) else run
    return kept


def _said(run: list[Key], before: Key | None, after: Key | None, blends: bool, circle: bool) -> bool:
    return all(_near(value, _between(time, before, after, blends, circle), _TOLERANCE) for time, value in run)


def _between(time: float, before: Key | None, after: Key | None, blends: bool, circle: bool) -> Any:
    if before is None:
        return after[1] if after else None
    if after is None or not blends:
        return before[1]
    share = (time - before[0]) / (after[0] - before[0])
    if circle:
        return list(slerp(before[1], after[1], share))
    return _blend(before[1], after[1], share)


def _blend(a: Any, b: Any, share: float) -> Any:
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return [_blend(x, y, share) for x, y in zip(a, b, strict=True)]
    return a + (b - a) * share if isinstance(a, float) and isinstance(b, float) else a


def _near(a: Any, b: Any, tolerance: float) -> bool:
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(_near(x, y, tolerance) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) and isinstance(b, float):
        return abs(a - b) <= tolerance * max(1.0, abs(a), abs(b))
    return type(a) is type(b) and bool(a == b)
