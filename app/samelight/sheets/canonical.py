"""A sheet's typed tree into canonical values: section, group, parameter."""

from __future__ import annotations

import marshal
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from samelight.light.colour import luminance
from samelight.sheets.animation import fold_animated
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults, Place, SheetError, nearest_name
from samelight.sheets.folding import FOLDED_AWAY, FOLDS, flatten, is_curve
from samelight.sheets.keyed import read_keys
from samelight.sheets.parameters import OF_SECTION
from samelight.sheets.quantities import Reader
from samelight.sheets.values import Group, Level, Static
from samelight.sheets.vocabulary import (
    BRIGHTNESS,
    COLOUR,
    LENGTH,
    LEVEL,
    MARK_KEYS,
    Patterns,
    kind_by_name,
    kind_by_pattern,
)

Section = dict[str, Group]
Sections = dict[str, Section]

WHOLE = ""
"""Name of the group that holds a section's own parameters, such as `cost.test_frame`."""

_NO_REFERENCES = 2
"""The version of marshal in which equal data has equal bytes: later ones note which objects are shared."""

ONE_VALUE = "one value, or {keys: [[frame, value], ...]}"

_GROUPED = ("lights", "environments", "surfaces", "passes", "marks")


def canonical(data: Mapping[str, Any], read: Reader, kinds: Patterns = ()) -> Sections:
    """The canonical values of every section that `data` has; faults are noted in `read.faults`."""
    sections: Sections = {}
    for section in FOLDS:
        typed = data.get(section)
        if typed is None:
            continue
        if isinstance(typed, dict):
            sections[section] = _section(section, typed, read, kinds)
        else:
            read.faults.add((section,), _expected(section), typed)
    return sections


def _expected(section: str) -> str:
    return f"{section} by name, each with its parameters" if section in _GROUPED else "a group of parameters"


def _section(section: str, typed: dict[str, Any], read: Reader, kinds: Patterns) -> Section:
    if section in ("camera", "cost"):
        return {WHOLE: _Group(section, WHOLE, (section,), read, kinds).folded(typed)}
    result: Section = {}
    own: dict[str, Any] = {}
    for name, value in typed.items():
        if isinstance(value, dict) and not is_curve(value):
            result[name] = _Group(section, name, (section, name), read, kinds).folded(value)
        elif section not in _GROUPED:
            own[name] = value
        elif value is None:
            result[name] = _Group(section, name, (section, name), read, kinds).folded({})
        else:
            read.faults.add((section, name), "a group of parameters", value)
    if own:
        result[WHOLE] = _Group(section, WHOLE, (section,), read, kinds).folded(own)
    return result


def parameter_name(section: str, group: str, leaf: str = "") -> str:
    """The full name of a parameter, or of a group when there is no leaf.

    >>> parameter_name("lights", "sun", "direction"), parameter_name("cost", "", "test_frame")
    ('lights.sun.direction', 'cost.test_frame')
    """
    return ".".join(part for part in (section, group, leaf) if part)


