"""The curve of a mark over the measured frames of its shot, made beside the window."""

from __future__ import annotations

from functools import partial

from PySide6.QtWidgets import QWidget

from samelight.drift.derived_names import PICTURE
from samelight.drift.rows import Row
from samelight.findings.over_frames import FramePoint, levels_of, points_of
from samelight.gui.background.background import Background
from samelight.gui.widgets.frame_curve import FrameCurve
from samelight.sequence.session import Session
from samelight.sheets.measured import Witness
from samelight.sheets.sheet import Sheet

_CURVE = "curve"
_NOTHING = "The sheet does not say enough of the mark to say what to expect of it."
_SHOWN_FOR = ("level", "unexplained")


class FramesPart(FrameCurve):
    """A curve that is asked for by a row and a shot; that of the same mark in the same frames is not made again."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self._background = Background(self)
        self._shown: tuple[Witness, Sheet, str] | None = None

    def show_for(self, session: Session, shot: str, row: Row) -> bool:
        """Show the curve of a shot for a row of what its picture shows; whether there are frames to show."""
        witness, sheet = session.contents.measured.get(shot), session.contents.sheets.get(shot)
        if row.section != PICTURE or row.leaf not in _SHOWN_FOR or witness is None or sheet is None:
            return False
        if sum(row.group in frame.marks for frame in witness.frames) < 2:
            return False
        asked = witness, sheet, row.group
        if self._shown is None or any(
            one is not other for one, other in zip(self._shown, asked, strict=True)
        ):
            self._shown = asked
            self.show_points(())
            self._background.run(_CURVE, partial(_points, *asked), self._take)
        return True

    def _take(self, points: tuple[FramePoint, ...]) -> None:
        self.show_points(points)
        if not points:
            self.said.setText(_NOTHING)
        self.show()


def _points(witness: Witness, sheet: Sheet, mark: str) -> tuple[FramePoint, ...]:
    return points_of(levels_of(witness.frames, mark, sheet))
