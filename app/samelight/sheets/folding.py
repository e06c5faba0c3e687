"""Several spellings of one thing into one canonical parameter, so that only meaning is compared.

Every spelling of a direction becomes `direction`; intensity, exposure, unit, normalisation, area and the
luminance of the colour become `level`; color and temperature become `colour`; a texture and its hash one file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from samelight.sheets.aiming import direction_of, environment_turn, matrix_of, position_of
from samelight.sheets.emission import fold_level_and_colour
from samelight.sheets.errors import Found, Place
from samelight.sheets.quantities import Reader
from samelight.sheets.values import FileRef, Static
from samelight.sheets.vocabulary import CURVE_KEYS, SUN_INPUTS

_AIM = frozenset({"azimuth", "elevation", "direction", "rotation", "rotation_order", "target"})
_PLACE = frozenset({"position", "matrix"})
_EMISSION = frozenset({"intensity", "exposure", "unit", "normalize", "color", "temperature"})

FOLDED_AWAY: Mapping[str, frozenset[str]] = {
    "lights": _AIM | frozenset(SUN_INPUTS) | _PLACE | _EMISSION,
    "environments": _EMISSION | {"rotation", "rotation_order", "matrix"},
    "camera": _AIM | _PLACE,
    "marks": frozenset({"position", "normal"}),
}
"""By section, the names as typed that have no canonical parameter of their own."""

_SIZES = ("radius", "width", "height", "length", "cone", "angle")
_AIMLESS = frozenset({"point", "sphere"})
"""Shapes that shine alike to every side, so that without a cone they have no direction."""

EVERYTHING = frozenset({"*"})
"""What a light lights when its sheet states no links."""

Flat = dict[str, Any]
Keep = Callable[[str, Any, dict[str, Static]], None]
"""Reads a parameter that folds into nothing, by its leaf name, into the folded ones."""

Fold = Callable[[Flat, Reader, Place, Keep], dict[str, Static]]


def flatten(data: Mapping[str, Any], read: Reader, place: Place, prefix: str = "") -> Flat:
    """Nested mappings as one, names joined by dots; a curve stays whole.

    A parameter that is stated both ways, as `shadow.enable` and inside `shadow`, is a fault, and so is a mapping
    that can only be a misspelt curve.
    """
    flat: Flat = {}
    for name, value in data.items():
        if isinstance(value, dict) and not is_curve(value):
            inner = (*place, name)
            if "interpolation" in value:
                read.faults.add(inner, "the keys that the interpolation is for", Found("none"))
            for below, item in flatten(value, read, inner, f"{prefix}{name}.").items():
                _put(flat, below, item, read, place)
        else:
            _put(flat, prefix + name, value, read, place)
    return flat


def _put(flat: Flat, name: str, value: Any, read: Reader, place: Place) -> None:
    if name in flat:
        read.faults.add(
            (*place, name), "each parameter once", Found(f"it inside {name.partition('.')[0]} as well")
        )
    flat[name] = value


def is_curve(value: Any) -> bool:
    """Whether a typed value is animated.

    >>> is_curve({"keys": [[1, 2]]}), is_curve({"keys": {"shading_rate": 1}}), is_curve({"keys": {"1": 2}})
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


def fold_plain(flat: Flat, read: Reader, place: Place, keep: Keep) -> dict[str, Static]:
    """Render settings, surfaces, passes and cost: nothing folds but a texture and its hash."""
    folded: dict[str, Static] = {}
    _keep_rest(flat, frozenset(), folded, keep)
    _fold_texture(flat, folded)
    return folded


def fold_light(flat: Flat, read: Reader, place: Place, keep: Keep) -> dict[str, Static]:
    """A light: type, direction, position, level and colour, then the rest."""
    others: dict[str, Static] = {}
    _keep_rest(flat, FOLDED_AWAY["lights"], others, keep)
    folded: dict[str, Static] = {}
    shape = others.pop("type", "")
    if isinstance(shape, str) and shape:
        folded["type"] = shape
    shape = str(shape)
    matrix = matrix_of(flat, read, place)
    position = position_of(flat, matrix, read, place)
    direction = direction_of(flat, position, matrix, read, place)
    # Where a distant light stands, and where a bare point light points, changes nothing anyone can see.
    if direction is not None and not (shape in _AIMLESS and "cone" not in flat):
        folded["direction"] = direction
    if position is not None and shape != "distant":
        folded["position"] = position
    sizes = {name: value for name in _SIZES if isinstance(value := others.get(name), float)}
    fold_level_and_colour(flat, folded, read, place, shape, sizes)
    folded.update(others)
    folded.setdefault("links", EVERYTHING)
    _fold_texture(flat, folded)
    return folded


def fold_environment(flat: Flat, read: Reader, place: Place, keep: Keep) -> dict[str, Static]:
    """An environment: rotation about the vertical (and tilt where it is not upright), level, colour, the rest."""
    folded: dict[str, Static] = {}
    turned = environment_turn(flat, read, place)
    if turned is not None:
        folded["rotation"] = turned[0]
        if turned[1] > 1e-6:
            folded["tilt"] = turned[1]
    fold_level_and_colour(flat, folded, read, place, "environment", {})
    _keep_rest(flat, FOLDED_AWAY["environments"], folded, keep)
    _fold_texture(flat, folded)
    return folded


def fold_camera(flat: Flat, read: Reader, place: Place, keep: Keep) -> dict[str, Static]:
    """A camera: position and direction, then the rest."""
    folded: dict[str, Static] = {}
    matrix = matrix_of(flat, read, place)
    position = position_of(flat, matrix, read, place)
    direction = direction_of(flat, position, matrix, read, place)
    if position is not None:
        folded["position"] = position
    if direction is not None:
        folded["direction"] = direction
    _keep_rest(flat, FOLDED_AWAY["camera"], folded, keep)
    return folded


def fold_mark(flat: Flat, read: Reader, place: Place, keep: Keep) -> dict[str, Static]:
    """A mark: its position, and the normal of its surface where it has one."""
    folded: dict[str, Static] = {}
    if flat.get("position") is None:
        read.faults.add(place, "a position", Found("none"))
    else:
        position = read.position(flat["position"], (*place, "position"))
        if position is not None:
            folded["position"] = position
    if flat.get("normal") is not None:
        normal = read.direction(flat["normal"], (*place, "normal"))
        if normal is not None:
            folded["normal"] = normal
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


def _keep_rest(flat: Flat, folded_away: frozenset[str], folded: dict[str, Static], keep: Keep) -> None:
    for name, typed in flat.items():
        of_texture = name == "sha256" and isinstance(typed, str) and flat.get("texture") is not None
        if name not in folded_away and not of_texture:
            keep(name, typed, folded)


def _fold_texture(flat: Flat, folded: dict[str, Static]) -> None:
    texture, digest = folded.get("texture"), flat.get("sha256")
    if isinstance(texture, FileRef) and isinstance(digest, str):
        folded["texture"] = FileRef(texture.path, digest.lower())