class _Group:
    """Reads one group, such as one light."""

    def __init__(self, section: str, group: str, place: Place, read: Reader, kinds: Patterns) -> None:
        self._section = section
        self._group = group
        self._place = place
        self._read = read
        self._kinds = tuple(kinds)
        self._known = OF_SECTION.get(section, {})

    def folded(self, typed: dict[str, Any]) -> Group:
        """The canonical values of what is typed.

        Shots bring most of their lights in by reference, so that what is typed alike is folded once.
        """
        alike = marshal.dumps(typed, _NO_REFERENCES)
        known = _sound(self._section, self._group, self._read.conventions, self._kinds, alike)
        return self.fold(typed) if known is None else dict(known)

    def fold(self, typed: Mapping[str, Any]) -> Group:
        """The canonical values of what is typed, with its faults noted."""
        read = self._read
        flat = flatten(typed, read, self._place)
        self._check_names(typed)
        animated = [name for name, value in flat.items() if is_curve(value)]
        if not animated:
            return _wound(self._section, dict(self._fold(flat, read)))
        curves = {name: read_keys(flat[name], read, (*self._place, *name.split("."))) for name in animated}
        sound = {name: keyed for name, keyed in curves.items() if keyed is not None}
        if len(sound) < len(curves):
            return {}
        return _wound(self._section, fold_animated(self._section, flat, sound, self._fold, read))

    def _fold(self, flat: dict[str, Any], read: Reader) -> dict[str, Static]:
        def keep(leaf: str, value: Any, folded: dict[str, Static]) -> None:
            self._keep(leaf, value, read, folded)

        return FOLDS[self._section](flat, read, self._place, keep)

    def _check_names(self, typed: Mapping[str, Any], above: tuple[str, ...] = ()) -> None:
        """Note what cannot be meant: other keys in a mark, and groups where one value is wanted."""
        faults = self._read.faults
        for name, value in typed.items():
            steps = (*above, name)
            if self._section == "marks" and name not in MARK_KEYS:
                faults.unknown_key((*self._place, *steps), "position or normal", MARK_KEYS)
            elif isinstance(value, dict) and not is_curve(value):
                if self._is_single(".".join(steps)):
                    near = next((nearest_name(key, ("keys",)) for key in value), None)
                    faults.add((*self._place, *steps), ONE_VALUE, value, near)
                else:
                    self._check_names(value, steps)

    def _is_single(self, name: str) -> bool:
        return name in self._known or name in FOLDED_AWAY.get(self._section, ())

    def _keep(self, leaf: str, value: Any, read: Reader, folded: dict[str, Static]) -> None:
        if value is None:
            return
        place = (*self._place, *leaf.split("."))
        by_policy = self._by_policy(leaf)
        parameter = None if by_policy else self._known.get(leaf)
        if parameter is not None:
            kind: str | None = parameter.kind
            canonical_value = _sound_value(
                self._section, leaf, read.conventions, marshal.dumps(value, _NO_REFERENCES)
            )
            if canonical_value is None:
                canonical_value = read.known(value, parameter, place)
        else:
            kind = by_policy or kind_by_name(leaf)
            canonical_value = self._unknown(leaf, value, kind, place, read)
        if canonical_value is not None:
            folded[leaf] = canonical_value
        if kind == COLOUR and isinstance(value, list) and len(value) == 3:
            rgb = read.color(value, place)
            if rgb is not None:
                folded[leaf + BRIGHTNESS] = Level(luminance(rgb, read.conventions.working_space))

    def _by_policy(self, leaf: str) -> str | None:
        if not self._kinds:
            return None
        return kind_by_pattern(parameter_name(self._section, self._group, leaf), self._kinds)

    def _unknown(self, leaf: str, value: Any, kind: str | None, place: Place, read: Reader) -> Static | None:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        steps = (self._group, *leaf.split("."))
        if kind == LENGTH and is_number and "resolution" in steps:
            kind = None  # pixels
        if kind == LEVEL and is_number and steps[-1].endswith("exposure") and abs(value) < 1000:
            return read.value(f"{value!r} st", kind, place)
        return read.value(value, kind, place)


@lru_cache(maxsize=20_000)
def _sound(section: str, group: str, conventions: Conventions, kinds: Patterns, typed: bytes) -> Group | None:
    """The canonical values of a group, by all that they depend on; None where it has faults."""
    faults = Faults(Path(), lambda place: None)
    read = Reader(conventions, faults)
    try:
        folded = _Group(section, group, (section, group), read, kinds).fold(marshal.loads(typed))
    except SheetError:
        return None
    return None if len(faults) else folded


@lru_cache(maxsize=20_000)
def _sound_value(section: str, leaf: str, conventions: Conventions, typed: bytes) -> Static | None:
    """The canonical value of a parameter of fixed meaning; None where it is at fault. Equal ones are one object."""
    faults = Faults(Path(), lambda place: None)
    try:
        value = Reader(conventions, faults).known(marshal.loads(typed), OF_SECTION[section][leaf], (leaf,))
    except SheetError:
        return None
    return None if len(faults) else value


def _wound(section: str, group: Group) -> Group:
    """An environment's rotation, where it stands still, within a full turn."""
    rotation = group.get("rotation")
    if section == "environments" and isinstance(rotation, float):
        group["rotation"] = rotation % 360.0
    return group
