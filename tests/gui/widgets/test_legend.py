"""The legend explains whatever can be seen, and nothing of it is cut off."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QRectF
from PySide6.QtGui import QColor, QImage, QRegion
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from colour_help import contrast
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.gui.paint import drift_scale, shades, theme
from samelight.gui.paint.shades import ShadePicture
from samelight.gui.state.rows import GridState
from samelight.gui.widgets.legend import PIECES, Legend, Placed
from samelight.gui.window.main_window import MainWindow
from samelight.reports.signs import STATE_MARKS
from samelight.sequence.session import Session

UNTOUCHED = QColor(255, 0, 255)
"""No colour of the program."""


@pytest.fixture
def legend(qtbot: QtBot) -> Legend:
    made = Legend()
    qtbot.addWidget(made)
    return made


def fit(legend: Legend, width: int) -> None:
    legend.resize(width, legend.heightForWidth(width))


def rendered(legend: Legend, ratio: int = 1) -> QImage:
    """The legend on a ground that it cannot have drawn itself."""
    image = QImage(legend.size() * ratio, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(UNTOUCHED)
    legend.render(image, QPoint(), QRegion(), QWidget.RenderFlag.DrawChildren)
    return image


def pixels(image: QImage) -> np.ndarray:
    flat = np.frombuffer(image.constBits(), dtype=np.uint32)
    return flat.reshape(image.height(), image.bytesPerLine() // 4)[:, : image.width()] & 0xFFFFFF


def rooms(placed: list[Placed]) -> list[QRectF]:
    return [room for piece in placed for room in (piece.sample, piece.text)]


def cut(drawn: np.ndarray, room: QRectF, ratio: int) -> np.ndarray:
    left, top, right, bottom = (
        round(edge * ratio) for edge in (room.left(), room.top(), room.right(), room.bottom())
    )
    return drawn[top:bottom, left:right]


def test_every_level_and_state_has_a_sample() -> None:
    means = [piece.means for piece in PIECES]
    for grade in (Grade.WITHIN, Grade.DRIFT, Grade.BREAK):
        assert any(said.split(" (")[0] == grade.word for said in means), grade
    for state, mark in STATE_MARKS.items():
        if mark:
            assert str(state) in means
    for said in ("new since", "moved since", "mended since"):
        assert any(one.startswith(said) for one in means), "a sign in the grid that nothing explains"


def test_it_says_what_light_grey_is_where_columns_are_narrow(legend: Legend) -> None:
    (piece,) = [piece for piece in PIECES if "narrow" in piece.means]
    assert piece.means == "intended (narrow columns, overview)"
    fit(legend, 1280)
    (placed,) = [placed for placed in legend.placed() if placed.piece is piece]
    image = rendered(legend)
    middle = placed.sample.center().toPoint()
    assert image.pixelColor(middle) == shades.colour(shades.INTENDED)
    assert "Light grey: intended (narrow columns, overview)" in legend.accessibleDescription()


def test_the_greys_of_the_overview_are_in_it_and_so_is_the_scale(
    legend: Legend, harbour_session: Session
) -> None:
    row, column = harbour_session.table.row("lights.sun.direction"), harbour_session.table.column("HB_060")
    assert row is not None and column is not None
    harbour_session.decide(Verb.INTEND, [(row, column)], "lead", "meant")
    state = GridState(harbour_session)
    state.show(replace(state.view, expanded=tuple(group.name for group in state.groups)))
    codes = ShadePicture().codes(state)
    greys = {shades.EMPTY, shades.SAME, shades.SAME_IN_GROUP, shades.INTENDED}
    assert greys < set(codes.ravel().tolist())
    fit(legend, 1280)
    shown = set(pixels(rendered(legend)).ravel().tolist())
    for red, green, blue in (
        *(shades.rgb(code) for code in greys),
        *(drift_scale.rgb(severity) for severity in (0.6, 1.001, 3.0, 10.0, 30.0)),
    ):
        assert red << 16 | green << 8 | blue in shown


@pytest.mark.parametrize("ratio", [1, 2])
@pytest.mark.parametrize("width", [330, 480, 640, 880, 1280, 1600, 2560])
def test_nothing_is_cut_off(legend: Legend, width: int, ratio: int) -> None:
    fit(legend, width)
    placed = legend.placed()
    for room in rooms(placed):
        assert QRectF(legend.rect()).contains(room)
    for one, two in itertools.combinations(rooms(placed), 2):
        assert not one.intersects(two)
    drawn = pixels(rendered(legend, ratio)) != UNTOUCHED.rgb() & 0xFFFFFF
    outside = drawn.copy()
    for piece in placed:
        assert cut(drawn, piece.sample, ratio).any(), piece.piece.means
        text = cut(drawn, piece.text, ratio)
        assert text.any(axis=0).mean() > 0.4, piece.piece.means
        # Ink at the edge of its room would mean that there is more of it beyond.
        assert not text[:, -1].any() and not text[0].any() and not text[-1].any(), piece.piece.means
        cut(outside, piece.text.adjusted(-1, 0, 0, 0), ratio)[:] = False  # a j begins left of its place
        cut(outside, piece.sample.adjusted(-1, -1, 1, 1), ratio)[:] = False
    assert not outside.any()


def test_it_is_never_narrower_than_its_widest_piece(legend: Legend) -> None:
    least = legend.minimumSizeHint().width()
    assert least < 400
    fit(legend, least)
    assert all(room.right() <= least for room in rooms(legend.placed()))


def test_its_rows_are_as_many_as_the_width_needs(qtbot: QtBot) -> None:
    holder = QWidget()
    qtbot.addWidget(holder)
    layout = QVBoxLayout(holder)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.addWidget(QWidget(), 1)
    legend = Legend()
    layout.addWidget(legend)
    holder.show()

    def is_wide(width: int) -> bool:
        return legend.width() == width

    heights = []
    for width in (2600, 1280, 640):
        holder.resize(width, 500)
        qtbot.waitUntil(partial(is_wide, width))
        assert legend.height() == legend.heightForWidth(width)
        heights.append(legend.height())
    assert heights[0] < heights[1] < heights[2]


def test_all_of_it_is_in_a_window_of_1280_pixels(window: MainWindow) -> None:
    window.resize(1280, 800)
    legend = window.findChild(Legend)
    assert legend is not None
    for _ in range(4):
        QApplication.processEvents()
    assert window.width() == 1280
    assert legend.height() == legend.heightForWidth(legend.width()) <= 60
    assert all(QRectF(legend.rect()).contains(room) for room in rooms(legend.placed()))


def test_its_texts_and_lines_read_on_the_ground(legend: Legend) -> None:
    ground = legend.palette().window().color()
    assert ground == theme.WINDOW
    for ink in (theme.TEXT, theme.BRIGHT):
        assert contrast((ink.red(),) * 3, (ground.red(),) * 3) >= 4.5  # WCAG 2.2, 1.4.3
