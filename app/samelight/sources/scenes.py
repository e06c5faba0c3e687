"""Which reader reads a scene, by the ending of its name."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from samelight.sheets.errors import SamelightError
from samelight.sources.errors import CaptureError

USD_ENDINGS = (".usd", ".usda", ".usdc", ".usdz")
GLTF_ENDINGS = (".gltf", ".glb")
ENDINGS = (*USD_ENDINGS, *GLTF_ENDINGS)

READER = 2
"""Raised when the same scene gives another sheet than before; what was captured by another is captured again."""


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
    master: int | None = None,
    frame_rate: float = 24.0,
    roots: Sequence[str] = (),
    home: Path | None = None,
) -> dict[str, Any]:
    """The tree of a sheet captured from a scene.

    `master` is the version of the master setup that it was built on; `frame_rate` counts for scenes whose time is in
    seconds. Of the files that it names, textures, profiles and buffers, those in its own folder are read, in `home`, the
    folder of its sequence, and in `roots`, which may be told from there. Raises `SamelightError` with file, expected and found.
    """
    try:
        str(scene).encode()
    except UnicodeEncodeError:
        raise CaptureError(scene, "a path in UTF-8, which a sheet can hold", "one of other bytes") from None
    suffix = scene.suffix.lower()
    above = home or Path()
    readable = (scene.parent, *([home] if home is not None else []), *(above / root for root in roots))
    if suffix in USD_ENDINGS:
        from samelight.sources.usd.capture import capture_usd

        tree = capture_usd(
            scene,
            shot=shot,
            version=version,
            frames=frames,
            camera=camera,
            lights=lights,
            marks=marks,
            master=master,
            readable=readable,
        )
    elif suffix in GLTF_ENDINGS:
        from samelight.sources.gltf.capture import capture_gltf

        tree = capture_gltf(
            scene,
            shot=shot,
            version=version,
            frames=frames,
            camera=camera,
            lights=lights,
            marks=marks,
            master=master,
            frame_rate=frame_rate,
            readable=readable,
        )
    else:
        found = scene.suffix or "no ending"
        raise UnknownSceneError(f"{scene}: expected a scene in {', '.join(ENDINGS)}, found {found}")
    asked = _asked(frames, camera, lights, marks, roots)
    tree["source"] = {**tree["source"], "reader": READER, **({"asked": asked} if asked else {})}
    whole: dict[str, Any] = whole_text(tree)
    return whole


def whole_text(value: Any) -> Any:
    r"""A plain value in which every text can be written as UTF-8: half characters, such as those of a file's name that is
    no UTF-8, are spelled out.

    >>> whole_text({"caf\udce9": ["maps/\ud83c", 1]})
    {'caf\\udce9': ['maps/\\ud83c', 1]}
    """
    if isinstance(value, str):
        return value if value.isascii() else value.encode("utf-8", "backslashreplace").decode("utf-8")
    if isinstance(value, dict):
        return {whole_text(key): whole_text(item) for key, item in value.items()}
    if isinstance(value, list):
        return [whole_text(item) for item in value]
    return value


def _asked(
    frames: tuple[int, int] | None,
    camera: str | None,
    lights: Sequence[str],
    marks: Sequence[str],
    roots: Sequence[str],
) -> dict[str, Any]:
    """What was asked for beside the scene itself, as a sheet's `source` keeps it."""
    asked: dict[str, Any] = {
        "frames": list(frames) if frames else None,
        "camera": camera,
        "lights": list(lights),
        "marks": list(marks),
        "roots": list(roots),
    }
    return {name: value for name, value in asked.items() if value}
