"""UsdRender's settings, products, variables and passes into the render settings and passes of a sheet."""

from __future__ import annotations

import shlex
from collections.abc import Iterable
from typing import Any

from pxr import UsdRender

from samelight.sheets.names import is_slip
from samelight.sources.naming import short_names
from samelight.sources.usd.custom import core_properties, own_attributes
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.values import authored_names, targets

_TYPES = {"settings": "Settings", "product": "Product", "variable": "Var", "pass": "Pass"}
"""What a render prim is here, and its class in UsdRender."""

_FRAMING = (
    ("resolution", "resolution"),
    ("pixelAspectRatio", "pixel_aspect"),
    ("aspectRatioConformPolicy", "aspect_policy"),
    ("dataWindowNDC", "data_window"),
    ("disableMotionBlur", "disable_motion_blur"),
    ("disableDepthOfField", "disable_depth_of_field"),
    ("instantaneousShutter", "instantaneous_shutter"),
)
_SETTINGS = (
    *_FRAMING,
    ("includedPurposes", "included_purposes"),
    ("materialBindingPurposes", "material_binding_purposes"),
    ("renderingColorSpace", "rendering_color_space"),
)
_PRODUCT = (("productType", "product_type"), ("productName", "product_name"))
_VARIABLE = (("dataType", "data_type"), ("sourceName", "source_name"), ("sourceType", "source_type"))
_PASS = (("passType", "pass_type"), ("command", "command"), ("fileName", "file_name"))
_HELD = (
    ("renderVisibility", "rendered"),
    ("cameraVisibility", "camera_sees"),
    ("matte", "matte"),
    ("prune", "pruned"),
)


def render_role(prim: Any) -> str | None:
    """What a prim is among the render prims; None for one that is none."""
    return next((role for role, name in _TYPES.items() if prim.IsA(getattr(UsdRender, name))), None)


_ONE = ("camera", "renderSource")


def capture_render(scene: Scene, prims: Iterable[Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """The `render` and `passes` of a sheet from the render prims of a scene.

    Settings are written with the schema's fallbacks, so that one which fell back shows as what it fell back to;
    of products, variables and passes only what is authored.
    """
    by_role: dict[str | None, list[Any]] = {role: [] for role in _TYPES}
    for prim in prims:
        by_role[render_role(prim)].append(prim)
    render: dict[str, Any] = {}
    for prim, name in _named(by_role["settings"]):
        group = _values(scene, prim, _SETTINGS, authored_only=False)
        _related(prim, group, (("camera", "camera"), ("products", "products")))
        render["settings" if name in ("products", "vars") else name] = group
    variables = dict(_named(by_role["variable"]))
    products: dict[str, Any] = {}
    used: set[Any] = set()
    for prim, name in _named(by_role["product"]):
        group = {**_values(scene, prim, _PRODUCT), **_values(scene, prim, _FRAMING)}
        _related(prim, group, (("camera", "camera"),))
        held = {}
        for path in targets(prim, "orderedVars"):
            variable = scene.stage.GetPrimAtPath(path)
            if variable in variables:
                used.add(variable)
                held[variables[variable]] = _values(scene, variable, _VARIABLE, authored_only=False)
            else:
                scene.remarks.about(str(prim.GetPath()), f"its variables name {path}, which is not there.")
        if held:
            group["vars"] = held
        products[name] = group
    if products:
        render["products"] = products
    loose = {
        name: _values(scene, prim, _VARIABLE, authored_only=False)
        for prim, name in variables.items()
        if prim not in used
    }
    if loose:
        render["vars"] = loose
    return render, {name: _pass(scene, prim) for prim, name in _named(by_role["pass"])}


def _named(prims: Iterable[Any]) -> list[tuple[Any, str]]:
    by_path = {str(prim.GetPath()): prim for prim in prims}
    return [(by_path[path], name) for path, name in short_names(by_path).items()]


def _values(
    scene: Scene, prim: Any, rows: Iterable[tuple[str, str]], *, authored_only: bool = True
) -> dict[str, Any]:
    authored = authored_names(prim)
    core = core_properties(*(f"Render{name}" for name in _TYPES.values()))
    read = {
        name: scene.attributes.read(prim, attribute)
        for attribute, name in rows
        if attribute in authored or not authored_only
    }
    values = {name: value for name, value in read.items() if value is not None}
    for name, value in own_attributes(scene.attributes, prim, authored, core).items():
        near = is_slip("render", name) or is_slip("passes", name)
        (values.setdefault("custom", {}) if near else values).setdefault(name, value)
    return values


def _related(prim: Any, group: dict[str, Any], rows: Iterable[tuple[str, str]]) -> None:
    for relationship, name in rows:
        paths = targets(prim, relationship)
        if paths:
            group[name] = paths[0] if relationship in _ONE else paths


def _pass(scene: Scene, prim: Any) -> dict[str, Any]:
    authored = authored_names(prim)
    group = _values(scene, prim, _PASS)
    if isinstance(group.get("command"), list):
        group["command"] = shlex.join(group["command"])  # a list of words would read as a set
    _related(prim, group, (("renderSource", "render_source"), ("inputPasses", "input_passes")))
    for collection, name in _HELD:
        if any(one.startswith(f"collection:{collection}") for one in authored):
            group[name], gone = scene.links.members(prim, collection, authored)
            if gone:
                scene.remarks.about(
                    str(prim.GetPath()), f"its {name} names what is not there: {', '.join(gone)}."
                )
    return group
