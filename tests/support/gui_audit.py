"""What is said in every place of the window, by what kind of place says it, as Qt would show it."""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser

from PySide6.QtCore import QAbstractItemModel, QAbstractListModel
from PySide6.QtGui import QAction, QKeySequence, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QLabel,
    QTextEdit,
    QWidget,
)

from samelight.reports.shown import clean_lines

ITS_KEY = QKeySequence("Alt+Z")

OURS = {
    "div",
    "p",
    "b",
    "br",
    "a",
    "span",
    "table",
    "tr",
    "td",
    "tbody",
    "html",
    "head",
    "meta",
    "style",
    "body",
}
"""Mark-up of the program's own."""

MANY = 30
"""Rows, and columns, of which each is looked at."""

OFTEN = 4
"""How often every item of a kind of list is looked at."""


class Tags(HTMLParser):
    """The mark-up of a text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.said: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.add(tag)

    def handle_data(self, data: str) -> None:
        self.said.append(data)


def shown(text: str, *, marked: bool) -> str:
    """What Qt shows of a text; none of it may be mark-up but the program's own."""
    if not marked:
        return text
    found = Tags(text)
    assert found.tags <= OURS, text
    return "".join(found.said)


class Audit:
    """Looks at everything that is there and gathers what it says, by what kind of place says it."""

    def __init__(self) -> None:
        self.said: dict[str, list[str]] = {}
        self.hiding: set[str] = set()
        """What is said with signs in it that are not seen."""
        self._models: Counter[str] = Counter()
        self._met: set[tuple[str, str, bool]] = set()

    def look(self) -> None:
        for widget in QApplication.allWidgets():
            self._widget(widget)

    def _add(self, place: str, text: str, *, marked: bool) -> None:
        if (place, text, marked) in self._met:  # most of a window says what the one before said
            return
        self._met.add((place, text, marked))
        said = shown(text, marked=marked)
        self.said.setdefault(place, []).append(said)
        if clean_lines(said) != said:
            self.hiding.add(f"{place}: {said!r}")

    def _guessed(self, place: str, text: str) -> None:
        if text:
            self._add(place, text, marked=Qt.mightBeRichText(text))

    def _widget(self, widget: QWidget) -> None:
        self._guessed("tool tip", widget.toolTip())
        if widget.isWindow() and widget.windowHandle() is not None:
            self._add("title", widget.windowHandle().title(), marked=False)
        for action in widget.actions():
            self._action(action)
        match widget:
            case QLabel():
                self._label(widget)
            case QTextEdit():
                self._add("page", widget.toHtml(), marked=True)
            case QAbstractButton():
                assert widget.shortcut() != ITS_KEY, widget
                self._add("button", widget.text(), marked=False)
            case QAbstractItemView() if widget.model() is not None and not isinstance(widget, QHeaderView):
                self._model(widget.model())

    def _action(self, action: QAction) -> None:
        assert QKeySequence.mnemonic(action.text()) != ITS_KEY, action.text()
        self._add("menu", action.text().replace("&&", "&"), marked=False)
        self._guessed("tool tip", action.toolTip())

    def _label(self, label: QLabel) -> None:
        form = label.textFormat()
        rich = form == Qt.TextFormat.RichText
        self._add(
            "label",
            label.text(),
            marked=rich or (form == Qt.TextFormat.AutoText and Qt.mightBeRichText(label.text())),
        )
        if label.buddy() is not None:
            assert QKeySequence.mnemonic(label.text()) != ITS_KEY

    def _model(self, model: QAbstractItemModel) -> None:
        roles = Qt.ItemDataRole
        self._models[type(model).__name__] += 1
        if self._models[type(model).__name__] > OFTEN:
            return
        rows = min(model.rowCount(), MANY)
        columns = 1 if isinstance(model, QAbstractListModel) else min(model.columnCount(), MANY)
        for index in (model.index(row, column) for row in range(rows) for column in range(columns)):
            self._add("item", str(index.data(roles.DisplayRole) or ""), marked=False)
            self._guessed("tool tip", str(index.data(roles.ToolTipRole) or ""))
        for direction, count in ((Qt.Orientation.Horizontal, columns), (Qt.Orientation.Vertical, rows)):
            for section in range(count):
                self._guessed("tool tip", str(model.headerData(section, direction, roles.ToolTipRole) or ""))
