"""Which reader reads a scene, by the ending of its name."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from samelight.sheets.errors import SamelightError

USD_ENDINGS = (".usd", ".usda", ".usdc", ".usdz")


class UnknownSceneError(SamelightError):
    """A file that no reader is for."""


def capture_scene(
    scene: Path,
    *,
    shot: str | None = None,
    version: int = 1,
    frames: tuple[int, int] | None = None,
    camera: str | None = None,
    lights: Sequence[str] = (),
    marks: Sequence[str] = (),
) -> dict[str, Any]:
    """The tree of a sheet captured from a scene. Raises `SamelightError` with file, expected and found."""
    if scene.suffix.lower() not in USD_ENDINGS:
        found = scene.suffix or "no ending"
        raise UnknownSceneError(f"{scene}: expected a scene in {', '.join(USD_ENDINGS)}, found {found}")
    from samelight.sources.usd import capture_usd

    return capture_usd(
        scene, shot=shot, version=version, frames=frames, camera=camera, lights=lights, marks=marks
    )
