"""The surfaces of a stage as triangles in the world: meshes and simple bodies, instanced and skinned ones too.

A surface that is subdivided is taken as the cage it is made of. What is hidden, or shown only as a guide or proxy, or mostly
transparent by its own displayOpacity, casts no shadow; whether its material lets light through is not looked at.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pxr import Tf, Usd, UsdGeom, UsdLux

from samelight.light.rows import Array
from samelight.sources.in_the_way import Geometry, Thing
from samelight.sources.usd.bodies import body_of
from samelight.sources.usd.links import TRAVERSED
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.space import Placement

_SHOWN = frozenset({UsdGeom.Tokens.default_, UsdGeom.Tokens.render})

_Faces = NDArray[np.int32]


class StageSolids:
    """The objects of a stage, of which those that stand still are read once."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._skins = _skins(scene)
        self._still: dict[str, Thing] = {}
        self._prims = list(self._found())
        samples: set[float] = set()
        self._moves: dict[str, bool] = {}
        for prim in self._prims:
            own = self._samples(prim)
            self._moves[str(prim.GetPath())] = bool(own)
            samples |= own
        self.geometry = Geometry(self.at, frozenset(scene.clock.within(samples)), not self._prims)

    def at(self, frame: float | None) -> list[Thing]:
        """The objects at a frame; None: as they rest."""
        time = self._scene.clock.rest if frame is None else self._scene.clock.code(frame)
        found = (self._thing(prim, time) for prim in self._prims if self._is_shown(prim, time))
        return [thing for thing in found if thing is not None and len(thing.triangles)]

    def _found(self) -> Iterator[Any]:
        """Meshes, bodies and point instancers; what lies below an instancer is its models, which stand nowhere themselves."""
        walk = iter(Usd.PrimRange.Stage(self._scene.stage, TRAVERSED))
        for prim in walk:
            if prim.IsA(UsdGeom.PointInstancer):
                walk.PruneChildren()
                yield prim
            elif _casts(prim):
                yield prim

    def _samples(self, prim: Any) -> set[float]:
        """When a prim states something about its surface or its place."""
        track = self._scene.space.track(prim)
        found = set() if track is None else set(track.motion.samples)
        skin = self._skins.get(prim.GetPath())
        if skin is not None:
            found |= skin.samples()
        for name in ("points", "positions", "orientations", "scales", "visibility"):
            attribute = prim.GetAttribute(name)
            if attribute and attribute.ValueMightBeTimeVarying():
                found |= set(attribute.GetTimeSamples())
        return found

    def _is_shown(self, prim: Any, time: Any) -> bool:
        imageable = UsdGeom.Imageable(prim)
        if (
            imageable.ComputeVisibility(time) == UsdGeom.Tokens.invisible
            or imageable.ComputePurpose() not in _SHOWN
        ):
            return False
        opacity = UsdGeom.PrimvarsAPI(prim).GetPrimvar("displayOpacity")
        values = opacity.Get(time) if opacity else None
        return not values or max(values) >= 0.5

    def _thing(self, prim: Any, time: Any) -> Thing | None:
        path = str(prim.GetPath())
        if path in self._still:
            return self._still[path]
        try:
            read = (
                self._instances(prim, time) if prim.IsA(UsdGeom.PointInstancer) else self._surface(prim, time)
            )
        except (Tf.ErrorException, ValueError) as error:
            self._scene.remarks.about(
                path, f"its surface cannot be read ({str(error).splitlines()[0]}); it casts no shadow here."
            )
            read = None
        thing = (
            Thing(path, np.zeros((0, 3)), np.zeros((0, 3), np.int32)) if read is None else Thing(path, *read)
        )
        if not self._moves[path]:
            self._still[path] = thing
        return thing

    def _surface(self, prim: Any, time: Any) -> tuple[Array, _Faces] | None:
        local = _local(prim, time)
        track = self._scene.space.track(prim)
        if local is None or track is None:
            return None
        points, faces = local
        skin = self._skins.get(prim.GetPath())
        if skin is not None and (posed := skin.points(time)) is not None:
            skeleton = self._scene.space.track(skin.skeleton)
            if skeleton is not None:
                return self._placed(posed, skeleton.at(time)), faces
        return self._placed(points, track.at(time)), faces

    def _placed(self, points: Array, at: Placement) -> Array:
        metres = self._scene.space.metres
        axes = np.array([at.x, at.y, at.z]) * metres
        placed: Array = points[:, :1] * axes[0] + points[:, 1:2] * axes[1] + points[:, 2:] * axes[2]
        placed += np.array(at.at)
        return placed

    def _instances(self, prim: Any, time: Any) -> tuple[Array, _Faces] | None:
        """All models of a point instancer at their points, as one object."""
        instancer = UsdGeom.PointInstancer(prim)
        which = instancer.GetProtoIndicesAttr().Get(time)
        matrices = instancer.ComputeInstanceTransformsAtTime(time, time)
        roots = instancer.GetPrototypesRel().GetForwardedTargets()
        track = self._scene.space.track(prim)
        if not which or not matrices or not roots or track is None:
            return None
        mask = instancer.ComputeMaskAtTime(time)
        numbers = [index for place, index in enumerate(which) if not mask or mask[place]]
        cache = UsdGeom.XformCache(time)
        models = [self._model(self._scene.stage.GetPrimAtPath(root), cache, time) for root in roots]
        points: list[Array] = []
        faces: list[_Faces] = []
        start = 0
        for number, matrix in zip(numbers, matrices, strict=True):
            if not 0 <= number < len(models):
                raise ValueError("an index of a model that it has not")
            for corners, triangles in models[number]:
                points.append(_moved(corners, matrix))
                faces.append((triangles + start).astype(np.int32))
                start += len(corners)
        if not points:
            return None
        return self._placed(np.concatenate(points), track.at(time)), np.concatenate(faces)

    def _model(self, root: Any, cache: Any, time: Any) -> list[tuple[Array, _Faces]]:
        """The surfaces of an instancer's model, in the space in which its own transform stands."""
        found = []
        for prim in Usd.PrimRange(root, TRAVERSED) if root else ():
            if _casts(prim) and self._is_shown(prim, time) and (local := _local(prim, time)) is not None:
                above = cache.GetLocalToWorldTransform(root)
                matrix = cache.GetLocalToWorldTransform(prim) * above.GetInverse()
                found.append((_moved(local[0], matrix), local[1]))
        return found


