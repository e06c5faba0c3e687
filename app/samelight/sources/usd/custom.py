"""Attributes that are none of USD's own: a renderer's or a studio's, and UsdLux's old spellings."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from pxr import Usd

from samelight.sheets.names import is_slip
from samelight.sheets.vocabulary import FOLDED
from samelight.sources.numbers import tidy
from samelight.sources.usd.attributes import KNOWN, ROWS, Conversion
from samelight.sources.usd.values import Attributes

_LENGTHS = frozenset(row.usd for row in ROWS if row.measure is not Conversion.PLAIN)
_CURVE = "keys"
"""A mapping with this key reads as a curve, so that no namespace may be called so."""

MARK = "samelight:mark"


@cache
def core_properties(*types: str) -> frozenset[str]:
    """The properties that these types of USD's own schemas have; what a plug-in adds to them is not among these."""
    registry = Usd.SchemaRegistry()
    definitions = (registry.FindConcretePrimDefinition(name) for name in types)
    return frozenset(
        name for definition in definitions if definition for name in definition.GetPropertyNames()
    )


def own_attributes(
    attributes: Attributes, prim: Any, authored: Iterable[str], core: frozenset[str], metres: float = 1.0
) -> dict[str, Any]:
    """The authored attributes of a prim that are none of USD's own, namespaces as nested mappings.

    `core` are USD's own for this prim. A renderer's schema may define others, so that what counts is not whether
    a schema knows an attribute. UsdLux's inputs without their `inputs:` are kept under `unprefixed`: USD reads the
    prefixed ones alone, so that such a value has no effect, whatever its author meant. Lengths among them are in metres, of
    which the stage's unit has `metres`.
    """
    own: dict[str, Any] = {}
    for name in sorted(authored):
        if name in core or name in KNOWN or name == MARK or name.startswith(("xformOp:", "collection:")):
            continue
        value = attributes.read(prim, name)
        if value is None:
            continue
        if f"inputs:{name}" in core or f"inputs:{name}" in KNOWN:
            attributes.remarks.about(
                str(prim.GetPath()),
                f"{name} = {value} is the spelling of old scenes; USD ignores it and reads inputs:{name}.",
            )
            place(own, ["unprefixed", *name.split(":")], _in_metres(name, value, metres))
        else:
            place(own, name.split(":"), value)
    return own


def _in_metres(name: str, value: Any, metres: float) -> Any:
    if f"inputs:{name}" not in _LENGTHS:
        return value
    if isinstance(value, dict):
        return {**value, "keys": [[frame, tidy(key * metres)] for frame, key in value["keys"]]}
    return tidy(value * metres) if isinstance(value, float | int) and value > 0 else value


def place(tree: dict[str, Any], steps: list[str], value: Any) -> None:
    """Put a value into nested mappings; one that is a namespace as well stands under `value` inside it.

    >>> tree = {}; place(tree, ["a"], 1); place(tree, ["a", "b"], 2); tree
    {'a': {'value': 1, 'b': 2}}
    """
    *above, last = (f"{step}_" if step == _CURVE else step for step in steps)
    for step in above:
        below = tree.get(step)
        if not isinstance(below, dict) or _CURVE in below:
            below = tree[step] = {} if below is None else {"value": below}
        tree = below
    if isinstance(tree.get(last), dict) and _CURVE not in tree[last]:
        tree, last = tree[last], "value"
    tree[last] = value


def merge(light: dict[str, Any], own: dict[str, Any]) -> None:
    """Add a prim's own attributes to its values; a name that means something in a sheet, or nearly, goes under `custom`."""
    for name, value in own.items():
        if name in light or name in _MEANT or is_slip("lights", name):
            light.setdefault("custom", {})[name] = value
        else:
            light[name] = value


_MEANT = frozenset(
    {
        "axis",
        "custom",
        "mirrored",
        "roll",
        "missing_links",
        "target",
        "type",
        "seen_by",
        *(name for names in FOLDED.values() for name in names),
        *(row.sheet.partition(".")[0] for row in ROWS),
    }
)
