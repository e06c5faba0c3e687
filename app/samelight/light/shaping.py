"""UsdLux's ShapingAPI: what the cone and the focus of a light leave of it at an angle off its axis."""

import numpy as np
import numpy.typing as npt

from samelight.light.elementary import arccos, cos, power
from samelight.light.rows import Array, numbers

Numbers = npt.ArrayLike


def cone_share(cosine: Numbers, cone: Numbers, softness: Numbers = 0.0) -> Array:
    """The share of light a cone lets through at an angle off its axis whose cosine is `cosine`; NaN cone:
    all.

    1 up to cone x (1 - softness), smoothstep to 0 at the cone (a half angle in degrees, over which nothing
    passes); softness is clamped to 0..1, NaN counting as 0. UsdLux ShapingAPI.

    >>> cone_share(np.cos(np.radians([20, 25, 30, 31])), 30, 1 / 3).round(6)
    array([1. , 0.5, 0. , 0. ])
    """
    off_axis = np.degrees(arccos(np.clip(numbers(cosine), -1.0, 1.0)))
    edge, soft = numbers(cone), np.clip(np.nan_to_num(numbers(softness)), 0.0, 1.0)
    fade = edge * soft
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        share = np.clip((edge - off_axis) / fade, 0.0, 1.0)
    hard = np.where(off_axis <= edge, 1.0, 0.0)
    shaped = np.where(fade > 0.0, share * share * (3.0 - 2.0 * share), hard)
    return np.where(np.isnan(edge) | (edge >= 180.0), 1.0, np.where(np.isnan(off_axis), np.nan, shaped))


def gltf_cone_share(cosine: Numbers, cone: Numbers, inner: Numbers) -> Array:
    """The share of light that a spot of glTF lets through at an angle off its axis; `cone` and `inner` in degrees.

    The square of a ramp in the cosine, from 1 at the inner cone to 0 at the cone, as KHR_lights_punctual recommends it
    (Angular attenuation).

    >>> gltf_cone_share(np.cos(np.radians([10, 40, 46])), 45, 20).round(4)
    array([1.    , 0.0642, 0.    ])
    """
    low, high = cos(np.radians(numbers(cone))), cos(np.radians(numbers(inner)))
    # The recommendation keeps a thousandth between the two, so that a hard edge does not divide by nothing.
    ramp = np.clip((numbers(cosine) - low) / np.maximum(high - low, 0.001), 0.0, 1.0)
    share: Array = ramp * ramp
    return share


def focus_share(cosine: Numbers, focus: Numbers, tint: Numbers = 0.0) -> Array:
    """UsdLux's focus at an angle off the axis: |cos|^focus, drawn towards the luminance of the focus tint.

    >>> float(focus_share(0.5, 2)), float(focus_share(0.5, 2, 1.0))
    (0.25, 1.0)
    """
    narrow = power(np.abs(numbers(cosine)), np.maximum(numbers(focus), 0.0))
    towards = np.nan_to_num(numbers(tint))
    share: Array = towards + (1.0 - towards) * narrow
    return share


_ARC = (
    *(1.5707963050, -0.2145988016, 0.0889789874, -0.0501743046),
    *(0.0308918810, -0.0170881256, 0.0066700901, -0.0012624911),
)


def angle_of(cosine: Array) -> Array:
    """arccos in degrees of very many numbers at once, by products alone: within 2e-8 radians (Abramowitz and Stegun, Handbook of
    Mathematical Functions, 4.4.46; from memory, compared with the C library in the tests).

    >>> angle_of(np.array([1.0, 0.5, -1.0])).round(5)
    array([  0.,  60., 180.])
    """
    size = np.minimum(np.abs(cosine), 1.0)
    series = np.full(size.shape, _ARC[-1])
    for factor in _ARC[-2::-1]:
        series = series * size + factor
    angle = np.sqrt(1.0 - size) * series
    degrees: Array = np.degrees(np.where(cosine < 0.0, np.pi - angle, angle))
    return degrees


def cone_share_of_cells(cosine: Array, width: Array, cone: Array, softness: Array) -> Array:
    """`cone_share` of cells (n, k) that are `width` wide in the cosine, of cones and softnesses of shape (n,).

    Where the cone has a hard edge, a cell on it passes the part that lies inside.
    """
    edge, soft = cone[:, None], np.clip(np.nan_to_num(softness), 0.0, 1.0)[:, None]
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        inside = (cosine - cos(np.radians(cone))[:, None]) / width
        hard = np.clip(np.where(np.isnan(inside), 0.0, inside) + 0.5, 0.0, 1.0)
        share = np.clip((edge - angle_of(cosine)) / (edge * soft), 0.0, 1.0)
    shaped = np.where(edge * soft > 0.0, share * share * (3.0 - 2.0 * share), hard)
    return np.where(np.isnan(edge) | (edge >= 180.0), 1.0, shaped)
