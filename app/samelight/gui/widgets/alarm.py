"""What keeps the window from knowing all, in a line over the grid that nobody overlooks."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QWidget

from samelight.drift.words import counted
from samelight.gui.paint import theme
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.sheets.errors import Fault

_GROUND, _INK = theme.grey(226), theme.grey(20)


class Alarm(ElidedLabel):
    """Dark on light, since everything around it is light on dark; not there while there is nothing to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self._trouble = self._unread = ""
        super().__init__(parent=parent)
        colours = self.palette()
        colours.setColor(QPalette.ColorRole.Window, _GROUND)
        colours.setColor(QPalette.ColorRole.WindowText, _INK)
        self.setPalette(colours)
        self.setAutoFillBackground(True)
        self.setFont(theme.font(bold=True))
        self.setContentsMargins(8, 3, 8, 3)
        self.setAccessibleName("What is not known")
        self.hide()

    def show_trouble(self, trouble: str) -> None:
        """Say why what is shown is not up to date; with nothing it is."""
        self._trouble = f"Not up to date: {trouble}" if trouble else ""
        self._show()

    def show_unread(
        self, faults: Sequence[Fault], gone: Sequence[str] = (), unlisted: Fault | None = None
    ) -> None:
        """Say how many decisions cannot be read, or relied on, and how many have gone; which and why is in the remarks.

        With `unlisted`, one of the faults, their folder cannot be looked at.
        """
        count = len({fault.file for fault in faults if fault is not unlisted})
        unread = f"{counted(count, 'decision')} cannot be read" if count else ""
        folder = "the folder of decisions cannot be read: you see it as it was" if unlisted else ""
        lost = (
            f"{counted(len(gone), 'decision')} known here before {'is' if len(gone) == 1 else 'are'} gone"
            if gone
            else ""
        )
        self._unread = "; ".join(part for part in (folder, unread, lost) if part)
        self._show()

    def _show(self) -> None:
        said = "     ".join(part for part in (self._trouble, self._unread) if part).replace("\n", " ")
        if said != self.text():
            self.setText(said)
            self.setAccessibleDescription(said)
            self.setVisible(bool(said))
