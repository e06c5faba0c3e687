"""Both sides of a cell: what is compared, and what their sheets have typed."""

from __future__ import annotations

from PySide6.QtWidgets import QGridLayout, QWidget

from samelight.gui.paint import theme
from samelight.gui.state.cell_words import Side
from samelight.gui.widgets.page_parts import FittedLabel

_WIDEST_NAME = 96


class Values(QWidget):
    """What is compared, and what is typed, on both sides."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(2)
        self.names = [
            FittedLabel(text, points=theme.BODY, dim=True, lines=2) for text in ("", "compared", "as typed")
        ]
        self.cells = [
            [
                FittedLabel(points=theme.BODY, dim=True, lines=2),
                FittedLabel(lines=6),
                FittedLabel(points=theme.BODY, lines=10),
            ]
            for _ in range(2)
        ]
        wide = max(label.fontMetrics().horizontalAdvance(label.text()) for label in self.names) + 2
        grid.setColumnMinimumWidth(0, min(wide, _WIDEST_NAME))
        for place, label in enumerate(self.names):
            grid.addWidget(label, place, 0)
        for column, labels in enumerate(self.cells, 1):
            grid.setColumnStretch(column, 1)
            for place, label in enumerate(labels):
                grid.addWidget(label, place, column)

    def show_sides(self, reference: Side, shot: Side) -> None:
        """Show both sides."""
        typed = bool(reference.typed or shot.typed)
        self.names[2].setVisible(typed)
        for labels, side in zip(self.cells, (reference, shot), strict=True):
            labels[0].setText(side.sheet)
            labels[1].setText(side.compared)
            labels[2].setText("\n".join(side.typed) or "not stated")
            labels[2].setVisible(typed)

    def words(self) -> str:
        """The table as text, a line each."""
        lines = []
        for place, name in enumerate(self.names):
            if not name.isHidden():
                said = [labels[place].text().replace("\n", ", ") for labels in self.cells]
                lines.append("  ".join(part for part in (name.text(), *said) if part))
        return "\n".join(lines)
