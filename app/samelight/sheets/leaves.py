"""The parameters of a group that fold into nothing, each into a canonical value by itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, compress, count, repeat
from operator import is_not
from typing import Any, NamedTuple

from samelight.light.colour import luminance
from samelight.light.noise import figure_of_typed
from samelight.sheets.errors import Place
from samelight.sheets.folding import Flat, Folded
from samelight.sheets.memo import AtFaultError, Memo, Sound, as_bytes
from samelight.sheets.names import parameter_name
from samelight.sheets.parameters import OF_SECTION, Parameter
from samelight.sheets.quantities import LARGEST_NUMBER, Reader
from samelight.sheets.slips import meant_word
from samelight.sheets.upgrades import WORDS as FORMER_WORDS
from samelight.sheets.values import Level, Static, in_figures
from samelight.sheets.vocabulary import (
    BRIGHTNESS,
    CHOICE,
    COLOUR,
    DIRECTION,
    FILE,
    LENGTH,
    LEVEL,
    POSITION,
    SET,
    SWITCH,
    TEXT,
    USUAL_WORDS,
    kind_by_name,
    kind_by_pattern,
)

Kinds = tuple[tuple[str, str], ...]
"""`Patterns` that can be looked up by."""

Named = tuple[tuple[str, Static], ...]
"""The canonical value of a parameter by its name, and the level of a colour; nothing where none is set."""


@dataclass(frozen=True, slots=True, eq=False)
class Leaf:
    """How a parameter is read that folds into nothing."""

    name: str
    parameter: Parameter | None
    """Its fixed meaning, if it has one; otherwise it is of a kind by its name or the policy, or by its value alone."""
    kind: str | None
    in_pixels: bool
    plain: tuple[float, float]
    """From what to what a typed number with a point stands for itself, where lengths are in metres; the first is the larger one
    where none does."""


class _Row(NamedTuple):
    """The parameters of one group: as typed, how each is read, and as what."""

    typed: list[Any]
    leaves: list[Leaf]
    found: list[Named]


def kept(rest: Flat, read: Reader, place: Place, where: tuple[str, str], kinds: Kinds) -> Folded:
    """The canonical values of parameters that fold into nothing. `where` is the section and the group's name.

    Of a group that was met before, only those are read that another object stands for: that is a few of each in most films.
    """
    typed = list(rest.values())
    try:
        sound = sound_leaves(read)
        key = where, kinds, tuple(rest)
        first: _Row | None = sound.first.get(key)
        if first is None:
            leaves = leaves_of(where, key[2], kinds)
            found = [read_sound(value, leaf, sound, read) for value, leaf in zip(typed, leaves, strict=True)]
            sound.met_first(key, _Row(typed, leaves, found))
        else:
            found = first.found.copy()
            for index in compress(count(), map(is_not, typed, first.typed)):
                found[index] = read_sound(typed[index], first.leaves[index], sound, read)
    except AtFaultError:
        found = [
            _leaf(value, read, (*place, *leaf.name.split(".")), leaf)
            for value, leaf in zip(typed, leaves_of(where, tuple(rest), kinds), strict=True)
        ]
    return dict(chain.from_iterable(found))


def sound_leaves(read: Reader) -> Sound[Named]:
    """The parameters that were read under a reader's conventions."""
    return _leaf.under(read.conventions)


def read_sound(value: Any, leaf: Leaf, sound: Sound[Named], read: Reader) -> Named:
    """What a parameter is read as. Raises `AtFaultError`.

    Numbers are met once where much drifts, and what most of them come to takes no longer than looking them up.
    """
    least, most = leaf.plain
    if type(value) is float and least <= value <= most and (leaf.kind != LENGTH or read.in_metres):
        return ((leaf.name, figure_of_typed(value)),)
    return sound[as_bytes(value), leaf]


def leaves_of(where: tuple[str, str], names: tuple[str, ...], kinds: Kinds) -> list[Leaf]:
    section, group = where
    # A group's own name says something of its parameters only where a policy names kinds, and in this word.
    by_policy = _kinds_of(where, names, kinds) if kinds else None
    return _leaves_of(section, names, by_policy, group == "resolution")


@lru_cache(maxsize=4096)
def _kinds_of(where: tuple[str, str], names: tuple[str, ...], kinds: Kinds) -> tuple[str | None, ...]:
    """The kinds that a policy's patterns give to the parameters of a group."""
    return tuple(kind_by_pattern(parameter_name(*where, name), kinds) for name in names)


@lru_cache(maxsize=4096)
def _leaves_of(
    section: str, names: tuple[str, ...], by_policy: tuple[str | None, ...] | None, in_pixels: bool
) -> list[Leaf]:
    return [
        _leaf_of(section, name, kind, in_pixels or "resolution" in name.split("."))
        for name, kind in zip(names, by_policy or repeat(None), strict=False)
    ]


@lru_cache(maxsize=65536)
def _leaf_of(section: str, name: str, by_policy: str | None, in_pixels: bool) -> Leaf:
    parameter = None if by_policy else OF_SECTION.get(section, {}).get(name)
    kind = by_policy or (parameter.kind if parameter else kind_by_name(name))
    return Leaf(name, parameter, kind, in_pixels, _plain(parameter, kind))


_NOT_PLAIN = frozenset({LEVEL, CHOICE, TEXT})
_NEVER_PLAIN = frozenset({SWITCH, FILE, SET, COLOUR, POSITION, DIRECTION})
"""Kinds of which a number is at fault where the parameter's meaning is fixed, and stands for itself elsewhere."""


def _plain(parameter: Parameter | None, kind: str | None) -> tuple[float, float]:
    """See `Leaf.plain`."""
    if kind in _NOT_PLAIN or (parameter is not None and kind in _NEVER_PLAIN):
        return math.inf, -math.inf
    least, most = (None, None) if parameter is None else (parameter.least, parameter.most)
    return (
        -LARGEST_NUMBER if least is None else max(least, -LARGEST_NUMBER),
        LARGEST_NUMBER if most is None else min(most, LARGEST_NUMBER),
    )


@Memo
def _leaf(value: Any, read: Reader, place: Place, leaf: Leaf) -> Named:
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


def _unknown(value: Any, leaf: Leaf, read: Reader, place: Place) -> Static | None:
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
