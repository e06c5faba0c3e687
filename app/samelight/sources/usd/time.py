"""Frames as time codes of a stage."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pxr import Usd

from samelight.sources import over_time
from samelight.sources.usd.frames import stated_codes


def asked_span(stage: Any, source: Mapping[str, Any]) -> tuple[float, float] | None:
    """The first and the last frame that a sheet was captured at, by its `source`, as time codes: those that were asked for, else
    those of the stage; None where it has none."""
    codes = stated_codes(source)
    asked = source.get("asked")
    frames = asked.get("frames") if isinstance(asked, Mapping) else None
    if isinstance(frames, list) and len(frames) == 2:
        return float(frames[0]) * codes, float(frames[1]) * codes
    if not stage.HasAuthoredTimeCodeRange():
        return None
    return float(stage.GetStartTimeCode()), float(stage.GetEndTimeCode())


class StageClock(over_time.Clock):
    """A clock whose times are time codes: reading an attribute without one would skip its time samples."""

    def code(self, frame: float) -> Any:
        """A frame as a time code."""
        return Usd.TimeCode(frame)

    def earliest(self) -> Any:
        """The earliest sample of whatever is read."""
        return Usd.TimeCode.EarliestTime()
