"""A tolerance of a cell's own: which pattern and how much would let it pass, what else falls silent, and the policy that says so."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from samelight.drift.cells import Cell, CellName, Grade
from samelight.drift.metrics import SCALES
from samelight.drift.policy import Tolerance, default_policy, read_policy
from samelight.drift.words import number_text
from samelight.sequence.contents import Contents
from samelight.sequence.references import MASTER, compare
from samelight.sequence.session import Session
from samelight.sheets import vocabulary as kinds
from samelight.sheets.errors import SamelightError
from samelight.sheets.kept_text import kept_text
from samelight.sheets.trees import parse_document, read_to_keep
from samelight.sheets.vocabulary import FORMAT_VERSION
from samelight.sheets.writing import write_whole, yaml_text

_UNITS = {
    kinds.LEVEL: "st",
    kinds.DIRECTION: "deg",
    kinds.ANGLE: "deg",
    kinds.POSITION: "m",
    kinds.COLOUR: "steps",
    kinds.TEMPERATURE: "mired",
    kinds.COUNT: "x",
    kinds.FRACTION: "pp",
    kinds.LENGTH: "%",
    kinds.NUMBER: "%",
    kinds.DURATION: "%",
}
"""How a policy spells the unit of each kind."""


class ToleranceError(SamelightError):
    """A tolerance that cannot be proposed or written as asked."""


@dataclass(frozen=True, slots=True)
class ToleranceEffect:
    """What a tolerance would do. `silent` are the cells that drift now and would not, of which `asked` were selected; `left` are the
    selected ones that would drift still; `louder` are cells that are inside their tolerance now and would not be."""

    asked: tuple[CellName, ...]
    silent: tuple[CellName, ...]
    left: tuple[CellName, ...]
    louder: tuple[CellName, ...]

    @property
    def others(self) -> tuple[CellName, ...]:
        """What falls silent that nobody selected."""
        return tuple(name for name in self.silent if name not in set(self.asked))


def patterns_for(session: Session, cells: Sequence[Cell]) -> list[str]:
    """The patterns that mean all of some cells, the narrowest first: the parameter itself, those of its name in lights of its type, in all
    lights, and all of its kind.

    Raises `ToleranceError` where the cells are of several kinds, or of one that has no tolerance.
    """
    rows = [session.table.rows[row] for row in dict.fromkeys(row for row, _ in cells)]
    if not rows:
        raise ToleranceError("Select the cells that may differ as far as they do.")
    kinds_there = {row.kind for row in rows}
    kind = rows[0].kind
    if len(kinds_there) > 1:
        raise ToleranceError(
            f"The selected cells are of several kinds ({', '.join(sorted(kinds_there))}): select those of one."
        )
    if not SCALES[kind].unit or kind == kinds.SET or not all(row.leaf for row in rows):
        raise ToleranceError(f"A {kind} is equal or not: it has no tolerance. Mark it as intended instead.")
    names = {row.parameter for row in rows}
    sections, leaves = {row.section for row in rows}, {row.leaf for row in rows}
    types = {row.light_type for row in rows}
    found = [*names] if len(names) == 1 else []
    if len(sections) == len(leaves) == 1:
        section, leaf = rows[0].section, rows[0].leaf
        if len(types) == 1 and rows[0].light_type:
            found.append(f"{section}.<{rows[0].light_type}>.{leaf}")
        found.append(f"{section}.*.{leaf}")
    return [*found, kind]


def amount_for(session: Session, cells: Sequence[Cell]) -> float:
    """The least round amount, of two figures, within which all of some cells are; in their kind's unit."""
    drifts = [_size(session, cell) for cell in cells]
    largest = max(drifts, default=0.0)
    if not math.isfinite(largest) or largest <= 0.0:
        raise ToleranceError("The selected cells have no drift that a number measures.")
    step = 10.0 ** (math.floor(math.log10(largest)) - 1)
    return float(f"{math.ceil(largest / step - 1e-9) * step:.12g}")


def _size(session: Session, cell: Cell) -> float:
    """How far a cell is off in its kind's unit; a count by its ratio, whichever way."""
    drift = float(session.table.drift[cell])
    if session.table.rows[cell[0]].kind == kinds.COUNT:
        return max(drift, 1.0 / drift) if drift > 0.0 else math.inf
    return abs(drift)


def amount_text(kind: str, amount: float) -> str:
    """An amount as a policy spells it.

    >>> amount_text("level", 0.2), amount_text("position", 0.05)
    ('0.2 st', '0.05 m')
    """
    unit = _UNITS.get(kind)
    return f"{amount:.12g}" if unit is None else f"{amount:.12g} {unit}"


def policy_path(session: Session) -> Path:
    """The file of the sequence's own policy, which may not be there yet."""
    return session.contents.sequence.policy or session.contents.folder / "policy.yaml"


