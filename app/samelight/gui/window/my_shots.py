"""Only my shots: whose they are, the question for them where the sequence does not say it, and the switch."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QInputDialog, QLineEdit, QWidget

from samelight.drift.words import counted
from samelight.gui.widgets.plain_text import plain
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.workspace import Workspace
from samelight.sequence.crew import NOBODY
from samelight.sequence.session import Session
from samelight.sheets.errors import SamelightError
from samelight.sheets.shot_lists import chosen_shots, lighter_called, lighter_shots

EVERYONE, A_LIST = "everyone", "a list of my own…"
"""What one may choose beside the lighters of a sequence and nobody."""


class MyShots(QObject):
    """Mine are the shots that sequence.yaml gives to the name under which decisions are made; else a list that is asked
    for once and kept for each sequence."""

    switched = Signal(bool)
    """The switch stands so now, and other shots may be listed."""
    said = Signal(str)

    def __init__(
        self,
        work: Workspace,
        settings: Settings,
        who: Callable[[], str],
        window: QWidget,
        before: MyShots | None = None,
    ) -> None:
        super().__init__(work)
        self._work = work
        self._settings = settings
        self._who = who
        self._window = window
        self.asked_for: bool = before.asked_for if before is not None else settings.text("only_mine") == "on"
        """Whether only my shots are wanted; they are not listed where nobody knows them."""

    @property
    def on(self) -> bool:
        """Whether only my shots are listed now."""
        return self._work.views.state.mine is not None

    def known(self, session: Session) -> frozenset[str] | None:
        """My shots in a sequence, as far as they are known without asking."""
        who, lighters = self._who(), session.contents.sequence.lighters
        try:
            if lighter_called(who, lighters) is not None:
                return frozenset(lighter_shots(who, lighters, session.contents.shots))
            kept = self._settings.text(_key(session))
            return frozenset(chosen_shots(kept, session.contents.shots)) if kept else None
        except SamelightError:
            return None  # the cut is another one by now: ask again

    def switch(self) -> None:
        """List only my shots, or all again. Asks which they are when nobody has said it."""
        session = self._work.views.session
        mine = None if self.on else self.known(session) or self._ask(session)
        if not self._work.is_current:
            return
        if mine is None and not self.on:
            self.switched.emit(False)  # as it was; why is said already, or the question was cancelled
        else:
            self._list(mine)

    def list_only(self, wanted: bool) -> bool:
        """List only my shots, or all, as a saved view says it, and leave the user's own switch in the settings as it is.
        Asks which they are when nobody has said it. Returns whether it stands so; if not, all are listed."""
        session = self._work.views.session
        if wanted != self.on:
            mine = (self.known(session) or self._ask(session)) if wanted else None
            if self._work.is_current:
                self._show(mine)
        self.asked_for = self.on
        return self.on == wanted

    def show_only(self, session: Session) -> None:
        """List a sequence's shots as was asked for last; where mine are not known, all of them, and nobody is asked."""
        self._show(self.known(session) if self.asked_for else None)

    def choose(self) -> None:
        """Ask whose shots to list: everyone's, those of a lighter whom the sequence names, nobody's, or a list of my own."""
        session = self._work.views.session
        own = lighter_called(self._who(), session.contents.sequence.lighters) is None
        if session.crew:
            names = [EVERYONE, *session.crew.shots, NOBODY, *([A_LIST] if own else [])]
            whose, agreed = QInputDialog.getItem(
                self._window, "Whose shots", "List the shots of", names, 0, editable=False
            )
            if not agreed or whose != A_LIST:
                if agreed:
                    self._list_of(session, whose)
                return
        mine = self._ask(session)
        if mine is not None:
            self._list(mine)

    def _list_of(self, session: Session, whose: str) -> None:
        """List the shots of a lighter, of nobody or of everyone, and leave the user's own switch in the settings as it is."""
        if whose == EVERYONE:
            shots = None
        else:
            shots = frozenset(session.crew.free() if whose == NOBODY else session.crew.shots[whose])
        if shots is not None and not shots:
            self.said.emit(f"No shot is {whose}'s")
            return
        self._show(shots)
        self.asked_for = self.on
        self.said.emit("All shots" if shots is None else f"Shots of {whose}: {counted(len(shots), 'shot')}")

    def commands(self) -> dict[str, Callable[[], None]]:
        """The commands of my shots."""
        return {"only_mine": self.switch, "my_shots": self.choose}

    def _list(self, mine: frozenset[str] | None) -> None:
        self.asked_for = mine is not None
        self._settings.keep("only_mine", "on" if self.asked_for else "off")
        self._show(mine)
        self.said.emit("All shots" if mine is None else f"Only my shots: {counted(len(mine), 'shot')}")

    def _show(self, mine: frozenset[str] | None) -> None:
        views = self._work.views
        if views.state.mine != mine:
            self._work.keeping_the_spot(lambda: views.model.relisted(lambda state: state.show_only(mine)))
        self.switched.emit(mine is not None)

    def _ask(self, session: Session) -> frozenset[str] | None:
        """Ask until the answer names shots of the cut, or the question is cancelled.

        Where the sequence says which they are, and none of them is in the cut, that is what is said instead.
        """
        named = lighter_called(self._who(), session.contents.sequence.lighters)
        if named is not None:
            try:
                return frozenset(
                    lighter_shots(named, session.contents.sequence.lighters, session.contents.shots)
                )
            except SamelightError as error:
                self.said.emit(str(error))
                return None
        said, typed = "", self._settings.text(_key(session))
        shots = session.contents.shots
        example = f"{shots[0]}-{shots[-1]}" if shots else ""
        question = f"Which shots are those of {self._who()}? A list, or runs of the cut such as {example}"
        while True:
            typed, agreed = QInputDialog.getText(
                self._window, "My shots", plain(f"{said}{question}"), QLineEdit.EchoMode.Normal, typed
            )
            if not agreed or not self._work.is_current:
                return None
            try:
                mine = frozenset(chosen_shots(typed, shots))
            except SamelightError as error:
                said = f"There is {error}.\n\n" if str(error).startswith("no shot") else f"{error}.\n\n"
                continue
            self._settings.keep(_key(session), typed)
            return mine


def _key(session: Session) -> str:
    """Where the list for a sequence is remembered; a path itself is no key of a settings file."""
    return f"my_shots/{hashlib.sha256(str(session.contents.folder.resolve()).encode()).hexdigest()[:16]}"
