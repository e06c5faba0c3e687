"""Opening a sequence without holding up the window."""

from __future__ import annotations

import threading
from pathlib import Path

from PySide6.QtCore import QObject, QThread, QTimer, Signal

from samelight.sequence.session import CancelledError, Session, open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.unforeseen import what_failed

_KEEP_AFTER = 1.5
"""Seconds before what was read is kept for another day, so that it is painted first."""

_SAY_EVERY = 50
"""Milliseconds between two looks at how far the reading is: to paint every file of a film takes longer than to read it."""


class _Worker(QThread):
    opened = Signal(object)
    failed = Signal(str)
    stopped = Signal()

    def __init__(self, folder: Path, parent: QObject) -> None:
        super().__init__(parent)
        self._folder = folder
        self.cancel = threading.Event()
        self.reached: tuple[int, int, str] | None = None
        """What is being read: its number, of how many, its name. Replaced whole, so that any thread may look."""

    def _reach(self, done: int, total: int, name: str) -> None:
        self.reached = done, total, name

    def run(self) -> None:
        try:
            session = open_session(
                self._folder,
                progress=self._reach,
                cancelled=self.cancel.is_set,
                at_once=False,
            )
        except CancelledError:
            self.stopped.emit()
        except SamelightError as error:
            self.failed.emit(str(error))
        except OSError as error:
            self.failed.emit(f"{self._folder}: {error.strerror or error}")
        except Exception as error:  # of the program itself: whoever waits for the sequence must hear of it
            self.failed.emit(f"{self._folder}: {what_failed(error)}")
        else:
            keeping = session.keeping()  # what was opened: the session itself goes on
            self.opened.emit(session)
            if keeping is not None:
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
        self._said: tuple[int, int, str] | None = None
        self._saying = QTimer(self)
        self._saying.setInterval(_SAY_EVERY)
        self._saying.timeout.connect(self._say)

    @property
    def busy(self) -> bool:
        """Whether something is being opened."""
        return self._worker is not None and self._worker.isRunning()

    def open(self, folder: Path) -> None:
        """Start opening a folder."""
        self.cancel(wait=True)
        worker = _Worker(folder, self)
        worker.opened.connect(self._opened)
        worker.failed.connect(self.failed)
        worker.stopped.connect(self.stopped)
        worker.finished.connect(worker.deleteLater)
        worker.finished.connect(self._finished)
        self._worker = worker
        worker.start()
        self._saying.start()

    def _say(self) -> None:
        reached = self._worker.reached if self._worker is not None else None
        if reached is not None and reached != self._said:
            self._said = reached
            self.progressed.emit(*reached)

    def _opened(self, session: Session) -> None:
        if self.sender() is not self._worker:
            return  # it was on its way when its reading was cancelled
        self._saying.stop()
        self.opened.emit(session)

    def _finished(self) -> None:
        if self.sender() is self._worker:
            self._saying.stop()
            self._worker = None

    def cancel(self, *, wait: bool = False) -> None:
        """Stop what is being opened; with `wait`, return only when it has stopped, and say nothing of it any more."""
        worker = self._worker
        if worker is not None:
            worker.cancel.set()
            if wait:
                self._saying.stop()
                worker.opened.disconnect(self._opened)
                worker.failed.disconnect(self.failed)
                worker.stopped.disconnect(self.stopped)
                worker.wait()
                self._worker = None
