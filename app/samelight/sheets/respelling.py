"""Canonical values back into a sheet, in that sheet's own units and spelling.

A shot that typed azimuth and elevation gets azimuth and elevation, one in centimetres gets centimetres, and an intensity
is set beside the exposure that the shot has. Whatever is written is read again and compared: a value that does not come out
as asked is reported as not possible and left alone.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from samelight.light.directions import to_azimuth_elevation
from samelight.sheets.canonical import Section, canonical, parameter_name
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults
from samelight.sheets.quantities import Reader
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Level, Value, alike
from samelight.sheets.vocabulary import LENGTH, Patterns, kind_by_name

Leaf = tuple[str, str, str]
"""Section, group and parameter; an empty parameter means the whole group."""

_ORDER = ("position", "direction", "colour")
"""What others depend on comes first; a level is solved last, since colour and sizes count in it."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One typed name to set, or with `value` None to take out. `was` is None where it was not there."""

    parameter: str
    name: str
    value: Any
    was: Any


@dataclass(frozen=True, slots=True)
class Respelt:
    """A sheet's tree with values put in, what that changed in it, and the parameters for which there was no way."""

    tree: dict[str, Any]
    edits: tuple[Edit, ...]
    left: tuple[str, ...]


def put_back(sheet: Sheet, reference: Sheet, leaves: Iterable[Leaf], kinds: Patterns = ()) -> Respelt:
    """`sheet`'s tree with these parameters as `reference` has them, all else as it was.

    A level stays what it was when only the colour is asked for, and the other way round.
    """
    wanted = list(dict.fromkeys(leaves))
    tree: dict[str, Any] = copy.deepcopy(dict(sheet.typed))
    left: list[str] = []
    edits: list[Edit] = []
    groups: dict[tuple[str, str], list[str]] = {}
    for section, group, leaf in wanted:
        groups.setdefault((section, group), []).append(leaf)
    for (section, group), names in groups.items():
        work = _Group(tree, sheet, reference, section, group, kinds)
        if "" in names:
            done = work.whole()
            left.extend(() if done else (parameter_name(section, group),))
        else:
            left.extend(parameter_name(section, group, name) for name in work.set(names))
        edits.extend(_edits(sheet, tree, section, group))
    return Respelt(tree, tuple(edits), tuple(left))


def _edits(sheet: Sheet, tree: Mapping[str, Any], section: str, group: str) -> list[Edit]:
    before = _flat(_members(sheet.typed, section, group))
    after = _flat(_members(tree, section, group))
    prefix = parameter_name(section, group)
    if before is None or after is None:
        return [Edit(prefix, group, after, before)] if before != after else []
    names = list(dict.fromkeys((*after, *before)))
    return [
        Edit(f"{prefix}.{name}", name, after.get(name), before.get(name))
        for name in names
        if after.get(name) != before.get(name)
    ]


def _members(tree: Mapping[str, Any], section: str, group: str) -> Any:
    found = tree.get(section)
    return found.get(group) if group and isinstance(found, Mapping) else found


def _flat(data: Any, prefix: str = "") -> dict[str, Any] | None:
    if not isinstance(data, Mapping):
        return None
    flat: dict[str, Any] = {}
    for name, value in data.items():
        if isinstance(value, Mapping) and "keys" not in value:
            flat.update(_flat(value, f"{prefix}{name}.") or {})
        else:
            flat[prefix + name] = value
    return flat


