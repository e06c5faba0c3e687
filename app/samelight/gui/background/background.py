"""One thing at a time done beside the window, such as reading from a slow share."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from queue import Empty, SimpleQueue

from PySide6.QtCore import QObject, QTimer, Signal

from samelight.sheets.errors import SamelightError
from samelight.sheets.unforeseen import what_failed

Work = Callable[[], object]

_LOOK_EVERY = 15
"""Milliseconds until what came of it is told."""


class _Worker:
    """Does what is asked in a thread of its own. It knows nothing of Qt, so that it may outlive the window."""

    def __init__(self) -> None:
        self.results: SimpleQueue[tuple[Hashable, object, str]] = SimpleQueue()
        self._lock = threading.Lock()
        self._next: tuple[Hashable, Work] | None = None
        self._busy = False

    @property
    def busy(self) -> bool:
        with self._lock:
            return self._busy

    def ask(self, name: Hashable, work: Work) -> None:
        with self._lock:
            self._next = (name, work)
            if self._busy:
                return
            self._busy = True
        threading.Thread(target=self._run, daemon=True, name="aside").start()

    def forget(self) -> None:
        with self._lock:
            self._next = None

    def _run(self) -> None:
        while (asked := self._taken()) is not None:
            name, work = asked
            found, why = None, ""
            try:
                found = work()
            except (SamelightError, OSError) as error:
                why = str(error) or type(error).__name__
            # A mistake of the program's own must not end the thread unheard.
            except BaseException as error:
                why = what_failed(error)
            self.results.put((name, found, why))

    def _taken(self) -> tuple[Hashable, Work] | None:
        with self._lock:
            asked, self._next = self._next, None
            self._busy = asked is not None
            return asked


class Aside(QObject):
    """Of what is asked while something is being done, only the last is done next.

    The thread is one that the program does not wait for at its end: reading from a share that hangs cannot be stopped, and
    must not keep the window from closing.
    """

    done = Signal(object, object, str)
    """What it was asked as, what came of it, and why nothing did."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._worker = _Worker()
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOK_EVERY)
        self._timer.timeout.connect(self._tell)

    @property
    def busy(self) -> bool:
        """Whether something is being done, or what came of it is still to be told."""
        return self._timer.isActive()

    def ask(self, name: Hashable, work: Work) -> None:
        """Have this done, in place of whatever waits."""
        self._worker.ask(name, work)
        self._timer.start()

    def forget(self) -> None:
        """Do not begin what waits."""
        self._worker.forget()

    def _tell(self) -> None:
        at_rest = not self._worker.busy  # asked first: what it put down before is there then
        try:
            while True:
                self.done.emit(*self._worker.results.get_nowait())
        except Empty:
            if at_rest and self._worker.results.empty() and not self._worker.busy:
                self._timer.stop()
