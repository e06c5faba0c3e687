"""Vectors of many shots at once: the small operations on rows of (n, 3) arrays that the light modules share.

Sums of products are written out, in one order: a linear-algebra library picks its own for the processor that it runs on.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def projection(a: Array, b: Array) -> Array:
    """The scalar products of the rows of two arrays, of two or three numbers each."""
    product: Array = a[..., 0] * b[..., 0]
    for axis in range(1, a.shape[-1]):
        product = product + a[..., axis] * b[..., axis]
    return product


def lengths(vectors: Array) -> Array:
    """The lengths of the rows of an array."""
    return np.sqrt(projection(vectors, vectors))


def cross(a: Array, b: Array) -> Array:
    """The cross products of the rows of two arrays (several times faster than `numpy.cross`)."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    return np.stack((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx), axis=-1)


def image(matrix: Array, vectors: Array) -> Array:
    """What a matrix makes of column vectors: (k, m) and (..., m) give (..., k)."""
    return np.stack([projection(row, vectors) for row in matrix], axis=-1)


def product(first: Array, *others: Array) -> Array:
    """The product of matrices, the last of which acts first on column vectors."""
    for other in others:
        first = (first[:, :, None] * other[None]).sum(axis=1)
    return first


def inverse(matrix: Array) -> Array:
    """The inverse of a matrix (3, 3); not finite where it has none."""
    x, y, z = matrix
    columns = np.stack((cross(y, z), cross(z, x), cross(x, y)), axis=1)
    with np.errstate(all="ignore"):
        found: Array = columns / projection(x, cross(y, z))
    return found


def unit(vectors: Array) -> Array:
    """The unit vectors of rows; NaN where a row has no length."""
    length = lengths(vectors)[..., None]
    with np.errstate(invalid="ignore", divide="ignore"):
        rows: Array = np.where(length > 0.0, vectors / length, np.nan)
    return rows


def level_across(direction: Array) -> Array:
    """The horizontal unit axis at right angles to `direction`, to its right; +X where it points straight up
    or down, within 1e-6 radians."""
    sideways = np.stack((-direction[..., 2], np.zeros_like(direction[..., 0]), direction[..., 0]), axis=-1)
    length = lengths(sideways)
    with np.errstate(invalid="ignore", divide="ignore"):
        level = sideways / length[..., None]
    return np.where((length < 1e-6)[..., None], np.array([1.0, 0.0, 0.0]), level)


def vectors(values: npt.ArrayLike) -> Array:
    """Any spelling of one vector or of n vectors as an array (n, 3). Raises ValueError for another shape."""
    rows = np.atleast_2d(np.asarray(values, dtype=np.float64))
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise ValueError(f"vectors have the shape (n, 3), found {rows.shape}")
    return rows


def numbers(values: npt.ArrayLike) -> Array:
    """Any spelling of one number or of n numbers as an array."""
    return np.asarray(values, dtype=np.float64)
