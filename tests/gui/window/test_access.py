"""Every control of every screen says what it is and is reached by keys, and no text is clipped when type is large."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from gui_looks import clipped, controls, tab_order, unsaid
from samelight.gui.dialogs.keys_box import KeysBox
from samelight.gui.dialogs.mend_dialog import MendDialog
from samelight.gui.dialogs.pages_dialog import PagesDialog
from samelight.gui.dialogs.publish_dialog import PublishDialog
from samelight.gui.paint import theme
from samelight.gui.review.review_commands import REVIEW_COMMANDS
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.widgets.commands import keys_of
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.welcome import Explanation, Welcome
from samelight.sequence.session import Session

Make = Callable[[Session], QWidget]


def welcome(_: Session) -> QWidget:
    page = Welcome()
    page.show_recent([Path("/shows/harbour"), Path("/shows/quay")])
    return page


def loading(_: Session) -> QWidget:
    page = Welcome()
    page.show_loading("harbour")
    page.show_progress(7, 26, "HB_060.v002.yaml")
    return page


def failed(_: Session) -> QWidget:
    page = Welcome()
    page.show_failed(
        "/shows/harbour/sequence.yaml:12:3: expected a list of shots under cut, found a text. " * 3
    )
    return page


def explanation(_: Session) -> QWidget:
    holder = QWidget()
    Explanation(holder)
    return holder


def review(session: Session) -> QWidget:
    window = ReviewWindow(Settings())
    window.show_session(session, "HB_060")
    return window


def publish(session: Session) -> QWidget:
    return PublishDialog(session, "lead")


def pages(session: Session) -> QWidget:
    return PagesDialog(session, Settings())


def mend(session: Session) -> QWidget:
    return MendDialog(session, "lead", {"HB_060"})


def keys(_: Session) -> QWidget:
    return KeysBox(keys_of(REVIEW_COMMANDS))


SCREENS: tuple[Make, ...] = (welcome, loading, failed, explanation, review, publish, pages, mend, keys)


@pytest.fixture
def shown(qtbot: QtBot, harbour_session: Session) -> Iterator[Callable[[Make], QWidget]]:
    made: list[QWidget] = []

    def show(make: Make) -> QWidget:
        window = make(harbour_session)
        made.append(window)
        qtbot.addWidget(window)
        window.resize(window.size().expandedTo(window.minimumSizeHint()))
        if not isinstance(window, KeysBox | PublishDialog | PagesDialog | MendDialog):
            window.resize(1600, 900)
        window.show()
        QApplication.processEvents()
        return window

    yield show
    for window in made:
        window.close()


@pytest.fixture(params=[1.0, 1.5, 2.0], ids=["100 %", "150 %", "200 %"])
def large_type(request: pytest.FixtureRequest, qapp: QApplication) -> Iterator[float]:
    """All type that much larger, as on a screen that is set so."""
    plain, scale = theme.font, float(request.param)

    def font(points: float = 10.0, *, bold: bool = False) -> QFont:
        return plain(points * scale, bold=bold)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(theme, "font", font)
        theme.apply(qapp)
        yield scale
    theme.apply(qapp)


@pytest.mark.parametrize("make", SCREENS)
def test_every_control_says_what_it_is_and_has_a_key(make: Make, shown: Callable[[Make], QWidget]) -> None:
    window = shown(make)
    assert controls(window)
    assert unsaid(window) == []


@pytest.mark.parametrize("make", SCREENS)
def test_no_text_is_clipped_however_large(
    make: Make, shown: Callable[[Make], QWidget], large_type: float
) -> None:
    window = shown(make)
    assert window.font().pointSizeF() == pytest.approx(10 * large_type)
    assert clipped(window) == []


@pytest.mark.parametrize("make", [welcome, failed, publish, review])
def test_tab_goes_through_all_of_it_from_above_to_below(
    make: Make, shown: Callable[[Make], QWidget], qtbot: QtBot
) -> None:
    window = shown(make)
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    order = tab_order(window)
    order[0].setFocus()
    seen = [window.focusWidget()]
    for _ in order[1:]:
        QTest.keyClick(window.focusWidget() or window, Qt.Key.Key_Tab)
        seen.append(window.focusWidget())
    assert seen == order
    tops = [each.mapTo(window, each.rect().topLeft()).y() for each in order]
    bottoms = [each.mapTo(window, each.rect().bottomLeft()).y() for each in order]
    # Nothing that comes later lies above what came before.
    for place, top in enumerate(tops):
        assert all(bottom >= top for bottom in bottoms[place:])


def test_what_is_wrong_would_be_found(qtbot: QtBot) -> None:
    from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout

    holder = QWidget()
    qtbot.addWidget(holder)
    layout = QVBoxLayout(holder)
    mute, narrow = QPushButton(), QLabel("far more than has room here")
    mute.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    narrow.setFixedWidth(20)
    for widget in (mute, narrow):
        layout.addWidget(widget)
    holder.show()
    assert len(unsaid(holder)) == 3
    assert len(clipped(holder)) == 1 and clipped(holder)[0].startswith("QLabel 'far more")
