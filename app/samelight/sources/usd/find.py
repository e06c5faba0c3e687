"""One walk over a stage: which of its prims are lights, domes, cameras, marks, render prims and geometry."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from pxr import Kind, Usd, UsdGeom, UsdLux

from samelight.sheets.switches import Inactive
from samelight.sources.remarks import Remarks
from samelight.sources.usd.camera import mark_name
from samelight.sources.usd.domes import is_dome
from samelight.sources.usd.render import render_role

# Not only active prims: an inactive light is no light, but it is worth a word.
_WALKED = Usd.TraverseInstanceProxies(Usd.PrimIsDefined & ~Usd.PrimIsAbstract)
_LIGHT, _DOME, _CAMERA, _RENDER, _GEOMETRY, _OTHER = range(6)
_MODELS = frozenset({Kind.Tokens.component, Kind.Tokens.subcomponent})
_LIGHT_SCHEMAS = frozenset({"LightAPI", "MeshLightAPI", "VolumeLightAPI"})


@dataclass(slots=True)
class Prims:
    """The prims of a stage by what they are, in the order of the stage."""

    lights: list[Any] = field(default_factory=list)
    domes: list[Any] = field(default_factory=list)
    cameras: list[Any] = field(default_factory=list)
    render: list[Any] = field(default_factory=list)
    geometry: list[Any] = field(default_factory=list)
    """Paths of what can be lit."""
    marks: dict[Any, str] = field(default_factory=dict)
    """Prims that say of themselves that they are marks, and the names they give."""
    inactive: list[Inactive] = field(default_factory=list)
    """Lights that are switched off, as far as the layers say what lies below an inactive prim."""
    switches: list[Any] = field(default_factory=list)
    """Prims with variant sets that may switch lights: those that are part of no model, and those whose variants hold lights."""


def find(stage: Any, remarks: Remarks) -> Prims:
    """Sort the prims of a stage; inactive lights are remarked upon and otherwise passed over."""
    found = Prims()
    kinds: dict[tuple[str, tuple[str, ...]], int] = {}
    into = {_LIGHT: found.lights, _DOME: found.domes, _CAMERA: found.cameras, _RENDER: found.render}
    for prim in Usd.PrimRange.Stage(stage, _WALKED):
        if not prim.IsActive():
            layer, variant = _said_inactive(prim)
            for path in _lights_below(prim):
                found.inactive.append(Inactive(path, str(prim.GetPath()), layer, variant))
                remarks.about(path, "it is inactive and so not in the sheet.")
            continue
        if prim.HasVariantSets() and not prim.IsInstanceProxy() and _may_switch(prim):
            found.switches.append(prim)
        # All prims of one type with the same schemas applied are of one kind.
        info = prim.GetPrimTypeInfo()
        key = (str(info.GetTypeName()), tuple(info.GetAppliedAPISchemas()))
        kind = kinds.get(key)
        if kind is None:
            kind = kinds[key] = _kind(prim)
        if kind == _GEOMETRY:
            found.geometry.append(prim.GetPath())
        elif kind != _OTHER:
            into[kind].append(prim)
        name = mark_name(prim)
        if name is not None:
            found.marks[prim] = name
    return found


def _kind(prim: Any) -> int:
    if prim.HasAPI(UsdLux.LightAPI):
        return _DOME if is_dome(prim) else _LIGHT
    if prim.IsA(UsdGeom.Camera):
        return _CAMERA
    if render_role(prim) is not None:
        return _RENDER
    if prim.IsA(UsdGeom.Boundable):
        return _GEOMETRY
    name = str(prim.GetTypeName())
    unknown = name.endswith("Light") and Usd.SchemaRegistry().FindConcretePrimDefinition(name) is None
    return _LIGHT if unknown else _OTHER


def _lights_below(prim: Any) -> Iterator[str]:
    """Paths of an inactive prim and what lies below it that its layers call lights.

    USD composes nothing below an inactive prim, so that lights behind a reference further down stay unseen.
    """
    seen = set()
    if prim.HasAPI(UsdLux.LightAPI):
        seen.add(prim.GetPath())
        yield str(prim.GetPath())
    for top in prim.GetPrimStack():
        for spec in _below(top):
            path = spec.path.ReplacePrefix(top.path, prim.GetPath())
            if path not in seen and _says_light(spec):
                seen.add(path)
                yield str(path)


def _said_inactive(prim: Any) -> tuple[str, str]:
    """The layer that switches a prim off, and the variant in which it says so, such as "lights=off"; empty where it is none."""
    for spec in prim.GetPrimStack():
        if spec.HasInfo("active"):
            path = spec.path
            while not (path.IsPrimVariantSelectionPath() or path.IsAbsoluteRootPath()):
                path = path.GetParentPath()
            variant = "=".join(path.GetVariantSelection()) if path.IsPrimVariantSelectionPath() else ""
            return str(spec.layer.realPath or spec.layer.identifier), variant
    return "", ""


def _may_switch(prim: Any) -> bool:
    """Whether a variant set may be one of lights: not of one model among many, unless its variants hold lights."""
    above = prim
    while above and not above.IsPseudoRoot():
        if Usd.ModelAPI(above).GetKind() in _MODELS:
            return any(
                _says_light(spec) or spec.HasInfo("active")
                for own in prim.GetPrimStack()
                for variants in own.variantSets.values()
                for variant in variants.variants.values()
                for spec in _below(variant.primSpec)
            )
        above = above.GetParent()
    return True


def _below(top: Any) -> Iterator[Any]:
    waiting = deque(top.nameChildren)
    while waiting:
        spec = waiting.popleft()
        yield spec
        waiting.extend(spec.nameChildren)


def _says_light(spec: Any) -> bool:
    applied = spec.GetInfo("apiSchemas")
    if applied and _LIGHT_SCHEMAS.intersection(applied.GetAppliedItems()):
        return True
    return _is_light_type(spec.typeName)


@cache
def _is_light_type(name: str) -> bool:
    definition = Usd.SchemaRegistry().FindConcretePrimDefinition(name) if name else None
    return definition is not None and "LightAPI" in definition.GetAppliedAPISchemas()
