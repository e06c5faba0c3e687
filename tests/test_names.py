"""One name, one thing: what a module exports is called like nothing else in the program."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

APP = Path(__file__).resolve().parents[1] / "app" / "samelight"


def test_no_public_class_has_the_name_of_another() -> None:
    where: dict[str, list[str]] = defaultdict(list)
    for path in sorted(APP.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                where[node.name].append(path.relative_to(APP).as_posix())
    assert len(where) > 200
    assert {name: modules for name, modules in where.items() if len(modules) > 1} == {}
