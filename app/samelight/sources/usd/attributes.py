"""Which UsdLux attribute becomes which name of a sheet: the one table that the capture itself goes by.

Meanings and fallbacks are those of the UsdLux schema (OpenUSD, pxr/usd/usdLux/schema.usda).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Keep(Enum):
    """When a value goes into the sheet."""

    ALWAYS = "written always, with the schema's fallback where nothing is authored"
    AUTHORED = "written when authored, or where the schema's fallback is another than a sheet takes it for"
    OTHER = "written where it is not the schema's fallback"
    APART = "has a rule of its own"


class Conversion(Enum):
    """What is done to a number on its way into the sheet."""

    PLAIN = "as usd-core reports it"
    LENGTH = "in metres"
    SIZE = "world size in metres, the transform's scale included"


@dataclass(frozen=True, slots=True)
class Attribute:
    """One UsdLux attribute; `sheet` is its name in the sheet, dots for nesting."""

    usd: str
    sheet: str
    note: str
    keep: Keep = Keep.AUTHORED
    measure: Conversion = Conversion.PLAIN


EMISSION = (
    Attribute("inputs:intensity", "intensity", "nit at exposure 0 where the colour is white", Keep.ALWAYS),
    Attribute("inputs:exposure", "exposure", "stops on top of intensity", Keep.ALWAYS),
    Attribute(
        "inputs:color",
        "color",
        "linear, in the rendering colour space; one that states a space of its own is taken there",
        Keep.ALWAYS,
    ),
    Attribute("inputs:diffuse", "diffuse", "multiplier of the diffuse response"),
    Attribute("inputs:specular", "specular", "multiplier of the specular response"),
    Attribute("light:materialSyncMode", "material_sync", "how a mesh light's own material glows", Keep.OTHER),
    Attribute("light:shaderId", "shader_id", "the renderer's shader for the light", Keep.OTHER),
    Attribute("info:id", "node_id", "PluginLight; the renderer's own light", Keep.OTHER),
)
NORMALIZE = Attribute(
    "inputs:normalize", "normalize", "power over size; not on domes and portals, which ignore it", Keep.ALWAYS
)
TEMPERATURE_SWITCH = Attribute(
    "inputs:enableColorTemperature", "temperature", "off: the sheet has no temperature", Keep.APART
)
TEMPERATURE = Attribute(
    "inputs:colorTemperature", "temperature", "kelvin, only where enableColorTemperature is on", Keep.APART
)
SHOWN_TEMPERATURES = (1000.0, 10000.0)
"""Kelvin; UsdLux's blackbody colour is clamped to this range."""
SHAPE = (
    Attribute("inputs:angle", "angle", "full apparent diameter of a distant light, degrees", Keep.ALWAYS),
    Attribute("inputs:radius", "radius", "sphere, disk, cylinder", Keep.ALWAYS, Conversion.SIZE),
    Attribute("inputs:width", "width", "rect, portal; along the light's x", Keep.ALWAYS, Conversion.SIZE),
    Attribute("inputs:height", "height", "rect, portal; along the light's y", Keep.ALWAYS, Conversion.SIZE),
    Attribute("inputs:length", "length", "cylinder; along the light's x", Keep.ALWAYS, Conversion.SIZE),
    Attribute("treatAsPoint", "treat_as_point", "sphere"),
    Attribute("treatAsLine", "treat_as_line", "cylinder"),
)
TEXTURE = Attribute(
    "inputs:texture:file",
    "texture",
    "path as authored, beside it the sha256 of the file and its pixels, reduced",
    Keep.APART,
)
FORMAT = Attribute("inputs:texture:format", "format", "dome", Keep.ALWAYS)
POLE = Attribute("poleAxis", "rotation, or matrix where the dome is not upright", "DomeLight_1", Keep.APART)
CONE = Attribute(
    "inputs:shaping:cone:angle",
    "cone",
    "half angle, degrees; ShapingAPI's fallback counts; left out where it is no cone: 180 or more, and 90 with a sharp edge "
    "on what shines to one side only",
    Keep.APART,
)
IES = Attribute("inputs:shaping:ies:file", "ies", "path as authored, beside it ies_sha256", Keep.APART)
SHAPING = (
    Attribute("inputs:shaping:cone:softness", "softness", "share of the cone that fades, 0..1"),
    Attribute("inputs:shaping:focus", "focus", "exponent of the cosine off the axis"),
    Attribute("inputs:shaping:focusTint", "focus_tint", "colour off the axis"),
    Attribute("inputs:shaping:ies:angleScale", "ies_angle_scale", "0 is unscaled"),
    Attribute("inputs:shaping:ies:normalize", "ies_normalize", "power of the profile set to 1"),
)
SHADOW = (
    Attribute("inputs:shadow:enable", "shadow.enable", "whether the light casts shadows"),
    Attribute("inputs:shadow:color", "shadow.color", "colour of the shadows"),
    Attribute(
        "inputs:shadow:distance", "shadow.distance", "negative is without limit", measure=Conversion.LENGTH
    ),
    Attribute("inputs:shadow:falloff", "shadow.falloff", "negative is none", measure=Conversion.LENGTH),
    Attribute("inputs:shadow:falloffGamma", "shadow.falloff_gamma", "exponent of the falloff"),
)
COLOURS = frozenset({"color", "focus_tint", "shadow.color"})
"""Names of a sheet that are colours, and so in some space."""
RELATED = (
    Attribute(
        "collection:lightLink",
        "light_links",
        'membership: "*" everything, PATH included, !PATH excluded',
        Keep.APART,
    ),
    Attribute("collection:shadowLink", "shadow_links", "as links", Keep.APART),
    Attribute(
        "light:filters",
        "filters",
        "paths of the light filters; beside it filter_values.FILTER, what each states, and filter_places.FILTER",
        Keep.APART,
    ),
    Attribute(
        "collection:filterLink",
        "filter_links.FILTER",
        "a filter's links where they are not everything",
        Keep.APART,
    ),
    Attribute("portals", "portals", "dome; paths of its portals", Keep.APART),
    Attribute("geometry", "geometry", "GeometryLight; paths of its geometry", Keep.APART),
    Attribute("visibility", "visible", "false where the light or anything above it is invisible", Keep.APART),
    Attribute("purpose", "purpose", "where it is not default, own or inherited", Keep.APART),
    Attribute(
        "xformOpOrder",
        "position, direction, axis",
        "world space of every transform above, metres, Y-up",
        Keep.APART,
    ),
)

