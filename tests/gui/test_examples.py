"""The examples in the docstrings of what the views are computed from."""

from __future__ import annotations

import doctest
import importlib

import pytest

MODULES = ("state.sky_data", "grid.overview_data", "grid.layout")


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    results = doctest.testmod(importlib.import_module(f"samelight.gui.{name}"))
    assert results.attempted > 0 and results.failed == 0


def test_what_is_computed_needs_no_qt() -> None:
    """In a process of its own, since the tests have loaded Qt."""
    import subprocess
    import sys

    names = (*MODULES, "state.rows", "state.selection", "traces.trace_data")
    imports = "; ".join(f"import samelight.gui.{name}" for name in names)
    check = f"import sys; {imports}; sys.exit(any(name.startswith('PySide6') for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", check], check=False).returncode == 0
