"""What there is only while a sequence is open: made with its session, and put away with it."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication, QLineEdit

from samelight.drift.cells import CellName
from samelight.gui.background.mishaps import tell_each
from samelight.gui.state.last_look import keep_look, last_look
from samelight.gui.window.decider import Decider
from samelight.gui.window.findings_link import FindingsLink
from samelight.gui.window.handing_over import HandingOver
from samelight.gui.window.inspector_link import InspectorLink
from samelight.gui.window.my_shots import MyShots
from samelight.gui.window.telling import Telling
from samelight.gui.window.view_commands import view_commands
from samelight.gui.window.view_keeper import ViewKeeper
from samelight.gui.window.views import Views
from samelight.gui.window.workspace import Workspace
from samelight.reports.since import Since
from samelight.sequence.session import Session

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
        self.telling = Telling(self.work, self.my_shots, self.decider.who, around)
        self.findings = FindingsLink(self.work, self.decider, around)
        self.inspected = InspectorLink(around.panels.inspector, self.views.grid)
        folder = session.contents.folder
        self.last_look: Callable[[], Since | None] = (
            before.last_look
            if before is not None and before.session.contents.folder == folder
            else cache(
                partial(last_look, settings.folder, folder)
            )  # that of a film is large, and few ask for it
        )
        name = before.views.cell_name() if before is not None else None
        self._start: CellName = name or (settings.text("shot"), settings.text("parameter"))
        self._connect()
        bar, watching = around.bar, around.watching
        self._ties = [
            bar.filtered.connect(lambda: self.work.set_filter(bar.show_rows, bar.words)),
            bar.reshown.connect(lambda: self.views.show_cells(bar.shown)),
            bar.shot_typed.connect(self._go_to_typed),
            around.findings.chosen.connect(self.findings.show),
            around.findings.asked.connect(self.decider.decide_finding),
            around.findings.entered.connect(self.work.focus),
            around.findings.troubles.asked.connect(self.findings.show_problem),
            bar.left.connect(self.work.focus),
            bar.handed_over.asked.connect(self.findings.show_handed_over),
            around.panels.picked.connect(self.views.grid.go_to),
            watching.renewed.connect(self.telling.renew),
            watching.decided.connect(self.telling.take_from_elsewhere),
            watching.troubled.connect(self.telling.show_trouble),
            watching.recoloured.connect(around.colours.look_again),
            around.searching.found.connect(self.telling.take_findings),
        ]

    def _connect(self) -> None:
        self.decider.decided.connect(self.telling.take_decisions)
        self.decider.said.connect(self._around.say)
        self.decider.came_up.connect(self._around.findings.choose)
        self.my_shots.switched.connect(self.telling.list_mine)
        self.my_shots.said.connect(self._around.say)
        self.view_keeper.said.connect(self._around.say)
        self.work.spot_changed.connect(self._spot_changed)
        self.work.emptied.connect(self._around.panels.clear)
        self.work.headline.asked.connect(self._around.findings.choose)
        self.work.contact.enlarged.connect(self._around.actions_by_name["review"].trigger)
        self.work.folded.clicked.connect(self._around.bar.list_all)
        self.work.first_master.clicked.connect(self._around.actions_by_name["publish"].trigger)

    @property
    def looked(self) -> Since | None:
        """How the sequence stood when its window was last closed; that it is read again is no closing."""
        return self.last_look()

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
            **HandingOver(self, around).commands(),
            **around.panels.commands(),
            "filter": around.bar.type_filter,
            "goto": around.bar.type_shot,
            "sky": lambda: around.panels.raise_sky(self.views.grid),
            "review": partial(around.review.open, self.session),
            "review_with": around.review.compare_with_cursor,
            "changed": self._select_changed,
        }

    def begin(self) -> None:
        """Show it, once it stands in its place in the window."""
        self.telling.show_around()
        tell_each(partial(self.my_shots.show_only, self.session), partial(self.work.go_back_to, self._start))
        if not isinstance(self._around.focusWidget(), QLineEdit):
            self.work.focus()
        self.inspected.show_due()  # before all of it is painted
        self.telling.tell()
        self._around.watching.follow(self.session)
        if self._is_searched:
            self._around.panels.show_searching(False)
        else:
            self.telling.search()

    def keep_look(self) -> None:
        """Keep how the sequence stands, for whoever asks the next time what is new since then."""
        if self.session.cases.decidable:
            keep_look(self._around.settings.folder, self.session)

    def put_away(self) -> None:
        """Let go of it: another is open."""
        opened = self._around.opened
        is_another = opened is None or opened.session.contents.folder != self.session.contents.folder
        if is_another and self.session.cases.decidable:
            folder, held = self._around.settings.folder, self.session.as_it_stands()
            self._around.saving.run("look", partial(keep_look, folder, held))
        for tie in self._ties:
            QObject.disconnect(tie)
        self.work.is_current = False
        self.inspected.stop()
        self.work.setParent(None)
        self._go()

    def _go(self) -> None:
        if QApplication.activeModalWidget() is not None:  # a box that asks for it is still to be answered
            QTimer.singleShot(_LOOK_AGAIN, self._go)
            return
        for part in (self.work, self):  # they hold a whole session
            part.deleteLater()

    # The cell under the cursor

    def _spot_changed(self, row: int, column: int) -> None:
        around, state = self._around, self.views.state
        around.bar.ask_for(state.view)  # a filter that hid the cell was dropped
        self.inspected.show_soon()
        around.panels.show_cell(state, row, column)
        around.bar.reference_box.set_shot(state.table.shots[column])
        self.telling.count()
        around.review.cursor_at(state.table.shots[column])

    def _go_to_typed(self) -> None:
        typed = self._around.bar.goto_edit.text()
        if self.views.go_to_typed(typed):
            self.work.focus()
        else:
            self._around.say(f"No shot is called {typed!r}")

    def _select_changed(self) -> None:
        cells = self._around.watching.changed_places()
        if cells:
            self.views.select_cells(cells)
