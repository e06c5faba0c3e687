"""What stands in the place of the grid when there is none: the first run, loading, and what went wrong."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QToolBar,
    QVBoxLayout,
    QWidget,
)

from samelight.gui.paint import theme
from samelight.gui.widgets.elided_label import ElidedLabel
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.reports.shown import shown

EXPLANATION = (
    "A sequence is a folder with a master setup and a sheet for every shot.\n"
    "Samelight shows what in each shot differs from the master, and by how much.\n"
    "Say which differences are meant, and send back the rest."
)
_DROP = "Or drop a sequence folder anywhere on this window."
_WIDTH = 62
"""How wide the page is at most, in letters: a length of line that reads well."""


class Welcome(QWidget):
    """One page with a text, a progress bar while something loads, buttons, and what was open before."""

    open_asked = Signal()
    sample_asked = Signal()
    cancel_asked = Signal()
    folder_asked = Signal(object)
    """The `Path` of a sequence that was open before."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = ElidedLabel()
        self.title.setFont(theme.font(theme.LARGE, bold=True))
        self.text = PlainLabel()
        self.text.setFont(theme.font())
        self.text.setWordWrap(True)
        self.text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self.name = ElidedLabel("What is being read")
        self.name.setAccessibleName(self.name.toolTip())
        self.progress = QProgressBar()
        self.progress.setAccessibleName("How far the reading is")
        self.progress.setFormat("%p %")
        self.progress.setToolTip("How much was read so far")
        self.open_button = _button("&Open a sequence…", "Choose a sequence folder (Ctrl+O)")
        self.sample_button = _button(
            "Open the &sample", "Open Harbour, the sequence that comes with the program"
        )
        self.cancel_button = _button("&Cancel", "Stop loading (Esc)")
        self.open_button.clicked.connect(self.open_asked)
        self.sample_button.clicked.connect(self.sample_asked)
        self.cancel_button.clicked.connect(self.cancel_asked)
        self.drop = PlainLabel(_DROP)
        self.drop.setForegroundRole(self.drop.palette().ColorRole.PlaceholderText)
        self.drop.setWordWrap(True)
        self.recent_title = PlainLabel("Open &again")
        self.recent = _Recent()
        self.recent_title.setBuddy(self.recent)
        self.recent.chosen.connect(self.folder_asked)
        self._lay_out()
        self.show_welcome()

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for button in (self.sample_button, self.open_button, self.cancel_button):
            buttons.addWidget(button)
        buttons.addStretch()
        inner = QVBoxLayout()
        inner.setSpacing(10)
        inner.addStretch(2)
        for widget in (self.title, self.text, self.progress, self.name):
            inner.addWidget(widget)
        inner.addLayout(buttons)
        inner.addWidget(self.drop)
        inner.addSpacing(12)
        inner.addWidget(self.recent_title)
        inner.addWidget(self.recent)
        inner.addStretch(3)
        page = QWidget()
        page.setLayout(inner)
        page.setMaximumWidth(_WIDTH * self.text.fontMetrics().averageCharWidth() * 3 // 2)
        page.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        layout = QHBoxLayout(self)
        layout.addStretch(1)
        layout.addWidget(page, 6)
        layout.addStretch(1)

    def show_welcome(self) -> None:
        """Nothing is open: what this is, and where to begin."""
        self._show("Nothing is open yet", EXPLANATION, loading=False)

    def show_recent(self, folders: Sequence[Path]) -> None:
        """Offer the sequences that were open before, the last first."""
        self.recent.show_folders(folders)
        self._show_recent(loading=not self.progress.isHidden())

    def show_loading(self, name: str) -> None:
        """A sequence is being read."""
        self._show(f"Opening {name}", "", loading=True)
        self.name.setText("")
        self.progress.setRange(0, 0)

    def show_progress(self, done: int, total: int, name: str) -> None:
        """How far the reading is."""
        self.progress.setRange(0, max(total, 1))
        self.progress.setValue(done)
        self.name.setText(f"{done} of {total}  {name}")

    def show_failed(self, message: str) -> None:
        """It could not be opened."""
        self._show("This sequence could not be opened", message, loading=False)

    def _show(self, title: str, text: str, *, loading: bool) -> None:
        self.title.setText(title)
        self.text.setText(text)
        self.text.setVisible(bool(text))
        self.text.setAccessibleName(title)
        while_loading: tuple[QWidget, ...] = (self.progress, self.name, self.cancel_button)
        otherwise: tuple[QWidget, ...] = (self.open_button, self.sample_button, self.drop)
        for widget in (*while_loading, *otherwise):
            widget.setVisible((widget in while_loading) is loading)
        self._show_recent(loading=loading)
        if self.isVisible():
            (self.cancel_button if loading else self.sample_button).setFocus()

    def _show_recent(self, *, loading: bool) -> None:
        for widget in (self.recent_title, self.recent):
            widget.setVisible(self.recent.count() > 0 and not loading)


class Explanation(QToolBar):
    """What this is, in three sentences above the sample, until it is put away."""

    put_away = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("What this is", parent)
        self.setObjectName("explanation")
        self.setMovable(False)
        self.text = PlainLabel(EXPLANATION)
        self.text.setFont(theme.font())
        self.button = _button("&Put this away", "Do not show this again")
        self.button.clicked.connect(self.put_away)
        strip = QWidget()
        strip.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        row = QHBoxLayout(strip)
        row.setContentsMargins(8, 6, 8, 6)
        row.setSpacing(24)
        row.addWidget(self.text, 1)
        row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignTop)
        self.addWidget(strip)


class _Recent(QListWidget):
    """Folders by name and place; a click or Enter chooses one."""

    chosen = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("Sequences that were open before")
        self.setToolTip("Sequences that were open before (click, or Enter)")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.setUniformItemSizes(True)
        self.itemClicked.connect(self._choose)
        self.itemActivated.connect(self._choose)

    def show_folders(self, folders: Sequence[Path]) -> None:
        """List these folders."""
        self.clear()
        for folder in folders:
            item = QListWidgetItem(shown(f"{folder.name}  —  {folder.parent}"))
            item.setToolTip(plain(str(folder)))
            item.setData(Qt.ItemDataRole.UserRole, folder)
            self.addItem(item)
        if folders:
            self.setCurrentRow(0)
            self.setMaximumHeight(self.sizeHintForRow(0) * len(folders) + 4)

    def _choose(self, item: QListWidgetItem) -> None:
        self.chosen.emit(item.data(Qt.ItemDataRole.UserRole))


def _button(text: str, tip: str) -> QPushButton:
    button = QPushButton(text)
    button.setToolTip(plain(tip))
    button.setAccessibleName(text.replace("&", "").rstrip("…"))
    return button
