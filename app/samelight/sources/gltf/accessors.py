"""Accessors of a glTF file as arrays of numbers: bounds, strides, normalised integers, sparse values."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.sources.gltf.file import Asset, Json

Array = NDArray[np.float64]

MOST_ELEMENTS = 2_000_000
"""Elements of one accessor: keys of one animated value over days of film."""

_TYPES = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}
_COMPONENTS: dict[int, np.dtype[Any]] = {
    5120: np.dtype("<i1"),
    5121: np.dtype("<u1"),
    5122: np.dtype("<i2"),
    5123: np.dtype("<u2"),
    5125: np.dtype("<u4"),
    5126: np.dtype("<f4"),
}
_PACKED = ("EXT_meshopt_compression", "KHR_meshopt_compression")


class MissingDataError(Exception):
    """Numbers that are in a file that is not there, or packed in a way that is not read; the text says which."""


def read_accessor(asset: Asset, index: int, most: int = MOST_ELEMENTS) -> Array:
    """The numbers of an accessor of `most` elements at most, shape (count, components), finite.

    Raises `MissingDataError` where the buffer is not to be had and `CaptureError` where the file contradicts itself.
    """
    at = f"accessors[{index}]"
    stated = asset.objects(asset.data, "accessors")[index]
    count = asset.count(stated, "count", at)
    if count > most:
        asset.fail(f"{at}.count", f"at most {most:,} elements", f"{count:,}")
    width = _TYPES[asset.one_of(stated, "type", at, _TYPES)]
    component = _component(asset, stated, at)
    raw = _elements(asset, stated, at, count, width, component)
    sparse = stated.get("sparse")
    if sparse is not None:
        raw = _with_sparse(asset, asset.object(stated, "sparse", at), f"{at}.sparse", raw)
    values = raw.astype(np.float64)
    if stated.get("normalized") and component.kind in "iu":
        # glTF 2.0 specification, 3.11: c / 127, c / 255 and so on, signed ones at least -1.
        values = np.maximum(values / float(np.iinfo(component).max), -1.0)
    if not np.isfinite(values).all():
        asset.fail(at, "finite numbers", "some that are not")
    return values


def _component(asset: Asset, owner: Json, at: str) -> np.dtype[Any]:
    return _COMPONENTS[asset.one_of(owner, "componentType", at, _COMPONENTS)]


def _elements(
    asset: Asset, owner: Json, at: str, count: int, width: int, component: np.dtype[Any]
) -> NDArray[Any]:
    """`count` elements of `width` components; zeros where there is no buffer view, as glTF says."""
    views = asset.objects(asset.data, "bufferViews")
    number = asset.index(owner, "bufferView", at, len(views))
    if number is None:
        return np.zeros((count, width), component)
    view, where = views[number], f"bufferViews[{number}]"
    packed = next((name for name in _PACKED if asset.extension(view, name, where) is not None), None)
    if packed:
        raise MissingDataError(f"its data is packed by {packed}")
    size = width * component.itemsize
    stride = asset.count(view, "byteStride", where, size)
    offset = asset.count(owner, "byteOffset", at, 0)
    length = asset.count(view, "byteLength", where)
    if stride < size:
        asset.fail(f"{where}.byteStride", f"at least {size}", f"{stride}")
    needed = offset + (stride * (count - 1) + size if count else 0)
    if needed > length:
        asset.fail(at, f"{needed:,} bytes in its buffer view", f"{length:,}")
    buffers = asset.objects(asset.data, "buffers")
    buffer = asset.index(view, "buffer", where, len(buffers))
    if buffer is None:
        asset.fail(f"{where}.buffer", f"an index below {len(buffers)}", "none")
    start = asset.count(view, "byteOffset", where, 0) + offset
    raw = asset.bytes_of(buffer, start, needed - offset)
    if isinstance(raw, str):
        raise MissingDataError(raw)
    strides = (stride, component.itemsize)
    return np.ndarray((count, width), component, raw, 0, strides).copy()


def _with_sparse(asset: Asset, sparse: Json, at: str, values: NDArray[Any]) -> NDArray[Any]:
    count = asset.count(sparse, "count", at)
    if count > len(values):
        asset.fail(f"{at}.count", f"at most {len(values)}", f"{count}")
    indices, replaced = (asset.object(sparse, key, at) for key in ("indices", "values"))
    places = _elements(
        asset, indices, f"{at}.indices", count, 1, _component(asset, indices, f"{at}.indices")
    )[:, 0].astype(np.int64)
    if count and (places.min() < 0 or places.max() >= len(values)):
        asset.fail(f"{at}.indices", f"indices below {len(values)}", f"{places.max()}")
    values[places] = _elements(asset, replaced, f"{at}.values", count, values.shape[1], values.dtype)
    return values
