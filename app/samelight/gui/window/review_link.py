"""Ties the review window to the main window: one selection, one ledger, one undo."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from samelight.gui.review.review_window import ReviewWindow
    from samelight.gui.window.main_window import MainWindow
    from samelight.sequence.session import Session


class ReviewLink:
    """Makes the review window when it is first asked for, and keeps it in step."""

    def __init__(self, main: MainWindow) -> None:
        self._main = main
        self._shot = ""
        self._moving = False
        self.window: ReviewWindow | None = None

    def open(self, session: Session) -> None:
        """Bring up the review window at the shot under the cursor."""
        if self.window is None:
            # The main window need not wait for it.
            from samelight.gui.review.review_window import ReviewWindow

            self.window = ReviewWindow(self._main.settings)
            self.window.desk = self._main
            self._main.destroyed.connect(self.window.deleteLater)
            self.window.stepped.connect(self._stepped)
            self.window.said.connect(self._said)
            self.window.asked.connect(self._asked)
            self._main.colours.tell()
        self.window.show_session(session, self._shot)
        self.window.open_on(self._main.screen())

    def compare_with_cursor(self) -> None:
        """Wipe the frame that is looked at against that of the shot under the cursor."""
        if self.window is None or not self.window.isVisible():
            self._main.say("Open the review (R) on a shot first, then choose here what to compare with")
        else:
            self.window.pictures.compare_with(self._shot)

    def show(self, session: Session) -> None:
        """Take in another session, or what changed in this one."""
        if self.window is not None:
            self.window.show_session(session)

    def cursor_at(self, shot: str) -> None:
        """The main window's cursor is in a shot: follow it there, unless the review leads."""
        moved, self._shot = shot != self._shot, shot
        if moved and self.window is not None and not self.window.bar.leading and not self._moving:
            self.window.go(shot)

    def close(self) -> None:
        """Close the review window with the main one."""
        if self.window is not None:
            self.window.close()

    def _said(self) -> None:
        if self._main.opened is not None:
            self._main.opened.telling.take_decisions()

    def _asked(self, step: str) -> None:
        """Undo or redo from the review, which then shows the shot that it was in."""
        window, opened = self.window, self._main.opened
        if window is None or window.state is None or opened is None:
            return
        history = opened.session.history
        act = history.next_undo() if step == "undo" else history.next_redo()
        done = opened.decider.travel(step, window, window.state.shot)
        if done:
            if window.state.shot not in {decision.shot for decision in act}:
                window.go(act[0].shot)
            window.bar.say(done)
        elif not act:
            window.bar.say(f"There is nothing to {step}")

    def _stepped(self, shot: str) -> None:
        if self.window is not None and self.window.bar.leading:
            self._moving = True
            self._main.go_to_shot(shot)
            self._moving = False
