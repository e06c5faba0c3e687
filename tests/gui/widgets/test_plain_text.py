"""What sheets, ledgers and scenes say is shown to the letter in every place: no mark-up of theirs, no keys, nothing loaded.

That each screen does so is held where they are drawn."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtGui import QKeySequence, Qt, QTextDocument
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QToolTip
from pytestqt.qtbot import QtBot

import samelight.gui
from gui_audit import Audit, Tags, shown
from gui_help import opened
from gui_hostile import MARK, Lure
from samelight.gui.paint.drawn_text import visible
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.plain_text import MarkedLabel, PlainLabel, plain, plain_item
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.saved_views import shared_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a pipe shows who opens it")


@pytest.fixture(scope="module")
def lure(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lure]:
    made = Lure(tmp_path_factory.mktemp("lure"))
    yield made
    made.close()


def test_views_and_folders_in_menus(qtbot: QtBot, window: MainWindow) -> None:
    views = shared_folder(opened(window).session.contents.folder)
    views.mkdir()
    (views / "&Zeta.yaml").write_text("samelight_view: 2\n", encoding="utf-8")
    (views / "<u>Z<u>.yaml").write_text("samelight_view: <u>7</u>\n", encoding="utf-8")
    window.settings.opened(Path("/films", "<u>&Zeta<u>"))
    opened(window).view_keeper.fill_menu()
    window.recent.fill()
    audit = Audit()
    audit.look()
    said = "\n".join(audit.said["menu"])
    assert "&Zeta" in said and "<u>Z<u>" in said and "<u>&Zeta<u>" in said


def test_a_box_says_a_message_to_the_letter(window: MainWindow, lure: Lure) -> None:
    message = f"{lure.tag}: {MARK}"
    seen: list[str] = []

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


def test_all_text_is_painted_by_one_function() -> None:
    """Which shows what hides or turns text as a mark."""
    assert [where for where, _ in calls("drawText")] == [
        where for where, _ in calls("drawText") if "drawn_text" in where
    ]
    assert len(list(calls("draw_text"))) > 30


def test_what_hides_is_a_mark(qtbot: QtBot) -> None:
    label, marked = PlainLabel("sun\u202e\nsky"), MarkedLabel()
    marked.setText("<b>sun\u2066</b>")
    for one in (label, marked):
        qtbot.addWidget(one)
    assert (label.text(), marked.text()) == ("sun�\nsky", "<b>sun�</b>")
    assert (plain("a\u202eb\nc"), plain_item("a\u202eb&"), visible("a/\u2060b\x1b")) == (
        "a�b\nc",
        "a�b&&",
        "a/\u2060b�",
    )


def test_a_name_of_any_length_fills_no_screen() -> None:
    tip = plain("x" * 1_000_000)
    assert len(tip) < 5000 and Qt.mightBeRichText(tip)
    assert len(plain_item("x" * 1_000_000)) < 1000


def test_a_name_of_any_length_makes_no_window_wider(qtbot: QtBot) -> None:
    for kind in (PlainLabel, MarkedLabel):
        label = kind()
        qtbot.addWidget(label)
        for wraps in (False, True):
            label.setWordWrap(wraps)
            label.setText("x" * 10_000)
            assert 0 < label.minimumSizeHint().width() < 1000


def test_no_label_and_no_box_guesses() -> None:
    boxes = ("warning", "information", "question", "critical", "getText", "getItem")
    assert list(calls("QLabel")) == []
    found = [(where, call) for name in boxes for where, call in calls(name)]
    assert len(found) >= 4
    assert [where for where, call in found if not is_plain(call.args[2])] == []
