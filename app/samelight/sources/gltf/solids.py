"""The surfaces of a glTF scene as triangles in the world: meshes at their nodes, instanced and skinned ones too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from samelight.light.rows import Array, product
from samelight.sources.errors import CaptureError
from samelight.sources.gltf.accessors import MissingDataError
from samelight.sources.gltf.meshes import Faces, Surface, numbers_of, read_mesh
from samelight.sources.gltf.nodes import STILL, Nodes, transform
from samelight.sources.gltf.space import NodeSpace, NodeTrack
from samelight.sources.in_the_way import MOST_TRIANGLES, Geometry, Thing, TooMuchError
from samelight.sources.remarks import Remarks

INSTANCING = "EXT_mesh_gpu_instancing"


class AssetSolids:
    """The objects of a scene, of which those that stand still are read once. `missing` is whether data of one was not to be had."""

    def __init__(self, space: NodeSpace, remarks: Remarks) -> None:
        self._space, self._nodes, self._asset = space, space.nodes, space.nodes.asset
        self._remarks = remarks
        self.missing = False
        self._surfaces: dict[int, list[Surface]] = {}
        self._still: dict[int, Thing | None] = {}
        meshes = [node for node in self._nodes.shown if "mesh" in self._nodes.nodes[node]]
        self._switched = {node for node in meshes if space.switches(node)}
        self._shown = [
            node for node in meshes if node in self._switched or space.is_visible(node, space.clock.rest)
        ]
        self._tracks = {node: space.track(node) for node in self._shown}
        self._bones = {node: self._bones_of(node) for node in self._shown}
        self._moves = {node: self._samples(node) for node in self._shown}
        samples = {frame for frames in self._moves.values() for frame in frames}
        self.geometry = Geometry(self.at, frozenset(space.clock.within(samples)), not meshes)

    def at(self, frame: float | None) -> list[Thing]:
        """The objects at a frame; None: as they rest. Raises `TooMuchError` for more than are looked at."""
        time = self._space.clock.rest if frame is None else frame
        found: list[Thing] = []
        triangles = points = 0
        for node in self._shown:
            if node in self._switched and not self._space.is_visible(node, time):
                continue
            thing = self._thing(node, time)
            if thing is not None and len(thing.triangles):
                found.append(thing)
                triangles, points = triangles + len(thing.triangles), points + len(thing.points)
                if triangles > MOST_TRIANGLES or points > 3 * MOST_TRIANGLES:
                    raise TooMuchError
        return found

    def _samples(self, node: int) -> set[float]:
        """When a node, or what poses it, states something."""
        tracks = [self._tracks[node], *(track for track, _ in self._bones[node])]
        moving = [sampler for track in tracks for sampler in track.samplers]
        moving += self._space.switches(node)
        return {frame for sampler in moving for frame in sampler.frames}

    def _thing(self, node: int, time: float) -> Thing | None:
        if node in self._still:
            return self._still[node]
        path = self._nodes.paths[node]
        try:
            thing = self._read(node, path, time)
        except (MissingDataError, CaptureError) as error:
            why = self._why(error)
            self._remarks.about(path, f"its surface cannot be read ({why}); it casts no shadow here.")
            thing = None
        if thing is None or not self._moves[node]:
            self._still[node] = thing
        return thing

    def _read(self, node: int, path: str, time: float) -> Thing | None:
        asset, stated = self._asset, self._nodes.nodes[node]
        number = asset.index(stated, "mesh", f"nodes[{node}]", len(asset.objects(asset.data, "meshes")))
        if number is None:
            return None
        if number not in self._surfaces:
            self._surfaces[number] = read_mesh(asset, number, path, self._remarks)
        surfaces = self._surfaces[number]
        bones = [product(inverse, track.at(time)) for track, inverse in self._bones[node]]
        if bones:
            return _joined(path, [(_posed(one, bones), one.triangles) for one in surfaces])
        if not surfaces:
            return None
        most = MOST_TRIANGLES // max(1, sum(len(one.triangles) for one in surfaces))
        world = self._tracks[node].at(time)
        placements = [product(local, world) for local in self._instances(node, most)]
        return _joined(
            path, [(_moved(one.points, world), one.triangles) for world in placements for one in surfaces]
        )

    def _instances(self, node: int, most: int) -> Sequence[Array]:
        """Where a node shows its mesh, below itself: once, or at each of its instances. Raises `TooMuchError` for more than `most`."""
        at = f"nodes[{node}]"
        extension = self._asset.extension(self._nodes.nodes[node], INSTANCING, at)
        if extension is None:
            return [np.eye(4)]
        where = f"{at}.extensions.{INSTANCING}"
        attributes = self._asset.object(extension, "attributes", where)
        parts = {
            name: numbers_of(self._asset, attributes, name.upper(), f"{where}.attributes", len(still))
            for name, still in STILL.items()
        }
        counts = {len(part) for part in parts.values() if part is not None}
        if len(counts) != 1:
            self._asset.fail(where, "attributes of one number of instances", f"{sorted(counts)}")
        count = counts.pop()
        if count > most:
            raise TooMuchError
        whole = [
            np.tile(STILL[name], (count, 1)).tolist() if part is None else part.tolist()
            for name, part in parts.items()
        ]
        return [transform(*one) for one in zip(*whole, strict=True)]

    def _bones_of(self, node: int) -> list[tuple[NodeTrack, Array]]:
        """The joints of a node's skin, each with what takes a point of the mesh to it; none where it has no sound skin."""
        try:
            return self._read_bones(node)
        except (MissingDataError, CaptureError) as error:
            why = self._why(error)
            self._remarks.about(
                self._nodes.paths[node], f"its skin cannot be read ({why}); its surface is taken as it rests."
            )
            return []

    def _why(self, error: MissingDataError | CaptureError) -> str:
        if isinstance(error, MissingDataError):
            self.missing = True
            return str(error)
        return f"{error.fault.path}: expected {error.fault.expected}, found {error.fault.found}"

    def _read_bones(self, node: int) -> list[tuple[NodeTrack, Array]]:
        asset = self._asset
        skins = asset.objects(asset.data, "skins")
        number = asset.index(self._nodes.nodes[node], "skin", f"nodes[{node}]", len(skins))
        if number is None:
            return []
        at = f"skins[{number}]"
        listed = skins[number].get("joints")
        if not isinstance(listed, list) or not listed:
            asset.fail(f"{at}.joints", "a list of nodes", "none")
        joints = [asset.index({"joint": one}, "joint", at, len(self._nodes.nodes)) for one in listed]
        inverse = numbers_of(asset, skins[number], "inverseBindMatrices", at, 16)
        if inverse is not None and len(inverse) < len(joints):
            asset.fail(f"{at}.inverseBindMatrices", f"{len(joints)} matrices", f"{len(inverse)}")
        return [
            (self._space.track(joint), np.eye(4) if inverse is None else inverse[place].reshape(4, 4))
            for place, joint in enumerate(joints)
            if joint is not None
        ]


