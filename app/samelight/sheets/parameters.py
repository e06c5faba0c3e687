"""The parameters of fixed meaning: what each must be. The reader checks by it, and the JSON Schema is made of it.

A parameter that is not named here is welcome too, and is compared as what its value looks like.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from samelight.sheets.slips import meant
from samelight.sheets.vocabulary import (
    ANGLE,
    CHOICE,
    COLOUR,
    COUNT,
    DIRECTION,
    DURATION,
    FILE,
    FRACTION,
    LENGTH,
    LEVEL,
    NUMBER,
    POSITION,
    SET,
    SWITCH,
    TEMPERATURE,
    TEXT,
)


@dataclass(frozen=True, slots=True)
class Parameter:
    """What a parameter is: its kind, the range of its number in the canonical unit, and what it means."""

    kind: str
    means: str
    least: float | None = None
    most: float | None = None
    words: tuple[str, ...] = ()
    """The words that are understood, where it is a choice; see `is_of_a_scene` for what else it may be."""
    unstated: Any = None
    """What it is where a sheet does not state it, as typed; None where that is not one value. UsdLux's own fallbacks."""


LIGHT_TYPES: tuple[str, ...] = (
    "distant",
    "point",
    "sphere",
    "disk",
    "rect",
    "cylinder",
    "spot",
    "mesh",
    "portal",
)
"""Types whose light is understood; that of a scene's own is kept and compared as text."""


def is_of_a_scene(word: str) -> bool:
    """Whether a word may be the type of a scene's own light: as schemas call theirs, such as StudioLight.

    >>> [is_of_a_scene(word) for word in ("StudioLight", "PluginLight", "softbox", "Spot", "Rct")]
    [True, True, False, False, False]
    """
    return word[:1].isupper() and word.isprintable() and meant(word, LIGHT_TYPES) is None


def of_a_scene(word: str) -> str:
    """The type of a scene's own light as a sheet has it: with a capital, and unlike any that is understood.

    >>> of_a_scene("StudioLight"), of_a_scene("area"), of_a_scene("spots")
    ('StudioLight', 'Area', 'SpotsLight')
    """
    plain = "".join(one for one in word if one.isprintable()).strip()
    named = plain[:1].upper() + plain[1:]
    if is_of_a_scene(named):
        return named
    return f"{named}Light" if is_of_a_scene(f"{named}Light") else f"Light_{plain}"


COLDEST, HOTTEST = 500.0, 100_000.0
"""Kelvin. Outside this no source that one could mean has its colour."""

