"""Where columns lie, to the pixel of the screen, at every width, number of shots, scroll and scaling factor."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from samelight.gui.grid.layout import WIDE_FROM, Layout, whole_of
from samelight.gui.grid.overview_data import largest
from samelight.gui.grid.painting import shown_codes

SCALES = (1.0, 1.25, 1.5, 2.0)


def made(whole: int, columns: int, left: int = 0, room: int | None = None, ratio: float = 1.0) -> Layout:
    return Layout(whole, 24, columns, 40, left, 50, whole if room is None else room, 200, 2, ratio)


counts = st.integers(1, 6000)
wholes = st.integers(1, 20000)


@given(wholes, counts)
def test_columns_leave_no_pixel_out_and_none_is_without_one(whole: int, columns: int) -> None:
    layout = made(whole, columns)
    starts, ends = layout.spans(0, columns)
    assert (starts[0], ends[-1]) == (0, whole)
    widths = ends - starts
    assert widths.min() >= 1 and np.ptp(widths) <= 1
    # One after the other without a gap; where there are fewer pixels than columns, on the same one or the next.
    steps = starts[1:] - ends[:-1]
    assert set(steps.tolist()) <= ({-1, 0} if columns > whole else {0})
    assert layout.shared == (columns > whole)


@given(wholes, counts, st.data())
def test_the_mouse_finds_the_columns_that_are_drawn_there(
    whole: int, columns: int, data: st.DataObject
) -> None:
    left = data.draw(st.integers(0, whole - 1))
    layout = made(whole, columns, left, room=300)
    column = data.draw(st.integers(0, columns - 1))
    start, end = layout.span(column)
    assert layout.spans(column, column + 1)[:, 0].tolist() == [start + left, end + left]
    for pixel in {start, (start + end) // 2, end - 1}:
        assert column in layout.columns_at(pixel)
        if not layout.shared:
            assert len(layout.columns_at(pixel)) == 1
    if not layout.shared:
        assert column not in layout.columns_at(end)
        assert column not in layout.columns_at(start - 1)
    assert layout.columns_at(-left - 1) == layout.columns_at(whole - left) == range(0)
    assert layout.columns_between(start, end)[0] in layout.columns_at(start)
    assert layout.columns_between(-left - 50, whole + 50) == (0, columns)


@given(st.integers(1, 3000), st.integers(1, 3000))
def test_every_column_lies_under_exactly_one_stretch_of_pixels(whole: int, columns: int) -> None:
    layout = made(whole, columns)
    under = [layout.columns_at(pixel) for pixel in range(whole)]
    found = np.concatenate([np.arange(columns_.start, columns_.stop) for columns_ in under])
    assert (np.diff(found) >= 0).all()
    assert np.unique(found).size == columns
    if layout.shared:
        assert found.size == columns  # none under two pixels


@given(st.integers(1, 400), st.integers(1, 400), st.data())
def test_a_pixel_shows_the_worst_of_the_cells_under_it(whole: int, columns: int, data: st.DataObject) -> None:
    left = data.draw(st.integers(0, whole - 1))
    layout = made(whole, columns, left)
    end = data.draw(st.integers(1, whole - left))
    start = data.draw(st.integers(-left, end - 1))
    codes = np.random.default_rng(whole * 401 + columns).integers(0, 256, (3, columns), dtype=np.uint8)
    shown = shown_codes(codes, layout, start, end)
    assert shown.shape == (3, end - start)
    for pixel in range(start, end):
        under = layout.columns_at(pixel)
        assert (shown[:, pixel - start] == codes[:, under.start : under.stop].max(axis=1)).all()


@given(st.integers(1, 2000), counts)
def test_the_overview_and_the_fitted_grid_show_the_same(room: int, columns: int) -> None:
    codes = np.random.default_rng(columns).integers(0, 256, (2, columns), dtype=np.uint8)
    assert (shown_codes(codes, made(room, columns), 0, room) == largest(codes, 2, room)).all()


@given(st.floats(0.05, 200.0), counts, st.sampled_from(SCALES))
def test_wide_columns_are_whole_pixels_and_narrow_ones_as_wide_as_asked(
    width: float, columns: int, ratio: float
) -> None:
    whole = whole_of(width, columns, ratio)
    assume(width * ratio * columns >= 1)
    if width >= WIDE_FROM:
        assert whole % columns == 0
        assert abs(whole / columns - width * ratio) <= 0.5
    else:
        assert abs(whole - width * ratio * columns) <= 0.5
    assert made(whole, columns, ratio=ratio).width == pytest.approx(whole / columns / ratio)


@given(wholes, counts, st.data())
def test_traces_stand_in_the_middle_of_the_pixels(whole: int, columns: int, data: st.DataObject) -> None:
    """Half past its place, moved to the middle of the column's pixels: by less than one of them."""
    layout = made(whole, columns, left=data.draw(st.integers(0, whole - 1)))
    column = data.draw(st.integers(0, columns - 1))
    start, end = layout.span(column)
    assert layout.along(column) * whole / columns - layout.left == pytest.approx((start + end) / 2, abs=1e-6)
    assert layout.shares(column, column + 1).mean() == pytest.approx(layout.along(column), abs=1e-9)
    assert abs(layout.along(column) - (column + 0.5)) * whole / columns <= 1.0
    if whole % columns == 0:
        assert layout.along(column) == column + 0.5


