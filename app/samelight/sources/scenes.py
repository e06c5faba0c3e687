"""Which reader reads a scene, by the ending of its name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Concatenate, NamedTuple, ParamSpec, TypeVar

from samelight.sheets.errors import SamelightError
from samelight.sources.errors import CaptureError
from samelight.sources.limits import SCENE
from samelight.sources.request import THE_WHOLE, CaptureRequest
from samelight.sources.trial import ReaderEndedError, tried

P = ParamSpec("P")
T = TypeVar("T")

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


class Captured(NamedTuple):
    """What is told of a captured scene: the text of its sheet, how many lights and environments that has, and its remarks."""

    text: str
    lights: int
    remarks: list[str]


def captured_text(scene: Path, sheet: Path, request: CaptureRequest) -> Captured:
    """`capture_apart` for a sheet that nobody writes yet. It is read as one: a fault in it is better than a shot that will not open.

    Raises `SheetError` too."""
    return _apart(_captured, scene, request, sheet)


def captured_into(scene: Path, sheet: Path, request: CaptureRequest, *, overwrite: bool) -> Captured:
    """`captured_text`, written where it belongs in the same process, which has all that this needs. Raises `WriteError` too."""
    return _apart(_written, scene, request, sheet, overwrite)


def _captured(scene: Path, request: CaptureRequest, sheet: Path) -> Captured:
    return _of(scene, capture_scene(scene, request), request, sheet)


def _written(scene: Path, request: CaptureRequest, sheet: Path, overwrite: bool) -> Captured:
    from samelight.sheets.writing import write_sheet
    from samelight.sources.captured import write_captured

    tree = capture_scene(scene, request)
    captured = _of(scene, tree, request, sheet)
    write = write_captured if sheet.absolute().parent.parent.name == "shots" else write_sheet
    write(sheet, tree, overwrite=overwrite)
    return captured


def _of(scene: Path, tree: dict[str, Any], request: CaptureRequest, sheet: Path) -> Captured:
    from samelight.sheets.trees import parse_document
    from samelight.sheets.writing import yaml_text
    from samelight.sources.captured import check_captured

    text = yaml_text(tree)
    check_captured(scene, parse_document(sheet, text), version=request.version)
    lights = len(tree.get("lights", {})) + len(tree.get("environments", {}))
    return Captured(text, lights, tree.get("remarks", []))


def capture_apart(scene: Path, request: CaptureRequest = THE_WHOLE) -> dict[str, Any]:
    """`capture_scene` in a child process. Where that ends, a picture may have done it: the scene is then read without them.

    Raises as `trial.tried`.
    """
    return _apart(capture_scene, scene, request)


def _apart(
    work: Callable[Concatenate[Path, CaptureRequest, P], T],
    scene: Path,
    request: CaptureRequest,
    *args: P.args,
    **kwargs: P.kwargs,
) -> T:
    try:
        return tried(scene, SCENE, work, scene, request, *args, **kwargs)
    except ReaderEndedError:
        return tried(scene, SCENE, work, scene, request._replace(reads_pictures=False), *args, **kwargs)


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
