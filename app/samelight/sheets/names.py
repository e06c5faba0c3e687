"""What can be a name in a sheet, and which names are a slip for one that means something where they stand."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from samelight.sheets.errors import Faults, Found, Place, shown_name
from samelight.sheets.parameters import ALSO_MEANT, OF_SECTION
from samelight.sheets.scalars import scalar
from samelight.sheets.slips import meant
from samelight.sheets.upgrades import NAMES as FORMER_NAMES
from samelight.sheets.vocabulary import DIRECTION_INPUTS, FOLDED, LIT, Patterns, kind_by_pattern

Odd = tuple[str, str, Found, str | None]
"""A name that cannot stand where it does: what was expected, what it is, and what was probably meant."""

NAME = "a name as key"
_QUOTES = "'\"`"


def parameter_name(section: str, group: str, leaf: str = "") -> str:
    """The full name of a parameter, or of a group when there is no leaf.

    >>> parameter_name("lights", "sun", "direction"), parameter_name("cost", "", "test_frame")
    ('lights.sun.direction', 'cost.test_frame')
    """
    if section and group and leaf:  # nearly always, and a film asks very often
        return f"{section}.{group}.{leaf}"
    return ".".join(part for part in (section, group, leaf) if part)


@lru_cache(maxsize=65536)
def odd_name(name: str, *, dots: bool = False) -> Odd | None:
    """Why a key cannot be a name; None where it can.

    A name is text on one line without quotes, spaces at its ends and, unless `dots` are steps, without dots, since it
    stands between dots in the names of parameters; and it is no number.

    >>> odd_name("rim light") is None, odd_name("shadow.enable", dots=True) is None, odd_name("sun.direction")[3]
    (True, True, 'sun_direction')
    """
    if is_number(name):
        return name, NAME, Found(f"the number {shown_name(name)}"), None
    plain = _plain(name, dots=dots)
    if plain == name:
        return None
    expected = "a name without dots, quotes, line breaks and spaces at its ends"
    if dots:
        expected = "a name without quotes, line breaks, spaces at its ends and empty steps"
    return name, expected, Found(shown_name(name)), plain if plain and _is_short(plain) else None


def _is_short(name: str) -> bool:
    return name == shown_name(name)


def as_name(text: str) -> str:
    """A name of a scene's as one that can stand in a sheet: as it is wherever it can.

    >>> [as_name(text) for text in ("sun", "Light.001", " 5", ".")]
    ['sun', 'Light_001', '_5', '_']
    """
    plain = _plain(text)
    return plain if plain and odd_name(plain) is None else f"_{plain}"


def is_slip(section: str, name: str) -> bool:
    """Whether a sheet would take a parameter's name for a slip of another's."""
    return _slip(section, tuple(name.split(".")), name) is not None


def _plain(name: str, *, dots: bool = False) -> str:
    """A name without what cannot stand in one; it may be empty, or a number."""
    plain = "".join("_" if not one.isprintable() else one for one in name if one not in _QUOTES).strip()
    if not dots:
        return plain.replace(".", "_")
    return ".".join(step for step in plain.split(".") if step) if "" in name.split(".") else plain


def is_number(name: str) -> bool:
    """Whether a key, as it was typed, is a number.

    >>> [is_number(name) for name in ("5", "1e3", "2nd", "on")]
    [True, True, False, False]
    """
    try:
        return isinstance(scalar(name), int | float) and not isinstance(scalar(name), bool)
    except ValueError:
        return True


@lru_cache(maxsize=65536)
def odd_groups(names: tuple[str, ...]) -> tuple[Odd, ...]:
    """Of the names of a section's groups, those that cannot be one."""
    return tuple(odd for name in names if (odd := odd_name(name)) is not None)


@lru_cache(maxsize=65536)
def _odd_parameters(section: str, above: tuple[str, ...], names: tuple[str, ...]) -> tuple[Odd, ...]:
    """Of the names of parameters that stand below some steps, those that cannot be one or are a slip."""
    return tuple(
        odd
        for name in names
        if (odd := odd_name(name, dots=True) or _slip(section, (*above, *name.split(".")), name)) is not None
    )


def _slip(section: str, steps: tuple[str, ...], name: str) -> Odd | None:
    """What a parameter is a slip for, step by step: below a name that means nothing here, every name is welcome."""
    tree = _MEANT.get(section, {})
    for index, step in enumerate(steps):
        if step not in tree:
            near = meant(step, tree) or _OTHER_WORDS.get(section, {}).get(step)
            before = len(steps) - len(name.split("."))
            if near is None or index < before:  # a slip in a step above is told there
                return None
            right = ".".join((*steps[before:index], near, *steps[index + 1 :]))
            return name, "a name that is known here, or one unlike them", Found(f"the key {name}"), right
        tree = tree[step]
    return None


def note_odd_parameters(
    typed: Mapping[str, Any],
    faults: Faults,
    place: Place,
    where: tuple[str, str],
    kinds: Patterns,
    above: tuple[str, ...] = (),
) -> None:
    """Note the names of a group's parameters, some steps below it, that cannot be meant, and those without a value.

    `where` is the section and the group's name. A parameter that the policy gives a kind is known, whatever it is called.
    """
    section, group = where
    odd = _odd_parameters(section, above, tuple(typed))
    if not odd and None not in typed.values():  # nearly always
        return
    found = {name for name, *_ in odd}
    for name, expected, what, near in odd:
        full = parameter_name(section, group, ".".join((*above, name)))
        if not kind_by_pattern(full, kinds):
            number = _decimal(typed, name, faults, (*place, *above))
            faults.add((*place, *above, name), expected, what, number or near)
    if None in typed.values():
        for name, value in typed.items():
            if value is None and name not in found:
                near = _decimal(typed, name, faults, (*place, *above))
                faults.add((*place, *above, name), "a value", None, near)


def _decimal(typed: Mapping[str, Any], name: str, faults: Faults, place: Place) -> str | None:
    """What was meant where a decimal comma made a key of a number's digits: `exposure: -0,5` has a key 5, and no value."""
    if typed[name] is not None or not name[:1].isdigit():
        return None
    names = list(typed)
    index = names.index(name)
    before = names[index - 1] if index else None
    if before is None or not isinstance(typed[before], int) or isinstance(typed[before], bool):
        return None
    whole = faults.written((*place, before)) or str(typed[before])
    return f"{before}: {whole}.{name}"


def _tree_of(names: set[str]) -> Mapping[str, Any]:
    tree: dict[str, Any] = {}
    for name in sorted(names):
        at = tree
        for step in name.split("."):
            at = at.setdefault(step, {})
    return tree


def _all_meant(section: str) -> set[str]:
    folded = {name for names in FOLDED.values() for name in names} | set(DIRECTION_INPUTS)
    own = {*OF_SECTION.get(section, {}), *ALSO_MEANT.get(section, ())}
    return own | folded if section in ("lights", "environments", "camera") else own


_MEANT: Mapping[str, Mapping[str, Any]] = {
    section: _tree_of(_all_meant(section)) for section in (*OF_SECTION, *ALSO_MEANT) if section != "marks"
}
"""By section, the names that mean something in it, each with those below it. A mark has no others at all."""

_OTHER_WORDS: Mapping[str, Mapping[str, str]] = {
    section: {
        **FORMER_NAMES.get(section, {}),
        **({"level": "intensity"} if section in LIT else {}),
        **({"file": "texture"} if section == "environments" else {}),
    }
    for section in (*FORMER_NAMES, *LIT)
}
"""Names of earlier formats, of what is worked out of others, which nobody can state beside them, and the file of a sky."""
