"""UsdLux lights into the lights of a sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from pxr import UsdGeom, UsdLux

from samelight.sheets.parameters import LIGHT, LIGHT_TYPES, of_a_scene
from samelight.sources.keyed import frames_of, value_at
from samelight.sources.numbers import tidy
from samelight.sources.over_time import LINEAR
from samelight.sources.pictures.reduced import UnreadablePictureError
from samelight.sources.profiles.numbers import UnreadableProfileError
from samelight.sources.usd import attributes as table
from samelight.sources.usd.attributes import Attribute, Conversion, Keep
from samelight.sources.usd.custom import core_properties, merge, own_attributes, place
from samelight.sources.usd.instances import instance_track
from samelight.sources.usd.meshes import capture_mesh
from samelight.sources.usd.scene import Scene
from samelight.sources.usd.shapes import AIMED, placed, shines_to, sizes, stands_at
from samelight.sources.usd.values import authored_names, targets

NO_CONE = 180.0
HALF_A_SPHERE = 90.0
ONE_SIDED = frozenset({"distant", "rect", "disk", "portal"})
"""Shapes that shine to one side only, the distant one within its angle, so that a sharp cone of half a sphere takes nothing from them."""
_LINKED = (("lightLink", "light_links"), ("shadowLink", "shadow_links"))

Values = dict[str, Any]
_NODE, _SHADER = "info:id", "light:shaderId"


def capture_light(scene: Scene, prim: Any) -> Values:
    """One light of a sheet: type, place, aim, emission, shape, shaping, shadows, links and what is its own."""
    authored = authored_names(prim)
    shape = light_type(prim)
    light: Values = {"type": shape}
    if shape not in LIGHT_TYPES:
        node = scene.attributes.moment(prim, _NODE)
        scene.remarks.about(
            str(prim.GetPath()),
            f"{shape}{f' {node}' if node else ''} is not a light that UsdLux describes; its values are kept as they stand, "
            "and its level is not known.",
        )
    elif own := _own_shader(scene, prim):
        scene.remarks.about(
            str(prim.GetPath()),
            f"it is drawn by the shader {own}; its level is counted as that of a {shape} light.",
        )
    emission(scene, prim, authored, light)
    if shape != "portal":
        keep(scene, prim, authored, [table.NORMALIZE], light)
    shaped = _shaping(scene, prim, authored, light)
    track = instance_track(scene, prim, light) or scene.space.track(prim)
    keep(scene, prim, authored, [row for row in table.SHAPE if row.measure is not Conversion.SIZE], light)
    texture(scene, prim, light)
    if track is not None:
        sizes(scene, prim, track, light)
        placed(scene, prim, track, light, aimed=shape in AIMED or shaped)
        if shape == "mesh":
            capture_mesh(scene, prim, track, light)
    related(scene, prim, authored, light)
    merge(light, own_attributes(scene.attributes, prim, authored, core_of(prim), scene.space.metres))
    return light


def _own_shader(scene: Scene, prim: Any) -> str:
    """The shader that draws a light in the place of UsdLux's own; empty where none does."""
    shader = scene.attributes.moment(prim, _SHADER)
    return str(shader) if shader and shader != scene.attributes.fallback(prim, _SHADER) else ""


def core_of(prim: Any) -> frozenset[str]:
    """USD's own properties of a light; of one that is geometry, those of its geometry too."""
    types = (*(name for name, _ in table.LIGHT_TYPES), *table.DOME_TYPES, "PluginLight")
    return core_properties(*types, *((str(prim.GetTypeName()),) if prim.IsA(UsdGeom.Gprim) else ()))


def light_type(prim: Any) -> str:
    """The type of a sheet's light that a prim is, or the prim's own type name where there is none.

    By what a prim is, not by its type's name: a studio's type may derive from one of these.
    """
    for name, shape in table.LIGHT_TYPES:
        if prim.IsA(getattr(UsdLux, name)):
            return shape
    return "mesh" if prim.HasAPI(UsdLux.MeshLightAPI) else of_a_scene(str(prim.GetTypeName()))


