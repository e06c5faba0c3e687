"""What is said in dailies, from the review window into the ledger and out into a file."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog

from samelight.decisions.decision import Verb
from samelight.gui.dialogs.deciding import TITLES, ask
from samelight.gui.review.type_size import pixel_font, spread_font
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


def give_verdict(window: ReviewWindow, verb: Verb) -> None:
    """Decide on what is chosen, or on all that is unsettled in the shot, after a look at what that is."""
    window.playing.stop()
    state = window.state
    cells = state.verdict_cells() if state is not None else []
    cases = state.verdict_cases() if state is not None else []
    if state is None or not (cells or cases):
        window.say(state.verdict_text(verb) if state is not None else "No shot")
        return
    session = state.session
    answer = ask(
        session,
        verb,
        cells,
        window.who,
        window.settings,
        window,
        cases=cases,
        is_shown=lambda: window.state is not None and window.state.session is session,
        spread=lambda dialog: spread_font(dialog, pixel_font(window.sizes.keys)),
    )
    if answer is None:
        return
    window.set_who(answer.who)
    try:
        session.decide(verb, answer.cells, answer.who, answer.reason, answer.until, answer.cases)
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
