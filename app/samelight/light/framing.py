"""Where a place stands in the picture that a camera takes: its share of the width from the left and of the height from the top.

A *lens* here is what a camera takes in at a distance of 1: focal length and aperture in one ratio. A picture of another shape
than the aperture takes in more or less of it, by the policies of UsdRenderSettings (`aspectRatioConformPolicy`). Only sums,
products and quotients: the same to the last bit on every processor.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from samelight.light.directions import Vector

EXPAND, CROP = "expandAperture", "cropAperture"
HEAD = 0.08
"""Metres. The radius of a mark's disk where its sheet states none: half the breadth of a head, so that the disk holds a face and
nothing beside it. Common practice, no source."""
WIDTH, HEIGHT, PIXELS = "adjustApertureWidth", "adjustApertureHeight", "adjustPixelAspectRatio"


class Lens(NamedTuple):
    """Width and height of what a camera takes in at a distance of 1, None where it is not stated, and where the middle of it
    lies to the right of the axis and above it (lens shift)."""

    width: float | None
    height: float | None
    right: float = 0.0
    up: float = 0.0


class Gate(NamedTuple):
    """A lens as a picture of one shape has it: both sides are known."""

    width: float
    height: float
    right: float = 0.0
    up: float = 0.0


class Shape(NamedTuple):
    """A picture's display window: pixels across and down, and how wide a pixel is against its height."""

    width: int
    height: int
    pixel_aspect: float = 1.0


class Region(NamedTuple):
    """What is looked at in a picture, in pixels from the left and upper edges of its display window; `is_round` where it is the
    ellipse that touches these edges."""

    left: float
    top: float
    right: float
    bottom: float
    is_round: bool


class CameraView(NamedTuple):
    """A camera: where it stands (metres), the unit vectors of where it looks and of its own +X, and what it takes in."""

    position: Vector
    direction: Vector
    across: Vector
    gate: Gate


class Spot(NamedTuple):
    """A place in a picture, and a disk about it that faces the camera: shares of the width from the left and of the height from
    the top, and the disk's half axes in the same shares. `depth` is in metres along the camera's axis."""

    x: float
    y: float
    wide: float
    high: float
    depth: float


def lens_of_focal(
    focal: float, width: float, height: float | None, right: float = 0.0, up: float = 0.0
) -> Lens:
    """A lens of a focal length, an aperture and its offsets, all in one unit. A positive offset moves the aperture to the right
    and up, as in UsdGeomCamera. Raises ValueError unless focal length and aperture are above 0.

    >>> lens_of_focal(50.0, 25.0, 12.5)
    Lens(width=0.5, height=0.25, right=0.0, up=0.0)
    """
    if not (focal > 0.0 and width > 0.0 and (height is None or height > 0.0)):
        raise ValueError("a lens has a focal length and an aperture above 0")
    return Lens(width / focal, None if height is None else height / focal, right / focal, up / focal)


def lens_of_angles(across: float | None, upright: float | None) -> Lens:
    """A lens of full angles of view in degrees, within 0 and 180; None for one that is not stated. Raises ValueError.

    >>> lens_of_angles(90.0, None).width
    2.0
    """
    if across is None and upright is None:
        raise ValueError("an angle of view is wanted")
    return Lens(
        None if across is None else _side(across),
        None if upright is None else _side(upright),
    )


def _side(angle: float) -> float:
    if not 0.0 < angle < 180.0:
        raise ValueError(f"an angle of view lies between 0 and 180 degrees, found {angle:g}")
    # Half of a right angle has a tangent of 1, whatever a library makes of it.
    return 2.0 if angle == 90.0 else 2.0 * math.tan(math.radians(angle) / 2.0)


def gate_of(lens: Lens, aspect: float, policy: str = EXPAND) -> Gate:
    """What a picture of an aspect ratio (width over height of what it shows, above 0) takes in of a lens.

    A side that the lens does not state follows from the other. Otherwise the policy says which side gives way, about the middle
    of the aperture; a policy of another name counts as the default, which shows all of the aperture and more at two sides.
    Source: UsdRenderSettingsBase, aspectRatioConformPolicy.

    >>> gate_of(Lens(0.5, 0.25), 1.0)[:2], gate_of(Lens(0.5, 0.25), 1.0, CROP)[:2], gate_of(Lens(0.5, None), 2.0)[:2]
    ((0.5, 0.5), (0.25, 0.25), (0.5, 0.25))
    """
    width, height = lens.width, lens.height
    if width is None:
        assert height is not None
        width, policy = height * aspect, WIDTH
    if height is None:
        height, policy = width / aspect, HEIGHT
    keeps_height = width < height * aspect
    if policy == PIXELS:
        return Gate(width, height, lens.right, lens.up)
    if policy in (WIDTH, HEIGHT):
        keeps_height = policy == WIDTH
    elif policy == CROP:
        keeps_height = not keeps_height
    if keeps_height:
        return Gate(height * aspect, height, lens.right, lens.up)
    return Gate(width, width / aspect, lens.right, lens.up)


def with_overscan(gate: Gate, overscan: float) -> Gate:
    """What a picture shows that is so much wider and higher than the camera's own: 0.1 for a tenth in all."""
    return gate._replace(width=gate.width * (1.0 + overscan), height=gate.height * (1.0 + overscan))


def spot_of(place: Vector, radius: float, view: CameraView) -> Spot | None:
    """Where a place (metres) stands in the picture, with a disk of a radius (metres) about it; None behind the camera.

    >>> spot_of((0.5, 0.0, -2.0), 0.1, CameraView((0, 0, 0), (0, 0, -1), (1, 0, 0), Gate(1.0, 0.5)))
    Spot(x=0.75, y=0.5, wide=0.05, high=0.1, depth=2.0)
    """
    way = tuple(to - at for to, at in zip(place, view.position, strict=True))
    (dx, dy, dz), (ax, ay, az) = view.direction, view.across
    up = (ay * dz - az * dy, az * dx - ax * dz, ax * dy - ay * dx)
    depth = _along(way, view.direction)
    if not depth > 0.0:
        return None
    gate = view.gate
    x = (_along(way, view.across) / depth - gate.right) / gate.width
    y = (_along(way, up) / depth - gate.up) / gate.height
    size = radius / depth
    return Spot(0.5 + x, 0.5 - y, size / gate.width, size / gate.height, depth)


def _along(way: tuple[float, ...], axis: tuple[float, ...]) -> float:
    return way[0] * axis[0] + way[1] * axis[1] + way[2] * axis[2]
