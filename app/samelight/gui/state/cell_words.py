"""What the inspector says of one cell, in lines. Plain text, no Qt."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from samelight.decisions.decision import STEPS, Decision, Verb
from samelight.decisions.state import State, kept, standing
from samelight.drift.cells import ComparedCell
from samelight.drift.computed.derived import key_sheet
from samelight.drift.computed.derived_explanations import derived_formula
from samelight.drift.derived_names import APART, SECTIONS
from samelight.drift.explanations import formula, tolerance_text
from samelight.drift.policy import Lock, Tolerance
from samelight.drift.rows import Row
from samelight.drift.words import bound_text, first_names, number_text, value_text
from samelight.light.levels import UNIT_OF
from samelight.sequence.references import Against
from samelight.sequence.session import Session
from samelight.sheets import vocabulary as kinds
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Bound, Level, Value, alike
from samelight.sheets.vocabulary import UNAUTHORED, bearing_names

_CAUSES = 4
"""As many causes of a computed cell as are named."""

_VERBS = {
    Verb.INTEND: "intended",
    Verb.RETURN: "sent back",
    Verb.TAKE_UP: "taken up",
    Verb.CLOSE: "closed",
    Verb.WITHDRAW: "withdrawn",
    Verb.NOTE: "note",
}


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a cell: which sheet it is, its value as compared, and what that sheet has typed."""

    sheet: str
    compared: str
    typed: tuple[str, ...]


def sides(session: Session, cell: ComparedCell, row: Row) -> tuple[Side, Side]:
    """What the shot is compared with, and the shot."""
    north = session.contents.sequence.conventions.north
    sheets = _reference_sheet(session, cell, row), session.comparison.sheets.get(cell.shot)
    reference, shot = (
        Side(sheet_name(sheet), value_text(value, cell.value_kind, north), _typed(sheet, row))
        for sheet, value in zip(sheets, (cell.master, cell.value), strict=True)
    )
    return reference, shot


def _reference_sheet(session: Session, cell: ComparedCell, row: Row) -> Sheet | None:
    """The sheet that a cell is compared with: of a subject or a frame the key shot's, unless the reference has that mark itself."""
    reference = session.comparison.reference_sheets.get(cell.shot)
    if row.section not in APART or (
        reference is not None and row.group in reference.sections.get("marks", {})
    ):
        return reference
    return key_of(session, cell.shot, reference)


def sheet_name(sheet: Sheet | None) -> str:
    """A sheet as people call it, such as HB_040 v003."""
    return f"{sheet.shot or 'master'} v{sheet.version:03d}" if sheet is not None else "nothing"


def _typed(sheet: Sheet | None, row: Row) -> tuple[str, ...]:
    """What the sheet says of a parameter; empty where the row is computed, or a whole light."""
    if sheet is None or not row.leaf or row.section in SECTIONS:
        return ()
    typed = sheet.as_typed(row.section, row.group, row.leaf)
    if "target" in typed:  # a target says nothing without the place it is looked at from
        for name in bearing_names(row.section, row.leaf):
            typed |= sheet.as_typed(row.section, row.group, name)
    unauthored = _unauthored(sheet, row.group)
    return tuple(
        f"{name}: {typed_text(value)}{NOT_AUTHORED if name in unauthored else ''}"
        for name, value in typed.items()
    )


NOT_AUTHORED = " (the scene does not author it: the schema's fallback)"


def _unauthored(sheet: Sheet, group: str) -> Collection[str]:
    """The names of a light that its scene left to the schema."""
    source = sheet.typed.get("source")
    stated = source.get(UNAUTHORED) if isinstance(source, Mapping) else None
    names = stated.get(group) if isinstance(stated, Mapping) else None
    return names if isinstance(names, list) else ()


