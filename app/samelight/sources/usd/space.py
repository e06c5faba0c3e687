"""Where prims stand: world space in metres, Y-up, whatever units and up axis the stage has."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pxr import Tf, UsdGeom

from samelight.light.directions import Vector, normalised, to_y_up
from samelight.sources.numbers import tidy
from samelight.sources.over_time import over_time
from samelight.sources.remarks import Remarks
from samelight.sources.usd.open import says
from samelight.sources.usd.time import StageClock
from samelight.sources.usd.values import items

_VANISHED = 1e-12
_EVEN = 1e-5
"""Relative: world scales along two axes nearer than this are one scale (transforms are often 32-bit)."""


@dataclass(frozen=True, slots=True)
class Placement:
    """World images of a prim's own unit axes (Y-up, unscaled by units) and its place in metres."""

    x: Vector
    y: Vector
    z: Vector
    at: Vector

    @property
    def scales(self) -> Vector:
        """World lengths of the three unit axes."""
        return math.hypot(*self.x), math.hypot(*self.y), math.hypot(*self.z)

    def shines_to(self) -> Vector | None:
        """The image of the prim's own -Z; where z is scaled away, the normal of its xy plane; None without either."""
        largest = max(self.scales)
        if self.scales[2] > _VANISHED * largest:
            return unit((-self.z[0], -self.z[1], -self.z[2]))
        (a, b, c), (d, e, f) = self.x, self.y
        return unit((c * e - b * f, a * f - c * d, b * d - a * e))

    @property
    def skewed(self) -> bool:
        """Whether the axes are not at right angles in the world."""
        pairs = ((self.x, self.y), (self.y, self.z), (self.z, self.x))
        return any(
            abs(a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) > _EVEN * math.hypot(*a) * math.hypot(*b)
            for a, b in pairs
        )


def unit(vector: Vector) -> Vector | None:
    """The unit vector of a vector; None where it points nowhere or is not finite."""
    try:
        x, y, z = normalised(vector)
    except ValueError:
        return None
    return tidy(x), tidy(y), tidy(z)


@dataclass(frozen=True, slots=True)
class PrimMotion:
    """When a prim's world transform states something, and whether it does more than slide between these times."""

    samples: frozenset[float]
    turns: bool


_STILL = PrimMotion(frozenset(), False)


class PrimTrack:
    """One prim's placements over the frames of a capture."""

    def __init__(self, clock: StageClock, motion: PrimMotion, place: Callable[[Any], Placement]) -> None:
        self._clock = clock
        self._place = place
        self._placements: dict[Any, Placement] = {}
        self.motion = motion

    def at(self, time: Any) -> Placement:
        """The placement at a time code."""
        if time not in self._placements:
            self._placements[time] = self._place(time)
        return self._placements[time]

    def times(self) -> list[Any]:
        """Every time at which a capture looks at the placement; empty where it stands still."""
        samples = self.motion.samples
        if not samples:
            return []
        frames = {
            *self._clock.within(samples),
            *self._clock.whole_frames(samples),
            *(self._clock.frames or ()),
        }
        return [self._clock.code(frame) for frame in sorted(frames)]

    @property
    def resting(self) -> Placement:
        """The placement at the first frame."""
        return self.at(self._clock.rest)

    def over_time(self, read: Callable[[Placement], Any], *, circle: bool = False) -> Any:
        """What `read` makes of the placement, animated where that moves.

        `circle` says that it is a unit vector, which goes along the great circle between two keys.
        """
        if not self.motion.samples:
            return read(self.resting)
        return over_time(
            self._clock,
            self.motion.samples,
            lambda time: read(self.at(time)),
            linear=True,
            every_frame=self.motion.turns and not self._clock.held,
            circle=circle,
        )


