"""Patterns of parameter names, as policies and filters use them."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

DISTANT = "distant"
SUN = "sun"
"""What stands for the type of the master's strongest distant light."""

_OF_TYPE = re.compile(r"<([^<>.]+)>")
_PLAIN_START = re.compile(r"[^*?<]*")
_IN_NAME = "[^.]"
_REST_OF_NAME = "\0"
"""Stands for any part of one name, while a pattern is taken apart."""


@lru_cache(maxsize=4096)
def _compiled(pattern: str) -> tuple[re.Pattern[str], str | None]:
    of_type = _OF_TYPE.search(pattern)
    plain = _OF_TYPE.sub(f"?{_REST_OF_NAME}", pattern)
    starts, ends = plain[:1] == "*", plain[1:][-1:] == "*"
    inner = plain[starts : len(plain) - ends].replace("*", _REST_OF_NAME)
    first, *others = (_literal(part) for part in inner.split(_REST_OF_NAME))
    # Within a name the first place where the next part fits serves as well as any later one, so that a pattern
    # of many stars never tries them all.
    between = [f"(?>{_IN_NAME}*?{part})" for part in others[:-1]]
    last = [f"{_IN_NAME}*{part}" for part in others[-1:]]
    whole = "".join([".*?" if starts else "", first, *between, *last, ".*" if ends else ""])
    return re.compile(whole, re.DOTALL), of_type[1] if of_type else None


def _literal(text: str) -> str:
    return "".join(_IN_NAME if character == "?" else re.escape(character) for character in text)


def may_match(pattern: str, section: str) -> bool:
    """Whether a pattern may mean any parameter whose name begins with a section's.

    >>> [may_match(pattern, "lights") for pattern in ("lights.*.level", "*level", "li*", "render.gi", "level")]
    [True, True, True, False, False]
    """
    plain = _PLAIN_START.match(pattern)
    start = plain[0] if plain else ""
    first, dot, _ = start.partition(".")
    return first == section if dot or start == pattern else section.startswith(first)


@lru_cache(maxsize=65536)
def matches(pattern: str, parameter: str, light_type: str = "") -> bool:
    """Whether a pattern means this parameter.

    `*` within a pattern stands for one name, at its start or end for anything; `<distant>` stands for the name
    of a light of that type, `<sun>` for that of the strongest distant light, which is a distant one too.

    >>> matches("lights.<distant>.level", "lights.sun.level", "distant")
    True
    >>> matches("lights.<distant>.level", "lights.rim.level", "spot")
    False
    >>> matches("render.gi.*", "render.gi.range"), matches("lights.<distant>", "lights.sun.level", "distant")
    (True, False)
    """
    of_type, is_meant = matcher(pattern)
    return is_of_type(of_type, light_type) and is_meant(parameter) is not None


def is_of_type(wanted: str | None, light_type: str) -> bool:
    """Whether a light's type is the one that a pattern is for, None for any; the sun is a distant light too.

    >>> is_of_type("distant", "sun"), is_of_type("sun", "distant"), is_of_type(None, "spot")
    (True, False, True)
    """
    return wanted is None or wanted == light_type or (wanted == DISTANT and light_type == SUN)


Matcher = tuple[str | None, Callable[[str], re.Match[str] | None]]
"""The type of light that a pattern is for, None where it is for any, and what the name of a parameter has to match."""


def matcher(pattern: str) -> Matcher:
    """What `matches` asks of a parameter, for those who ask of very many."""
    expression, of_type = _compiled(pattern)
    return of_type, expression.fullmatch
