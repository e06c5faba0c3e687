"""The remarks on a sequence, at the right of the status line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QWidget

from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.plain_text import plain
from samelight.sheets.counted import counted

if TYPE_CHECKING:
    from samelight.sequence.session import Session

_WIDEST = 110
"""Letters: as much of the status line as leaves room for what is said there for a moment."""
_LISTED = 30


class RemarksLabel(ElidedLabel):
    """Says the first of the remarks as far as there is room, and all of them to the mouse."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self._whole = ""
        self._said = ("", "")
        self._failed: list[str] = []
        super().__init__(parent=parent)
        self.setAccessibleName("Remarks")

    def _warn(self, warns: bool) -> None:
        """Make the line stand out, or be as any other."""
        font = self.font()
        font.setBold(warns)
        self.setFont(font)
        self.setForegroundRole(QPalette.ColorRole.BrightText if warns else QPalette.ColorRole.WindowText)

    def show_session(self, session: Session) -> None:
        """Say what is wrong with a sequence and its ledger; decisions that cannot be read come first, and stand out."""
        says = [trouble.says for trouble in session.troubles]
        unread = session.ledger.troubles()
        says = [*unread, *says, *session.ledger.remarks()]
        self._warn(bool(unread))
        count = f"{counted(len(says), 'remark')} on this sequence" if says else ""
        more = [f"… and {len(says) - _LISTED} more"] if len(says) > _LISTED else []
        self._show(f"{count}: {_first_line(says[0])}" if says else "", "\n".join([*says[:_LISTED], *more]))

    def show_trouble(self, trouble: str) -> None:
        """Say why what is shown is not up to date."""
        self._warn(True)
        self._show(f"Not up to date: {_first_line(trouble)}", trouble)

    def show_mishap(self, said: str) -> None:
        """Say what failed in the window, before all else from now on: the newest first, each once."""
        self._failed = [said, *(earlier for earlier in self._failed if earlier != said)][:_LISTED]
        self._show(*self._said)

    def _show(self, text: str, whole: str) -> None:
        self._said = text, whole
        self._whole = "\n".join(part for part in (*self._failed, whole) if part)
        self.setText(self._failed[0] if self._failed else text)
        self.setAccessibleDescription(self._whole)

    def sizeHint(self) -> QSize:
        widest = self.fontMetrics().averageCharWidth() * _WIDEST
        return super().sizeHint().boundedTo(QSize(widest, super().sizeHint().height()))

    def _say(self) -> None:
        self.setToolTip(plain(self._whole))


def _first_line(text: str) -> str:
    return text.splitlines()[0] if text else ""
