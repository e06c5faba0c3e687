"""Opening a sequence without holding up the window."""

from __future__ import annotations

import threading
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QThread, Signal

from samelight.bases import keep
from samelight.session import CancelledError, Session, open_session
from samelight.sheets.errors import SamelightError

_KEEP_AFTER = 1.5
"""Seconds before what was read is kept for another day, so that it is painted first."""


class _Worker(QThread):
    progressed = Signal(int, int, str)
    opened = Signal(object)
    failed = Signal(str)
    stopped = Signal()

    def __init__(self, folder: Path, parent: QObject) -> None:
        super().__init__(parent)
        self._folder = folder
        self.cancel = threading.Event()

    def run(self) -> None:
        try:
            session = open_session(
                self._folder,
                progress=self.progressed.emit,
                cancelled=self.cancel.is_set,
                at_once=False,
            )
        except CancelledError:
            self.stopped.emit()
        except SamelightError as error:
            self.failed.emit(str(error))
        except OSError as error:
            self.failed.emit(f"{self._folder}: {error.strerror or error}")
        else:
            # What was opened: the session itself goes on, and may hold something else by then.
            keeping = partial(keep, session.contents, session.comparison, session.shelf)
            is_worth_keeping = session.shelf.kept is not None
            self.opened.emit(session)
            if is_worth_keeping:
                # It may last longer than this thread, which is waited for; a program that ends waits for both.
                later = threading.Timer(_KEEP_AFTER, keeping)
                later.daemon = False  # as Qt's thread would have it otherwise
                later.start()


class Loader(QObject):
    """Opens one sequence at a time in a thread; a new one cancels the one before."""

    progressed = Signal(int, int, str)
    opened = Signal(object)
    failed = Signal(str)
    stopped = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._worker: _Worker | None = None

    @property
    def busy(self) -> bool:
        """Whether something is being opened."""
        return self._worker is not None and self._worker.isRunning()

    def open(self, folder: Path) -> None:
        """Start opening a folder."""
        self.cancel(wait=True)
        worker = _Worker(folder, self)
        worker.progressed.connect(self.progressed)
        worker.opened.connect(self._opened)
        worker.failed.connect(self.failed)
        worker.stopped.connect(self.stopped)
        worker.finished.connect(worker.deleteLater)
        worker.finished.connect(self._finished)
        self._worker = worker
        worker.start()

    def _opened(self, session: Session) -> None:
        self.opened.emit(session)

    def _finished(self) -> None:
        if self.sender() is self._worker:
            self._worker = None

    def cancel(self, *, wait: bool = False) -> None:
        """Stop what is being opened; with `wait`, return only when it has stopped."""
        worker = self._worker
        if worker is not None:
            worker.cancel.set()
            if wait:
                worker.progressed.disconnect(self.progressed)
                worker.opened.disconnect(self._opened)
                worker.wait()
                self._worker = None
