"""`samelight check --scene A --against B`: one scene compared with another, or against a master's sheet, without any folder."""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from samelight.changes.publishing import as_master
from samelight.cli.terminal import complain
from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import is_safe_name
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import read_document
from samelight.sheets.vocabulary import FORMAT_VERSION
from samelight.sheets.writing import write_sheet, write_whole, yaml_text
from samelight.sources.naming import known_of
from samelight.sources.request import CaptureRequest
from samelight.sources.scenes import ENDINGS, capture_apart


def run_on_scenes(arguments: argparse.Namespace, check: Callable[[argparse.Namespace], int]) -> int:
    """Check a scene against another as the one shot of a sequence that is gone afterwards; the exit status."""
    scene, against = arguments.scene, arguments.against
    if scene is None or against is None:
        raise SamelightError("--scene and --against go together: a scene, and what it is compared with")
    with _sequence(scene, against) as folder:
        arguments.folder = folder
        return check(arguments)


@contextmanager
def _sequence(scene: Path, against: Path) -> Iterator[Path]:
    master = _tree(against, CaptureRequest())
    shot = scene.stem if is_safe_name(scene.stem) else "scene"
    tree = _tree(scene, CaptureRequest(shot=shot, known=known_of(master)))
    for remark in tree.get("remarks", []):
        complain(f"{scene.name}: {remark}")
    with tempfile.TemporaryDirectory(prefix="samelight-") as made:
        folder = Path(made)
        title = f"{scene.name} ({against.name} as master 1)"
        stated = {"samelight_sequence": FORMAT_VERSION, "title": title, "cut": [shot]}
        write_whole(folder / SEQUENCE_FILE, yaml_text(stated))
        write_sheet(folder / "master/master.v001.yaml", {**as_master(master), "version": 1})
        held = {key: value for key, value in tree.items() if key != "master"}
        write_sheet(folder / f"shots/{shot}/{shot}.v001.yaml", {**held, "shot": shot, "version": 1})
        yield folder


def _tree(file: Path, request: CaptureRequest) -> dict[str, Any]:
    """A sheet's tree in today's format, read or captured. Raises `SamelightError`, with the file's own lines."""
    if file.suffix.lower() in ENDINGS:
        return capture_apart(file, request._replace(shot=request.shot or "master"))
    document = read_document(file)
    if not isinstance(document.data, dict):
        document.faults.add((), f"a sheet, or a scene in {', '.join(ENDINGS)}", document.data)
        document.faults.raise_if_any()
    stated = document.data.get("version")
    return dict(sheet_from_document(document, version=stated if isinstance(stated, int) else 1).typed)
