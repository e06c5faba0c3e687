"""Vectors of many shots at once: the small operations on rows of (n, 3) arrays that the light modules
share."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def dot(a: Array, b: Array) -> Array:
    """The dot products of the rows of two arrays."""
    product: Array = np.einsum("...i,...i->...", a, b)
    return product


def cross(a: Array, b: Array) -> Array:
    """The cross products of the rows of two arrays (several times faster than `numpy.cross`)."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    return np.stack((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx), axis=-1)


def unit(vectors: Array) -> Array:
    """The unit vectors of rows; NaN where a row has no length."""
    length = np.sqrt(dot(vectors, vectors))[..., None]
    with np.errstate(invalid="ignore", divide="ignore"):
        rows: Array = np.where(length > 0.0, vectors / length, np.nan)
    return rows


def level_across(direction: Array) -> Array:
    """The horizontal unit axis at right angles to `direction`, to its right; +X where it points straight up
    or down."""
    sideways = np.stack((-direction[..., 2], np.zeros_like(direction[..., 0]), direction[..., 0]), axis=-1)
    length = np.sqrt(dot(sideways, sideways))
    with np.errstate(invalid="ignore", divide="ignore"):
        level = sideways / length[..., None]
    return np.where((length < 1e-9)[..., None], np.array([1.0, 0.0, 0.0]), level)


def vectors(values: npt.ArrayLike) -> Array:
    """Any spelling of one vector or of n vectors as an array (n, 3). Raises ValueError for another shape."""
    rows = np.atleast_2d(np.asarray(values, dtype=np.float64))
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise ValueError(f"vectors have the shape (n, 3), found {rows.shape}")
    return rows


def numbers(values: npt.ArrayLike) -> Array:
    """Any spelling of one number or of n numbers as an array."""
    return np.asarray(values, dtype=np.float64)
