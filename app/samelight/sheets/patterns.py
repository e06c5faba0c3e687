"""Patterns of parameter names, as policies and filters use them."""

from __future__ import annotations

import re
from functools import lru_cache

_OF_TYPE = re.compile(r"<([^<>.]+)>")


@lru_cache(maxsize=4096)
def _compiled(pattern: str) -> tuple[re.Pattern[str], str | None]:
    of_type = _OF_TYPE.search(pattern)
    plain = _OF_TYPE.sub("\0", pattern)
    last = len(plain) - 1
    parts = []
    for index, character in enumerate(plain):
        if character == "*":
            parts.append(".*" if index in (0, last) else "[^.]*")
        elif character == "?":
            parts.append("[^.]")
        elif character == "\0":
            parts.append("[^.]+")
        else:
            parts.append(re.escape(character))
    return re.compile("".join(parts), re.DOTALL), of_type[1] if of_type else None


@lru_cache(maxsize=65536)
def matches(pattern: str, parameter: str, light_type: str = "") -> bool:
    """Whether a pattern means this parameter.

    `*` within a pattern stands for one name, at its start or end for anything; `<distant>` stands for the name
    of a light of that type.

    >>> matches("lights.<distant>.level", "lights.sun.level", "distant")
    True
    >>> matches("lights.<distant>.level", "lights.rim.level", "spot")
    False
    >>> matches("render.gi.*", "render.gi.range"), matches("lights.<distant>", "lights.sun.level", "distant")
    (True, False)
    """
    expression, of_type = _compiled(pattern)
    return (of_type is None or of_type == light_type) and expression.fullmatch(parameter) is not None