_EMISSION: Mapping[str, Parameter] = {
    "intensity": Parameter(LEVEL, "How bright, times two to the power of the exposure", least=0.0),
    "exposure": Parameter(NUMBER, "Stops on top of the intensity"),
    "unit": Parameter(CHOICE, "The unit of the intensity, where it is not the sheet's"),
    "normalize": Parameter(SWITCH, "Whether the intensity counts for the whole light, whatever its size"),
    "color": Parameter(COLOUR, "Linear red, green and blue in the working space"),
    "temperature": Parameter(TEMPERATURE, "Colour temperature, where one is in use", COLDEST, HOTTEST),
    "diffuse": Parameter(LEVEL, "Multiplier of diffuse response", least=0.0, unstated=1.0),
    "specular": Parameter(LEVEL, "Multiplier of specular response", least=0.0, unstated=1.0),
}
_SHADOW: Mapping[str, Parameter] = {
    "shadow.enable": Parameter(SWITCH, "Whether the light casts shadows", unstated=True),
    "shadow.color": Parameter(COLOUR, "The colour of shadows", unstated=[0.0, 0.0, 0.0]),
    "shadow.distance": Parameter(LENGTH, "How far shadows reach; -1 for no end", unstated=-1.0),
    "shadow.falloff": Parameter(NUMBER, "Over what distance shadows fade; -1 for none", unstated=-1.0),
    "shadow.falloff_gamma": Parameter(NUMBER, "How they fade", unstated=1.0),
}
_SEEN: Mapping[str, Parameter] = {
    "visible": Parameter(SWITCH, "Whether it is there at all", unstated=True),
    "seen_by": Parameter(SET, "The kinds of ray that see it"),
    "light_links": Parameter(SET, 'Scene paths that it lights; "*" for all'),
    "shadow_links": Parameter(SET, "Scene paths that cast its shadows"),
    "filters": Parameter(SET, "Filters on it"),
    "samples": Parameter(COUNT, "Samples", least=0.0),
}
_IMAGE: Mapping[str, Parameter] = {
    "texture": Parameter(FILE, "The image on it"),
    "sha256": Parameter(TEXT, "SHA-256 of that image's file"),
    "pixels": Parameter(TEXT, "That image, reduced, as capture writes it"),
}
_PLACED: Mapping[str, Parameter] = {
    "position": Parameter(POSITION, "Where it stands"),
    "direction": Parameter(DIRECTION, "Where it shines or looks to"),
    "azimuth": Parameter(ANGLE, "Where it comes from: clockwise from north, seen from above"),
    "elevation": Parameter(ANGLE, "Where it comes from: above the horizon", -90.0, 90.0),
    "target": Parameter(POSITION, "The place it is aimed at"),
    "roll": Parameter(ANGLE, "How its width is turned from level, clockwise as seen from behind it"),
}
# What else must hold, sunlight.py says.
SUN: Mapping[str, Parameter] = {
    "sun.latitude": Parameter(ANGLE, "Place that the sun is seen from: degrees north", -90.0, 90.0),
    "sun.longitude": Parameter(ANGLE, "Place that the sun is seen from: degrees east", -180.0, 360.0),
    "sun.date_time": Parameter(TEXT, "Date and time with its zone, such as 2026-03-02T06:40:00+01:00"),
    "sun.elevation_m": Parameter(NUMBER, "Metres of that place above sea level", -1000.0, 11000.0),
}

