import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.light import rays

kinds = st.sets(st.sampled_from(["camera", "indirect", "diffuse", "reflection", "volume"]))
count = st.integers(1, 10000)


@given(count, count)
def test_four_times_the_samples_halve_the_noise(samples: int, reference: int) -> None:
    assert rays.noise_ratio(4 * samples, reference) == pytest.approx(rays.noise_ratio(samples, reference) / 2)
    assert rays.noise_ratio(samples, reference) == pytest.approx(1 / rays.noise_ratio(reference, samples))
    assert rays.cost_ratio(samples, reference) == pytest.approx(rays.noise_ratio(samples, reference) ** -2)


def test_no_samples() -> None:
    assert rays.noise_ratio(0, 64) == math.inf
    assert rays.cost_ratio(0, 64) == 0
    for bad in ((-1, 64), (64, 0), (math.nan, 1), (1, math.inf)):
        with pytest.raises(ValueError, match="samples"):
            rays.noise_ratio(*bad)
        with pytest.raises(ValueError, match="samples"):
            rays.cost_ratio(*bad)


@given(kinds, kinds, st.sampled_from(["camera", "indirect", "volume", "shadow"]))
def test_of_two_half_visible_copies_one_is_seen_where_the_whole_is(
    one: set[str], other: set[str], kind: str
) -> None:
    seen = [rays.sees(one, kind), rays.sees(other - one, kind)]
    assert sum(seen) == rays.sees(one | other, kind)


def test_kinds_are_free_text() -> None:
    assert rays.sees(None, "volume") and rays.sees({"Volume"}, "volume")
    assert rays.sees({"indirect"}, "indirect") and not rays.sees({"diffuse"}, "indirect")
    assert rays.sees({"ALL"}, "caustics") and rays.sees({"*", "camera"}, "caustics")
    assert not rays.sees(set(), "camera")
    assert rays.named_kinds([{"b", "A"}, {"*"}, None, {"a"}]) == ["a", "b"]
