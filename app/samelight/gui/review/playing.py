"""Plays the cut in the review: each shot's frame for as long as the shot is, forwards or backwards."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Signal

FASTEST = 8


class Playing(QObject):
    """Goes on from shot to shot until it is stopped or the cut ends.

    `length` says for how many seconds the shot that is shown stays, `step` goes on by so many shots and says whether that
    led anywhere.
    """

    changed = Signal()
    """It plays, plays otherwise, or stopped."""

    def __init__(
        self, length: Callable[[], float], step: Callable[[int], bool], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._length, self._step = length, step
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.go_on)
        self.speed = 0
        """How many times as fast as the cut; below 0 backwards, 0 while nothing plays."""

    def play(self, by: int) -> None:
        """Play forwards (1) or backwards (-1); again, twice as fast."""
        faster = min(2 * abs(self.speed), FASTEST) if self.speed * by > 0 else 1
        self._set(by * faster)

    def stop(self) -> None:
        """Stay at the shot that is shown."""
        self._set(0)

    def toggle(self) -> None:
        """Play, or stop."""
        self._set(0 if self.speed else 1)

    def go_on(self) -> None:
        """Show the next shot; at the end of the cut, stop."""
        if self.speed and not self._step(1 if self.speed > 0 else -1):
            self.stop()
        elif self.speed:
            self._wait()

    def says(self) -> str:
        """How it plays, in words; nothing while it does not."""
        if not self.speed:
            return ""
        way = "Plays" if self.speed > 0 else "Plays backwards"
        return f"{way}, {abs(self.speed)}×" if abs(self.speed) > 1 else way

    def _set(self, speed: int) -> None:
        if speed != self.speed:
            self.speed = speed
            self._timer.stop()
            if speed:
                self._wait()
            self.changed.emit()

    def _wait(self) -> None:
        self._timer.start(max(round(1000 * self._length() / abs(self.speed)), 1))