def _joined(path: str, parts: Sequence[tuple[Array, Faces]]) -> Thing | None:
    """Surfaces as one object."""
    if not parts:
        return None
    starts = np.cumsum([0, *(len(points) for points, _ in parts)])
    triangles = [faces + start for (_, faces), start in zip(parts, starts.tolist(), strict=False)]
    return Thing(
        path, np.concatenate([points for points, _ in parts]), np.concatenate(triangles).astype(np.int32)
    )


def _moved(points: Array, world: Array) -> Array:
    """Points times a matrix for row vectors."""
    moved: Array = points[:, :1] * world[0, :3] + points[:, 1:2] * world[1, :3] + points[:, 2:] * world[2, :3]
    moved += world[3, :3]
    return moved


def _posed(surface: Surface, bones: Sequence[Array]) -> Array:
    """The points of a surface as its joints pose them: each where they take it, by its weights (glTF 2.0 specification, 3.7.3.3)."""
    if surface.joints is None or surface.weights is None:
        return surface.points
    known = (surface.joints >= 0) & (surface.joints < len(bones))
    weights = np.where(known, surface.weights, 0.0)
    posed, whole = np.zeros_like(surface.points), np.zeros((len(surface.points), 1))
    for bone, matrix in enumerate(bones):
        for column in range(surface.joints.shape[1]):
            rows = np.flatnonzero((surface.joints[:, column] == bone) & (weights[:, column] != 0.0))
            if rows.size:
                share = weights[rows, column][:, None]
                posed[rows] += share * _moved(surface.points[rows], matrix)
                whole[rows] += share
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(posed / whole)


class NodeShadows:
    """Which nodes cast a light's shadow on a mark.

    A mark casts none on itself: neither its own node and what lies below it, nor the node with a mesh that holds it. A light is
    not hidden by the mesh of its own node, and the camera sees past the meshes of all lights' nodes.
    """

    def __init__(self, nodes: Nodes, lights: Mapping[str, int], marks: Mapping[str, int]) -> None:
        self._lights = {name: nodes.paths[node] for name, node in lights.items()}
        self._shapes = frozenset(self._lights.values())
        self._own = {name: _below(nodes, _holder(nodes, node)) for name, node in marks.items()}

    def casts(self, mark: str, light: str | None, path: str) -> bool:
        """Whether an object casts the light's shadow on the mark, or stands before it as the camera (None) sees it."""
        if path in self._own[mark]:
            return False
        return path not in self._shapes if light is None else path != self._lights.get(light)


def _holder(nodes: Nodes, mark: int) -> int:
    return next((node for node in reversed(nodes.chain(mark)) if "mesh" in nodes.nodes[node]), mark)


def _below(nodes: Nodes, top: int) -> frozenset[str]:
    """The paths of a node and of all below it."""
    inside = {top}
    for node in nodes.shown:  # parents first
        if nodes.parents[node] in inside:
            inside.add(node)
    return frozenset(nodes.paths[node] for node in inside)
