"""A plugin of pytest, `-p without_qt`: Qt cannot be imported, as on a machine of a farm that has none.

Files of tests that name Qt or the window are left out; those under `tests/gui` are all about it.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from pathlib import Path
from types import ModuleType

import pytest

MISSING = ("PySide6", "shiboken6", "pyqtgraph")
_ABOUT_THE_WINDOW = (*MISSING, "samelight.gui", "open_window")


class _Missing(MetaPathFinder):
    def find_spec(self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None) -> None:
        if fullname.partition(".")[0] in MISSING:
            raise ModuleNotFoundError(f"No module named {fullname!r}", name=fullname)


sys.meta_path.insert(0, _Missing())


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out what is about the window."""
    if collection_path.is_dir():
        return True if collection_path == config.rootpath / "tests" / "gui" else None
    text = collection_path.read_text("utf-8", "replace") if collection_path.suffix == ".py" else ""
    return True if any(name in text for name in _ABOUT_THE_WINDOW) else None
