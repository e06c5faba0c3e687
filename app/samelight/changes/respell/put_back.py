"""A shot's parameters put back to a reference's values, in the words that the shot's own sheet uses.

A shot that typed azimuth and elevation gets azimuth and elevation, one in centimetres gets centimetres, and an intensity
is set beside the exposure that the shot has. Spelling is tried, not trusted: every candidate is read again the way the
sheet itself is read, and the first one that gives the wanted value, and leaves everything else of the group as it was, is
taken.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from samelight.changes.respell.bench import REMOVED, Bench, Edits
from samelight.changes.respell.candidates import candidates
from samelight.drift.metrics import kind_of, same
from samelight.light.noise import NOISE
from samelight.sheets.canonical import WHOLE, canonical
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.keyed import flat_names
from samelight.sheets.names import parameter_name
from samelight.sheets.quantities import Reader
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group, Level, Value
from samelight.sheets.vocabulary import LENGTH, LEVEL, Patterns

__all__ = ["REMOVED", "Edit", "Leaf", "Respelt", "put_back"]

Tree = dict[str, Any]

Leaf = tuple[str, str, str]
"""Section, group and parameter; an empty parameter means the whole group."""

_LAST = ("position", "direction", "rotation", "tilt", "roll", "axis", "colour", "level")
"""Leaves that depend on others, in the order in which they are settled: a level counts sizes and colour."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One typed name to set, or with `value` `REMOVED` to take out, for the sake of a parameter.

    `name` is within the group, dotted where it is nested, and empty for the whole group. `was` is `REMOVED` where the
    name was not there.
    """

    parameter: str
    name: str
    value: Any
    was: Any


@dataclass(frozen=True, slots=True)
class Respelt:
    """A sheet's tree with values put in, what was typed for which parameter, and the parameters there was no way for.

    A parameter that comes right with another, such as the direction of a light that aims at a target, has no edit of
    its own.
    """

    tree: Tree
    edits: tuple[Edit, ...]
    left: tuple[str, ...]


def put_back(sheet: Sheet, reference: Sheet, leaves: Iterable[Leaf], kinds: Patterns = ()) -> Respelt:
    """`sheet`'s tree with these parameters as `reference` has them, all else reading as it did.

    What the reference does not have is taken out. A level stays what it was when only the colour is asked for, and a
    direction when only the position is. `kinds` are a policy's patterns.
    """
    groups: dict[tuple[str, str], list[str]] = {}
    for section, group, leaf in dict.fromkeys(leaves):
        groups.setdefault((section, group), []).append(leaf)
    tree: Tree = copy.deepcopy(dict(sheet.typed))
    edits: list[Edit] = []
    left: list[str] = []
    for (section, group), names in groups.items():
        bench = _Workbench(sheet, reference, section, group, kinds)
        if "" in names and not (bench.typed and bench.theirs):
            added, missed = bench.whole()
        else:
            added, missed = bench.settle(bench.target(names))
        edits += added
        left += missed
        if added:
            _store(tree, section, group, bench.typed)
    return Respelt(tree, tuple(edits), tuple(left))


class _Workbench:
    """A group being put back: its tree so far (None once it is gone), and what that reads as."""

    def __init__(self, sheet: Sheet, reference: Sheet, section: str, group: str, kinds: Patterns) -> None:
        self.sheet, self.reference = sheet, reference
        self.section, self.name, self.kinds = section, group, kinds
        self.theirs = _typed_group(reference, section, group)
        self.typed: Tree | None = copy.deepcopy(_typed_group(sheet, section, group))
        self.group: Group = sheet.sections.get(section, {}).get(group, {})
        self.asked: Group = reference.sections.get(section, {}).get(group, {})

    def target(self, names: Iterable[str]) -> Group:
        """What the group is to read as when these parameters are the reference's."""
        wanted = set(names)
        target = {
            leaf: value for leaf, value in self.group.items() if leaf not in wanted and "" not in wanted
        }
        return target | {leaf: v for leaf, v in self.asked.items() if leaf in wanted or "" in wanted}

    def whole(self) -> tuple[list[Edit], list[str]]:
        """The whole group, as the reference has it, where one of the two has none.

        Where one of its parameters cannot be written in this sheet, the group stays as it was: in its place would
        stand something that nobody asked for.
        """
        was: Any = self.typed if self.typed is not None else REMOVED
        parameter = parameter_name(self.section, self.name)
        if self.theirs is None:
            self.typed = None
            return [Edit(parameter, "", REMOVED, was)], []
        before = self.typed, self.group
        self.typed = copy.deepcopy(self.theirs)
        self.group = self._read(self.typed) or {}
        _, missed = self.settle(self.asked)
        if missed:
            self.typed, self.group = before
            return [], [parameter]
        return [Edit(parameter, "", self.typed, was)], []

    def settle(self, target: Mapping[str, Value]) -> tuple[list[Edit], list[str]]:
        """Change the tree, parameter by parameter, until it reads as the target."""
        edits: list[Edit] = []
        missed: list[str] = []
        settled: list[str] = []
        for leaf in _in_order({**self.group, **target}):
            if not self._same(leaf, self.group.get(leaf), target.get(leaf)):
                before = flat_names(self.typed or {})
                found = self._first_that_fits(leaf, target, settled)
                parameter = parameter_name(self.section, self.name, leaf)
                if found is None:
                    missed.append(parameter)
                    continue
                edits += [
                    Edit(parameter, name, value, before.get(name, REMOVED))
                    for name, value in found.items()
                    if value != before.get(name, REMOVED)
                ]
            settled.append(leaf)
        return edits, missed

    def _first_that_fits(self, leaf: str, target: Mapping[str, Value], settled: list[str]) -> Edits | None:
        for trial in self._candidates(leaf, target):
            typed = _edited(self.typed or {}, trial)
            group = self._read(typed)
            if group is not None and all(
                self._same(name, group.get(name), target.get(name)) for name in (leaf, *settled)
            ):
                self.typed, self.group = typed, group
                return trial
        return None

    def _candidates(self, leaf: str, target: Mapping[str, Value]) -> Iterator[Edits]:
        typed = self.typed or {}
        bench = Bench(
            section=self.section,
            kind=self._kind(leaf, target.get(leaf)),
            typed=flat_names(typed),
            like=flat_names(self.theirs or {}),
            now=self.group,
            wanted=target.get(leaf),
            here=self.sheet.conventions,
            there=self.reference.conventions,
            brightened=lambda edits: (self._read(_edited(typed, edits)) or {}).get("level"),
        )
        return candidates(leaf, bench)

    def _read(self, typed: Tree) -> Group | None:
        """What a tree reads as; None where it cannot be read."""
        faults = Faults(self.sheet.path, lambda place: None)
        whole = {self.section: {self.name: typed} if self.name != WHOLE else typed}
        try:
            sections = canonical(whole, Reader(self.sheet.conventions, faults), self.kinds)
        except SheetError:
            return None
        return None if len(faults) else sections.get(self.section, {}).get(self.name, {})

    def _kind(self, leaf: str, value: Value | None) -> str:
        name = parameter_name(self.section, self.name, leaf)
        return kind_of(name, leaf, value if value is not None else self.group.get(leaf), self.kinds)

    def _same(self, leaf: str, a: Value | None, b: Value | None) -> bool:
        kind = self._kind(leaf, b)
        return a == b or (same(kind, a, b) and (kind not in (LENGTH, LEVEL) or _as_typed(a, b)))


