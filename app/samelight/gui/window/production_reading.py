"""Reads the sequences of a production beside the window."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QObject, Signal

from samelight.gui.background.background import Background
from samelight.gui.state.production_rows import RowReader, SequenceRow, broken_row
from samelight.sheets.production import Production

AT_ONCE = 6
"""Sequences that are opened before another process is worth its start."""


class ProductionReading(QObject):
    """Reads one sequence after another; one that cannot be read is told as its row and holds up no other."""

    begun = Signal()
    """Another sequence is to be read."""
    told = Signal(object)
    """The `SequenceRow` of one that was read."""
    ended = Signal()
    """All are read."""

    def __init__(self, production: Production, parent: QObject) -> None:
        super().__init__(parent)
        self._production = production
        self._background = Background(self)
        self._elsewhere = Background(self)
        """What is opened by another process, while this one opens others."""
        self._reader = RowReader(production)
        self._again: set[str] = set()
        """What something happened in while it was being read."""
        self._opened = 0
        """How many sequences were opened since all were asked for: of which nothing was kept, or not as they are."""

    def read_all(self) -> None:
        """Read every sequence, in story order: first those of which nothing changed."""
        self._opened = 0
        for name in self._production.sequences:
            self.read(name)

    def read(self, name: str) -> None:
        """Read one sequence again; its row is as it was until then."""
        self._elsewhere.cancel(name)
        self._again.discard(name)
        kept = partial(self._reader.kept, name)
        self._background.run(name, kept, partial(self._open, name), partial(self._tell_broken, name))
        self.begun.emit()

    def touched(self, names: frozenset[str]) -> None:
        """Read again what something happened in."""
        for name in self._production.sequences:
            if name in names and self.is_reading(name):
                # What is being read is told first: a folder in which something happens all the time would never be.
                self._again.add(name)
            elif name in names:
                self.read(name)

    def is_reading(self, name: str) -> bool:
        """Whether a sequence is still to be read."""
        return name in self._background or name in self._elsewhere

    def left(self) -> int:
        """How many sequences are still to be read."""
        return sum(map(self.is_reading, self._production.sequences))

    def stop(self) -> None:
        """Let go of what is still to be read."""
        for crew in (self._background, self._elsewhere):
            crew.cancel_all()
        self._reader.end()
        self._background.wait()

    def _open(self, name: str, row: SequenceRow | None) -> None:
        """Tell what was kept of a sequence, or open it: where many are to be opened, some in another process."""
        if row is not None:
            self._tell(row)
            return
        self._opened += 1
        shares = self._opened > AT_ONCE and self._opened % 2 == 0
        crew, work = (
            (self._elsewhere, self._reader.read_elsewhere)
            if shares
            else (self._background, self._reader.read)
        )
        crew.run(name, partial(work, name), self._tell, partial(self._tell_broken, name), rank=1)

    def _tell(self, row: SequenceRow) -> None:
        self.told.emit(row)
        if row.name in self._again:
            self.read(row.name)
        if not self.left():
            self._reader.end()
            self.ended.emit()

    def _tell_broken(self, name: str, why: str) -> None:
        self._tell(broken_row(self._production, name, why))