def typed_text(value: Any) -> str:
    """A typed value much as the sheet has it.

    >>> typed_text(True), typed_text([0.25, 1, 2.0]), typed_text({"keys": [[1001, 2.0]]})
    ('true', '[0.25, 1, 2]', '{keys: [[1001, 2]]}')
    """
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return f"{value:.10g}"
        case Mapping():
            return "{" + ", ".join(f"{name}: {typed_text(item)}" for name, item in value.items()) + "}"
        case list():
            return "[" + ", ".join(map(typed_text, value)) + "]"
        case None:
            return "null"
    return str(value)


def measured(session: Session, cell: ComparedCell, row: Row) -> list[str]:
    """The way to the figure: for a computed cell its inputs on both sides, then the formula, then what must be said."""
    reference, sheet = (
        session.comparison.reference_sheets.get(cell.shot),
        session.comparison.sheets.get(cell.shot),
    )
    lines: list[str] = []
    if reference is not None and sheet is not None:
        key = key_of(session, cell.shot, reference)
        lines = derived_formula(cell, reference, sheet, key, session.contents.measured)
    if not lines and cell.master is None and cell.value is None:
        return []
    lines = lines or formula(cell)
    if cell.value_kind == kinds.LEVEL and row.section in ("lights", "environments"):
        for side, value in ((reference, cell.master), (sheet, cell.value)):
            said = _level_text(side, row, value)
            lines += [f"{sheet_name(side)}: {said}"] if said else []
    held = cell.remark.removeprefix("compared with ").lower()
    return lines if not held or any(held in line.lower() for line in lines) else [*lines, cell.remark]


def _level_text(sheet: Sheet | None, row: Row, value: Value | None) -> str:
    """A level as the product it is, where it is one of plain numbers."""
    if sheet is None or not isinstance(value, Level):
        return ""
    typed = sheet.as_typed(row.section, row.group, row.leaf)
    if not typed.keys() & {"intensity", "exposure"}:
        return ""
    intensity, exposure = typed.get("intensity", 1.0), typed.get("exposure", 0.0)
    if not all(
        isinstance(number, int | float) and not isinstance(number, bool) for number in (intensity, exposure)
    ):
        return ""
    product, unit = float(intensity) * 2.0 ** float(exposure), UNIT_OF.get(value.quantity, value.quantity)
    said = f"{number_text(float(intensity))} × 2^{number_text(float(exposure))}"
    if product <= 0:
        return ""
    rest = value.value / product
    if not math.isclose(rest, 1.0, rel_tol=1e-6):
        said += f" × {number_text(rest)} (luminance of the colour, area, unit)"
    return f"{said} = {number_text(value.value)} {unit}".rstrip()


def key_of(session: Session, shot: str, reference: Sheet | None) -> Sheet | None:
    """The sheet of the key shot that the computed rows of now were made with: the one its reference names."""
    setup = session.contents.setup_of(shot)
    named_by = setup.master if session.comparison.reference.against is Against.BEFORE else reference
    return key_sheet(setup.sequence.key_shot, named_by, session.contents.sheets)


def follows_line(session: Session, row: int, column: int) -> str:
    """Which cells of the shot a computed one follows from, on which it is decided; empty for one that is decided on itself."""
    causes = [
        session.table.rows[cause].parameter for cause in session.cases.following().deciding(row, column)
    ]
    return f"Follows from {first_names(causes, _CAUSES)}: decide there." if causes else ""


def tolerance_lines(session: Session, cell: ComparedCell, row: Row) -> list[str]:
    """The tolerance, why, who set it, and the lock if there is one."""
    lines = [tolerance_text(cell)]
    if row.tolerance.also:
        lines.append(f"More where {row.tolerance.also} is more")
    if row.tolerance.pattern:
        lines.append(
            _set_by(session, row.tolerance, session.contents.setup_of(cell.shot).own_policy.tolerances)
        )
    if row.tolerance.why:
        lines.append(row.tolerance.why)
    if row.lock is not None:
        by = _set_by(session, row.lock, session.contents.setup_of(cell.shot).own_policy.locks)
        lines.append(f"Locked. {row.lock.why}".strip())
        if by not in lines:
            lines.append(f"The lock: {by[0].lower()}{by[1:]}")
    return lines


