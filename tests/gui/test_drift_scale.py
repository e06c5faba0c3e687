from __future__ import annotations

import itertools
import math

import numpy as np
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

from samelight.gui import drift_scale, theme

SEVERITIES = [0.2, 0.6, 1.0, 1.2, 2.0, 4.0, 8.0, 16.0, 30.0]


def lightness(colour: tuple[int, int, int]) -> float:
    """CIE L* of an sRGB colour (CIE 15:2004, from relative luminance)."""
    y = drift_scale.relative_luminance(*colour)
    return 116 * y ** (1 / 3) - 16 if y > 216 / 24389 else y * 24389 / 27


def contrast(a: tuple[int, int, int], b: tuple[int, int, int]) -> float:
    """WCAG 2 contrast ratio."""
    high, low = sorted((drift_scale.relative_luminance(*a), drift_scale.relative_luminance(*b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


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
        assert contrast(colour, channels(drift_scale.ink(*colour))) >= 4.5


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
            assert contrast(channels(text), channels(ground)) >= 4.5