def _casts(prim: Any) -> bool:
    """Whether a prim is a surface, and no light."""
    return bool(prim.IsA(UsdGeom.Gprim) and not prim.HasAPI(UsdLux.LightAPI))


def _moved(points: Array, matrix: Any) -> Array:
    """Points times a matrix of the stage, whose rows are the images of the axes."""
    rows = np.array([[matrix[row][column] for column in range(3)] for row in range(4)])
    moved: Array = points[:, :1] * rows[0] + points[:, 1:2] * rows[1] + points[:, 2:] * rows[2] + rows[3]
    return moved


def _local(prim: Any, time: Any) -> tuple[Array, _Faces] | None:
    """The points and triangles of a prim in its own space. Raises ValueError where they do not fit each other."""
    if not prim.IsA(UsdGeom.Mesh):
        return body_of(prim, time)
    mesh = UsdGeom.Mesh(prim)
    points, counts, corners = (
        attribute.Get(time)
        for attribute in (
            mesh.GetPointsAttr(),
            mesh.GetFaceVertexCountsAttr(),
            mesh.GetFaceVertexIndicesAttr(),
        )
    )
    if not points or not counts or not corners:
        return None
    found = np.array(points, dtype=np.float64).reshape(-1, 3)
    return found, triangles_of(
        np.array(counts, dtype=np.int64), np.array(corners, dtype=np.int64), len(found)
    )


def triangles_of(counts: NDArray[np.int64], corners: NDArray[np.int64], points: int) -> _Faces:
    """The triangles of polygons by how many corners each has, as a fan about its first. Raises ValueError where they do not fit.

    >>> triangles_of(np.array([4]), np.array([0, 1, 2, 3]), 4).tolist()
    [[0, 1, 2], [0, 2, 3]]
    """
    if counts.min() < 0 or int(counts.sum()) != len(corners):
        raise ValueError("its faces have other corners than it lists")
    if corners.min() < 0 or corners.max() >= points:
        raise ValueError("a face has a corner that is no point of it")
    starts = np.cumsum(counts) - counts
    number = np.maximum(counts - 2, 0)
    face = np.repeat(np.arange(len(counts)), number)
    step = np.arange(len(face)) - np.repeat(np.cumsum(number) - number, number)
    first = starts[face]
    return np.stack([corners[first], corners[first + step + 1], corners[first + step + 2]], axis=1).astype(
        np.int32
    )


class _Skin:
    """A surface that a skeleton moves."""

    def __init__(self, query: Any, skeleton_query: Any) -> None:
        self._query, self._skeleton = query, skeleton_query
        self.skeleton = skeleton_query.GetPrim()

    def samples(self) -> set[float]:
        """When its pose states something."""
        animation = self._skeleton.GetAnimQuery()
        return set(animation.GetJointTransformTimeSamples()) if animation else set()

    def points(self, time: Any) -> Array | None:
        """Its points as they are posed, in the skeleton's space; None where that cannot be worked out."""
        points = UsdGeom.PointBased(self._query.GetPrim()).GetPointsAttr().Get(time)
        transforms = self._skeleton.ComputeSkinningTransforms(time)
        if not points or not transforms or not self._query.ComputeSkinnedPoints(transforms, points, time):
            return None
        return np.array(points, dtype=np.float64).reshape(-1, 3)


def _skins(scene: Scene) -> dict[Any, _Skin]:
    """The surfaces that skeletons move, by their paths."""
    kind = Usd.SchemaRegistry.GetTypeFromSchemaTypeName("SkelRoot")
    roots = [prim for prim in Usd.PrimRange.Stage(scene.stage, TRAVERSED) if prim.IsA(kind)]
    found: dict[Any, _Skin] = {}
    if not roots:
        return found
    from pxr import UsdSkel

    cache = UsdSkel.Cache()
    for prim in roots:
        root = UsdSkel.Root(prim)
        cache.Populate(root, TRAVERSED)
        for binding in cache.ComputeSkelBindings(root, TRAVERSED):
            query = cache.GetSkelQuery(binding.GetSkeleton())
            if query:
                targets: Sequence[Any] = binding.GetSkinningTargets()
                found.update({target.GetPrim().GetPath(): _Skin(target, query) for target in targets})
    return found
