"""The node graph of a glTF scene: who stands below whom, what each is called, and local transforms.

Transforms are for row vectors, the translation in the last row: glTF's flat column-major list read row by row.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.sources.gltf.file import Asset, Json
from samelight.sources.numbers import as_typed
from samelight.sources.remarks import Remarks

Array = NDArray[np.float64]

MOST_NODES = 2_000_000

STILL: dict[str, tuple[float, ...]] = {
    "translation": (0.0, 0.0, 0.0),
    "rotation": (0.0, 0.0, 0.0, 1.0),
    "scale": (1.0, 1.0, 1.0),
}
"""The parts of a transform and what each is where nothing is said."""


@dataclass(frozen=True, slots=True)
class Nodes:
    """The nodes of one scene. `shown` are those that the scene holds, parents first; `paths` names them."""

    asset: Asset
    nodes: Sequence[Json]
    parents: Sequence[int | None]
    shown: Sequence[int]
    paths: dict[int, str]

    def chain(self, node: int) -> list[int]:
        """A node and those above it, top first."""
        chain = [node]
        while (parent := self.parents[chain[-1]]) is not None:
            chain.append(parent)
        return chain[::-1]

    def part(self, node: int, name: str) -> tuple[float, ...]:
        """A node's own translation, rotation or scale, without animation."""
        numbers = self.asset.numbers(self.nodes[node], name, f"nodes[{node}]", STILL[name])
        return numbers if name == "rotation" else tuple(as_typed(number) for number in numbers)

    def matrix(self, node: int) -> Array | None:
        """The transform of a node that is given as a matrix; None where it is given in parts."""
        if "matrix" not in self.nodes[node]:
            return None
        numbers = self.asset.numbers(self.nodes[node], "matrix", f"nodes[{node}]", (0.0,) * 16)
        return np.array(numbers).reshape(4, 4)


def read_nodes(asset: Asset, remarks: Remarks) -> Nodes:
    """The nodes of the scene that the file shows.

    Raises `CaptureError` for a node below two others or in a circle, and for a scene with roots that are none.
    """
    nodes = asset.objects(asset.data, "nodes")
    if len(nodes) > MOST_NODES:
        asset.fail("nodes", f"at most {MOST_NODES:,} nodes", f"{len(nodes):,}")
    parents: list[int | None] = [None] * len(nodes)
    below: list[list[int]] = []
    for number, node in enumerate(nodes):
        below.append(_indices(asset, node, "children", f"nodes[{number}]", len(nodes)))
        for child in below[-1]:
            if parents[child] is not None or child == number:
                other = "itself" if child == number else f"nodes[{parents[child]}] too"
                asset.fail(f"nodes[{number}].children", "each node below one other", f"{child} below {other}")
            parents[child] = number
    _refuse_circles(asset, parents)
    shown = _walk(_roots(asset, parents, remarks), below)
    return Nodes(asset, nodes, parents, shown, _paths(nodes, parents, shown))


def scene_of(asset: Asset) -> tuple[int, Json] | None:
    """The scene that the file shows, or its first."""
    scenes = asset.objects(asset.data, "scenes")
    number = asset.index(asset.data, "scene", "", len(scenes)) or 0
    return (number, scenes[number]) if scenes else None


def _roots(asset: Asset, parents: Sequence[int | None], remarks: Remarks) -> list[int]:
    found = scene_of(asset)
    if found is None:
        return [number for number, parent in enumerate(parents) if parent is None]
    number, scene = found
    if "scene" not in asset.data:
        remarks.note("The file does not say which of its scenes it shows; the first was taken.")
    roots = _indices(asset, scene, "nodes", f"scenes[{number}]", len(parents))
    for root in roots:
        if parents[root] is not None:
            asset.fail(
                f"scenes[{number}].nodes", "nodes at the top", f"{root}, which stands below {parents[root]}"
            )
    return roots


def _indices(asset: Asset, owner: Json, key: str, at: str, size: int) -> list[int]:
    listed = owner.get(key, [])
    sound = isinstance(listed, list) and all(
        isinstance(item, int) and not isinstance(item, bool) and 0 <= item < size for item in listed
    )
    if not sound or len(set(listed)) != len(listed):
        asset.fail(f"{at}.{key}", f"different indices below {size}", "something else")
    result: list[int] = listed
    return result


def _walk(roots: Sequence[int], below: Sequence[Sequence[int]]) -> list[int]:
    """Everything below the roots in the order of the file, parents first. No node has two parents here."""
    waiting, walked = list(roots[::-1]), []
    while waiting:
        node = waiting.pop()
        walked.append(node)
        waiting.extend(below[node][::-1])
    return walked


def _refuse_circles(asset: Asset, parents: Sequence[int | None]) -> None:
    """Where each node has one parent at most, whoever is never reached from a node without one is in a circle."""
    sound = [parent is None for parent in parents]
    for start in range(len(parents)):
        trail: list[int] = []
        seen: set[int] = set()
        node: int | None = start
        while node is not None and not sound[node]:
            if node in seen:
                asset.fail(f"nodes[{node}]", "nodes without a circle", "a node below itself")
            seen.add(node)
            trail.append(node)
            node = parents[node]
        for passed in trail:
            sound[passed] = True


def _paths(nodes: Sequence[Json], parents: Sequence[int | None], shown: Sequence[int]) -> dict[int, str]:
    """A path for each node, of names; one that would stand twice gets the node's number behind it.

    Paths of very deep nodes are cut to their last steps, so that a chain of thousands stays readable.
    """
    paths: dict[int, str] = {}
    taken: set[str] = set()
    for node in shown:
        parent = parents[node]
        above = paths[parent] if parent is not None else ""
        steps = above.split("/")[-_DEEPEST:]
        path = "/".join([*steps, _name(nodes[node], node)])
        if path in taken:
            path = f"{path}_{node}"
        taken.add(path)
        paths[node] = path
    return paths


_DEEPEST = 40


def _name(node: Json, number: int) -> str:
    name = node.get("name")
    if not isinstance(name, str) or not name.strip():
        return f"node_{number}"
    return "".join("_" if one in "/\\" or not one.isprintable() else one for one in name.strip())[:120]


def transform(translation: Sequence[float], rotation: Sequence[float], scale: Sequence[float]) -> Array:
    """The 4x4 matrix, for row vectors, of a scale, then a unit quaternion x, y, z, w, then a translation.

    >>> transform((1, 2, 3), (0, 0, 0, 2), (1, 1, 1))[3].tolist()  # a quaternion is normalised first
    [1.0, 2.0, 3.0, 1.0]
    """
    length = math.hypot(*rotation)
    x, y, z, w = (part / length for part in rotation) if length > 0 else (0.0, 0.0, 0.0, 1.0)
    turned = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y + z * w), 2 * (x * z - y * w)],
            [2 * (x * y - z * w), 1 - 2 * (x * x + z * z), 2 * (y * z + x * w)],
            [2 * (x * z + y * w), 2 * (y * z - x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    matrix = np.eye(4)
    matrix[:3, :3] = np.array(scale)[:, None] * turned
    matrix[3, :3] = translation
    return matrix
