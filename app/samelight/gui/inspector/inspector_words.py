"""What the inspector says beside a cell's values: its grade, and how it stands to the shots beside it."""

from __future__ import annotations

import html

from samelight.decisions.state import State
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.derived_names import SECTIONS
from samelight.drift.jumps import jump_between
from samelight.drift.metrics import measure, same
from samelight.drift.words import drift_text, measured_text, value_text
from samelight.gui.paint import drift_scale
from samelight.gui.state.rows import GridState


def ungraded_lines(cell: ComparedCell) -> list[str]:
    """Why a cell with a value has no grade."""
    if cell.grade is not Grade.NONE:
        return []
    if cell.remark:
        return [f"Shown and not graded: {cell.remark}."]
    only = "the shot" if cell.master is None else "the reference"
    return [f"Only {only} has it: the row of the whole light or group says so once."]


def drift_or_grade(cell: ComparedCell) -> str:
    """The drift of a cell, or its grade where there is none to say."""
    return drift_text(cell) or cell.grade.word


def beside_text(state: GridState, row: int, column: int, other: int) -> str:
    """A neighbour's value, and the step from it to this shot or on to the other, as far as there is one."""
    table, what = state.table, state.table.rows[row]
    cell = table.cell(row, other)
    if cell.shot in state.session.unreadable():
        return "its sheet cannot be read"
    if cell.value is None:
        return "nothing there" if cell.grade > Grade.NONE else "nothing to compare"
    said = value_text(cell.value, cell.value_kind, state.session.contents.sequence.conventions.north)
    first, second = sorted((column, other))
    before, after = table.entry(row, first), table.entry(row, second)
    if what.section in SECTIONS or before is None or after is None:
        return said  # what is computed at a mark depends on where the mark is in each shot
    if before.value is None or after.value is None:
        return said
    step = measured_text(what.kind, measure(what.kind, before.value, after.value).drift)
    jump = jump_between(what, before, after)
    if same(what.kind, before.value, after.value):
        how = "the same on both sides of this cut"
    elif jump is not None:
        how = f"jumps at this cut{f', {step}' if step else ''}: more than the tolerance"
    else:
        how = f"at this cut {step}"
    return f"{said}\n{how}"


def chip_html(cell: ComparedCell, severity: float, state: State) -> str:
    """The drift on its colour, with grade and state beside it, as rich text."""
    red, green, blue = drift_scale.rgb(severity) if cell.grade > Grade.SAME else (64, 64, 64)
    ink = drift_scale.ink(red, green, blue).name()
    text = drift_text(cell) or cell.grade.word
    mark = drift_scale.GRADE_MARKS.get(cell.grade, "")
    words = str(state) if cell.grade >= Grade.DRIFT or state is not State.UNDECIDED else ""
    said = ", ".join(part for part in (cell.grade.word, words) if part)
    chip = (
        f"<span style='font-size: 16pt; background-color: rgb({red},{green},{blue}); color: {ink};'>"
        f"&nbsp;{html.escape(mark)} {html.escape(text)}&nbsp;</span>"
    )
    return (
        f"<p style='margin: 2px 0'>{chip}&nbsp; <span style='font-size: 10pt'>{html.escape(said)}</span></p>"
    )
