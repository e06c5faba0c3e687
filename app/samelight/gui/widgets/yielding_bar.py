"""Controls side by side, or one under the other where they have no room."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QWidget

LEAST_WIDTH = 40


class YieldingBar(QWidget):
    """The controls from left to right; those of `last` stand at the right end. It never keeps a panel from being narrow."""

    def __init__(
        self, first: Sequence[QWidget], last: Sequence[QWidget] = (), parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._controls = [*first, *last]
        self._box = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._box.setContentsMargins(6, 4, 6, 2)
        for control in first:
            self._box.addWidget(control)
        self._box.addStretch(1)
        for control in last:
            self._box.addWidget(control)
        for control in self._controls:
            control.setMinimumWidth(LEAST_WIDTH)

    @property
    def stacked(self) -> bool:
        """Whether the controls stand one under the other."""
        return self._box.direction() is QBoxLayout.Direction.TopToBottom

    def room_needed(self) -> int:
        """The width that all which are not hidden need side by side, in pixels."""
        margins = self._box.contentsMargins()
        shown = [control for control in self._controls if not control.isHidden()]
        wide = sum(control.sizeHint().width() for control in shown)
        gaps = self._box.spacing() * len(shown)
        return wide + gaps + margins.left() + margins.right()

    def minimumSizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        stack = event.size().width() < self.room_needed()
        if stack != self.stacked:
            directions = QBoxLayout.Direction
            self._box.setDirection(directions.TopToBottom if stack else directions.LeftToRight)
