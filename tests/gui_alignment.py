"""Prints how far columns of the traces, and the pixels drawn in them, are from the grid's. Run in a process of its own,
with the screen's factor in the environment; see test_alignment."""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtCore import QPoint, QSettings
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from samelight.gui import drift_scale
from samelight.gui.application import application
from samelight.gui.main_window import MainWindow
from samelight.session import open_session

WIDTHS = (1, 2, 3, 7, 23, 62)


def settle() -> None:
    for _ in range(6):
        QApplication.processEvents()


def middle_of(image: QImage, colour: tuple[int, int, int], rows: range) -> float:
    """The middle of everything in these rows of the picture that has a colour."""
    found = [
        x
        for x in range(image.width())
        if any(image.pixelColor(x, y).getRgb()[:3] == colour for y in rows)  # type: ignore[index]  # four numbers
    ]
    return (found[0] + found[-1] + 1) / 2 if found else float("nan")


def main(folder: Path, settings: Path) -> None:
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(settings))
    application()
    window = MainWindow()
    window.resize(1400, 900)
    window.show()
    session = open_session(folder)
    window.show_session(session)
    window.select("HB_120", "render.gi.range")
    grid, traces = window.grid, window.traces
    assert grid is not None and traces is not None
    row, column = session.table.row("render.gi.range"), session.table.column("HB_120")
    assert row is not None and column is not None
    window.select("HB_010", "render.gi.range")
    print(window.devicePixelRatioF())
    colour = drift_scale.rgb(float(session.table.severity[row, column]))
    for width in WIDTHS:
        grid.set_column_width(width)
        settle()
        ratio = window.devicePixelRatioF()
        left = grid.viewport().mapTo(window, QPoint(0, 0)).x()
        for other in (0, 5, 11, 23):
            middle = left + grid.columnViewportPosition(other) + width / 2
            print(traces.mapTo(window, QPoint(0, 0)).x() + traces.x_of_column(other) - middle)
        # And as painted: the cell that drifts in the grid, and its mark in the plot below.
        image = window.grab().toImage()
        index = grid.grid_state.line_of(row)
        assert index is not None
        top = grid.viewport().mapTo(window, QPoint(0, grid.layout_now().y_of(index))).y()
        cell = middle_of(image, colour, range(round((top + 4) * ratio), round((top + 9) * ratio)))
        plot = traces.mapTo(window, QPoint(0, 40)).y()
        mark = middle_of(
            image, colour, range(round(plot * ratio), round((plot + traces.height() - 60) * ratio))
        )
        print((mark - cell) / ratio)
    window.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
