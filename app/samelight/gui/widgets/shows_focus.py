"""What widgets share that draw by themselves whether they have the focus."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QFocusEvent

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget as _Widget
else:
    _Widget = object  # it stands before any kind of widget


class ShowsFocus(_Widget):
    """Stands before the kind of widget that it is: such a widget is drawn anew when the focus comes and when it goes."""

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()
