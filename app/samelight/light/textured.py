"""What a picture on a rect leaves of its light at a mark: the picture's cells, each by how much of it the mark sees.

Its columns go along the rect's own +X, and its top row lies at +Y, as tests/data/light_reference has it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from samelight.light.cells import Grid, rect_cells
from samelight.light.rows import Array
from samelight.light.sky_map import seen_in

_SIDE = 32
"""Cells each way; a picture is looked up at the middle of each."""
_TOGETHER = 64
"""Marks that are looked at together."""


class Rects(NamedTuple):
    """Rects over n marks: sizes in metres, shape (n,); where they shine to and their own +X, unit vectors (n, 3)."""

    width: Array
    height: Array
    direction: Array
    across: Array


def textured_share(
    pictures: npt.NDArray[np.object_], tint: Array, to_centre: Array, normal: Array, rects: Rects
) -> Array:
    """The share of even rects' light that pictures on them let through to marks, times the luminance of what they do to the
    lights' colour, shape (n,); 1 for a white picture.

    `pictures` are of `sky_map.Panorama`, `tint` (n, 3) linear Rec.709 of luminance 1, `to_centre` and `normal` (n, 3). The
    mean of the picture where the mark sees nothing of the rect.

    >>> from samelight.light.sky_map import Panorama
    >>> half = np.array([Panorama("", np.array([[[0.0] * 3, [1.0] * 3]]))], dtype=np.object_)
    >>> up, right, one = np.array([[0.0, 1.0, 0.0]]), np.array([[1.0, 0.0, 0.0]]), np.ones(1)
    >>> under = Rects(one, one, -up, right)
    >>> textured_share(half, np.ones((1, 3)), up, up, under).round(3), textured_share(half, np.ones((1, 3)), up, right, under).round(3)
    (array([0.5]), array([1.]))
    """
    share = np.empty(len(pictures))
    for picture in dict.fromkeys(pictures.tolist()):
        rows = np.flatnonzero([one == picture for one in pictures.tolist()])
        looked_up = _looked_up(picture.rgb)
        for start in range(0, rows.size, _TOGETHER):
            part = rows[start : start + _TOGETHER]
            width, height, direction, across = (one[part] for one in rects)
            cells = rect_cells(
                Grid.whole(part.size, _SIDE),
                to_centre[part],
                normal[part],
                width=width,
                height=height,
                direction=direction,
                across=across,
            )
            weight = np.where(cells.total[:, None] > 0.0, cells.adds, 1.0)
            passed = np.stack([(weight * channel).sum(axis=1) for channel in looked_up.T], axis=-1)
            share[part] = seen_in(tint[part], passed / weight.sum(axis=1)[:, None])
    return share


def _looked_up(rgb: Array) -> Array:
    """What a picture has at the middles of the cells, in the order of `Grid`: shape (cells, 3)."""
    height, width = rgb.shape[:2]
    middles = (np.arange(_SIDE) + 0.5) / _SIDE
    column = (middles * width).astype(np.intp)
    row = ((1.0 - middles) * height).astype(np.intp)
    return np.asarray(rgb[row[None, :], column[:, None]].reshape(-1, 3))
