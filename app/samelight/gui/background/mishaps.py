"""Errors of the program in a window that goes on: each is kept in a file and said in the bar, and no view that fails keeps
the others from being told."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import TracebackType

from PySide6.QtCore import QCoreApplication, QObject, Signal

from samelight.sheets.unforeseen import what_failed

STOPPED = 130
"""Exit status of a program that was stopped from the keyboard."""


def tell_each(*tell: Callable[[], object]) -> None:
    """Call all of these in turn; an error of one is told as an error in a slot is, after which the next is called."""
    for one in tell:
        try:
            one()
        except Exception as error:  # noqa: BLE001 - the next is called
            sys.excepthook(type(error), error, error.__traceback__)


class Mishaps(QObject):
    """What failed in the window, from any thread."""

    said = Signal(str)
    """What failed, in a sentence that names the file with the traceback."""

    @contextmanager
    def heard(self) -> Iterator[None]:
        """Hear of every error that nobody catches: in slots, in what Qt calls, in threads and while things are let go."""
        before = sys.excepthook, sys.unraisablehook, threading.excepthook
        sys.excepthook = self._uncaught
        sys.unraisablehook = lambda found: self.hear(found.exc_value)
        threading.excepthook = lambda found: self.hear(found.exc_value)
        try:
            yield
        finally:
            sys.excepthook, sys.unraisablehook, threading.excepthook = before

    def _uncaught(self, kind: type[BaseException], error: BaseException, where: TracebackType | None) -> None:
        # Whatever the frames of the error hold, such as a painter that is at work, is let go.
        for name in ("last_exc", "last_type", "last_value", "last_traceback"):
            vars(sys).pop(name, None)
        self.hear(error)

    def hear(self, error: BaseException | None) -> None:
        """Keep an error and say it, on stderr too."""
        if isinstance(error, KeyboardInterrupt):
            QCoreApplication.exit(STOPPED)
        elif error is not None and not isinstance(error, SystemExit):
            said = f"Something in the window failed: {what_failed(error)}."
            if sys.stderr is not None:
                print(f"samelight: {said}", file=sys.stderr)  # noqa: T201 - beside the window
            self.said.emit(said)