def _as_typed(a: Value | None, b: Value | None) -> bool:
    """Whether sizes and levels are one but for what arithmetic leaves: what is typed goes through no transform."""
    if isinstance(a, Level) and isinstance(b, Level):
        a, b = a.value, b.value
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=NOISE, abs_tol=1e-12)
    return True


def _typed_group(sheet: Sheet, section: str, group: str) -> Tree | None:
    """The typed tree of a group; None where the sheet has none."""
    data = sheet.typed.get(section)
    if not isinstance(data, dict):
        return None
    if group != WHOLE:
        found = data.get(group)
        return found if isinstance(found, dict) else {} if group in data else None
    return {name: value for name, value in data.items() if _is_own(section, value)}


def _is_own(section: str, value: Any) -> bool:
    """Whether a member of a section is a parameter of its own and no group."""
    return section in ("camera", "cost") or not isinstance(value, dict) or "keys" in value


def _store(tree: Tree, section: str, group: str, typed: Tree | None) -> None:
    """Put a group's tree where it belongs."""
    members = tree.get(section)
    members = tree[section] = members if isinstance(members, dict) else {}
    if group == WHOLE:
        for name in [name for name, value in members.items() if _is_own(section, value)]:
            if name not in (typed or {}):
                del members[name]
        members.update(typed or {})
    elif typed is None:
        members.pop(group, None)
    else:
        members[group] = typed


def _in_order(leaves: Mapping[str, Value]) -> list[str]:
    first = [leaf for leaf in leaves if leaf not in _LAST]
    return [*first, *(leaf for leaf in _LAST if leaf in leaves)]


def _edited(typed: Tree, edits: Edits) -> Tree:
    """A tree with names set and taken out. A dotted name is nested, unless the tree has it whole."""
    result = copy.deepcopy(typed)
    for name, value in edits.items():
        *groups, last = [name] if name in result else name.split(".")
        branch = result
        for step in groups:
            if not isinstance(branch.get(step), dict):
                if value is REMOVED:
                    break
                branch[step] = {}
            branch = branch[step]
        else:
            if value is REMOVED:
                branch.pop(last, None)
            else:
                branch[last] = copy.deepcopy(value)
    return result
