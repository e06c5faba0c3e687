"""A shot's parameters put back to wanted values, in the words the shot's own sheet uses.

Spelling is tried, not trusted: every candidate is read again the way the sheet itself is read, and the first one that
gives the wanted value, and leaves everything else of the light as it was, is taken.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from samelight.drift.metrics import SCALES, measure, severity
from samelight.drift.respell.bench import REMOVED, Bench, Edits
from samelight.drift.respell.candidates import candidates
from samelight.sheets.canonical import WHOLE, canonical
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.quantities import Reader, kind_of_value
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group, Value
from samelight.sheets.vocabulary import Patterns

__all__ = ["REMOVED", "PutBack", "put_back"]

Tree = dict[str, Any]

_LAST = ("position", "direction", "rotation", "tilt", "colour", "level")
"""Leaves that depend on others, in the order in which they are settled: a level counts sizes and colour."""


@dataclass(slots=True)
class PutBack:
    """A group put back. `typed` is its tree then, None when the group goes.

    `edits` says for each parameter which names to type, by dotted name, `REMOVED` for one to take out; a parameter that
    comes right with another has no entry. `missed` are the parameters that no spelling was found for.
    """

    typed: Tree | None
    edits: dict[str, Edits] = field(default_factory=dict)
    missed: tuple[str, ...] = ()


KindOf = Callable[[str], str | None]
"""The kind of a parameter of the group by its leaf, as the drift table has it; None where it has no row."""


def put_back(
    sheet: Sheet,
    section: str,
    group: str,
    wanted: Mapping[str, Value | None],
    *,
    like: Sheet,
    kind_of: KindOf = lambda leaf: None,
    kinds: Patterns = (),
) -> PutBack:
    """Give parameters of a group of a sheet other values; None takes a parameter out. Nothing else of it changes.

    `like` is the sheet (the master's) whose spelling serves where the sheet has none of its own; `kinds` are a policy's
    patterns.
    """
    bench = _Workbench(sheet, like, section, group, kind_of, kinds)
    target = {**bench.group, **wanted}
    return bench.settle({leaf: value for leaf, value in target.items() if value is not None})


def added(
    sheet: Sheet,
    section: str,
    group: str,
    *,
    like: Sheet,
    kind_of: KindOf = lambda leaf: None,
    kinds: Patterns = (),
) -> PutBack:
    """A whole group of `like` as `sheet` would type it."""
    bench = _Workbench(sheet, like, section, group, kind_of, kinds)
    theirs = _typed_group(like, section, group)
    bench.take(copy.deepcopy(theirs))
    return bench.settle(like.sections.get(section, {}).get(group, {}))


class _Workbench:
    """A group being put back: its tree so far, and what that reads as."""

    def __init__(
        self, sheet: Sheet, like: Sheet, section: str, group: str, kind_of: KindOf, kinds: Patterns
    ) -> None:
        self.sheet, self.like = sheet, like
        self.section, self.name = section, group
        self.kind_of, self.kinds = kind_of, kinds
        self.typed = copy.deepcopy(_typed_group(sheet, section, group))
        self.group: Group = sheet.sections.get(section, {}).get(group, {})

    def take(self, typed: Tree) -> None:
        """Go on from another tree."""
        self.typed, self.group = typed, self._read(typed) or {}

    def settle(self, target: Mapping[str, Value]) -> PutBack:
        """Change the tree, parameter by parameter, until it reads as the target."""
        edits: dict[str, Edits] = {}
        missed: list[str] = []
        settled: list[str] = []
        for leaf in _in_order({**self.group, **target}):
            if not self._same(leaf, self.group.get(leaf), target.get(leaf)):
                found = self._first_that_fits(leaf, target, settled)
                if found is None:
                    missed.append(leaf)
                    continue
                edits[leaf] = found
            settled.append(leaf)
        return PutBack(self.typed, edits, tuple(missed))

    def _first_that_fits(self, leaf: str, target: Mapping[str, Value], settled: list[str]) -> Edits | None:
        for trial in self._candidates(leaf, target):
            typed = _edited(self.typed, trial)
            group = self._read(typed)
            if group is not None and all(
                self._same(name, group.get(name), target.get(name)) for name in (leaf, *settled)
            ):
                self.typed, self.group = typed, group
                return trial
        return None

    def _candidates(self, leaf: str, target: Mapping[str, Value]) -> Iterator[Edits]:
        bench = Bench(
            section=self.section,
            kind=self._kind(leaf, target.get(leaf)),
            typed=_flat(self.typed),
            like=_flat(_typed_group(self.like, self.section, self.name)),
            now=self.group,
            wanted=target.get(leaf),
            here=self.sheet.conventions,
            there=self.like.conventions,
            brightened=lambda edits: (self._read(_edited(self.typed, edits)) or {}).get("level"),
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
        known = self.kind_of(leaf)
        if known in SCALES:
            return known
        value = value if value is not None else self.group.get(leaf)
        static = value.keys[0][1] if isinstance(value, Curve) else value
        return kind_of_value(static) if static is not None else "text"

    def _same(self, leaf: str, a: Value | None, b: Value | None) -> bool:
        if a is None or b is None:
            return a is b
        kind = self._kind(leaf, b)
        return a == b or severity(kind, measure(kind, a, b).drift, 1.0) == 0.0


def _typed_group(sheet: Sheet, section: str, group: str) -> Tree:
    data = sheet.typed.get(section)
    if not isinstance(data, dict):
        return {}
    if group != WHOLE:
        found = data.get(group)
        return found if isinstance(found, dict) else {}
    if section in ("camera", "cost"):
        return data
    return {name: value for name, value in data.items() if not isinstance(value, dict) or "keys" in value}


def _flat(tree: Tree, prefix: str = "") -> Tree:
    """Nested names joined by dots; an animated value stays whole."""
    flat: Tree = {}
    for name, value in tree.items():
        if isinstance(value, dict) and "keys" not in value:
            flat.update(_flat(value, f"{prefix}{name}."))
        else:
            flat[prefix + name] = value
    return flat


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
