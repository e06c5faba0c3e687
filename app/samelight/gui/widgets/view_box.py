"""The button that says what frames are seen through, and offers other views."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from samelight.gui.widgets.plain_text import plain, plain_item

_SAID = "What all frames are seen through, here and elsewhere"


class ViewBox(QToolButton):
    """Views to choose from in a menu; not there where there is nothing to choose or to say. It names the view that is chosen where it
    is `named`, else the tool tip does."""

    chosen = Signal(int)
    """Somebody chose the view at this place."""

    def __init__(self, *, named: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._named = named
        self.texts: tuple[str, ...] = ()
        self.current = ""
        """The view that is chosen."""
        self.setText("View")
        self.setToolTip(plain(_SAID))
        self.setAccessibleName("View")
        self.setMenu(QMenu(self))
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.hide()

    def offer(self, texts: Sequence[str], chosen: int, problem: str = "") -> None:
        """Offer views, of which one is chosen; `problem` says why there are no others."""
        if tuple(texts) != self.texts:
            self.texts = tuple(texts)
            self.menu().clear()
            for place, text in enumerate(texts):
                action = self.menu().addAction(plain_item(text))
                action.setCheckable(True)
                action.triggered.connect(partial(self.chosen.emit, place))
        for place, action in enumerate(self.menu().actions()):
            action.setChecked(place == chosen)
        self.current = texts[chosen]
        self.setText(plain_item(f"View: {self.current}") if self._named else "View")
        self.setToolTip(plain(problem or f"{_SAID}: {self.current}"))
        self.setAccessibleName(f"View: {self.current}")
        self.setVisible(len(texts) > 1 or bool(problem))
