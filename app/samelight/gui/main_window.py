"""The window of the lead lighter: grid, traces, findings and inspector."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QItemSelection, QItemSelectionModel, QSize, Qt, QUrl
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QComboBox,
    QCompleter,
    QDialog,
    QDockWidget,
    QFileDialog,
    QInputDialog,
    QLabel,
    QLineEdit,
    QMainWindow,
    QMenu,
    QMessageBox,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QTabWidget,
    QToolBar,
    QVBoxLayout,
    QWidget,
)

from samelight import __version__
from samelight.bases import MASTER, Against, Base, Comparison
from samelight.contents import Contents
from samelight.decisions.decision import Verb
from samelight.drift.mended import changed_cells
from samelight.drift.words import counted
from samelight.findings.finding import Finding
from samelight.gui.commands import COMMANDS, keys_text, make_actions
from samelight.gui.deciding import TITLES, ReasonDialog
from samelight.gui.findings_panel import FindingsPanel
from samelight.gui.grid_model import GridModel, Shown
from samelight.gui.grid_view import COLUMN_WIDTH, GridView
from samelight.gui.inspector import Inspector
from samelight.gui.keys_box import show_keys
from samelight.gui.legend import Legend
from samelight.gui.live import Live
from samelight.gui.loading import Loader
from samelight.gui.memory import Memory
from samelight.gui.overview import Overview
from samelight.gui.plan_view import PlanView
from samelight.gui.publish_dialog import PublishDialog
from samelight.gui.review_link import ReviewLink
from samelight.gui.rows import Order, Show
from samelight.gui.sky_view import SkyView
from samelight.gui.traces import TracesView
from samelight.gui.welcome import Welcome
from samelight.resources import sample_sequence
from samelight.session import Session, account_name
from samelight.sheets.errors import SamelightError

_REASONS_KEPT = 6
_EXPANDING = QSizePolicy.Policy.Expanding
_PREFERRED = QSizePolicy.Policy.Preferred


class MainWindow(QMainWindow):
    """Holds the widgets together; what they show is in `GridState`, what is known in `Session`."""

    def __init__(self, memory: Memory | None = None) -> None:
        super().__init__()
        self.memory = memory or Memory()
        self.session: Session | None = None
        self.model: GridModel | None = None
        self.grid: GridView | None = None
        self.traces: TracesView | None = None
        self.overview: Overview | None = None
        self.review = ReviewLink(self)
        self.loader = Loader(self)
        self.loader.progressed.connect(self._progressed)
        self.loader.opened.connect(self.show_session)
        self.loader.failed.connect(self._failed)
        self.loader.stopped.connect(self._stopped)
        self.live: Live | None = None
        self.changed: list[tuple[str, str]] = []
        self.setWindowTitle("Samelight")
        self.setAcceptDrops(True)
        self.actions_by_name = make_actions(self, lambda name: getattr(self, f"do_{name}"))
        self._build_menus()
        self._build_bar()
        self._build_centre()
        self._build_docks()
        self.notice = QLabel()
        self.statusBar().addPermanentWidget(self.notice)
        self.resize(QSize(1600, 950))
        self._recall_layout()
        self._enable()

    # What the window is made of

    def _build_menus(self) -> None:
        menus: dict[str, QMenu] = {}
        for command in COMMANDS:
            menu = menus.get(command.menu)
            if menu is None:
                menu = menus[command.menu] = self.menuBar().addMenu(command.menu)
            if command.divided:
                menu.addSeparator()
            menu.addAction(self.actions_by_name[command.name])

    def _build_bar(self) -> None:
        bar = QToolBar("Filter and decide")
        bar.setObjectName("bar")
        bar.setMovable(False)
        self.show_box = QComboBox()
        self.show_box.addItems([str(show) for show in Show])
        self.show_box.setToolTip("Which rows are listed")
        self.show_box.setAccessibleName("Which rows are listed")
        self.filter_edit = QLineEdit()
        self.filter_edit.setPlaceholderText("Filter rows, such as sun direction")
        self.filter_edit.setToolTip("Only rows whose name holds all these words (Ctrl+F)")
        self.filter_edit.setAccessibleName("Filter rows")
        self.filter_edit.setClearButtonEnabled(True)
        self.filter_edit.setMaximumWidth(280)
        self.shown_box = QComboBox()
        self.shown_box.addItems([str(shown) for shown in Shown])
        self.shown_box.setToolTip("What cells say: the drift, the shot's value, or both")
        self.shown_box.setAccessibleName("What cells say")
        self.base_box = QComboBox()
        self.base_box.setToolTip(
            "What every shot is held against. Decisions are made against the master only"
        )
        self.base_box.setAccessibleName("Compare with")
        self.base_box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.base_box.activated.connect(self._base_chosen)
        self.goto_edit = QLineEdit()
        self.goto_edit.setPlaceholderText("Shot")
        self.goto_edit.setToolTip("Go to a shot by typing its name (Ctrl+G)")
        self.goto_edit.setAccessibleName("Go to shot")
        self.goto_edit.setMaximumWidth(110)
        self.count_label = QLabel()
        for text, widget in (
            ("Rows", self.show_box),
            ("", self.filter_edit),
            ("Cells", self.shown_box),
            ("Against", self.base_box),
            ("", self.goto_edit),
        ):
            if text:
                label = QLabel(text)
                bar.addWidget(label)
            bar.addWidget(widget)
        bar.addSeparator()
        for name in ("intend", "return", "withdraw", "next"):
            bar.addAction(self.actions_by_name[name])
        spacer = QWidget()
        spacer.setSizePolicy(_EXPANDING, _PREFERRED)
        bar.addWidget(spacer)
        bar.addWidget(self.count_label)
        self.addToolBar(bar)
        self.show_box.currentTextChanged.connect(self._refilter)
        self.filter_edit.textChanged.connect(self._refilter)
        self.shown_box.currentTextChanged.connect(self._reshow)
        self.goto_edit.returnPressed.connect(self._go_to_typed)
        back = QShortcut(QKeySequence(Qt.Key.Key_Escape), self)
        back.activated.connect(self._escape)

    def _build_centre(self) -> None:
        self.welcome = Welcome()
        self.welcome.open_asked.connect(self.do_open)
        self.welcome.sample_asked.connect(self.do_sample)
        self.welcome.cancel_asked.connect(self.loader.cancel)
        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setHandleWidth(5)
        work = QWidget()
        layout = QVBoxLayout(work)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.splitter, 1)
        layout.addWidget(Legend())
        self.work_layout = layout
        self.pages = QStackedWidget()
        self.pages.addWidget(self.welcome)
        self.pages.addWidget(work)
        self.setCentralWidget(self.pages)

    def _build_docks(self) -> None:
        self.findings = FindingsPanel()
        self.findings.chosen.connect(self._show_finding)
        self.findings.asked.connect(self._decide_finding)
        self.inspector = Inspector()
        self.sky = SkyView()
        self.sky.picked.connect(self._go_to_cell)
        self.plan = PlanView()
        self.plan.picked.connect(self.go_to_shot)
        self.docks: dict[str, QDockWidget] = {}
        for title, name, widget in (
            ("Findings", "findings", self.findings),
            ("Inspector", "inspector", self.inspector),
            ("Sky", "sky", self.sky),
            ("Render plan", "plan", self.plan),
        ):
            dock = QDockWidget(title)
            dock.setObjectName(name)
            dock.setWidget(widget)
            dock.setFeatures(QDockWidget.DockWidgetFeature.DockWidgetMovable)
            self.addDockWidget(Qt.DockWidgetArea.RightDockWidgetArea, dock)
            self.docks[name] = dock
        self.tabifyDockWidget(self.docks["inspector"], self.docks["sky"])
        self.tabifyDockWidget(self.docks["sky"], self.docks["plan"])
        self.docks["sky"].visibilityChanged.connect(self.sky.set_seen)
        self.docks["plan"].visibilityChanged.connect(self.plan.set_seen)
        self.docks["inspector"].raise_()
        self.setTabPosition(Qt.DockWidgetArea.RightDockWidgetArea, QTabWidget.TabPosition.North)
        docks = [self.docks["findings"], self.docks["inspector"]]
        self.resizeDocks(docks, [380] * len(docks), Qt.Orientation.Horizontal)
        self.resizeDocks(docks, [330, 520], Qt.Orientation.Vertical)

    def _enable(self) -> None:
        has = self.session is not None
        for command in COMMANDS:
            if command.menu in ("&Edit", "&View", "&Decide") or command.name in ("reload", "publish"):
                self.actions_by_name[command.name].setEnabled(has)
        if self.session is not None:
            self.actions_by_name["undo"].setEnabled(bool(self.session.history.done))
            self.actions_by_name["redo"].setEnabled(bool(self.session.history.undone))
            for name in ("intend", "return", "withdraw", "publish"):
                self.actions_by_name[name].setEnabled(self.session.decidable)

    # Opening

    def open_folder(self, folder: Path) -> None:
        """Open a sequence; the window shows how far it is and stays alive."""
        self.welcome.show_loading(folder.name)
        if self.session is None:
            self.pages.setCurrentIndex(0)
        self.loader.open(folder)

    def _progressed(self, done: int, total: int, name: str) -> None:
        self.welcome.show_progress(done, total, name)
        self.statusBar().showMessage(f"Reading {done} of {total}  {name}")

    def _failed(self, message: str) -> None:
        self.statusBar().clearMessage()
        if self.session is None:
            self.welcome.show_failed(message)
        else:
            QMessageBox.warning(self, "This sequence could not be opened", message)

    def _stopped(self) -> None:
        self.statusBar().showMessage("Loading was stopped", 4000)
        if self.session is None:
            self.welcome.show_welcome()

    def show_session(self, session: Session) -> None:
        """Put a session on the screen, at the cell where the last one stood if it still exists."""
        spot = self._spot_names()
        before = self.model.state if self.model is not None else None
        again = self.session is not None and self.session.folder == session.folder
        if self.live is not None:
            self.live.stop()
        self.session = session
        self.model = GridModel(session, self)
        self.model.shown = Shown(self.shown_box.currentText())
        if before is not None and again:
            self.model.state = before.renewed(session)
        else:
            self.model.state.expanded = before.expanded if before else set(self.memory.names("expanded"))
            self.model.state.order = before.order if before else _order(self.memory.text("order"))
        self.model.set_filter(Show(self.show_box.currentText()), self.filter_edit.text())
        self._replace_views(self.model)
        self.findings.model.set_findings(session.findings)
        self.plan.show_session(session)
        completer = QCompleter(list(session.table.shots), self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        completer.activated.connect(self._go_to_typed)
        self.goto_edit.setCompleter(completer)
        self.setWindowTitle(
            f"{session.sequence.title}, master v{session.master_version or 0:03d} — Samelight"
        )
        self.memory.keep("last", str(session.folder.resolve()))
        self.memory.opened(session.folder.resolve())
        self.pages.setCurrentIndex(1)
        self.statusBar().clearMessage()
        self._say_troubles(session)
        self._count()
        self._enable()
        self._go_to_names(spot or (self.memory.text("shot"), self.memory.text("parameter")))
        self._list_bases()
        self._watch(session)
        self.review.show(session)

    # What others do to the folder meanwhile

    def _watch(self, session: Session) -> None:
        if self.live is not None:
            self.live.stop()
        self.live = Live(session, self)
        self.live.changed.connect(self._changed_on_disk)
        self.live.decided.connect(self._decided_elsewhere)
        self.live.troubled.connect(self._live_trouble)
        self.live.start()

    def _changed_on_disk(self, contents: Contents, comparison: Comparison) -> None:
        if self.session is None or self.model is None or self.sender() is not self.live:
            return
        self.changed = changed_cells(self.session.table, comparison.table)
        self.session.take(contents, comparison)
        self._list_bases()
        self._renew(self.session)
        shots = list(dict.fromkeys(shot for shot, _ in self.changed))
        if shots:
            where = ", ".join(shots[:4]) + ("…" if len(shots) > 4 else "")
            self.statusBar().showMessage(f"{len(self.changed)} cells changed on disk, in {where}")
        self.actions_by_name["changed"].setEnabled(bool(self.changed))

    def _decided_elsewhere(self) -> None:
        if self.session is not None and self.sender() is self.live and self.session.ledger.refresh():
            self._decided()
            self._say_troubles(self.session)

    def _live_trouble(self, trouble: str) -> None:
        if self.session is None:
            return
        if trouble:
            self.notice.setText(f"Not up to date: {trouble.splitlines()[0][:110]}")
            self.notice.setToolTip(trouble)
        else:
            self._say_troubles(self.session)

    # What shots are held against

    def _list_bases(self) -> None:
        session = self.session
        if session is None:
            return
        bases = [MASTER]
        bases += [
            Base(Against.OLDER_MASTER, v)
            for v in sorted(session.masters, reverse=True)
            if v != session.master_version
        ]
        bases.append(Base(Against.BEFORE))
        if session.base not in bases:
            bases.append(session.base)
        self.base_box.clear()
        for base in bases:
            text = f"master v{session.master_version or 0:03d}" if base == MASTER else base.text
            self.base_box.addItem(text, base)
        self.base_box.setCurrentIndex(bases.index(session.base))
        self.base_box.addItem("another shot…", Against.SHOT)
        self.base_box.addItem("versions of a shot…", Against.VERSIONS)

    def _base_chosen(self, index: int) -> None:
        chosen = self.base_box.itemData(index)
        base = chosen if isinstance(chosen, Base) else self._ask_base(Against(chosen))
        if base is not None:
            self.compare_with(base)
        self._list_bases()

    def _ask_base(self, against: Against) -> Base | None:
        if self.session is None:
            return None
        shots = [shot for shot in self.session.shots if shot in self.session.sheets]
        spot = self._spot_names()
        start = shots.index(spot[0]) if spot is not None and spot[0] in shots else 0
        shot, agreed = QInputDialog.getItem(self, "Compare with", "Shot", shots, start, False)
        if not agreed:
            return None
        version = max(self.session.versions[shot]) if against is Against.VERSIONS else None
        return Base(against, version, shot)

    def compare_with(self, base: Base) -> None:
        """Hold every shot against another base."""
        if self.session is None:
            return
        try:
            self.session.hold_against(base)
        except SamelightError as error:
            QMessageBox.warning(self, "Not compared", str(error))
            return
        if self.live is not None:
            self.live.base = base
        self._renew(self.session)

    def _renew(self, session: Session) -> None:
        """Show a session's new table where the eye is: same rows open, same scroll, same cell."""
        if self.model is None or self.grid is None:
            return
        spot = self._spot_names()
        across, down = self.grid.horizontalScrollBar().value(), self.grid.verticalScrollBar().value()
        self.model.renew()
        self.findings.model.set_findings(session.findings)
        self.plan.show_session(session)
        if spot is not None:
            self._go_to_names(spot)
        self.grid.horizontalScrollBar().setValue(across)
        self.grid.verticalScrollBar().setValue(down)
        self._say_troubles(session)
        self._count()
        self._enable()
        self.review.show(session)

    def _replace_views(self, model: GridModel) -> None:
        sizes = self.splitter.sizes() if self.grid is not None else None
        for old in (self.overview, self.grid, self.traces):
            if old is not None:
                old.setParent(None)
                old.deleteLater()
        self.grid = GridView(model)
        self.grid.set_column_width(self.memory.number("column_width", COLUMN_WIDTH))
        self.traces = TracesView(self.grid)
        self.traces.setMinimumHeight(120)
        self.overview = Overview(model, self.grid)
        self.overview.setVisible(self.memory.text("overview", "shown") == "shown")
        self.work_layout.insertWidget(0, self.overview)
        self.splitter.addWidget(self.grid)
        self.splitter.addWidget(self.traces)
        self.splitter.setSizes(sizes or [520, 320])
        self.grid.spot_changed.connect(self._spot_changed)
        self.traces.picked.connect(self._go_to_cell)

    def _say_troubles(self, session: Session) -> None:
        says = [trouble.says for trouble in session.troubles]
        says += [f"Decision skipped: {fault}" for fault in session.ledger.faults]
        count = f"{counted(len(says), 'remark')} on this sequence" if says else ""
        self.notice.setText(f"{count}: {says[0][:110]}" if says else "")
        self.notice.setToolTip("\n".join(says[:30]))

    # The cell under the cursor

    def _spot_changed(self, row: int, column: int) -> None:
        if self.model is None or self.grid is None or self.traces is None:
            return
        current = self.grid.current_line()
        if current is not None:
            self.inspector.show_cell(self.model.state, *current)
        self.traces.show_row(self.model.state, row, column)
        self.sky.show_cell(self.model.state, row, column)
        self.review.cursor_at(self.model.state.table.shots[column])

    def _spot_names(self) -> tuple[str, str] | None:
        current = self.grid.current_line() if self.grid is not None else None
        if current is None or self.model is None:
            return None
        row = self.model.state.row_at(*current)
        return self.model.state.table.shots[current[1]], self.model.state.table.rows[row].parameter

    def _go_to_names(self, names: tuple[str, str]) -> None:
        if self.session is None or self.grid is None or self.model is None:
            return
        column = self.session.table.column(names[0])
        row = self.session.table.row(names[1])
        if row is not None and column is not None and self.model.state.line_of(row) is not None:
            self.grid.go_to(row, column, reveal=False)
        elif self.model.state.lines and self.session.table.shots:
            self.grid.go_to_line(0, column or 0)
        else:
            self.inspector.clear()
            self.sky.clear()
            if self.traces is not None:
                self.traces.clear()

    def _go_to_cell(self, row: int, column: int) -> None:
        if self.grid is not None:
            self.grid.go_to(row, column)

    def select(self, shot: str, parameter: str) -> None:
        """Go to a cell by name. Raises `SamelightError` when there is none."""
        if self.session is None or self.grid is None:
            raise SamelightError("no sequence is open")
        row, column = self.session.table.row(parameter), self.session.table.column(shot)
        if row is None or column is None:
            raise SamelightError(f"there is no cell {shot} {parameter}")
        self.grid.go_to(row, column)

    def _show_finding(self, finding: Finding) -> None:
        if finding.cells:
            self._select_cells(list(finding.cells))

    def _select_cells(self, cells: list[tuple[int, int]]) -> None:
        if self.grid is None or self.model is None:
            return
        first = cells[0]
        self.grid.go_to(*first)
        selection = QItemSelection()
        for row, column in cells:
            line = self.model.state.line_of(row)
            if line is None or self.model.line(line).row is None:
                line = self.model.reveal(row, column)
            if line is not None:
                index = self.model.cell_index(line, column)
                selection.select(index, index)
        self.grid.go_to(*first, reveal=False)
        self.grid.selectionModel().select(selection, QItemSelectionModel.SelectionFlag.ClearAndSelect)

    # Filters

    def _refilter(self) -> None:
        if self.model is None:
            return
        spot = self._spot_names()
        self.model.set_filter(Show(self.show_box.currentText()), self.filter_edit.text())
        if spot is not None:
            self._go_to_names(spot)

    def _reshow(self) -> None:
        if self.model is not None:
            self.model.set_shown(Shown(self.shown_box.currentText()))

    def _escape(self) -> None:
        if self.loader.busy:
            self.loader.cancel()
        elif self.filter_edit.text():
            self.filter_edit.clear()
        if self.grid is not None:
            self.grid.setFocus()

    def _go_to_typed(self) -> None:
        if self.session is None or self.grid is None or self.model is None:
            return
        typed = self.goto_edit.text().strip().lower()
        shots = self.session.table.shots
        column = next((i for i, shot in enumerate(shots) if shot.lower() == typed), None)
        if column is None:
            column = next((i for i, shot in enumerate(shots) if typed and typed in shot.lower()), None)
        if column is None:
            self.statusBar().showMessage(f"No shot is called {self.goto_edit.text()!r}", 4000)
            return
        if self.model.state.place(column) is None:
            self.model.relisted(lambda state: state.show_shot(column))
        self.grid.go_to_line(max(self.grid.currentIndex().row(), 0), column)
        self.grid.setFocus()

    def go_to_shot(self, shot: str) -> None:
        """Move the cursor to a shot: to what is open there, else along the row it is in."""
        if self.session is None or self.grid is None or self.model is None:
            return
        column = self.session.table.column(shot)
        if column is None:
            return
        found = self.model.state.next_open(-1, column)
        if found is not None and found[1] == column:
            self.grid.go_to(*found, reveal=False)
        elif self.model.state.lines:
            self.grid.go_to_line(max(self.grid.currentIndex().row(), 0), column)

    def _count(self) -> None:
        if self.model is not None:
            counts = self.model.state.counts()
            self.count_label.setText(
                f"{counts['open']} open    {counts['intended']} intended    {counts['within']} within"
            )

    # Decisions

    def _decide(self, verb: Verb) -> None:
        if self.grid is not None:
            self._decide_on(verb, self.grid.chosen_cells())

    def _decide_finding(self, verb: Verb, finding: Finding) -> None:
        self._decide_on(verb, list(finding.cells))

    def _decide_on(self, verb: Verb, asked: list[tuple[int, int]]) -> None:
        if self.session is None:
            return
        cells = [cell for cell in asked if self._can(verb, cell)]
        if not cells:
            nothing = "no decision to withdraw" if verb is Verb.WITHDRAW else "nothing that drifts"
            self.statusBar().showMessage(f"There is {nothing} in the selection", 4000)
            return
        reason, who, until = "", self._who(), None
        if verb is not Verb.WITHDRAW:
            dialog = ReasonDialog(self.session, verb, cells, who, self.memory.names("reasons"), self)
            if dialog.exec() != QDialog.DialogCode.Accepted:
                return
            reason, who, until = dialog.reason_text(), dialog.who.text().strip(), dialog.until()
            self._remember_reason(reason, who)
        try:
            self.session.decide(verb, cells, who, reason, until)
        except SamelightError as error:
            QMessageBox.warning(self, f"{TITLES[verb]}: not done", str(error))
        self._decided()

    def _can(self, verb: Verb, cell: tuple[int, int]) -> bool:
        assert self.session is not None
        if verb is Verb.WITHDRAW:
            return bool(self.session.judgement(*cell).decisions)
        return self.session.table.cell(*cell).open_worthy

    def _who(self) -> str:
        return self.memory.text("who") or account_name()

    def _remember_reason(self, reason: str, who: str) -> None:
        if who != account_name():
            self.memory.keep("who", who)
        if reason:
            kept = [reason, *(other for other in self.memory.names("reasons") if other != reason)]
            self.memory.keep("reasons", kept[:_REASONS_KEPT])

    def take_decisions(self) -> None:
        """Show what was written to the ledger elsewhere in the program."""
        self._decided()

    def _decided(self) -> None:
        if self.session is None or self.model is None or self.grid is None:
            return
        spot = self._spot_names()
        self.session.refresh_findings()
        self.findings.model.set_findings(self.session.findings)
        self.model.decisions_changed()
        if spot is not None:
            self._go_to_names(spot)
        current = self.grid.current_line()
        if current is not None:
            self._spot_changed(self.model.state.row_at(*current), current[1])
        self._count()
        self._enable()
        self.review.show(self.session)

    # Commands, by name

    def do_open(self) -> None:
        """Ask for a folder and open it."""
        start = self.memory.text("last") or str(sample_sequence())
        chosen = QFileDialog.getExistingDirectory(self, "Open a sequence folder", start)
        if chosen:
            self.open_folder(Path(chosen))

    def do_sample(self) -> None:
        """Open the sample."""
        self.open_folder(sample_sequence())

    def do_reload(self) -> None:
        """Read the sequence again."""
        if self.session is not None:
            self.open_folder(self.session.folder)

    def do_publish(self) -> None:
        """Make the next master setup."""
        if self.session is None:
            return
        dialog = PublishDialog(self.session, self._who(), self)
        if dialog.exec() == QDialog.DialogCode.Accepted:
            self.do_reload()

    def do_quit(self) -> None:
        """Close the window."""
        self.close()

    def do_undo(self) -> None:
        """Take back the last decision."""
        self._travel(back=True)

    def do_redo(self) -> None:
        """Decide again what was taken back."""
        self._travel(back=False)

    def _travel(self, *, back: bool) -> None:
        if self.session is None:
            return
        history = self.session.history
        try:
            if back:
                history.undo(self._who())
            else:
                history.redo(self._who())
        except SamelightError as error:
            QMessageBox.warning(self, "Not done", str(error))
        self._decided()

    def do_copy(self) -> None:
        """Copy the selection."""
        if self.grid is not None:
            self.grid.copy()

    def do_filter(self) -> None:
        """Type a filter."""
        self.filter_edit.setFocus()
        self.filter_edit.selectAll()

    def do_goto(self) -> None:
        """Type a shot."""
        self.goto_edit.setFocus()
        self.goto_edit.selectAll()

    def do_expand(self) -> None:
        """List every row."""
        if self.model is not None:
            self._set_expanded({group.name for group in self.model.state.groups})

    def do_collapse(self) -> None:
        """List groups only."""
        self._set_expanded(set())

    def _set_expanded(self, names: set[str]) -> None:
        if self.model is not None:
            spot = self._spot_names()
            self.model.set_expanded(names)
            if spot is not None:
                self._go_to_names(spot)

    def do_wider(self) -> None:
        """Zoom in."""
        if self.grid is not None:
            self.grid.zoom(1)

    def do_narrower(self) -> None:
        """Zoom out."""
        if self.grid is not None:
            self.grid.zoom(-1)

    def do_fit(self) -> None:
        """Fit all shots into the window."""
        if self.grid is not None and self.model is not None and self.model.state.columns:
            self.grid.set_column_width(self.grid.viewport().width() // len(self.model.state.columns))

    def do_pin(self) -> None:
        """Pin the selected rows at the top, or let them go."""
        if self.grid is not None:
            self.grid.pin()

    def do_hide_rows(self) -> None:
        """Hide the selected rows."""
        if self.grid is not None:
            self.grid.hide_lines()

    def do_hide_shots(self) -> None:
        """Hide the selected shots."""
        if self.grid is not None:
            self.grid.hide_shots()

    def do_show_hidden(self) -> None:
        """Bring back what was hidden."""
        if self.grid is not None:
            self.grid.show_hidden()

    def do_together(self) -> None:
        """Add the light under the cursor to the traces, or leave it out again."""
        if self.grid is not None:
            self.grid.plot_together()

    def do_alone(self) -> None:
        """Traces of the row under the cursor only."""
        if self.grid is not None:
            self.grid.plot_alone()

    def do_overview(self) -> None:
        """Show or hide the overview."""
        if self.overview is not None:
            self.overview.setVisible(not self.overview.isVisible())
            self.memory.keep("overview", "shown" if self.overview.isVisible() else "hidden")

    def do_sky(self) -> None:
        """Bring up the sky, or the inspector where the sky is up already."""
        up = "sky" if self.sky.visibleRegion().isEmpty() else "inspector"
        self.docks[up].raise_()
        (self.sky.map if up == "sky" else self.grid or self).setFocus()

    def do_plan(self) -> None:
        """Bring up the render plan, or the inspector where the plan is up already."""
        self.docks["plan" if self.plan.visibleRegion().isEmpty() else "inspector"].raise_()

    def do_review(self) -> None:
        """Bring up the review window."""
        self.review.open()

    def do_intend(self) -> None:
        """Mark the selection as intended."""
        self._decide(Verb.INTEND)

    def do_return(self) -> None:
        """Send the selection back."""
        self._decide(Verb.RETURN)

    def do_withdraw(self) -> None:
        """Withdraw the decisions on the selection."""
        self._decide(Verb.WITHDRAW)

    def do_next(self) -> None:
        """Go to the next open cell."""
        self._go_open(1)

    def do_previous(self) -> None:
        """Go to the open cell before."""
        self._go_open(-1)

    def _go_open(self, step: int) -> None:
        if self.model is None or self.grid is None:
            return
        current = self.grid.current_line()
        here = (self.model.state.row_at(*current), current[1]) if current else (-1, 0)
        found = self.model.state.next_open(*here, step)
        if found is None:
            self.statusBar().showMessage("Nothing is open", 4000)
        else:
            self.grid.go_to(*found)
            self.grid.setFocus()

    def do_changed(self) -> None:
        """Select what changed on disk since the last look."""
        if self.session is None:
            return
        places = [
            (self.session.table.row(name), self.session.table.column(shot)) for shot, name in self.changed
        ]
        cells = [(row, column) for row, column in places if row is not None and column is not None]
        if cells:
            self._select_cells(cells)

    def do_next_finding(self) -> None:
        """Go to the next finding."""
        self.findings.step(1)

    def do_previous_finding(self) -> None:
        """Go to the finding before."""
        self.findings.step(-1)

    def do_keys(self) -> None:
        """List the keys."""
        lines = (line.partition("\t") for line in keys_text().splitlines())
        show_keys(self, ((keys, title) for keys, _, title in lines))

    def do_about(self) -> None:
        """Say what this is."""
        text = f"Samelight {__version__}\nKeeps every shot of a sequence lit by one sun in one room."
        QMessageBox.about(self, "About Samelight", text)

    # Remembering

    def _recall_layout(self) -> None:
        geometry, state = self.memory.layout("geometry"), self.memory.layout("state")
        if not geometry.isEmpty():
            self.restoreGeometry(geometry)
        if not state.isEmpty():
            self.restoreState(state)
        self.show_box.setCurrentText(self.memory.text("show", str(Show.ALL)))
        self.filter_edit.setText(self.memory.text("filter"))
        self.shown_box.setCurrentText(self.memory.text("shown", str(Shown.DRIFT)))

    def _keep_layout(self) -> None:
        self.memory.keep("geometry", QByteArray(self.saveGeometry().data()))
        self.memory.keep("state", QByteArray(self.saveState().data()))
        self.memory.keep("show", self.show_box.currentText())
        self.memory.keep("filter", self.filter_edit.text())
        self.memory.keep("shown", self.shown_box.currentText())
        if self.grid is not None and self.model is not None:
            self.memory.keep("column_width", self.grid.column_width)
            self.memory.keep("expanded", sorted(self.model.state.expanded))
            self.memory.keep("order", str(self.model.state.order))
        spot = self._spot_names()
        if spot is not None:
            self.memory.keep("shot", spot[0])
            self.memory.keep("parameter", spot[1])
        self.memory.sync()

    def closeEvent(self, event: QCloseEvent) -> None:
        if self.live is not None:
            self.live.stop()
        self.review.close()
        self.loader.cancel(wait=True)
        self._keep_layout()
        super().closeEvent(event)

    # Folders dropped on the window

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if _folder_of(event.mimeData().urls()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        folder = _folder_of(event.mimeData().urls())
        if folder is not None:
            self.open_folder(folder)


def _order(text: str) -> Order:
    return Order(text) if text in set(Order) else Order.SHEET


def _folder_of(urls: list[QUrl]) -> Path | None:
    """The sequence folder that was dropped: a folder, or the folder of a file in it."""
    for url in urls:
        path = Path(url.toLocalFile())
        if url.isLocalFile() and path.exists():
            return path if path.is_dir() else path.parent
    return None