class _Group:
    """One light, environment or group of settings of the tree that is being changed."""

    def __init__(
        self,
        tree: dict[str, Any],
        sheet: Sheet,
        reference: Sheet,
        section: str,
        group: str,
        kinds: Patterns,
    ) -> None:
        self.tree, self.sheet, self.reference = tree, sheet, reference
        self.section, self.group, self.kinds = section, group, kinds

    @property
    def typed(self) -> dict[str, Any]:
        members: dict[str, Any] = self.tree.setdefault(self.section, {})
        if not self.group:
            return members
        found: dict[str, Any] = members.setdefault(self.group, {})
        return found

    def asked(self, leaf: str) -> Value | None:
        """What the parameter is to become."""
        return self.reference.value(self.section, self.group, leaf)

    def now(self, leaf: str) -> Value | None:
        """What the parameter is, as the tree stands."""
        return (
            _read(self.tree, self.sheet.conventions, self.section, self.kinds).get(self.group, {}).get(leaf)
        )

    def whole(self) -> bool:
        """The whole group as the reference has it: added, taken out, or made equal parameter by parameter."""
        theirs = _members(self.reference.typed, self.section, self.group)
        members = self.tree.setdefault(self.section, {})
        if theirs is None:
            members.pop(self.group, None)
            return True
        if self.group in members:
            names = {*self.sheet.sections.get(self.section, {}).get(self.group, {})}
            names |= {*self.reference.sections.get(self.section, {}).get(self.group, {})}
            return not self.set(sorted(names))
        members[self.group] = copy.deepcopy(theirs)
        wanted = self.reference.sections.get(self.section, {}).get(self.group, {})
        if all(alike(self.now(leaf), value) for leaf, value in wanted.items()):
            return True
        failed = self.set([leaf for leaf, value in wanted.items() if not alike(self.now(leaf), value)])
        if failed:
            del members[self.group]
        return not failed

    def set(self, leaves: list[str]) -> list[str]:
        """Set these parameters; those for which there was no way."""
        own_level, own_direction = self.now("level"), self.now("direction")
        ordered = sorted(leaves, key=lambda leaf: _ORDER.index(leaf) if leaf in _ORDER else len(_ORDER))
        failed = [leaf for leaf in ordered if leaf != "level" and not self._set_one(leaf)]
        turned = isinstance(own_direction, tuple) and not alike(self.now("direction"), own_direction)
        if turned and "direction" not in leaves and isinstance(own_direction, tuple):
            # A light that aims at a target turns when it is moved; here only its place was asked for.
            self._direction(own_direction)
        target = self.asked("level") if "level" in leaves else own_level
        if target is not None and not alike(self.now("level"), target) and not self._set_level(target):
            failed.append("level")
        return failed

    def _set_one(self, leaf: str) -> bool:
        asked = self.asked(leaf)
        if alike(self.now(leaf), asked):
            return True
        before = copy.deepcopy(self.typed)
        mine = self.sheet.as_typed(self.section, self.group, leaf).keys()
        theirs = self.reference.as_typed(self.section, self.group, leaf).keys()
        # Spelt alike, the reference's own numbers are the ones a person typed.
        attempts = (self._copied, self._spelt) if mine == theirs else (self._spelt, self._copied)
        for attempt in attempts:
            attempt(leaf, asked)
            if alike(self.now(leaf), asked):
                return True
            self.typed.clear()
            self.typed.update(copy.deepcopy(before))
        return False

    def _spelt(self, leaf: str, asked: Value | None) -> None:
        """Write a value the way the shot writes it."""
        if leaf == "direction" and isinstance(asked, tuple):
            self._direction(asked)
        elif leaf == "position" and isinstance(asked, tuple):
            self._position(asked)
        elif isinstance(asked, float) and kind_by_name(leaf) == LENGTH and not isinstance(asked, bool):
            _put(self.typed, leaf, _rounded(asked / self.sheet.conventions.length))
        else:
            self._copied(leaf, asked)

    def _copied(self, leaf: str, asked: Value | None) -> None:
        """Write a value the way the reference writes it, or take it out where the reference has none."""
        for name in self.sheet.as_typed(self.section, self.group, leaf):
            if name not in _SHARED.get(leaf, ()):
                _take_out(self.typed, name)
        for name, value in self.reference.as_typed(self.section, self.group, leaf).items():
            if name not in _SHARED.get(leaf, ()):
                _put(self.typed, name, copy.deepcopy(value))

    def _direction(self, asked: tuple[float, ...]) -> None:
        direction = (asked[0], asked[1], asked[2])
        typed = self.typed
        if "azimuth" in typed or "elevation" in typed:
            azimuth, elevation = to_azimuth_elevation(direction, self.sheet.conventions.north)
            typed["azimuth"], typed["elevation"] = _rounded(azimuth), _rounded(elevation)
        elif "target" in typed:
            position, target = self.now("position"), self._typed_point("target")
            if isinstance(position, tuple) and target is not None:
                reach = math.dist(position, target)
                aimed = tuple(p + d * reach for p, d in zip(position, direction, strict=True))
                typed["target"] = self._point(aimed)
        else:
            for name in ("rotation", "rotation_order", "sun"):
                typed.pop(name, None)
            typed["direction"] = [_rounded(x) for x in _from_y_up(direction, self.sheet.conventions.up_axis)]

    def _position(self, asked: tuple[float, ...]) -> None:
        self.typed["position"] = self._point(asked)

    def _point(self, metres: tuple[float, ...]) -> list[float]:
        unit = self.sheet.conventions.length
        x, y, z = _from_y_up((metres[0], metres[1], metres[2]), self.sheet.conventions.up_axis)
        return [_rounded(x / unit), _rounded(y / unit), _rounded(z / unit)]

    def _typed_point(self, name: str) -> tuple[float, float, float] | None:
        faults = Faults(self.sheet.path, lambda _: None)
        return Reader(self.sheet.conventions, faults).position(self.typed.get(name), (name,))

    def _set_level(self, target: Value) -> bool:
        """Solve the intensity: a level is proportional to it, whatever exposure, colour, size and unit do."""
        typed, before = self.typed, copy.deepcopy(self.typed)
        if not isinstance(target, Level):
            self._copied("level", target)
        else:
            kept = typed.get("intensity")
            unit = kept.split()[-1] if isinstance(kept, str) else ""
            typed["intensity"] = f"1 {unit}".strip() if unit else 1.0
            one = self.now("level")
            if isinstance(one, Level) and one.value > 0 and one.quantity == target.quantity:
                needed = _rounded(target.value / one.value)
                typed["intensity"] = f"{needed!r} {unit}" if unit else needed
        if alike(self.now("level"), target):
            return True
        typed.clear()
        typed.update(before)
        return False