LIGHT_TYPES: tuple[tuple[str, str], ...] = (
    ("DistantLight", "distant"),
    ("SphereLight", "sphere"),
    ("RectLight", "rect"),
    ("DiskLight", "disk"),
    ("CylinderLight", "cylinder"),
    ("PortalLight", "portal"),
    ("GeometryLight", "mesh"),
)
"""Typed lights and the type of a sheet's light; a prim with MeshLightAPI is `mesh`, others keep their own name."""

DOME_TYPES: tuple[str, ...] = ("DomeLight", "DomeLight_1")

ROWS: tuple[Attribute, ...] = (
    *EMISSION,
    NORMALIZE,
    TEMPERATURE_SWITCH,
    TEMPERATURE,
    *SHAPE,
    TEXTURE,
    FORMAT,
    POLE,
    CONE,
    *SHAPING[:3],
    IES,
    *SHAPING[3:],
    *SHADOW,
    *RELATED,
)
KNOWN = frozenset(row.usd for row in ROWS)


def attribute_table() -> list[tuple[str, str, str]]:
    """Every UsdLux attribute that is captured: its name, its name in a sheet, and what becomes of it.

    >>> [row[1] for row in attribute_table() if row[0] == "inputs:shaping:cone:softness"]
    ['softness']
    """
    return [(row.usd, row.sheet, _told(row)) for row in ROWS]


def _told(row: Attribute) -> str:
    parts = [row.note]
    if row.measure is not Conversion.PLAIN:
        parts.append(row.measure.value)
    if row.keep is not Keep.APART:
        parts.append(row.keep.value)
    return "; ".join(parts)
