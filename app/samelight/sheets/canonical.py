"""A sheet's typed tree into canonical values: section, group, parameter."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, repeat
from typing import Any

from samelight.light.colour import luminance
from samelight.light.noise import figure
from samelight.sheets.animation import fold_animated
from samelight.sheets.errors import Place, nearest_name
from samelight.sheets.folding import FOLDED_AWAY, FOLDS, Flat, Folded, flatten, is_curve
from samelight.sheets.keyed import read_keys
from samelight.sheets.memo import AtFaultError, Memo, as_bytes
from samelight.sheets.names import note_odd_parameters, odd_groups
from samelight.sheets.parameters import LIGHT, OF_SECTION, Parameter
from samelight.sheets.quantities import LARGEST_NUMBER, Reader
from samelight.sheets.slips import meant_word
from samelight.sheets.upgrades import WORDS as FORMER_WORDS
from samelight.sheets.values import Group, Level, Static, in_figures
from samelight.sheets.vocabulary import (
    BRIGHTNESS,
    CHOICE,
    COLOUR,
    DIRECTION,
    FILE,
    LENGTH,
    LEVEL,
    MARK_KEYS,
    OF_LIGHTS_AT_A_MARK,
    POSITION,
    SET,
    SWITCH,
    TEXT,
    USUAL_WORDS,
    Patterns,
    kind_by_name,
    kind_by_pattern,
)

Section = Mapping[str, Group]
Sections = Mapping[str, Section]

Kinds = tuple[tuple[str, str], ...]
"""`Patterns` that can be looked up by."""

WHOLE = ""
"""Name of the group that holds a section's own parameters, such as `cost.test_frame`."""

ONE_VALUE = "one value, or {keys: [[frame, value], ...]}"

_GROUPED = ("lights", "environments", "surfaces", "passes", "marks")


def canonical(data: Mapping[str, Any], read: Reader, kinds: Patterns = ()) -> Sections:
    """The canonical values of every section that `data` has; faults are noted in `read.faults`."""
    sections: dict[str, Section] = {}
    kinds = tuple(kinds)
    for section in FOLDS:
        typed = data.get(section)
        if typed is None:
            continue  # nothing behind its name is a fault of the sheet's own keys
        if isinstance(typed, dict):
            sections[section] = _section(section, typed, read, kinds)
        else:
            read.faults.add((section,), _expected(section), typed)
    return sections


def _expected(section: str) -> str:
    return f"{section} by name, each with its parameters" if section in _GROUPED else "a group of parameters"


def _section(section: str, typed: dict[str, Any], read: Reader, kinds: Kinds) -> Section:
    if section in ("camera", "cost"):
        return {WHOLE: _group(typed, read, (section,), section, WHOLE, kinds)}
    result: dict[str, Group] = {}
    own: dict[str, Any] = {}
    for name, expected, what, near in odd_groups(tuple(typed)):
        read.faults.add((section, name), expected, what, near)
    for name, value in typed.items():
        if isinstance(value, dict) and not is_curve(value):
            result[name] = _group(value, read, (section, name), section, name, kinds)
        elif section not in _GROUPED:
            own[name] = value
        else:
            read.faults.add((section, name), "a group of parameters", value)
    if own:
        result[WHOLE] = _group(own, read, (section,), section, WHOLE, kinds)
    return result


def parameter_name(section: str, group: str, leaf: str = "") -> str:
    """The full name of a parameter, or of a group when there is no leaf.

    >>> parameter_name("lights", "sun", "direction"), parameter_name("cost", "", "test_frame")
    ('lights.sun.direction', 'cost.test_frame')
    """
    if section and group and leaf:  # nearly always, and a film asks very often
        return f"{section}.{group}.{leaf}"
    return ".".join(part for part in (section, group, leaf) if part)


