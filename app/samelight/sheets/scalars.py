"""A plain scalar of YAML, or a number of JSON, as the person who typed it means it."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import lru_cache

_NUMBER_STARTS = "+-.0123456789iInN"
_GROUPS = r"[1-9][0-9]{0,2}(?:_[0-9]{3})+"
_INTEGER = re.compile(rf"[-+]?(?:[0-9]+|{_GROUPS})\Z")
_FLOAT = re.compile(rf"[-+]?(?:(?:[0-9]+|{_GROUPS})\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?\Z")
_OTHER_BASE = re.compile(r"[-+]?0(?:x[0-9a-fA-F]+|o[0-7]+|b[01]+)\Z")
_NOT_FINITE = re.compile(r"[-+]?\.?(?:inf|infinity|nan)\Z", re.IGNORECASE)
_DIGITS_OF_THE_LARGEST = 309

WORDS: Mapping[str, bool | None] = {
    **{word: True for base in ("true", "yes", "on") for word in (base, base.title(), base.upper())},
    **{word: False for base in ("false", "no", "off") for word in (base, base.title(), base.upper())},
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
}
"""Plain words that stand for true, false or nothing."""


@lru_cache(maxsize=65536)
def scalar(text: str) -> str | int | float | bool | None:
    """A plain scalar as a person means it. Raises ValueError for NaN, infinity and what is beyond a double.

    An underscore is taken as part of a number only where it parts thousands.

    >>> [scalar(text) for text in ("010", "1e3", "12:30", "yes", "1_000", "0x1F", "~", "3.5 m", "010_020")]
    [10, 1000.0, '12:30', True, 1000, 31, None, '3.5 m', '010_020']
    """
    if text in WORDS:
        return WORDS[text]
    if text[0] not in _NUMBER_STARTS:
        return text
    if _INTEGER.match(text):
        return integer(text.replace("_", ""))
    if _FLOAT.match(text):
        return finite(text.replace("_", ""))
    if _OTHER_BASE.match(text):
        return _within_double(int(text, 0))
    if _NOT_FINITE.match(text):
        raise ValueError(text)
    return text


def integer(text: str) -> int:
    """A whole number in decimal. Raises ValueError when it is beyond a double."""
    if len(text) > _DIGITS_OF_THE_LARGEST:
        # Python refuses to convert very many digits, whatever they are.
        digits = text.lstrip("+-0") or "0"
        if len(digits) > _DIGITS_OF_THE_LARGEST:
            raise ValueError(text)
        text = f"-{digits}" if text[0] == "-" else digits
    return _within_double(int(text))


def finite(text: str) -> float:
    """A decimal number. Raises ValueError when it is beyond a double."""
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(text)
    return value


def _within_double(value: int) -> int:
    try:
        float(value)
    except OverflowError:
        raise ValueError("beyond a double") from None
    return value
