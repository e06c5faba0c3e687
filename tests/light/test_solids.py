"""Rays and triangles: with embreex and without it the same hits."""

from __future__ import annotations

import importlib.util
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from samelight.light.solids import Solids, owners, sound

UP = np.array([0.0, 0.0, 1.0])
HAS_EMBREEX = importlib.util.find_spec("embreex") is not None


def quad(x: float, y: float, z: float, half: float = 1.0) -> tuple[NDArray[Any], NDArray[Any]]:
    corners = [
        (x - half, y - half, z),
        (x + half, y - half, z),
        (x + half, y + half, z),
        (x - half, y + half, z),
    ]
    return np.array(corners), np.array([[0, 1, 2], [0, 2, 3]], np.int32)


@pytest.mark.parametrize("fast", [True, False])
def test_the_nearest_object_in_between_is_met(fast: bool) -> None:
    solids = Solids.of([quad(0, 0, 3), quad(0, 0, 2), quad(9, 0, 1), quad(0, 0, 9)], fast)
    rays = np.array([(0, 0, 5.0), (0, 0, 2.5), (0, 0, 1.5), (13.5, 0.75, 1.5), (0, 0, -5), (0.3, 0, 1e30)])
    assert solids.first(np.zeros(3), rays).tolist() == [1, 1, -1, 2, -1, 1]


@pytest.mark.parametrize("fast", [True, False])
def test_what_casts_no_shadow_here_lets_the_ray_through(fast: bool) -> None:
    solids = Solids.of([quad(0, 0, 1), quad(0, 0, 2), quad(0, 0, 3)], fast)
    rays = np.array([(0.1, 0.2, 5.0)])
    assert solids.first(np.zeros(3), rays, np.array([False, True, True])).tolist() == [1]
    assert solids.first(np.zeros(3), rays, np.array([False, False, False])).tolist() == [-1]


def test_nothing_to_meet() -> None:
    assert Solids.of([]).first(np.zeros(3), np.array([(0, 0, 1.0)])).tolist() == [-1]
    flat = np.zeros((3, 3)), np.array([[0, 1, 2]], np.int32)
    lost = np.array([(0, 0, 1), (np.nan, 0, 1), (0, 1, 1.0)]), np.array([[0, 1, 2]], np.int32)
    assert not sound(*flat).any() and not sound(*lost).any()
    assert Solids.of([flat, lost]).first(np.zeros(3), np.array([(0, 0, 2.0)])).tolist() == [-1]


def test_the_weight_that_each_object_takes() -> None:
    assert owners(np.array([1, -1, 1, 0]), np.array([1.0, 2.0, 4.0, 8.0]), 2).tolist() == [8.0, 5.0]


@pytest.mark.skipif(not HAS_EMBREEX, reason="embreex is not installed")
@pytest.mark.parametrize("seed", range(4))
def test_both_ways_meet_the_same(seed: int) -> None:
    """Also rays that graze edges: every tenth leads to a corner."""
    rng = np.random.default_rng(seed)
    things = [
        quad(rng.uniform(-4, 4), rng.uniform(-4, 4), rng.uniform(1, 6), rng.uniform(0.1, 1))
        for _ in range(60)
    ]
    rays = rng.normal(size=(2000, 3)) * 4.0
    rays[::10] = np.concatenate([points for points, _ in things])[rng.integers(0, 240, 200)] * 1.7
    start = rng.uniform(-1, 1, 3)
    quick, slow = (Solids.of(things, fast).first(start, rays - start) for fast in (True, False))
    assert ((quick >= 0) == (slow >= 0)).all()
