"""The names a sheet may use, and what kind of quantity a parameter is by its name.

One name, one meaning, one unit. The kinds are those of the drift table: each is compared in its own terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from fnmatch import fnmatchcase
from functools import lru_cache

from samelight.sheets.patterns import matches

FORMAT_VERSION = 2

DIRECTION, LEVEL, COLOUR, TEMPERATURE, POSITION = "direction", "level", "colour", "temperature", "position"
LENGTH, ANGLE, COUNT, FRACTION, NUMBER = "length", "angle", "count", "fraction", "number"
SWITCH, CHOICE, TEXT, SET, FILE, DURATION = "switch", "choice", "text", "set", "file", "duration"
CURVE, PRESENCE = "curve", "presence"

KINDS: tuple[str, ...] = (
    DIRECTION,
    LEVEL,
    COLOUR,
    TEMPERATURE,
    POSITION,
    LENGTH,
    ANGLE,
    COUNT,
    FRACTION,
    NUMBER,
    SWITCH,
    CHOICE,
    TEXT,
    SET,
    FILE,
    DURATION,
)
"""Kinds a policy may assign; `curve` and `presence` follow from the values."""

COMPARED_SECTIONS: tuple[str, ...] = ("lights", "environments", "render", "surfaces", "passes", "cost")
"""Sections of a sheet that a master setup holds, in the order they are shown."""

LIT: tuple[str, ...] = ("lights", "environments")
"""Sections of which a master setup that says nothing has none. Of the others it then leaves every shot its own."""

SHEET_KEYS: frozenset[str] = frozenset(
    {
        "samelight",
        "shot",
        "version",
        "master",
        "frames",
        "sync_frame",
        "units",
        "up_axis",
        "north",
        "working_space",
        "camera",
        "marks",
        "notes",
        "remarks",
        "source",
        "setup",
        "key_shot",
        "published",
        *COMPARED_SECTIONS,
    }
)
UNITS_KEYS: frozenset[str] = frozenset({"length", "level", "area"})
MARK_KEYS: frozenset[str] = frozenset(
    {"position", "normal", "radius", "in_frame", "matte", "sees", "hidden_by", "in_view", "covered_by"}
)
OF_LIGHTS_AT_A_MARK: frozenset[str] = frozenset({"sees", "hidden_by"})
"""What a mark says of each light, by its name."""
CURVE_KEYS: frozenset[str] = frozenset({"keys", "interpolation"})

DIRECTION_INPUTS: tuple[str, ...] = (
    "azimuth",
    "elevation",
    "sun",
    "direction",
    "rotation",
    "rotation_order",
    "target",
    "matrix",
)
ROLL_INPUTS: tuple[str, ...] = ("roll", "rotation", "rotation_order", "matrix")
SUN_INPUTS: tuple[str, ...] = ("sun.latitude", "sun.longitude", "sun.date_time", "sun.elevation_m")
"""What stands inside a light's `sun`: place, date and time in place of a direction."""

FOLDED: dict[str, tuple[str, ...]] = {
    "direction": DIRECTION_INPUTS,
    "roll": ("roll",),
    "position": ("position", "matrix"),
    "level": ("intensity", "exposure", "unit", "normalize", "color"),
    "colour": ("color", "temperature"),
    "texture": ("texture", "sha256", "pixels"),
    "ies": ("ies", "ies_sha256", "ies_profile"),
    "mesh": ("mesh", "mesh_sha256", "mesh_triangles"),
    "instances": ("instances", "instances_sha256", "instances_places"),
}
"""Canonical parameter of a light or environment: the names as typed that fold into it."""

OF_FILES: tuple[str, ...] = ("texture", "ies", "mesh", "instances")
"""Canonical parameters that are a file or as long as one: its path or a word for it, the hash of its content, and what a sheet
keeps of that."""

PLACE = ("position", "direction", "roll", "axis")
"""Where a light stands and how it is turned: one deed, taken over or held as a whole."""


def together(section: str, leaf: str) -> tuple[str, ...]:
    """The parameters that are taken over or held together with one, itself among them.

    >>> together("lights", "direction"), together("lights", "level")
    (('position', 'direction', 'roll', 'axis'), ('level',))
    """
    return PLACE if section == "lights" and leaf in PLACE else (leaf,)


KEPT_OF_FILES = frozenset(FOLDED[leaf][2] for leaf in OF_FILES)
"""Names as typed of what a sheet keeps of a file: long, and not for a person to read."""

UNAUTHORED = "unauthored"
"""In a sheet's `source`, the names of each light that its scene does not author, so that they are the schema's fallback."""

BRIGHTNESS = "_level"
"""Ending of the level that stands beside a colour which is no light's: a shadow's, a tint's."""

_FROM_OTHERS = ("temperature", "type", "radius", "width", "height", "length", "angle", "cone", "area")
_AIMED_FROM = ("position", "matrix")
_TURNED_BY = ("rotation", "rotation_order", "matrix")


