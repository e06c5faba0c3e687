"""The format of a sheet as a JSON Schema (draft 2020-12), made of the same tables that the reader checks by.

It serves editors and other programs. It says what each key may hold by itself; what must agree with what, such as
an azimuth with its elevation, only the reader checks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from samelight.light.colour import SPACES
from samelight.light.directions import EULER_ORDERS
from samelight.sheets import units
from samelight.sheets import vocabulary as kinds
from samelight.sheets.conventions import LARGEST_UNIT, LEVEL_UNITS, SMALLEST_UNIT
from samelight.sheets.parameters import (
    CAMERA,
    COST,
    ENVIRONMENT,
    LIGHT,
    LIGHT_TYPES,
    MARK,
    PASS,
    Parameter,
)
from samelight.sheets.quantities import DIMENSION_OF_KIND
from samelight.sheets.values import INTERPOLATIONS
from samelight.sheets.vocabulary import FORMAT_VERSION, OF_LIGHTS_AT_A_MARK, SHEET_KEYS

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_SCALAR: Schema = {"type": ["string", "number", "boolean"]}
_VERSION: Schema = {"type": "integer", "minimum": 0}
_SOMETHING: Schema = {"not": {"type": "null"}}
_LOOSE: Schema = {"type": ["string", "number", "boolean", "object"]}
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$"
_STEPS: Schema = {"pattern": rf"^(?!\s)(?!{_NUMBER})[^\n\r\t'\"`]+(?<!\s)$"}
_NAME: Schema = {"pattern": rf"^(?!\s)(?!{_NUMBER})[^.\n\r\t'\"`]+(?<!\s)$"}
"""A parameter's name, whose dots are steps, and that of a group, which has none."""


def sheet_schema() -> Schema:
    """The JSON Schema of a sheet.

    >>> sheet_schema()["required"]
    ['samelight']
    """
    made = _Definitions()
    properties = _properties(made)
    return {
        "$schema": DIALECT,
        "$id": f"urn:samelight:sheet:{FORMAT_VERSION}",
        "title": "Samelight sheet",
        "description": "One shot's lighting, or a master setup. Angles are in degrees; a bare length counts in "
        "units.length; a quantity may be text with a unit, such as 350 cm or 4300 K.",
        "type": "object",
        "required": ["samelight"],
        "properties": {name: properties[name] for name in properties if name in SHEET_KEYS},
        "additionalProperties": False,
        "$defs": dict(sorted(made.definitions.items())),
    }


class _Definitions:
    """Values that many parameters share, each by a name of its own, still and over time."""

    def __init__(self) -> None:
        self.definitions: Schema = {}

    def group(
        self, parameters: Mapping[str, Parameter], special: Mapping[str, Schema], *, closed: bool = False
    ) -> Schema:
        """A light or the like: known parameters as they must be, others welcome unless it is `closed`."""
        properties: Schema = {}
        for name in dict.fromkeys((*special, *parameters)):
            parameter = parameters.get(name)
            means = {"description": parameter.means} if parameter else {}
            stated = special.get(name) or (_value(parameter) if parameter else {})
            schema = {
                **means,
                "$ref": self._over_time(name, stated, parameter if name not in special else None),
            }
            properties[name] = schema
            outer, dot, inner = name.partition(".")
            if dot:
                properties.setdefault(outer, {"properties": {}})["properties"][inner] = schema
        other: Schema = {"additionalProperties": False if closed else _SOMETHING}
        if not closed:
            other["propertyNames"] = _STEPS
        return {"type": "object", "properties": properties, **other}

    def _over_time(self, name: str, stated: Schema, parameter: Parameter | None) -> str:
        if parameter is not None:
            bounds = [f"{bound:g}" for bound in (parameter.least, parameter.most) if bound is not None]
            name = "_".join([parameter.kind, *bounds])
        while name in self.definitions and self.definitions[name] != stated:
            name += "_2"
        self.definitions[name] = stated
        value = {"$ref": f"#/$defs/{name}"}
        self.definitions[f"{name}_over_time"] = {"anyOf": [value, _curve(value)]}
        return f"#/$defs/{name}_over_time"


def _properties(made: _Definitions) -> Schema:
    """What stands at the top of a sheet."""
    light = made.group(LIGHT, {**_aim(), **_emission(), "type": _light_type()})
    environment = made.group(ENVIRONMENT, {**_turn(), **_emission()})
    camera = made.group(CAMERA, _aim())
    return {
        "samelight": {"const": FORMAT_VERSION, "description": "The version of this format"},
        "shot": _SCALAR | {"description": "Not there in a master setup"},
        "version": _VERSION,
        "master": _VERSION | {"description": "The master version it was built on"},
        "frames": _list(2, {"type": "integer"}) | {"description": "First and last frame"},
        "sync_frame": {
            "type": "number",
            "description": "The frame that animation is told from; else the first of frames",
        },
        "units": _units(),
        "up_axis": {"enum": ["Y", "Z", "y", "z"]},
        "north": _list(3, {"type": "number"}),
        "working_space": {"type": "string", "pattern": f"^(?:{_any_case(SPACES)})$"},
        "camera": camera,
        "marks": _by_name(_mark(made)),
        "lights": _by_name(light),
        "environments": _by_name(environment),
        "render": {
            "type": "object",
            "propertyNames": _NAME,
            "additionalProperties": _SOMETHING,
            "description": "Settings, grouped or not",
        },
        "surfaces": _by_name({"type": "object"}),
        "passes": _by_name(made.group(PASS, {})),
        "cost": made.group(COST, {}),
        "notes": _SCALAR,
        "remarks": {"type": "array", "items": {"type": "string"}},
        "source": _LOOSE | {"description": "What it was captured from"},
        "setup": _SCALAR,
        "key_shot": _SCALAR,
        "published": _LOOSE,
    }


