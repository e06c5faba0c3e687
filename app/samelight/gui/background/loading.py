"""Opening a sequence without holding up the window."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from samelight.gui.background.background import Background
from samelight.sheets.errors import SamelightError
from samelight.sheets.unforeseen import what_failed

if TYPE_CHECKING:
    from samelight.sequence.session import Session
    from samelight.sheets.production import CommonRules

_KEEP_AFTER = 1500
"""Milliseconds before what was read is kept for another day, so that it is painted first."""

_SAY_EVERY = 50
"""Milliseconds between two looks at how far the reading is: to paint every file of a film takes longer than to read it."""


class _Reading:
    """One folder being read, in any thread."""

    def __init__(self, folder: Path, common: CommonRules | None) -> None:
        self._folder = folder
        self._common = common
        self.cancel = threading.Event()
        self.reached: tuple[int, int, str] | None = None
        """What is being read: its number, of how many, its name. Replaced whole, so that any thread may look."""

    def _reach(self, done: int, total: int, name: str) -> None:
        self.reached = done, total, name

    def read(self) -> tuple[Session, Callable[[], None] | None]:
        """The session, and what keeps it as it was opened. Raises `SamelightError` whatever goes wrong."""
        from samelight.gui.background.large_pieces import let_large_pieces_go  # here they hold up no window
        from samelight.sequence import capturing
        from samelight.sequence import session as sessions
        from samelight.sequence.store import SheetStore

        let_large_pieces_go()
        try:
            store = SheetStore(self._folder, common=self._common)
            capturing.bring_up_to_date(
                store, capturing.side_by_side, reached=self._reach, cancelled=self.cancel.is_set
            )
            session = sessions.open_store(
                store,
                progress=self._reach,
                cancelled=self.cancel.is_set,
                at_once=False,
            )
            session.cases.judged()  # here, and not while the window is drawn
            return session, session.keeping()
        except SamelightError:
            raise
        except OSError as error:
            raise SamelightError(f"{self._folder}: {error.strerror or error}") from error
        except Exception as error:  # of the program itself: whoever waits for the sequence must hear of it
            raise SamelightError(f"{self._folder}: {what_failed(error)}") from error


class Loader(QObject):
    """Opens one sequence at a time; a new one cancels the one before. What was read is kept a little later."""

    progressed = Signal(int, int, str)
    opened = Signal(object)
    failed = Signal(str)
    stopped = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.background = Background(self, threads=2)  # one reads while the other keeps
        self._reading: _Reading | None = None
        self._said: tuple[int, int, str] | None = None
        self._saying = QTimer(self)
        self._saying.setInterval(_SAY_EVERY)
        self._saying.timeout.connect(self._say)
        self._keeping: Callable[[], None] | None = None
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(_KEEP_AFTER)
        self._later.timeout.connect(self._keep)

    @property
    def busy(self) -> bool:
        """Whether something is being opened."""
        return self._reading is not None

    def open(self, folder: Path, common: CommonRules | None = None) -> None:
        """Start opening a folder, with what a production gives it."""
        reading = self._reading = _Reading(folder, common)
        self.background.run("open", reading.read, self._opened, self._failed, stop=reading.cancel.set)
        self._saying.start()

    def _say(self) -> None:
        reached = self._reading.reached if self._reading is not None else None
        if reached is not None and reached != self._said:
            self._said = reached
            self.progressed.emit(*reached)

    def _rest(self) -> None:
        self._reading = None
        self._saying.stop()

    def _opened(self, found: tuple[Session, Callable[[], None] | None]) -> None:
        self._rest()
        self._keep()
        session, self._keeping = found
        self._later.start()
        self.opened.emit(session)

    def _failed(self, why: str) -> None:
        self._rest()
        self.failed.emit(why)

    def _keep(self) -> None:
        keeping, self._keeping = self._keeping, None
        if keeping is not None:
            self.background.run("keep", keeping)

    def cancel(self) -> None:
        """Stop what is being opened."""
        if self.busy:
            self._rest()
            self.background.cancel("open")
            self.stopped.emit()

    def close(self) -> None:
        """Open nothing any more, and return when all is kept."""
        self._rest()
        self.background.cancel("open")
        self._later.stop()
        self._keep()
        self.background.wait()
