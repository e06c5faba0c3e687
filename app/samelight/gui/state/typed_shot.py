"""Which shot somebody means who types its name, or a part of it, or its number in the cut."""

from __future__ import annotations

from collections.abc import Sequence


def shot_called(shots: Sequence[str], typed: str) -> str | None:
    """The shot that is called so, else the first whose name holds the text, else the one at that place in the cut, from 1.

    >>> [shot_called(["HB_010", "HB_020", "HB_120"], typed) for typed in ("hb_020", "12", "3", "x", " ")]
    ['HB_020', 'HB_120', 'HB_120', None, None]
    """
    text = typed.strip().lower()
    if not text:
        return None
    exact = next((shot for shot in shots if shot.lower() == text), None)
    found = exact or next((shot for shot in shots if text in shot.lower()), None)
    if found is None and text.isdecimal() and 1 <= int(text) <= len(shots):
        return shots[int(text) - 1]
    return found
