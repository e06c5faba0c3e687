"""Measures how far what is drawn in grid, overview and traces is from where the layout says that columns lie. Run in the
process of `gui_screens`."""

from __future__ import annotations

import copy
import itertools
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPoint, QRect
from PySide6.QtGui import QImage, QScreen
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from gui_films import FilmSession, session_of
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview import Overview
from samelight.gui.grid.view import GridView
from samelight.gui.paint import shades
from samelight.gui.state.rows import GridState, Show
from samelight.gui.traces.traces import TracesView
from samelight.sequence.session import Session
from samelight.sheets.canonical import Sections
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Level, Value

Colour = tuple[int, int, int]

EDGES = (0, 3)
WIDTHS = (1, 1.3, 2, 3.7, 4.9, 7.3, 13.4, 14, 23, 62)
SIZES = ((1400, 900), (1283, 811))
FILMS = (500, 3000)
PARAMETER = "render.gi.range"


def settle() -> None:
    for _ in range(6):
        QApplication.processEvents()


def lone_drift(folder: Path, shots: int, where: int) -> FilmSession:
    """A film in which one value of one shot is off."""
    setup: Sections = {
        "lights": {"sun": {"type": "distant", "level": Level(2.0)}},
        "render": {"gi": {"on": True, "range": 3.5, "bounces": 3.0}},
    }
    off = cast("dict[str, dict[str, dict[str, Value]]]", copy.deepcopy(setup))
    off["render"]["gi"]["range"] = 350.0

    def sheet(shot: str, sections: Sections) -> Sheet:
        return Sheet(Path(f"{shot}.v001.yaml"), shot, 1, 1, (1001, 1100), {}, sections)

    names = [f"FM_{10 * (number + 1):05d}" for number in range(shots)]
    sheets = {name: sheet(name, off if number == where else setup) for number, name in enumerate(names)}
    return session_of(sheet("master", setup), sheets, folder)


def pixels_of(image: QImage) -> NDArray[np.uint8]:
    """Red, green and blue of a picture, shape (height, width, 3)."""
    image = image.convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : image.width() * 3].reshape(image.height(), image.width(), 3).copy()


class Window:
    """Overview, grid and traces on a screen, in a window that they do not start at the edge of, so that on a scaled screen
    they begin within a pixel."""

    def __init__(self, session: Session, edge: int, screen: QScreen) -> None:
        self.session = session
        self.model = GridModel(GridState(session))
        self.model.set_filter(Show.ALL, "gi")  # few enough rows to be in view at every size
        self.grid = GridView(self.model)
        self.traces = TracesView(self.grid)
        self.overview = Overview(self.model, self.grid)
        self.grid.spot_changed.connect(
            lambda row, column: self.traces.show_row(self.model.state, row, column)
        )
        self.window = QWidget()
        self.window.setScreen(screen)
        self.window.move(screen.geometry().topLeft())
        column = QVBoxLayout(self.window)
        column.setContentsMargins(edge, 0, 3, 0)
        column.setSpacing(0)
        for part in (self.overview, self.grid, self.traces):
            column.addWidget(part)
        self.window.resize(*SIZES[0])
        self.window.show()
        settle()
        self.window.setUpdatesEnabled(False)  # what is looked at is drawn then
        self.ratio = self.window.devicePixelRatioF()

    def select(self, parameter: str, shot: str) -> tuple[int, int]:
        """Put the cursor into a cell; its row and column."""
        table = self.session.table
        row, column = table.row(parameter), table.column(shot)
        assert row is not None and column is not None
        self.grid.go_to(row, column)
        settle()
        return row, column

    def left_of(self, widget: QWidget) -> float:
        """Where a part of the window begins, in pixels of the screen."""
        return widget.mapTo(self.window, QPoint(0, 0)).x() * self.ratio

    def stretch(self, column: int) -> tuple[int, int]:
        """Where a column begins and ends, in pixels of the window."""
        start, end = self.grid.layout_now().span(column)
        origin = math.floor(self.left_of(self.grid.viewport()) + 0.5)
        return origin + start, origin + end

    def plotted_off(self, column: int) -> float:
        """How far a column's middle in the traces is from that of its pixels in the grid."""
        start, end = self.stretch(column)
        return self.left_of(self.traces) + self.traces.x_of_column(column) * self.ratio - (start + end) / 2

    def colour(self, row: int, column: int) -> Colour:
        """The colour of a cell."""
        table, states = self.session.table, np.zeros((1, 1), dtype=np.uint8)
        cell = np.s_[row : row + 1, column : column + 1]
        return shades.rgb(int(shades.cell_codes(table.severity[cell], table.grade[cell], states)[0, 0]))

    def found(self, widget: QWidget, colour: Colour, top: int, bottom: int) -> NDArray[np.int64]:
        """The columns of pixels in which a colour is found between two heights of a widget, of which no more is drawn."""
        y = widget.mapTo(self.window, QPoint(0, 0)).y()
        pixels = self.drawn(QRect(0, y + top, self.window.width(), bottom - top))
        red, green, blue = (pixels[:, :, channel] == value for channel, value in enumerate(colour))
        return np.flatnonzero((red & green & blue).any(axis=0))

    def drawn(self, part: QRect | None = None) -> NDArray[np.uint8]:
        """A part of the window or all of it as it is drawn now: red, green and blue, shape (height, width, 3)."""
        self.window.setUpdatesEnabled(True)
        image = self.window.grab(part or self.window.rect()).toImage()
        self.window.setUpdatesEnabled(False)
        return pixels_of(image)

    def drawn_off(self, row: int, column: int, *, alone: bool) -> Iterator[tuple[str, float]]:
        """How far the pixels that a drift is drawn in are from the pixels of its column: in the grid its first and its
        last, in the traces the middle of its mark; in the map as in the grid, where it is all `alone`."""
        colour = self.colour(row, column)
        start, end = self.stretch(column)
        line = self.grid.grid_state.listing.line_of(row)
        assert line is not None
        layout = self.grid.layout_now()
        y = layout.y_of(line)
        cell = self.found(self.grid.viewport(), colour, y + 4, y + 8)
        gap = max(int(self.ratio), 1) if layout.width >= 5 else 0
        yield "cell starts", float(cell[0] - start) if cell.size else math.inf
        yield "cell ends", float(cell[-1] + 1 - (end - gap)) if cell.size else math.inf
        mark = self.found(self.traces, colour, 40, self.traces.height() - 20)
        yield "mark", float((mark[0] + mark[-1] + 1) / 2 - (start + end) / 2) if mark.size else math.inf
        if alone:
            room = self.overview.map_rect()
            seen = self.found(self.overview, colour, room.top(), room.bottom() + 1)
            yield "map starts", float(seen[0] - start) if seen.size else math.inf
            yield "map ends", float(seen[-1] + 1 - end) if seen.size else math.inf