def policy_texts(session: Session, pattern: str, amount: str, why: str, who: str) -> tuple[str, str]:
    """The policy's text now (empty where there is none) and with a tolerance, all else to the letter.

    Raises `ToleranceError` without a reason, and `SheetError` for a pattern or an amount that a policy cannot have.
    """
    if not why.strip() or not who.strip():
        raise ToleranceError("A tolerance needs a reason, and the name of who gives it.")
    path = policy_path(session)
    before = read_to_keep(path) if path.exists() else ""
    tree: dict[str, Any] = (
        dict(parse_document(path, before).data) if before else {"samelight_policy": FORMAT_VERSION}
    )
    day = datetime.now().astimezone().date().isoformat()
    stated = {"at_most": amount, "why": f"{why.strip()} ({who.strip()}, {day})"}
    others = {name: one for name, one in (tree.get("tolerances") or {}).items() if name != pattern}
    tree["tolerances"] = {**others, pattern: stated}
    after = _kept(path, before, tree, others) if before else yaml_text(tree)
    if after is None:
        raise ToleranceError(
            f"{path}: its tolerances cannot be added to without laying it out anew: add there {pattern}: {stated}"
        )
    return before, after


def _kept(path: Path, before: str, tree: Mapping[str, Any], others: Mapping[str, Any]) -> str | None:
    """The policy's text with its last tolerance behind all the others: of several that mean a cell the last one counts."""
    stated = parse_document(path, before).data.get("tolerances") or {}
    if others and [*stated][: len(others)] != [*others]:
        without = kept_text(path, before, {**tree, "tolerances": others})
        if without is None:
            return None
        before = without
    return kept_text(path, before, tree)


def tolerance_in(text: str, pattern: str) -> Tolerance:
    """A tolerance as a policy's text states it. Raises `SheetError` where that cannot be read."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "policy.yaml"
        path.write_text(text, encoding="utf-8")
        read = read_policy(path, default_policy())
    return next(one for one in reversed(read.tolerances) if one.pattern == pattern)


def effect_of(session: Session, tolerance: Tolerance, cells: Sequence[Cell]) -> ToleranceEffect:
    """What a tolerance would do to all cells of a sequence, of which some were selected."""
    before = session.table
    place = len(
        session.contents.policy.tolerances
    )  # of a set-up's own policy, what it states itself counts above it
    after = compare(_with(session.contents, tolerance, place), MASTER).table
    asked = [(before.shots[column], before.rows[row].parameter) for row, column in cells]
    rows = [
        (row, index) for row, one in enumerate(before.rows) if (index := after.row(one.parameter)) is not None
    ]
    then = np.zeros_like(before.grade)
    for row, index in rows:
        then[row] = after.grade[index]
    cases = session.cases.following().case
    silent = cases & (before.grade >= Grade.DRIFT) & (then < Grade.DRIFT)
    louder = (before.grade > Grade.NONE) & (before.grade < Grade.DRIFT) & (then >= Grade.DRIFT)

    def names(mask: Any) -> tuple[CellName, ...]:
        return tuple(
            (before.shots[column], before.rows[row].parameter) for row, column in np.argwhere(mask).tolist()
        )

    left = tuple(
        name
        for name, (row, column) in zip(asked, cells, strict=True)
        if then.item(row, column) >= Grade.DRIFT
    )
    return ToleranceEffect(tuple(asked), names(silent), left, names(louder))


def _with(contents: Contents, tolerance: Tolerance, place: int) -> Contents:
    stated = contents.policy.tolerances
    policy = replace(contents.policy, tolerances=(*stated[:place], tolerance, *stated[place:]))
    setups = tuple(_with(part, tolerance, place) for part in contents.setups)
    return replace(contents, policy=policy, setups=setups)


def write_policy(session: Session, before: str, after: str) -> Path:
    """Write the policy, where its file is what it was when it was looked at. Raises `ToleranceError` and `WriteError`."""
    path = policy_path(session)
    now = read_to_keep(path) if path.exists() else ""
    if now != before:
        raise ToleranceError(f"{path} changed on disk meanwhile, and was not written. Look at it again.")
    write_whole(path, after, overwrite=bool(before))
    return path


def says(effect: ToleranceEffect) -> list[str]:
    """An effect in words, a line each: what falls silent, what else is touched, what is left."""
    of = len(effect.asked)
    lines = [
        f"Fall silent: {len(set(effect.asked) & set(effect.silent))} of the {number_text(of, 6)} selected."
    ]
    for title, names in (
        ("Falls silent too", effect.others),
        ("Drifts still", effect.left),
        ("Would drift that does not now", effect.louder),
    ):
        if names:
            lines += [f"{title}: {len(names)}", *(f"    {shot}  {parameter}" for shot, parameter in names)]
    return lines
