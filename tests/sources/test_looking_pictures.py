"""What is made of frames to look at them: the histogram of a part, and how different two look."""

from __future__ import annotations

import numpy as np
import pytest

from samelight.sources.pictures.histogram import FURTHEST, STEPS, histogram
from samelight.sources.pictures.perceived import LONGEST, flipped
from samelight.sources.pictures.pictures import Half
from samelight.sources.pictures.view_transform import Codes


def flat(level: float, size: tuple[int, int] = (20, 40)) -> Half:
    return np.full((*size, 3), level, np.float16)


def codes(colour: tuple[int, int, int], size: tuple[int, int] = (24, 32)) -> Codes:
    return np.full((*size, 3), colour, np.uint8)


def test_shares_add_up_and_the_ends_are_counted() -> None:
    picture = flat(0.18)
    picture[:5], picture[5:10], picture[10:15] = 0.0, 1000.0, 0.09
    found = histogram(picture)
    assert found is not None
    assert sum(found.shares) + found.below + found.above == pytest.approx(1.0)
    assert (found.below, found.above) == pytest.approx((0.25, 0.25)) and found.pixels == 800
    by_stops = {place / STEPS - FURTHEST: share for place, share in enumerate(found.shares) if share}
    assert by_stops == {-1.0: 0.25, 0.0: 0.25}
    assert found.median == -1.0
    assert (dark := histogram(flat(0.0))) is not None and (dark.below, dark.median) == (1.0, None)


def test_a_stop_more_moves_it_by_a_stop() -> None:
    slope: Half = np.linspace(0.05, 0.4, 800, dtype=np.float16).reshape(20, 40, 1).repeat(3, axis=2)
    before, after = histogram(slope), histogram(slope * np.float16(2.0))
    assert before is not None and after is not None
    assert after.shares[STEPS:] == pytest.approx(before.shares[:-STEPS])
    assert before.median is not None and after.median == pytest.approx(before.median + 1.0, abs=0.002)


def test_only_the_part_counts() -> None:
    picture = flat(0.18)
    picture[:, 20:] = 0.72
    right = histogram(picture, (0.5, 0.0, 1.0, 1.0))
    assert right is not None and (right.median, right.pixels) == (2.0, 400)
    disk = histogram(picture, (0.0, 0.0, 0.5, 1.0), is_round=True)
    assert disk is not None and disk.pixels == pytest.approx(400 * np.pi / 4, rel=0.03)
    assert histogram(picture, (0.5, 0.5, 0.501, 0.501)) is None
    assert histogram(picture, (1.2, 0.0, 1.4, 1.0)) is None


def test_two_that_are_the_same_look_the_same() -> None:
    noise: Codes = np.random.default_rng(4).integers(0, 256, (24, 32, 3)).astype(np.uint8)
    found = flipped(noise, noise)
    assert (found.mean, found.most) == (0.0, 0.0)
    assert found.codes.shape == (24, 32, 3)
    assert len(np.unique(found.codes.reshape(-1, 3), axis=0)) == 1


def test_the_further_apart_the_larger_it_is_and_it_is_the_same_both_ways() -> None:
    grey = codes((100, 100, 100))
    means = [flipped(grey, codes((100 + more,) * 3)).mean for more in (2, 10, 40, 155)]
    assert means == sorted(means) and means[0] > 0.0 and means[-1] <= 1.0
    one, two = codes((60, 90, 30)), codes((90, 40, 80))
    assert flipped(one, two).mean == pytest.approx(flipped(two, one).mean, abs=1e-6)


def test_what_differs_in_one_place_is_seen_there() -> None:
    grey, spot = codes((100, 100, 100), (60, 80)), codes((100, 100, 100), (60, 80))
    spot[10:20, 10:20] = 200
    found = flipped(grey, spot)
    light = found.codes.astype(int).sum(axis=2)
    assert light[15, 15] > 300 > light[50, 70]
    assert found.most > 10 * found.mean > 0.0


def test_large_ones_are_reduced_and_other_shapes_refused() -> None:
    found = flipped(codes((0, 0, 0), (4, 2 * LONGEST)), codes((255, 255, 255), (4, 2 * LONGEST)))
    assert found.codes.shape == (2, LONGEST, 3)
    assert found.mean > 0.9
    with pytest.raises(ValueError, match="other shapes"):
        flipped(codes((0, 0, 0)), codes((0, 0, 0), (8, 8)))
