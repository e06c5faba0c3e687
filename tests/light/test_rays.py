import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.light import rays

kinds = st.sets(st.sampled_from(["camera", "indirect", "diffuse", "reflection", "volume"]))
count = st.integers(1, 10000)


@given(count, count)
def test_four_times_the_samples_halve_the_noise(samples, reference):
    assert rays.noise_ratio(4 * samples, reference) == pytest.approx(rays.noise_ratio(samples, reference) / 2)
    assert rays.noise_ratio(samples, reference) == pytest.approx(1 / rays.noise_ratio(reference, samples))
    assert rays.cost_ratio(samples, reference) == pytest.approx(rays.noise_ratio(samples, reference) ** -2)


def test_no_samples():
    assert rays.noise_ratio(0, 64) == math.inf
    assert rays.cost_ratio(0, 64) == 0
    for bad in ((-1, 64), (64, 0), (math.nan, 1), (1, math.inf)):
        with pytest.raises(ValueError, match="samples"):
            rays.noise_ratio(*bad)
        with pytest.raises(ValueError, match="samples"):
            rays.cost_ratio(*bad)


@given(st.floats(0, 100), kinds, kinds, st.sampled_from(["camera", "indirect", "volume", "shadow"]))
def test_two_half_visible_copies_equal_the_one_they_replace(level, one, other, kind):
    whole = rays.seen_level([level], [one | other], kind)
    assert rays.seen_level([level, level], [one, other - one], kind) == whole


def test_kinds_are_free_text():
    assert rays.seen_level([2.0, 3.0], [None, {"Volume"}], "volume") == 5
    assert rays.seen_level([2.0, 3.0], [{"diffuse"}, {"indirect"}], "indirect") == 3
    assert rays.seen_level([2.0, 3.0], [{"ALL"}, {"*", "camera"}], "caustics") == 5
    assert rays.seen_level([2.0], [set()], "camera") == 0
    assert rays.seen_level([], [], "camera") == 0
    with pytest.raises(ValueError, match="2 levels for 1"):
        rays.seen_level([1, 2], [None], "camera")
    assert rays.named_kinds([{"b", "A"}, {"*"}, None, {"a"}]) == ["a", "b"]
