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
    SequenceRow,
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
from samelight.gui.window.production_reading import ProductionReading
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


class ProductionWindow(QMainWindow):
    """Lists the sequences as they are read, with what goes through all of them below."""

    def __init__(self, production: Production, settings: Settings | None = None) -> None:
        super().__init__()
        self.production = production
        self.settings = settings or Settings()
        self.sequence_window: MainWindow | None = None
        """Where one stepped in."""
        self._inside = ""
        self.background = Background(self)
        self.reading = ProductionReading(production, self)
        self.reading.begun.connect(self._say)
        self.reading.told.connect(self._show)
        self.reading.ended.connect(self._look_over_film)
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
        self.reading.read_all()
        self.watcher = ManyFolders(production.sequences, self)
        self.watcher.touched.connect(self.reading.touched)
        self.watcher.start()

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
        self.read_action.triggered.connect(self.reading.read_all)
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

    def _show(self, row: SequenceRow) -> None:
        self.model.put(since(row, self._saved))
        self._say()

    def _look_over_film(self) -> None:
        """Say what goes through all sequences and is not one, once all are read, and follow a light through the shots as they are now."""
        known = {row.name: row.summary for row in self.model.rows if row.summary is not None}
        looks = {name: summary.looks for name, summary in known.items()}
        if looks == self._looked_over:
            self.follower.follow()
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

    def _say(self) -> None:
        """The sum of all, and how many are still to be read."""
        rows = self.model.rows
        known = [row for row in rows if row.tally is not None]
        waiting = self.reading.left()
        broken = sum(row.tally is None and not self.reading.is_reading(row.name) for row in rows)
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
            self.reading.read(inside)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Put away what was stepped into as well."""
        if self.sequence_window is not None:
            if not self.sequence_window.close():
                event.ignore()
                return
            self.sequence_window.deleteLater()
        self.watcher.stop()
        self.reading.stop()
        for crew in (self.background, self.follower.background):
            crew.cancel_all()
            crew.wait()
        super().closeEvent(event)