LIGHT: Mapping[str, Parameter] = {
    "type": Parameter(CHOICE, f"Its shape: {', '.join(LIGHT_TYPES)}", words=LIGHT_TYPES),
    **_PLACED,
    **SUN,
    **_EMISSION,
    "radius": Parameter(LENGTH, "Radius of a sphere, disk, cylinder or spot", least=0.0),
    "width": Parameter(LENGTH, "Width of a rect", least=0.0),
    "height": Parameter(LENGTH, "Height of a rect", least=0.0),
    "length": Parameter(LENGTH, "Length of a cylinder", least=0.0),
    "axis": Parameter(DIRECTION, "What a cylinder lies along"),
    "angle": Parameter(ANGLE, "Full apparent diameter of a distant light", 0.0, 360.0),
    "cone": Parameter(ANGLE, "Half angle of a spot, off its axis", 0.0, 180.0),
    "softness": Parameter(FRACTION, "Share of the cone that fades", least=0.0, unstated=0.0),
    "focus": Parameter(NUMBER, "Exponent by which light gathers around the axis", unstated=0.0),
    "focus_tint": Parameter(COLOUR, "Colour off the axis", unstated=[0.0, 0.0, 0.0]),
    "ies": Parameter(FILE, "Photometric profile"),
    "ies_sha256": Parameter(TEXT, "SHA-256 of that profile's file"),
    "ies_profile": Parameter(TEXT, "That profile, as capture writes it"),
    "area": Parameter(NUMBER, "Area of a mesh, square metres", least=0.0),
    "mesh": Parameter(FILE, "Geometry that is the light, in words"),
    "mesh_sha256": Parameter(TEXT, "SHA-256 of its triangles"),
    "mesh_triangles": Parameter(TEXT, "Its triangles, as capture writes them"),
    "instances": Parameter(FILE, "How often the light stands there, in words"),
    "instances_sha256": Parameter(TEXT, "SHA-256 of where its instances stand"),
    "instances_places": Parameter(TEXT, "Where its instances stand, as capture writes it"),
    "ies_angle_scale": Parameter(NUMBER, "Scale of its angles", unstated=0.0),
    "ies_normalize": Parameter(
        SWITCH, "Whether the profile only shapes the light and does not dim it", unstated=False
    ),
    "treat_as_point": Parameter(SWITCH, "Whether a sphere counts as a point", unstated=False),
    "treat_as_line": Parameter(SWITCH, "Whether a cylinder counts as a line", unstated=False),
    **_IMAGE,
    **_SEEN,
    **_SHADOW,
}
ENVIRONMENT: Mapping[str, Parameter] = {
    **_IMAGE,
    "format": Parameter(CHOICE, "How the image is laid out"),
    "rotation": Parameter(ANGLE, "Degrees clockwise, seen from above"),
    **_EMISSION,
    **_SEEN,
    **_SHADOW,
}
CAMERA: Mapping[str, Parameter] = {
    **_PLACED,
    "moves": Parameter(SWITCH, "Whether it moves during the shot"),
    "focal_length_mm": Parameter(NUMBER, "Focal length, millimetres"),
    "horizontal_aperture_mm": Parameter(NUMBER, "Width of its aperture, millimetres"),
    "vertical_aperture_mm": Parameter(NUMBER, "Height of its aperture, millimetres"),
    "horizontal_offset_mm": Parameter(NUMBER, "How far its aperture is shifted to the right, millimetres"),
    "vertical_offset_mm": Parameter(NUMBER, "How far its aperture is shifted up, millimetres"),
    "fov": Parameter(ANGLE, "Full angle of view across", 0.0, 180.0),
    "vertical_fov": Parameter(ANGLE, "Full angle of view from below to above", 0.0, 180.0),
    "overscan": Parameter(FRACTION, "How much wider and higher its frames are than what it takes in"),
    "projection": Parameter(TEXT, "orthographic, where it has no perspective"),
}
MARK: Mapping[str, Parameter] = {
    "position": Parameter(POSITION, "Where the mark is"),
    "normal": Parameter(DIRECTION, "Where its surface faces"),
    "radius": Parameter(LENGTH, "How far around it is looked at in the shot's frame", least=0.0),
    "in_frame": Parameter(
        NUMBER,
        "Where it is looked at in the shot's frame instead: left, top, right and bottom, in shares of it or in pixels",
    ),
    "matte": Parameter(TEXT, "The layer, or the object of an ID matte, that alone is looked at there"),
    "sees": Parameter(FRACTION, "Of each light by its name, the share of it that nothing hides", 0.0, 1.0),
    "hidden_by": Parameter(TEXT, "Of each light by its name, what hides most of it"),
    "in_view": Parameter(FRACTION, "The share of it that nothing hides from the shot's camera", 0.0, 1.0),
    "covered_by": Parameter(TEXT, "What hides most of it from the shot's camera"),
}
PASS: Mapping[str, Parameter] = {
    "hides": Parameter(SET, "What is left out of the pass"),
    "holds": Parameter(SET, "What is held out of the pass"),
}
COST: Mapping[str, Parameter] = {
    "test_frame": Parameter(DURATION, "Time that a test frame took to render", least=0.0),
}

OF_SECTION: Mapping[str, Mapping[str, Parameter]] = {
    "lights": LIGHT,
    "environments": ENVIRONMENT,
    "camera": CAMERA,
    "marks": MARK,
    "passes": PASS,
    "cost": COST,
}
"""By section of a sheet."""

ALSO_MEANT: Mapping[str, tuple[str, ...]] = {
    "environments": ("tilt", "roll", "portals"),
    "passes": ("frames", "includes", "excludes"),
    "cost": ("resolution",),
    "render": ("range", "bounces", "rays", "samples"),
    "surfaces": ("shade_area", "reflection_samples", "assigned_to", "seen_by", "samples"),
}
"""By section, names that are usual in it beside those above, so that a slip for one is noticed."""
