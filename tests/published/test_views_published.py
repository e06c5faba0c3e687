"""Views of the ACES configs against what ACES publishes, the chromaticity of a measured black body, and FLIP."""

from __future__ import annotations

import math

import numpy as np
import pytest

from ocio_configs import ACES_1, ACES_2
from samelight.light.region_figures import Figures, figures_of
from samelight.light.spaces import REC709_FROM_XYZ, TO_XYZ
from samelight.sources.pictures.colour_config import ColourView, viewed
from samelight.sources.pictures.perceived import flipped
from samelight.sources.pictures.pictures import Half
from samelight.sources.pictures.view_transform import Codes, linear_of, srgb_codes

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


# FLIP

WHITE = (0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290)


def hunt_adjusted(rgb: tuple[float, ...]) -> tuple[float, float, float]:
    """CIE L*a*b* of linear Rec.709 with chroma in proportion to lightness. Source: Andersson et al. 2020, section 4.1.2."""
    xyz = [
        math.fsum(part * one for part, one in zip(row, rgb, strict=True)) for row in TO_XYZ["rec709"].tolist()
    ]
    ratios = [part / white for part, white in zip(xyz, WHITE, strict=True)]
    x, y, z = (
        math.cbrt(one) if one > (6 / 29) ** 3 else one / (3 * (6 / 29) ** 2) + 4 / 29 for one in ratios
    )
    lightness = 116 * y - 16
    return lightness, 0.01 * lightness * 500 * (x - y), 0.01 * lightness * 200 * (y - z)


def hybrid(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    """The distance HyAB of two linear colours, to the power 0.7. Source: as above, sections 4.1.2 and 4.1.3."""
    a, b = hunt_adjusted(one), hunt_adjusted(other)
    return math.pow(abs(a[0] - b[0]) + math.hypot(a[1] - b[1], a[2] - b[2]), 0.7)


def published_flip(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    """FLIP of two even pictures: the published steps without filters, which change nothing even, and without edges. Up to 0.4 of the
    largest difference, that of green and blue, is spread over 0.95. Source: as above, section 4.1.3; constants from memory."""
    most = hybrid((0, 1, 0), (0, 0, 1))
    apart, bend = hybrid(one, other), 0.4 * most
    return 0.95 * apart / bend if apart < bend else 0.95 + 0.05 * (apart - bend) / (most - bend)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ((0, 0, 0), (255, 255, 255)),
        ((118, 118, 118), (128, 118, 108)),
        ((200, 60, 40), (40, 60, 200)),
        ((90, 90, 90), (92, 92, 92)),
    ],
)
def test_flip_of_even_pictures(one: tuple[int, ...], other: tuple[int, ...]) -> None:
    def even(colour: tuple[int, ...]) -> Codes:
        return np.full((16, 16, 3), colour, np.uint8)

    linear = [tuple(linear_of(np.array(colour, np.uint8)).tolist()) for colour in (one, other)]
    found = flipped(even(one), even(other))
    assert found.mean == pytest.approx(published_flip(*linear), abs=2e-4)
