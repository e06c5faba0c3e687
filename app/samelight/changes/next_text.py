"""What a shot's next version says, in the words of its file: what stays, with its comments and its layout, stays to the letter."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from samelight.sheets.errors import SamelightError
from samelight.sheets.kept_text import kept_text
from samelight.sheets.sheet import Sheet
from samelight.sheets.trees import read_to_keep
from samelight.sheets.writing import WriteError, json_text, yaml_text

_TEXTS = (".yaml", ".yml", ".json")
_AROUND = 1
"""Lines above and below a difference that are shown with it."""


def next_text(sheet: Sheet, path: Path, tree: Mapping[str, Any]) -> str:
    """The text of a version that is not written yet, made of that of the sheet before. Raises `WriteError` for a tree that no file
    can hold."""
    before = text_of(sheet)
    if before and sheet.path.suffix.lower() == path.suffix.lower():
        kept = kept_text(path, before, tree)
        if kept is not None:
            return kept
    try:
        return json_text(tree) if path.suffix.lower() == ".json" else yaml_text(tree)
    except (TypeError, ValueError) as error:
        raise WriteError(f"{path}: could not be written: {error}") from None


def text_of(sheet: Sheet) -> str:
    """The text of a sheet's file now; empty where it is no text, or cannot be read any more."""
    if sheet.path.suffix.lower() not in _TEXTS:
        return ""
    try:
        return read_to_keep(sheet.path)
    except SamelightError:
        return ""


def differences(before: str, after: str) -> list[str]:
    """The lines that differ between two texts, with a sign at the start of each: - was, + will be, blank stays. Runs of lines that
    stay are left out, with @@ and the number of the line in their place.

    >>> differences("a: 1\\nb: 2\\nc: 3\\n", "a: 1\\nb: 2\\nc: 4\\n")
    ['@@ line 2', ' b: 2', '-c: 3', '+c: 4']
    """
    import difflib  # which a command that writes needs none of

    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=_AROUND, lineterm="")
    return [_placed(line) for line in lines if not line.startswith(("--- ", "+++ "))]


def _placed(line: str) -> str:
    if not line.startswith("@@ -"):
        return line
    return f"@@ line {line[4:].partition(' ')[0].partition(',')[0]}"
