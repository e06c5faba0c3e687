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


def remembered(settings: Settings) -> View:
    """The view of the day before; where a setting is none, as if it had never been set.

    At first what drifts is listed, the worst at the top, with the whole cut in view.
    """
    zoom = settings.text("zoom", _FITTED)
    return View(
        rows=_one_of(settings.text("show"), Show.DRIFTING),
        filter=settings.text("filter"),
        order=_one_of(settings.text("order"), Order.WORST),
        cells=_one_of(settings.text("shown"), Shown.DRIFT),
        column_width=_width(zoom),
        fitted=zoom == _FITTED,
        expanded=tuple(sorted(settings.names("expanded"))),
    )


def remember(settings: Settings, view: View) -> None:
    """Keep what of a view holds for any sequence."""
    settings.keep("show", str(view.rows))
    settings.keep("filter", view.filter)
    settings.keep("order", str(view.order))
    settings.keep("shown", str(view.cells))
    settings.keep("expanded", list(view.expanded))
    if view.fitted or view.column_width is not None:
        settings.keep("zoom", _FITTED if view.fitted else f"{view.column_width:g}")


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
