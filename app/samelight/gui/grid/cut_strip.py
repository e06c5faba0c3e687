"""The cut above the grid: a small picture of each shot in its column, who lights it, and how much is undecided in it.

Narrow columns share a picture, that of the first of them. A shot without a frame shows where its lights come from: the
sky from above, north up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from PySide6.QtCore import QObject, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QFontMetricsF, QImage, QPainter

from samelight.drift.table import Table
from samelight.gui.background.frame_cache import FrameCache
from samelight.gui.background.thumbnails import THUMBNAIL, load_thumbnail
from samelight.gui.grid.layout import Layout
from samelight.gui.grid.model import GridModel
from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.scaled import scaled
from samelight.gui.paint.small_sky import SmallSky

PICTURE_HEIGHT = 34
"""Pixels, as all here are Qt's."""

_PICTURE_WIDTH = 72
_OWN_FROM = 38
"""Columns at least so wide have a picture each."""
_GAP = 2
_REST = 80
"""Milliseconds between two looks at which pictures are wanted: each look asks the disk for every frame in view."""
_BUDGET = 16 * 2**20
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class CutStrip(QObject):
    """What stands above the names of the shots. It reads the pictures beside the window, and only those in view."""

    changed = Signal()
    """A picture was read, or others are in view."""

    def __init__(self, model: GridModel, parent: QObject) -> None:
        super().__init__(parent)
        self._model = model
        self.shown = False
        """Whether there are pictures; without them, who lights what and the counts stay."""
        self.frames = FrameCache(self, _BUDGET, load_thumbnail)
        self.frames.changed.connect(self.changed)
        self._asked: tuple[str, ...] = ()
        self._in_view: tuple[str, ...] = ()
        self._later = QTimer(self, singleShot=True, interval=_REST)
        self._later.timeout.connect(self._want)
        self._table: Table | None = None
        self._sky = SmallSky(theme.PANEL)
        self._small = theme.font(theme.SMALL)
        self._bold = theme.font(theme.SMALL, bold=True)
        self._figures: dict[str, float] = {}
        """How wide each count is."""
        self._small_metrics, self._bold_metrics = QFontMetricsF(self._small), QFontMetricsF(self._bold)

    @property
    def pictures_height(self) -> int:
        """How much room pictures take; none while they are not shown."""
        return PICTURE_HEIGHT + 2 * _GAP if self.shown else 0

    @property
    def lighters_height(self) -> int:
        """How much room the names of the lighters take; none where the sequence names nobody."""
        return math.ceil(self._small_metrics.height()) if self._model.state.session.crew else 0

    @property
    def counts_height(self) -> int:
        """How much room the counts take."""
        return math.ceil(self._bold_metrics.height())

    @property
    def busy(self) -> bool:
        """Whether pictures are still to be asked for."""
        return self._later.isActive()

    # Which pictures

    def places(self, layout: Layout) -> list[tuple[int, QRectF]]:
        """Which shots in view have a picture, each with the room of it."""
        if not self.pictures_height or not layout.columns:
            return []
        first, last = layout.columns_between(0, layout.room_x)
        step = max(math.ceil(_OWN_FROM / layout.width), 1)
        found = []
        begin = first - first % step
        edges = layout.edges(begin, min(last + step, layout.columns))
        for section in range(begin, last, step):
            start, end = edges[section - begin][0], edges[min(section + step, layout.columns) - 1 - begin][1]
            if end - start >= _OWN_FROM / 2:
                room = QRectF(start, _GAP, end - start - 1, PICTURE_HEIGHT)
                found.append((section, room))
        return found

    def ask(self, layout: Layout) -> None:
        """Have the pictures read that are in view now; while the cut is scrolled, those that are there when it rests for a moment."""
        state = self._model.state
        self._in_view = tuple(
            state.table.shots[state.listing.columns[section]] for section, _ in self.places(layout)
        )
        if self._table is not state.table or not self._asked:
            self._want()
        elif self._in_view != self._asked and not self._later.isActive():
            self._later.start()

    def _want(self) -> None:
        # A frame that is asked for again is looked at again on disk.
        state = self._model.state
        self._later.stop()
        self._asked, self._table = self._in_view, state.table
        self.frames.set_folder(state.session.contents.folder)
        self.frames.want([(shot, THUMBNAIL) for shot in self._asked], 0.0)
        self.changed.emit()  # those that came back into view are known already: none of them is told of

    # What is drawn

    def paint(self, painter: QPainter, layout: Layout, below: int) -> None:
        """Draw the pictures, and the names of the lighters from `below` on."""
        state = self._model.state
        for section, room in self.places(layout):
            column = state.listing.columns[section]
            frame = self.frames.frame(state.table.shots[column], THUMBNAIL)
            if frame is not None and frame.image is not None:
                _draw_picture(painter, room, frame.image, layout.ratio)
            elif frame is not None:
                north = state.session.contents.sequence.conventions.north
                self._sky.draw(painter, room, state.table, column, north)
        if self.lighters_height:
            self._draw_lighters(painter, layout, below)

    def _draw_lighters(self, painter: QPainter, layout: Layout, top: int) -> None:
        """Each lighter's name over the shots that are hers or his and stand together, with a line from end to end."""
        painter.setFont(self._small)
        metrics = self._small_metrics
        height = self.lighters_height
        for name, first, last in self.runs(layout):
            start = max(layout.span(first)[0], 0) / layout.ratio
            end = min(layout.span(last - 1)[1], layout.room_x) / layout.ratio - 2
            fitted = metrics.elidedText(name, Qt.TextElideMode.ElideRight, max(end - start - 6, 0))
            wide = metrics.horizontalAdvance(fitted)
            painter.setPen(theme.DIM_TEXT)
            draw_text(painter, QRectF(start + 3, top, wide + 2, height), _LEFT, fitted)
            y = top + height / 2
            if end - start - wide > 16:
                painter.fillRect(QRectF(start + wide + 9, y, end - start - wide - 10, 1), theme.EDGE)

    def runs(self, layout: Layout) -> Iterator[tuple[str, int, int]]:
        """The lighters of the shots in view in cut order: a name, its first place and the one after its last."""
        state = self._model.state
        crew = state.session.crew
        first, last = layout.columns_between(0, layout.room_x)
        start, name = first, ""
        for section in range(first, last + 1):
            here = crew.who(state.table.shots[state.listing.columns[section]]) if section < last else None
            if here != name:
                if name:
                    yield name, start, section
                start, name = section, here or ""

    def paint_counts(self, painter: QPainter, layout: Layout, top: int) -> None:
        """Write under each name how much is undecided in the shot, where columns are wide enough for a figure."""
        state, height = self._model.state, self.counts_height
        painter.setFont(self._bold)
        metrics = self._bold_metrics
        first, last = layout.columns_between(0, layout.room_x)
        if layout.width < metrics.horizontalAdvance("00"):
            return
        painter.setPen(theme.BRIGHT)
        line = top + (height + metrics.ascent() - metrics.descent()) / 2
        columns = state.listing.columns[first:last]
        of_shots = state.my_cases.in_shots(columns)
        for tally, (start, end) in zip(of_shots, layout.edges(first, last), strict=True):
            if tally.undecided:
                # A text at a point is drawn many times as fast as one in the middle of a room.
                text = f"{tally.undecided}"
                if text not in self._figures:
                    self._figures[text] = metrics.horizontalAdvance(text)
                left = (start + end - self._figures[text]) / 2
                draw_text(painter, QPointF(left, line), text)


def _draw_picture(painter: QPainter, room: QRectF, image: QImage, ratio: float) -> None:
    """Draw a picture as large as fits in the middle of its room."""
    within = QRectF(room)
    within.setWidth(min(room.width(), _PICTURE_WIDTH))
    within.moveCenter(room.center())
    size = image.size().scaled(within.size().toSize() * ratio, Qt.AspectRatioMode.KeepAspectRatio)
    place = QRectF(0, 0, size.width() / ratio, size.height() / ratio)
    place.moveCenter(within.center())
    place.moveTopLeft(QPointF(round(place.left() * ratio) / ratio, round(place.top() * ratio) / ratio))
    painter.drawPixmap(place, scaled(image, size), QRectF())
