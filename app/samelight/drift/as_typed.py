"""What counts at a mark and is no canonical value: how a light is rolled about its axis, and its focus tint."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

import numpy as np

from samelight.drift.columns import Array, Words
from samelight.light.colour import luminance
from samelight.light.directions import Vector, across_from_euler, across_from_matrix, to_y_up
from samelight.sheets.sheet import Sheet
from samelight.sheets.units import ANGLE, parse_quantity

T = TypeVar("T", float, Vector)

ROLLED = ("rect", "cylinder")
"""Shapes that look different when rolled about the direction they shine to."""


def across(sheets: Sequence[Sheet], name: str, shape: Words) -> Array:
    """The light's own +X, shape (n, 3), where a rect or cylinder states its rotation or matrix; NaN elsewhere."""
    nowhere = (np.nan, np.nan, np.nan)
    if not any(word in ROLLED for word in shape.tolist()):
        return np.broadcast_to(np.array(nowhere), (len(sheets), 3))
    return np.array(_each(sheets, name, _across, nowhere), dtype=np.float64)


def focus_tint(sheets: Sequence[Sheet], name: str) -> Array:
    """The luminance of the light's focus tint, shape (n,); 0 (black) where none is stated."""
    return np.array(_each(sheets, name, _tint, 0.0), dtype=np.float64)


def _each(
    sheets: Sequence[Sheet], name: str, read: Callable[[Mapping[str, Any], Sheet], T | None], otherwise: T
) -> list[T]:
    """What is read of the light in each sheet; a sheet that stands there for several moments is read once."""
    found: list[T] = []
    last: Sheet | None = None
    for sheet in sheets:
        if sheet is not last:
            light = sheet.typed.get("lights", {}).get(name)
            value = read(light, sheet) if isinstance(light, Mapping) else None
            last = sheet
        found.append(otherwise if value is None else value)
    return found


def _across(light: Mapping[str, Any], sheet: Sheet) -> Vector | None:
    rotation, matrix = _first_key(light.get("rotation")), _first_key(light.get("matrix"))
    try:
        if rotation is not None:
            own = across_from_euler(
                [_degrees(angle) for angle in rotation], light.get("rotation_order", "XYZ")
            )
        elif matrix is not None:
            own = across_from_matrix(matrix)
        else:
            return None
    except (TypeError, ValueError):  # a sheet with such a light is refused, but for a policy's own kinds
        return None
    return to_y_up(own, sheet.conventions.up_axis)


def _degrees(angle: Any) -> float:
    quantity = parse_quantity(angle) if isinstance(angle, str) else None
    return quantity.value if quantity is not None and quantity.dimension == ANGLE else float(angle)


def _tint(light: Mapping[str, Any], sheet: Sheet) -> float | None:
    tint = _first_key(light.get("focus_tint"))
    try:
        return None if tint is None else luminance(tint, sheet.conventions.working_space)
    except (TypeError, ValueError):
        return None


def _first_key(typed: Any) -> Any:
    """A typed value, at its first key where it is animated: a roll that is animated is rare."""
    try:
        return typed["keys"][0][1] if isinstance(typed, Mapping) else typed
    except (KeyError, IndexError, TypeError):
        return None
