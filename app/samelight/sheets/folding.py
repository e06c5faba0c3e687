"""Several spellings of one thing into one canonical parameter, so that only meaning is compared.

Every spelling of a direction becomes `direction`; intensity, exposure, unit, normalisation, area and the
luminance of the colour become `level`; color and temperature become `colour`; a texture and its hash one file.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from samelight.light import colour as colours
from samelight.light import levels
from samelight.light.directions import (
    EULER_ORDERS,
    Vector,
    angle_between,
    direction_from_euler,
    direction_from_matrix,
    direction_from_target,
    from_azimuth_elevation,
    from_euler,
    position_from_matrix,
    to_y_up,
)
from samelight.sheets.errors import Found, Place
from samelight.sheets.quantities import Reader
from samelight.sheets.units import ANGLE, LIGHT, LIGHT_UNITS, STOPS, TEMPERATURE, parse_quantity
from samelight.sheets.values import Colour, FileRef, Level, Static

AGREEMENT = 1.0
"""Degrees by which two spellings of one direction in one light may differ before that is a fault."""

_FOLDED_AWAY = frozenset(
    {
        "azimuth",
        "elevation",
        "direction",
        "rotation",
        "rotation_order",
        "target",
        "matrix",
        "position",
        "intensity",
        "exposure",
        "unit",
        "normalize",
        "color",
        "temperature",
        "sha256",
    }
)
_SIZES = ("radius", "width", "height", "length")
_AIMLESS = frozenset({"point", "sphere"})
"""Shapes that shine alike to every side, so that without a cone they have no direction."""

EVERYTHING = frozenset({"*"})
"""What a light lights when its sheet states no links."""

Flat = dict[str, Any]
Rest = Callable[[str, Any], Static | None]
"""Reads a parameter that folds into nothing, by its leaf name."""


def flatten(data: Mapping[str, Any], prefix: str = "") -> Flat:
    """Nested mappings as one, names joined by dots; a curve stays whole.

    >>> flatten({"shadow": {"on": True}, "samples": 4})
    {'shadow.on': True, 'samples': 4}
    """
    flat: Flat = {}
    for name, value in data.items():
        if isinstance(value, dict) and not is_curve(value):
            flat.update(flatten(value, f"{prefix}{name}."))
        else:
            flat[prefix + name] = value
    return flat


def is_curve(value: Any) -> bool:
    """Whether a typed value is animated."""
    return isinstance(value, dict) and "keys" in value


def fold_plain(flat: Flat, read: Reader, place: Place, rest: Rest) -> dict[str, Static]:
    """Render settings, surfaces, passes and cost: nothing folds but a texture and its hash."""
    folded: dict[str, Static] = {}
    for name, typed in flat.items():
        if name == "sha256" and "texture" in flat:
            continue
        value = rest(name, typed)
        if value is not None:
            folded[name] = value
    _fold_texture(flat, folded)
    return folded


def fold_light(flat: Flat, read: Reader, place: Place, rest: Rest) -> dict[str, Static]:
    """A light: direction, position, level and colour, then the rest."""
    shape = str(flat.get("type", ""))
    folded: dict[str, Static] = {}
    others = _rest_of(flat, rest)
    if "type" in others:
        folded["type"] = others.pop("type")
    position = _position(flat, read, place)
    direction = _direction(flat, position, read, place)
    # Where a distant light stands, and where a bare point light points, changes nothing anyone can see.
    if direction is not None and not (shape in _AIMLESS and "cone" not in flat):
        folded["direction"] = direction
    if position is not None and shape != "distant":
        folded["position"] = position
    sizes = {
        name: value for name in (*_SIZES, "cone", "angle") if isinstance(value := others.get(name), float)
    }
    _fold_level_and_colour(flat, folded, read, place, shape, sizes)
    folded.update(others)
    folded.setdefault("links", EVERYTHING)
    _fold_texture(flat, folded)
    return folded


def fold_environment(flat: Flat, read: Reader, place: Place, rest: Rest) -> dict[str, Static]:
    """An environment: rotation about the vertical (and tilt where it is not upright), level, colour, the rest."""
    folded: dict[str, Static] = {}
    others = _rest_of(flat, rest)
    turned = _environment_rotation(flat, read, place)
    if turned is not None:
        folded["rotation"] = turned[0]
        if turned[1] > 1e-6:
            folded["tilt"] = turned[1]
    _fold_level_and_colour(flat, folded, read, place, "environment", {})
    folded.update(others)
    _fold_texture(flat, folded)
    return folded


def fold_camera(flat: Flat, read: Reader, place: Place, rest: Rest) -> dict[str, Static]:
    """A camera: position and direction, then the rest."""
    folded: dict[str, Static] = {}
    position = _position(flat, read, place)
    direction = _direction(flat, position, read, place)
    if position is not None:
        folded["position"] = position
    if direction is not None:
        folded["direction"] = direction
    folded.update(_rest_of(flat, rest))
    return folded


def fold_mark(flat: Flat, read: Reader, place: Place, rest: Rest) -> dict[str, Static]:
    """A mark: its position, and the normal of its surface where it has one."""
    folded: dict[str, Static] = {}
    if "position" in flat:
        position = read.position(flat["position"], (*place, "position"))
        if position is not None:
            folded["position"] = position
    else:
        read.faults.add(place, "a position", Found("none"))
    if flat.get("normal") is not None:
        normal = read.direction(flat["normal"], (*place, "normal"))
        if normal is not None:
            folded["normal"] = normal
    return folded


def _rest_of(flat: Flat, rest: Rest) -> dict[str, Static]:
    read = ((name, rest(name, typed)) for name, typed in flat.items() if name not in _FOLDED_AWAY)
    return {name: value for name, value in read if value is not None}


def _fold_texture(flat: Flat, folded: dict[str, Static]) -> None:
    texture = folded.get("texture")
    if isinstance(texture, FileRef) and isinstance(flat.get("sha256"), str):
        folded["texture"] = FileRef(texture.path, flat["sha256"].lower())


def _position(flat: Flat, read: Reader, place: Place) -> Vector | None:
    if flat.get("position") is not None:
        return read.position(flat["position"], (*place, "position"))
    matrix = _matrix(flat, read, place)
    if matrix is None:
        return None
    x, y, z = position_from_matrix(matrix)
    scale = read.conventions.length
    return to_y_up((x * scale, y * scale, z * scale), read.conventions.up_axis)


def _matrix(flat: Flat, read: Reader, place: Place) -> list[float] | None:
    matrix = flat.get("matrix")
    if matrix is None:
        return None
    rows = matrix if isinstance(matrix, list) else []
    if len(rows) == 4 and all(isinstance(row, list) and len(row) == 4 for row in rows):
        rows = [number for row in rows for number in row]
    numbers = read.numbers(rows, 16, None, (*place, "matrix")) if len(rows) == 16 else None
    if numbers is None and len(rows) != 16:
        read.faults.add((*place, "matrix"), "16 numbers, or four rows of four", matrix)
    return list(numbers) if numbers else None


def _direction(flat: Flat, position: Vector | None, read: Reader, place: Place) -> Vector | None:
    spellings: dict[str, Vector] = {}

    def add(name: str, make: Callable[[], Vector]) -> None:
        try:
            spellings[name] = make()
        except ValueError as error:
            read.faults.add((*place, name), "something that gives a direction", Found(str(error)))

    up_axis = read.conventions.up_axis
    if flat.get("direction") is not None:
        vector = read.direction(flat["direction"], (*place, "direction"))
        if vector is not None:
            spellings["direction"] = vector
    if flat.get("azimuth") is not None or flat.get("elevation") is not None:
        angles = _azimuth_elevation(flat, read, place)
        if angles is not None:
            north = read.conventions.north
            add("azimuth", lambda: from_azimuth_elevation(angles[0], angles[1], north))
    if flat.get("target") is not None:
        target = read.position(flat["target"], (*place, "target"))
        if target is not None and position is None:
            read.faults.add((*place, "target"), "a position beside the target", Found("none"))
        elif target is not None and position is not None:
            add("target", lambda: direction_from_target(position, target))
    if flat.get("rotation") is not None:
        turned = _euler(flat, read, place)
        if turned is not None:
            add("rotation", lambda: to_y_up(direction_from_euler(*turned), up_axis))
    matrix = _matrix(flat, read, place) if not spellings else None
    if matrix is not None:
        add("matrix", lambda: to_y_up(direction_from_matrix(matrix), up_axis))
    return _agreed(spellings, read, place)


def _agreed(spellings: dict[str, Vector], read: Reader, place: Place) -> Vector | None:
    if not spellings:
        return None
    (first, vector), *others = spellings.items()
    for name, other in others:
        apart = angle_between(vector, other)
        if apart > AGREEMENT:
            read.faults.add(
                (*place, name), f"the direction that {first} gives", Found(f"one {apart:.1f}° away")
            )
    return vector


def _azimuth_elevation(flat: Flat, read: Reader, place: Place) -> tuple[float, float] | None:
    read_angles: list[float] = []
    for name, other in (("azimuth", "elevation"), ("elevation", "azimuth")):
        if flat.get(name) is None:
            read.faults.add((*place, other), f"{name} beside {other}", Found("none"))
            return None
        angle = read.number(flat[name], ANGLE, (*place, name))
        if angle is not None:
            read_angles.append(angle)
    if len(read_angles) < 2:
        return None
    azimuth, elevation = read_angles
    if not -90.0 <= elevation <= 90.0:
        read.faults.add((*place, "elevation"), "an elevation from -90 to 90 degrees", flat["elevation"])
        return None
    return azimuth, elevation


def _euler(flat: Flat, read: Reader, place: Place) -> tuple[tuple[float, ...], str] | None:
    angles = read.numbers(flat["rotation"], 3, ANGLE, (*place, "rotation"))
    order = read.choice_of(flat.get("rotation_order", "XYZ"), EULER_ORDERS, (*place, "rotation_order"))
    return (angles, order) if angles and order else None


def _environment_rotation(flat: Flat, read: Reader, place: Place) -> tuple[float, float] | None:
    """Rotation (degrees in [0, 360), clockwise seen from above) and tilt of the pole off the vertical."""
    typed = flat.get("rotation")
    if typed is None and flat.get("matrix") is None:
        return None
    if typed is not None and not isinstance(typed, list):
        angle = read.number(typed, ANGLE, (*place, "rotation"))
        return None if angle is None else (angle % 360.0, 0.0)
    if typed is not None:
        turned = _euler(flat, read, place)
        if turned is None:
            return None
        matrix = from_euler(*turned)
        east, pole = matrix[:, 0].tolist(), matrix[:, 1].tolist()
    else:
        numbers = _matrix(flat, read, place)
        if numbers is None:
            return None
        east, pole = numbers[0:3], numbers[4:7]
    up_axis = read.conventions.up_axis
    x, _, z = to_y_up(east, up_axis)
    # A dome at rest has its pole along its own +Y; on a Z-up stage that is not yet upright.
    tilt = angle_between(to_y_up(pole, up_axis), (0.0, 1.0, 0.0))
    return math.degrees(math.atan2(z, x)) % 360.0, tilt


def _fold_level_and_colour(
    flat: Flat, folded: dict[str, Static], read: Reader, place: Place, shape: str, sizes: Mapping[str, float]
) -> None:
    space = read.conventions.working_space
    color = (1.0, 1.0, 1.0)
    if flat.get("color") is not None:
        color = read.color(flat["color"], (*place, "color")) or color
    kelvin = None
    if flat.get("temperature") is not None:
        kelvin = read.number(flat["temperature"], TEMPERATURE, (*place, "temperature"))
        if kelvin is not None and not 500.0 <= kelvin <= 100_000.0:
            read.faults.add(
                (*place, "temperature"), "a temperature from 500 to 100000 K", flat["temperature"]
            )
            kelvin = None
    level = _level(flat, read, place, shape, sizes)
    if level is not None:
        folded["level"] = Level(level.value * colours.luminance(color, space), level.quantity)
    uv = colours.light_chromaticity(color, kelvin, space)
    if uv is not None:
        folded["colour"] = Colour(*uv)


def _level(flat: Flat, read: Reader, place: Place, shape: str, sizes: Mapping[str, float]) -> Level | None:
    unit = read.conventions.level
    if flat.get("unit") is not None:
        unit = LIGHT_UNITS.get(str(flat["unit"]), "")
        if not unit:
            known = sorted(set(LIGHT_UNITS.values()))
            read.faults.add((*place, "unit"), f"one of {', '.join(known)}", flat["unit"])
            return None
    typed = flat.get("intensity", 1.0)
    quantity = parse_quantity(typed) if isinstance(typed, str) else None
    if quantity is not None and quantity.dimension == LIGHT:
        intensity: float | None = quantity.value
        unit = quantity.unit
    else:
        intensity = read.number(typed, None, (*place, "intensity"))
    exposure = read.number(flat.get("exposure", 0.0), STOPS, (*place, "exposure"))
    normalize = flat.get("normalize")
    if normalize is not None and not isinstance(normalize, bool):
        read.faults.add((*place, "normalize"), "true or false", normalize)
        return None
    if intensity is None or exposure is None:
        return None
    if intensity < 0:
        read.faults.add((*place, "intensity"), "an intensity of 0 or more", typed)
        return None
    area_unit = read.conventions.area_unit
    try:
        if unit == "relative":
            areal = {name: value for name, value in sizes.items() if name != "cone"}
            return Level(
                levels.emitted(
                    intensity, exposure, shape=shape, normalize=normalize, area_unit=area_unit, **areal
                ),
                levels.RELATIVE,
            )
        return Level(
            *levels.photometric(
                levels.effective(intensity, exposure),
                unit,
                shape=shape,
                normalize=normalize,
                area_unit=area_unit,
                **sizes,
            )
        )
    except ValueError as error:
        read.faults.add((*place, "intensity"), "a level that can be computed", Found(str(error)))
        return None