def typed_names(section: str, leaf: str) -> tuple[str, ...]:
    """The names as typed that fold into a canonical parameter of a section; its own name where nothing folds.

    >>> typed_names("lights", "colour"), typed_names("render", "range")
    (('color', 'temperature'), ('range',))
    """
    if section == "environments" and leaf in ("rotation", "tilt", "roll"):
        return _TURNED_BY
    if leaf == "roll":
        return ROLL_INPUTS
    if section in ("lights", "environments", "camera") and leaf in FOLDED:
        return FOLDED[leaf]
    if leaf in OF_FILES:
        return FOLDED[leaf]
    return (leaf, leaf.removesuffix(BRIGHTNESS)) if leaf.endswith(BRIGHTNESS) else (leaf,)


def bearing_names(section: str, leaf: str) -> tuple[str, ...]:
    """All typed names that a canonical parameter's value depends on: also the sizes and the temperature that a level counts.

    >>> "width" in bearing_names("lights", "level"), "width" in typed_names("lights", "level")
    (True, False)
    """
    names = typed_names(section, leaf)
    if section in ("lights", "environments") and leaf == "level":
        return (*names, *_FROM_OTHERS)
    if section in ("lights", "camera") and leaf in ("direction", "roll", "axis"):
        return (*dict.fromkeys((*names, *DIRECTION_INPUTS, *ROLL_INPUTS, *_AIMED_FROM, *SUN_INPUTS)),)
    return names


BY_NAME: tuple[tuple[str, str], ...] = (
    ("seen_by", SET),
    ("assigned_to", SET),
    ("links", SET),
    ("*_links", SET),
    ("filters", SET),
    ("hides", SET),
    ("holds", SET),
    ("includes", SET),
    ("excludes", SET),
    ("portals", SET),
    ("type", CHOICE),
    ("interpolation", CHOICE),
    ("format", CHOICE),
    ("frames", CHOICE),
    ("quality", CHOICE),
    ("on", SWITCH),
    ("visible", SWITCH),
    ("enable", SWITCH),
    ("enabled", SWITCH),
    ("enable_*", SWITCH),
    ("moves", SWITCH),
    ("treat_as_*", SWITCH),
    ("*samples", COUNT),
    ("*_samples_*", COUNT),
    ("samples_per_*", COUNT),
    ("*rays", COUNT),
    ("*bounces", COUNT),
    ("*_depth", COUNT),
    ("shade_area", FRACTION),
    ("softness", FRACTION),
    ("*_fraction", FRACTION),
    ("*opacity", FRACTION),
    ("*density", FRACTION),
    ("*threshold", FRACTION),
    ("mix", FRACTION),
    ("color", COLOUR),
    ("colour", COLOUR),
    ("tint", COLOUR),
    ("*_color", COLOUR),
    ("*_colour", COLOUR),
    ("*_tint", COLOUR),
    ("temperature", TEMPERATURE),
    ("*_temperature", TEMPERATURE),
    ("white_balance", TEMPERATURE),
    ("level", LEVEL),
    ("intensity", LEVEL),
    ("*_intensity", LEVEL),
    ("gain", LEVEL),
    ("exposure", LEVEL),
    ("diffuse", LEVEL),
    ("specular", LEVEL),
    ("direction", DIRECTION),
    ("axis", DIRECTION),
    ("normal", DIRECTION),
    ("position", POSITION),
    ("angle", ANGLE),
    ("*_angle", ANGLE),
    ("cone", ANGLE),
    ("*_cone", ANGLE),
    ("rotation", ANGLE),
    ("*_rotation", ANGLE),
    ("tilt", ANGLE),
    ("roll", ANGLE),
    ("azimuth", ANGLE),
    ("elevation", ANGLE),
    ("fov", ANGLE),
    ("texture", FILE),
    ("*_texture", FILE),
    ("ies", FILE),
    ("file", FILE),
    ("*_file", FILE),
    ("map", FILE),
    ("radius", LENGTH),
    ("width", LENGTH),
    ("height", LENGTH),
    ("length", LENGTH),
    ("range", LENGTH),
    ("step", LENGTH),
    ("distance", LENGTH),
    ("size", LENGTH),
    ("*_radius", LENGTH),
    ("*_range", LENGTH),
    ("*_step", LENGTH),
    ("*_distance", LENGTH),
    ("step_size", LENGTH),
    ("voxel_size", LENGTH),
    ("test_frame", DURATION),
    ("*_time", DURATION),
    ("duration", DURATION),
)

USUAL_WORDS: dict[str, tuple[str, ...]] = {"frames": ("held", "all")}
"""By the last part of a parameter's name, words that mean something there; others are welcome, a slip for one is not."""

Patterns = Sequence[tuple[str, str]]
"""Pairs of a parameter pattern, such as `render.*.range`, and a kind; the last that matches wins."""


@lru_cache(maxsize=65536)
def kind_by_name(leaf: str) -> str | None:
    """The kind of a parameter by the last part of its name, or None when the name says nothing.

    >>> kind_by_name("reflection_samples"), kind_by_name("shadow.distance"), kind_by_name("mood")
    ('count', 'length', None)
    """
    last = leaf.rpartition(".")[2]
    return next((kind for pattern, kind in BY_NAME if fnmatchcase(last, pattern)), None)


def kind_by_pattern(parameter: str, patterns: Patterns) -> str | None:
    """The kind that a policy's patterns give to a full parameter name, or None."""
    return next((kind for pattern, kind in reversed(patterns) if matches(pattern, parameter)), None)