class StageSpace:
    """The world space of one stage, as metres and Y-up."""

    def __init__(self, stage: Any, clock: StageClock, remarks: Remarks) -> None:
        self.clock = clock
        self.remarks = remarks
        self.up_axis = str(UsdGeom.GetStageUpAxis(stage))
        self.metres = float(UsdGeom.GetStageMetersPerUnit(stage))
        self.metres_assumed = not UsdGeom.StageHasAuthoredMetersPerUnit(stage)
        self._resting = UsdGeom.XformCache(clock.rest)
        self._motions: dict[Any, PrimMotion] = {}
        self._shown: dict[Any, frozenset[float]] = {}

    def track(self, prim: Any) -> PrimTrack | None:
        """The placements of a prim, all transforms above it included; None, with a remark, where there is no telling."""
        path = str(prim.GetPath())

        def place(time: Any) -> Placement:
            # One cache for the lights that stand still; a cache per frame of those that move would not be small.
            cache = self._resting if time == self.clock.rest else UsdGeom.XformCache(time)
            return self.placement(cache.GetLocalToWorldTransform(prim))

        try:
            track = PrimTrack(self.clock, self._motion(prim), place)
            resting = track.resting
        except Tf.ErrorException as error:
            self.remarks.about(
                path, f"its transform cannot be read ({says(error)[0]}); its place is left out."
            )
            return None
        if not all(map(math.isfinite, (*resting.at, *resting.scales))):
            self.remarks.about(path, "its transform is not finite; its place is left out.")
            return None
        return track

    def placement(self, matrix: Any) -> Placement:
        """What a world matrix of the stage makes of a prim."""
        x, y, z, at = (to_y_up(row[:3], self.up_axis) for row in items(matrix))
        a, b, c = (tidy(number * self.metres) for number in at)
        return Placement(x, y, z, (a, b, c))

    def _motion(self, prim: Any) -> PrimMotion:
        """The motion of a prim with everything above it, up to where the transform stack is reset."""
        motion = _STILL
        for one in _from_above(prim, self._motions):
            path = one.GetPath()
            known = self._motions.get(path)
            motion = known if known is not None else self._own_motion(one, motion)
            self._motions[path] = motion
        return motion

    def _own_motion(self, prim: Any, above: PrimMotion) -> PrimMotion:
        xformable = UsdGeom.Xformable(prim)
        if not xformable:
            return above
        if xformable.GetResetXformStack():
            above = _STILL
        if not xformable.TransformMightBeTimeVarying():
            return above
        samples, turns = set(above.samples), above.turns
        for op in xformable.GetOrderedXformOps():
            if not op.MightBeTimeVarying():
                continue
            attribute = op.GetAttr()
            if attribute.HasSpline():
                samples.update(float(time) for time in attribute.GetSpline().GetKnots())
                self.remarks.about(
                    str(prim.GetPath()),
                    "its transform holds a spline; the sheet holds its value at each whole frame.",
                )
                turns = True
            else:
                samples.update(op.GetTimeSamples())
            # Sliding alone is a straight line between samples; what turns or scales is not.
            turns = turns or op.GetOpType() not in _SLIDES
        return PrimMotion(frozenset(samples), turns)

    def visible(self, prim: Any) -> Any:
        """Whether a prim and all above it are visible: a bool, or a held curve; None where it is not imageable."""
        imageable = UsdGeom.Imageable(prim)
        if not imageable:
            return None

        def at(time: Any) -> bool:
            return bool(imageable.ComputeVisibility(time) != UsdGeom.Tokens.invisible)

        samples: frozenset[float] = frozenset()
        for one in _from_above(prim, self._shown):
            path = one.GetPath()
            known = self._shown.get(path)
            samples = known if known is not None else samples | _visibility_samples(one)
            self._shown[path] = samples
        if not samples:
            return at(self.clock.rest)
        return over_time(self.clock, samples, at, linear=False)


def _from_above(prim: Any, known: Mapping[Any, object]) -> list[Any]:
    """A prim and those above it, top first, from the lowest one that is known already."""
    chain = []
    while prim and not prim.IsPseudoRoot():
        chain.append(prim)
        if prim.GetPath() in known:
            break
        prim = prim.GetParent()
    return chain[::-1]


def _visibility_samples(prim: Any) -> frozenset[float]:
    attribute = prim.GetAttribute(UsdGeom.Tokens.visibility)
    varies = bool(attribute) and attribute.ValueMightBeTimeVarying()
    return frozenset(attribute.GetTimeSamples()) if varies else frozenset()


_SLIDES = {
    getattr(UsdGeom.XformOp, name)
    for name in ("TypeTranslate", "TypeTranslateX", "TypeTranslateY", "TypeTranslateZ")
    if hasattr(UsdGeom.XformOp, name)
}


def even(*scales: float) -> bool:
    """Whether scales along several axes are one scale."""
    return max(scales) - min(scales) <= _EVEN * max(scales)