@Memo
def _group(
    typed: Mapping[str, Any], read: Reader, place: Place, section: str, group: str, kinds: Kinds
) -> Group:
    """The canonical values of one group, such as one light.

    Shots bring most of their lights in by reference, so that what is typed alike is folded once.
    """
    flat = flatten(typed, read, place)
    _check_names((section, group), typed, read, place, kinds)

    def fold(still: Flat, by: Reader) -> Folded:
        return FOLDS[section](still, by, place, lambda rest: _kept(rest, by, place, section, group, kinds))

    if dict not in map(type, flat.values()):
        return _wound(section, fold(flat, read))
    curves = {
        name: read_keys(value, read, (*place, *name.split(".")))
        for name, value in flat.items()
        if isinstance(value, dict)
    }
    sound = {name: keyed for name, keyed in curves.items() if keyed is not None}
    if len(sound) < len(curves):
        return {}
    return _wound(section, fold_animated(section, flat, sound, fold, read))


_BY_LIGHT = {(name,) for name in OF_LIGHTS_AT_A_MARK}
_GROUPS_OF_MARKS = {("marks", name) for name in OF_LIGHTS_AT_A_MARK}


def _check_names(
    where: tuple[str, str],
    typed: Mapping[str, Any],
    read: Reader,
    place: Place,
    kinds: Kinds,
    above: tuple[str, ...] = (),
) -> None:
    """Note what cannot be meant: slips and what is no name, other keys in a mark, groups where one value is wanted."""
    section, _ = where
    note_odd_parameters(typed, read.faults, place, where, kinds, above)
    of_interest = typed
    if section != "marks":
        if dict not in map(type, typed.values()):
            return
        of_interest = {name: value for name, value in typed.items() if isinstance(value, dict)}
    for name, value in of_interest.items():
        if section == "marks" and above[:1] not in _BY_LIGHT and name not in MARK_KEYS:
            read.faults.unknown_key(
                (*place, *above, name),
                "position, normal, radius, in_frame, matte, sees, hidden_by, in_view or covered_by",
                MARK_KEYS,
            )
        elif isinstance(value, dict) and not is_curve(value):
            steps = (*above, name)
            if _is_single(section, ".".join(steps)):
                near = next((nearest_name(key, ("keys",)) for key in value), None)
                read.faults.add((*place, *steps), _beside(value) or ONE_VALUE, value, near)
            else:
                _check_names(where, value, read, place, kinds, steps)


def _beside(value: Mapping[str, Any]) -> str:
    """What is expected where the keys of a group are all parameters of the light that it stands in; empty where they are not."""
    if not value or not value.keys() <= LIGHT.keys():
        return ""
    return f"one value, with {' and '.join(value)} beside it and not in it"


def _is_single(section: str, name: str) -> bool:
    if (section, name) in _GROUPS_OF_MARKS:
        return False
    return name in OF_SECTION.get(section, {}) or name in FOLDED_AWAY.get(section, ())


def _wound(section: str, group: Group) -> Group:
    """An environment's rotation, where it stands still, within a full turn."""
    rotation = group.get("rotation")
    if section == "environments" and isinstance(rotation, float):
        return {**group, "rotation": figure(rotation % 360.0) % 360.0}
    return group


@dataclass(frozen=True, slots=True, eq=False)
class _Leaf:
    """How a parameter is read that folds into nothing."""

    name: str
    parameter: Parameter | None
    """Its fixed meaning, if it has one; otherwise it is of a kind by its name or the policy, or by its value alone."""
    kind: str | None
    in_pixels: bool
    plain: tuple[float, float]
    """From what to what a typed number with a point stands for itself, where lengths are in metres; the first is the larger one
    where none does."""


def _kept(rest: Flat, read: Reader, place: Place, section: str, group: str, kinds: Kinds) -> Folded:
    """The canonical values of parameters that fold into nothing."""
    leaves = _leaves(section, group, tuple(rest), kinds)
    in_metres = read.conventions.length == 1.0
    kept: Folded = {}
    try:
        # Most values of a film were met before, so that nothing but looking them up should cost time here. Numbers are met
        # once where much drifts, and what most of them come to takes no longer than looking them up.
        sound = _leaf.under(read.conventions)
        for value, leaf in zip(rest.values(), leaves, strict=True):
            least, most = leaf.plain
            if type(value) is float and least <= value <= most and (in_metres or leaf.kind != LENGTH):
                short = figure(value)
                kept[leaf.name] = value if short == value else short
            else:
                kept.update(sound[as_bytes(value), leaf])
        return kept
    except AtFaultError:
        found = (
            _leaf(value, read, (*place, *leaf.name.split(".")), leaf)
            for value, leaf in zip(rest.values(), leaves, strict=True)
        )
        return dict(chain.from_iterable(found))


