"""The window of the lead lighter: puts its rooms together and keeps them in step."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QByteArray, QSize, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QDialog, QLineEdit, QMainWindow, QMenu, QStackedWidget

from samelight.findings.finding import Finding
from samelight.gui.background.background import Background
from samelight.gui.background.live import Live
from samelight.gui.background.mishaps import tell_each
from samelight.gui.background.searching import Searching
from samelight.gui.background.watching import Watching
from samelight.gui.dialogs.help_boxes import show_about, show_all_keys
from samelight.gui.dialogs.publish_dialog import PublishDialog
from samelight.gui.grid.model import GridModel
from samelight.gui.grid.overview import Overview
from samelight.gui.grid.view import GridView
from samelight.gui.traces.traces import TracesView
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.commands import COMMANDS, make_actions
from samelight.gui.widgets.plain_text import plain_title
from samelight.gui.widgets.reference_box import master_text
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.bar import Bar
from samelight.gui.window.decider import Decider
from samelight.gui.window.my_shots import MyShots
from samelight.gui.window.opening import Opening, folder_of
from samelight.gui.window.panels import Panels
from samelight.gui.window.recent_menu import RecentMenu
from samelight.gui.window.reference_link import ReferenceLink
from samelight.gui.window.remarks import RemarksLabel
from samelight.gui.window.review_link import ReviewLink
from samelight.gui.window.view_commands import view_commands
from samelight.gui.window.view_keeper import ViewKeeper
from samelight.gui.window.workspace import Workspace
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError

_SAID_FOR = 4000
_NEED_A_SEQUENCE = ("&Edit", "&View", "&Decide")


class MainWindow(QMainWindow):
    """Holds the rooms together; what they show is in `GridState`, what is known in `Session`."""

    def __init__(self, memory: Settings | None = None) -> None:
        super().__init__()
        self.memory = memory or Settings()
        self.setWindowTitle("Samelight")
        self.setAcceptDrops(True)
        self.work = Workspace(self.memory)
        self.opening = Opening(self.work, self.memory, self)
        self.watching = Watching(self)
        self.searching = Searching(self)
        self.decider = Decider(self.work, self.memory, self.searching, self)
        self.my_shots = MyShots(self.work, self.memory, self.decider.who, self)
        self.panels = Panels(self)
        self.review = ReviewLink(self)
        self.findings, self.inspector = self.panels.findings, self.panels.inspector
        self.sky, self.plan = self.panels.sky, self.panels.plan
        self.welcome, self.loader = self.opening.welcome, self.opening.loader
        self.actions_by_name = make_actions(self, lambda name: partial(self.run, name))
        self.bar = Bar(self.actions_by_name, self.memory)
        self.show_box, self.shown_box, self.reference_box = (
            self.bar.show_box,
            self.bar.shown_box,
            self.bar.reference_box,
        )
        self.filter_edit, self.goto_edit = self.bar.filter_edit, self.bar.goto_edit
        self.reference_link = ReferenceLink(self.bar.reference_box, self.watching, self)
        self.addToolBar(self.bar)
        self.view_keeper = ViewKeeper(self.work, self.bar, self.my_shots, self)
        self.recent = RecentMenu(self.memory, self)
        self.commands = self._commands()
        self._build_menus()
        self.pages = QStackedWidget()
        self.pages.addWidget(self.opening.welcome)
        self.pages.addWidget(self.work)
        self.setCentralWidget(self.pages)
        self.notice = RemarksLabel()
        self.statusBar().addPermanentWidget(self.notice)
        self._connect()
        self.resize(QSize(1600, 950))
        self._recall_layout()
        self.bar.hide()
        self._enable()

    # The rooms

    @property
    def session(self) -> Session | None:
        """The sequence that is open."""
        return self.work.session

    @property
    def model(self) -> GridModel | None:
        """The grid's model, once something is open."""
        return self.work.views.model if self.work.views else None

    @property
    def grid(self) -> GridView | None:
        """The grid, once something is open."""
        return self.work.views.grid if self.work.views else None

    @property
    def traces(self) -> TracesView | None:
        """The traces, once something is open."""
        return self.work.views.traces if self.work.views else None

    @property
    def overview(self) -> Overview | None:
        """The overview, once something is open."""
        return self.work.views.overview if self.work.views else None

    @property
    def live(self) -> Live | None:
        """What watches the folder, once something is open."""
        return self.watching.live

    @property
    def changed(self) -> list[tuple[str, str]]:
        """The cells that the last change on disk touched, by shot and parameter."""
        return self.watching.changed

    def _commands(self) -> dict[str, Callable[[], object]]:
        return {
            **self.opening.commands(),
            **self.decider.commands(),
            **self.my_shots.commands(),
            **self.panels.commands(),
            **view_commands(self.work, self.memory),
            "save_view": self.view_keeper.open_dialog,
            "filter": self.bar.type_filter,
            "goto": self.bar.type_shot,
            "publish": self._publish,
            "quit": self.close,
            "sky": lambda: self.panels.raise_sky(self.grid or self),
            "review": self.review.open,
            "changed": self._select_changed,
            "keys": partial(show_all_keys, self),
            "about": partial(show_about, self),
        }

    def _build_menus(self) -> None:
        menus: dict[str, QMenu] = {}
        below = {"sample": self.recent, "save_view": self.view_keeper.menu}
        for command in COMMANDS:
            menu = menus.get(command.menu)
            if menu is None:
                menu = menus[command.menu] = self.menuBar().addMenu(command.menu)
            if command.divided:
                menu.addSeparator()
            menu.addAction(self.actions_by_name[command.name])
            if command.name in below:
                menu.addMenu(below[command.name])

    def _connect(self) -> None:
        self.opening.opened.connect(self.show_session)
        self.opening.said.connect(self._say_progress)
        self.recent.chosen.connect(self.open_folder)
        self.watching.renewed.connect(self._renew)
        self.watching.decided.connect(self._decided_elsewhere)
        self.watching.said.connect(self.statusBar().showMessage)
        self.watching.troubled.connect(self._live_trouble)
        self.watching.lost.connect(partial(warn, self, "Not decided"))
        self.searching.found.connect(self._take_findings)
        self.decider.decided.connect(self.take_decisions)
        self.decider.said.connect(self.say)
        self.decider.came_up.connect(self.findings.choose)
        self.my_shots.switched.connect(self._listed_mine)
        self.my_shots.said.connect(self.say)
        self.view_keeper.said.connect(self.say)
        self.work.spot_changed.connect(self._spot_changed)
        self.work.emptied.connect(self.panels.clear)
        self.bar.filtered.connect(lambda: self.work.set_filter(self.bar.show_rows, self.bar.words))
        self.bar.reshown.connect(lambda: self.work.set_shown(self.bar.shown))
        self.bar.shot_typed.connect(self._go_to_typed)
        self.reference_link.said.connect(self.statusBar().showMessage)
        self.findings.chosen.connect(self._show_finding)
        self.findings.asked.connect(self.decider.decide_finding)
        self.sky.picked.connect(self._go_to_cell)
        self.inspector.picked.connect(self._go_to_cell)
        self.inspector.finding_asked.connect(self.findings.choose)
        self.plan.picked.connect(self.go_to_shot)
        QShortcut(QKeySequence(Qt.Key.Key_Escape), self).activated.connect(self._escape)

    def _enable(self) -> None:
        session = self.session
        self.view_keeper.menu.setEnabled(session is not None)
        for command in COMMANDS:
            if command.menu in _NEED_A_SEQUENCE or command.name in ("reload", "publish"):
                self.actions_by_name[command.name].setEnabled(session is not None)
        if session is not None:
            self.actions_by_name["undo"].setEnabled(bool(session.history.done))
            self.actions_by_name["redo"].setEnabled(bool(session.history.undone))
            for name in ("intend", "return", "withdraw", "publish"):
                self.actions_by_name[name].setEnabled(session.decidable)
            self.actions_by_name["changed"].setEnabled(bool(self.watching.changed))

    def run(self, command: str) -> None:
        """Run a command by name, as its key does."""
        self.commands[command]()

    def say(self, text: str) -> None:
        """Tell the person at the keys something, for a moment."""
        self.statusBar().showMessage(text, _SAID_FOR)

    # What is open

    def open_folder(self, folder: Path) -> None:
        """Open a sequence; the window shows how far it is and stays alive."""
        self.opening.open(folder)

    def _say_progress(self, text: str) -> None:
        # While a file is being read, its name stays until the next one is.
        self.statusBar().showMessage(text, 0 if self.loader.busy else _SAID_FOR)

    def show_session(self, session: Session) -> None:
        """Put a session on the screen, at the cell where the last one stood if it still exists."""
        spot = self.work.spot() or (self.memory.text("shot"), self.memory.text("parameter"))
        self.watching.stop()
        self.work.show_session(session)
        if self.work.views is not None:
            self.panels.follow(self.work.views.grid)
        self.opening.remember(session)
        self._show_work()
        self.statusBar().clearMessage()
        self._show_around(session)
        tell_each(partial(self.my_shots.show_only, session), partial(self.work.go_back_to, spot))
        if not isinstance(self.focusWidget(), QLineEdit):
            self.work.focus()
        self._tell(session)
        self.watching.follow(session)
        self._search(session)

    def _show_around(self, session: Session) -> None:
        """Show what stands around the grid of a session."""
        title = f"{session.sequence.title}, {master_text(session.master_version)} — Samelight"
        self.setWindowTitle(plain_title(title))
        rooms = (self.panels, self.bar, self.reference_link, self.notice)
        tell_each(*(partial(room.show_session, session) for room in rooms))

    def _show_work(self) -> None:
        """Show what is open, with all that belongs to it, in place of the first page."""
        if self.pages.currentWidget() is not self.work:
            self.pages.setCurrentWidget(self.work)
            self.bar.show()
            self.panels.arrange(self.memory.layout("state"))

    def _renew(self) -> None:
        session = self.session
        if session is None:
            return
        tell_each(self.work.renew, partial(self.my_shots.show_only, session))
        self._show_around(session)
        self._tell(session)
        self._search(session)

    def take_decisions(self) -> None:
        """Show what was written to the ledger, here or elsewhere in the program."""
        session = self.session
        if session is not None:
            tell_each(
                partial(self.findings.show_session, session),
                self.work.take_decisions,
                partial(self._tell, session),
            )
            self._search(session)

    def _search(self, session: Session) -> None:
        """Bring the findings up to date."""
        self.searching.ask(session)
        self.panels.show_searching(self.searching.busy)
        self._count()

    def _take_findings(self) -> None:
        session = self.session
        if session is None:
            return
        tell_each(
            partial(self.panels.show_session, session),
            partial(self.panels.show_searching, self.searching.busy),
            partial(self.notice.show_session, session),
            self.work.take_decisions,
            partial(self._tell, session),
        )

    def _tell(self, session: Session) -> None:
        """Bring up to date what is said of a session, and what can be done with it."""
        tell_each(self._count, self._enable, partial(self.review.show, session))

    def _count(self) -> None:
        if self.work.views is not None:
            ledger = self.work.views.session.ledger
            self.work.alarm.show_unread(ledger.faults, ledger.gone, ledger.unlisted)
            spot = self.work.spot()
            shot = spot[0] if spot else None
            self.bar.show_counts(self.work.views.state, shot, looking=self.searching.busy)

    def _decided_elsewhere(self) -> None:
        self.take_decisions()
        if self.session is not None:
            self.notice.show_session(self.session)

    def _live_trouble(self, trouble: str) -> None:
        self.work.alarm.show_trouble(trouble)
        if trouble:
            self.notice.show_trouble(trouble)
        elif self.session is not None:
            self.notice.show_session(self.session)

    def _listed_mine(self, on: bool) -> None:
        self.actions_by_name["only_mine"].setChecked(on)
        self._count()

    # The cell under the cursor

    def _spot_changed(self, row: int, column: int) -> None:
        if self.work.views is None:
            return
        state = self.work.views.state
        self.bar.ask_for(state.view)  # a filter that hid the cell was dropped
        self.panels.show_cell(state, row, column)
        self.bar.reference_box.set_shot(state.table.shots[column])
        self._count()
        self.review.cursor_at(state.table.shots[column])

    def select(self, shot: str, parameter: str) -> None:
        """Go to a cell by name. Raises `SamelightError` when there is none."""
        if self.work.views is None:
            raise SamelightError("no sequence is open")
        self.work.views.select(shot, parameter)

    def go_to_shot(self, shot: str) -> None:
        """Move the cursor to a shot: to what is open there, else along the row it is in."""
        if self.work.views is not None:
            self.work.views.go_to_shot(shot)

    def _go_to_cell(self, row: int, column: int) -> None:
        if self.work.views is not None:
            self.work.views.grid.go_to(row, column)

    def _go_to_typed(self) -> None:
        typed = self.bar.goto_edit.text()
        if self.work.views is not None and self.work.views.go_to_typed(typed):
            self.work.focus()
        else:
            self.say(f"No shot is called {typed!r}")

    def _show_finding(self, finding: Finding) -> None:
        if self.work.views is not None:
            self.work.views.show_finding(finding)
            self.decider.choose(finding)

    def _select_changed(self) -> None:
        cells = self.watching.changed_places()
        if self.work.views is not None and cells:
            self.work.views.select_cells(cells)

    def _escape(self) -> None:
        if self.loader.busy:
            self.loader.cancel()
        elif self.bar.words:
            self.bar.filter_edit.clear()
        self.work.focus()

    # Other commands

    def _publish(self) -> None:
        if self.session is not None:
            dialog = PublishDialog(self.session, self.decider.who(), self)
            accepted = dialog.exec() == QDialog.DialogCode.Accepted
            dialog.deleteLater()  # it holds the session
            if accepted:
                self.opening.reload()

    # Remembering

    def _recall_layout(self) -> None:
        geometry = self.memory.layout("geometry")
        if not geometry.isEmpty():
            self.restoreGeometry(geometry)

    def _keep_layout(self) -> None:
        self.memory.keep("geometry", QByteArray(self.saveGeometry().data()))
        if self.pages.currentWidget() is self.work:  # the panels are put away before
            self.memory.keep("state", QByteArray(self.saveState().data()))
        self.work.keep()
        self.memory.sync()

    def closeEvent(self, event: QCloseEvent) -> None:
        self._keep_layout()
        self.hide()  # what is waited for now need not be looked at
        self.watching.stop()
        self.searching.stop()
        self.review.close()
        self.loader.close()
        at_work = self.findChildren(Background)
        for background in at_work:
            background.cancel_all()
        for background in at_work:
            background.wait()
        super().closeEvent(event)

    # Folders dropped on the window

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if folder_of(event.mimeData().urls()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        folder = folder_of(event.mimeData().urls())
        if folder is not None:
            self.open_folder(folder)
