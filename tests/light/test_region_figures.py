"""Figures of pixels against what they are by definition."""

from __future__ import annotations

import math

import numpy as np
import pytest

from samelight.light.colour import chromaticity
from samelight.light.region_figures import Figures, figures_of


def of(rgb: np.ndarray, inside: np.ndarray | None = None, middle: float | None = None) -> Figures:
    where = np.ones(rgb.shape[:2], dtype=np.bool_) if inside is None else inside
    found = figures_of(rgb, where, rgb.shape[1] / 2 if middle is None else middle)
    assert isinstance(found, Figures), found
    return found


def grey(values: np.ndarray) -> np.ndarray:
    return np.repeat(np.asarray(values, dtype=np.float64)[..., None], 3, axis=-1)


def test_one_colour() -> None:
    rgb = np.broadcast_to(np.array([0.4, 0.2, 0.1]), (20, 30, 3))
    luminance = 0.21263900587 * 0.4 + 0.71516867877 * 0.2 + 0.07219231536 * 0.1
    found = of(rgb)
    assert found.level == pytest.approx(math.log2(luminance), abs=5e-4)
    assert (found.u, found.v) == pytest.approx(chromaticity((0.4, 0.2, 0.1)), abs=5e-6)
    assert (found.spread, found.side, found.noise, found.pixels) == (0, 0, 0, 600)


def test_the_spread_leaves_a_twentieth_at_either_end() -> None:
    stops = np.arange(100.0).reshape(10, 10) / 10.0
    # 5 of 100 lie at or below the fifth, 95 at or below the ninety-fifth.
    assert of(grey(2.0**stops)).spread == pytest.approx(9.0)


def test_sides() -> None:
    rgb = grey(np.where(np.arange(40) < 25, 1.0, 4.0)[None].repeat(10, 0))
    assert of(rgb, middle=25).side == 2.0
    assert of(rgb[:, ::-1], middle=15).side == -2.0
    assert of(rgb, middle=40).side == 0.0  # nothing to the right of it


def test_what_is_outside_counts_nothing() -> None:
    rgb, inside = grey(np.full((9, 9), 0.5)), np.zeros((9, 9), dtype=np.bool_)
    inside[2:7, 2:7] = True
    rgb[~inside] = 7.0
    assert (of(rgb, inside).level, of(rgb, inside).pixels) == (-1.0, 25)


def test_pixels_that_are_no_numbers_or_black_are_told_and_left_out() -> None:
    rgb = grey(np.full((10, 10), 0.25))
    rgb[0, :3] = math.nan
    rgb[1, 0, 1] = math.inf
    rgb[2, :2] = 0.0
    rgb[3, 0] = -1.0
    found = of(rgb)
    assert (found.level, found.pixels, found.not_numbers, found.dark) == (-2.0, 93, 4, 3)
    for bad, says in ((math.nan, "most of it is no numbers"), (0.0, "most of it is black")):
        rgb[4:] = bad
        assert figures_of(rgb, np.ones((10, 10), dtype=np.bool_), 5.0) == says
    assert figures_of(rgb, np.zeros((10, 10), dtype=np.bool_), 5.0) == "nothing of it is in the picture"


def test_clipped() -> None:
    rgb = grey(np.full((10, 10), 0.5))
    rgb[0, :4] = 1.0
    assert of(rgb).clipped == 4
    rgb[1, 0] = 3.0  # what goes beyond 1 is not cut off there
    assert of(rgb).clipped == 0
    rgb[1, :2] = 65504.0
    assert of(rgb).clipped == 2


@pytest.mark.parametrize("sigma", [0.0, 0.05, 0.2, 0.5])
def test_the_noise_covers_what_noise_does_to_the_level(sigma: float) -> None:
    """Log-normal noise about one luminance, as a ramp so that its slope does not count."""
    chance = np.random.default_rng(5)
    clean = 2.0 ** (np.arange(64)[None].repeat(64, 0) / 32.0)
    nats = sigma * math.log(2.0)
    off = []
    for _ in range(8):
        # Of a mean of 1, as light has it that was sampled.
        noisy = clean * np.exp(chance.normal(-nats * nats / 2.0, nats, clean.shape)) if sigma else clean
        found = of(grey(noisy))
        off.append(abs(found.level - of(grey(clean)).level))
        expected = sigma / 64.0 + sigma * sigma * math.log(2.0) / 2.0
        assert found.noise == pytest.approx(expected, rel=0.15, abs=0.002)
        assert off[-1] <= 2.0 * found.noise + 0.001
