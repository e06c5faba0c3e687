"""The sky view: where the lights come from in every shot, on a dome seen from above."""

from __future__ import annotations

import html
import math

import numpy as np
from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from samelight.drift.words import MINUS
from samelight.gui.paint import theme
from samelight.gui.sky.sky_map import SkyMap
from samelight.gui.state.rows import GridState
from samelight.gui.state.sky_data import LightTrack, MapFrame, Sky, sky_of, unproject
from samelight.gui.widgets.page_parts import FittedLabel
from samelight.gui.widgets.plain_text import MarkedLabel
from samelight.gui.widgets.yielding_bar import YieldingBar

_NOTE = (
    "Seen from above, {frame}. Lambert azimuthal equal-area, and the tolerance is drawn as this projection has it. "
    "Outside the 0° ring: below the horizon."
)


_SPACING = 4
_LEAST_MAP = 150
"""Pixels that the map keeps of the height before the note has any but its first line."""


class SkyView(QWidget):
    """The map, what it is asked to show, and a read-out in words."""

    picked = Signal(int, int)
    """Row and column of the table that a click on a point means."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.state: GridState | None = None
        self._row = self.column = 0
        self._made_for: GridState | None = None
        self.sky: Sky | None = None
        self._group = ""
        self._seen = True
        self.map = SkyMap()
        self.map.hovered.connect(self._hovered)
        self.map.pressed.connect(self._pressed)
        self.map.stepped.connect(self._stepped)
        self.frame_box = QComboBox()
        self.frame_box.addItems([str(frame) for frame in MapFrame])
        self.frame_box.setToolTip(
            "World: north is up. Camera: every direction is turned so that the shot's camera looks up on the map"
        )
        self.frame_box.setAccessibleName("Frame of the sky")
        self.frame_box.currentIndexChanged.connect(self._redraw)
        self.all_box = QCheckBox("&All lights")
        self.all_box.setChecked(True)
        self.all_box.setToolTip("Show every light that has a direction, or only the one under the cursor")
        self.all_box.toggled.connect(self._redraw)
        self.closer_button = QToolButton()
        self.closer_button.setText("&Closer")
        self.closer_button.setCheckable(True)
        self.closer_button.setToolTip(
            "Fill the map with the light under the cursor (wheel, + and − zoom; 0 shows the whole sky)"
        )
        self.closer_button.setAccessibleName("Closer to the light under the cursor")
        self.closer_button.toggled.connect(self._closer)
        self._bar = YieldingBar([self.frame_box, self.all_box], [self.closer_button])
        self.said = MarkedLabel()
        self.said.setWordWrap(True)
        self.said.setMinimumHeight(54)
        self.said.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.said.setAccessibleName("Read-out of the sky")
        self.said.setContentsMargins(8, 0, 8, 0)
        self.said.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.note = FittedLabel(points=theme.SMALL, dim=True, lines=4)
        below = QVBoxLayout()
        below.setContentsMargins(8, 0, 8, 4)
        below.addWidget(self.note)
        self._stack = QVBoxLayout(self)
        self._stack.setContentsMargins(0, 0, 0, 0)
        self._stack.setSpacing(_SPACING)
        self._stack.addWidget(self._bar)
        self._stack.addWidget(self.map, 1)
        self._stack.addWidget(self.said)
        self._stack.addLayout(below)

    def sizeHint(self) -> QSize:
        return QSize(380, 480)

    @property
    def frame(self) -> MapFrame:
        """What stays up on the map."""
        return MapFrame(self.frame_box.currentText())

    @property
    def track(self) -> LightTrack | None:
        """The light that is drawn with its path and its tolerance."""
        return self.sky.track_of(self._group) if self.sky is not None else None

    def show_cell(self, state: GridState, row: int, column: int) -> None:
        """Follow the cursor: the light of a row, or the one before where the row has no direction, and a shot."""
        self.state, self._row, self.column = state, row, column
        if self._seen:
            self._redraw()
        elif self._made_for is not state:
            self._forget()

    def clear(self) -> None:
        """Show nothing."""
        self.state = None
        self._forget()
        self.said.clear()

    def _forget(self) -> None:
        """Hold no sky, and so none of a sequence that was read again since."""
        self.sky = self._made_for = None
        self.map.clear()

    def set_seen(self, seen: bool) -> None:
        """Whether anyone can see it now; behind another tab it does nothing until it comes up."""
        self._seen = seen
        if seen:
            self._redraw()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_note()
        if self.closer_button.isChecked():
            self._closer(True)

    def _fit_note(self) -> None:
        """Leave the note what map and read-out do not need; the rest of it is in its tooltip."""
        below = self.said.heightForWidth(self.width()) + self._bar.sizeHint().height()
        room = self.height() - max(_LEAST_MAP, self.map.minimumHeight()) - below - 4 * _SPACING
        self.note.setMaximumHeight(max(room, self.note.minimumSizeHint().height()))

    def _redraw(self) -> None:
        state = self.state
        if state is None:
            return
        if self._made_for is not state:
            session = state.session
            self.sky = sky_of(
                state.table, session.comparison.sheets, session.contents.sequence.conventions.north
            )
            self._made_for = state
        assert self.sky is not None
        group = state.groups[state.groups.of_row[self._row]].name
        if self.sky.track_of(group) is not None:
            self._group = group
        elif self.track is None:
            self._group = self.sky.tracks[0].group if self.sky.tracks else ""
        self.map.show_sky(
            state, self.sky, self.track, self.column, self.frame, every=self.all_box.isChecked()
        )
        if self.closer_button.isChecked():
            self._closer(True)
        self._say(None)
        self._say_note()

    def _closer(self, closer: bool) -> None:
        self.map.frame_track() if closer else self.map.show_whole()

    # In words

    def _say_note(self) -> None:
        assert self.sky is not None
        frame = "north up, east right"
        if self.frame is MapFrame.CAMERA:
            frame = f"each shot's camera looks up; master and tolerance as {self.sky.shots[self.column]} sees them"
        parts = [_NOTE.format(frame=frame)]
        out = self.sky.left_out(self.frame)
        if out:
            shots = f"{out} shot{'s have' if out != 1 else ' has'}"
            parts.insert(0, f"{shots} no camera with a heading and {'are' if out != 1 else 'is'} left out.")
        if self.sky.without:
            parts.append(f"Without a direction: {', '.join(self.sky.without)}.")
        self.note.setText(" ".join(parts))
        self._stack.activate()  # else the map is drawn once in a size that it loses to the note

    def _say(self, found: tuple[LightTrack, list[int]] | None) -> None:
        """Say what is under the mouse, or else the shot under the cursor."""
        track = found[0] if found is not None else self.track
        columns = found[1] if found is not None else [self.column]
        if track is None or self.sky is None:
            self.said.setText("No light of this sequence has a direction.")
            self._fit_note()
            return
        column = columns[0]
        shots = self.sky.shots
        names = ", ".join(shots[c] for c in columns[:4]) + (
            f" and {len(columns) - 4} more" if len(columns) > 4 else ""
        )
        self.said.setText(
            f"<b>{html.escape(names)}</b>&nbsp;&nbsp;{html.escape(track.name)}<br>{self._where(track, column)}"
        )
        self._fit_note()

    def _where(self, track: LightTrack, column: int) -> str:
        if math.isnan(track.azimuth[column]):
            return "is not in this shot's sheet"
        elevation = f"{track.elevation[column]:.1f}".replace("-", MINUS)
        said = f"azimuth {track.azimuth[column]:.1f}°, elevation {elevation}°"
        if track.moves[column]:
            said += " at its first key (it moves)"
        if math.isnan(track.away[column]):
            return f"{said}; nothing to compare it with"
        return (
            f"{said}; <b>{track.away[column]:.2f}° from the master</b>, tolerance {track.allowed(column):g}°"
        )

    # What the hand does

    def _hovered(self, place: QPointF) -> None:
        found = self.map.points_at(place)
        self._say(found)
        if found is None and self.track is not None:
            where = unproject(*self.map.view.to_map(place.x(), place.y()))
            if where is not None and self.frame is MapFrame.WORLD and not place.isNull():
                azimuth, elevation = where
                here = f"pointer: azimuth {azimuth:.0f}°, elevation {elevation:.0f}°".replace("-", MINUS)
                self.said.setText(f"{self.said.text()}<br>{here}")
                self._fit_note()

    def _pressed(self, place: QPointF) -> None:
        found = self.map.points_at(place)
        if found is None:
            return
        track, columns = found
        # Shots in one place come up one after the other.
        here = columns.index(self.column) if track is self.track and self.column in columns else -1
        self.picked.emit(track.row, columns[(here + 1) % len(columns)])

    def _stepped(self, shots: int, lights: int) -> None:
        if self.sky is None or self.track is None:
            return
        track = self.track
        if lights:
            tracks = self.sky.tracks
            track = tracks[(tracks.index(track) + lights) % len(tracks)]
            self.picked.emit(track.row, self.column)
            return
        known = np.flatnonzero(~np.isnan(track.azimuth))
        further = known[known > self.column] if shots > 0 else known[known < self.column][::-1]
        if further.size:
            self.picked.emit(track.row, int(further[0]))
