"""Views of the ACES configs against what ACES publishes, and the chromaticity of a measured black body."""

from __future__ import annotations

import numpy as np
import pytest

from ocio_configs import ACES_1, ACES_2
from samelight.light.region_figures import Figures, figures_of
from samelight.light.spaces import REC709_FROM_XYZ
from samelight.sources.pictures.colour_config import ColourView, viewed
from samelight.sources.pictures.pictures import Half
from samelight.sources.pictures.view_transform import srgb_codes

DISPLAY = "sRGB - Display"


def code_of_grey(view: ColourView) -> int:
    grey: Half = np.full((1, 1, 3), 0.18, np.float16)
    codes = viewed(grey, 0.0, view).ravel().tolist()
    assert max(codes) - min(codes) <= 1
    return int(codes[1])


def test_aces_1_shows_middle_grey_at_4_8_of_48_nits() -> None:
    """Academy, ACES 1.0.3, ACESlib.Tonescales.ctl (middle grey at 4.8 nits, black at 0.02, white at 48) and
    ACESlib.ODT_Common.ctl (a dim surround raises luminance to the power 0.9811). Figures from memory."""
    shown = ((4.8 - 0.02) / (48.0 - 0.02)) ** 0.9811
    assert (
        code_of_grey(ColourView(ACES_1, DISPLAY, "ACES 1.0 - SDR Video")) == srgb_codes(np.array([shown]))[0]
    )


def test_aces_2_shows_middle_grey_at_10_of_100_nits() -> None:
    """Academy, ACES 2.0, Lib.Academy.Tonescale.ctl: at a peak of 100 nits middle grey is shown at 10. From memory."""
    view = ColourView(ACES_2, DISPLAY, "ACES 2.0 - SDR 100 nits (Rec.709)")
    assert code_of_grey(view) == srgb_codes(np.array([0.1]))[0]


@pytest.mark.parametrize("linear", [0.0, 0.002, 0.0031308, 0.18, 0.5, 1.0])
def test_without_a_tone_curve_the_view_is_the_srgb_curve(linear: float) -> None:
    """IEC 61966-2-1:1999."""
    picture: Half = np.full((1, 1, 3), linear, np.float16)
    expected = srgb_codes(picture.astype(np.float64))
    found = viewed(picture, 0.0, ColourView(ACES_1, DISPLAY, "Un-tone-mapped"))
    assert np.abs(found.astype(int) - expected.astype(int)).max() <= 1


def test_the_colour_of_a_measured_black_body() -> None:
    """CIE 15:2018: illuminant A, a black body of 2,856 K, has x = 0.44758, y = 0.40745, so u' = 0.2560 and v' = 0.5243."""
    xyz = [0.44758 / 0.40745, 1.0, (1.0 - 0.44758 - 0.40745) / 0.40745]
    rgb = [sum(float(part) * one for part, one in zip(row, xyz, strict=True)) for row in REC709_FROM_XYZ]
    shaded = np.linspace(0.1, 2.0, 12)[:, None, None] * np.array(rgb)
    found = figures_of(np.broadcast_to(shaded, (12, 16, 3)), np.ones((12, 16), np.bool_), 8.0)
    assert isinstance(found, Figures)
    assert (round(found.u, 4), round(found.v, 4)) == (0.2560, 0.5243)
