"""Python's search for circles of garbage, in the thread of the window alone.

Left to itself it runs in whatever thread makes the next object. Where that finds something of Qt's, it is disconnected there:
that thread holds a lock of Qt's and waits for Python, while the window has Python and waits for the lock, for ever.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import QObject, QTimer

EVERY = 500
"""Milliseconds between two looks."""
WHOLE = 60.0
"""Seconds between two searches through all there is, which hold up the window the more the longer it is open."""


class Sweeping(QObject):
    """Looks now and then whether there is as much as Python would search through by itself."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._last = time.monotonic()
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        self._timer.start(EVERY)

    def look(self) -> int | None:
        """Search the youngest objects, or older ones too (1, or 2 for all), where it is time; which was searched."""
        (young, middle, old), limits = gc.get_count(), gc.get_threshold()
        if young <= limits[0]:
            return None
        generation = int(middle >= limits[1])
        if old >= limits[2] and time.monotonic() - self._last >= WHOLE:
            generation, self._last = 2, time.monotonic()
        gc.collect(generation)
        return generation


@contextmanager
def swept_in_this_thread() -> Iterator[Sweeping]:
    """Search in no other thread than this one, which runs the window."""
    was_on = gc.isenabled()
    gc.disable()
    sweeping = Sweeping()
    try:
        yield sweeping
    finally:
        sweeping.deleteLater()
        if was_on:
            gc.enable()
