"""The examples in the docstrings of everything outside the window hold."""

from __future__ import annotations

import doctest
import importlib
import linecache
from pathlib import Path

import pytest

APP = Path(__file__).resolve().parents[1] / "app"
ROOMS = [path for path in sorted((APP / "samelight").iterdir()) if path.is_dir() and path.name != "gui"]
MODULES = [
    ".".join(path.relative_to(APP).with_suffix("").parts)
    for room in ROOMS
    for path in sorted(room.rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name: str) -> None:
    linecache.clearcache()  # each example looks at all files in it once more
    cases = doctest.DocTestFinder().find(importlib.import_module(name))
    runner = doctest.DocTestRunner()
    for case in cases:
        if case.examples:
            runner.run(case)
    assert runner.tries > 0
    assert runner.failures == 0


def test_modules_that_live_by_examples_have_some() -> None:
    of_figures = {f"samelight.light.{path.stem}" for path in (APP / "samelight/light").glob("[!_]*.py")}
    assert of_figures - set(MODULES) <= {
        "samelight.light.rows",
        "samelight.light.cylinder",
        "samelight.light.solid_angles",
    }
    assert set(MODULES) > {
        "samelight.drift.derived_names",
        "samelight.drift.computed.emitters",
        "samelight.reports.dailies_notes",
        "samelight.sheets.plain_files",
        "samelight.sources.numbers",
        "samelight.sources.keyed",
        "samelight.sources.cut.cuts",
        "samelight.sources.gltf.animation",
        "samelight.sources.pictures.histogram",
        "samelight.sources.pictures.pictures",
        "samelight.sources.pictures.view_transform",
        "samelight.sources.scene_list",
    }
