"""All shots as frames on one sheet: as many in a row as are asked for, and below each its worst drift.

What is exposed up or down is so for all of them, so that they can be told apart in the shadows.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QPoint,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPen,
    QResizeEvent,
    QShowEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QListView,
    QSlider,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from samelight.drift.table import Table
from samelight.gui.background.frame_cache import FrameCache
from samelight.gui.background.frames import PROXY
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.region_marks import draw_regions
from samelight.gui.paint.scaled import scaled
from samelight.gui.paint.small_sky import SmallSky
from samelight.gui.state.contact_data import Lay, ShotFrame, shot_frames
from samelight.gui.state.rows import GridState
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.gui.widgets.stops_box import StopsBox
from samelight.gui.widgets.view_box import ViewBox
from samelight.reports.shown import clean_lines
from samelight.sequence.mark_regions import MarkRegion, mark_regions

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()
SHOT_ROLE = Qt.ItemDataRole.UserRole + 1
FEWEST, MOST = 2, 15
"""Frames in a row."""
_ASPECT = 16 / 9
_PAD = 4
_BUDGET = 192 * 2**20
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_HELP = (
    "The shots as frames. Arrows go from shot to shot, Space shows one large in the review; Ctrl and the wheel change how "
    "many stand in a row. Left of the pointer a frame shows the key shot's in its place."
)


class ContactModel(QAbstractListModel):
    """A thin model over the shots."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shots: list[ShotFrame] = []

    def set_shots(self, shots: list[ShotFrame]) -> None:
        """Show other shots, or say other things of the same."""
        if [one.column for one in shots] == [one.column for one in self.shots]:
            self.shots = shots
            if shots:
                self.dataChanged.emit(self.index(0), self.index(len(shots) - 1))
            return
        self.beginResetModel()
        self.shots = shots
        self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.shots)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        shot = self.shots[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return clean_lines(shot.says)
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain(shot.says)
        return shot if role == SHOT_ROLE else None


class _Delegate(QStyledItemDelegate):
    """A frame, and two lines below it: the shot with its lighter and what is undecided, then its worst drift."""

    def __init__(self, view: _Frames, frames: FrameCache) -> None:
        super().__init__(view)
        self._frames = frames
        self._view = view
        self.state: GridState | None = None
        """What the sheet shows."""
        self.marks_shown = True
        """Whether marks are drawn in the frames."""
        self._sky = SmallSky(theme.FIELD)
        self._name, self._small = theme.font(theme.DENSE, bold=True), theme.font(theme.SMALL)

    def lines_height(self) -> int:
        """How much room the two lines take."""
        return self._view.fontMetrics().height() * 2

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return self._view.gridSize()

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        shot: ShotFrame = index.data(SHOT_ROLE)
        rect: QRect = option.rect.adjusted(_PAD, _PAD, -_PAD, -_PAD)
        lines = self.lines_height()
        room = rect.adjusted(0, 0, 0, -lines)
        painter.fillRect(room, theme.FIELD)
        self._draw_frame(painter, room, shot)
        if shot.severity > 0.0:
            painter.fillRect(
                QRect(room.left(), room.bottom() - 3, room.width(), 4), drift_scale.colour(shot.severity)
            )
        if index.row() == self._view.currentIndex().row():
            painter.setPen(QPen(theme.BRIGHT, 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(rect.adjusted(-2, -2, 1, 1))
        self._write(painter, QRect(rect.left(), room.bottom() + 1, rect.width(), lines), shot)

    def _draw_frame(self, painter: QPainter, room: QRect, shot: ShotFrame) -> None:
        frame = self._frames.frame(shot.shot, PROXY)
        if frame is not None and frame.image is not None:
            size = frame.image.size().scaled(room.size(), Qt.AspectRatioMode.KeepAspectRatio)
            place = QRect(room.topLeft(), size)
            place.moveCenter(room.center())
            painter.drawPixmap(place, scaled(frame.image, size * self._view.devicePixelRatioF()))
            self._wipe(painter, place, shot)
            whole = frame.picture.size if frame.picture is not None else (0, 0)
            draw_regions(painter, place, self._regions(shot, whole))
        elif frame is not None:
            high = painter.fontMetrics().height()
            self._draw_sky(painter, QRectF(room.adjusted(4, 4, -4, -4 - high)), shot)
            painter.setFont(self._small)
            painter.setPen(theme.DIM_TEXT)
            flags = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignBottom
            said = painter.fontMetrics().elidedText(
                frame.problem.split(". ")[0], Qt.TextElideMode.ElideRight, room.width() - 8
            )
            draw_text(painter, room.adjusted(4, 4, -4, -4), flags, said)

    def _wipe(self, painter: QPainter, place: QRect, shot: ShotFrame) -> None:
        """Draw the key shot's frame left of the pointer, where the pointer is over this frame."""
        line = self._view.wipe_in(place)
        key = self._frames.frame(shot.key_shot, PROXY) if shot.key_shot else None
        if line is None or key is None or key.image is None:
            return
        size = key.image.size().scaled(place.size(), Qt.AspectRatioMode.KeepAspectRatio)
        over = QRect(place.topLeft(), size)
        over.moveCenter(place.center())
        painter.save()
        painter.setClipRect(QRect(place.left(), place.top(), line - place.left(), place.height()))
        painter.fillRect(place, theme.FIELD)
        painter.drawPixmap(over, scaled(key.image, size * self._view.devicePixelRatioF()))
        painter.restore()
        painter.setPen(QPen(theme.BRIGHT, 1))
        painter.drawLine(line, place.top(), line, place.bottom())

    def _regions(self, shot: ShotFrame, size: tuple[int, int]) -> list[MarkRegion]:
        """The marks in a frame of so many pixels."""
        if self.state is None or not self.marks_shown:
            return []
        return mark_regions(self.state.session, shot.shot, size)

    def _draw_sky(self, painter: QPainter, room: QRectF, shot: ShotFrame) -> None:
        """Draw where the lights of a shot come from that has no frame."""
        if self.state is not None:
            north = self.state.session.contents.sequence.conventions.north
            self._sky.draw(painter, room, self.state.table, shot.column, north)

    def _write(self, painter: QPainter, room: QRect, shot: ShotFrame) -> None:
        high = room.height() // 2
        above, below = QRect(room.topLeft(), QSize(room.width(), high)), room.adjusted(0, high, 0, 0)
        painter.setFont(self._small)
        small = painter.fontMetrics()
        who = small.elidedText(shot.lighter, Qt.TextElideMode.ElideRight, room.width() // 2)
        painter.setPen(theme.DIM_TEXT)
        draw_text(painter, above, _RIGHT, who)
        painter.setFont(self._name)
        painter.setPen(theme.TEXT)
        left = f"{shot.shot}  {shot.undecided}" if shot.undecided else shot.shot
        width = room.width() - small.horizontalAdvance(who) - 6
        draw_text(
            painter, above, _LEFT, painter.fontMetrics().elidedText(left, Qt.TextElideMode.ElideLeft, width)
        )
        painter.setFont(self._small)
        painter.setPen(theme.TEXT)
        draw_text(
            painter, below, _LEFT, small.elidedText(shot.worst, Qt.TextElideMode.ElideRight, room.width())
        )


class _Frames(QListView):
    """The list, whose frames are as wide as a number of them in a row lets them be."""

    moved = Signal()
    """Other frames are in view."""
    steps = Signal(int)
    """More (1) or fewer (-1) are to stand in a row."""
    enlarged = Signal()
    """The frame under the cursor is to be shown large."""

    def __init__(self) -> None:
        super().__init__()
        self.across = 6
        self.setViewMode(QListView.ViewMode.IconMode)
        self.setMovement(QListView.Movement.Static)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setUniformItemSizes(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setFrameShape(QListView.Shape.NoFrame)
        self.setAccessibleName("Contact sheet")
        self.setAccessibleDescription(_HELP)
        self.pointer: QPoint | None = None
        """Where the mouse is over the frames."""
        self.viewport().setMouseTracking(True)
        self.verticalScrollBar().valueChanged.connect(self.moved)

    def take_width(self, lines: int) -> None:
        """Make frames as wide as they fit, with `lines` pixels below each."""
        width = max((self.viewport().width() - 1) // self.across, 40)
        size = QSize(width, round((width - 2 * _PAD) / _ASPECT) + 2 * _PAD + lines)
        if size != self.gridSize():
            self.setGridSize(size)
        self.moved.emit()

    def in_view(self) -> list[int]:
        """Which items can be seen."""
        room, size = self.viewport().rect(), self.gridSize()
        if not size.height():
            return []
        first = self.verticalScrollBar().value() // size.height() * self.across
        rows = room.height() // size.height() + 2
        return list(range(first, min(first + rows * self.across, self.model().rowCount())))

    def wipe_in(self, place: QRect) -> int | None:
        """Where the line of the wipe stands in a frame's place: under the pointer; None where that is elsewhere."""
        return self.pointer.x() if self.pointer is not None and place.contains(self.pointer) else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        super().mouseMoveEvent(event)
        self._point(event.position().toPoint())

    def viewportEvent(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Leave:
            self._point(None)
        return super().viewportEvent(event)

    def _point(self, at: QPoint | None) -> None:
        before, self.pointer = self.pointer, at
        for point in (before, at):
            if point is not None:
                self.update(self.indexAt(point))

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.steps.emit(-1 if event.angleDelta().y() > 0 else 1)
            event.accept()
        else:
            super().wheelEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.enlarged.emit()
        else:
            super().keyPressEvent(event)


def _marks_box() -> QCheckBox:
    box = QCheckBox("Marks")
    box.setChecked(True)
    box.setToolTip(
        "Draw where each mark is in its frame, in the colour of what is off there, where the sheet knows the camera's lens"
    )
    box.setAccessibleName("Marks in the frames")
    return box


class ContactSheet(QWidget):
    """The sheet with what stands above it: the order, how many in a row, and the exposure of all."""

    picked = Signal(int)
    """The column of a shot that was chosen."""
    enlarged = Signal()
    """The chosen shot is to be shown large."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state: GridState | None = None
        self._asked: tuple[object, ...] = ()
        self._table: Table | None = None
        self.cache = FrameCache(self, _BUDGET)
        self.cache.changed.connect(self._changed)
        self.model = ContactModel(self)
        self.frames = _Frames()
        self._delegate = _Delegate(self.frames, self.cache)
        self.frames.setModel(self.model)
        self.frames.setItemDelegate(self._delegate)
        self.lay_box = QComboBox()
        self.lay_box.addItems([str(lay) for lay in Lay])
        self.lay_box.setToolTip("In which order the shots lie")
        self.lay_box.setAccessibleName("Order of shots")
        self.across = QSlider(Qt.Orientation.Horizontal)
        self.across.setRange(FEWEST, MOST)
        self.across.setValue(self.frames.across)
        self.across.setMaximumWidth(160)
        self.across.setToolTip("How many frames stand in a row (Ctrl and the wheel)")
        self.across.setAccessibleName("Frames in a row")
        self.stops = StopsBox("Expose all frames up or down, to look into shadows and lights")
        self.view_box = ViewBox(named=True)
        self.marks = _marks_box()
        self.marks.toggled.connect(self._show_marks)
        self._fill()
        self.lay_box.currentTextChanged.connect(self._lay_out)
        self.across.valueChanged.connect(self._set_across)
        self.stops.valueChanged.connect(self._want)
        self.frames.moved.connect(self._want)
        self.frames.steps.connect(lambda by: self.across.setValue(self.across.value() + by))
        self.frames.enlarged.connect(self.enlarged)
        self.frames.doubleClicked.connect(self.enlarged)
        self.frames.selectionModel().currentChanged.connect(self._chosen)

    def _fill(self) -> None:
        bar = QHBoxLayout()
        bar.setContentsMargins(8, 4, 8, 4)
        bar.setSpacing(8)
        for text, widget in (("Shots", self.lay_box), ("In a row", self.across), ("Exposure", self.stops)):
            bar.addWidget(PlainLabel(text))
            bar.addWidget(widget)
        bar.addWidget(self.view_box)
        bar.addWidget(self.marks)
        bar.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(bar)
        column.addWidget(self.frames, 1)

    def show_state(self, state: GridState) -> None:
        """Show what a state lists, as it stands now."""
        self._state = self._delegate.state = state
        if self.isVisible():
            self._lay_out()

    def cursor_at(self, column: int) -> None:
        """The cursor is in a shot; nobody is told."""
        place = next((at for at, shot in enumerate(self.model.shots) if shot.column == column), None)
        if place is not None and place != self.frames.currentIndex().row():
            blocked = self.frames.selectionModel().blockSignals(True)
            self.frames.setCurrentIndex(self.model.index(place))
            self.frames.selectionModel().blockSignals(blocked)
            self.frames.executeDelayedItemsLayout()  # else it would scroll by where the frames were
            self.frames.scrollTo(self.model.index(place))
            self.frames.viewport().update()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._lay_out()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.frames.take_width(self._delegate.lines_height())

    def _lay_out(self) -> None:
        if self._state is None:
            return
        current = self.frames.currentIndex().data(SHOT_ROLE)
        self.model.set_shots(shot_frames(self._state, Lay(self.lay_box.currentText())))
        if isinstance(current, ShotFrame):
            self.cursor_at(current.column)
        self.frames.take_width(self._delegate.lines_height())

    def _show_marks(self, shown: bool) -> None:
        self._delegate.marks_shown = shown
        self.frames.viewport().update()

    def _set_across(self, across: int) -> None:
        self.frames.across = across
        self.frames.take_width(self._delegate.lines_height())
        self.frames.scrollTo(self.frames.currentIndex())

    def _want(self) -> None:
        """Have the frames read that are in view."""
        if self._state is None or not self.isVisible():
            return
        shots = [self.model.shots[place].shot for place in self.frames.in_view()]
        asked = (shots, self.stops.value())
        if asked != self._asked or self._table is not self._state.table:
            # A frame that is asked for again is looked at again on disk.
            self._asked, self._table = asked, self._state.table
            self.cache.set_folder(self._state.session.contents.folder)
            # The key shots first: every other is wiped against one.
            keys = [self.model.shots[place].key_shot for place in self.frames.in_view()]
            wanted = dict.fromkeys(shot for shot in (*keys, *shots) if shot)
            self.cache.want([(shot, PROXY) for shot in wanted], self.stops.value())

    def _changed(self, shot: str, longest: int) -> None:
        self.frames.viewport().update()

    def _chosen(self, current: QModelIndex) -> None:
        shot = current.data(SHOT_ROLE)
        if isinstance(shot, ShotFrame):
            self.picked.emit(shot.column)
