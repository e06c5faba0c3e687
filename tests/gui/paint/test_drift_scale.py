from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

from colour_help import contrast, lightness
from samelight.drift import scale
from samelight.drift.cells import Grade
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.painting import GridPainter
from samelight.gui.paint import drift_scale, glyphs, line_styles, shades, theme
from samelight.gui.state.rows import GridState
from samelight.reports.html_heat import colour_steps
from samelight.sequence.session import Session

TEXT, GRAPHICS = 4.5, 3.0
"""The least contrast of text (WCAG 2.2, 1.4.3) and of what a picture has to show (1.4.11)."""

JUST_OVER = drift_scale.rgb(1.001)
"""The darkest colour out of tolerance."""

SEVERITIES = [0.2, 0.6, 1.0, 1.2, 2.0, 4.0, 8.0, 16.0, 30.0]


def channels(colour: QColor) -> tuple[int, int, int]:
    return colour.red(), colour.green(), colour.blue()


def test_more_drift_is_always_lighter() -> None:
    values = [lightness(drift_scale.rgb(severity)) for severity in SEVERITIES]
    assert all(later > earlier for earlier, later in itertools.pairwise(values))


def test_what_is_out_of_tolerance_is_a_visible_step_lighter_than_what_is_within() -> None:
    assert lightness(drift_scale.rgb(1.001)) - lightness(drift_scale.rgb(1.0)) > 10


def test_beyond_full_scale_everything_looks_the_same() -> None:
    assert drift_scale.rgb(drift_scale.FULL_SCALE) == drift_scale.rgb(1e9) == drift_scale.rgb(math.inf)


def test_text_reads_on_every_colour_of_the_scale() -> None:
    for severity in np.geomspace(0.01, 40, 200):
        colour = drift_scale.rgb(float(severity))
        assert contrast(colour, channels(drift_scale.ink(*colour))) >= TEXT


def every_code() -> set[int]:
    """Every code that a cell can have."""
    severity = np.concatenate(
        ([0.0, 0.0, 2.0], np.linspace(0.001, 1.0, 400), np.geomspace(1.0001, 40.0, 2000))
    )
    grade = np.where(severity > 1.0, Grade.DRIFT, Grade.WITHIN).astype(np.uint8)
    grade[:2] = Grade.NONE, Grade.SAME
    states = np.zeros(severity.size, dtype=np.uint8)
    states[2] = 1
    return {shades.SAME_IN_GROUP, *shades.cell_codes(severity, grade, states).tolist()}


def test_text_and_marks_read_on_every_cell_of_the_grid(harbour_session: Session) -> None:
    painter = GridPainter(GridModel(GridState(harbour_session)))
    codes = every_code()
    assert {shades.EMPTY, shades.SAME, shades.INTENDED} < codes and len(codes) > 150
    for code in codes:
        # With room for a mark, what was intended has the plain grey inside its frame.
        ground = shades.SAME if code == shades.INTENDED else code
        assert contrast(shades.rgb(ground), channels(painter.inks[code])) >= TEXT, code


def test_text_reads_on_every_chip_of_the_report() -> None:
    for _, colour, ink in colour_steps():
        ground = channels(QColor(colour))
        assert contrast(ground, channels(QColor(ink))) >= TEXT, colour


@pytest.mark.parametrize("severity", [1.001, 1.5, 3.0, 10.0, 30.0])
def test_a_drift_stands_out_from_whatever_it_lies_on(severity: float) -> None:
    """As a cell of one pixel, as the frame of what was intended, as a bar beside a finding, and as a mark in the traces
    and on the sky, within the band of the tolerance too."""
    colour = drift_scale.rgb(severity)
    for code in (shades.EMPTY, shades.SAME_IN_GROUP, shades.SAME):
        assert contrast(colour, shades.rgb(code)) >= GRAPHICS
    band = round(
        theme.WINDOW.red() + (255 - theme.WINDOW.red()) * 26 / 255
    )  # as traces.py lays it over the ground
    for ground in (theme.CELL, theme.WINDOW, theme.PANEL, theme.FIELD, theme.LINE, theme.grey(band)):
        assert contrast(colour, channels(ground)) >= GRAPHICS


def test_a_mark_of_what_is_within_is_seen_by_its_edge() -> None:
    for ground in (theme.WINDOW, theme.CELL, theme.PANEL):
        assert contrast(channels(glyphs.WITHIN_PEN.color()), channels(ground)) >= GRAPHICS
    for severity in (0.01, 0.5, 1.0):
        assert contrast(channels(glyphs.WITHIN_PEN.color()), drift_scale.rgb(severity)) >= GRAPHICS


def test_lines_of_several_lights_stand_out_from_the_ground() -> None:
    for grey, _, _ in line_styles.STYLES:
        assert contrast((grey, grey, grey), channels(theme.WINDOW)) >= GRAPHICS


def test_the_scale_holds_its_stops() -> None:
    """No colour is clipped where a screen ends, and places between those of the stops lie between their colours."""
    for at, light, chroma, _ in scale.STOPS:
        found = lightness(scale.lookup()[round(at * 255)].tolist())
        assert abs(found - light) < 0.8, (at, chroma)
    assert lightness(JUST_OVER) == pytest.approx(59.5, abs=0.5)
    assert drift_scale.rgb(0.0) == channels(theme.CELL)


def test_the_surround_is_neutral_grey(qapp: QApplication) -> None:
    palette = theme.palette()
    for group in (QPalette.ColorGroup.Active, QPalette.ColorGroup.Inactive, QPalette.ColorGroup.Disabled):
        for role in QPalette.ColorRole:
            if role not in (QPalette.ColorRole.NColorRoles, QPalette.ColorRole.NoRole):
                red, green, blue = channels(palette.color(group, role))
                assert red == green == blue, role


def test_texts_of_the_window_have_enough_contrast() -> None:
    for text in (theme.TEXT, theme.DIM_TEXT, theme.BRIGHT):
        for ground in (theme.WINDOW, theme.PANEL, theme.CELL, theme.GROUP_CELL, theme.FIELD):
            assert contrast(channels(text), channels(ground)) >= TEXT


def test_the_window_has_the_same_colours() -> None:
    for severity in (0.0, 0.5, 1.0, 1.1, 4.0, 100.0, math.inf):
        assert drift_scale.rgb(severity) == scale.rgb(severity)
        red, green, blue = scale.rgb(severity)
        assert drift_scale.ink(red, green, blue).name() == (
            "#000000" if scale.ink_is_black(red, green, blue) else "#ffffff"
        )
