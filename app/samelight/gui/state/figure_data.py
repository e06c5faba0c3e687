"""Which figure belongs to a cell: the mark that its row is of, or else the shot's first. Plain objects, no Qt."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from samelight.drift.computed.figure import Figure, figure_of
from samelight.drift.derived_names import APART
from samelight.gui.state.cell_words import key_of
from samelight.sequence.session import Session

_OF_MARKS = ("marks", *sorted(APART))
_SECTIONS = (*_OF_MARKS, "lights", "environments")


def mark_of_row(session: Session, section: str, group: str, column: str) -> str:
    """The mark whose figure belongs to a row of this section and group in a shot; "" where there is none to show."""
    comparison = session.comparison
    sheet, reference = comparison.sheets.get(column), comparison.reference_sheets.get(column)
    if sheet is None or reference is None or section not in _SECTIONS:
        return ""
    marks = sheet.sections.get("marks", {})
    mark = group if section in _OF_MARKS else next(iter(marks), "")
    return mark if mark in marks else ""


def figure_at(session: Session, mark: str, column: str) -> Callable[[], Figure | None]:
    """What makes the figure at a mark of a shot (see `mark_of_row`); it can be called in another thread."""
    comparison = session.comparison
    reference = comparison.reference_sheets[column]
    return partial(figure_of, mark, comparison.sheets[column], reference, key_of(session, column, reference))
