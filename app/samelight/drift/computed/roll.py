"""How a light is rolled about the direction it shines to: its own +X, which is no canonical value.

A rect that is rolled lights a mark beside it otherwise, and the axis of a cylinder is its +X.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from samelight.drift.computed.columns import Array, Words
from samelight.light.directions import Vector, across_from_euler, across_from_matrix, to_y_up
from samelight.sheets.sheet import Sheet
from samelight.sheets.units import ANGLE, parse_quantity

ROLLED = ("rect", "cylinder")
"""Shapes that look different when rolled about the direction they shine to."""

_NOT_STATED = (float("nan"),) * 3


def across_of(sheets: Sequence[Sheet], name: str, shape: Words) -> Array:
    """The light's own +X, shape (n, 3), where a rect or cylinder states its rotation or matrix; NaN elsewhere."""
    if not any(word in ROLLED for word in shape.tolist()):
        return np.broadcast_to(np.array(_NOT_STATED), (len(sheets), 3))
    found: list[Vector | tuple[float, ...]] = []
    last: Sheet | None = None
    for sheet in sheets:
        if sheet is not last:  # a sheet stands there for each of its moments
            last, across = sheet, _across(sheet, name)
        found.append(across or _NOT_STATED)
    return np.array(found, dtype=np.float64).reshape(len(sheets), 3)


def _across(sheet: Sheet, name: str) -> Vector | None:
    lights = sheet.typed.get("lights")
    light = lights.get(name) if isinstance(lights, Mapping) else None
    if not isinstance(light, Mapping):
        return None
    rotation, matrix = _first_key(light.get("rotation")), _first_key(light.get("matrix"))
    try:
        if rotation is not None:
            own = across_from_euler(
                [_degrees(angle) for angle in rotation], light.get("rotation_order") or "XYZ"
            )
        elif matrix is not None:
            own = across_from_matrix(matrix)
        else:
            return None
    except (TypeError, ValueError):  # a matrix that scales its x axis to nothing
        return None
    return to_y_up(own, sheet.conventions.up_axis)


def _degrees(angle: Any) -> float:
    quantity = parse_quantity(angle) if isinstance(angle, str) else None
    return quantity.value if quantity is not None and quantity.dimension == ANGLE else float(angle)


def _first_key(typed: Any) -> Any:
    """A typed value, at its first key where it is animated: a roll that is animated is rare."""
    try:
        return typed["keys"][0][1] if isinstance(typed, Mapping) else typed
    except (KeyError, IndexError, TypeError):
        return None
