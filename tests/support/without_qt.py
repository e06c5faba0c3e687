"""A plugin of pytest, `-p without_qt`: Qt cannot be imported, as on a machine of a farm that has none.

The tests under `tests/gui` are left out, and no others: `tests/test_without_qt.py` holds that these do without.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from pathlib import Path
from types import ModuleType

import pytest

MISSING = ("PySide6", "shiboken6", "pyqtgraph")


class _Missing(MetaPathFinder):
    def find_spec(self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None) -> None:
        if fullname.partition(".")[0] in MISSING:
            raise ModuleNotFoundError(f"No module named {fullname!r}", name=fullname)


def pytest_configure(config: pytest.Config) -> None:
    """From now on there is no Qt."""
    sys.meta_path.insert(0, _Missing())


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out what is about the window."""
    return True if collection_path == config.rootpath / "tests" / "gui" else None
