"""The menu of the sequences that were opened last."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu, QWidget

from samelight.gui.widgets.plain_text import plain, plain_item
from samelight.gui.widgets.settings import Settings
from samelight.sheets.folder_files import SEQUENCE_FILE


class RecentMenu(QMenu):
    """Lists them anew each time it is opened; what cannot be opened any more is greyed out, and says why."""

    chosen = Signal(Path)

    def __init__(self, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__("Open re&cent", parent)
        self._settings = settings
        self.setToolTipsVisible(True)
        self.aboutToShow.connect(self.fill)

    def fill(self) -> None:
        """List what is remembered now."""
        self.clear()
        recent = self._settings.recent()
        for number, folder in enumerate(recent, 1):
            wrong = why_not(folder)
            text = f"&{number}  {plain_item(folder.name)}    {plain_item(str(folder.parent))}"
            action = self.addAction(f"{text}    ({wrong})" if wrong else text)
            action.setToolTip(plain(f"{folder}: {wrong}" if wrong else str(folder)))
            action.setEnabled(not wrong)
            action.triggered.connect(lambda *_, path=folder: self.chosen.emit(path))
        if not recent:
            self.addAction("Nothing yet").setEnabled(False)
        self.addSeparator()
        clear = self.addAction("&Clear this list", self._settings.forget_recent)
        clear.setToolTip("Forget which sequences were opened; the sequences stay")
        clear.setEnabled(bool(recent))


def why_not(folder: Path) -> str:
    """Why a folder cannot be opened as a sequence, or nothing."""
    try:
        if not folder.is_dir():
            return "the folder is not there"
        if not (folder / SEQUENCE_FILE).exists():
            return f"no {SEQUENCE_FILE} in it"
    except OSError as error:
        return error.strerror or "it cannot be read"
    return ""
