"""One thing at a time done beside the window, such as reading from a slow share."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable

from PySide6.QtCore import QObject, Signal

from samelight.sheets.errors import SamelightError

Work = Callable[[], object]


class _Bridge(QObject):
    done = Signal(object, object, str)


class Aside(QObject):
    """Of what is asked while something is being done, only the last is done next.

    The thread is one that the program does not wait for at its end: reading from a share that hangs cannot be stopped, and
    must not keep the window from closing.
    """

    done = Signal(object, object, str)
    """What it was asked as, what came of it, and why nothing did."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bridge = _Bridge()
        self._bridge.done.connect(self._tell)
        self._lock = threading.Lock()
        self._next: tuple[Hashable, Work] | None = None
        self._busy = False
        self._untold = 0

    @property
    def busy(self) -> bool:
        """Whether something is being done, or what came of it is still to be told."""
        with self._lock:
            return self._busy or self._untold > 0

    def ask(self, name: Hashable, work: Work) -> None:
        """Have this done, in place of whatever waits."""
        with self._lock:
            self._next = (name, work)
            if self._busy:
                return
            self._busy = True
        threading.Thread(target=self._run, args=(self._bridge,), daemon=True, name="aside").start()

    def forget(self) -> None:
        """Do not begin what waits."""
        with self._lock:
            self._next = None

    def _run(self, bridge: _Bridge) -> None:
        while (asked := self._taken()) is not None:
            name, work = asked
            found, why = None, ""
            try:
                found = work()
            except (SamelightError, OSError) as error:
                why = str(error) or type(error).__name__
            # A mistake of the program's own must not end the thread unheard.
            except BaseException as error:
                why = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
            with self._lock:
                self._untold += 1
            bridge.done.emit(name, found, why)

    def _taken(self) -> tuple[Hashable, Work] | None:
        with self._lock:
            asked, self._next = self._next, None
            self._busy = asked is not None
            return asked

    def _tell(self, name: Hashable, found: object, why: str) -> None:
        self.done.emit(name, found, why)
        with self._lock:
            self._untold -= 1
