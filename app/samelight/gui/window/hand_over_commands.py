"""The commands that hand over what was found: pages for the lighters, the report, the notes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from samelight.changes.mending import Way
from samelight.drift.words import first_names
from samelight.gui.dialogs.mend_dialog import MendDialog
from samelight.gui.dialogs.pages_dialog import PagesDialog
from samelight.gui.dialogs.saving import CSV, HTML, MARKDOWN, save_as, save_notes
from samelight.gui.dialogs.since_dialog import SinceDialog
from samelight.gui.dialogs.tolerance_dialog import ToleranceDialog
from samelight.reports.as_csv import report_csv
from samelight.reports.as_html import html_text
from samelight.reports.as_markdown import report_markdown
from samelight.reports.report import make_report
from samelight.sheets.errors import SamelightError
from samelight.sheets.trees import BYTE_ORDER_MARK

if TYPE_CHECKING:
    from samelight.gui.window.main_window import MainWindow
    from samelight.gui.window.open_sequence import OpenSequence


def hand_over_commands(opened: OpenSequence, around: MainWindow) -> dict[str, Callable[[], object]]:
    """What each of them does, by name."""
    session, settings = opened.session, around.settings

    def pages() -> None:
        name = opened.work.cell_name()
        whose = session.crew.names(name[0]) if name is not None else ()
        dialog = PagesDialog(
            session, settings, whose[0] if len(whose) == 1 and opened.views.state.mine else "", around
        )
        dialog.exec()
        dialog.deleteLater()  # it holds the session

    def mend(way: Way) -> None:
        cells = opened.views.grid.chosen.cells()
        name = opened.work.cell_name()
        shots = {session.table.shots[column] for _, column in cells} or ({name[0]} if name else set())
        dialog = MendDialog(session, opened.decider.who(), shots, way, around)
        dialog.exec()
        written = dialog.written
        dialog.deleteLater()  # it holds the session
        if written:
            around.opening.reload()
            around.say(f"Written: {first_names([path.stem for path in written], 4)}")

    def tolerance() -> None:
        try:
            dialog = ToleranceDialog(session, opened.views.grid.chosen.cells(), opened.decider.who(), around)
        except SamelightError as error:
            around.say(str(error))
            return
        dialog.exec()
        written = dialog.written
        dialog.deleteLater()
        if written is not None:
            around.opening.reload()
            around.say(f"Written: {written.name}")

    def since() -> None:
        dialog = SinceDialog(session, opened.looked, around)
        agreed = dialog.exec() == SinceDialog.DialogCode.Accepted
        dialog.deleteLater()
        if agreed and opened.work.is_current:
            opened.work.look_back(dialog.since)
            around.say(
                dialog.since.sentence(opened.views.state.looked_back.happened)
                if dialog.since
                else "Nothing is marked"
            )

    def save_report() -> None:
        report = make_report(session, made=datetime.now().astimezone())
        stem = f"{session.contents.folder.resolve().name}-{report.made:%Y-%m-%d}"
        makers = {
            HTML: lambda: html_text(report),
            MARKDOWN: lambda: report_markdown(report),
            CSV: lambda: BYTE_ORDER_MARK + report_csv(report),
        }
        around.say(save_as(around, settings, "Save the report", stem, makers))

    return {
        "pages": pages,
        "since": since,
        "tolerance": tolerance,
        "mend": lambda: mend(Way.SET),
        "adopt": lambda: mend(Way.ADOPT),
        "save_report": save_report,
        "save_notes": lambda: around.say(save_notes(around, settings, session, None)),
    }
