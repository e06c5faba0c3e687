"""What is said in dailies, from the review window into the ledger and out into a file."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog

from samelight.decisions.decision import Verb
from samelight.gui.dialogs.deciding import CHANGED, TITLES, keep_reason
from samelight.gui.widgets.boxes import warn
from samelight.reports.as_csv import BYTE_ORDER_MARK
from samelight.reports.dailies_notes import as_csv, as_markdown, lines_of
from samelight.sheets.documents import write_document
from samelight.sheets.errors import SamelightError

if TYPE_CHECKING:
    from samelight.gui.review.review_window import ReviewWindow

MARKDOWN, CSV = "Markdown (*.md)", "CSV (*.csv)"


def keep_note(window: ReviewWindow) -> None:
    """Write what was typed as a note on the shot."""
    state, text = window.state, window.note_edit.text().strip()
    if state is None or not state.shot or not text:
        return
    try:
        state.session.note(state.shot, text, window.who)
    except SamelightError as error:
        warn(window, "The note was not kept", str(error))
        return
    window.note_edit.clear()
    window.pane.setFocus()
    window.said.emit()


def ask_verdict(window: ReviewWindow, verb: Verb) -> None:
    """Ask, in the last line, for the reason of a verdict on what is chosen, or on all that is unsettled in the shot."""
    window.playing.stop()
    state = window.state
    if state is None or not (state.verdict_cells() or state.verdict_cases()):
        window.say(state.verdict_text(verb) if state is not None else "No shot")
        return
    window.last_line.setCurrentWidget(window.verdict)
    window.verdict.ask(state, verb, window.who, window.settings)


def give_verdict(window: ReviewWindow) -> None:
    """Decide on what was asked about, for the reason that was typed."""
    line, state = window.verdict, window.state
    question, verb, reason = line.question, line.verb, line.reason.text().strip()
    if question is None or not reason:
        return
    keep_reason(window.settings, verb, reason)
    found = question.still() if state is not None and state.session is question.session else None
    window.pane.setFocus()
    line.leave()
    if found is None:
        warn(window, f"{TITLES[verb]}: not done", CHANGED)
        return
    cells, cases = found
    try:
        question.session.decide(verb, cells, window.who, reason, None, cases)
    except SamelightError as error:
        warn(window, f"{TITLES[verb]}: not done", str(error))
        return
    window.said.emit()


def export_notes(window: ReviewWindow, since: datetime | None) -> None:
    """Ask for a file and write what was said since a moment, or ever, as its ending says."""
    if window.state is None:
        return
    session = window.state.session
    lines = lines_of(session.ledger.kept(), session.shots, since, session.crew)
    if not lines:
        window.say("Nothing was said yet that could be saved")
        return
    day = datetime.now().astimezone().strftime("%Y-%m-%d")
    folder = Path(window.settings.text("review_export") or Path.home())
    start = folder / f"{session.folder.resolve().name}-dailies-{day}.md"
    name, kind = QFileDialog.getSaveFileName(
        window.desk or window, "Save notes", str(start), f"{MARKDOWN};;{CSV}"
    )
    if not name:
        return
    path = Path(name)
    if path.suffix.lower() not in (".md", ".csv"):
        path = path.with_name(path.name + (".csv" if kind == CSV else ".md"))
    text = (
        BYTE_ORDER_MARK + as_csv(lines)
        if path.suffix.lower() == ".csv"
        else as_markdown(f"Dailies of {session.sequence.title}, {day}", lines)
    )
    try:
        write_document(path, text)
    except SamelightError as error:
        warn(window, "The notes were not saved", str(error))
        return
    window.settings.keep("review_export", str(path.parent))
    window.say(f"Saved {path.name}")
