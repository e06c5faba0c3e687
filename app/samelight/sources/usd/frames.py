"""Frames of a sheet and time codes of a stage, where a scene counts others than the sequence does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

CODES = "codes_per_frame"
"""In a sheet's `source`, how many time codes of the scene go by in one of its frames, where that is not one."""


def codes_per_frame(stage: Any, rate: float | None) -> float:
    """How many time codes go by in a frame: of a second there are as many frames as `rate` says, by default as the stage does. One of a
    stage that says nothing of seconds."""
    says_frames = stage.HasAuthoredMetadata("framesPerSecond")
    if not says_frames and not stage.HasAuthoredMetadata("timeCodesPerSecond"):
        return 1.0
    codes = float(stage.GetTimeCodesPerSecond())
    frames = rate or (float(stage.GetFramesPerSecond()) if says_frames else codes)
    return codes / frames if codes > 0 and frames > 0 else 1.0


def stated_codes(source: Mapping[str, Any]) -> float:
    """How many time codes went by in a frame when a sheet was captured, by its `source`."""
    stated = source.get(CODES)
    return float(stated) if isinstance(stated, int | float) and stated > 0 else 1.0


def told(value: Any, times: float) -> Any:
    """A plain tree in which the frames of every key are so many times as late.

    >>> told({"intensity": {"keys": [[48, 2.0], [51, 1.0]], "interpolation": "linear"}}, 0.5)
    {'intensity': {'keys': [[24, 2.0], [25.5, 1.0]], 'interpolation': 'linear'}}
    """
    if times == 1.0 or not isinstance(value, Mapping):
        return value
    if isinstance(value.get("keys"), list):
        return {**value, "keys": [[_whole(key[0] * times), *key[1:]] for key in value["keys"]]}
    return {name: told(item, times) for name, item in value.items()}


def _whole(frame: float) -> float:
    """A frame to a millionth, as a whole number where it is one."""
    near = round(frame, 6)
    return int(near) if float(near).is_integer() else near
