"""Frames as time codes of a stage."""

from __future__ import annotations

from typing import Any

from pxr import Usd

from samelight.sources import over_time


class StageClock(over_time.Clock):
    """A clock whose times are time codes: reading an attribute without one would skip its time samples."""

    def code(self, frame: float) -> Any:
        """A frame as a time code."""
        return Usd.TimeCode(frame)

    def earliest(self) -> Any:
        """The earliest sample of whatever is read."""
        return Usd.TimeCode.EarliestTime()
