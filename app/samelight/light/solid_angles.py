"""The solid angles of lights as a mark sees them, in steradians; the conventions are those of `shapes`."""

import numpy as np

from samelight.light.elementary import arctan2, cos
from samelight.light.rows import Array, cross, lengths, projection

_CIRCLE = np.linspace(-np.pi, np.pi, 256, endpoint=False)


def sphere_solid_angle(distance: Array, radius: Array) -> Array:
    """The solid angle (sr) of a sphere; 4 pi inside it."""
    with np.errstate(invalid="ignore", divide="ignore"):
        sine = np.clip(radius / distance, 0.0, 1.0)
    # 1 - cos, written so that a small sphere keeps its digits.
    cap = 2.0 * np.pi * sine**2 / (1.0 + np.sqrt(1.0 - sine**2))
    return np.where(distance <= radius, 4.0 * np.pi, cap)


def disk_solid_angle(to_centre: Array, *, radius: Array, direction: Array) -> Array:
    """The solid angle (sr) of a disk; 0 from behind.

    A contour integral over 256 points of the rim; relative error under 1e-9 from a tenth of the radius off
    its plane outwards, under 1e-3 from a thirtieth.
    """
    height = -projection(to_centre, direction)
    flat = to_centre + height[..., None] * direction
    aside = lengths(flat)
    cosine = cos(_CIRCLE)
    squared = (
        height[..., None] ** 2
        + (aside - radius)[..., None] ** 2
        + 2.0 * (aside * radius)[..., None] * (1.0 + cosine)
    )
    distance = np.sqrt(squared)
    swept = radius[..., None] * (radius[..., None] + aside[..., None] * cosine)
    with np.errstate(invalid="ignore", divide="ignore"):
        total = (swept / (distance * (distance + height[..., None]))).sum(axis=-1) * (
            2.0 * np.pi / _CIRCLE.size
        )
    return np.where(height > 0.0, total, np.where(np.isnan(height), np.nan, 0.0))


def rect_solid_angle(
    to_centre: Array, *, width: Array, height: Array, direction: Array, across: Array
) -> Array:
    """The solid angle (sr) of a rectangle in closed form, corner by corner; 0 from behind."""
    away = -projection(to_centre, direction)
    right, up = projection(to_centre, across), projection(to_centre, cross(across, direction))
    total = np.zeros_like(away)
    for x, sign_x in ((right + width / 2.0, 1.0), (right - width / 2.0, -1.0)):
        for y, sign_y in ((up + height / 2.0, 1.0), (up - height / 2.0, -1.0)):
            corner = arctan2(x * y, away * np.sqrt(x**2 + y**2 + away**2))
            total = total + sign_x * sign_y * corner
    return np.where(away > 0.0, total, np.where(np.isnan(away), np.nan, 0.0))
