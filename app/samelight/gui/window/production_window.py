"""The overview of a production: a row a sequence, from which one steps into it and comes back to the same place."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path

from PySide6.QtCore import QEvent, QModelIndex, QSize, QSortFilterProxyModel, Qt
from PySide6.QtGui import QAction, QCloseEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFileDialog,
    QHeaderView,
    QLineEdit,
    QMainWindow,
    QTableView,
    QToolBar,
    QVBoxLayout,
    QWidget,
)

from samelight.decisions.tally import Tally
from samelight.drift.words import counted
from samelight.gui.background.background import Background
from samelight.gui.background.many_folders import ManyFolders
from samelight.gui.state.production_rows import (
    RowReader,
    SequenceRow,
    broken_row,
    said_over_film,
    since,
    waiting_row,
)
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.plain_text import PlainLabel, plain_title
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.film_follower import FilmFollower
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.over_film import OverFilm
from samelight.gui.window.production_model import ROW_ROLE, SORT_ROLE, Column, ProductionModel, StripDelegate
from samelight.reports.saved_production import SavedCases, read_saved
from samelight.reports.summary import SetUpLook
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import Production

_WIDTHS = {
    Column.SEQUENCE: 180,
    Column.HELD: 160,
    Column.SHOTS: 60,
    Column.UNDECIDED: 90,
    Column.SENT_BACK: 90,
    Column.MENDED: 80,
    Column.INTENDED: 80,
    Column.SINCE: 120,
    Column.HOURS: 70,
    Column.LIGHTERS: 160,
}


AT_ONCE = 6
"""Sequences that are opened before another process is worth its start."""


class ProductionWindow(QMainWindow):
    """Sequences are read one after another beside the window; one that cannot be read is told in its row and holds up no other."""

    def __init__(self, production: Production, settings: Settings | None = None) -> None:
        super().__init__()
        self.production = production
        self.settings = settings or Settings()
        self.sequence_window: MainWindow | None = None
        """Where one stepped in."""
        self._inside = ""
        self.background = Background(self)
        self._elsewhere = Background(self)
        """What is opened by another process, while this one opens others."""
        self._reader = RowReader(production)
        self._again: set[str] = set()
        """What something happened in while it was being read."""
        self._opened = 0
        """How many sequences were opened since all were asked for: of which nothing was kept, or not as they are."""
        self.setWindowTitle(f"{plain_title(production.title)} — Samelight")
        self.model = ProductionModel([waiting_row(production, name) for name in production.sequences], self)
        self.listed = QSortFilterProxyModel(self)
        self.listed.setSourceModel(self.model)
        self.listed.setSortRole(SORT_ROLE)
        self.listed.setFilterKeyColumn(-1)
        self.listed.setFilterCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.table = self._table()
        self.filter_edit = QLineEdit()
        self.filter_edit.setPlaceholderText("Filter sequences")
        self.filter_edit.setAccessibleName("Filter sequences")
        self.filter_edit.setToolTip("Only sequences with these words in their name, masters or lighters")
        self.filter_edit.setMaximumWidth(320)
        self.filter_edit.textChanged.connect(self.listed.setFilterFixedString)
        self.said = PlainLabel()
        self.over_film = OverFilm(self)
        self.follower = FilmFollower(production, self)
        self.follower.picked.connect(self.step_in)
        self._looked_over: Mapping[str, tuple[SetUpLook, ...]] = {}
        """By what its sequences are lit, when it was said last what goes through all of them."""
        self._saved: Mapping[str, SavedCases] = {}
        """What a saved check said of each sequence, where one is compared with."""
        self._build_bar()
        middle = QWidget()
        layout = QVBoxLayout(middle)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.follower)
        layout.addWidget(self.over_film)
        self.setCentralWidget(middle)
        self.statusBar().addWidget(self.said)
        self.resize(QSize(1400, 700))
        self.read_all()
        self.watcher = ManyFolders(production.sequences, self)
        self.watcher.touched.connect(self.touched)
        self.watcher.start()

    def touched(self, names: frozenset[str]) -> None:
        """Read again what something happened in."""
        for name in self.production.sequences:
            if name in names and self.is_reading(name):
                # What is being read is told first: a folder in which something happens all the time would never be.
                self._again.add(name)
            elif name in names:
                self.read(name)

    def _table(self) -> QTableView:
        table = QTableView()
        table.setModel(self.listed)
        table.setAccessibleName("Sequences of the production")
        table.setToolTip("Enter or a double click opens a sequence")
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setItemDelegateForColumn(Column.CUT, StripDelegate(table))
        table.setSortingEnabled(True)
        table.horizontalHeader().setSortIndicator(
            -1, Qt.SortOrder.AscendingOrder
        )  # in story order until asked otherwise
        table.horizontalHeader().setSortIndicatorClearable(True)
        table.horizontalHeader().setSectionResizeMode(Column.CUT, QHeaderView.ResizeMode.Stretch)
        table.verticalHeader().hide()
        for column, width in _WIDTHS.items():
            table.setColumnWidth(column, width)
        table.setWordWrap(False)
        table.activated.connect(self._activated)
        table.selectRow(0)
        return table

    def _build_bar(self) -> None:
        bar = QToolBar("Production")
        bar.setMovable(False)
        bar.addWidget(self.filter_edit)
        self.open_action = QAction("&Open", self)
        self.open_action.setToolTip("Open the chosen sequence (Enter)")
        self.open_action.triggered.connect(lambda: self._activated(self.table.currentIndex()))
        self.read_action = QAction("&Read again", self)
        self.read_action.setShortcut(QKeySequence(Qt.Key.Key_F5))
        self.read_action.setToolTip("Read every sequence again (F5)")
        self.read_action.triggered.connect(self.read_all)
        self.since_action = QAction("Changes &since…", self)
        self.since_action.setToolTip(
            "Hold every sequence against a check of the production that was saved with --format json; otherwise against the "
            "last day before today on which somebody looked"
        )
        self.since_action.triggered.connect(self._ask_since)
        bar.addActions([self.open_action, self.read_action, self.since_action])
        bar.addSeparator()
        follow = PlainLabel("&Follow over the film")
        follow.setBuddy(self.follower.box)
        bar.addWidget(follow)
        bar.addWidget(self.follower.box)
        self.addToolBar(bar)

    def read_all(self) -> None:
        """Read every sequence, in story order: first those of which nothing changed."""
        self._opened = 0
        for name in self.production.sequences:
            self.read(name)

    def read(self, name: str) -> None:
        """Read one sequence again; its row is as it was until then."""
        self._elsewhere.cancel(name)
        self._again.discard(name)
        self.background.run(
            name,
            partial(self._reader.kept, name),
            partial(self._open, name),
            partial(self._show_broken, name),
        )
        self._say()

    def _open(self, name: str, row: SequenceRow | None) -> None:
        """Show what was kept of a sequence, or open it: where many are to be opened, some in another process."""
        if row is not None:
            self._show(row)
            return
        self._opened += 1
        shares = self._opened > AT_ONCE and self._opened % 2 == 0
        crew, work = (
            (self._elsewhere, self._reader.read_elsewhere) if shares else (self.background, self._reader.read)
        )
        crew.run(name, partial(work, name), self._show, partial(self._show_broken, name), rank=1)

    def is_reading(self, name: str) -> bool:
        """Whether a sequence is still to be read."""
        return name in self.background or name in self._elsewhere

    def _show(self, row: SequenceRow) -> None:
        self.model.put(since(row, self._saved))
        if row.name in self._again:
            self.read(row.name)
        self._say()
        if not any(map(self.is_reading, self.production.sequences)):
            self._reader.end()
            self._look_over_film()

    def _look_over_film(self) -> None:
        """Say what goes through all sequences and is not one, once all are read."""
        known = {row.name: row.summary for row in self.model.rows if row.summary is not None}
        looks = {name: summary.looks for name, summary in known.items()}
        if looks == self._looked_over:
            return
        self._looked_over = looks
        self.follower.offer(list(known.values()))
        self.background.run(
            "", partial(said_over_film, self.production, known), self.over_film.show_lines, self._show_over
        )

    def _show_over(self, why: str) -> None:
        self.over_film.show_lines([why])

    # Since a saved check

    def _ask_since(self) -> None:
        start = str(self.production.folder)
        chosen, _ = QFileDialog.getOpenFileName(
            self, "A saved check of this production", start, "JSON (*.json)"
        )
        if chosen:
            self.compare_with(Path(chosen))

    def compare_with(self, file: Path) -> None:
        """Say what changed since a saved check; of no use where it cannot be read."""
        try:
            self._saved = read_saved(file)
        except SamelightError as error:
            warn(self, "This check cannot be used", str(error))
            return
        for row in self.model.rows:
            self.model.put(since(row, self._saved))

    def _show_broken(self, name: str, why: str) -> None:
        self._show(broken_row(self.production, name, why))

    def _say(self) -> None:
        """The sum of all, and how many are still to be read."""
        rows = self.model.rows
        known = [row for row in rows if row.tally is not None]
        waiting = sum(map(self.is_reading, self.production.sequences))
        broken = len(rows) - len(known) - sum(row.tally is None and self.is_reading(row.name) for row in rows)
        tally = sum((row.tally for row in known if row.tally is not None), Tally())
        said = [f"{counted(len(known), 'sequence')}: {tally.says}"]
        if waiting:
            said.append(f"reading {waiting} more")
        if broken:
            said.append(f"{broken} cannot be read")
        self.said.setText(", ".join(said))

    # Stepping in and back

    def _activated(self, index: QModelIndex) -> None:
        row = index.data(ROW_ROLE) if index.isValid() else None
        if isinstance(row, SequenceRow):
            self.step_in(row.name)

    def step_in(self, name: str) -> None:
        """Open a sequence in a window of its own; when that is put away, its row is read again."""
        if self.sequence_window is None:
            self.sequence_window = MainWindow(self.settings)
            self.sequence_window.destroyed.connect(self._gone)
        self.come_back()
        self._inside = name
        self.sequence_window.opening.open(self.production.sequences[name], self.production.common(name))
        self.sequence_window.show()
        self.sequence_window.raise_()
        self.sequence_window.activateWindow()

    def _gone(self) -> None:
        self.sequence_window = None

    def changeEvent(self, event: QEvent) -> None:
        """Whoever comes back finds the row of where they were as it is now."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.come_back()

    def come_back(self) -> None:
        """Read again what one stepped into."""
        inside, self._inside = self._inside, ""
        if inside:
            self.read(inside)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Put away what was stepped into as well."""
        if self.sequence_window is not None and not self.sequence_window.close():
            event.ignore()
            return
        self.watcher.stop()
        for crew in (self.background, self._elsewhere, self.follower.background):
            crew.cancel_all()
        self._reader.end()
        self.background.wait()
        self.follower.background.wait()
        super().closeEvent(event)
