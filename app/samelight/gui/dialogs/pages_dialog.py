"""The pages of the lighters: whose they are, what they say, and one press to copy, print or save them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from platformdirs import user_cache_path
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from samelight.drift.words import counted
from samelight.gui.background.background import Background
from samelight.gui.background.searching import AT_ONCE
from samelight.gui.dialogs.saving import HTML, TEXT, save_as
from samelight.gui.paint import theme
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.gui.widgets.settings import Settings
from samelight.reports.lighter_pages import HandOver, LighterPage, hand_over
from samelight.reports.pages_html import pages_html
from samelight.reports.pages_text import pages_text
from samelight.reports.shown import shown
from samelight.sequence.session import Session
from samelight.sheets.private import write_own

_ALL = "All lighters"
_NAME = Qt.ItemDataRole.UserRole


def printed_page() -> Path:
    """Where the page lies that is opened to print: one, which the next takes the place of."""
    return user_cache_path("samelight", appauthor=False) / "pages" / "to_mend.html"


class PagesDialog(QDialog):
    """Lists the lighters with something to mend; the page of the chosen one, or of all, is copied, printed or saved."""

    def __init__(
        self, session: Session, settings: Settings, lighter: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Pages for the lighters")
        self.resize(920, 580)
        self._session, self._settings = session, settings
        self._background = Background(self)
        self._made = datetime.now().astimezone()
        self._all: HandOver | None = None
        self.names = QListWidget()
        self.names.setAccessibleName("Whose page")
        self.names.setToolTip("Whose page is shown, copied, printed and saved")
        self.names.setFixedWidth(190)
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
        self.text.setAccessibleName("The page as text")
        self.text.setFont(theme.font(theme.DENSE))
        self.said = PlainLabel()
        self.said.setWordWrap(True)
        self.buttons: dict[str, QPushButton] = {}
        row = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        for name, title, tip, act in (
            ("copy", "&Copy text", "Put the text on the clipboard, for a chat or a mail", self.copy),
            (
                "print",
                "Open to &print",
                "Open the page with its pictures in the browser, to print it",
                self.print_,
            ),
            ("save", "&Save…", "Save the page with its pictures, or as text", self.save),
        ):
            button = row.addButton(title, QDialogButtonBox.ButtonRole.ActionRole)
            button.setToolTip(plain(tip))
            button.clicked.connect(act)
            self.buttons[name] = button
        row.rejected.connect(self.reject)
        row.button(QDialogButtonBox.StandardButton.Close).setToolTip("Back to the grid (Esc)")
        middle = QHBoxLayout()
        middle.addWidget(self.names)
        middle.addWidget(self.text, 1)
        layout = QVBoxLayout(self)
        layout.addLayout(middle, 1)
        layout.addWidget(self.said)
        layout.addWidget(row)
        self._make(lighter)

    @property
    def busy(self) -> bool:
        """Whether a page is being made."""
        return self._background.busy

    def _make(self, lighter: str) -> None:
        """Make what the pages say: of a film beside the window."""
        if self._session.table.grade.size <= AT_ONCE:
            self._take(lighter, hand_over(self._session, self._made, with_pictures=False))
            return
        for button in self.buttons.values():
            button.setEnabled(False)
        self.said.setText("Making the pages…")
        work = partial(hand_over, self._session.as_it_stands(), self._made, with_pictures=False)
        self._background.run("all", work, partial(self._take, lighter), self.said.setText)

    def _take(self, lighter: str, made: HandOver) -> None:
        self._all = made
        self._list(lighter, made.pages)
        self.names.currentRowChanged.connect(self._show)
        self._show()
        for button in self.buttons.values():
            button.setEnabled(True)

    def _list(self, lighter: str, pages: tuple[LighterPage, ...]) -> None:
        shots = {part.shot for page in pages for part in page.shots}
        count = sum(page.count for page in pages)
        self._add("", f"{_ALL}: {count} in {counted(len(shots), 'shot')}")
        for page in pages:
            self._add(page.lighter, f"{page.lighter}: {page.count} in {counted(len(page.shots), 'shot')}")
        names = ["", *(page.lighter for page in pages)]
        self.names.setCurrentRow(names.index(lighter) if lighter in names else 0)

    def _add(self, name: str, text: str) -> None:
        item = QListWidgetItem(shown(text))
        item.setData(_NAME, name)
        self.names.addItem(item)

    def _chosen(self) -> list[str] | None:
        item = self.names.currentItem()
        name = str(item.data(_NAME)) if item is not None else ""
        return [name] if name else None

    def _show(self, *_: object) -> None:
        names, made = self._chosen(), self._all
        if made is None:
            return
        pages = tuple(page for page in made.pages if names is None or page.lighter in names)
        self.text.setPlainText(pages_text(replace(made, pages=pages)))
        self.said.setText("")

    def copy(self) -> None:
        """Put the text on the clipboard."""
        QGuiApplication.clipboard().setText(self.text.toPlainText())
        self.said.setText("The text is on the clipboard.")

    def print_(self) -> None:
        """Make the page with its pictures, and open it where it can be printed."""
        self._with_pictures(self._open)

    def save(self) -> None:
        """Make the page with its pictures, and ask where to keep it."""
        self._with_pictures(partial(self._save, self._chosen()))

    def _with_pictures(self, then: Callable[[HandOver], None]) -> None:
        """Make the page beside the window: frames are read for it."""
        self.said.setText("Making the page…")
        # The session itself may take in what others write meanwhile.
        work = partial(hand_over, self._session.as_it_stands(), self._made, names=self._chosen())
        self._background.run("page", work, then, self.said.setText)

    def _open(self, handed: HandOver) -> None:
        path = printed_page()
        try:
            write_own(path, pages_html(handed).encode())
        except OSError as error:
            self.said.setText(f"The page could not be written: {error.strerror or error}")
            return
        opened = QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))
        done = (
            "Opened in the browser: print it there, on A4 or on letter."
            if opened
            else f"No browser opens {path}."
        )
        self.said.setText(" ".join((done, *handed.troubles)))

    def _save(self, names: list[str] | None, handed: HandOver) -> None:
        whose = names[0] if names else "lighters"
        stem = "".join(one if one.isalnum() or one in "-_" else "_" for one in whose)
        makers = {HTML: lambda: pages_html(handed), TEXT: lambda: pages_text(handed)}
        folder = self._session.contents.folder.resolve().name
        saved = save_as(self, self._settings, "Save the page", f"{folder}-{stem}", makers)
        self.said.setText(" ".join((saved, *handed.troubles)))
