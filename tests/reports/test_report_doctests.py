"""The examples in the docstrings of reports, and of what puts values back, are true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import samelight.changes.respell
import samelight.reports
from samelight.drift import scale

MODULES = [
    scale.__name__,
    *(
        module.name
        for package in (samelight.reports, samelight.changes.respell)
        for module in pkgutil.iter_modules(package.__path__, f"{package.__name__}.")
    ),
]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    failed, _ = doctest.testmod(importlib.import_module(name))
    assert failed == 0
