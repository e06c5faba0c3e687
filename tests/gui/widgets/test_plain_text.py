"""What sheets, ledgers and scenes say is shown to the letter in every place: no mark-up of theirs, no keys, nothing loaded."""

from __future__ import annotations

import ast
import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QTimer
from PySide6.QtGui import QAction, QKeySequence, Qt, QTextDocument
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QDialog,
    QHeaderView,
    QLabel,
    QTextEdit,
    QToolTip,
    QWidget,
)
from pytestqt.qtbot import QtBot

import samelight.gui
from gui_hostile import MARK, Lure, hostile_copy
from samelight.gui.screenshots.backstage import Stage, quiet
from samelight.gui.screenshots.screens import SCREENS
from samelight.gui.screenshots.screenshots import Look, draw
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.plain_text import PlainLabel, plain, plain_item
from samelight.gui.window.application import application
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.saved_views import shared_folder
from samelight.sequence.session import open_session
from samelight.sheets.errors import SamelightError

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a pipe shows who opens it")

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

ALIKE = {
    "whole-cut",
    "older-master",
    "no-rows",
    "all-well",
    "sky-camera",
    "sky-closer",
    "review-side",
    "review-wipe",
    "keys",
    "review-keys",
    "about",
}
"""Screens on which nothing says anything of a sequence that others do not say as well."""

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
        self._models: Counter[str] = Counter()

    def look(self) -> None:
        for widget in QApplication.allWidgets():
            self._widget(widget)

    def _add(self, place: str, text: str, *, marked: bool) -> None:
        self.said.setdefault(place, []).append(shown(text, marked=marked))

    def _guessed(self, place: str, text: str) -> None:
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


@pytest.fixture(scope="module")
def lure(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lure]:
    made = Lure(tmp_path_factory.mktemp("lure"))
    yield made
    made.close()


@pytest.fixture(scope="module")
def folder(lure: Lure, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile_copy(tmp_path_factory.mktemp("hostile") / "harbour", lure.tag)


def test_every_screen_shows_names_to_the_letter(
    qapp: QApplication, folder: Path, lure: Lure, monkeypatch: pytest.MonkeyPatch
) -> None:
    audit, still = Audit(), Stage.still
    session = open_session(folder)

    def looked_at(stage: Stage, widget: QWidget) -> object:
        picture = still(stage, widget)
        audit.look()
        return picture

    monkeypatch.setattr(Stage, "still", looked_at)
    drawn = []
    with quiet(application()):
        for name in SCREENS.keys() - ALIKE:
            try:
                draw(SCREENS[name], session, Look((1400, 800)))
            except SamelightError:
                continue  # this copy has nothing to show there
            drawn.append(name)
    assert len(drawn) > 0.9 * len(SCREENS.keys() - ALIKE)
    assert lure.opened == 0
    for place in ("tool tip", "label", "item"):
        text = "\n".join(audit.said[place])
        assert lure.tag in text and MARK in text, place
    assert any(MARK in text or lure.tag in text for text in audit.said["page"])
    assert any("[*][*]" in title or "[*]" in title for title in audit.said["title"])


def test_views_and_folders_in_menus(qtbot: QtBot, folder: Path, window: MainWindow) -> None:
    views = shared_folder(window.session.folder)
    views.mkdir()
    (views / "&Zeta.yaml").write_text("samelight_view: 2\n", encoding="utf-8")
    (views / "<u>Z<u>.yaml").write_text("samelight_view: <u>7</u>\n", encoding="utf-8")
    window.settings.opened(Path("/films", "<u>&Zeta<u>"))
    window.opened.view_keeper.fill_menu()
    window.recent.fill()
    audit = Audit()
    audit.look()
    said = "\n".join(audit.said["menu"])
    assert "&Zeta" in said and "<u>Z<u>" in said and "<u>&Zeta<u>" in said


def test_a_box_says_a_message_to_the_letter(window: MainWindow, lure: Lure) -> None:
    message, seen = f"{lure.tag}: {MARK}", []

    def look() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QDialog)
        box.grab()
        seen.extend(shown(label.text(), marked=True) for label in box.findChildren(QLabel))
        box.reject()

    QTimer.singleShot(0, look)
    warn(window, "Not done", message)
    assert message in seen and lure.opened == 0


def test_a_tool_tip_says_a_name_to_the_letter(qtbot: QtBot, window: MainWindow, lure: Lure) -> None:
    QToolTip.showText(window.mapToGlobal(window.rect().center()), plain(lure.tag), window)
    tip = next(one for one in QApplication.topLevelWidgets() if one.inherits("QTipLabel"))
    tip.grab()
    document = QTextDocument()
    document.setHtml(QToolTip.text())
    assert document.toPlainText() == lure.tag and lure.opened == 0
    QToolTip.hideText()


def test_the_lure_shows_who_is_caught(qtbot: QtBot, tmp_path: Path) -> None:
    """Else that nothing is loaded would say nothing."""
    own = Lure(tmp_path)
    try:
        label = QLabel(own.tag)
        qtbot.addWidget(label)
        label.grab()
        assert own.opened > 0
        seen = own.opened
        guarded = PlainLabel(own.tag)
        qtbot.addWidget(guarded)
        guarded.grab()
        assert own.opened == seen and guarded.text() == own.tag
    finally:
        own.close()


@pytest.mark.parametrize("text", ["sun", "a < b", "one\n<b>two", "&", "sun & sky"])
def test_plain_words_stay_as_they_are(text: str) -> None:
    assert plain(text) == text or Tags(plain(text)).said == [text]


def test_a_menu_shows_every_sign() -> None:
    assert QKeySequence.mnemonic(plain_item("&Zeta")).isEmpty()


# In the source


def calls(name: str) -> Iterator[tuple[str, ast.Call]]:
    """Every call of a method or class of this name in the window's source, and where it is."""
    for where, node in all_calls():
        if name in (getattr(node.func, "attr", ""), getattr(node.func, "id", "")):
            yield where, node


@cache
def all_calls() -> list[tuple[str, ast.Call]]:
    return [
        (f"{path.name}:{node.lineno}", node)
        for path in sorted(Path(samelight.gui.__path__[0]).rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
    ]


def is_plain(text: ast.expr) -> bool:
    if isinstance(text, ast.Constant):
        return True
    return isinstance(text, ast.Call) and isinstance(text.func, ast.Name) and text.func.id == "plain"


def test_no_tool_tip_is_given_but_plain() -> None:
    found = [*calls("setToolTip"), *calls("showText")]
    assert len(found) > 40
    assert [
        where
        for where, call in found
        if not is_plain(call.args[1 if "showText" in ast.dump(call.func) else -1])
    ] == []


def test_no_label_and_no_box_guesses() -> None:
    boxes = ("warning", "information", "question", "critical", "getText", "getItem")
    assert list(calls("QLabel")) == []
    found = [(where, call) for name in boxes for where, call in calls(name)]
    assert len(found) >= 4
    assert [where for where, call in found if not is_plain(call.args[2])] == []
