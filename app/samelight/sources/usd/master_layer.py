"""A master setup as a USD layer: the lights, environments and render settings of its scene, and nothing else."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pxr import Sdf, Usd, UsdGeom

from samelight.sheets.writing import write_new
from samelight.sources.errors import CaptureError
from samelight.sources.over_time import MOST_FRAMES
from samelight.sources.remarks import Remarks
from samelight.sources.usd.author import path_beside
from samelight.sources.usd.master_version import DATUM
from samelight.sources.usd.open import open_stage, reading
from samelight.sources.usd.time import asked_span
from samelight.sources.usd.values import targets
from samelight.sources.usd.variants import select_as_asked

_PLACE = "xformOp:transform"
_HEAD = (
    "upAxis",
    "metersPerUnit",
    "timeCodesPerSecond",
    "framesPerSecond",
    "startTimeCode",
    "endTimeCode",
    "renderSettingsPrimPath",
)


def write_master(out: Path, scene: Path, source: Mapping[str, Any], version: int, why: str) -> int:
    """Write the layer `out`, which is not there yet, of the lights that a sheet's `source` names in a scene; how many they are.

    What moves has its time samples within the frames that were captured; all else stands as at the first of them, and each prim
    with what is above it where it stands. Raises `CaptureError` for a scene that cannot be read, or has none of the lights, `WriteError` for a layer that
    cannot be written.
    """
    with reading(scene, Remarks()):
        stage = open_stage(scene)
        select_as_asked(scene, stage, source)
        paths = source.get("lights")
        named = paths.values() if isinstance(paths, Mapping) else ()
        lights = [prim for path in named if (prim := _prim(stage, path))]
        if not lights:
            raise CaptureError(scene, "the lights that its sheet names", "none of them")
        text = _Master(stage, out, asked_span(stage, source)).text(lights, version, why)
    write_new({out: text})
    return len(lights)


def _prim(stage: Any, path: Any) -> Any:
    return stage.GetPrimAtPath(path) if isinstance(path, str) and Sdf.Path.IsValidPathString(path) else None


class _Master:
    """The layer under construction."""

    def __init__(self, stage: Any, out: Path, span: tuple[float, float] | None) -> None:
        self.stage, self.out, self.span = stage, out, span
        self.time = Usd.TimeCode.EarliestTime() if span is None else Usd.TimeCode(span[0])
        self.layer = Sdf.Layer.CreateAnonymous("master.usda")

    def text(self, lights: Iterable[Any], version: int, why: str) -> str:
        """The whole layer as text."""
        whole = [
            prim
            for light in lights
            for prim in (light, *self._of(light, "light:filters", "portals", "geometry"))
        ]
        settings = self.stage.GetPrimAtPath(str(self.stage.GetMetadata("renderSettingsPrimPath") or "/"))
        if settings and not settings.IsPseudoRoot():
            products = list(self._of(settings, "products"))
            variables = [one for product in products for one in self._of(product, "orderedVars")]
            whole += [settings, *products, *variables]
        wanted = {prim.GetPath() for prim in whole}
        for one in dict.fromkeys(above for prim in whole for above in _from_above(prim)):
            self._copy(one, whole=one.GetPath() in wanted)
        root = self.stage.GetRootLayer().pseudoRoot
        for name in _HEAD:
            if root.HasInfo(name) or name in ("upAxis", "metersPerUnit"):
                self.layer.pseudoRoot.SetInfo(name, self.stage.GetMetadata(name))
        self.layer.documentation = why
        self.layer.customLayerData = {DATUM: {"master": version}}
        said: str = self.layer.ExportToString()
        return said

    def _of(self, prim: Any, *relations: str) -> Iterator[Any]:
        for name in relations:
            for path in targets(prim, name):
                found = self.stage.GetPrimAtPath(path)
                if found:
                    yield found

    def _copy(self, prim: Any, *, whole: bool) -> None:
        """A prim with its place, and where it is wanted as a whole with all that it states."""
        spec = Sdf.CreatePrimInLayer(self.layer, prim.GetPath())
        spec.specifier = Sdf.SpecifierDef
        if whole:
            spec.typeName = prim.GetTypeName()
        elif UsdGeom.Xformable(prim):
            spec.typeName = "Xform"
        schemas = prim.GetMetadata("apiSchemas") if whole else None
        if schemas is not None:
            spec.SetInfo("apiSchemas", Sdf.TokenListOp.CreateExplicit(schemas.GetAppliedItems()))
        self._place(prim, spec)
        for name in prim.GetAuthoredPropertyNames():
            if name.startswith("xformOp") or not (whole or name == UsdGeom.Tokens.visibility):
                continue
            attribute = prim.GetAttribute(name)
            if attribute:
                self._attribute(spec, attribute)
            else:
                self._relation(spec, prim.GetRelationship(name))

    def _place(self, prim: Any, spec: Any) -> None:
        xformable = UsdGeom.Xformable(prim)
        if not xformable or not (xformable.GetOrderedXformOps() or xformable.GetResetXformStack()):
            return
        made = Sdf.AttributeSpec(spec, _PLACE, Sdf.ValueTypeNames.Matrix4d)
        made.default = xformable.GetLocalTransformation(self.time)
        if xformable.TransformMightBeTimeVarying():
            # Between the samples of turns a matrix goes another way: it has one for each frame.
            for time in self._times(xformable.GetTimeSamples(), every_frame=True):
                self.layer.SetTimeSample(made.path, time, xformable.GetLocalTransformation(time))
        order = Sdf.AttributeSpec(spec, "xformOpOrder", Sdf.ValueTypeNames.TokenArray, Sdf.VariabilityUniform)
        order.default = [*(["!resetXformStack!"] if xformable.GetResetXformStack() else []), _PLACE]

    def _attribute(self, spec: Any, attribute: Any) -> None:
        value = attribute.Get(self.time)
        if value is None:
            return
        made = Sdf.AttributeSpec(
            spec,
            attribute.GetName(),
            attribute.GetTypeName(),
            attribute.GetVariability(),
            attribute.IsCustom(),
        )
        made.default = self._beside(value) if isinstance(value, Sdf.AssetPath) else value
        if attribute.ValueMightBeTimeVarying():
            for time in self._times(attribute.GetTimeSamples(), every_frame=attribute.HasSpline()):
                held = attribute.Get(time)
                if held is not None:
                    of_file = isinstance(held, Sdf.AssetPath)
                    self.layer.SetTimeSample(made.path, time, self._beside(held) if of_file else held)
        if attribute.HasColorSpace():
            made.colorSpace = attribute.GetColorSpace()

    def _times(self, samples: Sequence[float], *, every_frame: bool) -> list[float]:
        """The times at which something that moves is told: its samples within the span, the ends of that, and with `every_frame`
        the whole frames between."""
        first, last = self.span or (min(samples, default=0.0), max(samples, default=0.0))
        times = {first, last, *(time for time in samples if first <= time <= last)}
        if every_frame and last - first <= MOST_FRAMES:
            times.update(float(frame) for frame in range(math.ceil(first), math.floor(last) + 1))
        return sorted(times)

    def _beside(self, asset: Any) -> Any:
        """A file by its path from where the layer will be, as far as it is one of the disk."""
        if not asset.resolvedPath or "[" in asset.resolvedPath:
            return Sdf.AssetPath(asset.path)
        return Sdf.AssetPath(path_beside(self.out, asset.resolvedPath))

    def _relation(self, spec: Any, relation: Any) -> None:
        if relation:
            made = Sdf.RelationshipSpec(spec, relation.GetName(), relation.IsCustom())
            made.targetPathList.explicitItems = relation.GetForwardedTargets()


def _from_above(prim: Any) -> list[Any]:
    chain = []
    while prim and not prim.IsPseudoRoot():
        chain.append(prim)
        prim = prim.GetParent()
    return chain[::-1]
