"""The page that the inspector is: parts one under the other, which scroll."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QFocusEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from samelight.gui.paint import theme
from samelight.gui.widgets.page_parts import words_of


class Page(QScrollArea):
    """Parts as wide as the page, whatever its width, and below them others that come later; what has the focus is scrolled
    into view."""

    def __init__(self, first: Sequence[QWidget], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.parts: list[QWidget] = []
        self._first = len(first)
        self._is_in_order = False
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
        self._column = QVBoxLayout(held)
        self._column.setContentsMargins(8, 6, 8, 12)
        self._column.setSpacing(2)
        self._column.addStretch(1)
        for place, part in enumerate(first):
            self._put(place, part)
        self.setWidget(held)

    def insert(self, place: int, part: QWidget) -> None:
        """Put another part at a place below the first ones."""
        self._put(self._first + place, part)

    def _put(self, place: int, part: QWidget) -> None:
        self.parts.insert(place, part)
        self._column.insertWidget(place, part)
        for child in _with_tab(part):
            self.watch(child)

    def watch(self, child: QWidget) -> None:
        """Scroll to a part of it when it gets the focus."""
        child.installEventFilter(self)
        self._is_in_order = False

    def put_in_order(self) -> None:
        """Let Tab go from top to bottom, whatever was made first."""
        if not self._is_in_order:
            self._is_in_order = True
            for before, after in pairwise(child for part in self.parts for child in _with_tab(part)):
                self.setTabOrder(before, after)

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


def _with_tab(part: QWidget) -> Iterator[QWidget]:
    """What Tab goes to in a part."""
    for child in (part, *part.findChildren(QWidget)):
        if child.focusPolicy() & Qt.FocusPolicy.TabFocus:
            yield child
