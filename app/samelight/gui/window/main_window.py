"""The window of the lead lighter: puts its rooms together and keeps them in step.

What only an open sequence needs is loaded and made with the first one, so that the window is on the screen before.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QSize, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QMainWindow, QMenu, QStackedWidget, QToolBar

from samelight.gui.background.background import Background
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.commands import COMMANDS, make_actions
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.help_boxes import show_about, show_all_keys
from samelight.gui.window.opening import Opening, folder_of
from samelight.gui.window.recent_menu import RecentMenu
from samelight.gui.window.remarks import RemarksLabel
from samelight.gui.window.review_link import ReviewLink
from samelight.sheets.errors import SamelightError

if TYPE_CHECKING:
    from samelight.gui.inspector.inspector import Inspector
    from samelight.gui.window.open_sequence import OpenSequence
    from samelight.sequence.session import Session

_SAID_FOR = 4000
_OF_SCREEN = 0.92
"""How much of its screen the window takes each way when it comes up for the first time."""
_LARGEST = QSize(2560, 1440)
_NEED_A_SEQUENCE = ("&Edit", "&View", "&Decide")
_NEED_ONE_TOO = ("reload", "publish", "pages", "save_report", "save_notes")


class MainWindow(QMainWindow):
    """Holds the rooms together; what they show is in `GridState`, what is known in `Session`."""

    def __init__(self, settings: Settings | None = None) -> None:
        super().__init__()
        self.settings = settings or Settings()
        self.setWindowTitle("Samelight")
        self.setAcceptDrops(True)
        self.opened: OpenSequence | None = None
        self.opening = Opening(self.settings, self)
        self.saving = Background(self)
        """Makes what takes long to be saved."""
        self.review = ReviewLink(self)
        self.welcome, self.loader = self.opening.welcome, self.opening.loader
        self.actions_by_name = make_actions(self, lambda name: partial(self.run, name))
        self.views_menu = QMenu("S&aved views", self)
        self.views_menu.setToolTipsVisible(True)
        self.recent = RecentMenu(self.settings, self)
        self.commands: dict[str, Callable[[], object]] = {
            **self.opening.commands(),
            "quit": self.close,
            "keys": partial(show_all_keys, self),
            "about": partial(show_about, self),
        }
        """What can be done now."""
        self._build_menus()
        self.pages = QStackedWidget()
        self.pages.addWidget(self.opening.welcome)
        self.setCentralWidget(self.pages)
        self.notice = RemarksLabel()
        self.statusBar().addPermanentWidget(self.notice)
        self._connect()
        self.resize((self.screen().availableGeometry().size() * _OF_SCREEN).boundedTo(_LARGEST))
        self.restoreGeometry(self.settings.layout("geometry"))
        self.enable()

    # The rooms

    @property
    def session(self) -> Session | None:
        """The sequence that is open."""
        return self.opened.session if self.opened else None

    @property
    def inspector(self) -> Inspector:
        """The inspector, which shows what is chosen now."""
        if self.opened is not None:
            self.opened.inspected.show_due()
        return self.panels.inspector

    def _furnish(self) -> None:
        """Make what stands around an open sequence, whichever it is."""
        from samelight.gui.background.searching import Searching
        from samelight.gui.background.watching import Watching
        from samelight.gui.window.bar import Bar
        from samelight.gui.window.colour_link import ColourLink
        from samelight.gui.window.panels import Panels
        from samelight.gui.window.reference_link import ReferenceLink

        self.bar = Bar(self.actions_by_name, self.settings)
        self._put_on_top(self.bar)
        self.panels = Panels(self)
        self.panels.shot_picked.connect(self.go_to_shot)
        self.findings = self.panels.findings
        self.watching = Watching(self)
        self.watching.said.connect(self.statusBar().showMessage)
        self.watching.lost.connect(partial(warn, self, "Not decided"))
        self.searching = Searching(self)
        self.colours = ColourLink(self)
        self.reference_link = ReferenceLink(self.bar.reference_box, self.watching, self)
        self.reference_link.said.connect(self.statusBar().showMessage)

    def _put_on_top(self, bar: QToolBar) -> None:
        """Put a bar above any other."""
        others = self.findChildren(QToolBar)
        if others:
            self.insertToolBar(others[0], bar)
            self.insertToolBarBreak(others[0])
        else:
            self.addToolBar(bar)

    def _build_menus(self) -> None:
        menus: dict[str, QMenu] = {}
        below = {"sample": self.recent, "save_view": self.views_menu}
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
        QShortcut(QKeySequence(Qt.Key.Key_Escape), self).activated.connect(self._escape)

    def enable(self) -> None:
        """Enable what can be done now."""
        session = self.session
        self.views_menu.setEnabled(session is not None)
        for command in COMMANDS:
            if command.menu in _NEED_A_SEQUENCE or command.name in _NEED_ONE_TOO:
                self.actions_by_name[command.name].setEnabled(session is not None)
        if session is not None:
            self.actions_by_name["undo"].setEnabled(bool(session.history.done))
            self.actions_by_name["redo"].setEnabled(bool(session.history.undone))
            for name in ("intend", "return", "withdraw", "publish"):
                self.actions_by_name[name].setEnabled(session.cases.decidable)
            self.actions_by_name["changed"].setEnabled(bool(self.watching.changed))

    def run(self, command: str) -> None:
        """Run a command by name, as its key does; those of a sequence do nothing while none is open."""
        if self.session is not None or command in self.commands:
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
        from samelight.gui.window.open_sequence import OpenSequence

        before = self.opened
        if before is not None:
            self.watching.stop()
        else:
            self._furnish()
        opened = self.opened = OpenSequence(session, self, before)
        self.commands = {**self.commands, **opened.commands()}
        self.opening.remember(session)
        self.pages.addWidget(opened.work)
        self.pages.setCurrentWidget(opened.work)
        if before is None:  # in place of the first page
            self.bar.show()
            self.panels.arrange(self.settings.layout("state"))
        else:
            before.put_away()
        self.statusBar().clearMessage()
        opened.begin()

    def select(self, shot: str, parameter: str) -> None:
        """Go to a cell by name. Raises `SamelightError` when there is none."""
        self._open().views.select(shot, parameter)

    def go_to_shot(self, shot: str) -> None:
        """Move the cursor to a shot: to what is unsettled there, else along the row it is in."""
        self._open().views.go_to_shot(shot)

    def _open(self) -> OpenSequence:
        if self.opened is None:
            raise SamelightError("no sequence is open")
        return self.opened

    def _escape(self) -> None:
        if self.loader.busy:
            self.loader.cancel()
        elif self.opened is not None:
            if self.bar.words:
                self.bar.filter_edit.clear()
            else:
                self.opened.findings.step_back()
        if self.opened is not None:
            self.opened.work.focus()

    # Remembering

    def _keep_layout(self) -> None:
        self.settings.keep("geometry", QByteArray(self.saveGeometry().data()))
        if self.opened is not None:  # the panels are put away before
            self.settings.keep("state", QByteArray(self.saveState().data()))
            self.opened.work.keep()
        self.settings.sync()

    def closeEvent(self, event: QCloseEvent) -> None:
        self._keep_layout()
        self.hide()  # what is waited for now need not be looked at
        if self.opened is not None:
            self.opened.keep_look()
            self.watching.stop()
            self.searching.stop()
        self.review.close()
        self.loader.close()
        at_work = self.findChildren(Background)
        for background in at_work:
            if background is not self.saving:  # what is to be written is
                background.cancel_all()
        for background in at_work:
            background.wait()
        self.saving.cancel_all()
        super().closeEvent(event)

    # Folders dropped on the window

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if folder_of(event.mimeData().urls()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        folder = folder_of(event.mimeData().urls())
        if folder is not None:
            self.open_folder(folder)
