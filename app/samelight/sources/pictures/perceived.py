"""How different two pictures look, flipped from one to the other: the published difference FLIP, of what stands on the screen.

Source: Andersson, Nilsson, Akenine-Möller, Oskarsson, Åström, Fairchild, "FLIP: A Difference Evaluator for Alternating Images",
Proceedings of the ACM on Computer Graphics and Interactive Techniques 3(2), 2020; as OpenImageIO has it, for a screen 0.7 m wide of
3,840 pixels that is looked at from 0.7 m (67 pixels a degree).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from samelight.sources.pictures.pictures import Numbers, reduced, reduction
from samelight.sources.pictures.view_transform import Codes, linear_of

LONGEST = 1024
"""The longest side of pictures that are told apart; larger ones are reduced first, since it takes seconds otherwise."""


@dataclass(frozen=True, slots=True, eq=False)
class Flipped:
    """The difference of two pictures as a picture, dark where they look the same, with its mean and its largest: 0 where nothing is
    seen, 1 for the most that two colours can differ."""

    codes: Codes
    mean: float
    most: float


def flipped(codes: Codes, other: Codes) -> Flipped:
    """FLIP of two pictures of 8-bit sRGB codes, shape (height, width, 3). Raises ValueError where they have other shapes, once they are
    reduced."""
    one, two = _light(codes), _light(other)
    if one.shape != two.shape:
        raise ValueError("the two pictures have other shapes")
    import OpenImageIO  # only where two pictures are told apart

    found = OpenImageIO.ImageBufAlgo.FLIP_diff(OpenImageIO.ImageBuf(one), OpenImageIO.ImageBuf(two), hdr=0)
    values = np.asarray(found.get_pixels("float"))
    coloured = OpenImageIO.ImageBufAlgo.color_map(found, 0, "magma")  # the colours of the paper
    shades = np.asarray(coloured.get_pixels("float"))[..., :3]
    shown: Codes = (255.0 * np.clip(shades, 0.0, 1.0) + 0.5).astype(np.uint8)
    return Flipped(shown, float(values.mean(dtype=np.float64)), float(values.max()))


def _light(codes: Codes) -> Numbers:
    height, width = codes.shape[:2]
    return np.ascontiguousarray(reduced(linear_of(codes), reduction(width, height, LONGEST)))
