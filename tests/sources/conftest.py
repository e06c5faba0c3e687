"""Scenes written by the tests themselves, and their captures."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.gltf.capture import capture_gltf
from samelight.sources.request import CaptureRequest
from samelight.sources.usd.capture import capture_usd

REAL = Path(__file__).parents[2].parent / "shared" / "data" / "real" / "usd"
COPIED = Path(__file__).parents[1] / "data" / "usd"


@pytest.fixture
def real() -> Callable[..., Path]:
    """A real scene by the end of its path."""

    def find(name: str) -> Path:
        if not REAL.is_dir():
            pytest.skip("the folder of real scenes is not beside the project")
        (path,) = REAL.rglob(name)
        return path

    return find


@pytest.fixture
def copied() -> Callable[..., Any]:
    """A real scene that is part of the project, by name."""
    return lambda name: COPIED / name


@pytest.fixture
def scene(tmp_path: Path) -> Callable[..., Path]:
    """Writes the text of a scene and returns its path."""

    def write(text: str, name: str = "scene.usda") -> Path:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"#usda 1.0\n{text}", encoding="utf-8")
        return path

    return write


@pytest.fixture
def captured(scene: Callable[..., Path]) -> Callable[..., dict[str, Any]]:
    """Captures the text of a scene; the sheet must be one that can be written and read again as a sheet."""

    def capture(text: str, **options: Any) -> dict[str, Any]:
        path = scene(text)
        sheet = capture_usd(path, CaptureRequest(**options))
        sheet_from_document(parse_document(path.with_suffix(".yaml"), yaml_text(sheet)))
        return sheet

    return capture


@pytest.fixture
def light(captured: Callable[..., dict[str, Any]]) -> Callable[..., dict[str, Any]]:
    """Captures one light given by its type and what is inside it, in a scene of metres with Y up."""

    def capture(
        kind: str, inside: str = "", head: str = "", applied: str = "", **options: Any
    ) -> dict[str, Any]:
        schemas = f"(prepend apiSchemas = [{applied}])" if applied else ""
        sheet = captured(
            f'(metersPerUnit = 1\nupAxis = "Y"\n{head})\ndef {kind} "key" {schemas}\n{{\n{inside}\n}}\n',
            **options,
        )
        groups = sheet["lights"] | sheet.get("environments", {})
        return {**groups["key"], "remarks": sheet.get("remarks", [])}

    return capture


@pytest.fixture
def gltf(tmp_path: Path) -> Callable[..., dict[str, Any]]:
    """Writes the JSON of a glTF scene and captures it; the sheet must be one that can be read again as a sheet."""

    def capture(data: dict[str, Any], name: str = "scene.gltf", **options: Any) -> dict[str, Any]:
        path = tmp_path / name
        path.write_text(json.dumps(data), encoding="utf-8")
        sheet = capture_gltf(path, CaptureRequest(**options))
        sheet_from_document(parse_document(path.with_suffix(".yaml"), yaml_text(sheet)))
        return sheet

    return capture
