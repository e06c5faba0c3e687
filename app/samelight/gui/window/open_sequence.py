"""What there is only while a sequence is open: made with its session, and put away with it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit

from samelight.drift.cells import CellName
from samelight.findings.finding import Finding
from samelight.gui.background.mishaps import tell_each
from samelight.gui.dialogs.publish_dialog import PublishDialog
from samelight.gui.state.last_look import keep_look, last_look
from samelight.gui.widgets.editor import open_at
from samelight.gui.widgets.plain_text import plain_title
from samelight.gui.widgets.reference_box import held_text
from samelight.gui.window.decider import Decider
from samelight.gui.window.hand_over_commands import hand_over_commands
from samelight.gui.window.inspector_link import InspectorLink
from samelight.gui.window.my_shots import MyShots
from samelight.gui.window.view_commands import view_commands
from samelight.gui.window.view_keeper import ViewKeeper
from samelight.gui.window.views import Views
from samelight.gui.window.workspace import Workspace
from samelight.reports.since import Since
from samelight.sequence.saved_views import Show, View
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble

if TYPE_CHECKING:
    from samelight.gui.window.main_window import MainWindow

_LOOK_AGAIN = 100
"""Milliseconds."""


class OpenSequence(QObject):
    """The middle of the window for one session, and all that keeps it in step with what stands around it.

    `before` is what was open before: the cursor stays in its cell if that is there still.
    """

    def __init__(self, session: Session, around: MainWindow, before: OpenSequence | None) -> None:
        super().__init__(around)
        settings = around.settings
        self.session = session
        self._around = around
        self._is_searched = around.searching.drawn_at_once(session)  # and so shown with all else, once
        self.work: Workspace = Workspace(session, settings, before.work if before is not None else None)
        self.decider = Decider(self.work, settings, around.searching, around)
        mine = before.my_shots if before is not None else None
        self.my_shots: MyShots = MyShots(self.work, settings, self.decider.who, around, mine)
        self.view_keeper = ViewKeeper(self.work, around.bar, self.my_shots, around.views_menu, around)
        self._inspected = InspectorLink(around.inspector, self.views.grid)
        self.looked: Since | None = (
            before.looked
            if before is not None and before.session.contents.folder == session.contents.folder
            else last_look(settings.folder, session)
        )
        """How the sequence stood when this window was last closed on it; that it is read again is no closing."""
        name = before.work.cell_name() if before is not None else None
        self._before: tuple[View, View | None] = self.views.state.view, None
        """What was listed before a finding was shown, and what for it."""
        self._start: CellName = name or (settings.text("shot"), settings.text("parameter"))
        self._connect()
        bar, watching = around.bar, around.watching
        self._ties = [
            bar.filtered.connect(lambda: self.work.set_filter(bar.show_rows, bar.words)),
            bar.reshown.connect(lambda: self.views.show_cells(bar.shown)),
            bar.shot_typed.connect(self._go_to_typed),
            around.findings.chosen.connect(self._show_finding),
            around.findings.asked.connect(self.decider.decide_finding),
            around.findings.entered.connect(self.work.focus),
            around.findings.troubles.asked.connect(self._show_problem),
            bar.left.connect(self.work.focus),
            bar.handed_over.asked.connect(self._show_handed_over),
            around.sky.picked.connect(self._go_to),
            around.inspector.picked.connect(self._go_to),
            watching.renewed.connect(self._renew),
            watching.decided.connect(self._decided_elsewhere),
            watching.troubled.connect(self._show_trouble),
            around.searching.found.connect(self._take_findings),
        ]

    def _connect(self) -> None:
        self.decider.decided.connect(self.take_decisions)
        self.decider.said.connect(self._around.say)
        self.decider.came_up.connect(self._around.findings.choose)
        self.my_shots.switched.connect(self._listed_mine)
        self.my_shots.said.connect(self._around.say)
        self.view_keeper.said.connect(self._around.say)
        self.work.spot_changed.connect(self._spot_changed)
        self.work.emptied.connect(self._around.panels.clear)
        self.work.worst_asked.connect(self._around.findings.choose)
        self.work.contact.enlarged.connect(self._around.actions_by_name["review"].trigger)
        self.work.all_asked.connect(self._around.bar.list_all)
        self.work.first_master_asked.connect(self._around.actions_by_name["publish"].trigger)

    @property
    def views(self) -> Views:
        """Grid, traces and overview."""
        return self.work.views

    def commands(self) -> dict[str, Callable[[], object]]:
        """The commands of an open sequence."""
        around = self._around
        return {
            **self.decider.commands(),
            **self.my_shots.commands(),
            **view_commands(self.work, around.settings),
            "save_view": self.view_keeper.open_dialog,
            "publish": self._publish,
            **hand_over_commands(self, around),
            "sky": lambda: around.panels.raise_sky(self.views.grid),
            "review": partial(around.review.open, self.session),
            "changed": self._select_changed,
        }

    def begin(self) -> None:
        """Show it, once it stands in its place in the window."""
        self._show_around()
        tell_each(partial(self.my_shots.show_only, self.session), partial(self.work.go_back_to, self._start))
        if not isinstance(self._around.focusWidget(), QLineEdit):
            self.work.focus()
        self._tell()
        self._around.watching.follow(self.session)
        if self._is_searched:
            self._around.panels.show_searching(False)
        else:
            self._search()

    def keep_look(self) -> None:
        """Keep how the sequence stands, for whoever asks the next time what is new since then."""
        if self.session.cases.decidable:
            keep_look(self._around.settings.folder, self.session)

    def put_away(self) -> None:
        """Let go of it: another is open."""
        opened = self._around.opened
        if opened is None or opened.session.contents.folder != self.session.contents.folder:
            self.keep_look()
        for tie in self._ties:
            QObject.disconnect(tie)
        self.work.is_current = False
        self.work.setParent(None)
        self._go()

    def _go(self) -> None:
        if QApplication.activeModalWidget() is not None:  # a box that asks for it is still to be answered
            QTimer.singleShot(_LOOK_AGAIN, self._go)
            return
        for part in (self.work, self):  # they hold a whole session
            part.deleteLater()

    # What is known

    def _show_around(self) -> None:
        """Show what stands around the grid."""
        around, session = self._around, self.session
        title, held = plain_title(session.contents.sequence.title), plain_title(held_text(session))
        around.setWindowTitle(f"{title}, {held} — Samelight")
        rooms = (around.panels, around.bar, around.reference_link, around.notice, around.colours)
        tell_each(*(partial(room.show_session, session) for room in rooms))

    def _renew(self) -> None:
        tell_each(self.work.renew, partial(self.my_shots.show_only, self.session))
        self._show_around()
        self._tell()
        self._search()

    def take_decisions(self) -> None:
        """Show what was written to the ledger, here or elsewhere in the program."""
        tell_each(
            partial(self._around.findings.show_session, self.session), self.work.take_decisions, self._tell
        )
        self._search()

    def _search(self) -> None:
        """Bring the findings up to date."""
        searching = self._around.searching
        searching.ask(self.session)
        self._around.panels.show_searching(searching.busy)
        self._count()

    def _take_findings(self) -> None:
        around = self._around
        tell_each(
            partial(around.panels.show_session, self.session),
            partial(around.panels.show_searching, around.searching.busy),
            partial(around.notice.show_session, self.session),
            self.work.take_decisions,
            self._tell,
        )

    def _tell(self) -> None:
        """Bring up to date what is said of the session, and what can be done with it."""
        tell_each(self._count, self._around.enable, partial(self._around.review.show, self.session))

    def _count(self) -> None:
        ledger, name = self.session.ledger, self.work.cell_name()
        self.work.alarm.show_unread(ledger.faults, ledger.gone, ledger.unlisted)
        looking = self._around.searching.busy
        self.views.state.sign(self.decider.who())
        self._around.bar.show_counts(self.views.state, name[0] if name else None, looking=looking)
        self.work.say_headline(looking=looking)

    def _decided_elsewhere(self) -> None:
        self.take_decisions()
        self._around.notice.show_session(self.session)

    def _show_trouble(self, trouble: str) -> None:
        self.work.alarm.show_trouble(trouble)
        if trouble:
            self._around.notice.show_trouble(trouble)
        else:
            self._around.notice.show_session(self.session)

    def _listed_mine(self, on: bool) -> None:
        self._around.actions_by_name["only_mine"].setChecked(on)
        self._count()

    # The cell under the cursor

    def _spot_changed(self, row: int, column: int) -> None:
        around, state = self._around, self.views.state
        around.bar.ask_for(state.view)  # a filter that hid the cell was dropped
        self._inspected.show()
        around.sky.show_cell(state, row, column)
        around.bar.reference_box.set_shot(state.table.shots[column])
        self._count()
        around.review.cursor_at(state.table.shots[column])
        around.panels.cloud.cursor_at(state.table.shots[column])

    def _go_to(self, row: int, column: int) -> None:
        self.views.grid.go_to(row, column)

    def _go_to_typed(self) -> None:
        typed = self._around.bar.goto_edit.text()
        if self.views.go_to_typed(typed):
            self.work.focus()
        else:
            self._around.say(f"No shot is called {typed!r}")

    def _show_finding(self, finding: Finding) -> None:
        before = self._before[0] if self._shows_finding() else self.views.state.view
        self.views.show_finding(finding)
        self._before = before, self.views.state.view
        self.decider.choose(finding)

    def _shows_finding(self) -> bool:
        """Whether rows are listed as they were for the finding that was shown last."""
        return self._before[1] == self.views.state.view

    def step_back(self) -> None:
        """Go back from the finding that was shown: list what was listed before, with the cursor where it is."""
        if self._shows_finding():
            self.work.show_view(self._before[0])
            self._around.bar.ask_for(self.views.state.view)
        self._before = self.views.state.view, None
        self._around.findings.let_go()
        self.decider.forget()

    def _show_problem(self, trouble: Trouble) -> None:
        """Go to the shot that could not be read, and open its file where it is at fault."""
        column = self.session.table.column(trouble.shot) if trouble.shot else None
        if column is not None:
            self.views.go_along_to(column)
        for fault in trouble.faults[:1]:
            self._around.say(open_at(Path(fault.file), fault.line))

    def _show_handed_over(self, show: str) -> None:
        """Of a list that has no cells bring up the finding that it counts."""
        findings = self.views.state.handed_over.findings[Show(show)]
        if findings and not self.views.state.listing.lines:
            self._around.findings.choose(findings[0])

    def _select_changed(self) -> None:
        cells = self._around.watching.changed_places()
        if cells:
            self.views.select_cells(cells)

    def _publish(self) -> None:
        dialog = PublishDialog(self.session, self.decider.who(), self._around)
        accepted = dialog.exec() == QDialog.DialogCode.Accepted
        dialog.deleteLater()  # it holds the session
        if accepted:
            self._around.opening.reload()