def _mark(made: _Definitions) -> Schema:
    mark = made.group(MARK, {}, closed=True) | {"type": "object", "required": ["position"]}
    for name in sorted(OF_LIGHTS_AT_A_MARK):
        of_each = mark["properties"][name]
        mark["properties"][name] = _by_name({"$ref": of_each["$ref"]}) | {
            "description": of_each["description"]
        }
    edges = _list(4, {"type": "number", "minimum": 0})
    means = mark["properties"]["in_frame"]["description"]
    mark["properties"]["in_frame"] = {"anyOf": [edges, _curve(edges)], "description": means}
    return mark


def _value(parameter: Parameter) -> Schema:
    """What a parameter may be at one moment."""
    match parameter.kind:
        case kinds.SWITCH:
            return {"type": "boolean"}
        case kinds.CHOICE | kinds.TEXT | kinds.FILE:
            return {"type": "string"}
        case kinds.SET:
            return {"anyOf": [{"type": "string"}, {"type": "array", "items": _SCALAR}]}
        case kinds.COLOUR:
            return _list(3, {"type": "number", "minimum": 0})
        case kinds.DIRECTION:
            return _list(3, {"type": "number"})
        case kinds.POSITION:
            return _list(3, _quantity(units.LENGTH))
    return _quantity(DIMENSION_OF_KIND.get(parameter.kind), parameter.least, parameter.most)


def _quantity(dimension: str | None, least: float | None = None, most: float | None = None) -> Schema:
    """A bare number within a range, or, where the dimension has units, text with one."""
    number: Schema = {"type": "number"}
    if least is not None and (dimension != units.LENGTH or least == 0.0):  # 0 is 0 in any unit
        number["minimum"] = least
    if most is not None:
        number["maximum"] = most
    if dimension is None:
        return number
    spellings = {name for name, (of, _) in units.FACTORS.items() if of == dimension}
    if dimension == units.TEMPERATURE:
        spellings.update(units.MIRED)
    texts = [_with_unit(spellings)]
    if dimension == units.DURATION:
        texts.append({"type": "string", "pattern": rf"^\s*(?=\S){units.CLOCK}$"})
    return {"anyOf": [number, *texts]}


def _with_unit(spellings: Iterable[str]) -> Schema:
    longest_first = sorted(spellings, key=lambda name: (-len(name), name))
    names = "|".join(re.escape(name) for name in longest_first)
    return {"type": "string", "pattern": rf"^\s*{units.NUMBER}\s*(?:{names})\s*$"}


def _list(size: int, item: Schema) -> Schema:
    return {"type": "array", "items": item, "minItems": size, "maxItems": size}


def _by_name(schema: Schema) -> Schema:
    return {
        "type": "object",
        "propertyNames": _NAME,
        "additionalProperties": schema,
    }


def _curve(value: Schema) -> Schema:
    key = {"type": "array", "prefixItems": [{"type": "number"}, value], "minItems": 2, "maxItems": 2}
    return {
        "type": "object",
        "required": ["keys"],
        "properties": {
            "keys": {"type": "array", "items": key, "minItems": 1},
            "interpolation": {"enum": list(INTERPOLATIONS)},
        },
        "additionalProperties": False,
    }


def _units() -> Schema:
    metres = {"type": "number", "minimum": SMALLEST_UNIT, "maximum": LARGEST_UNIT}
    length = {"anyOf": [{"enum": list(units.METRES)}, metres]}
    return {
        "type": "object",
        "properties": {"length": length, "area": length, "level": {"enum": list(units.LIGHT_UNITS)}},
        "additionalProperties": False,
        "description": f"What bare numbers count in; levels in one of {', '.join(LEVEL_UNITS)}",
    }


def _any_case(words: Iterable[str]) -> str:
    return "|".join(
        "".join(f"[{c.lower()}{c.upper()}]" if c.isalpha() else re.escape(c) for c in word) for word in words
    )


def _light_type() -> Schema:
    return {"anyOf": [{"enum": list(LIGHT_TYPES)}, {"type": "string", "pattern": "^[A-Z]"}]}


def _emission() -> Mapping[str, Schema]:
    photometric = _with_unit(units.LIGHT_UNITS)
    return {
        "intensity": {"anyOf": [{"type": "number", "minimum": 0}, photometric]},
        "exposure": _quantity(units.STOPS),
        "unit": {"enum": list(units.LIGHT_UNITS)},
    }


def _turn() -> Mapping[str, Schema]:
    aim = _aim()
    return {**aim, "rotation": {"anyOf": [_quantity(units.ANGLE), aim["rotation"]]}}


def _aim() -> Mapping[str, Schema]:
    number = {"type": "number"}
    return {
        "rotation": _list(3, _quantity(units.ANGLE)),
        "rotation_order": {"enum": list(EULER_ORDERS)},
        "matrix": {"anyOf": [_list(16, number), _list(4, _list(4, number))]},
    }
