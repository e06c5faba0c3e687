"""A sheet's typed tree into canonical values: section, group, parameter."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from samelight.sheets.errors import Found, Place, nearest_name
from samelight.sheets.folding import (
    Flat,
    Rest,
    flatten,
    fold_camera,
    fold_environment,
    fold_light,
    fold_mark,
    fold_plain,
    is_curve,
)
from samelight.sheets.quantities import Reader
from samelight.sheets.values import Curve, Group, Static, blend, strictly_equal
from samelight.sheets.vocabulary import CURVE_KEYS, MARK_KEYS, Patterns, kind_by_name, kind_by_pattern

Section = dict[str, Group]
Sections = dict[str, Section]

Fold = Callable[[Flat, Reader, Place, Rest], dict[str, Static]]

WHOLE = ""
"""Name of the group that holds a section's own parameters, such as `cost.test_frame`."""

_FOLDS: dict[str, Fold] = {
    "lights": fold_light,
    "environments": fold_environment,
    "render": fold_plain,
    "surfaces": fold_plain,
    "passes": fold_plain,
    "cost": fold_plain,
    "camera": fold_camera,
    "marks": fold_mark,
}
_GROUPED = ("lights", "environments", "surfaces", "passes", "marks")
_INTERPOLATIONS = ("linear", "held")


def canonical(data: Mapping[str, Any], read: Reader, kinds: Patterns = ()) -> Sections:
    """The canonical values of every section that `data` has; faults are noted in `read.faults`."""
    sections: Sections = {}
    for section, fold in _FOLDS.items():
        typed = data.get(section)
        if typed is None:
            continue
        if not isinstance(typed, dict):
            read.faults.add((section,), "a mapping", typed)
            continue
        sections[section] = _section(section, typed, fold, read, kinds)
    return sections


def _section(section: str, typed: Mapping[str, Any], fold: Fold, read: Reader, kinds: Patterns) -> Section:
    if section in ("camera", "cost"):
        return {WHOLE: _group(section, WHOLE, typed, (section,), fold, read, kinds)}
    result: Section = {}
    own: dict[str, Any] = {}
    for name, value in typed.items():
        if isinstance(value, dict) and not is_curve(value):
            result[name] = _group(section, name, value, (section, name), fold, read, kinds)
        elif section in _GROUPED:
            if value is None:
                result[name] = _group(section, name, {}, (section, name), fold, read, kinds)
            else:
                read.faults.add((section, name), "a mapping of parameters", value)
        else:
            own[name] = value
    if own:
        result[WHOLE] = _group(section, WHOLE, own, (section,), fold, read, kinds)
    return result


def parameter_name(section: str, group: str, leaf: str = "") -> str:
    """The full name of a parameter, or of a group when there is no leaf.

    >>> parameter_name("lights", "sun", "direction"), parameter_name("cost", "", "test_frame")
    ('lights.sun.direction', 'cost.test_frame')
    """
    return ".".join(part for part in (section, group, leaf) if part)


def _group(
    section: str,
    group: str,
    typed: Mapping[str, Any],
    place: Place,
    fold: Fold,
    read: Reader,
    kinds: Patterns,
) -> Group:
    flat = flatten(typed)
    if section == "marks":
        for name in flat:
            if name not in MARK_KEYS:
                read.faults.add(
                    (*place, name),
                    "position or normal",
                    Found(f"the key {name}"),
                    nearest_name(name, MARK_KEYS),
                )
    prefix = parameter_name(section, group)

    def rest(leaf: str, value: Any) -> Static | None:
        kind = (kind_by_pattern(f"{prefix}.{leaf}", kinds) if kinds else None) or kind_by_name(leaf)
        return read.value(value, kind, (*place, *leaf.split(".")))

    animated = {name: value for name, value in flat.items() if is_curve(value)}
    if not animated:
        return dict(fold(flat, read, place, rest))
    before = len(read.faults)
    curves = {name: _keys(value, read, (*place, *name.split("."))) for name, value in animated.items()}
    if len(read.faults) > before:
        return {}
    frames = sorted({frame for keys, _ in curves.values() for frame, _ in keys})
    folded = []
    for frame in frames:
        still = {**flat, **{name: _typed_at(keys, held, frame) for name, (keys, held) in curves.items()}}
        folded.append(dict(fold(still, read, place, rest)))
        if len(read.faults) > before:
            return {}
    held = any(held for _, held in curves.values())
    return _as_curves(frames, folded, "held" if held else "linear")


def _as_curves(frames: list[float], folded: list[dict[str, Static]], interpolation: str) -> Group:
    """One curve a parameter; a parameter that is the same at every frame stays a plain value."""
    group: Group = {}
    for leaf in _in_order(folded):
        keys = tuple(
            (frame, values[leaf]) for frame, values in zip(frames, folded, strict=True) if leaf in values
        )
        first = keys[0][1]
        moving = any(not strictly_equal(value, first) for _, value in keys)
        group[leaf] = Curve(keys, interpolation) if moving else first
    return group


def _in_order(folded: Iterable[Mapping[str, Static]]) -> list[str]:
    seen: dict[str, None] = {}
    for values in folded:
        seen.update(dict.fromkeys(values))
    return list(seen)


def _keys(value: Mapping[str, Any], read: Reader, place: Place) -> tuple[list[tuple[float, Any]], bool]:
    for name in value:
        if name not in CURVE_KEYS:
            found = Found(f"the key {name}")
            read.faults.add((*place, name), "keys or interpolation", found, nearest_name(name, CURVE_KEYS))
    interpolation = read.choice_of(
        value.get("interpolation", "linear"), _INTERPOLATIONS, (*place, "interpolation")
    )
    typed = value["keys"]
    if not isinstance(typed, list) or not typed:
        read.faults.add((*place, "keys"), "a list of [frame, value]", typed)
        return [], False
    keys: list[tuple[float, Any]] = []
    for index, pair in enumerate(typed):
        at = (*place, "keys", index)
        if not isinstance(pair, list) or len(pair) != 2:
            read.faults.add(at, "[frame, value]", pair)
            continue
        frame = read.number(pair[0], None, at)
        if frame is None:
            continue
        if keys and frame <= keys[-1][0]:
            read.faults.add(at, f"a frame after {keys[-1][0]:g}", pair[0])
            continue
        keys.append((frame, pair[1]))
    return keys, interpolation == "held"


def _typed_at(keys: list[tuple[float, Any]], held: bool, frame: float) -> Any:
    """The typed value at a frame: numbers and lists of numbers blend, all else holds."""
    before = [key for key in keys if key[0] <= frame]
    if not before:
        return keys[0][1]
    start, value = before[-1]
    following = keys[len(before)] if len(before) < len(keys) else None
    if held or following is None or start == frame:
        return value
    a, b = _blendable(value), _blendable(following[1])
    if a is None or b is None:
        return value
    mixed = blend(a, b, (frame - start) / (following[0] - start))
    return list(mixed) if isinstance(mixed, tuple) else mixed


def _blendable(value: Any) -> float | tuple[float, ...] | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, list) and all(isinstance(item, int | float) for item in value):
        return tuple(float(item) for item in value)
    return None