def _set_by(session: Session, rule: Tolerance | Lock, own: tuple[Tolerance | Lock, ...]) -> str:
    # Of one that goes by the cell, what it comes to is not what the policy states.
    if any((rule.pattern, rule.why, rule.file) == (one.pattern, one.why, one.file) for one in own):
        return f"Set by this sequence: pattern {rule.pattern} in {rule.file}"
    what = f"pattern {rule.pattern}" if "." in rule.pattern else f"every {rule.pattern}"
    return f"The program's default for {what}; {session.contents.sequence.title} sets none"


def decision_lines(session: Session, shot: str, parameter: str, cell: ComparedCell) -> list[str]:
    """Every decision on a cell, the newest first: when, who, what, why, and whether it still holds."""
    decisions = session.ledger.of_cell(shot, parameter)
    stands = {decision.id for decision in kept(decisions)}
    heads = {decision.id for decision in standing(decisions)}
    row, column = session.table.row(parameter), session.table.column(shot)
    judged = session.cases.judgement(row, column) if row is not None and column is not None else None
    follows = (
        session.cases.following().parameters(row, column) if row is not None and column is not None else ()
    )
    holding = set()
    if judged is not None and judged.state not in (State.ASKS_AGAIN, State.MENDED, State.UNDECIDED):
        holding = {decision.id for decision in judged.decisions}
    north = session.contents.sequence.conventions.north
    lines = []
    for decision in reversed(decisions):
        when = decision.when.astimezone().strftime("%Y-%m-%d %H:%M")
        said = f"{when}  {decision.who}  {_VERBS[decision.verb]}"
        said += f": {decision.why}" if decision.why else ""
        if decision.until is not None:
            said += f" (until master v{decision.until:03d})"
        lines.append(said)
        if decision.verb in STEPS and session.cases.decidable:
            if decision.id not in stands:
                state = "Taken back."
            elif decision.id not in heads:
                state = "A later decision replaces it."
            elif follows:
                state = f"Does not count here: this follows from {first_names(follows, 3)}; decide there."
            elif decision.id in holding:
                state = "Holds, but another decision contradicts it." if _contested(judged) else "Holds."
            else:
                state = _why_lapsed(
                    session, decision, cell, north, mended=judged is not None and judged.state is State.MENDED
                )
            lines.append(f"    {state}")
    return lines


def _contested(judged: Any) -> bool:
    return judged is not None and judged.state is State.TWO_OPINIONS


def _why_lapsed(session: Session, decision: Decision, cell: ComparedCell, north: Any, *, mended: bool) -> str:
    """What moved since a decision was made, so that it holds no more."""

    def was(value: Bound | None) -> str:
        return bound_text(value, cell.value_kind, north)

    moved = []
    if not alike(decision.value, cell.value):
        moved.append(f"the shot had {was(decision.value)}")
    if not alike(decision.master, cell.master):
        moved.append(f"the master had {was(decision.master)}")
    version = session.contents.setup_of(cell.shot).master_version
    if decision.until is not None and version is not None and version > decision.until:
        moved.append(f"it held until master v{decision.until:03d}")
    came = session.contents.sheet_versions.get(cell.shot)
    if decision.version is not None and came is not None and came > decision.version:
        moved.append(f"its sheet was v{decision.version:03d} and is v{came:03d}")
    what = "Mended, please look" if mended else "Asks again"
    return f"{what}: {', '.join(moved)}." if moved else f"{what}."


def published_text(sheet: Sheet) -> str:
    """Who published a sheet and when, as it states it; empty where it does not."""
    stated = sheet.typed.get("published")
    if isinstance(stated, Mapping):
        order = [key for key in ("on", "by", "from") if key in stated]
        order += [key for key in stated if key not in order]
        words = {"on": "", "by": "by ", "from": "from "}
        parts = [f"{words.get(str(key), f'{key} ')}{typed_text(stated[key])}" for key in order]
        return "published " + ", ".join(parts) if parts else ""
    return f"published {typed_text(stated)}" if stated is not None else ""