def emission(scene: Scene, prim: Any, authored: set[str], light: Values) -> None:
    """Intensity, exposure, colour, temperature where it is on, multipliers, shadow controls."""
    keep(scene, prim, authored, table.EMISSION, light)
    switch = scene.attributes.read(prim, table.TEMPERATURE_SWITCH.usd)
    kelvin = scene.attributes.read(prim, table.TEMPERATURE.usd) if switch else None
    if isinstance(switch, dict):
        scene.remarks.about(
            str(prim.GetPath()),
            "enableColorTemperature is switched over time; the sheet has its temperature in the colour.",
        )
        light["color"] = _switched(switch, light["color"], kelvin)
        kelvin = None
    if kelvin is not None:
        light[table.TEMPERATURE.sheet] = kelvin
        coolest, hottest = table.SHOWN_TEMPERATURES
        if isinstance(kelvin, float) and not coolest <= kelvin <= hottest:
            shown = hottest if kelvin > hottest else coolest
            scene.remarks.about(
                str(prim.GetPath()), f"its temperature is {kelvin:g} K, which UsdLux shows as {shown:g} K."
            )
    keep(scene, prim, authored, table.SHADOW, light)
    for name in sorted(authored):
        attribute = prim.GetAttribute(name) if name.startswith("inputs:") else None
        if attribute and attribute.HasAuthoredConnections():
            source = ", ".join(str(path) for path in attribute.GetConnections())
            scene.remarks.about(
                str(prim.GetPath()),
                f"{name} is driven by {source}; the sheet holds its own value, not what drives it.",
            )


_JUST_BEFORE = 0.001
"""Time codes before a switch at which the colour is still as it was."""


def _switched(switch: Any, colour: Any, kelvin: Any) -> dict[str, Any]:
    """A colour over time, times that of the temperature wherever that is switched on."""
    steps = [key[0] for key in switch["keys"]]
    frames = sorted({*frames_of(colour, kelvin), *steps, *(step - _JUST_BEFORE for step in steps[1:])})

    def at(frame: float) -> list[float]:
        own = value_at(colour, frame)
        if not value_at(switch, frame):
            return [float(one) for one in own]
        warmth = UsdLux.BlackbodyTemperatureAsRgb(value_at(kelvin, frame))
        return [tidy(one * other) for one, other in zip(own, warmth, strict=True)]

    return {
        "keys": [[int(one) if one == int(one) else one, at(one)] for one in frames],
        "interpolation": LINEAR,
    }


def related(scene: Scene, prim: Any, authored: set[str], light: Values) -> None:
    """Links, filters, visibility and purpose."""
    missing: list[str] = []
    for collection, name in _LINKED if prim.HasAPI(UsdLux.LightAPI) else ():
        light[name], gone = scene.links.members(prim, collection, authored)
        missing += gone
    filters = targets(prim, "light:filters")
    if filters:
        light["filters"] = filters
        missing += [path for path in filters if not scene.stage.GetPrimAtPath(path)]
        linked = _filter_links(scene, filters)
        if linked:
            light["filter_links"] = linked
        light |= _filter_states(scene, filters)
    if prim.IsA(UsdLux.GeometryLight):
        light["geometry"] = targets(prim, "geometry")
    if missing:
        light["missing_links"] = sorted(set(missing))
        scene.remarks.about(
            str(prim.GetPath()), f"its links name what is not there: {', '.join(light['missing_links'])}."
        )
    visible = scene.space.visible(prim)
    if visible is not None and visible is not True:
        light["visible"] = visible
    imageable = UsdGeom.Imageable(prim)
    purpose = str(imageable.ComputePurpose()) if imageable else UsdGeom.Tokens.default_
    if purpose != UsdGeom.Tokens.default_:
        light["purpose"] = purpose


def _filter_states(scene: Scene, filters: Iterable[str]) -> Values:
    """What each filter of a light states, and where it stands and points: a door that closes changes the light."""
    stated: Values = {}
    for path in filters:
        prim = scene.stage.GetPrimAtPath(path)
        if not prim:
            continue
        name = prim.GetName()
        inputs: Values = {}
        for attribute in sorted(authored_names(prim)):
            if attribute.startswith(("xformOp", "collection:", "visibility")):
                continue
            value = scene.attributes.read(prim, attribute)
            if value is not None:
                place(inputs, attribute.removeprefix("inputs:").split(":"), value)
        if inputs:
            stated.setdefault("filter_values", {})[name] = inputs
        if not prim.IsActive():
            stated.setdefault("filter_values", {}).setdefault(name, {})["active"] = False
        track = scene.space.track(prim) if UsdGeom.Xformable(prim) else None
        if track is not None:
            aim = track.over_time(shines_to, circle=True)
            where = {"position": track.over_time(stands_at), **({} if aim is None else {"direction": aim})}
            stated.setdefault("filter_places", {})[name] = where
        shown = scene.space.visible(prim)
        if shown is not None and shown is not True:
            stated.setdefault("filter_values", {}).setdefault(name, {})["visible"] = shown
    return stated


def _filter_links(scene: Scene, filters: Iterable[str]) -> Values:
    """The links of filters that do not filter everything."""
    linked: Values = {}
    for path in filters:
        prim = scene.stage.GetPrimAtPath(path)
        if prim and prim.IsA(UsdLux.LightFilter):
            held, gone = scene.links.members(prim, "filterLink", authored_names(prim))
            if held != ["*"]:
                linked[prim.GetName()] = held
            if gone:
                scene.remarks.about(path, f"its links name what is not there: {', '.join(gone)}.")
    return linked


