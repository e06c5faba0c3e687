"""What a new master would change, as people read it: each parameter now and then, what it costs, and which shots do what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from samelight.changes.publishing import Candidate, Follows, Preview
from samelight.decisions.state import State
from samelight.drift.metrics import kind_of
from samelight.drift.rows import Row
from samelight.drift.words import number_text, value_text
from samelight.findings.finding import Finding
from samelight.findings.noise import buys_noise, noise_of
from samelight.sequence.session import Session
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value
from samelight.sheets.vocabulary import KEPT_OF_FILES

MOST_FINDINGS = 6
"""Findings about the key shot that are told above all."""


@dataclass(frozen=True, slots=True)
class MasterChange:
    """A parameter that a new master changes. `now` and `then` are the masters' values in words, empty where one has none; `cost` is
    what more or fewer samples do; `shots` are those of each kind, in cut order."""

    parameter: str
    now: str
    then: str
    cost: str
    shots: Mapping[Follows, tuple[str, ...]]

    @property
    def line(self) -> str:
        """What it was and will be, in one line."""
        values = " → ".join(text or "none" for text in (self.now, self.then)) if self.now else self.then
        return f"{self.parameter}: {values}{f', {self.cost}' if self.cost else ''}"


def changes_of(session: Session, candidate: Candidate, found: Preview) -> list[MasterChange]:
    """What a preview changes, in its order; a first master shows all its values."""
    shots: dict[str, dict[Follows, list[str]]] = {}
    for effect in found.effects:
        shots.setdefault(effect.parameter, {}).setdefault(effect.follows, []).append(effect.shot)
    north = session.contents.sequence.conventions.north
    changes = []
    for parameter in found.changed:
        own = {kind: tuple(names) for kind, names in shots.get(parameter, {}).items()}
        index = session.table.row(parameter)
        row = session.table.rows[index] if index is not None else None
        if row is None or not row.leaf:
            if said := _there(session, candidate, parameter):
                changes.append(MasterChange(parameter, "", said, "", own))
            continue
        now, then = (_value(sheet, row) for sheet in (candidate.tried, candidate.sheet))
        texts = [value_text(value, row.kind, north) if value is not None else "" for value in (now, then)]
        changes.append(MasterChange(parameter, texts[0], texts[1], _cost(row, now, then), own))
    return changes


def counted_text(kind: Follows, count: int) -> str:
    """How many shots do something, in words.

    >>> counted_text(Follows.HOLDS, 1), counted_text(Follows.FOLLOWS, 22)
    ('1 holds its own', '22 follow')
    """
    return f"{count} {kind if count == 1 else _MANY[kind]}"


_MANY = {Follows.FOLLOWS: "follow", Follows.HOLDS: "hold their own", Follows.THERE: "are there already"}


def findings_of(session: Session, shot: str) -> list[Finding]:
    """What is said of a shot that is to become the master and that nobody has marked as intended, the most harmful first."""
    found = [one for one in session.cases.findings if shot in one.shots and one.state is not State.INTENDED]
    return [one for one in found if one.finding not in ("mended", "lapsed")][:MOST_FINDINGS]


def _value(sheet: Sheet | None, row: Row) -> Value | None:
    return sheet.value(row.section, row.group, row.leaf) if sheet is not None else None


def _there(session: Session, candidate: Candidate, parameter: str) -> str:
    """What becomes of a whole group: its values where it is new; empty where neither master has it."""
    section, _, name = parameter.partition(".")
    group = candidate.sheet.sections.get(section, {}).get(name)
    if group is None:
        return "taken out" if candidate.tried is not None else ""
    kinds, north = session.contents.policy.kinds, session.contents.sequence.conventions.north
    values = [
        f"{leaf} {value_text(value, kind_of(parameter_name(section, name, leaf), leaf, value, kinds), north)}"
        for leaf, value in group.items()
        if leaf not in KEPT_OF_FILES
    ]
    return ", ".join(["new", *values]) if candidate.tried is not None else ", ".join(values)


def _cost(row: Row, now: Value | None, then: Value | None) -> str:
    """What a count of samples or rays that is another one does: how many there are, and how much noisier that is."""
    ratio = noise_of(row, now, then)
    if not buys_noise(row) or ratio is None or not isinstance(now, float) or not isinstance(then, float):
        return ""
    return f"×{number_text(then / now, 3)} as many, noise ×{number_text(ratio, 3)}" if now != then else ""
