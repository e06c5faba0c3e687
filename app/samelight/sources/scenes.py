"""Which reader reads a scene, by the ending of its name."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from samelight.sheets.errors import SamelightError
from samelight.sources.errors import CaptureError
from samelight.sources.limits import SCENE
from samelight.sources.request import THE_WHOLE, CaptureRequest
from samelight.sources.trial import ReaderEndedError, tried

USD_ENDINGS = (".usd", ".usda", ".usdc", ".usdz")
GLTF_ENDINGS = (".gltf", ".glb")
ENDINGS = (*USD_ENDINGS, *GLTF_ENDINGS)

READER = 7
"""Raised when the same scene gives another sheet than before; what was captured by another is captured again."""


class UnknownSceneError(SamelightError):
    """A file that no reader is for."""


def capture_scene(scene: Path, request: CaptureRequest = THE_WHOLE) -> dict[str, Any]:
    """The tree of a sheet captured from a scene. Raises `SamelightError` with file, expected and found."""
    try:
        str(scene).encode()
    except UnicodeEncodeError:
        raise CaptureError(scene, "a path in UTF-8, which a sheet can hold", "one of other bytes") from None
    suffix = scene.suffix.lower()
    if suffix in USD_ENDINGS:
        from samelight.sources.usd.capture import capture_usd

        tree = capture_usd(scene, request)
    elif suffix in GLTF_ENDINGS:
        from samelight.sources.gltf.capture import capture_gltf

        tree = capture_gltf(scene, request)
    else:
        found = scene.suffix or "no ending"
        raise UnknownSceneError(f"{scene}: expected a scene in {', '.join(ENDINGS)}, found {found}")
    asked = request.stated()
    tree["source"] = {**tree["source"], "reader": READER, **({"asked": asked} if asked else {})}
    whole: dict[str, Any] = whole_text(tree)
    return whole


def captured_text(scene: Path, sheet: Path, request: CaptureRequest) -> tuple[dict[str, Any], str]:
    """`capture_apart`, and the text of the sheet, which was read as such: a fault in it is better than a shot that will not open.

    Raises `SheetError` too."""
    try:
        return tried(scene, SCENE, _captured_text, scene, sheet, request)
    except ReaderEndedError:
        return tried(scene, SCENE, _captured_text, scene, sheet, replace(request, reads_pictures=False))


def _captured_text(scene: Path, sheet: Path, request: CaptureRequest) -> tuple[dict[str, Any], str]:
    from samelight.sheets.sheet import sheet_from_document
    from samelight.sheets.trees import parse_document
    from samelight.sheets.writing import yaml_text

    tree = capture_scene(scene, request)
    text = yaml_text(tree)
    sheet_from_document(parse_document(sheet, text), version=request.version)
    return tree, text


def capture_apart(scene: Path, request: CaptureRequest = THE_WHOLE) -> dict[str, Any]:
    """`capture_scene` in a child process. Where that ends, a picture may have done it: the scene is then read without them.

    Raises as `trial.tried`.
    """
    try:
        return tried(scene, SCENE, capture_scene, scene, request)
    except ReaderEndedError:
        return tried(scene, SCENE, capture_scene, scene, replace(request, reads_pictures=False))


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
