"""The inspector: one cell from every side, or what several have in common."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from samelight.decisions.state import State
from samelight.drift.cells import Cell, ComparedCell, Grade
from samelight.drift.rows import Row
from samelight.drift.words import counted, value_text
from samelight.findings.finding import Finding, Sureness
from samelight.gui.inspector.both_sides import Values
from samelight.gui.inspector.figure_part import FigurePart
from samelight.gui.inspector.inspector_words import beside_text, chip_html, drift_or_grade, ungraded_lines
from samelight.gui.inspector.layers_of import LayersOf
from samelight.gui.inspector.many import summary_of
from samelight.gui.inspector.page import Page
from samelight.gui.inspector.places import Destination, Places
from samelight.gui.inspector.profile_plot import ProfilePlot
from samelight.gui.inspector.version_reader import Histories, VersionReader
from samelight.gui.inspector.versions_part import VersionsPart
from samelight.gui.paint import theme
from samelight.gui.state.cell_states import STATES
from samelight.gui.state.cell_words import (
    decision_lines,
    follows_line,
    measured,
    sides,
    tolerance_lines,
)
from samelight.gui.state.rows import GridState, Line
from samelight.gui.state.selection import Cells, Range, cells_in
from samelight.gui.widgets.page_parts import FittedLabel, Section, TextBlock
from samelight.gui.widgets.swatches import Swatches
from samelight.reports.signs import STATE_MARKS
from samelight.sequence.references import Against
from samelight.sequence.troubles import Trouble

_NOTHING = "Choose a cell to see where its figure comes from. Choose several to see what they have in common."
_MOST_LISTED, _MOST_FINDINGS = 24, 4
_FEW = 4000
"""Cells. The findings of more than these are the list of findings itself."""


class Inspector(QWidget):
    """Both values as typed and as compared, how the figure came about, tolerance, finding, neighbours in the cut, versions
    of shot and master, decisions."""

    picked = Signal(int, int)
    """Row and column of the table's cell to go to."""
    finding_asked = Signal(object)
    """The finding to go to."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._at: tuple[GridState, Line, int] | None = None
        self._wanted: set[str] = set()
        self.name = FittedLabel(points=theme.LARGE, bold=True, lines=2)
        self.parameter = FittedLabel(lines=3)
        self.copy_button = QToolButton()
        self.copy_button.setText("Copy")
        self.copy_button.setToolTip("Copy everything that stands here as text")
        self.copy_button.setAccessibleName("Copy the inspector as text")
        self.copy_button.clicked.connect(self._copy)
        self.chip = TextBlock("Drift and state")
        self.said = TextBlock("What is chosen")
        self.values = Values()
        self.swatches = Swatches()
        self.profiles = ProfilePlot()
        self.figure = FigurePart()
        self.measured = TextBlock("How it is measured")
        self.findings = Places(lines=3, head_lines=5, bold=False)
        self.tolerance = TextBlock("Tolerance")
        self.neighbours = Places(lines=4)
        self.versions = VersionsPart("Versions of the shot")
        self.masters = VersionsPart("Versions of the master")
        self.decisions = TextBlock("Decisions")
        self.layers = LayersOf(self)
        self.places = Places(lines=3)
        self._sections = {
            "values": Section("Values", self.values, self.swatches, self.profiles),
            "figure": Section("How the mark is lit", self.figure),
            "measured": Section("How it is measured", self.measured),
            "finding": Section("Finding", self.findings),
            "decisions": Section("Decisions", self.decisions),
            "tolerance": Section("Tolerance", self.tolerance),
            "neighbours": Section("Neighbours in the cut", self.neighbours),
            "layers": Section("Layers of the scene", self.layers.ask, self.layers.said),
            "versions": Section("Versions", self.versions),
            "masters": Section("Versions of the master", self.masters),
            "places": Section("", self.places),
        }
        self.page = Page([self._head(), self.parameter, self.chip, self.said, *self._sections.values()])
        for places in (self.findings, self.neighbours, self.layers.ask, self.places):
            places.made.connect(self.page.watch)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.page)
        self.setFocusProxy(self.page)
        self.setMinimumWidth(300)
        self._reader = VersionReader(self)
        self._reader.found.connect(self._show_versions)
        self._reader.reading.connect(self._show_reading)
        self._reader.failed.connect(self._show_failed)
        self.versions.asked_again.connect(self._read_again)
        self.clear()

    def _head(self) -> QWidget:
        head = _Head(self.name)
        row = QHBoxLayout(head)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.name, 1)
        row.addWidget(self.copy_button)
        return head

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.page.toPlainText())

    # What is shown

    def clear(self) -> None:
        """Nothing is chosen."""
        self._at = None
        self._start("", "", [_NOTHING])
        self._finish()
        self.copy_button.hide()

    def show_selection(self, state: GridState, line: Line, column: int, ranges: Sequence[Range]) -> None:
        """Show what is chosen: the cell under the cursor, or where there are several cells what they have in common."""
        cells = cells_in(state, ranges)
        if cells[0].size > 1:
            self._show_many(state, cells)
        else:
            self.show_cell(state, line, column)

    def show_cell(self, state: GridState, line: Line, column: int) -> None:
        """Show a parameter of a shot, or for a group's header what drifts in that group."""
        moved = self._at is None or self._at[1:] != (line, column)
        self._at = (state, line, column)
        shot = state.table.shots[column]
        if line.row is None:
            self._show_group(state, line, column, shot)
        else:
            self._show_cell(state, line.row, column, shot)
        if moved:
            self.page.verticalScrollBar().setValue(0)

    def _start(self, name: str, parameter: str, said: Sequence[str] = ()) -> None:
        """Begin a page with nothing but its head."""
        self._reader.forget()
        self.versions.rest()
        self.name.setText(name)
        self.parameter.setText(parameter)
        self.parameter.setVisible(bool(parameter))
        self.copy_button.show()
        self.chip.hide()  # shown again where there is something to grade
        self.said.setVisible(bool(said))
        self.said.show_lines(said)
        self._wanted = set()

    def _finish(self) -> None:
        """Show the sections that have something to say, and no others."""
        for name, section in self._sections.items():
            section.setVisible(name in self._wanted)

    def _want(self, section: str, wanted: bool = True) -> None:
        if wanted:
            self._wanted.add(section)

    def _lines(self, section: str, block: TextBlock, lines: Sequence[str]) -> None:
        block.show_lines(lines)
        self._want(section, bool(lines))

    def _places(self, section: str, places: Places, shown: Sequence[Destination], title: str = "") -> None:
        places.show_places(shown)
        if title:
            self._sections[section].title.setText(title)
        self._want(section, bool(shown))

    # One cell

    def _show_cell(self, state: GridState, row: int, column: int, shot: str) -> None:
        session, table = state.session, state.table
        what, cell = table.row_in(row, column), table.cell(row, column)
        trouble = session.unreadable().get(shot)
        if trouble is not None:
            faults = [str(fault) for fault in trouble.faults] or [trouble.says]
            self._start(shot, what.parameter, [_without_cell(trouble), *faults])
        elif cell.master is None and cell.value is None:
            said = cell.remark or "Neither this shot nor the reference has it."
            self._start(shot, what.parameter, [f"{said[0].upper()}{said[1:]}"])
        else:
            follows = follows_line(session, row, column)
            self._start(shot, what.parameter, [*ungraded_lines(cell), *([follows] if follows else [])])
            self._show_compared(state, row, column, cell, what)
        self._show_neighbours(state, row, column)
        self._reader.ask(session, what, shot)
        self._want("layers", self.layers.show_for(session, shot, what))
        self._want("figure", self.figure.show_for(session, shot, what.section, what.group))
        self._finish()

    def _show_compared(self, state: GridState, row: int, column: int, cell: ComparedCell, what: Row) -> None:
        session = state.session
        if cell.grade is not Grade.NONE:
            decided = STATES[int(state.standing.states[row, column])]
            self.chip.show()
            self.chip.show_html(chip_html(cell, float(state.table.severity[row, column]), decided))
        reference, shot = sides(session, cell, what)
        self.values.show_sides(reference, shot)
        for pictured in (self.swatches, self.profiles):
            pictured.show_pair(cell.master, cell.value, (reference.sheet, shot.sheet))
        self._want("values")
        self._lines("measured", self.measured, measured(session, cell, what))
        self._lines("tolerance", self.tolerance, tolerance_lines(session, cell, what))
        self._places("finding", self.findings, self._of_findings(state, [(row, column)]))
        self._lines("decisions", self.decisions, decision_lines(session, cell.shot, cell.parameter, cell))

    def _of_findings(self, state: GridState, cells: Iterable[Cell]) -> list[Destination]:
        """The findings that any of these cells belong to, those that explain most of them first."""
        chosen = set(cells)
        counts = [
            (len(chosen.intersection(finding.cells)), finding) for finding in state.session.cases.findings
        ]
        found = [finding for count, finding in sorted(counts, key=lambda one: -one[0]) if count]
        return [
            Destination(
                finding.says,
                finding.do
                if finding.sureness is Sureness.CERTAIN
                else f"{finding.sureness.capitalize()}. {finding.do}",
                "",
                finding.worst,
                "Goes to this finding in the list, and selects all its cells",
                partial(self._ask_finding, finding),
            )
            for finding in found[:_MOST_FINDINGS]
        ]

    def _ask_finding(self, finding: Finding) -> None:
        self.finding_asked.emit(finding)

    def _show_neighbours(self, state: GridState, row: int, column: int) -> None:
        table = state.table
        versions = state.session.comparison.reference.against is Against.VERSIONS
        title = "Versions beside it" if versions else "Neighbours in the cut"
        found = []
        for which, other in (("before", column - 1), ("after", column + 1)):
            if 0 <= other < len(table.shots):
                cell = table.cell(row, other)
                found.append(
                    Destination(
                        f"{which}: {cell.shot}",
                        beside_text(state, row, column, other),
                        drift_or_grade(cell),
                        float(table.severity[row, other]),
                        f"Goes to {cell.shot}",
                        partial(self.picked.emit, row, other),
                    )
                )
        self._places("neighbours", self.neighbours, found, title)

    # Versions

    def _show_section(self, name: str, shown: bool = True) -> None:
        """Show a section now or, while the page is being put together, with the others."""
        self._wanted.discard(name)
        self._want(name, shown)
        self._sections[name].setVisible(shown)

    def _row_now(self) -> tuple[GridState, Row, str] | None:
        if self._at is None or self._at[1].row is None:
            return None
        state, line, column = self._at
        assert line.row is not None
        return state, state.table.rows[line.row], state.table.shots[column]

    def _show_reading(self, known: Histories) -> None:
        now = self._row_now()
        if now is not None:
            self._show_masters(now[0], now[2], known)
            self._sections["versions"].title.setText(self._title(now))
            self.versions.show_reading()
            self._show_section("versions")

    def _title(self, now: tuple[GridState, Row, str]) -> str:
        reference = now[0].session.comparison.reference
        return f"Versions of {reference.shot if reference.against is Against.VERSIONS else now[2]}"

    def _show_versions(self, found: Histories) -> None:
        now = self._row_now()
        if now is None:
            return
        if found.shot is not None and found.shot.versions:
            self._sections["versions"].title.setText(f"{self._title(now)}, compared with {found.shot.held}")
            self.versions.show_history(found.shot, found.current)
        self._show_section("versions", found.shot is not None and bool(found.shot.versions))
        self._show_masters(now[0], now[2], found)

    def _show_masters(self, state: GridState, shot: str, found: Histories) -> None:
        if found.master is not None:
            self._sections["masters"].title.setText(
                f"Versions of the master, compared with {found.master.held}"
            )
            self.masters.show_history(found.master, state.session.contents.setup_of(shot).master_version)
        self._show_section("masters", found.master is not None)

    def _show_failed(self, why: str) -> None:
        now = self._row_now()
        if now is not None:
            self._sections["versions"].title.setText(self._title(now))
            self.versions.show_failed(why)
            self._show_section("versions")

    def _read_again(self) -> None:
        now = self._row_now()
        if now is not None:
            state, row, shot = now
            self._reader.again(state.session, row, shot)

    # More than a cell

    def _show_group(self, state: GridState, line: Line, column: int, shot: str) -> None:
        group = state.groups[line.group]
        trouble = state.session.unreadable().get(shot)
        if trouble is not None:
            faults = [str(fault) for fault in trouble.faults] or [trouble.says]
            self._start(shot, group.name, [_without_cell(trouble), *faults])
            self._finish()
            return
        rows = [row for row in group.rows if state.table.grade[row, column] > Grade.SAME]
        rows.sort(key=lambda row: -float(state.table.severity[row, column]))
        same = sum(1 for row in group.rows if state.table.grade[row, column] == Grade.SAME)
        if rows:
            differ = "differs" if len(rows) == 1 else "differ"
            said = f"{len(rows)} of {counted(len(group.rows), 'row')} {differ} from the reference."
        elif same:
            all_match = f"all {same} rows match" if same > 1 else "the one row matches"
            said = f"Nothing drifts here: {all_match} the reference."
        else:
            said = "Neither this shot nor the reference has any of it."
        self._start(shot, group.name, [said])
        shown = [self._of_row(state, row, column) for row in rows[:_MOST_LISTED]]
        more = f" (the first {_MOST_LISTED} of {len(rows)})" if len(rows) > _MOST_LISTED else ""
        self._places("places", self.places, shown, f"What differs{more}")
        self._finish()

    def _of_row(self, state: GridState, row: int, column: int) -> Destination:
        cell, what = state.table.cell(row, column), state.table.rows[row]
        north = state.session.contents.sequence.conventions.north
        master, value = (value_text(side, cell.value_kind, north) for side in (cell.master, cell.value))
        decided = STATES[int(state.standing.states[row, column])]
        trailing = drift_or_grade(cell)
        if decided is not State.UNDECIDED:
            trailing = f"{trailing} {STATE_MARKS[decided]}"
        said = f"{master} → {value}"
        if cell.grade >= Grade.DRIFT:
            said += f"\n{cell.grade.word}, {decided}"
        return Destination(
            what.leaf or "presence",
            said,
            trailing,
            float(state.table.severity[row, column]),
            f"Goes to {what.parameter} in {cell.shot}",
            partial(self.picked.emit, row, column),
        )

    def _show_many(self, state: GridState, cells: Cells) -> None:
        many = summary_of(state, cells)
        self._at = None
        self._start(many.title, many.where, [many.counts])
        shown = [
            Destination(
                part.parameter,
                part.values,
                part.drift,
                part.severity,
                f"Goes to the cell that is furthest off, in {state.table.shots[part.worst[1]]}",
                partial(self.picked.emit, *part.worst),
            )
            for part in many.parts
        ]
        if cells[0].size <= _FEW:
            places = zip(cells[0].tolist(), cells[1].tolist(), strict=True)
            self._places("finding", self.findings, self._of_findings(state, places))
        more = f" (the worst {len(shown)} of {len(shown) + many.left_out})" if many.left_out else ""
        self._places("places", self.places, shown, f"Drift and values in these cells{more}")
        self._finish()
        self.page.verticalScrollBar().setValue(0)


class _Head(QWidget):
    """The shot's name, with what can be done beside it."""

    def __init__(self, name: FittedLabel) -> None:
        super().__init__()
        self._name = name

    def words(self) -> str:
        """The name."""
        return self._name.text()


def _without_cell(trouble: Trouble) -> str:
    """Why a shot has no cells, in short."""
    return "This shot is compared with nothing." if trouble.unheld else "This shot has no readable sheet."
