"""The figure preview of a shot, made beside the window."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from samelight.drift.computed.figure import Figure
from samelight.gui.background.background import Background
from samelight.gui.state.cell_words import sheet_name
from samelight.gui.state.figure_data import figure_at, mark_of_row
from samelight.gui.widgets.figure_view import FigureView
from samelight.sequence.references import Comparison
from samelight.sequence.session import Session

_FIGURE = "figure"


class FigurePart(FigureView):
    """A figure that is asked for by a row and a shot; that of the same mark in the same shot is not made again."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._background = Background(self)
        self._of: Comparison | None = None
        self._shown = "", ""

    def show_for(self, session: Session, shot: str, section: str = "lights", group: str = "") -> bool:
        """Show the figure of a shot for a row of this section and group; whether there is one to show."""
        mark = mark_of_row(session, section, group, shot)
        if not mark:
            return False
        if self._of is not session.comparison or self._shown != (mark, shot):
            self._of, self._shown = session.comparison, (mark, shot)
            sheets = session.comparison.reference_sheets.get(shot), session.comparison.sheets.get(shot)
            self.announce(mark, sheet_name(sheets[0]), sheet_name(sheets[1]))
            self._background.run(_FIGURE, figure_at(session, mark, shot), self._take)
        return True

    def _take(self, figure: Figure | None) -> None:
        if figure is not None:
            self.show_figure(figure)
