"""What to set in each shot: exact values in the shot's own units and spelling, what is seen most first."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from samelight.changes.respell.put_back import REMOVED, Edit, Leaf, put_back
from samelight.decisions.decision import Decision
from samelight.decisions.state import Judgement, State
from samelight.drift.cells import Cell, ComparedCell, Grade
from samelight.findings import renamed
from samelight.findings.board import concern_of
from samelight.findings.finding import Concern, Finding
from samelight.light.noise import SORTED_BY, figure
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.moved import moved_to
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.vocabulary import COMPARED_SECTIONS, KEPT_OF_FILES
from samelight.sheets.writing import yaml_text


@dataclass(frozen=True, slots=True)
class Fix:
    """One cell and what mends it.

    `do` says so in a line; `edits` are the names to type, empty where nothing can be typed for it or where it comes right
    with another. `decisions` are those the cell stands under: with a return, the reason it was sent back for.
    """

    cell: ComparedCell
    row: int
    severity: float
    state: State
    concern: Concern
    edits: tuple[Edit, ...]
    do: str
    decisions: tuple[Decision, ...] = ()


@dataclass(frozen=True, slots=True)
class ShotFixes:
    """The fixes of one shot. `tree` is its sheet with all of them done; `also` is what findings ask for that is no cell;
    `lighter` is whose the shot is, empty where it is nobody's."""

    shot: str
    sheet: Sheet
    fixes: tuple[Fix, ...]
    tree: dict[str, Any]
    also: tuple[str, ...] = ()
    lighter: str = ""


FIXABLE = tuple(section for section in COMPARED_SECTIONS if section != "cost")
"""Sections in which something can be typed; a render time is measured, and computed rows follow from the others."""


def fix_list(
    session: Session,
    *,
    shots: Collection[str] | None = None,
    at_least: Grade = Grade.DRIFT,
    every: bool = False,
    failed: list[Trouble] | None = None,
) -> list[ShotFixes]:
    """What to set in these shots (None: in all), in cut order; shots where nothing is to be set are left out.

    Cells that are intended are left out unless `every`. A shot that fails is left out and added to `failed`, without which it is
    raised.
    """
    table = session.table
    decided = session.cases.judged().states
    names = _renames(session)
    found = []
    for column, shot in enumerate(table.shots):
        sheet, master = session.contents.sheets.get(shot), session.contents.setup_of(shot).master
        if sheet is None or master is None or (shots is not None and shot not in shots):
            continue
        with apart(shot, failed):
            master, rows = moved_to(master, sheet), []
            for row in np.flatnonzero(table.grade[:, column] >= at_least).tolist():
                state = decided.get((row, column), State.UNDECIDED)
                if table.rows[row].section in FIXABLE and (every or state is not State.INTENDED):
                    rows.append(row)
            also = _also(session, shot, at_least, every)
            if rows or also:
                part = _shot(session, master, sheet, column, rows, decided, names.get(shot, {}))
                found.append(replace(part, also=also, lighter=session.crew.who(shot)))
    return found


def _also(session: Session, shot: str, at_least: Grade, every: bool) -> tuple[str, ...]:
    """What shows in the picture and is no cell, such as a one-frame pass under a moving camera."""
    return tuple(
        f"{finding.says} {finding.do}".strip()
        for finding in session.cases.findings
        if finding.concern < Concern.ORDER and _asks(finding, shot, at_least, every)
    )


def _asks(finding: Finding, shot: str, at_least: Grade, every: bool) -> bool:
    """Whether a finding asks for something in a shot beside its cells."""
    cases = [case for case in finding.cases if case.shot == shot and case.level >= at_least]
    return any(every or case.state is not State.INTENDED for case in cases)


Renames = Mapping[str, str]
"""Parameter of a group that is extra under the name of the one that is absent."""


def _renames(session: Session) -> dict[str, dict[str, str]]:
    """By shot, the groups that the findings take for another under a new name."""
    found: dict[str, dict[str, str]] = {}
    for finding in session.cases.findings:
        if finding.finding != renamed.NAME:
            continue
        by_shot: dict[str, list[ComparedCell]] = {}
        for row, column in finding.cells:
            cell = session.table.cell(row, column)
            if not session.table.rows[row].leaf:
                by_shot.setdefault(cell.shot, []).append(cell)
        for shot, cells in by_shot.items():
            gone = [cell.parameter for cell in cells if cell.value is None]
            come = [cell.parameter for cell in cells if cell.master is None]
            if len(gone) == len(come) == 1:
                found.setdefault(shot, {})[gone[0]] = come[0]
    return found


def _shot(
    session: Session,
    master: Sheet,
    sheet: Sheet,
    column: int,
    rows: Sequence[int],
    decided: Mapping[Cell, State],
    renames: Renames,
) -> ShotFixes:
    table = session.table
    asked = {table.rows[row].parameter for row in rows}
    # A light under another name is named again, and only then compared; it is not made anew.
    usable = {gone: come for gone, come in renames.items() if gone in asked and come in asked}
    named = _renamed_tree(sheet, usable)
    base = sheet if not usable else _with_tree(session, sheet, named)
    leaves: list[Leaf] = []
    for row in rows:
        what = table.rows[row]
        if what.parameter not in usable and what.parameter not in usable.values():
            leaves.append((what.section, what.group, what.leaf))
    for gone in usable:
        section, _, group = gone.partition(".")
        leaves.append((section, group, ""))
    respelt = put_back(base, master, leaves, session.contents.policy.kinds)
    by_parameter: dict[str, list[Edit]] = {}
    for edit in respelt.edits:
        by_parameter.setdefault(edit.parameter, []).append(edit)
    fixes = [_fix(session, row, column, decided, by_parameter, set(respelt.left), usable) for row in rows]
    fixes = _with_companions(fixes, by_parameter, usable)
    fixes.sort(key=lambda fix: (fix.concern, -fix.cell.grade, -figure(fix.severity, SORTED_BY), fix.row))
    return ShotFixes(sheet.shot, sheet, tuple(fixes), respelt.tree)


