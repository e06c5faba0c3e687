"""Rays from a camera to a mark: the share of its disk that an edge leaves, against the area of a circle's segment."""

from __future__ import annotations

import math

import numpy as np
import pytest

from samelight.light.from_camera import rays_from_camera
from samelight.light.solids import Solids

CAMERA, AHEAD, MARK = (0.0, 0.0, 5.0), (0.0, 0.0, -1.0), (0.0, 0.0, 0.0)


@pytest.mark.parametrize("edge", [-0.9, -0.5, -0.2, 0.0, 0.3, 0.7, 0.95])
@pytest.mark.parametrize("angle", [0.0, 0.7, 2.0])
def test_the_share_that_an_edge_leaves(edge: float, angle: float) -> None:
    """An edge at any angle, so many radii off the middle as the camera sees it, a metre before the mark."""
    radius, before = 0.5, 0.8
    along, over = (
        np.array([math.cos(angle), math.sin(angle), 0.0]),
        np.array([-math.sin(angle), math.cos(angle), 0.0]),
    )
    corners = [along * edge * radius * before + way for way in (over * 9.0, -over * 9.0, -over * 9.0 - along * 9.0, over * 9.0 - along * 9.0)]  # fmt: skip
    points = np.array(corners) + np.array([0.0, 0.0, 1.0])
    ways = rays_from_camera(CAMERA, AHEAD, MARK, radius, None)
    assert ways is not None
    met = Solids.of([(points, np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32))]).first(
        np.array(CAMERA), ways
    )
    share = float((met < 0).mean())
    assert share == pytest.approx((math.acos(edge) - edge * math.sqrt(1.0 - edge * edge)) / math.pi, abs=0.03)


@pytest.mark.parametrize(
    ("camera", "ahead", "radius"),
    [
        (CAMERA, (0.0, 0.0, 1.0), 0.1),
        (CAMERA, AHEAD, 6.0),
        ((0.0, 0.0, 0.0), AHEAD, 0.1),
        ((1e200, 0.0, 0.0), (-1.0, 0.0, 0.0), 0.1),
        ((math.nan, 0.0, 0.0), AHEAD, 0.1),
    ],
)
def test_nothing_where_the_mark_is_behind_or_about_the_camera(
    camera: tuple[float, float, float], ahead: tuple[float, float, float], radius: float
) -> None:
    assert rays_from_camera(camera, ahead, MARK, radius, None) is None


def test_a_floor_is_met_a_millimetre_above_it() -> None:
    ways = rays_from_camera((0.0, 0.4, 5.0), AHEAD, MARK, 0.5, (0.0, 1.0, 0.0))
    assert ways is not None
    ends = ways + np.array([0.0, 0.4, 5.0])
    assert float(ends[:, 1].min()) == pytest.approx(1e-3)
    assert rays_from_camera((0.0, 0.0005, 5.0), AHEAD, MARK, 0.5, (0.0, 1.0, 0.0)) is None
