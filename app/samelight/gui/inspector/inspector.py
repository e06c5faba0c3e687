"""The inspector: one cell from every side, or what several have in common."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

from PySide6.QtCore import Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.rows import Row
from samelight.drift.words import counted
from samelight.gui.inspector.both_sides import Values
from samelight.gui.inspector.destinations import of_findings, of_many, of_neighbours, of_row
from samelight.gui.inspector.figure_part import FigurePart
from samelight.gui.inspector.frames_part import FramesPart
from samelight.gui.inspector.inspector_words import chip_html, ungraded_lines
from samelight.gui.inspector.layers_of import LayersOf
from samelight.gui.inspector.many import summary_of
from samelight.gui.inspector.page import Page
from samelight.gui.inspector.places import Places
from samelight.gui.inspector.profile_plot import ProfilePlot
from samelight.gui.inspector.sections import Sections
from samelight.gui.inspector.version_sections import VersionSections
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
from samelight.sequence.references import Against
from samelight.sequence.troubles import Trouble

_NOTHING = "Choose a cell to see where its figure comes from. Choose several to see what they have in common."
_MOST_LISTED = 24
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
        self.name = FittedLabel(points=theme.LARGE, bold=True, lines=2)
        self.parameter = FittedLabel(lines=3)
        self.copy_button = QToolButton()
        self.copy_button.setText("Copy")
        self.copy_button.setToolTip("Copy everything that stands here as text")
        self.copy_button.setAccessibleName("Copy the inspector as text")
        self.copy_button.clicked.connect(self._copy)
        self.chip = TextBlock("Drift and state")
        self.said = TextBlock("What is chosen")
        self.page = Page([self._head(), self.parameter, self.chip, self.said], self)
        self._sections = Sections(self._sections_by_name(), self.page)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.page)
        self.setFocusProxy(self.page)
        self.setMinimumWidth(300)
        self.clear()

    def _sections_by_name(self) -> dict[str, Callable[[], Section]]:
        """What makes each section, in their order."""
        return {
            "values": lambda: Section("Values", self.values, self.swatches, self.profiles),
            "frames": lambda: Section("Over the frames of the shot", self.frames),
            "figure": lambda: Section("How the mark is lit", self.figure),
            "measured": lambda: Section("How it is measured", self.measured),
            "finding": lambda: Section("Finding", self.findings),
            "decisions": lambda: Section("Decisions", self.decisions),
            "tolerance": lambda: Section("Tolerance", self.tolerance),
            "neighbours": lambda: Section("Neighbours in the cut", self.neighbours),
            "layers": lambda: Section("Layers of the scene", self.layers.ask, self.layers.said),
            "versions": lambda: Section("Versions", self.versions),
            "masters": lambda: Section("Versions of the master", self.masters),
            "places": lambda: Section("", self.places),
        }

    # Parts of sections, each made when there is something to show in it

    values = cached_property(lambda _: Values())
    swatches = cached_property(lambda _: Swatches())
    profiles = cached_property(lambda _: ProfilePlot())
    frames = cached_property(lambda _: FramesPart())
    figure = cached_property(lambda _: FigurePart())
    measured = cached_property(lambda _: TextBlock("How it is measured"))
    findings = cached_property(lambda self: _places(self.page, lines=3, head_lines=5, bold=False))
    decisions = cached_property(lambda _: TextBlock("Decisions"))
    tolerance = cached_property(lambda _: TextBlock("Tolerance"))
    neighbours = cached_property(lambda self: _places(self.page, lines=4))
    layers = cached_property(lambda self: _layers(self.page))
    versions = cached_property(lambda _: VersionsPart("Versions of the shot"))
    masters = cached_property(lambda _: VersionsPart("Versions of the master"))
    places = cached_property(lambda self: _places(self.page, lines=3))
    _versions = cached_property(
        lambda self: VersionSections(self.versions, self.masters, self._sections, self)
    )

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
        self._sections.finish()
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
        if "_versions" in vars(self):
            self._versions.rest()
        self.name.setText(name)
        self.parameter.setText(parameter)
        self.parameter.setVisible(bool(parameter))
        self.copy_button.show()
        self.chip.hide()  # shown again where there is something to grade
        self.said.setVisible(bool(said))
        self.said.show_lines(said)
        self._sections.start()

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
        versions = session.comparison.reference.against is Against.VERSIONS
        beside = of_neighbours(state, row, column, self.picked.emit)
        title = "Versions beside it" if versions else "Neighbours in the cut"
        self._sections.places("neighbours", self.neighbours, beside, title)
        self._versions.show_for(session, what, shot)
        self._sections.want("layers", self.layers.show_for(session, shot, what))
        self._sections.make("frames")
        self._sections.want("frames", self.frames.show_for(session, shot, what))
        self._sections.want("figure", self.figure.show_for(session, shot, what.section, what.group))
        self._sections.finish()

    def _show_compared(self, state: GridState, row: int, column: int, cell: ComparedCell, what: Row) -> None:
        session = state.session
        if cell.grade is not Grade.NONE:
            decided = STATES[int(state.standing.states[row, column])]
            self.chip.show()
            self.chip.show_html(chip_html(cell, float(state.table.severity[row, column]), decided))
        reference, shot = sides(session, cell, what)
        self._sections.want("values")
        self.values.show_sides(reference, shot)
        for pictured in (self.swatches, self.profiles):
            pictured.show_pair(cell.master, cell.value, (reference.sheet, shot.sheet))
        self._sections.lines("measured", self.measured, measured(session, cell, what))
        self._sections.lines("tolerance", self.tolerance, tolerance_lines(session, cell, what))
        self._sections.places(
            "finding", self.findings, of_findings(state, [(row, column)], self.finding_asked.emit)
        )
        self._sections.lines(
            "decisions", self.decisions, decision_lines(session, cell.shot, cell.parameter, cell)
        )

    # More than a cell

    def _show_group(self, state: GridState, line: Line, column: int, shot: str) -> None:
        group = state.groups[line.group]
        trouble = state.session.unreadable().get(shot)
        if trouble is not None:
            faults = [str(fault) for fault in trouble.faults] or [trouble.says]
            self._start(shot, group.name, [_without_cell(trouble), *faults])
            self._sections.finish()
            return
        rows = [row for row in group.rows if state.table.grade.item(row, column) > Grade.SAME]
        rows.sort(key=lambda row: -float(state.table.severity[row, column]))
        same = sum(1 for row in group.rows if state.table.grade.item(row, column) == Grade.SAME)
        if rows:
            differ = "differs" if len(rows) == 1 else "differ"
            said = f"{len(rows)} of {counted(len(group.rows), 'row')} {differ} from the reference."
        elif same:
            all_match = f"all {same} rows match" if same > 1 else "the one row matches"
            said = f"Nothing drifts here: {all_match} the reference."
        else:
            said = "Neither this shot nor the reference has any of it."
        self._start(shot, group.name, [said])
        shown = [of_row(state, row, column, self.picked.emit) for row in rows[:_MOST_LISTED]]
        more = f" (the first {_MOST_LISTED} of {len(rows)})" if len(rows) > _MOST_LISTED else ""
        self._sections.places("places", self.places, shown, f"What differs{more}")
        self._sections.finish()

    def _show_many(self, state: GridState, cells: Cells) -> None:
        many = summary_of(state, cells)
        self._at = None
        self._start(many.title, many.where, [many.counts])
        shown = of_many(state, many, self.picked.emit)
        if cells[0].size <= _FEW:
            places = zip(cells[0].tolist(), cells[1].tolist(), strict=True)
            self._sections.places(
                "finding", self.findings, of_findings(state, places, self.finding_asked.emit)
            )
        more = f" (the worst {len(shown)} of {len(shown) + many.left_out})" if many.left_out else ""
        self._sections.places("places", self.places, shown, f"Drift and values in these cells{more}")
        self._sections.finish()
        self.page.verticalScrollBar().setValue(0)


class _Head(QWidget):
    """The shot's name, with what can be done beside it."""

    def __init__(self, name: FittedLabel) -> None:
        super().__init__()
        self._name = name

    def words(self) -> str:
        """The name."""
        return self._name.text()


def _places(page: Page, *, lines: int, head_lines: int = 2, bold: bool = True) -> Places:
    places = Places(lines=lines, head_lines=head_lines, bold=bold)
    places.made.connect(page.watch)
    return places


def _layers(page: Page) -> LayersOf:
    layers = LayersOf(page)
    layers.ask.made.connect(page.watch)
    return layers


def _without_cell(trouble: Trouble) -> str:
    """Why a shot has no cells, in short."""
    return "This shot is compared with nothing." if trouble.unheld else "This shot has no readable sheet."
