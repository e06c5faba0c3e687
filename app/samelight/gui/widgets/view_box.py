"""The box that says what frames are seen through."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QWidget

from samelight.gui.widgets.plain_text import PlainLabel, plain, plain_item

_FEWEST = 8
"""Letters that are shown of what is chosen where there is no room for more; the list is as wide as it needs."""
_SAID = "What all frames are seen through, here and elsewhere"


class ViewBox(QWidget):
    """Views to choose from, with their label; not there where there is nothing to choose or to say."""

    chosen = Signal(int)
    """Somebody chose the view at this place."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.box = QComboBox()
        self.box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.box.setMinimumContentsLength(_FEWEST)
        self.box.setAccessibleName("View")
        self.box.setToolTip(_SAID)
        self.box.activated.connect(self.chosen)
        label = PlainLabel("View")
        label.setBuddy(self.box)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(label)
        row.addWidget(self.box)
        self.hide()

    def offer(self, texts: Sequence[str], chosen: int, problem: str = "") -> None:
        """Offer views, of which one is chosen; `problem` says why there are no others."""
        shown = [plain_item(text) for text in texts]
        if [self.box.itemText(place) for place in range(self.box.count())] != shown:
            self.box.clear()
            self.box.addItems(shown)
            self.box.view().setMinimumWidth(self.box.view().sizeHintForColumn(0) + 24)
        self.box.setCurrentIndex(chosen)
        self.box.setToolTip(plain(problem or _SAID))
        self.setVisible(len(texts) > 1 or bool(problem))