def keep(scene: Scene, prim: Any, authored: set[str], rows: Iterable[Attribute], light: Values) -> None:
    """Read rows of the table that a prim has into a light, as each row says."""
    for row in rows:
        if row.usd not in authored and not _counts_unauthored(scene, prim, row):
            continue
        value = scene.attributes.read(prim, row.usd)
        if value is None or (row.keep is Keep.OTHER and value == scene.attributes.fallback(prim, row.usd)):
            continue
        if row.measure is Conversion.LENGTH:
            value = _each(value, lambda number: tidy(number * scene.space.metres) if number > 0 else number)
        if row.sheet in table.COLOURS:
            value = scene.colours.to_sheet(prim.GetAttribute(row.usd), value)
        place(light, row.sheet.split("."), value)


def _counts_unauthored(scene: Scene, prim: Any, row: Attribute) -> bool:
    """Whether a sheet has to state what nobody authored: it would be read as something else."""
    if row.keep is not Keep.AUTHORED or row.sheet not in LIGHT:
        return row.keep is Keep.ALWAYS
    fallback = scene.attributes.fallback(prim, row.usd)
    return fallback is not None and fallback != LIGHT[row.sheet].unstated


def texture(scene: Scene, prim: Any, light: Values) -> None:
    """The texture of a rect or a dome with the hash of its file, and the file's pixels, reduced."""
    _file(scene, prim, table.TEXTURE, "its texture", "sha256", light)
    _say_space(scene, prim, light)
    latlong = not prim.IsA(UsdLux.RectLight)
    layout = scene.attributes.read(prim, table.FORMAT.usd) if latlong else None
    if "sha256" not in light or not scene.reads_pictures or layout not in (None, "latlong", "automatic"):
        return
    try:
        light["pixels"] = scene.files.picture(light["sha256"], latlong=latlong)
    except UnreadablePictureError as error:
        scene.remarks.about(
            str(prim.GetPath()), f"what its texture {light['texture']} looks like is not known: {error}."
        )


def _say_space(scene: Scene, prim: Any, light: Values) -> None:
    """A texture whose colour space the scene states: what its pixels are in, their file says."""
    attribute = prim.GetAttribute(table.TEXTURE.usd) if table.TEXTURE.sheet in light else None
    stated = str(attribute.GetColorSpace()) if attribute else ""
    if stated not in ("", "auto"):
        scene.remarks.about(
            str(prim.GetPath()), f"its texture is stated in {stated}; its pixels are read as their file says."
        )


def _file(scene: Scene, prim: Any, row: Attribute, what: str, hash_name: str, light: Values) -> None:
    path = scene.attributes.read(prim, row.usd)
    if not path:
        return
    light[row.sheet] = path
    # A hash beside a path that changes over time would belong to one of its files only.
    if isinstance(path, str):
        digest = scene.files.hash_of(prim, row.usd, scene.clock.rest, what)
        if digest is not None:
            light[hash_name] = digest


def _shaping(scene: Scene, prim: Any, authored: set[str], light: Values) -> bool:
    """Cone, focus and profile; whether the light, whatever its shape, has a direction by them."""
    is_shaped = prim.HasAPI(UsdLux.ShapingAPI)
    if not is_shaped and not any(name.startswith("inputs:shaping:") for name in authored):
        return False
    if not is_shaped:
        scene.remarks.about(
            str(prim.GetPath()), "it has shaping inputs without ShapingAPI; they are taken as meant."
        )
    cone, fades = (scene.attributes.read(prim, row.usd) for row in (table.CONE, table.SHAPING[0]))
    widest = HALF_A_SPHERE if light["type"] in ONE_SIDED and not fades else NO_CONE
    if isinstance(cone, dict) or (cone is not None and cone < widest):
        light[table.CONE.sheet] = cone
    keep(scene, prim, authored, table.SHAPING, light)
    _file(scene, prim, table.IES, "its profile", "ies_sha256", light)
    if "ies_sha256" in light:
        try:
            light["ies_profile"] = scene.files.profile(light["ies_sha256"])
        except UnreadableProfileError as error:
            scene.remarks.about(str(prim.GetPath()), f"its profile {light['ies']} is not counted: {error}.")
    focus = light.get("focus", 0.0)
    return "cone" in light or "ies" in light or isinstance(focus, dict) or focus > 0


def _each(value: Any, change: Callable[[float], float]) -> Any:
    if isinstance(value, dict):
        return {**value, "keys": [[frame, change(key)] for frame, key in value["keys"]]}
    return change(value)
