"""The examples in the docstrings of the readers hold."""

import doctest
import importlib
import pkgutil

import pytest

import samelight.sources

MODULES = [module.name for module in pkgutil.walk_packages(samelight.sources.__path__, "samelight.sources.")]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    with_examples = [
        name for name in MODULES if any(case.examples for case in finder.find(importlib.import_module(name)))
    ]
    assert {
        "samelight.sources.numbers",
        "samelight.sources.keyed",
        "samelight.sources.cut.cuts",
        "samelight.sources.gltf.animation",
        "samelight.sources.scene_list",
    } <= set(with_examples)
