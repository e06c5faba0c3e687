import doctest
import importlib
import pkgutil
import subprocess
import sys

import pytest

import samelight.light

MODULES = [f"samelight.light.{module.name}" for module in pkgutil.iter_modules(samelight.light.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_every_module_of_figures_has_examples() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    without = [
        name
        for name in MODULES
        if not any(case.examples for case in finder.find(importlib.import_module(name)))
    ]
    assert set(without) <= {
        "samelight.light.rows",
        "samelight.light.cylinder",
        "samelight.light.solid_angles",
    }


def test_the_sun_package_is_read_only_when_the_sun_is_asked_for() -> None:
    says = "import sys, samelight.light.sun; print('sunposition' in sys.modules)"
    path = next(iter(samelight.light.__path__)).removesuffix("samelight/light")
    run = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {path!r}); {says}"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.strip() == "False"
