"""The examples in docstrings hold."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import samelight.drift

MODULES = [module.name for module in pkgutil.walk_packages(samelight.drift.__path__, "samelight.drift.")]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
