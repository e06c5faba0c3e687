"""Values of USD attributes as plain data: numbers, text, switches and lists of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from pxr import Gf, Sdf

from samelight.sources.numbers import finite, shortest
from samelight.sources.over_time import Read, over_time
from samelight.sources.remarks import Remarks
from samelight.sources.usd.time import StageClock

LONGEST_LIST = 256
"""Entries; a longer array is geometry or a cache rather than lighting."""

_SINGLE = re.compile(r"(?:float|Half|[fh])>?\Z")
_QUATERNIONS = (Gf.Quatd, Gf.Quatf, Gf.Quath)
_MATRICES = (Gf.Matrix2d, Gf.Matrix3d, Gf.Matrix4d)


def plain(value: Any, single: bool) -> Any:
    """A value of a USD attribute as plain data, None where it has no plain form; `single` marks 32-bit floats."""
    if isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return shortest(value) if single else value
    if isinstance(value, Sdf.AssetPath):
        return value.path
    if isinstance(value, Sdf.TimeCode):
        return float(value.GetValue())
    if isinstance(value, _QUATERNIONS):
        return [plain(number, single) for number in (value.GetReal(), *items(value.GetImaginary()))]
    if isinstance(value, _MATRICES):
        return [number for row in items(value) for number in row]
    if isinstance(value, Sdf.Path | Sdf.PathExpression):
        return str(value)
    if hasattr(value, "__len__"):  # USD's vectors and arrays are sequences by protocol, not by class
        return [plain(item, single) for item in items(value)]
    return None


def items(value: Any) -> list[Any]:
    """The items of a USD vector, matrix or array; by its memory where that can be, 50 times faster than one by one."""
    try:
        return memoryview(value).tolist()
    except (TypeError, NotImplementedError):  # the latter for numbers of half precision, before Python 3.12
        return list(value)


@dataclass(frozen=True, slots=True)
class AttributeSource:
    """One attribute over time: when it states something, and its plain value at any time code."""

    samples: Sequence[float]
    at: Read
    splined: bool = False


class Attributes:
    """Reads attributes by name, at one time or over it, with the schema's fallback where nothing is said."""

    def __init__(self, clock: StageClock, remarks: Remarks) -> None:
        self.clock = clock
        self.remarks = remarks
        self._single: dict[str, bool] = {}

    def source(self, prim: Any, name: str) -> AttributeSource | None:
        """An attribute of a prim, to be read at times of one's own; None where the prim has no such attribute."""
        attribute = prim.GetAttribute(name)
        if not attribute:
            return None
        single = self._is_single(attribute)

        def at(time: Any) -> Any:
            return self._at(prim, attribute, single, time)

        if not attribute.ValueMightBeTimeVarying():
            return AttributeSource((), at)
        path = str(prim.GetPath())
        if attribute.HasSpline():
            self.remarks.about(path, f"{name} is a spline; the sheet holds its value at each whole frame.")
            return AttributeSource([float(time) for time in attribute.GetSpline().GetKnots()], at, True)
        samples = attribute.GetTimeSamples()
        if any(attribute.Get(time) is None for time in self.clock.within(samples)):
            self.remarks.about(
                path, f"{name} has samples without a value; there the schema's fallback is taken."
            )
        return AttributeSource(samples, at)

    def read(self, prim: Any, name: str) -> Any:
        """The value of an attribute of a prim, animated where it moves; None where it has no plain value."""
        source = self.source(prim, name)
        if source is None:
            return None
        if not source.samples:
            return source.at(self.clock.rest)
        blends = _blends(source.at(self.clock.rest))
        return over_time(self.clock, source.samples, source.at, linear=blends, every_frame=source.splined)

    def fallback(self, prim: Any, name: str) -> Any:
        """What the schemas of a prim say where nothing is authored, as plain data; None where they say nothing."""
        attribute = prim.GetAttribute(name)
        if not attribute:
            return None
        value = prim.GetPrimDefinition().GetAttributeFallbackValue(name)
        return plain(value, self._is_single(attribute))

    def moment(self, prim: Any, name: str) -> Any:
        """The value at rest, for what decides how the rest is read; None where there is none."""
        source = self.source(prim, name)
        return source.at(self.clock.rest) if source else None

    def _at(self, prim: Any, attribute: Any, single: bool, time: Any) -> Any:
        value = attribute.Get(time)
        if value is None:
            value = prim.GetPrimDefinition().GetAttributeFallbackValue(attribute.GetName())
        if hasattr(value, "__len__") and not isinstance(value, str) and len(value) > LONGEST_LIST:
            return self._left_out(prim, attribute, f"holds {len(value):,} entries")
        result = plain(value, single)
        return result if finite(result) else self._left_out(prim, attribute, "is not finite")

    def _left_out(self, prim: Any, attribute: Any, why: str) -> None:
        self.remarks.about(str(prim.GetPath()), f"{attribute.GetName()} {why} and is left out.")

    def _is_single(self, attribute: Any) -> bool:
        kind = attribute.GetTypeName().cppTypeName
        if kind not in self._single:
            self._single[kind] = _SINGLE.search(kind) is not None
        return self._single[kind]


def _blends(value: Any) -> bool:
    while isinstance(value, list) and value:
        value = value[0]
    return isinstance(value, float)


def authored_names(prim: Any) -> set[str]:
    """Names of the attributes of a prim that say something: authored, and not blocked by a None."""
    names: Iterable[str] = prim.GetAuthoredPropertyNames()
    return {
        name for name in names if not (attribute := prim.GetAttribute(name)) or attribute.HasAuthoredValue()
    }


def targets(prim: Any, name: str) -> list[str]:
    """The paths that a relationship of a prim points at, sorted; empty where there is none."""
    relationship = prim.GetRelationship(name)
    if not relationship:
        return []
    return sorted(str(path) for path in relationship.GetForwardedTargets())
