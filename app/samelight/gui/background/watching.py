"""What others do to the opened folder meanwhile, brought into the session."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from functools import partial

from PySide6.QtCore import QObject, Signal

from samelight.drift.cells import Cell, CellName
from samelight.drift.rebuilt import changed_cells
from samelight.drift.words import counted, first_names
from samelight.gui.background.background import Background
from samelight.gui.background.live import Held, Live
from samelight.gui.background.searching import AT_ONCE
from samelight.sequence.contents import Contents
from samelight.sequence.references import (
    MASTER,
    Against,
    Comparison,
    NoReferenceError,
    Reference,
    compare,
    compare_again,
)
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError

_NAMED = 4


class Watching(QObject):
    """Follows one session's folder. `changed` are the cells that the last change on disk touched, by shot and name."""

    renewed = Signal()
    """The session holds another table."""
    decided = Signal()
    """The ledger holds something new."""
    recoloured = Signal()
    """The colour config of the frames was edited."""
    said = Signal(str)
    """What changed on disk."""
    refused = Signal(str)
    """Why the shots cannot be compared with what was asked for."""
    lost = Signal(str)
    """A decision that was shown could not be written after all, and why."""
    _written = Signal()
    """Something came of what was being written; from any thread."""
    troubled = Signal(str)
    """The folder cannot be read now; empty once it can again."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.session: Session | None = None
        self.live: Live | None = None
        self.changed: list[CellName] = []
        self.awaited: Reference | None = None
        """What the shots are about to be compared with."""
        self._newest: Contents | None = None
        self._against_master: Held | None = None
        """How the shots compared with the master when they were compared with it last."""
        self._trouble = ""
        """Why the folder cannot be read."""
        self._background = Background(self)
        self._writer = ThreadPoolExecutor(1, thread_name_prefix="decisions")
        """Writes one act after the other. The program waits for it at its end."""
        self._written.connect(self._take_in)

    def follow(self, session: Session) -> None:
        """Watch the folder of another session."""
        self.stop()
        if self.live is not None:
            self.live.deleteLater()  # it holds all that it read
        self.session, self._newest, self._against_master = session, session.contents, None
        self._trouble = ""
        session.ledger.writer, session.ledger.told = self._writer, self._written.emit
        self.live = Live(session, self)
        self.destroyed.connect(self.live.stop)  # said before what it holds is deleted, this thread too
        self.live.changed.connect(self._changed)
        self.live.decided.connect(self._decided)
        self.live.recoloured.connect(self.recoloured)
        self.live.troubled.connect(self._troubled)
        self.live.start()

    def stop(self) -> None:
        """Watch nothing."""
        self._background.cancel("compare")
        self.awaited = None
        if self.live is not None:
            self.live.stop()

    def hold_against(self, reference: Reference) -> None:
        """Hold the session's shots against another reference, now and after every change.

        A whole film is compared while the window goes on; `awaited` is the reference meanwhile. Raises `SamelightError`
        when the reference is not there and that is known at once.
        """
        session, contents = self.session, self._newest
        if session is None or contents is None:
            raise SamelightError("no sequence is open")
        # Of all shots, since the columns of now may be the versions of one.
        cells = len(session.table.rows) * len(session.contents.shots)
        if cells <= AT_ONCE or reference.against is Against.VERSIONS:
            found = _compared(contents, reference, self._known(reference))
            self._background.cancel("compare")
            self.awaited = None
            self._hold(found)
        else:
            self._await(reference)

    def _known(self, reference: Reference) -> Held | None:
        """How shots compared with a reference before, where that is still known."""
        if self.session is not None and reference == self.session.comparison.reference:
            return self.session.contents, self.session.comparison
        return self._against_master if reference == MASTER else None

    def _await(self, reference: Reference, known: Held | None = None) -> None:
        session, contents = self.session, self._newest
        if session is not None and contents is not None:
            self.awaited = reference
            # What is shown may have gone from the folder; what is asked for is then refused.
            compared = _compared_or_with_master if reference == session.comparison.reference else _compared
            self._background.run(
                "compare",
                partial(compared, contents, reference, known or self._known(reference)),
                self._came,
                partial(self._failed, session, contents),
            )

    def _came(self, found: Held) -> None:
        reference, self.awaited = self.awaited, None
        if reference is not None and found[0] is not self._newest:
            self._await(reference, found)  # the folder changed meanwhile
        else:
            self._hold(found)

    def _failed(self, session: Session, contents: Contents, why: str) -> None:
        base, self.awaited = self.awaited, None
        if base is not None and contents is not self._newest:
            self._await(base)  # the folder changed meanwhile
            return
        if contents is not session.contents:
            self._await(session.comparison.reference)  # what changed on disk waited for what is refused
        self.refused.emit(why)

    def _hold(self, found: Held) -> None:
        session = self.session
        if session is None:
            return
        if session.comparison.reference == MASTER:
            self._against_master = session.contents, session.comparison
        session.take(*found)
        if self.live is not None:
            self.live.hold(*found)
        self._renew()

    def _renew(self) -> None:
        self.renewed.emit()
        self._say_trouble()

    def _says(self) -> str:
        shots = list(dict.fromkeys(shot for shot, _ in self.changed))
        return f"{counted(len(self.changed), 'cell')} changed on disk, in {first_names(shots, _NAMED)}"

    def changed_places(self) -> list[Cell]:
        """The cells that changed on disk, as row and column of the table there is now."""
        if self.session is None:
            return []
        return self.session.table.places(self.changed)

    def _changed(self, contents: Contents, comparison: Comparison) -> None:
        session = self.session
        if session is None or self.sender() is not self.live:
            return
        self._newest = contents
        if comparison.reference != session.comparison.reference:
            # Compared before another reference was asked for; or that one has gone.
            if self.awaited is None:  # else what is being compared comes first, which makes the rest quick
                self._await(session.comparison.reference)
            return
        self.changed = changed_cells(session.table, comparison.table)
        session.take(contents, comparison)
        self._renew()
        if self.changed:
            self.said.emit(self._says())

    def _decided(self) -> None:
        if self.sender() is self.live:
            self._take_in()

    def _take_in(self) -> None:
        """Make what was found in the ledger the session's own, and say what could not be written to it."""
        session = self.session
        if session is None:
            return
        unwritten, changed = session.unwritten(), session.take_in_decisions()
        if changed or unwritten:
            self.decided.emit()
            self._say_trouble()
        for why in unwritten:
            self.lost.emit(why)

    def _troubled(self, trouble: str) -> None:
        if self.sender() is self.live:
            self._trouble = trouble
            self.troubled.emit(trouble)

    def _say_trouble(self) -> None:
        """Whoever says what is new may have said it in the place of what is wrong all the time."""
        if self._trouble:
            self.troubled.emit(self._trouble)


def _compared(contents: Contents, reference: Reference, known: Held | None) -> Held:
    """Contents compared with a reference; `known` is how earlier contents compared with the same one. Raises `NoReferenceError`."""
    if known is not None and known[1].reference == reference:
        return contents, compare_again(known[1], known[0], contents)
    return contents, compare(contents, reference)


def _compared_or_with_master(contents: Contents, reference: Reference, known: Held | None) -> Held:
    try:
        return _compared(contents, reference, known)
    except NoReferenceError:
        return contents, compare(contents)