_SHARED: dict[str, tuple[str, ...]] = {"level": ("color",), "position": (), "direction": ("position",)}
"""Typed names that a parameter shares with another one, which must not be lost with it."""


def _put(typed: dict[str, Any], name: str, value: Any) -> None:
    """Set a name whose dots may be steps into mappings that are there."""
    first, _, rest = name.partition(".")
    if rest and name not in typed:
        below = typed.setdefault(first, {})
        if isinstance(below, dict):
            _put(below, rest, value)
            return
    typed[name] = value


def _take_out(typed: dict[str, Any], name: str) -> None:
    if name in typed:
        del typed[name]
        return
    first, _, rest = name.partition(".")
    below = typed.get(first)
    if rest and isinstance(below, dict):
        _take_out(below, rest)


def _rounded(value: float) -> float:
    """Twelve significant digits: what a person can still read, and finer than any comparison."""
    rounded = float(f"{value:.12g}")
    return int(rounded) if rounded.is_integer() and abs(rounded) < 1e9 else rounded


def _from_y_up(vector: tuple[float, float, float], up_axis: str) -> tuple[float, float, float]:
    x, y, z = vector
    return (x, y, z) if up_axis == "Y" else (x, -z, y)


def _read(tree: Mapping[str, Any], conventions: Conventions, section: str, kinds: Patterns) -> Section:
    faults = Faults(Path("sheet.yaml"), lambda _: None)
    return canonical({section: tree.get(section, {})}, Reader(conventions, faults), kinds).get(section, {})
