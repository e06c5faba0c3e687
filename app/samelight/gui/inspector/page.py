"""The page that the inspector is: parts one under the other, which scroll."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QFocusEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from samelight.gui.paint import theme
from samelight.gui.widgets.page_parts import words_of


class Page(QScrollArea):
    """Parts as wide as the page, whatever its width; what has the focus is scrolled into view."""

    def __init__(self, parts: Sequence[QWidget], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.parts = parts
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # Always there, so that text does not wrap anew, and back, as it comes and goes.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Inspector")
        self.setAccessibleDescription("Up, Down and Page keys scroll; Tab goes through what can be clicked.")
        held = QWidget(self.viewport())
        held.setAutoFillBackground(True)
        palette = held.palette()
        palette.setColor(held.backgroundRole(), theme.FIELD)
        held.setPalette(palette)
        layout = QVBoxLayout(held)
        layout.setContentsMargins(8, 6, 8, 12)
        layout.setSpacing(2)
        for part in parts:
            layout.addWidget(part)
        layout.addStretch(1)
        self.setWidget(held)
        for child in held.findChildren(QWidget):
            if child.focusPolicy() & Qt.FocusPolicy.TabFocus:
                self.watch(child)

    def watch(self, child: QWidget) -> None:
        """Scroll to a part of it when it gets the focus."""
        child.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn and isinstance(watched, QWidget):
            by_key = isinstance(event, QFocusEvent) and event.reason() in (
                Qt.FocusReason.TabFocusReason,
                Qt.FocusReason.BacktabFocusReason,
            )
            if by_key:
                self.ensureWidgetVisible(watched, 0, 12)
        return super().eventFilter(watched, event)

    def toPlainText(self) -> str:
        """Everything that is shown, as text."""
        return words_of(self.parts)
