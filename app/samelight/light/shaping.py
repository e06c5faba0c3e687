"""UsdLux's ShapingAPI: what the cone and the focus of a light leave of it at an angle off its axis."""

import numpy as np
import numpy.typing as npt

from samelight.light.elementary import arccos, power
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


def focus_share(cosine: Numbers, focus: Numbers, tint: Numbers = 0.0) -> Array:
    """UsdLux's focus at an angle off the axis: |cos|^focus, drawn towards the luminance of the focus tint.

    >>> float(focus_share(0.5, 2)), float(focus_share(0.5, 2, 1.0))
    (0.25, 1.0)
    """
    narrow = power(np.abs(numbers(cosine)), np.maximum(numbers(focus), 0.0))
    towards = np.nan_to_num(numbers(tint))
    share: Array = towards + (1.0 - towards) * narrow
    return share
