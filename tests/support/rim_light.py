"""A setup of one light, which is as the master's or off by some stops: all that a case needs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from samelight.sheets.writing import write_sheet

RIM: dict[str, Any] = {
    "type": "disk",
    "position": [0, 2, 0],
    "target": [0, 0, 0],
    "intensity": 1,
    "normalize": True,
}
LEVEL = "lights.rim.level"


def rig(exposure: float = 0, **more: Any) -> dict[str, Any]:
    """The light, so many stops up, and what `more` lights there are."""
    return {"lights": {"rim": {**RIM, "exposure": exposure}, **more}}


def publish(folder: Path, shot: str, version: int, tree: dict[str, Any]) -> None:
    """Write a version of a shot's sheet."""
    stated = {"samelight": 2, "shot": shot, "version": version}
    write_sheet(folder / f"shots/{shot}/{shot}.v{version:03d}.yaml", {**stated, **tree})