@given(st.sampled_from(SCALES), st.floats(-0.5, 0.5), st.integers(0, 4000))
def test_a_place_of_the_screen_is_its_pixel(ratio: float, shift: float, pixel: int) -> None:
    """`pixel` counts from where the grid begins, `shift` further right than the view does."""
    layout = Layout(5000, 24, 100, 10, 0, 0, 5000, 200, ratio=ratio, shift=shift)
    assert layout.pixel((pixel + shift) / ratio) == pixel
    assert layout.pixel((pixel + shift + 0.99) / ratio) == pixel


@given(counts, wholes, wholes, st.data())
def test_zooming_keeps_the_column_at_its_pixel(
    columns: int, whole: int, zoomed: int, data: st.DataObject
) -> None:
    left = data.draw(st.integers(0, whole - 1))
    before, after = made(whole, columns, left), made(zoomed, columns)
    pixel = data.draw(st.integers(-left, whole - left - 1))
    column = data.draw(st.sampled_from(before.columns_at(pixel)))
    scroll = after.left_for(before.hold(pixel, column))
    assert column in made(zoomed, columns, scroll).columns_at(pixel)
    # Beside the grid what lies as far along it stays.
    beyond = before.hold(whole - left + 7)
    assert beyond.column is None
    assert after.left_for(beyond) + whole - left + 7 == pytest.approx((whole + 7) * zoomed / whole, abs=0.5)


def test_nothing_listed_has_no_columns() -> None:
    layout = made(0, 0)
    assert layout.columns_at(0) == range(0)
    assert layout.columns_between(0, 100) == (0, 0)
    assert layout.width == 0.0
    assert whole_of(62, 0, 1.0) == 0


# Down


def test_lines_lie_where_the_mouse_finds_them() -> None:
    layout = Layout(700, 24, columns=100, lines=40, left=33, top=50, room_x=300, room_y=200, frozen=2)
    for index in (0, 1):
        assert layout.line_at(layout.y_of(index)) == index == layout.line_at(layout.y_of(index) + 23.9)
    for index in range(5, 10):
        assert layout.line_at(layout.y_of(index)) == index
    assert layout.line_at(layout.y_of(40)) is None


def test_blocks_cover_every_line_in_view_once() -> None:
    layout = Layout(90, 24, columns=9, lines=40, left=0, top=100, room_x=90, room_y=240, frozen=3)
    pinned, others = layout.blocks(0, 240)
    assert (pinned.first, pinned.last, pinned.y) == (0, 3, 0)
    assert others.top == 72
    # The first line below the pinned ones is the one that the scroll has brought there.
    assert others.first == (72 + 100) // 24 and others.y == others.first * 24 - 100
    assert others.last == math.ceil((240 + 100) / 24)
    assert [(block.first, block.last) for block in layout.blocks(0, 50)] == [(0, 3)]
