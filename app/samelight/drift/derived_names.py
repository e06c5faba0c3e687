"""The kinds of computed rows by their names, for whoever names one in a policy."""

from __future__ import annotations

from samelight.sheets.vocabulary import ANGLE, CHOICE, COUNT, LEVEL

MARK_KINDS: dict[str, str] = {
    "level": LEVEL,
    "key": CHOICE,
    "fill": LEVEL,
    "key_to_fill": LEVEL,
    "key_side": CHOICE,
    "key_angle": ANGLE,
    "key_height": ANGLE,
    "key_size": ANGLE,
}
"""What is computed at each mark; `level.LIGHT` is a level too."""

SECTIONS: tuple[str, ...] = ("marks", "rays", "sky", "count")
"""Sections of computed rows, in the order they stand after the typed ones."""


def derived_kind(pattern: str) -> str | None:
    """The kind of the computed rows that a pattern means, or None when it means others.

    >>> derived_kind("marks.*.level.*"), derived_kind("*.key_size"), derived_kind("lights.*.level")
    ('level', 'angle', None)
    """
    section, *rest = pattern.split(".")
    if section == "marks" and len(rest) > 1:
        return MARK_KINDS.get(rest[1])
    if section == "rays":
        return LEVEL
    if section == "sky":
        return ANGLE
    if section == "count":
        return COUNT
    last = rest[-1] if rest else ""
    return MARK_KINDS.get(last) if last.startswith("key") or last == "fill" else None
