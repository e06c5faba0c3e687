"""Where a shot differs from the master in structure: present, absent, extra, changed, of another type.

DeepDiff says what is present, absent and of another type. It costs about a hundred times more than a comparison that finds
nothing, so what is strictly equal is taken out first, group by group and value by value; of the rest, what is of one type
is another value, and each way in which two sides differ otherwise is laid before it once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from operator import is_
from typing import Any

from samelight.sheets.canonical import WHOLE, Section, Sections
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Group, Level, Roll, Value, strictly_equal
from samelight.sheets.vocabulary import COMPARED_SECTIONS, LIT

CHANGED, ABSENT, EXTRA = "changed", "absent", "extra"

_OF_ONE_TYPE = -1
"""In place of a number in what DeepDiff is given: two values of one type that are not equal."""

Key = tuple[str, str, str | None]
"""Section, group and parameter; no parameter stands for the presence of the whole group."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One place that differs. `leaf` is None when a whole group is absent or extra."""

    section: str
    group: str
    leaf: str | None
    how: str


_HOW = {
    "values_changed": CHANGED,
    "type_changes": CHANGED,
    CHANGED: CHANGED,
    "dictionary_item_removed": ABSENT,
    "dictionary_item_added": EXTRA,
}


def differences(
    master: Sections, shot: Sections, sections: Sequence[str] = COMPARED_SECTIONS
) -> list[Difference]:
    """Every difference in the sections a master holds, in the master's order, then what only the shot has.

    A section that only the shot has is no drift, but for lights and environments: there each group is extra. One that only
    the master has leaves each of its groups absent.
    Cost is compared where both state it: no shot has to be timed.
    """
    return differences_of_pairs([(master, shot)], sections)[0]


def differences_of_pairs(
    pairs: Sequence[tuple[Sections, Sections]], sections: Sequence[str] = COMPARED_SECTIONS
) -> list[list[Difference]]:
    """`differences` of many pairs of what is held against and a shot, pair by pair."""
    number_of: dict[tuple[type, type], int] = {}
    mine: dict[int, Value] = {}
    theirs: dict[int, Value] = {}
    places: list[list[tuple[Key, int]]] = []
    for master, shot in pairs:
        line: list[tuple[Key, int]] = []
        places.append(line)
        for key, a, b in _unequal(master, shot, sections):
            types = type(a), type(b)
            if types[0] is types[1]:
                line.append((key, _OF_ONE_TYPE))
                continue
            number = number_of.get(types)
            if number is None:
                number = number_of[types] = len(number_of)
                if a is not None:
                    mine[number] = a
                if b is not None:
                    theirs[number] = b
            line.append((key, number))
    how = {_OF_ONE_TYPE: CHANGED, **(_diff(mine, theirs) if number_of else {})}
    return [[Difference(*key, how[number]) for key, number in line if number in how] for line in places]


def held(master: Sections, section: str) -> Section | None:
    """What a section of a shot is held against; None where the master leaves it to every shot."""
    return master.get(section, {} if section in LIT else None)


Unequal = Iterator[tuple[Key, Value | None, Value | None]]


def _unequal(master: Sections, shot: Sections, sections: Sequence[str]) -> Unequal:
    """The groups and values that are not strictly equal, with the master's value and the shot's."""
    for section in sections:
        setup = held(master, section)
        if setup is not None:
            for name, a, b in _pairs(setup, shot.get(section, {})):
                if a is None:
                    yield (section, name, None), None, "present"
                elif b is None:
                    yield (section, name, None), "present", None
                elif not same_group(a, b):
                    yield from _unequal_leaves(section, name, a, b)


def _unequal_leaves(section: str, name: str, a: Group, b: Group) -> Unequal:
    for leaf in a if section == "cost" or a.keys() == b.keys() else {**a, **b}:
        first, second = a.get(leaf), b.get(leaf)
        if first is second or (section == "cost" and second is None):
            continue
        if not _equal(first, second):
            yield (section, name, leaf), first, second


def _pairs(master: Section, shot: Section) -> Iterator[tuple[str, Group | None, Group | None]]:
    for name, group in master.items():
        other = shot.get(name)
        # A section's own parameters are no group that could be absent as a whole.
        yield name, group, {} if other is None and name == WHOLE else other
    for name, group in shot.items():
        if name not in master:
            yield name, {} if name == WHOLE else None, group


def same_group(a: Group, b: Group) -> bool:
    """Strictly equal throughout and in the same order, said fast; False may also mean another order or a curve."""
    if len(a) == len(b) and all(map(is_, a.values(), b.values())):
        return list(a) == list(b)
    types = list(map(type, a.values()))
    return a == b and types == list(map(type, b.values())) and Curve not in types


def _equal(a: Value | None, b: Value | None) -> bool:
    """Strictly equal, and a curve key by key: one of ones and noughts is none of on and off."""
    if isinstance(a, Curve) and isinstance(b, Curve):
        return a == b and [type(key) for _, key in a.keys] == [type(key) for _, key in b.keys]
    return strictly_equal(a, b)


def _diff(mine: Mapping[int, Value], theirs: Mapping[int, Value]) -> dict[int, str]:
    # It takes a fifth of a short command's time, and where nothing differs in structure nobody needs it.
    from deepdiff import DeepDiff
    from deepdiff.operator import BaseOperator

    class WholeValue(BaseOperator):
        """Takes canonical values as one leaf each: a vector is no list to align, a set no bag to match."""

        def __init__(self) -> None:
            super().__init__(types=[str, Level, Colour, FileRef, Amount, Roll, Curve, tuple, frozenset])

        def give_up_diffing(self, level: Any, diff_instance: Any) -> bool:
            if not _equal(level.t1, level.t2):
                diff_instance.custom_report_result(CHANGED, level)
            return True

    # A name that is a number would be written out and evaluated, for each that differs.
    report = DeepDiff(
        {str(number): value for number, value in mine.items()},
        {str(number): value for number, value in theirs.items()},
        view="tree",
        custom_operators=[WholeValue()],
        # Otherwise a shot that holds 6 of 20 lights is one change of the whole sheet.
        threshold_to_diff_deeper=0,
        ignore_numeric_type_changes=False,
    )
    return {_number(level): _HOW[kind] for kind, levels in report.items() for level in levels}


def _number(level: Any) -> int:
    """Under which number a difference stands; `level.path()` would make text of it and parse that."""
    top = level.all_up
    return int((top.t1_child_rel or top.t2_child_rel).param)
