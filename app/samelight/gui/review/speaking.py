"""What is said in dailies, from the review window into the ledger and out into a file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from samelight.changes.trims import trimmed_cells, trims_text, typed_trims
from samelight.decisions.decision import Verb
from samelight.drift.cells import Cell
from samelight.findings.finding import Case
from samelight.gui.dialogs.deciding import CHANGED, TITLES, counted_text, keep_reason
from samelight.gui.dialogs.saving import save_notes
from samelight.gui.review.grabbing import let_go, taken
from samelight.gui.review.review_state import ReviewState
from samelight.gui.widgets.boxes import warn
from samelight.sheets.errors import SamelightError

if TYPE_CHECKING:
    from samelight.gui.review.review_window import ReviewWindow


def keep_note(window: ReviewWindow) -> None:
    """Write what was typed as a note on the shot; where it names something that drifts there, this is sent back for it."""
    state, text = window.state, window.last_line.note_edit.text().strip()
    if state is None or not state.shot or not text:
        return
    named = state.said.named_in(text)
    try:
        if named:
            state.session.decide(Verb.RETURN, named, window.bar.who, text, seen=taken(window, state.shot))
        else:
            state.session.note(state.shot, text, window.bar.who, taken(window, state.shot))
    except SamelightError as error:
        warn(window, "The note was not kept", str(error))
        return
    let_go(window, state.shot)
    window.last_line.note_edit.clear()
    window.pictures.pane.setFocus()
    window.said.emit()
    if named:
        window.bar.say(f"Sent back, since the note names it: {counted_text(len(named), 0)}")


def ask_verdict(window: ReviewWindow, verb: Verb) -> None:
    """Ask, in the last line, for the reason of a verdict on what is chosen, or on all that is unsettled in the shot."""
    window.playing.stop()
    state = window.state
    if state is None or not any(state.choice.to_decide()):
        window.bar.say(state.choice.verdict_text(verb) if state is not None else "No shot")
        return
    _ask(window, state, verb, state.choice.to_decide())


def ask_trims(window: ReviewWindow) -> None:
    """Ask, in the last line, whether the lights that are trimmed go back to the lighter, with what to set as the reason."""
    window.playing.stop()
    state, panel = window.state, window.pictures.lights
    sheet = state.session.contents.sheets.get(state.shot) if state is not None else None
    if state is None or sheet is None:
        return
    trims, _ = typed_trims(state.session, sheet, panel.stops, panel.gels)
    cells = trimmed_cells(state.session, state.shot, trims)
    if cells:
        _ask(window, state, Verb.RETURN, (cells, ()), trims_text(trims))
    else:
        window.bar.say("Nothing of these lights is compared, so that nothing can be sent back")


def _ask(
    window: ReviewWindow,
    state: ReviewState,
    verb: Verb,
    about: tuple[Sequence[Cell], Sequence[Case]],
    reason: str = "",
) -> None:
    line = window.last_line.verdict
    window.last_line.setCurrentWidget(line)
    line.ask(state, verb, window.bar.who, window.settings, about, reason)


def give_verdict(window: ReviewWindow) -> None:
    """Decide on what was asked about, for the reason that was typed."""
    line, state = window.last_line.verdict, window.state
    question, verb, reason = line.question, line.verb, line.reason.text().strip()
    if question is None or not reason:
        return
    keep_reason(window.settings, verb, reason)
    found = question.still() if state is not None and state.session is question.session else None
    window.pictures.pane.setFocus()
    line.leave()
    if found is None:
        warn(window, f"{TITLES[verb]}: not done", CHANGED)
        return
    cells, cases = found
    try:
        seen = taken(window, line.shot)
        question.session.decide(verb, cells, window.bar.who, reason, None, cases, seen=seen)
    except SamelightError as error:
        warn(window, f"{TITLES[verb]}: not done", str(error))
        return
    let_go(window, line.shot)
    window.said.emit()


def close_mended(window: ReviewWindow) -> None:
    """Close what came back mended of what is chosen, or in the shot: whoever sent it back looked at it."""
    window.playing.stop()
    state = window.state
    cells, cases = state.choice.mended() if state is not None else ([], [])
    if state is None or not (cells or cases):
        window.bar.say("Nothing mended waits for a look here" if state is not None else "No shot")
        return
    try:
        state.session.decide(Verb.CLOSE, cells, window.bar.who, "", None, cases)
    except SamelightError as error:
        warn(window, f"{TITLES[Verb.CLOSE]}: not done", str(error))
        return
    window.said.emit()
    window.bar.say(f"Closed: {counted_text(len(cells), len(cases))}")


def export_notes(window: ReviewWindow, since: datetime | None) -> None:
    """Ask for a file and write what was said since a moment, or ever, as its ending says."""
    if window.state is None:
        return
    said = save_notes(window.desk or window, window.settings, window.state.session, since)
    if said:
        window.bar.say(said)
