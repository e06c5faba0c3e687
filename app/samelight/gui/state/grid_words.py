"""What the grid says of its lines, shots and cells, and what the mouse is told over them. No Qt."""

from __future__ import annotations

from samelight.drift.cells import Grade
from samelight.drift.metrics import SCALES
from samelight.drift.rows import Row
from samelight.drift.words import drift_text, value_text
from samelight.gui.state.cell_states import STATES
from samelight.gui.state.cell_words import follows_line
from samelight.gui.state.rows import GridState, Line
from samelight.reports.since import since_sign
from samelight.sequence.saved_views import Shown


def line_title(state: GridState, line: Line, *, lone: bool = False) -> str:
    """The name of a line, as the frozen column shows it; `lone` where its group's header does not stand above."""
    title = state.groups[line.group].title
    if line.row is None:
        return title
    leaf = state.table.rows[line.row].leaf
    return f"{title} {leaf}" if lone else leaf


def line_unit(state: GridState, line: Line) -> str:
    """The unit of a line's drift."""
    if line.row is None:
        return state.groups[line.group].section
    sign = SCALES[state.table.rows[line.row].kind].sign.strip()
    return sign if sign != "×" else "x"


def shot_tip(state: GridState, shot: str) -> str:
    """What the mouse is told over a shot's name."""
    trouble = state.session.unreadable().get(shot)
    setup = state.session.contents.setup_of(shot)
    held = f"compared with {setup.follows}" if setup.follows else ""
    whose = state.session.crew.who(shot)
    said = [trouble.says] if trouble else [part for part in (whose, setup.name, held) if part]
    return f"{shot}: {', '.join(said)}" if said else shot


def line_tip(state: GridState, line: Line) -> str:
    """What the mouse is told over a line's name."""
    if line.row is None:
        group = state.groups[line.group]
        return f"{group.name}: {len(group.rows)} rows. Each cell shows the worst of them."
    ways = state.table.variants(line.row)
    said = [_graded_by(row) for row in ways]
    return "\n".join([ways[0].parameter, *dict.fromkeys(said)])


def cell_text(state: GridState, row: int, column: int) -> str:
    """The text of a cell, by what is asked to be shown."""
    shown = state.view.cells
    if shown is Shown.DRIFT and state.table.grade.item(row, column) <= Grade.SAME:
        return ""
    cell = state.table.cell(row, column)
    drift = drift_text(cell)
    if shown is Shown.DRIFT:
        return _short(drift)
    north = state.session.contents.sequence.conventions.north
    value = "" if cell.value is None else value_text(cell.value, cell.value_kind, north)
    if shown is Shown.VALUE:
        return value
    return f"{value}  {_short(drift)}".strip()


def cell_tip(state: GridState, row: int, column: int) -> str:
    """A cell in words."""
    cell = state.table.cell(row, column)
    north = state.session.contents.sequence.conventions.north
    if cell.grade is Grade.NONE:
        return f"{cell.shot}: nothing to compare in {cell.parameter}"
    decided = STATES[state.standing.states[row, column]]
    drift = drift_text(cell)
    lines = [
        f"{cell.shot}  {cell.parameter}",
        f"{cell.grade.word}{', ' + drift if drift else ''}, {decided}",
    ]
    if cell.grade > Grade.SAME:
        lines.append(f"master {value_text(cell.master, cell.value_kind, north)}")
    lines.append(f"shot {value_text(cell.value, cell.value_kind, north)}")
    if cell.remark:
        lines.append(cell.remark)
    if (
        event := state.looked_back.cells.get((row, column))
    ) is not None and state.looked_back.since is not None:
        sign = since_sign(event)
        lines.append(f"{sign} {event} since {state.looked_back.since.says}".strip())
    if follows := follows_line(state.session, row, column):
        lines.append(follows)
    return "\n".join(lines)


def _short(drift: str) -> str:
    """A drift without a unit too long for a cell; the row's name says the unit."""
    return drift.removesuffix(" steps").removesuffix(" MK⁻¹")


def _graded_by(row: Row) -> str:
    """The tolerance of a row and its lock, as the mouse is told of them."""
    locked = "\nLocked: " + (row.lock.why or row.lock.pattern) if row.lock else ""
    tolerance = f"{row.tolerance.at_most:g} {SCALES[row.kind].unit}".strip()
    tolerance += f", or {row.tolerance.also} where that is more" if row.tolerance.also else ""
    return f"Tolerance {tolerance}. {row.tolerance.why}{locked}"
