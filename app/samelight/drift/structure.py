"""Where a shot differs from the master in structure: present, absent, extra, changed, of another type.

DeepDiff says what differs. It costs about a hundred times more than a comparison that finds nothing, so what
is strictly equal is taken out first, group by group and value by value, and the rest is laid flat.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from deepdiff import DeepDiff
from deepdiff.operator import BaseOperator

from samelight.sheets.canonical import WHOLE, Section, Sections
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Group, Level, Value, strictly_equal
from samelight.sheets.vocabulary import COMPARED_SECTIONS

CHANGED, ABSENT, EXTRA = "changed", "absent", "extra"

Key = tuple[str, str, str | None]
"""Section, group and parameter; no parameter stands for the presence of the whole group."""

Asked = dict[tuple[Key, type, Value | None], str | None]
"""How a shot's value (None: it has none) differs from the one master's."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One place that differs. `leaf` is None when a whole group is absent or extra."""

    section: str
    group: str
    leaf: str | None
    how: str


class _WholeValue(BaseOperator):
    """Takes canonical values as one leaf each: a vector is no list to align, a set no bag to match."""

    def __init__(self) -> None:
        super().__init__(types=[str, Level, Colour, FileRef, Amount, Curve, tuple, frozenset])

    def give_up_diffing(self, level: Any, diff_instance: Any) -> bool:
        if not strictly_equal(level.t1, level.t2):
            diff_instance.custom_report_result(CHANGED, level)
        return True


_HOW = {
    "values_changed": CHANGED,
    "type_changes": CHANGED,
    CHANGED: CHANGED,
    "dictionary_item_removed": ABSENT,
    "dictionary_item_added": EXTRA,
}


def differences(
    master: Sections,
    shot: Sections,
    sections: Sequence[str] = COMPARED_SECTIONS,
    asked: Asked | None = None,
) -> list[Difference]:
    """Every difference in the sections a master holds, in the master's order, then what only the shot has.

    A section that only the shot has is no drift; one that only the master has leaves each of its groups absent.
    Cost is compared where both state it: no shot has to be timed. `asked` carries answers from shot to shot of
    one master: many shots hold the same drifted value, and it is compared once.
    """
    mine: dict[Key, Value] = {}
    theirs: dict[Key, Value] = {}
    for section in sections:
        if section in master:
            _lay_out_unequal(section, master[section], shot.get(section, {}), mine, theirs)
    asked = {} if asked is None else asked
    places = {key: (key, type(value := theirs.get(key)), value) for key in {**mine, **theirs}}
    new = [key for key, place in places.items() if place not in asked]
    if new:
        how = _diff({k: mine[k] for k in new if k in mine}, {k: theirs[k] for k in new if k in theirs})
        asked.update((places[key], how.get(key)) for key in new)
    return [Difference(*key, answer) for key, place in places.items() if (answer := asked[place])]


def _lay_out_unequal(
    section: str, master: Section, shot: Section, mine: dict[Key, Value], theirs: dict[Key, Value]
) -> None:
    """Put the groups and values of a section that are not strictly equal into `mine` and `theirs`."""
    for name, a, b in _pairs(master, shot):
        if a is None:
            theirs[section, name, None] = "present"
        elif b is None:
            mine[section, name, None] = "present"
        elif not _same(a, b):
            for leaf in a if section == "cost" else {**a, **b}:
                first, second = a.get(leaf), b.get(leaf)
                if strictly_equal(first, second) or (section == "cost" and second is None):
                    continue
                if first is not None:
                    mine[section, name, leaf] = first
                if second is not None:
                    theirs[section, name, leaf] = second


def _pairs(master: Section, shot: Section) -> Iterator[tuple[str, Group | None, Group | None]]:
    for name, group in master.items():
        other = shot.get(name)
        # A section's own parameters are no group that could be absent as a whole.
        yield name, group, {} if other is None and name == WHOLE else other
    for name, group in shot.items():
        if name not in master:
            yield name, {} if name == WHOLE else None, group


def _same(a: Group, b: Group) -> bool:
    """Strictly equal throughout and in the same order, said fast; False may also mean another order."""
    return a == b and list(map(type, a.values())) == list(map(type, b.values()))


def _diff(mine: dict[Key, Value], theirs: dict[Key, Value]) -> dict[Key, str]:
    report = DeepDiff(
        mine,
        theirs,
        view="tree",
        custom_operators=[_WholeValue()],
        # Otherwise a shot that holds 6 of 20 lights is one change of the whole sheet.
        threshold_to_diff_deeper=0,
        ignore_numeric_type_changes=False,
    )
    return {
        level.path(output_format="list")[0]: _HOW[kind] for kind, levels in report.items() for level in levels
    }
