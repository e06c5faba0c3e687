import doctest
import importlib
import pkgutil

import pytest

import samelight.sheets

MODULES = [f"samelight.sheets.{module.name}" for module in pkgutil.iter_modules(samelight.sheets.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