def _leaves(section: str, group: str, names: tuple[str, ...], kinds: Kinds) -> list[_Leaf]:
    # A group's own name says something of its parameters only where a policy names kinds, and in this word.
    by_policy = _kinds_of(section, group, names, kinds) if kinds else None
    return _leaves_of(section, names, by_policy, group == "resolution")


@lru_cache(maxsize=4096)
def _kinds_of(section: str, group: str, names: tuple[str, ...], kinds: Kinds) -> tuple[str | None, ...]:
    """The kinds that a policy's patterns give to the parameters of a group."""
    return tuple(kind_by_pattern(parameter_name(section, group, name), kinds) for name in names)


@lru_cache(maxsize=4096)
def _leaves_of(
    section: str, names: tuple[str, ...], by_policy: tuple[str | None, ...] | None, in_pixels: bool
) -> list[_Leaf]:
    return [
        _leaf_of(section, name, kind, in_pixels or "resolution" in name.split("."))
        for name, kind in zip(names, by_policy or repeat(None), strict=False)
    ]


@lru_cache(maxsize=65536)
def _leaf_of(section: str, name: str, by_policy: str | None, in_pixels: bool) -> _Leaf:
    parameter = None if by_policy else OF_SECTION.get(section, {}).get(name)
    kind = by_policy or (parameter.kind if parameter else kind_by_name(name))
    return _Leaf(name, parameter, kind, in_pixels, _plain(parameter, kind))


_NOT_PLAIN = frozenset({LEVEL, CHOICE, TEXT})
_NEVER_PLAIN = frozenset({SWITCH, FILE, SET, COLOUR, POSITION, DIRECTION})
"""Kinds of which a number is at fault where the parameter's meaning is fixed, and stands for itself elsewhere."""


def _plain(parameter: Parameter | None, kind: str | None) -> tuple[float, float]:
    """See `_Leaf.plain`."""
    if kind in _NOT_PLAIN or (parameter is not None and kind in _NEVER_PLAIN):
        return math.inf, -math.inf
    least, most = (None, None) if parameter is None else (parameter.least, parameter.most)
    return (
        -LARGEST_NUMBER if least is None else max(least, -LARGEST_NUMBER),
        LARGEST_NUMBER if most is None else min(most, LARGEST_NUMBER),
    )


@Memo
def _leaf(value: Any, read: Reader, place: Place, leaf: _Leaf) -> tuple[tuple[str, Static], ...]:
    """The canonical value of a parameter by its name, and the level of a colour; equal ones are one object."""
    if value is None:
        return ()
    found: list[tuple[str, Static]] = []
    if leaf.parameter is not None:
        read_as = read.known(value, leaf.parameter, place)
    else:
        read_as = _unknown(value, leaf, read, place)
    if read_as is not None:
        found.append((leaf.name, in_figures(read_as)))
    if leaf.kind == COLOUR and isinstance(value, list) and len(value) == 3:
        rgb = read.color(value, place)
        if rgb is not None:
            brightness = Level(luminance(rgb, read.conventions.working_space))
            found.append((leaf.name + BRIGHTNESS, in_figures(brightness)))
    return tuple(found)


def _unknown(value: Any, leaf: _Leaf, read: Reader, place: Place) -> Static | None:
    last = leaf.name.rpartition(".")[2]
    words = USUAL_WORDS.get(last, ())
    former = FORMER_WORDS.get(last, {})
    if (
        words
        and isinstance(value, str)
        and (near := former.get(value) or meant_word(value, words)) is not None
    ):
        read.faults.add(place, f"{', '.join(words)}, or another word", value, near)
        return None
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if leaf.kind == LENGTH and is_number and leaf.in_pixels:
        return read.value(value, None, place)
    is_exposure = last.endswith("exposure")
    if leaf.kind == LEVEL and is_number and is_exposure and abs(value) < 1000:
        return read.value(f"{value!r} st", leaf.kind, place)
    return read.value(value, leaf.kind, place)
