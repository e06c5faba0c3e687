"""All tests outside `tests/gui` run on a machine that has no Qt, as `-p without_qt` makes this one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from without_qt import MISSING

TESTS = Path(__file__).parent
APART = ("gui", "benchmarks", "data")

IMPORTS_QT = re.compile(
    rf"^ *(?:from|import) +(?:(?:{'|'.join(MISSING)}|pytestqt)\b|samelight\.gui\b(?!\.state\b)|(?:gui_\w+|standing_window)\b)",
    re.MULTILINE,
)
"""Import rules hold that of the program's own rooms the window's alone imports Qt, and `gui/state` does not."""


def needs_qt(text: str) -> bool:
    """Whether a file of tests imports Qt where it did not ask first whether it is there."""
    found, asked = IMPORTS_QT.search(text), text.find('importorskip("PySide6")')
    return found is not None and not 0 <= asked < found.start()


@pytest.mark.parametrize(
    "line",
    [
        "from PySide6.QtCore import Qt",
        "    import pyqtgraph as pg",
        "from pytestqt.qtbot import QtBot",
        "from samelight.gui.paint import shades",
        "from samelight.gui import screenshots",
        "from gui_help import press",
        "from standing_window import StandingWindow",
    ],
)
def test_what_needs_it_is_seen(line: str) -> None:
    assert needs_qt(f"import os\n{line}\n")
    assert not needs_qt(f'pytest.importorskip("PySide6")\n{line}\n')


@pytest.mark.parametrize(
    "line", ["from samelight.gui.state.rows import View", "import guitar_help", "# import PySide6"]
)
def test_what_does_without_is_none_of_it(line: str) -> None:
    assert not needs_qt(f"{line}\n")


def test_no_test_outside_the_windows_needs_it() -> None:
    files = [path for path in TESTS.rglob("*.py") if path.relative_to(TESTS).parts[0] not in APART]
    tests = [path for path in files if path.parent.name != "support"]
    assert {path.relative_to(TESTS).parts[0] for path in tests} >= {
        "cli",
        "published",
        "sheets",
        "whole_film",
        "conftest.py",
    }
    assert [
        str(path.relative_to(TESTS)) for path in tests if needs_qt(path.read_text(encoding="utf-8"))
    ] == []


def test_what_tests_share_needs_it_only_where_its_name_says_so() -> None:
    shared = [
        path
        for path in (TESTS / "support").glob("*.py")
        if not path.name.startswith(("gui_", "standing_window"))
    ]
    at_once = [path.name for path in shared if any(not line.startswith(" ") for line in needing(path))]
    assert len(shared) > 10 and at_once == []


def needing(path: Path) -> list[str]:
    """The lines of a file that import Qt."""
    return [found.group().lstrip("\n") for found in IMPORTS_QT.finditer(path.read_text(encoding="utf-8"))]
