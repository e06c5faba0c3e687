"""Names of a captured light back into the attributes, relationships and collections that they were read from."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from pxr import Sdf, Usd, UsdGeom, UsdLux

from samelight.sheets.vocabulary import FOLDED, OF_FILES
from samelight.sources.keyed import frames_of, is_keyed, value_at
from samelight.sources.over_time import HELD
from samelight.sources.usd import attributes as table
from samelight.sources.usd.attributes import Attribute, Conversion, Keep
from samelight.sources.usd.lights import HALF_A_SPHERE, NO_CONE, ONE_SIDED, light_type
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.shapes import stretch
from samelight.sources.usd.values import authored_names


class NoWayError(Exception):
    """Something that a layer of overs cannot say; the text says why."""


_ROWS: dict[str, Attribute] = {
    row.sheet: row
    for row in (
        *table.EMISSION,
        table.NORMALIZE,
        *table.SHAPE,
        table.FORMAT,
        *table.SHAPING,
        *table.SHADOW,
        Attribute("purpose", "purpose", ""),
    )
}
_FILES = {"texture": table.TEXTURE, "ies": table.IES}
_COLLECTIONS = {"light_links": "lightLink", "shadow_links": "shadowLink"}
_RELATIONS = {"filters": "light:filters", "portals": "portals", "geometry": "geometry"}
_RENDER = {
    "resolution": "resolution",
    "pixel_aspect": "pixelAspectRatio",
    "aspect_policy": "aspectRatioConformPolicy",
    "data_window": "dataWindowNDC",
    "disable_motion_blur": "disableMotionBlur",
    "disable_depth_of_field": "disableDepthOfField",
    "instantaneous_shutter": "instantaneousShutter",
    "included_purposes": "includedPurposes",
    "material_binding_purposes": "materialBindingPurposes",
    "rendering_color_space": "renderingColorSpace",
}
HASHES = {name: file for file in OF_FILES for name in FOLDED[file][1:]}
"""Names of hashes and of what a sheet keeps of a file, and of the file that each is of."""


class Author:
    """Writes into the edit target of a stage. `out` is where the layer will be: paths in it start from there."""

    def __init__(self, stage: Any, out: Path, metres: float) -> None:
        self.stage, self.out, self.metres = stage, out, metres
        self.short_paths: dict[Any, str] = {}
        """Attributes that hold a file by its whole path, since the layer is nowhere yet, and the path from there."""

    def set(self, prim: Any, name: str, value: Any, scene: Scene) -> None:
        """Set one name of a light, environment or render settings; None takes it out. Raises `NoWayError`."""
        if name in _ROWS:
            self._row(prim, _ROWS[name], value, scene)
        elif name == "temperature":
            self._temperature(prim, value)
        elif name == "cone":
            self._schema(prim, UsdLux.ShapingAPI)
            none = HALF_A_SPHERE if light_type(prim) in ONE_SIDED else NO_CONE
            self._attribute(prim, table.CONE.usd, none if value is None else value)
        elif name in _FILES:
            self._file(prim, _FILES[name], value)
        elif name in _COLLECTIONS:
            self._collection(prim, _COLLECTIONS[name], value)
        elif name in _RELATIONS:
            self._relation(prim, _RELATIONS[name], value or [])
        elif name == "visible":
            self._visible(prim, True if value is None else value)
        elif name in ("mesh", "instances", "area"):
            raise NoWayError("it is made of other geometry, which a layer of lights does not set")
        elif name in HASHES:
            raise NoWayError("the file itself is another; a layer can only name a file")
        elif name == "type":
            raise NoWayError("another type of light takes another prim")
        else:
            self._own(prim, name, value)

    def _row(self, prim: Any, row: Attribute, value: Any, scene: Scene) -> None:
        if row.sheet in table.COLOURS and (attribute := prim.GetAttribute(row.usd)):
            value = scene.colours.from_sheet(attribute, value)
        if row.usd.startswith("inputs:shaping:"):
            self._schema(prim, UsdLux.ShapingAPI)
        if row.usd.startswith("inputs:shadow:"):
            self._schema(prim, UsdLux.ShadowAPI)
        if row.measure is Conversion.SIZE and value is not None:
            self._size(prim, row, value, scene)
        elif row.measure is Conversion.LENGTH and value is not None:
            self._attribute(prim, row.usd, _each(value, lambda n: n / self.metres if n > 0 else n))
        elif value is None and row.keep is Keep.ALWAYS:
            self._attribute(prim, row.usd, prim.GetPrimDefinition().GetAttributeFallbackValue(row.usd))
        else:
            self._attribute(prim, row.usd, value)

    def _attribute(self, prim: Any, name: str, value: Any) -> None:
        """Set an attribute, or block it with None, so that it is as if nobody had authored it."""
        attribute = prim.GetAttribute(name)
        if not attribute:
            raise NoWayError(f"the prim has no {name}")
        if attribute.HasAuthoredConnections():
            source = ", ".join(str(path) for path in attribute.GetConnections())
            raise NoWayError(f"{name} is driven by {source}, whatever a layer sets")
        if value is None:
            attribute.Block()
        elif not is_keyed(value):
            attribute.Set(_typed(attribute, value))
        else:
            self._check_interpolation(value)
            for frame, key in value["keys"]:
                attribute.Set(_typed(attribute, key), frame)

    def _check_interpolation(self, value: Any) -> None:
        """Numbers go between keys as the whole stage says; what cannot blend holds on any stage."""
        held = self.stage.GetInterpolationType() == Usd.InterpolationTypeHeld
        numbers = isinstance(value["keys"][0][1], float | list)
        if numbers and held != (value.get("interpolation") == HELD):
            raise NoWayError("the scene goes between keys in another way; set it by hand")

    def _schema(self, prim: Any, schema: Any) -> None:
        if not prim.HasAPI(schema):
            schema.Apply(prim)

    def _size(self, prim: Any, row: Attribute, value: Any, scene: Scene) -> None:
        """A world size by way of the transform's scale; both may move."""
        track = scene.space.track(prim)
        shape = next((name for usd, name in table.LIGHT_TYPES if prim.IsA(getattr(UsdLux, usd))), "")
        if track is None:
            raise NoWayError("its transform cannot be read")
        by, _ = stretch(shape, row.sheet)

        def at(time: Any) -> float:
            scale = by(track.at(time).scales) * self.metres
            if not scale > 0:
                raise NoWayError("its transform scales it to nothing")
            frame = 0.0 if time == Usd.TimeCode.EarliestTime() else float(time.GetValue())
            return float(value_at(value, frame)) / scale

        keys = [scene.clock.code(frame) for frame in frames_of(value)]
        times = sorted({*track.times(), *keys}, key=lambda time: float(time.GetValue()))
        sizes = [at(time) for time in times] or [at(scene.clock.rest)]
        if max(sizes) - min(sizes) <= 1e-7 * max(sizes):
            self._attribute(prim, row.usd, sizes[0])
            return
        for time, size in zip(times, sizes, strict=True):
            prim.GetAttribute(row.usd).Set(size, time)

    def _temperature(self, prim: Any, value: Any) -> None:
        self._attribute(prim, table.TEMPERATURE_SWITCH.usd, value is not None)
        if value is not None:
            self._attribute(prim, table.TEMPERATURE.usd, value)

    def _file(self, prim: Any, row: Attribute, value: Any) -> None:
        """An asset by its path from where the layer will be; the path as given started from the layer that held it."""
        if value is None:
            self._attribute(prim, row.usd, None)
            return
        if is_keyed(value):
            raise NoWayError("it names another file over time; set it by hand")
        attribute = prim.GetAttribute(row.usd)
        if not attribute:
            raise NoWayError(f"the prim has no {row.usd}")
        path = Path(value)
        if not path.is_absolute():
            layers = (spec.layer.realPath for spec in attribute.GetPropertyStack())
            folders = [Path(layer).parent for layer in layers if layer]
            folders.append(Path(self.stage.GetRootLayer().realPath).parent)
            there = next((folder / path for folder in folders if (folder / path).is_file()), None)
            if there is None:
                raise NoWayError(f"{value} is not beside the scene's layers")
            self.short_paths[attribute.GetPath()] = path_beside(self.out, there)
            value = there.absolute().as_posix()
        self._attribute(prim, row.usd, Sdf.AssetPath(value))

    def _collection(self, prim: Any, name: str, members: Sequence[str] | None) -> None:
        """A collection by the turns that a capture writes: "*", "/path" and "!/path"."""
        api = UsdLux.LightAPI(prim)
        if not api:
            raise NoWayError("it is no light that UsdLux knows")
        turns = ["*"] if members is None else list(members)
        included = [turn for turn in turns if turn.startswith("/")]
        excluded = [turn[1:] for turn in turns if turn.startswith("!/")]
        if len(included) + len(excluded) + ("*" in turns) != len(turns):
            raise NoWayError("its links are no paths of prims")
        collection = (
            api.GetLightLinkCollectionAPI() if name == "lightLink" else api.GetShadowLinkCollectionAPI()
        )
        if collection.GetMembershipExpressionAttr().HasAuthoredValue():
            collection.GetMembershipExpressionAttr().Block()
        collection.CreateExpansionRuleAttr().Set("expandPrims")
        collection.CreateIncludeRootAttr().Set("*" in turns)
        for relation, paths in (
            (collection.CreateIncludesRel(), included),
            (collection.CreateExcludesRel(), excluded),
        ):
            self._targets(relation, paths)

    def _relation(self, prim: Any, name: str, paths: Sequence[str]) -> None:
        relation = prim.GetRelationship(name)
        if not relation:
            raise NoWayError(f"the prim has no {name}")
        self._targets(relation, paths)

    def _targets(self, relation: Any, paths: Sequence[str]) -> None:
        for path in paths:
            if not Sdf.Path.IsValidPathString(path):
                raise NoWayError(f"{path} is no path of a prim")
        relation.SetTargets([Sdf.Path(path) for path in paths])

    def _visible(self, prim: Any, visible: Any) -> None:
        imageable = UsdGeom.Imageable(prim)
        if not imageable:
            raise NoWayError("it can be neither shown nor hidden")
        above = prim.GetParent()
        while visible and above and not above.IsPseudoRoot():
            attribute = above.GetAttribute(UsdGeom.Tokens.visibility)
            if attribute and attribute.HasAuthoredValue() and attribute.Get() == UsdGeom.Tokens.invisible:
                raise NoWayError(f"{above.GetPath()} above it is hidden, with all that is below")
            above = above.GetParent()
        shown, hidden = UsdGeom.Tokens.inherited, UsdGeom.Tokens.invisible
        self._attribute(
            prim, UsdGeom.Tokens.visibility, _each(visible, lambda sees: shown if sees else hidden)
        )

    def _own(self, prim: Any, name: str, value: Any) -> None:
        """An attribute that is none of UsdLux's own: a renderer's, a studio's, or one of the render settings."""
        known = authored_names(prim)
        steps = name.removeprefix("custom.").split(".")
        spelt = (":".join(steps), ":".join(steps[:-1]) if steps[-1] == "value" else "", _RENDER.get(name, ""))
        found = next((one for one in spelt if one and (one in known or prim.GetAttribute(one))), None)
        if found is None:
            raise NoWayError("the prim has no such attribute; set it by hand")
        self._attribute(prim, found, value)


def path_beside(out: Path, file: Path | str) -> str:
    """A file by its path from where a layer will be, which begins with a dot: so nothing else is looked through for it."""
    short = Path(os.path.relpath(file, out.absolute().parent)).as_posix()
    return short if short.startswith(".") else f"./{short}"


def _each(value: Any, change: Callable[[Any], Any]) -> Any:
    """A value changed, at each of its keys where it is animated."""
    if is_keyed(value):
        return {**value, "keys": [[frame, change(key)] for frame, key in value["keys"]]}
    return change(value)


def _typed(attribute: Any, value: Any) -> Any:
    """A plain value in the vector type of an attribute."""
    kind = type(attribute.GetTypeName().defaultValue)
    return kind(*value) if isinstance(value, list) and hasattr(kind, "dimension") else value
