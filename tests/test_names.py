"""One name, one thing: what a module exports is called like nothing else in the program."""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path

APP = Path(__file__).resolve().parents[1] / "app" / "samelight"


def test_no_public_class_has_the_name_of_another() -> None:
    where: dict[str, list[str]] = defaultdict(list)
    for path in sorted(APP.rglob("*.py")):
        for name in re.findall(r"^class ([^\W_]\w*)", path.read_text(encoding="utf-8"), re.MULTILINE):
            where[name].append(path.relative_to(APP).as_posix())
    assert len(where) > 200
    assert {name: modules for name, modules in where.items() if len(modules) > 1} == {}
