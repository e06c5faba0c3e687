"""Groups of many sheets folded together, parameter by parameter, before each sheet is read.

Where half of a film drifts hardly any light was met before, but most state the same parameters. What they come to is then
known to the reading of each sheet as if it had been met. Whatever is out of the ordinary is left to that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from itertools import chain, repeat
from operator import is_
from pathlib import Path
from typing import Any

from samelight.sheets.aiming import aimed, aimed_together
from samelight.sheets.canonical import flat_of, fold_group
from samelight.sheets.conventions import Conventions, read_conventions
from samelight.sheets.emission import emission, emitted_together
from samelight.sheets.errors import SheetError
from samelight.sheets.fast_yaml import read_pieces
from samelight.sheets.folding import (
    WITHOUT_RADIUS,
    Folded,
    Inputs,
    aim_of_shape,
    inputs_of,
    named_emission,
    sizes_of,
)
from samelight.sheets.leaves import Leaf, Named, leaves_of, read_sound, sound_leaves
from samelight.sheets.memo import AtFaultError, Sound, as_bytes, refusal
from samelight.sheets.quantities import Reader
from samelight.sheets.trees import read_text
from samelight.sheets.values import Group
from samelight.sheets.vocabulary import FOLDED, Patterns

SECTIONS = ("lights", "render", "surfaces")
FEWEST = 8
"""Groups. Fewer are folded one by one in the same time."""

_OF_THE_WHOLE = frozenset({"type", *WITHOUT_RADIUS.values()})
"""What says how everything else of a light is read."""

_Column = Sequence[Any]
_Rows = Sequence[tuple[Any, ...]]


def fold_ahead(paths: Iterable[Path], given: Conventions, kinds: Patterns) -> None:
    """Fold together what the sheets in files of YAML state under a sequence's conventions; a file at fault is left out."""
    trees = []
    for path in paths:
        with suppress(SheetError):
            trees.append(read_pieces(read_text(path)) or {})
    fold_together(trees, given, kinds)


def fold_together(trees: Iterable[Mapping[str, Any]], given: Conventions, kinds: Patterns) -> None:
    """Have what groups of these trees fold to known, where many state the same."""
    alike: dict[tuple[Any, ...], tuple[Sound[Group], list[dict[str, Any]]]] = {}
    for data in trees:
        with suppress(AtFaultError):
            sound = fold_group.under(read_conventions(data, given, refusal()))
            for section in SECTIONS:
                groups = data.get(section)
                for name, typed in groups.items() if type(groups) is dict else ():
                    if type(typed) is dict:
                        kind = id(sound), section, name, str(typed.get("type")), *typed
                        alike.setdefault(kind, (sound, []))[1].append(typed)
    for (_, section, name, *_), (sound, groups) in alike.items():
        if len(groups) >= FEWEST:
            with suppress(AtFaultError):
                _fold(groups, sound, (section, name), tuple(kinds))


def _fold(
    groups: Sequence[dict[str, Any]],
    sound: Sound[Group],
    where: tuple[str, str],
    kinds: tuple[tuple[str, str], ...],
) -> None:
    """Have what groups of one name fold to known. Raises `AtFaultError` where that is to be found out one by one."""
    unknown = {key: typed for typed in groups if (key := (as_bytes(typed), *where, kinds)) not in sound}
    if len(unknown) < FEWEST:
        return
    flats = [flat_of(typed, sound.reader, (), where, kinds) for typed in unknown.values()]
    names = tuple(flats[0])
    if any(tuple(flat) != names for flat in flats):
        raise AtFaultError
    typed = dict(zip(names, zip(*(flat.values() for flat in flats), strict=True), strict=True))
    if not {dict, type(None)}.isdisjoint(map(type, chain.from_iterable(typed.values()))):
        raise AtFaultError
    key, first = next(iter(unknown.items()))
    columns = _columns(typed, sound.read(key, first), where, kinds, sound.reader)
    for key, values in zip(unknown, zip(*columns.values(), strict=True), strict=True):
        sound.met(key, dict(zip(columns, values, strict=True)))


