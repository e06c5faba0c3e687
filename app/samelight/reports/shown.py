"""Text out of files, made fit for a document: nothing hidden, nothing endless."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

LONGEST = 400
"""Characters of a name or value that a document shows; a sheet may hold as many as it likes."""
HIDDEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
_NO_CHARACTERS = "\ufffe\uffff"
"""Codes that stand for no character and that XML forbids (XML 1.0, production 2)."""


def clean(text: str) -> str:
    """Text from a file, safe for a terminal and for XML: control, format and direction characters, halves of characters
    (which stand for bytes of a name that is no UTF-8) and what no text may hold become a visible mark.

    >>> clean("sun\\x1b[31m")
    'sun�[31m'
    """
    if text.isprintable():
        return text  # what is printable holds none of them, and that is said a hundred times faster
    return "".join("�" if _is_hidden(character) else character for character in text)


def clean_lines(text: str) -> str:
    """The same for text of several lines, which stay lines.

    >>> clean_lines("sun\\u202e\\nsky")
    'sun�\\nsky'
    """
    return text if text.isprintable() else "\n".join(map(clean, text.split("\n")))


def _is_hidden(character: str) -> bool:
    return unicodedata.category(character) in HIDDEN or character in _NO_CHARACTERS


@lru_cache(maxsize=65536)
def shown(text: str, longest: int = LONGEST) -> str:
    """Text without characters that steer or hide, cut where it is too long.

    >>> shown("a\\u202eb"), shown("x" * 9, longest=4)
    ('a�b', 'xxx…')
    """
    text = clean(text if len(text) <= 4 * longest else text[: 4 * longest])
    return text if len(text) <= longest else text[: longest - 1] + "…"


def hours_text(seconds: float) -> str:
    """Machine time as people plan with it.

    >>> hours_text(90.0), hours_text(5400.0), hours_text(1e6)
    ('1.5 min', '1.5 h', '278 h')
    """
    amount, unit = (seconds / 60.0, "min") if seconds < 3600.0 else (seconds / 3600.0, "h")
    return f"{amount:.0f} {unit}" if amount >= 100 else f"{amount:.1f}".removesuffix(".0") + f" {unit}"
