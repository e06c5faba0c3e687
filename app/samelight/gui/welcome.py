"""What stands in the place of the grid when there is none: the first run, loading, and what went wrong."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QVBoxLayout, QWidget

from samelight.gui import theme

_WELCOME = (
    "A sequence is a folder with a master setup and a sheet for every shot.\n"
    "Samelight shows what in each shot differs from the master, and by how much.\n"
    "Say which differences are meant, and send back the rest."
)


class Welcome(QWidget):
    """One page with a text, a progress bar while something loads, and buttons."""

    open_asked = Signal()
    sample_asked = Signal()
    cancel_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = QLabel()
        self.title.setFont(theme.font(18.0, bold=True))
        self.text = QLabel()
        self.text.setFont(theme.font(11.5))
        self.text.setWordWrap(True)
        self.text.setTextFormat(Qt.TextFormat.PlainText)
        self.text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.text.setMinimumWidth(620)
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Loading")
        self.open_button = QPushButton("&Open a sequence…")
        self.open_button.setToolTip("Choose a sequence folder (Ctrl+O)")
        self.sample_button = QPushButton("Open the &sample")
        self.sample_button.setToolTip("Open Harbour, the sequence that comes with the program")
        self.cancel_button = QPushButton("&Cancel")
        self.cancel_button.setToolTip("Stop loading (Esc)")
        self.open_button.clicked.connect(self.open_asked)
        self.sample_button.clicked.connect(self.sample_asked)
        self.cancel_button.clicked.connect(self.cancel_asked)
        buttons = QHBoxLayout()
        for button in (self.open_button, self.sample_button, self.cancel_button):
            buttons.addWidget(button)
        buttons.addStretch()
        inner = QVBoxLayout()
        inner.addStretch(2)
        for widget in (self.title, self.text, self.progress):
            inner.addWidget(widget)
            inner.addSpacing(8)
        inner.addLayout(buttons)
        inner.addStretch(3)
        layout = QHBoxLayout(self)
        layout.addStretch(1)
        layout.addLayout(inner, 3)
        layout.addStretch(1)
        self.show_welcome()

    def show_welcome(self) -> None:
        """The first run."""
        self._show("Nothing is open yet", _WELCOME, loading=False)

    def show_loading(self, name: str) -> None:
        """A sequence is being read."""
        self._show(f"Opening {name}", "", loading=True)
        self.progress.setRange(0, 0)

    def show_progress(self, done: int, total: int, name: str) -> None:
        """How far the reading is."""
        self.progress.setRange(0, max(total, 1))
        self.progress.setValue(done)
        self.text.setText(f"{done} of {total}  {name}")

    def show_failed(self, message: str) -> None:
        """It could not be opened."""
        self._show("This sequence could not be opened", message, loading=False)

    def _show(self, title: str, text: str, *, loading: bool) -> None:
        self.title.setText(title)
        self.text.setText(text)
        self.progress.setVisible(loading)
        self.cancel_button.setVisible(loading)
        self.open_button.setVisible(not loading)
        self.sample_button.setVisible(not loading)
