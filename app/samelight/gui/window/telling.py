"""Tells all that stands around the grid what is known of an open sequence, as it becomes known."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from samelight.gui.background.mishaps import tell_each
from samelight.gui.widgets.plain_text import plain_title
from samelight.gui.widgets.reference_box import held_text
from samelight.gui.window.my_shots import MyShots
from samelight.gui.window.workspace import Workspace

if TYPE_CHECKING:
    from samelight.gui.window.main_window import MainWindow


class Telling(QObject):
    """Keeps grid, panels, bar, review and remarks in step with the session. `who` decides here."""

    def __init__(
        self, work: Workspace, my_shots: MyShots, who: Callable[[], str], around: MainWindow
    ) -> None:
        super().__init__(work)
        self._session = work.views.session
        self._work, self._my_shots, self._who, self._around = work, my_shots, who, around
        self._drawn = False
        """Whether findings were shown since they were last asked for."""

    def show_around(self) -> None:
        """Show what stands around the grid."""
        around, session = self._around, self._session
        title, held = plain_title(session.contents.sequence.title), plain_title(held_text(session))
        around.setWindowTitle(f"{title}, {held} — Samelight")
        rooms = (around.panels, around.bar, around.reference_link, around.notice, around.colours)
        tell_each(*(partial(room.show_session, session) for room in rooms))

    def renew(self) -> None:
        """Show what became another value on disk, together with the findings where these are drawn at once."""
        known: list[bool] = []
        tell_each(
            lambda: known.append(self._around.searching.drawn_at_once(self._session)),
            self._work.renew,
            partial(self._my_shots.show_only, self._session),
        )
        self.show_around()
        self.tell()
        if known == [True]:
            self._around.panels.show_searching(False)
        else:
            self.search()

    def take_decisions(self) -> None:
        """Show what was written to the ledger, here or elsewhere in the program: once, together with the findings where these
        are drawn at once."""
        self._drawn = False
        tell_each(self.search)
        if not self._drawn:
            findings = self._around.findings
            tell_each(partial(findings.show_session, self._session), self._work.take_decisions, self.tell)

    def take_from_elsewhere(self) -> None:
        """Show what another program wrote to the ledger."""
        self.take_decisions()
        self._around.notice.show_session(self._session)

    def search(self) -> None:
        """Bring the findings up to date."""
        searching = self._around.searching
        searching.ask(self._session)
        if searching.busy:  # else they are shown already
            self._around.panels.show_searching(True)
            self.count()

    def take_findings(self) -> None:
        """Show the findings that were looked for."""
        around, self._drawn = self._around, True
        tell_each(
            partial(around.panels.show_session, self._session),
            partial(around.panels.show_searching, around.searching.busy),
            partial(around.notice.show_session, self._session),
            self._work.take_decisions,
            self.tell,
        )

    def tell(self) -> None:
        """Bring up to date what is said of the session, and what can be done with it."""
        tell_each(self.count, self._around.enable, partial(self._around.review.show, self._session))

    def count(self) -> None:
        """Say how much is left, in all and in the shot under the cursor."""
        ledger, name = self._session.ledger, self._work.views.cell_name()
        self._work.alarm.show_unread(ledger.faults, ledger.gone, ledger.unlisted)
        looking = self._around.searching.busy
        self._work.views.state.sign(self._who())
        self._around.bar.show_counts(self._work.views.state, name[0] if name else None, looking=looking)
        self._work.headline.show_state(self._work.views.state, looking=looking)

    def show_trouble(self, trouble: str) -> None:
        """Say why what is shown is not up to date, or that it is again."""
        self._work.alarm.show_trouble(trouble)
        if trouble:
            self._around.notice.show_trouble(trouble)
        else:
            self._around.notice.show_session(self._session)

    def list_mine(self, on: bool) -> None:
        """Only my shots are listed now, or all."""
        self._around.actions_by_name["only_mine"].setChecked(on)
        self.count()
