"""A sheet's typed tree into canonical values: section, group, parameter."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from samelight.light.noise import figure
from samelight.sheets.animation import fold_animated
from samelight.sheets.errors import Place, nearest_name
from samelight.sheets.folding import FOLDED_AWAY, FOLDS, Flat, Folded, flatten, is_curve
from samelight.sheets.keyed import read_keys
from samelight.sheets.leaves import Kinds, kept
from samelight.sheets.memo import Memo
from samelight.sheets.names import note_odd_parameters, odd_groups
from samelight.sheets.parameters import LIGHT, OF_SECTION
from samelight.sheets.quantities import Reader
from samelight.sheets.values import Group
from samelight.sheets.vocabulary import MARK_KEYS, OF_LIGHTS_AT_A_MARK, Patterns

Section = Mapping[str, Group]
Sections = Mapping[str, Section]

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
        return {WHOLE: fold_group(typed, read, (section,), section, WHOLE, kinds)}
    result: dict[str, Group] = {}
    own: dict[str, Any] = {}
    for name, expected, what, near in odd_groups(tuple(typed)):
        read.faults.add((section, name), expected, what, near)
    for name, value in typed.items():
        if isinstance(value, dict) and not is_curve(value):
            result[name] = fold_group(value, read, (section, name), section, name, kinds)
        elif section not in _GROUPED:
            own[name] = value
        else:
            read.faults.add((section, name), "a group of parameters", value)
    if own:
        result[WHOLE] = fold_group(own, read, (section,), section, WHOLE, kinds)
    return result


@Memo
def fold_group(
    typed: Mapping[str, Any], read: Reader, place: Place, section: str, group: str, kinds: Kinds
) -> Group:
    """The canonical values of one group, such as one light.

    Shots bring most of their lights in by reference, so that what is typed alike is folded once.
    """
    where = section, group
    flat = flat_of(typed, read, place, where, kinds)

    def fold(still: Flat, by: Reader) -> Folded:
        return FOLDS[section](still, by, place, lambda rest: kept(rest, by, place, where, kinds))

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


class _Layout(NamedTuple):
    """What a group states that has no curve: where groups stand in it, the last first, with their names; and all names, flat."""

    groups: list[tuple[int, list[str]]]
    flat: list[str]


_LAYOUTS: dict[tuple[tuple[str, str], Kinds, tuple[str, ...]], _Layout] = {}
"""By section and name, the kinds that a policy gives and what a group states, how one was laid out whose names were sound."""

_MOST = 10_000


def flat_of(
    typed: Mapping[str, Any], read: Reader, place: Place, where: tuple[str, str], kinds: Kinds
) -> Flat:
    """A group flattened, with its names checked; both only once for all that are laid out alike."""
    key = where, kinds, tuple(typed)
    layout = _LAYOUTS.get(key)
    flat = None if layout is None else _laid_out(typed, layout)
    if flat is not None:
        return flat
    faults = len(read.faults)
    flat = flatten(typed, read, place)
    _check_names(where, typed, read, place, kinds)
    if len(read.faults) == faults:
        groups = [(index, list(value)) for index, value in enumerate(typed.values()) if type(value) is dict]
        layout = _Layout(groups[::-1], list(flat))
        if _laid_out(typed, layout) == flat:
            if len(_LAYOUTS) >= _MOST:
                _LAYOUTS.clear()
            _LAYOUTS[key] = layout
    return flat


def _laid_out(typed: Mapping[str, Any], layout: _Layout) -> Flat | None:
    """A group flattened that may be laid out so; None where it is not."""
    values = list(typed.values())
    for index, names in layout.groups:
        group = values[index]
        if type(group) is not dict or list(group) != names:
            return None
        values[index : index + 1] = group.values()
    if len(values) != len(layout.flat) or not _NO_VALUES.isdisjoint(map(type, values)):
        return None
    return dict(zip(layout.flat, values, strict=True))


_NO_VALUES = frozenset({dict, type(None)})


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
