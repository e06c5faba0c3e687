"""The view that the window starts with: how things stood when it was closed, as the settings have it."""

from __future__ import annotations

import math
from dataclasses import replace
from enum import StrEnum
from typing import TypeVar

from samelight.gui.widgets.settings import Settings
from samelight.sequence.saved_views import Order, Show, Shown, View

E = TypeVar("E", bound=StrEnum)

_FITTED = "fitted"


def remembered(memory: Settings) -> View:
    """The view of the day before; where a setting is none, as if it had never been set."""
    zoom = memory.text("zoom")
    return View(
        rows=_one_of(memory.text("show"), Show.ALL),
        filter=memory.text("filter"),
        order=_one_of(memory.text("order"), Order.SHEET),
        cells=_one_of(memory.text("shown"), Shown.DRIFT),
        column_width=_width(zoom),
        fitted=zoom == _FITTED,
        expanded=tuple(sorted(memory.names("expanded"))),
    )


def remember(memory: Settings, view: View) -> None:
    """Keep what of a view holds for any sequence."""
    memory.keep("show", str(view.rows))
    memory.keep("filter", view.filter)
    memory.keep("order", str(view.order))
    memory.keep("shown", str(view.cells))
    memory.keep("expanded", list(view.expanded))
    if view.fitted or view.column_width is not None:
        memory.keep("zoom", _FITTED if view.fitted else f"{view.column_width:g}")


def of_any_sequence(view: View) -> View:
    """What of a view holds for another sequence too: what is pinned, hidden and plotted is of one alone."""
    return replace(view, only_my_shots=False, pinned=(), hidden_rows=(), hidden_shots=(), together=())


def _one_of(text: str, otherwise: E) -> E:
    kind = type(otherwise)
    return kind(text) if text in set(kind) else otherwise


def _width(text: str) -> float | None:
    try:
        width = float(text)
    except ValueError:
        return None
    return width if math.isfinite(width) and width > 0.0 else None
