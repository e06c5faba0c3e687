"""The commands that write of what was found, or hand it over: masters, mended shots, pages for the lighters, reports, notes.

A box and a report are loaded when they are asked for: with what they are made by they are a tenth of the window's imports.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog

from samelight.drift.words import first_names
from samelight.gui.dialogs.saving import CSV, HTML, MARKDOWN, save_beside, save_notes
from samelight.reports.report import Report, make_report
from samelight.sheets.errors import SamelightError
from samelight.sheets.trees import BYTE_ORDER_MARK

if TYPE_CHECKING:
    from samelight.changes.mending import Way
    from samelight.gui.window.main_window import MainWindow
    from samelight.gui.window.open_sequence import OpenSequence


class HandingOver:
    """Brings up the boxes that write of an open sequence, or pass it on."""

    def __init__(self, opened: OpenSequence, around: MainWindow) -> None:
        self._opened, self._around = opened, around
        self._session = opened.session

    def commands(self) -> dict[str, Callable[[], object]]:
        """What each of its commands does, by name."""
        return {
            "publish": self._publish,
            "pages": self._pages,
            "since": self._since,
            "tolerance": self._tolerance,
            "mend": self._set,
            "adopt": self._adopt,
            "save_report": self._save_report,
            "save_notes": self._save_notes,
        }

    def _publish(self) -> None:
        from samelight.gui.dialogs.publish_dialog import PublishDialog

        if _asked(PublishDialog(self._session, self._opened.decider.who(), self._around)):
            self._around.opening.reload()

    def _pages(self) -> None:
        from samelight.gui.dialogs.pages_dialog import PagesDialog

        name = self._opened.views.cell_name()
        whose = self._session.crew.names(name[0]) if name is not None else ()
        lighter = whose[0] if len(whose) == 1 and self._opened.views.state.mine else ""
        _asked(PagesDialog(self._session, self._around.settings, lighter, self._around))

    def _set(self) -> None:
        from samelight.changes.mending import Way

        self._mend(Way.SET)

    def _adopt(self) -> None:
        from samelight.changes.mending import Way

        self._mend(Way.ADOPT)

    def _mend(self, way: Way) -> None:
        from samelight.gui.dialogs.mend_dialog import MendDialog

        cells, name = self._opened.views.grid.chosen.cells(), self._opened.views.cell_name()
        shots = {self._session.table.shots[column] for _, column in cells} or ({name[0]} if name else set())
        dialog = MendDialog(self._session, self._opened.decider.who(), shots, way, self._around)
        _asked(dialog)
        self._show_written([path.stem for path in dialog.written])

    def _tolerance(self) -> None:
        from samelight.gui.dialogs.tolerance_dialog import ToleranceDialog

        cells, who = self._opened.views.grid.chosen.cells(), self._opened.decider.who()
        try:
            dialog = ToleranceDialog(self._session, cells, who, self._around)
        except SamelightError as error:
            self._around.say(str(error))
            return
        _asked(dialog)
        self._show_written([dialog.written.name] if dialog.written is not None else [])

    def _show_written(self, names: list[str]) -> None:
        if names:
            self._around.opening.reload()
            self._around.say(f"Written: {first_names(names, 4)}")

    def _since(self) -> None:
        from samelight.gui.dialogs.since_dialog import SinceDialog

        opened, dialog = self._opened, SinceDialog(self._session, self._opened.looked, self._around)
        if _asked(dialog) and opened.work.is_current:
            opened.work.look_back(dialog.since)
            happened = opened.views.state.looked_back.happened
            self._around.say(dialog.since.sentence(happened) if dialog.since else "Nothing is marked")

    def _save_report(self) -> None:
        from samelight.reports.as_csv import report_csv
        from samelight.reports.as_html import html_text
        from samelight.reports.as_markdown import report_markdown

        made, held = datetime.now().astimezone(), self._session.as_it_stands()
        stem = f"{self._session.contents.folder.resolve().name}-{made:%Y-%m-%d}"

        def written(form: Callable[[Report], str]) -> Callable[[], str]:
            return lambda: form(make_report(held, made=made))

        makers = {
            HTML: written(html_text),
            MARKDOWN: written(report_markdown),
            CSV: written(lambda report: BYTE_ORDER_MARK + report_csv(report)),
        }
        around = self._around
        save_beside(around.saving, around, around.settings, "Save the report", stem, makers, around.say)

    def _save_notes(self) -> None:
        self._around.say(save_notes(self._around, self._around.settings, self._session, None))


def _asked(dialog: QDialog) -> bool:
    """Whether a dialog was agreed to, which holds the session and is let go of."""
    agreed = dialog.exec() == QDialog.DialogCode.Accepted
    dialog.deleteLater()
    return agreed