def _columns(
    typed: Mapping[str, _Column],
    first: Group,
    where: tuple[str, str],
    kinds: tuple[tuple[str, str], ...],
    read: Reader,
) -> dict[str, _Column]:
    """The canonical values of groups by name, of which the first folds to `first`. Raises `AtFaultError`."""
    is_light = where[0] == "lights"
    inputs = inputs_of("lights" if is_light else "", tuple(typed))
    count = len(next(iter(typed.values())))
    columns: dict[str, _Column] = {name: [value] * count for name, value in first.items()}
    sound, of_leaves = sound_leaves(read), list[str]()
    whole = _OF_THE_WHOLE.union(*(FOLDED[leaf] for leaf in inputs.files))
    for leaf in leaves_of(where, inputs.rest, kinds):
        column = typed[leaf.name]
        if leaf.name in whole:
            if not _is_one(column):
                raise AtFaultError
            continue
        names = [name for name, _ in read_sound(column[0], leaf, sound, read)]
        of_leaves += names
        if not _is_one(column):
            columns.update(_leaf_columns(column, leaf, names, sound, read))
    parts: dict[str, _Column] = {}
    if is_light:
        sizes = [columns.get(name, [None] * count) for name in inputs.sizes]  # one may be read as nothing
        parts = _parts_of_lights(typed, first, inputs, sizes, "axis" in of_leaves, read)
    if len({*of_leaves, *parts}) < len(of_leaves) + len(parts) or (columns | parts).keys() != first.keys():
        raise AtFaultError
    return columns | parts


def _parts_of_lights(
    typed: Mapping[str, _Column],
    first: Group,
    inputs: Inputs,
    sizes: Sequence[_Column],
    states_axis: bool,
    read: Reader,
) -> dict[str, _Column]:
    """What several parameters of each light make together: its aim and what it gives. Raises `AtFaultError`."""
    shape = str(first.get("type", ""))
    if "type" in inputs.rest and not shape:  # of a kind that a policy gives it
        raise AtFaultError
    flags = {name: value for name in WITHOUT_RADIUS.values() if (value := first.get(name)) is True}

    def aim(rows: _Rows, _: _Rows) -> list[Folded]:
        aims = aimed_together(_by_name(inputs.aim, rows), read) or [
            aimed.plain(dict(zip(inputs.aim, row, strict=True)), read, ()) for row in rows
        ]
        return [aim_of_shape(one, shape, inputs, states_axis) for one in aims]

    def emitted(rows: _Rows, sizes: _Rows) -> list[Folded]:
        found = emitted_together(_by_name(inputs.emission, rows), len(rows), read, shape) or [
            emission.plain(
                (
                    dict(zip(inputs.emission, row, strict=False)),
                    sizes_of({**flags, **dict(zip(inputs.sizes, sized, strict=True))}, shape, inputs),
                ),
                read,
                (),
                shape,
            )
            for row, sized in zip(rows, sizes, strict=True)
        ]
        return [*map(named_emission, found)]

    return {
        **_part([typed[name] for name in inputs.aim], [], aim),
        **_part([typed[name] for name in (*inputs.emission, *inputs.sizes)], sizes, emitted),
    }


def _is_one(column: _Column) -> bool:
    """Whether a value is the same throughout; False may also mean equal ones that are not certainly that."""
    first = column[0]
    return all(map(is_, column, repeat(first))) or (
        {*map(type, column)} == {str} and column.count(first) == len(column)
    )


def _leaf_columns(
    column: _Column, leaf: Leaf, names: Sequence[str], sound: Sound[Named], read: Reader
) -> dict[str, _Column]:
    """What values of one parameter are read as, under these names. Raises `AtFaultError`."""
    once = {id(value): value for value in column}
    read_as = {place: read_sound(value, leaf, sound, read) for place, value in once.items()}
    found = [read_as[id(value)] for value in column]
    if any([name for name, _ in one] != names for one in read_as.values()):
        raise AtFaultError
    return {name: [one[place][1] for one in found] for place, name in enumerate(names)}


def _by_name(names: Sequence[str], rows: _Rows) -> dict[str, _Column]:
    """The columns of rows, of which the first have these names."""
    return dict(zip(names, zip(*rows, strict=True), strict=False))


def _part(
    typed: Sequence[_Column], sizes: Sequence[_Column], make: Callable[[_Rows, _Rows], list[Folded]]
) -> dict[str, _Column]:
    """What several parameters of each light make together, once for all that state one thing. Raises `AtFaultError` where some
    make what others do not."""
    if not typed:
        return {}
    rows = [*zip(*typed, strict=True)]
    sized = [*zip(*sizes, strict=True)] or [()] * len(rows)
    firsts: dict[tuple[int, ...], int] = {}
    which = [firsts.setdefault(tuple(map(id, row)), place) for place, row in enumerate(rows)]
    places = [*firsts.values()]
    made = make([rows[place] for place in places], [sized[place] for place in places])
    if any(one.keys() != made[0].keys() for one in made):
        raise AtFaultError
    of_place = dict(zip(places, made, strict=True))
    return {name: [of_place[place][name] for place in which] for name in made[0]}
