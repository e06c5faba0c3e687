"""The surfaces of a glTF mesh as triangles in its own space, as they rest, with the joints that pose them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from samelight.light.rows import Array
from samelight.sources.gltf.accessors import MissingDataError, read_accessor
from samelight.sources.gltf.file import Asset, Json
from samelight.sources.in_the_way import MOST_TRIANGLES
from samelight.sources.remarks import Remarks

Faces = NDArray[np.int32]

TRIANGLES, STRIP, FAN = 4, 5, 6
_MODES = tuple(range(7))
_DRACO = "KHR_draco_mesh_compression"
_MOST = 3 * MOST_TRIANGLES
"""Corners of one surface."""
_HALF = 0.5
SEE_THROUGH = (
    "its material lets light through in places (alphaMode MASK or BLEND); it counts as opaque throughout."
)


class Surface(NamedTuple):
    """Points (n, 3) and triangles (m, 3); of a skinned one the joints (n, k) that move each point, as places in its skin's list,
    and by how much (n, k)."""

    points: Array
    triangles: Faces
    joints: NDArray[np.int64] | None = None
    weights: Array | None = None


def read_mesh(asset: Asset, number: int, path: str, remarks: Remarks) -> list[Surface]:
    """The surfaces of a mesh that cast shadows; lines, points and what is mostly transparent cast none.

    `path` is the node that shows it first. Raises `MissingDataError` where its data is not to be had and `CaptureError` where
    the file contradicts itself.
    """
    at = f"meshes[{number}]"
    found = []
    for index, stated in enumerate(
        asset.objects(asset.objects(asset.data, "meshes")[number], "primitives", f"{at}.")
    ):
        where = f"{at}.primitives[{index}]"
        mode = asset.one_of(stated, "mode", where, _MODES, TRIANGLES)
        if mode < TRIANGLES or _is_clear(asset, stated, where, path, remarks):
            continue
        if asset.extension(stated, _DRACO, where) is not None:
            raise MissingDataError(f"its data is packed by {_DRACO}")
        surface = _surface(asset, stated, where, mode)
        if surface is not None:
            found.append(surface)
    return found


def _surface(asset: Asset, stated: Json, at: str, mode: int) -> Surface | None:
    attributes = asset.object(stated, "attributes", at)
    points = numbers_of(asset, attributes, "POSITION", f"{at}.attributes", 3)
    if points is None:
        return None
    corners = numbers_of(asset, stated, "indices", at, 1)
    order = np.arange(len(points)) if corners is None else corners[:, 0].astype(np.int64)
    if order.size and not 0 <= order.min() <= order.max() < len(points):
        asset.fail(f"{at}.indices", f"corners below {len(points)}", f"{order.max()}")
    joints, weights = (_of_sets(asset, attributes, name, at) for name in ("JOINTS", "WEIGHTS"))
    triangles = _triangles(order, mode).astype(np.int32)
    if joints is None or weights is None:
        return Surface(points, triangles)
    if not joints.shape == weights.shape == (len(points), weights.shape[1]):
        asset.fail(
            f"{at}.attributes", "as many joints and weights as points", f"{joints.shape} and {weights.shape}"
        )
    return Surface(points, triangles, joints.astype(np.int64), weights)


def _triangles(order: NDArray[np.int64], mode: int) -> NDArray[np.int64]:
    """Three corners each; which way round they go is nothing to a shadow.

    >>> _triangles(np.arange(4), STRIP).tolist(), _triangles(np.arange(4), FAN).tolist()
    ([[0, 1, 2], [1, 2, 3]], [[0, 1, 2], [0, 2, 3]])
    """
    if mode == TRIANGLES:
        return order[: len(order) // 3 * 3].reshape(-1, 3)
    first = order[:-2] if mode == STRIP else np.repeat(order[:1], max(len(order) - 2, 0))
    return np.stack([first, order[1:-1], order[2:]], axis=1)


def _of_sets(asset: Asset, attributes: Json, name: str, at: str) -> Array | None:
    """All sets of an attribute side by side: JOINTS_0, JOINTS_1 and so on."""
    sets: list[Array] = []
    while (found := numbers_of(asset, attributes, f"{name}_{len(sets)}", f"{at}.attributes", 4)) is not None:
        sets.append(found)
    return np.concatenate(sets, axis=1) if sets else None


def numbers_of(asset: Asset, owner: Json, key: str, at: str, width: int) -> Array | None:
    """The numbers of an accessor that something names, shape (count, width); None where it names none."""
    number = asset.index(owner, key, at, len(asset.objects(asset.data, "accessors")))
    if number is None:
        return None
    found = read_accessor(asset, number, _MOST)
    if found.shape[1] != width:
        asset.fail(f"{at}.{key}", f"{width} numbers each", f"{found.shape[1]}")
    return found


def _is_clear(asset: Asset, stated: Json, at: str, path: str, remarks: Remarks) -> bool:
    """Whether a surface is more transparent than not all over; one that may be so in places is told."""
    materials = asset.objects(asset.data, "materials")
    number = asset.index(stated, "material", at, len(materials))
    material: Mapping[str, object] = {} if number is None else materials[number]
    if material.get("alphaMode", "OPAQUE") not in ("MASK", "BLEND"):
        return False
    where = f"materials[{number}]"
    rough = asset.object(material, "pbrMetallicRoughness", where)
    alpha = asset.numbers(rough, "baseColorFactor", f"{where}.pbrMetallicRoughness", (1.0,) * 4)[3]
    cut = asset.number(material, "alphaCutoff", where, _HALF) if material["alphaMode"] == "MASK" else _HALF
    if alpha < cut:
        return True
    remarks.about(path, SEE_THROUGH)
    return False
