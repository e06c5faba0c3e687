"""Numbers with their nouns."""

from __future__ import annotations


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "shot"), counted(3, "shot"), counted(2, "copy", "copies")
    ('1 shot', '3 shots', '2 copies')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
