"""The inspector: one cell from every side."""

from __future__ import annotations

import html
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QTextBrowser, QVBoxLayout, QWidget

from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.drift.derived_explanations import derived_formula
from samelight.drift.explanations import formula, tolerance_text
from samelight.drift.words import drift_text, value_text
from samelight.gui import drift_scale
from samelight.gui.rows import STATES, GridState, Line
from samelight.light.primaries import rgb_of
from samelight.reports.signs import state_text
from samelight.session import Session
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Colour
from samelight.sources.view_transform import srgb_codes

_STYLE = """
<style>
h2 { font-size: 15pt; margin: 0 0 2px 0; }
h3 { font-size: 9.5pt; color: #acacac; margin: 12px 0 2px 0; font-weight: bold; }
p, td { font-size: 10.5pt; margin: 1px 0; }
td { padding: 1px 12px 1px 0; vertical-align: top; }
.dim { color: #acacac; }
</style>
"""


class Inspector(QWidget):
    """Both values, raw and effective, how the figure came about, tolerance, versions, neighbours, decisions."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.page = QTextBrowser()
        self.page.setOpenLinks(False)
        self.page.setFrameShape(QFrame.Shape.NoFrame)
        self.page.setAccessibleName("Inspector")
        self.page.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.page)
        self.setMinimumWidth(300)
        self.clear()

    def clear(self) -> None:
        """Nothing is chosen."""
        self.page.setHtml(f"{_STYLE}<p class='dim'>Choose a cell to see where its figure comes from.</p>")

    def show_cell(self, state: GridState, line: Line, column: int) -> None:
        """Show a parameter of a shot, or for a group's header what drifts in that group."""
        if line.row is None:
            self.page.setHtml(_STYLE + _group_page(state, line, column))
        else:
            self.page.setHtml(_STYLE + _cell_page(state, line.row, column))


def _e(text: object) -> str:
    return html.escape(str(text))


def _chip(cell: Cell, severity: float, state: State) -> str:
    red, green, blue = drift_scale.rgb(severity) if cell.grade > Grade.SAME else (64, 64, 64)
    ink = drift_scale.ink(red, green, blue).name()
    text = drift_text(cell) or cell.grade.word
    mark = drift_scale.GRADE_MARKS.get(cell.grade, "")
    chip = f"<span style='background-color: rgb({red},{green},{blue}); color: {ink};'>&nbsp;{_e(mark)} {_e(text)}&nbsp;</span>"
    return f"<p style='font-size: 16pt'>{chip} &nbsp;<span style='font-size: 11pt'>{_e(cell.grade.word)}, {_e(state_text(state))}</span></p>"


def _cell_page(state: GridState, row: int, column: int) -> str:
    session, table = state.session, state.table
    what, shot = table.rows[row], table.shots[column]
    head = f"<h2>{_e(shot)}</h2><p>{_e(what.parameter)}</p>"
    trouble = session.unreadable().get(shot)
    if trouble is not None:
        faults = trouble.faults or ()
        listed = "".join(f"<p>{_e(fault)}</p>" for fault in faults) or f"<p>{_e(trouble.says)}</p>"
        return f"{head}<h3>This shot has no readable sheet</h3>{listed}"
    cell = table.cell(row, column)
    if cell.grade is Grade.NONE:
        said = cell.remark or "Neither this shot nor what it is held against holds it."
        return f"{head}<p class='dim'>{_e(said)}</p>"
    decided = STATES[state.states[row, column]]
    parts = [
        head,
        _chip(cell, float(table.severity[row, column]), decided),
        _values(session, cell, row, column, table),
    ]
    parts.append(_section("How it is measured", _measured(session, cell)))
    parts.append(_section("Finding", _findings(session, row, column)))
    parts.append(_section("Tolerance", _tolerance_lines(cell, what)))
    parts.append(_section("Neighbours in the cut", _neighbours(state, row, column)))
    parts.append(_section("Versions of this shot", _versions(session, shot, what)))
    parts.append(_section("Decisions", _decisions(session, shot, what.parameter)))
    return "".join(parts)


def _measured(session: Session, cell: Cell) -> list[str]:
    """The way to the figure: for a computed cell its inputs on both sides, then the formula, then what must be said."""
    reference, sheet = session.comparison.references.get(cell.shot), session.comparison.sheets.get(cell.shot)
    lines: list[str] = []
    if reference is not None and sheet is not None:
        lines = derived_formula(cell, reference, sheet, session.key_sheet)
    lines = lines or formula(cell)
    return lines if not cell.remark or cell.remark in lines else [*lines, cell.remark]


def _section(title: str, lines: Iterable[str]) -> str:
    body = "".join(f"<p>{_e(line)}</p>" for line in lines)
    return f"<h3>{_e(title)}</h3>{body}" if body else ""


def _values(session: Session, cell: Cell, row: int, column: int, table: Any) -> str:
    what = table.rows[row]
    north = session.sequence.conventions.north
    sheet, reference = session.comparison.sheets[cell.shot], session.comparison.references.get(cell.shot)
    master = reference.as_typed(what.section, what.group, what.leaf) if reference is not None else {}
    typed = sheet.as_typed(what.section, what.group, what.leaf)
    rows = [
        ("", _dim(_sheet_name(reference)), _dim(_sheet_name(sheet))),
        ("compared", *(_e(value_text(side, cell.base, north)) for side in (cell.master, cell.value))),
    ]
    if master or typed:
        rows.append(("as typed", _typed(master), _typed(typed)))
    body = "".join(f"<tr><td>{_dim(name)}</td><td>{a}</td><td>{b}</td></tr>" for name, a, b in rows)
    return f"<h3>Values</h3><table>{body}</table>{_swatches(cell)}"


