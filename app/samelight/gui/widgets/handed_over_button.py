"""The lists of what somebody has to do something about, as one button with their figure; a click offers the lists, with the figure of each."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from samelight.gui.state.handed_over import LISTS, counts_line
from samelight.gui.widgets.plain_text import plain
from samelight.sequence.saved_views import Show


class HandedOverButton(QToolButton):
    """Its width is that of its widest figures, so that nothing beside it moves when they change."""

    asked = Signal(str)
    """A list is asked for, by what `Show` calls it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("What was handed over")
        self.setAutoRaise(True)
        self.offered = QMenu(self)
        self.lists = {show: self.offered.addAction("") for show in LISTS}
        for show, action in self.lists.items():
            action.triggered.connect(lambda _=False, show=show: self.asked.emit(str(show)))
        # Popped up by hand, since a button with a menu of its own draws an arrow for which a bar has no room.
        self.clicked.connect(self._offer)
        self.setText(counts_line(dict.fromkeys(LISTS, 222)))
        self.setFixedWidth(self.sizeHint().width())
        self.show_counts(dict.fromkeys(LISTS, 0))

    def show_counts(self, counts: Mapping[Show, int], findings: Mapping[Show, int] | None = None) -> None:
        """Say how many are in each list; of how many `findings` are these, which stand among the findings."""
        self.setText(counts_line(counts))
        said = [_said(show, count, (findings or {}).get(show, 0)) for show, count in counts.items()]
        for action, text in zip(self.lists.values(), said, strict=True):
            action.setText(text)
        self.setToolTip(plain("\n".join([*said, "A click lists one of them"])))

    def _offer(self) -> None:
        self.offered.popup(self.mapToGlobal(self.rect().bottomLeft()))


def _said(show: Show, count: int, findings: int) -> str:
    """A list with its figure, of which some are findings.

    >>> _said(Show.SENT_BACK, 3, 0), _said(Show.SENT_BACK, 3, 1)
    ('Sent back: 3', 'Sent back (1 a finding): 3')
    """
    among = f" ({findings} a finding)" if findings == 1 else f" ({findings} findings)" if findings else ""
    return f"{str(show).removeprefix('what was ').removeprefix('what ').capitalize()}{among}: {count}"
