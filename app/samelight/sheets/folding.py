"""Several spellings of one thing into one canonical parameter, so that only meaning is compared.

Every spelling of a direction becomes `direction`; intensity, exposure, unit, normalisation, area and the
luminance of the colour become `level`; color and temperature become `colour`; a texture and its hash one file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from samelight.light.noise import figure
from samelight.light.rolling import FULL
from samelight.sheets.aiming import Aim, aimed, environment_turn, level_about, roll_about
from samelight.sheets.emission import Stated, emission
from samelight.sheets.errors import Found, Place
from samelight.sheets.parameters import MARK
from samelight.sheets.quantities import Reader
from samelight.sheets.values import Colour, FileRef, Level, Roll, Static, in_figures
from samelight.sheets.vocabulary import CURVE_KEYS, FOLDED, OF_FILES, OF_LIGHTS_AT_A_MARK, SUN_INPUTS

_AIM = frozenset({"azimuth", "elevation", "direction", "rotation", "rotation_order", "roll", "target"})
_PLACE = frozenset({"position", "matrix"})
_EMISSION = frozenset({"intensity", "exposure", "unit", "normalize", "color", "temperature"})

FOLDED_AWAY: Mapping[str, frozenset[str]] = {
    "lights": _AIM | frozenset(SUN_INPUTS) | _PLACE | _EMISSION,
    "environments": _EMISSION | {"rotation", "rotation_order", "matrix"},
    "camera": _AIM | _PLACE,
    "marks": frozenset({"position", "normal", "radius", "in_frame", "matte"}),
}
"""By section, the names as typed that have no canonical parameter of their own."""

_SIZES = ("radius", "width", "height", "length", "cone", "angle", "area")
WITHOUT_RADIUS = {"sphere": "treat_as_point", "cylinder": "treat_as_line"}
"""By shape, what UsdLux calls a light that is to count as one without a radius."""
_AIMLESS = frozenset({"point", "sphere", "cylinder"})
"""Shapes that shine alike to every side, so that without a cone, focus or profile they have no direction."""
_SHAPING = frozenset({"cone", "focus", "ies"})
_ROUND = frozenset({"distant", "point", "sphere", "disk", "spot", "cylinder", ""})
"""Shapes that look the same however they are rolled about the way they shine, unless by a profile. A cylinder has its axis."""
_RECTANGLES = frozenset({"rect", "portal"})

EVERYTHING = frozenset({"*"})
"""What a light lights when its sheet states no links."""

Flat = dict[str, Any]
Folded = dict[str, Static]
Keep = Callable[[Flat], Folded]
"""Reads parameters that fold into nothing, each by itself."""

Fold = Callable[[Flat, Reader, Place, Keep], Folded]


def flatten(data: Mapping[str, Any], read: Reader, place: Place, prefix: str = "") -> Flat:
    """Nested mappings as one, names joined by dots; a curve stays whole.

    A parameter that is stated both ways, as `shadow.enable` and inside `shadow`, is a fault, and so is a mapping
    that can only be a misspelt curve.
    """
    if dict not in map(type, data.values()):
        return {prefix + name: value for name, value in data.items()} if prefix else dict(data)
    flat: Flat = {}
    for name, value in data.items():
        full = prefix + name
        if type(value) is not dict or is_curve(value):
            if full in flat:
                _note_second(full, read, place)
            flat[full] = value
            continue
        inner = (*place, name)
        if "interpolation" in value:
            read.faults.add(inner, "keys beside the interpolation", Found("none"))
        for below, item in flatten(value, read, inner, f"{full}.").items():
            if below in flat:
                _note_second(below, read, place)
            flat[below] = item
    return flat


def _note_second(name: str, read: Reader, place: Place) -> None:
    found = Found(f"it inside {name.partition('.')[0]} as well")
    read.faults.add((*place, name), "each parameter once", found)


def is_curve(value: Any) -> bool:
    """Whether a typed value is animated.

    >>> is_curve({"keys": [[1, 2]]}), is_curve({"keys": {"shade_area": 1}}), is_curve({"keys": {"1": 2}})
    (True, False, True)
    """
    if not isinstance(value, dict) or "keys" not in value:
        return False
    keys = value["keys"]
    # A mapping may be a group that happens to be called keys, unless its names are frames.
    return not isinstance(keys, dict) or value.keys() == CURVE_KEYS or all(_is_frame(name) for name in keys)


def _is_frame(name: str) -> bool:
    try:
        float(name)
    except ValueError:
        return False
    return True


@dataclass(frozen=True, slots=True)
class Inputs:
    """Of the names that a group states, those that its aim, its emission, its sizes and everything else are read from."""

    aim: tuple[str, ...]
    emission: tuple[str, ...]
    sizes: tuple[str, ...]
    rest: tuple[str, ...]
    files: tuple[str, ...]
    """Of the rest, what is a file."""
    is_shaped: bool
    """Whether it has what sends light one way more than others."""


@lru_cache(maxsize=4096)
def inputs_of(section: str, names: tuple[str, ...]) -> Inputs:
    folded_away = FOLDED_AWAY.get(section, frozenset())
    return Inputs(
        tuple(name for name in names if name in _AIM or name in _PLACE or name.startswith("sun.")),
        tuple(name for name in names if name in _EMISSION),
        tuple(name for name in _SIZES if name in names),
        tuple(name for name in names if name not in folded_away),
        tuple(name for name in OF_FILES if name in names),
        not _SHAPING.isdisjoint(names),
    )


def _taken(names: tuple[str, ...], flat: Flat) -> Flat:
    return dict(zip(names, map(flat.__getitem__, names), strict=True))


def _rest(inputs: Inputs, flat: Flat) -> Flat:
    """What folds into nothing; the hash of a file, and what is kept of it, fold into the file."""
    rest = _taken(inputs.rest, flat)
    for leaf in inputs.files:
        if rest.get(leaf) is not None:
            for name in FOLDED[leaf][1:]:
                if isinstance(rest.get(name), str):
                    del rest[name]
    return rest


def fold_plain(flat: Flat, read: Reader, place: Place, keep: Keep) -> Folded:
    """Render settings, surfaces, passes and cost: nothing folds but a texture and its hash."""
    inputs = inputs_of("", tuple(flat))
    return _with_hash(keep(_rest(inputs, flat)), flat, inputs)


def fold_light(flat: Flat, read: Reader, place: Place, keep: Keep) -> Folded:
    """A light: type, direction, position, level and colour, then the rest."""
    inputs = inputs_of("lights", tuple(flat))
    others = keep(_rest(inputs, flat))
    folded: Folded = {}
    shape = others.pop("type", "")
    if isinstance(shape, str) and shape:
        folded["type"] = shape
    shape = str(shape)
    aim = aimed(_taken(inputs.aim, flat), read, place)
    folded.update(aim_of_shape(aim, shape, inputs, "axis" in others))
    stated = _taken(inputs.emission, flat), sizes_of(others, shape, inputs)
    folded.update(named_emission(emission(stated, read, place, shape)))
    folded.update(others)
    folded.setdefault("light_links", EVERYTHING)
    return _with_hash(folded, flat, inputs)


def aim_of_shape(aim: Aim, shape: str, inputs: Inputs, states_axis: bool) -> Folded:
    """Where a light of a shape shines, how it is rolled about that, its axis and where it stands."""
    folded: Folded = {}
    position, direction, across, rolled = aim
    # Where a distant light stands, and where a bare point light points, changes nothing anyone can see.
    if direction is not None and (shape not in _AIMLESS or inputs.is_shaped):
        folded["direction"] = direction
        if across is not None and (rolled or shape not in _ROUND or "ies" in inputs.rest):
            plain = shape in _RECTANGLES and not ("ies" in inputs.rest or "texture" in inputs.rest)
            folded["roll"] = Roll(roll_about(direction, across), direction, FULL / 2.0 if plain else FULL)
    if shape == "cylinder" and direction is not None and not states_axis:
        folded["axis"] = in_figures(across or level_about(direction))
    if position is not None and shape != "distant":
        folded["position"] = position
    return folded


def sizes_of(others: Mapping[str, Static], shape: str, inputs: Inputs) -> dict[str, float]:
    """The sizes among the parameters of a light of a shape, in metres and degrees."""
    sizes = {name: value for name in inputs.sizes if isinstance(value := others.get(name), float)}
    if others.get(WITHOUT_RADIUS.get(shape, "")) is True:
        sizes["radius"] = 0.0
    return sizes


def named_emission(emitted: tuple[Level | None, Colour | None]) -> Folded:
    """A level and a colour, as far as there are any."""
    return {
        name: value for name, value in zip(("level", "colour"), emitted, strict=True) if value is not None
    }


def fold_environment(flat: Flat, read: Reader, place: Place, keep: Keep) -> Folded:
    """An environment: rotation about the vertical (tilt and roll too where it is not upright), level, colour, the rest."""
    folded: Folded = {}
    inputs = inputs_of("environments", tuple(flat))
    turned = environment_turn(flat, read, place)
    if turned is not None:
        folded["rotation"] = turned.rotation
        if turned.tilt or turned.roll:
            folded["tilt"], folded["roll"] = figure(turned.tilt), figure(turned.roll)
    stated: Stated = _taken(inputs.emission, flat), {}
    folded.update(named_emission(emission(stated, read, place, "environment")))
    folded.update(keep(_rest(inputs, flat)))
    return _with_hash(folded, flat, inputs)


def fold_camera(flat: Flat, read: Reader, place: Place, keep: Keep) -> Folded:
    """A camera: position, direction and, where its sheet tells, roll, then the rest."""
    folded: Folded = {}
    inputs = inputs_of("camera", tuple(flat))
    position, direction, across, _ = aimed(_taken(inputs.aim, flat), read, place)
    if position is not None:
        folded["position"] = position
    if direction is not None:
        folded["direction"] = direction
        if across is not None:
            folded["roll"] = Roll(roll_about(direction, across), direction)
    folded.update(keep(_rest(inputs, flat)))
    return folded


_RECTANGLE = "left, top, right and bottom of a place in the frame, such as [0.4, 0.2, 0.5, 0.45]"


def _rectangle(value: Any, read: Reader, place: Place) -> tuple[float, ...] | None:
    edges = read.numbers(value, 4, None, place, _RECTANGLE)
    if edges is not None and not (0.0 <= edges[0] < edges[2] and 0.0 <= edges[1] < edges[3]):
        read.faults.add(place, _RECTANGLE, value)
        return None
    return edges


_OF_A_MARK: Mapping[str, Callable[[Any, Reader, Place], Static | None]] = {
    "normal": lambda value, read, place: read.direction(value, place),
    "radius": lambda value, read, place: read.known(value, MARK["radius"], place),
    "in_frame": _rectangle,
    "matte": lambda value, read, place: read.known(value, MARK["matte"], place),
    "in_view": lambda value, read, place: read.known(value, MARK["in_view"], place),
    "covered_by": lambda value, read, place: read.known(value, MARK["covered_by"], place),
}
"""What a mark may state beside its position and its lights, and how each is read."""


def fold_mark(flat: Flat, read: Reader, place: Place, keep: Keep) -> Folded:
    """A mark: its position, the normal of its surface where it has one, where it is looked at, and what it sees of each light."""
    folded: Folded = {}
    if "position" not in flat:
        read.faults.add(place, "a position", Found("none"))
    elif flat["position"] is not None:
        position = read.position(flat["position"], (*place, "position"))
        if position is not None:
            folded["position"] = in_figures(position)
    for name, reads in _OF_A_MARK.items():
        if flat.get(name) is not None:
            found = reads(flat[name], read, (*place, name))
            if found is not None:
                folded[name] = in_figures(found)
    for name, value in flat.items():
        of, _, light = name.partition(".")
        if of in OF_LIGHTS_AT_A_MARK and light:
            found = read.known(value, MARK[of], (*place, of, light))
            if found is not None:
                folded[name] = in_figures(found)
        elif of in OF_LIGHTS_AT_A_MARK and value is not None:
            read.faults.add((*place, of), "lights by name", value)
    return folded


FOLDS: Mapping[str, Fold] = {
    "lights": fold_light,
    "environments": fold_environment,
    "render": fold_plain,
    "surfaces": fold_plain,
    "passes": fold_plain,
    "cost": fold_plain,
    "camera": fold_camera,
    "marks": fold_mark,
}
"""How a group of each section folds."""


def _with_hash(folded: Folded, flat: Flat, inputs: Inputs) -> Folded:
    for leaf in inputs.files:
        file = folded.get(leaf)
        if isinstance(file, FileRef):
            digest, holds = (
                stated if isinstance(stated := flat.get(name), str) else "" for name in FOLDED[leaf][1:]
            )
            if digest or holds:
                folded[leaf] = FileRef(file.path, digest.lower(), holds)
    return folded