def _dim(text: str) -> str:
    return f"<span class='dim'>{_e(text)}</span>"


def _swatches(cell: Cell) -> str:
    """Both colours side by side, at one brightness, on the neutral grey of the page."""
    if not (isinstance(cell.master, Colour) and isinstance(cell.value, Colour)):
        return ""
    squares = "".join(
        f"<td style='background-color: {_shown_colour(side)}; padding: 14px 46px'>&nbsp;</td>"
        for side in (cell.master, cell.value)
    )
    return f"<table cellspacing='0' style='margin-top: 6px'><tr>{squares}</tr></table>"


def _shown_colour(colour: Colour) -> str:
    """A chromaticity as an sRGB colour, as bright as the screen can show it; outside the gamut the nearest edge."""
    red, green, blue = srgb_codes(np.array(rgb_of((colour.u, colour.v)))).tolist()
    return f"rgb({red},{green},{blue})"


def _sheet_name(sheet: Sheet | None) -> str:
    return f"{sheet.shot or 'master'} v{sheet.version:03d}" if sheet is not None else "nothing"


def _typed(values: Mapping[str, Any]) -> str:
    if not values:
        return "<span class='dim'>not stated</span>"
    return "<br>".join(f"{_e(name)}: {_e(_short(value))}" for name, value in values.items())


def _short(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list) and all(isinstance(item, int | float) for item in value):
        return "[" + ", ".join(f"{item:.6g}" for item in value) + "]"
    text = str(value)
    return text if len(text) <= 120 else text[:119] + "…"


def _findings(session: Session, row: int, column: int) -> list[str]:
    """The findings that explain a cell, with what to do."""
    found = [finding for finding in session.findings if (row, column) in finding.cells]
    return [line for finding in found for line in (finding.says, finding.do) if line]


def _tolerance_lines(cell: Cell, what: Any) -> list[str]:
    by = f" ({what.tolerance.pattern} in {what.tolerance.file})" if what.tolerance.file else ""
    lines = [f"{tolerance_text(cell)}{by}"]
    if what.tolerance.why:
        lines.append(what.tolerance.why)
    if what.lock is not None:
        lines.append(f"Locked ({what.lock.pattern} in {what.lock.file}). {what.lock.why}")
    return lines


def _neighbours(state: GridState, row: int, column: int) -> list[str]:
    lines = []
    for name, other in (("before", column - 1), ("after", column + 1)):
        if 0 <= other < len(state.table.shots):
            cell = state.table.cell(row, other)
            if cell.grade is Grade.NONE:
                said = "nothing to compare"
            else:
                value = value_text(cell.value, cell.base, state.session.sequence.conventions.north)
                said = f"{value}, {drift_text(cell) or cell.grade.word}"
            lines.append(f"{name}: {cell.shot} {said}")
    return lines


def _versions(session: Session, shot: str, what: Any) -> list[str]:
    found = session.versions_of(shot, what.section, what.group, what.leaf) if what.leaf else []
    if len(found) < 2:
        return []
    north = session.sequence.conventions.north
    return [f"v{version:03d}: {value_text(value, what.kind, north)}" for version, value in found]


def _decisions(session: Session, shot: str, parameter: str) -> list[str]:
    lines = []
    for decision in session.ledger.of_cell(shot, parameter):
        verb = {"intend": "intended", "return": "sent back", "withdraw": "withdrawn", "note": "note"}[
            str(decision.verb)
        ]
        when = decision.when.astimezone().strftime("%Y-%m-%d %H:%M")
        reason = f": {decision.reason}" if decision.reason else ""
        reason += f" (until master v{decision.until:03d})" if decision.until is not None else ""
        lines.append(f"{when}  {decision.who}  {verb}{reason}")
    return lines


def _group_page(state: GridState, line: Line, column: int) -> str:
    group, shot = state.groups[line.group], state.table.shots[column]
    parts = [f"<h2>{_e(shot)}</h2><p>{_e(group.name)}</p>"]
    trouble = state.session.unreadable().get(shot)
    if trouble is not None:
        return parts[0] + f"<p>{_e(trouble.says)}</p>"
    cells = state.cells_of(line, column)
    if not cells:
        return parts[0] + "<p class='dim'>Nothing drifts here.</p>"
    for row, _ in cells:
        cell = state.table.cell(row, column)
        decided = STATES[state.states[row, column]]
        parts.append(f"<h3>{_e(state.table.rows[row].leaf or 'presence')}</h3>")
        parts.append(_chip(cell, float(state.table.severity[row, column]), decided))
        north = state.session.sequence.conventions.north
        master, value = (value_text(side, cell.base, north) for side in (cell.master, cell.value))
        parts.append(
            f"<p><span class='dim'>master</span> {_e(master)}<br><span class='dim'>shot</span> {_e(value)}</p>"
        )
    return "".join(parts)
