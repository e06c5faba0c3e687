"""What becomes a value, a tie or a kept figure calls nothing whose last digit hangs on the processor.

A linear-algebra library picks its kernels by processor, and NumPy the loops of most functions that are no plain arithmetic. What
is written down here is found by reading the source, since no test on one machine can see it.
"""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import samelight

PACKAGES = ("light", "sheets", "sources", "drift", "decisions", "findings")

ALGEBRA = frozenset(
    {"dot", "vdot", "matmul", "einsum", "inner", "outer", "tensordot", "kron", "convolve", "correlate"}
)
MODULES = frozenset({"linalg", "polynomial", "fft"})
DISPATCHED = frozenset(
    {
        "exp",
        "exp2",
        "expm1",
        "log",
        "log2",
        "log10",
        "log1p",
        "power",
        "float_power",
        "cbrt",
        "sin",
        "cos",
        "tan",
    }
    | {
        "arcsin",
        "arccos",
        "arctan",
        "arctan2",
        "sinh",
        "cosh",
        "tanh",
        "arcsinh",
        "arccosh",
        "arctanh",
        "hypot",
    }
    | {"cov", "corrcoef", "std", "var"}
)

ALLOWED = {
    ("drift/scale.py", "log"),  # the shade of a cell in a picture, of which there are 256
    ("sources/pictures/false_colour.py", "log2"),  # the shade of a pixel on the screen, of which there are 13
}

FILES = [
    path for package in PACKAGES for path in sorted((Path(samelight.__file__).parent / package).rglob("*.py"))
]


@cache
def calls(path: Path) -> list[tuple[str, int]]:
    """The forbidden names that a module uses, with their lines."""
    return list(_calls(path))


def _calls(path: Path) -> Iterator[tuple[str, int]]:
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.MatMult):
            yield "@", 0
        elif isinstance(node, ast.Attribute) and node.attr in MODULES | ALGEBRA:
            yield node.attr, node.lineno
        elif isinstance(node, ast.Attribute) and node.attr in DISPATCHED and isinstance(node.value, ast.Name):
            if node.value.id not in ("math", "elementary", "cmath"):
                yield node.attr, node.lineno
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("numpy"):
            names = {alias.name for alias in node.names} | set((node.module or "").split("."))
            yield from ((name, node.lineno) for name in names & (MODULES | ALGEBRA | DISPATCHED))


@pytest.mark.parametrize("path", FILES, ids=lambda path: "/".join(path.parts[-2:]))
def test_a_module_calls_nothing_that_hangs_on_the_processor(path: Path) -> None:
    name = path.relative_to(Path(samelight.__file__).parent).as_posix()
    assert [found for found in calls(path) if (name, found[0]) not in ALLOWED] == []


def test_what_is_allowed_is_there() -> None:
    found = {
        (path.relative_to(Path(samelight.__file__).parent).as_posix(), name)
        for path in FILES
        for name, _ in calls(path)
    }
    assert found == ALLOWED


def test_the_reading_finds_what_it_looks_for(tmp_path: Path) -> None:
    module = tmp_path / "module.py"
    module.write_text(
        "import numpy as np\nfrom numpy.linalg import norm\nx = a @ b\na @= b\ny = np.dot(a, b)\nz = a.dot(b)\n"
        "w = np.linalg.norm(a)\nv = np.cos(a)\nu = math.cos(a)\n"
    )
    assert sorted(name for name, _ in calls(module)) == ["@", "@", "cos", "dot", "dot", "linalg", "linalg"]
