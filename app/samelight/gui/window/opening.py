"""Opening sequences: choosing a folder, showing how far the reading is, and what went wrong."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from samelight.gui.background.background import Background
from samelight.gui.background.loading import Loader
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.welcome import Welcome
from samelight.sequence.samples import own_copy
from samelight.sheets.folder_files import is_sequence
from samelight.sheets.resources import sample_sequence

if TYPE_CHECKING:
    from samelight.changes.starting import Start
    from samelight.sequence.session import Session
    from samelight.sheets.production import CommonRules


class Opening(QObject):
    """Opens one sequence at a time in the background, with the first page as its face while nothing is open."""

    opened = Signal(object)
    """The `Session` that was read."""
    said = Signal(str)
    """How far the reading is, or that it was stopped; empty when there is nothing to say."""

    def __init__(self, settings: Settings, window: QWidget) -> None:
        super().__init__(window)
        self._shown: Path | None = None
        """The sequence that is open."""
        self._common: CommonRules | None = None
        """What a production gives it."""
        self._settings = settings
        self._window = window
        self.welcome = Welcome()
        self.loader = Loader(self)
        self._looking = Background(self)
        self.welcome.open_asked.connect(self.ask)
        self.welcome.sample_asked.connect(self.open_sample)
        self.welcome.cancel_asked.connect(self.loader.cancel)
        self.welcome.cancel_asked.connect(self._stop_looking)
        self.loader.progressed.connect(self._progressed)
        self.loader.opened.connect(self.opened)
        self.loader.failed.connect(self._failed)
        self.loader.stopped.connect(self._stopped)

    def open(self, folder: Path, common: CommonRules | None = None) -> None:
        """Open a sequence; the window shows how far it is and stays alive. Of one that the program brings along the user's
        own copy is opened. `common` is what a production gives it."""
        try:
            folder = own_copy(folder)
        except OSError as error:
            self._failed(
                f"{folder.name}: no copy of it could be made to try it in: {error.strerror or error}"
            )
            return
        self._looking.cancel_all()
        self.welcome.show_loading(folder.name)
        read = partial(self._read, folder, common)
        if is_sequence(folder):
            read()
        else:
            self._looking.run(
                "start",
                partial(_found_in, folder),
                partial(self.offer, common=common),
                lambda _: read(),
            )

    def _stop_looking(self) -> None:
        if self._looking.busy:
            self._looking.cancel_all()
            self._stopped()

    def _read(self, folder: Path, common: CommonRules | None = None) -> None:
        self._common = common
        self.loader.open(folder, common)

    def offer(self, start: Start, common: CommonRules | None = None) -> None:
        """Offer to make a sequence of a folder that is none."""
        from samelight.changes.starting import without_shots
        from samelight.gui.dialogs.start_dialog import StartDialog

        if not start.shots:
            self._failed("\n".join((without_shots(start), *start.doubts)))
            return
        dialog = StartDialog(start, self._window)
        accepted = dialog.exec() == QDialog.DialogCode.Accepted
        dialog.deleteLater()
        if accepted:
            self._read(start.folder, common)
        else:
            self._stopped()

    def ask(self) -> None:
        """Ask for a folder and open it."""
        start = self._settings.text("last") or str(sample_sequence())
        chosen = QFileDialog.getExistingDirectory(self._window, "Open a sequence folder", start)
        if chosen:
            self.open(Path(chosen))

    def open_sample(self) -> None:
        """Open the sample."""
        self.open(sample_sequence())

    def reload(self) -> None:
        """Read the sequence again."""
        if self._shown is not None:
            self.open(self._shown, self._common)

    def remember(self, session: Session) -> None:
        """Remember a sequence as the one that is open, and was opened last."""
        self._shown = session.contents.folder
        folder = session.contents.folder.resolve()
        self._settings.keep("last", str(folder))
        self._settings.opened(folder)

    def _progressed(self, done: int, total: int, name: str) -> None:
        self.welcome.show_progress(done, total, name)
        self.said.emit(f"Reading {done} of {total}  {name}")

    def _failed(self, message: str) -> None:
        self.said.emit("")
        if self._shown is None:
            self.welcome.show_failed(message)
        else:
            warn(self._window, "This sequence could not be opened", message)

    def _stopped(self) -> None:
        self.said.emit("Loading was stopped")
        if self._shown is None:
            self.welcome.show_welcome()

    def commands(self) -> dict[str, Callable[[], None]]:
        """The commands of opening."""
        return {"open": self.ask, "sample": self.open_sample, "reload": self.reload}


def _found_in(folder: Path) -> Start:
    """What a sequence could be made of."""
    from samelight.changes.starting import in_cut_order, look_at

    return in_cut_order(look_at(folder))


def folder_of(urls: list[QUrl]) -> Path | None:
    """The sequence folder that was dropped: a folder, or the folder of a file in it."""
    for url in urls:
        path = Path(url.toLocalFile())
        if url.isLocalFile() and path.exists():
            return path if path.is_dir() else path.parent
    return None
