"""Where a shot differs from the master in structure: present, absent, extra, changed, of another type.

DeepDiff says what differs. It costs about a hundred times more than a comparison that finds nothing, so what
is strictly equal is taken out first, group by group and value by value.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from deepdiff import DeepDiff
from deepdiff.operator import BaseOperator

from samelight.sheets.canonical import WHOLE, Section, Sections
from samelight.sheets.values import Amount, Colour, Curve, FileRef, Level, strictly_equal
from samelight.sheets.vocabulary import COMPARED_SECTIONS

CHANGED, ABSENT, EXTRA = "changed", "absent", "extra"


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
        super().__init__(types=[Level, Colour, FileRef, Amount, Curve, tuple, frozenset])

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
    master: Sections, shot: Sections, sections: Sequence[str] = COMPARED_SECTIONS
) -> list[Difference]:
    """Every difference in the sections a master holds.

    A section that only the shot has is no drift; one that only the master has leaves each of its groups absent.
    Cost is compared where both state it: no shot has to be timed.
    """
    found: list[Difference] = []
    for section in sections:
        if section not in master or (section == "cost" and section not in shot):
            continue
        mine, theirs = _unequal(master[section], shot.get(section, {}))
        if mine or theirs:
            found.extend(_diff(section, mine, theirs))
    return found


def _unequal(master: Section, shot: Section) -> tuple[Section, Section]:
    """Both sections without the groups and values that are strictly equal."""
    mine: Section = {}
    theirs: Section = {}
    for name in master.keys() | shot.keys():
        a, b = master.get(name), shot.get(name)
        if name == WHOLE:  # a section's own parameters are no group that could be absent as a whole
            a, b = a or {}, b or {}
        if a is None or b is None:
            if a is not None:
                mine[name] = a
            if b is not None:
                theirs[name] = b
            continue
        leaves = [leaf for leaf in a.keys() | b.keys() if not strictly_equal(a.get(leaf), b.get(leaf))]
        if leaves:
            mine[name] = {leaf: a[leaf] for leaf in leaves if leaf in a}
            theirs[name] = {leaf: b[leaf] for leaf in leaves if leaf in b}
    return mine, theirs


def _diff(section: str, master: Section, shot: Section) -> list[Difference]:
    report = DeepDiff(
        master,
        shot,
        view="tree",
        custom_operators=[_WholeValue()],
        # Otherwise a shot that holds 6 of 20 lights is one change of the whole section.
        threshold_to_diff_deeper=0,
        ignore_numeric_type_changes=False,
    )
    found: list[Difference] = []
    for kind, levels in report.items():
        how = _HOW[kind]
        for level in levels:
            group, leaf = (*level.path(output_format="list"), None)[:2]
            found.append(Difference(section, group, leaf, how))
    return found