def films(folder: Path) -> list[tuple[int, FilmSession]]:
    """Films in memory, each with where its drift is."""
    return [(where := shots * 2 // 3 + 1, lone_drift(folder, shots, where)) for shots in FILMS]


def alignment(harbour: Session, films: list[tuple[int, FilmSession]], screen: QScreen) -> dict[str, Any]:
    """How far off what is plotted and what is drawn is on one screen, in its pixels."""
    plotted: list[float] = []
    drawn: list[tuple[str, float]] = []

    def look(what: str, cell: tuple[int, int], *, alone: bool) -> None:
        drawn.extend((f"{part} {what}", off) for part, off in shown.drawn_off(*cell, alone=alone))

    for edge in EDGES:
        shown = Window(harbour, edge, screen)
        cell = shown.select(PARAMETER, "HB_120")
        shown.select(PARAMETER, "HB_010")
        for size, width in itertools.product(SIZES, (*WIDTHS, None)):
            shown.window.resize(*size)
            shown.grid.widths.fit() if width is None else shown.grid.widths.set_width(width)
            settle()
            bar = shown.grid.horizontalScrollBar()
            for value in sorted({0, bar.maximum() // 3, bar.maximum()}):
                bar.setValue(value)
                settle()
                plotted += [shown.plotted_off(column) for column in (0, 5, 11, 23)]
                layout = shown.grid.layout_now()
                start, end = layout.span(cell[1])
                if start >= 0 and end <= layout.room_x:
                    look(f"at {size} {width} {value} from {edge}", cell, alone=False)
        shown.window.close()
        for where, film in films:
            shown = Window(film, edge, screen)
            names, shots = film.table.shots, len(film.table.shots)
            cell = shown.select(PARAMETER, names[where])
            shown.select(PARAMETER, names[0])
            shown.grid.widths.fit()
            for size in SIZES:
                shown.window.resize(*size)
                settle()
                plotted += [shown.plotted_off(column) for column in (0, 7, where, shots - 1)]
                look(f"of {shots} at {size} from {edge}", cell, alone=True)
            shown.window.close()
    return {"ratio": shown.ratio, "plotted": plotted, "drawn": drawn}
