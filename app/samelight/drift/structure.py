"""Where a shot differs from the master in structure: present, absent, extra, changed, of another type.

DeepDiff says what is present, absent and of another type. It costs about a hundred times more than a comparison that finds
nothing, so what is strictly equal is taken out first, group by group and value by value; of the rest, what is of one type
is another value, and each way in which two sides differ otherwise is laid before it once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import compress, count, repeat
from operator import is_, is_not
from typing import Any

from samelight.sheets.canonical import WHOLE, Section, Sections
from samelight.sheets.unstated import unstated
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Group, Level, Roll, Value, strictly_equal
from samelight.sheets.vocabulary import COMPARED_SECTIONS, LIT

CHANGED, ABSENT, EXTRA = "changed", "absent", "extra"

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
    """`differences` of many pairs of what is compared with and a shot, pair by pair."""
    ways = Ways()
    return [
        [
            Difference(*key, how)
            for key, a, b in _unequal(master, shot, sections)
            if (how := ways.of(a, b)) is not None
        ]
        for master, shot in pairs
    ]


class Ways:
    """In which way two sides differ that are not strictly equal. Each pair of types is laid before DeepDiff once."""

    def __init__(self) -> None:
        self._known: dict[tuple[type, type], str | None] = {}

    def of(self, a: Value | None, b: Value | None) -> str | None:
        """How the shot's side `b` differs from `a`, where None is for nothing there; None where DeepDiff finds nothing."""
        types = type(a), type(b)
        if types[0] is types[1]:
            return CHANGED
        if types not in self._known:
            self._known[types] = _diff(a, b)
        return self._known[types]


def held(master: Sections, section: str) -> Section | None:
    """What a section of a shot is compared with; None where the master leaves it to every shot."""
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
                    for leaf, first, second in unequal_leaves(section, a, b):
                        yield (section, name, leaf), first, second


def unequal_leaves(section: str, a: Group, b: Group) -> list[tuple[str, Value | None, Value | None]]:
    """The parameters of one group that are not strictly equal on both sides, with the value of each; None is for none.

    What one side alone leaves out is there as what that means (`unstated`). Those of cost count where both sides state them.
    """
    if section != "cost" and len(a) == len(b) and list(a) == list(b):
        return [
            (leaf, first, second)
            for leaf, first, second in zip(a, a.values(), b.values(), strict=True)
            # As `_equal` says, which half of a film's values need not be asked for one by one.
            if first is not second
            and (
                type(first) is not type(second)
                or first != second
                or (type(first) is Curve and not _equal(first, second))
            )
        ]
    found: list[tuple[str, Value | None, Value | None]] = []
    for leaf in a if section == "cost" else {**a, **b}:
        one, other = a.get(leaf), b.get(leaf)
        if one is other or (section == "cost" and other is None):
            continue
        if one is None:
            one = unstated(section, leaf, other)
        elif other is None:
            other = unstated(section, leaf, one)
        if not _equal(one, other):
            found.append((leaf, one, other))
    return found


def unequal_columns(
    group: Group, others: Sequence[Group], ways: Ways
) -> Iterator[tuple[str, Value, list[int], list[Value]]]:
    """One group and each of many that state its parameters in its order, parameter by parameter: its name and value, which of
    the many have another, and what these have."""
    columns = zip(*(other.values() for other in others), strict=True)
    for (leaf, own), column in zip(group.items(), columns, strict=True):
        kind = type(own)
        unequal = [
            place
            for place in compress(count(), map(is_not, column, repeat(own)))
            if ((value := column[place]) != own or not _equal(own, value))
            and (type(value) is kind or ways.of(own, value) is not None)
        ]
        if unequal:
            yield leaf, own, unequal, [*map(column.__getitem__, unequal)]


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


def _diff(mine: Value | None, theirs: Value | None) -> str | None:
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

    report = DeepDiff(
        {} if mine is None else {_HERE: mine},
        {} if theirs is None else {_HERE: theirs},
        view="tree",
        custom_operators=[WholeValue()],
        # Otherwise a shot that holds 6 of 20 lights is one change of the whole sheet.
        threshold_to_diff_deeper=0,
        ignore_numeric_type_changes=False,
    )
    return next((_HOW[kind] for kind, levels in report.items() if levels), None)


_HERE = "here"
"""Under which name a value is laid before DeepDiff."""
