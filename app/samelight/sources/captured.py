"""What a captured sheet was made from beyond what it says itself: other files that were seen to give the same sheet."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from samelight.sheets.errors import SheetError
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import LARGEST_FILE, Document
from samelight.sheets.vocabulary import UNAUTHORED
from samelight.sheets.writing import WriteError, json_text, write_sheet, write_whole
from samelight.sources.provenance import ASSEMBLY, digest_of, is_unchanged

PROVENANCE = ("sha256", "files", ASSEMBLY, "reader", "asked", "missing_files", UNAUTHORED)
"""Of a sheet's `source`, which bytes it came from and how they were read."""


MOST_LISTED = 64
"""Files that a sheet lists: of a scene that is made of more it has their number and one digest, and they are listed beside it."""


def check_captured(scene: Path, document: Document, *, shot: str | None = None, version: int) -> None:
    """Raise `SheetError` of the scene where the sheet that was made of it could not be read: that stands nowhere yet."""
    try:
        sheet_from_document(document, shot=shot, version=version)
    except SheetError as error:
        faults = [fault._replace(file=str(scene), line=None, column=None) for fault in error.faults]
        raise SheetError(faults) from None


def write_captured(path: Path, tree: dict[str, Any], *, overwrite: bool) -> None:
    """Write a captured sheet where it belongs among those of its shot, with what is remembered beside it. Raises `WriteError`."""
    source = tree["source"]
    files = source.get("files", {})
    if len(files) <= MOST_LISTED:
        write_sheet(path, tree, overwrite=overwrite)
        stamp_of(path).unlink(missing_ok=True)
        return
    lines = "\n".join(f"{name} {digest}" for name, digest in sorted(files.items()))
    whole = {"files": len(files), "sha256": hashlib.sha256(lines.encode()).hexdigest()}
    kept = {key: value for key, value in source.items() if key != "files"}
    write_sheet(path, {**tree, "source": {**kept, ASSEMBLY: whole}}, overwrite=overwrite)
    note(path, source)


def stamp_of(sheet: Path) -> Path:
    """Where it is kept, beside the sheet, which stays as it was published."""
    return sheet.parent / ".captured.json"


def note(sheet: Path, source: Mapping[str, Any]) -> None:
    """Remember that other files gave the same sheet. Raises `WriteError`."""
    noted = {key: source[key] for key in (*PROVENANCE, "frames_per_second") if key in source}
    stamp = {"sheet": sheet.name, "sheet_sha256": digest_of(sheet), "source": noted}
    path = stamp_of(sheet)
    if path.is_symlink():  # planted there: what it leads to is none of ours
        raise WriteError(f"{path}: could not be written: it is a link")
    write_whole(path, json_text(stamp))


def noted(sheet: Path) -> Mapping[str, Any] | None:
    """The `source` that was remembered of a sheet; None where there is none, or it is of another sheet."""
    try:
        path = stamp_of(sheet)
        if path.is_symlink():
            return None
        stamp = json.loads(read_plain(path, LARGEST_FILE))
    except (UnfitFileError, OSError, ValueError, RecursionError):
        return None
    if not isinstance(stamp, dict) or stamp.get("sheet") != sheet.name:
        return None
    source = stamp.get("source")
    return source if isinstance(source, dict) and stamp.get("sheet_sha256") == digest_of(sheet) else None


def is_of_today(sheet: Path, source: Mapping[str, Any], scene: Path) -> bool:
    """Whether a scene and all that it is made of are what a sheet was captured from, or what gave the same sheet."""
    return is_unchanged(source, scene) or is_unchanged(noted(sheet) or {}, scene)