def _fix(
    session: Session,
    row: int,
    column: int,
    decided: Mapping[Cell, State],
    edits: Mapping[str, Sequence[Edit]],
    left: Collection[str],
    renames: Renames,
) -> Fix:
    cell = session.table.cell(row, column)
    judged = session.cases.judgement(row, column) if (row, column) in decided else Judgement(State.UNDECIDED)
    mine = tuple(edits.get(cell.parameter, ()))
    if cell.parameter in renames:
        do = f"rename {_last(renames[cell.parameter])} to {_last(cell.parameter)}"
    elif cell.parameter in renames.values():
        gone = next(old for old, new in renames.items() if new == cell.parameter)
        do = f"comes right when it is called {_last(gone)} again"
    elif cell.parameter in left:
        do = "set it as the master has it; this sheet's way of writing has no exact value for that"
    elif mine:
        do = "; ".join(edit_text(edit) for edit in mine)
    else:
        do = "comes right with the others"
    return Fix(
        cell,
        row,
        float(session.table.severity[row, column]),
        judged.state,
        concern_of(session.table.rows[row]),
        mine,
        do,
        judged.decisions,
    )


def _with_companions(
    fixes: Sequence[Fix], edits: Mapping[str, Sequence[Edit]], renames: Renames
) -> list[Fix]:
    """What has to be typed along so that something else of the group stays as it is, said with a cell of the group."""
    own = {fix.cell.parameter for fix in fixes}
    along: dict[str, list[str]] = {}
    for parameter in edits:
        if parameter not in own:
            along.setdefault(_group(parameter), []).append(parameter)
    result = []
    for fix in fixes:
        renamed_too = fix.cell.parameter in renames
        group = fix.cell.parameter if renamed_too else _group(fix.cell.parameter)
        for parameter in along.pop(group, ()):
            said = "; ".join(edit_text(edit) for edit in edits[parameter])
            why = "" if renamed_too else f", so that its {_last(parameter)} stays"
            fix = replace(fix, edits=(*fix.edits, *edits[parameter]), do=f"{fix.do}; and {said}{why}")  # noqa: PLW2901 - the same fix, said whole
        result.append(fix)
    return result


def _group(parameter: str) -> str:
    """The name of the group that a parameter of a light, environment, surface, pass or render group belongs to."""
    return ".".join(parameter.split(".")[:2])


def edit_text(edit: Edit) -> str:
    """What to type, as the sheet would have it, and what stands there now."""
    if edit.name == "":
        if edit.value is REMOVED:
            return f"take {_last(edit.parameter)} out"
        return f"add {_typed(_last(edit.parameter), edit.value)}"
    if edit.value is REMOVED:
        return f"take {edit.name} out"
    hidden = edit.was is REMOVED or edit.name in KEPT_OF_FILES
    now = "" if hidden else f" (now {_value(edit.was)})"
    return f"{_typed(edit.name, edit.value)}{now}"


_LONG = "as the master has it"


def _typed(name: str, value: Any) -> str:
    """A name and its value on one line, as YAML; what is kept of a file is as long as one, and told in words."""
    value = _LONG if name in KEPT_OF_FILES else value
    if isinstance(value, dict):
        value = {key: _LONG if key in KEPT_OF_FILES else item for key, item in value.items()}
    if not (isinstance(value, dict) and any(isinstance(item, dict) for item in value.values())):
        return yaml_text({name: value}).rstrip("\n")
    parts = (_typed(key, item) for key, item in value.items())
    return f"{yaml_text({name: 0}).rstrip().removesuffix(': 0')}: {{{', '.join(parts)}}}"


def _value(value: Any) -> str:
    return _typed("x", value).removeprefix("x: ")


def _last(parameter: str) -> str:
    """The name of a group or parameter without what it belongs to."""
    section, _, rest = parameter.partition(".")
    return rest.rpartition(".")[2] if rest else section


def _renamed_tree(sheet: Sheet, renames: Renames) -> dict[str, Any]:
    """The tree with groups under their old names, in the same place."""
    tree: dict[str, Any] = dict(sheet.typed)
    for gone, come in renames.items():
        section, _, old = gone.partition(".")
        new = come.partition(".")[2]
        members = tree.get(section)
        if isinstance(members, dict):
            tree[section] = {old if name == new else name: value for name, value in members.items()}
    return tree


def _with_tree(session: Session, sheet: Sheet, tree: dict[str, Any]) -> Sheet:
    document = parse_document(sheet.path.with_suffix(".yaml"), yaml_text(tree))
    given = session.contents.sequence.conventions
    return sheet_from_document(
        document, shot=sheet.shot, version=sheet.version, given=given, kinds=session.contents.policy.kinds
    )
