"""The frame that is looked at: alone, with another one wiped over it, or beside another one."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from samelight.gui.background.frames import Frame
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.region_marks import draw_regions
from samelight.gui.review.frame_paint import FramePainter
from samelight.gui.review.review_state import Compare
from samelight.gui.review.type_size import pixel_font
from samelight.sequence.mark_regions import MarkRegion

_NEAR = 14
_GAP = 12


@dataclass(frozen=True, slots=True)
class Held:
    """A shot's frame as the pane shows it, with the marks that are drawn in it. Without `shot` there is none to show, and `title`
    says why."""

    title: str
    shot: str | None = None
    frame: Frame | None = None
    regions: tuple[MarkRegion, ...] = ()


class FramePane(QWidget):
    """Shows one frame or two. The line of the wipe is dragged, or moved by `set_wipe`."""

    wiped = Signal(float)
    """Where the line stands, 0 at the left edge to 1 at the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.compare = Compare.ALONE
        self.this = Held("")
        self.other = Held("")
        self.wipe = 0.5
        self._painter = FramePainter()
        self._pixels = 20
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Frame")
        self.setToolTip("The shot's frame. In a wipe, drag the line (Shift+Left and Shift+Right).")

    def minimumSizeHint(self) -> QSize:
        return QSize(200, 100)

    def set_type(self, pixels: int) -> None:
        """Set the size of what is written in it."""
        self._pixels = pixels
        self.update()

    def show_frames(self, compare: Compare, this: Held, other: Held) -> None:
        """Show a shot's frame, and the one it is compared with."""
        self.compare, self.this, self.other = compare, this, other
        self._describe()
        self.update()

    def set_wipe(self, wipe: float) -> None:
        """Move the line of the wipe."""
        self.wipe = min(max(wipe, 0.0), 1.0)
        self._describe()
        self.update()
        self.wiped.emit(self.wipe)

    def _describe(self) -> None:
        said = self.this.title
        if self.this.frame is not None and self.this.frame.problem:
            said += f": {self.this.frame.problem}"
        if self.this.regions:
            said += f", with {'; '.join(region.says for region in self.this.regions)}"
        if self.compare is Compare.WIPE:
            said += f", wiped at {self.wipe:.0%} against {self.other.title}"
        elif self.compare is Compare.SIDE:
            said += f", beside {self.other.title}"
        self.setAccessibleDescription(said)

    # Where things lie

    def _caption_height(self) -> int:
        return 0 if self.compare is Compare.ALONE else QFontMetrics(pixel_font(self._pixels)).height()

    def area(self) -> QRect:
        """Where frames may lie."""
        return self.rect().adjusted(0, 0, 0, -self._caption_height())

    def halves(self) -> tuple[QRect, QRect]:
        """Where frames may lie side by side."""
        area = self.area()
        width = (area.width() - _GAP) // 2
        left = QRect(area.topLeft(), QSize(width, area.height()))
        right = QRect(QPoint(area.right() - width + 1, area.top()), left.size())
        return left, right

    def wiped_place(self) -> QRect:
        """The part of the pane that the wipe runs over: that of this shot's frame."""
        return self._painter.place(self.this.frame, self.area())

    def line_x(self) -> int:
        """Where the line of the wipe stands, in pixels."""
        place = self.wiped_place()
        return place.left() + round(self.wipe * place.width())

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self.compare is Compare.SIDE:
            left, right = self.halves()
            self._caption(painter, self._draw(painter, left, self.this), self.this)
            self._caption(painter, self._draw(painter, right, self.other), self.other)
        elif self.compare is Compare.WIPE:
            self._draw_wipe(painter)
        else:
            self._draw(painter, self.area(), self.this)
        painter.end()

    def _draw(self, painter: QPainter, within: QRect, held: Held, seen: QRect | None = None) -> QRect:
        font, ratio = pixel_font(self._pixels), self.devicePixelRatioF()
        frame = held.frame if held.shot is not None else Frame("", 0, 0.0, problem=held.title)
        place = self._painter.draw(painter, within, frame, font, f"Reading {held.shot}…", ratio, seen)
        if frame is not None and frame.image is not None:
            draw_regions(painter, place, held.regions, max(1.5, self._pixels / 12.0))
        return place

    def _draw_wipe(self, painter: QPainter) -> None:
        place, x = self.wiped_place(), self.line_x()
        left, right = QRect(0, 0, x, self.height()), QRect(x, 0, self.width() - x, self.height())
        for side, held in ((left, self.this), (right, self.other)):
            painter.setClipRect(side)
            self._draw(painter, self.area(), held, side)
        painter.setClipping(False)
        painter.fillRect(QRect(x - 2, place.top(), 5, place.height()), theme.grey(0))
        painter.fillRect(QRect(x - 1, place.top(), 3, place.height()), theme.BRIGHT)
        self._caption(painter, place, self.this, Qt.AlignmentFlag.AlignLeft)
        self._caption(painter, place, self.other, Qt.AlignmentFlag.AlignRight)

    def _caption(
        self,
        painter: QPainter,
        place: QRect,
        held: Held,
        side: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignHCenter,
    ) -> None:
        painter.setFont(pixel_font(self._pixels))
        painter.setPen(theme.TEXT)
        below = QRect(place.left(), place.bottom() + 1, place.width(), self._caption_height())
        if held.shot is not None:
            # In a wipe both names stand in one line.
            room = below.width() // (2 if self.compare is Compare.WIPE else 1)
            title = painter.fontMetrics().elidedText(held.title, Qt.TextElideMode.ElideMiddle, room)
            draw_text(painter, below, side | Qt.AlignmentFlag.AlignVCenter, title)

    # Dragging the line

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self.compare is Compare.WIPE and event.button() == Qt.MouseButton.LeftButton:
            self._drag(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        near = self.compare is Compare.WIPE and abs(event.position().x() - self.line_x()) <= _NEAR
        self.setCursor(Qt.CursorShape.SplitHCursor if near else Qt.CursorShape.ArrowCursor)
        if self.compare is Compare.WIPE and event.buttons() & Qt.MouseButton.LeftButton:
            self._drag(event)

    def _drag(self, event: QMouseEvent) -> None:
        place = self.wiped_place()
        self.set_wipe((event.position().x() - place.left()) / max(place.width(), 1))
