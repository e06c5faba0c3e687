"""A window on a copy of the harbour sequence, with settings of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt, SignalInstance
from PySide6.QtGui import QCursor, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot
from pytestqt.wait_signal import SignalBlocker

from gui_help import LEFT_BEHIND, leave_behind, open_window, show_window, window_on
from samelight.decisions import ledger
from samelight.gui.background.sweeping import Sweeping, swept_in_this_thread
from samelight.gui.paint import theme
from samelight.gui.widgets.settings import Settings
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session, open_session
from samples import copy_of
from standing_harbour import StandingHarbour
from standing_window import StandingWindow

PATIENCE = 240_000
"""Milliseconds in which what a test waits for comes, also on a machine that does much else; it costs only where it never does."""


class PatientBot(QtBot):
    """Waits for as long as it takes."""

    def waitUntil(self, callback: Callable[[], bool | None], *, timeout: int = PATIENCE) -> None:  # noqa: N802 - pytest-qt names it
        super().waitUntil(callback, timeout=timeout)

    def waitSignal(  # noqa: N802 - as above
        self, signal: SignalInstance, *, timeout: int = PATIENCE, **more: Any
    ) -> SignalBlocker:
        return super().waitSignal(signal, timeout=timeout, **more)


@pytest.fixture
def qtbot(qapp: QApplication, request: pytest.FixtureRequest) -> QtBot:
    """Pytest-qt's own, with patience."""
    return PatientBot(request)


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path) -> None:
    """Nothing of the user's own. Every row is listed in the sheet's order, as a lighter left it who looks at all; and no
    frames are read that a test does not look at. `first_start` is a user who left nothing."""
    leave_behind(tmp_path / "settings")


@pytest.fixture
def first_start(own_settings: None) -> None:
    """The window comes up as it does for somebody who starts the program for the first time."""
    settings = Settings()
    for key in LEFT_BEHIND:
        settings.forget(key)
    settings.sync()


@pytest.fixture(autouse=True)
def a_slow_disk_is_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A decision is on disk when deciding returns, on a machine that is busy too."""
    monkeypatch.setattr(ledger, "PATIENCE", 60.0)


@pytest.fixture(autouse=True)
def what_is_said_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """Until something else is said, however long a busy machine takes to come to where it is read."""
    for module in ("window.main_window", "review.bar"):
        monkeypatch.setattr(f"samelight.gui.{module}._SAID_FOR", PATIENCE)


@pytest.fixture(autouse=True, scope="module")
def sweeping(qapp: QApplication) -> Iterator[Sweeping]:
    """As in the program, Python searches for garbage in the window's thread alone."""
    with swept_in_this_thread() as made:
        yield made


@pytest.fixture(autouse=True)
def closed_windows_are_swept(sweeping: Sweeping) -> Iterator[None]:
    """What a test closed is deleted after it, which Qt leaves to an event loop that tests do not have."""
    yield
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    sweeping.look()


@pytest.fixture(autouse=True)
def no_key_is_held(qapp: QApplication) -> None:
    """Qt takes Ctrl for held after a test that pressed a key with it, and a cell that is gone to is then not selected."""
    if QGuiApplication.keyboardModifiers() != Qt.KeyboardModifier.NoModifier:
        QTest.keyClick(QWidget(), Qt.Key.Key_F35)
    assert QGuiApplication.keyboardModifiers() == Qt.KeyboardModifier.NoModifier


@pytest.fixture(autouse=True)
def the_pointer_is_away(qapp: QApplication) -> Iterator[None]:
    """It stays where a test put it, and a window that comes up there takes that for a move of the mouse: also one that the tests of
    the next module share, which is made before any of them."""
    QCursor.setPos(-10_000, -10_000)
    yield
    QCursor.setPos(-10_000, -10_000)


@pytest.fixture(autouse=True, scope="session")
def dressed(qapp: QApplication) -> None:
    """As the program does: once. Another style while widgets of earlier tests are still about takes Qt down now and then."""
    theme.apply(qapp)


@pytest.fixture
def harbour_folder(tmp_path: Path) -> Path:
    """A copy of harbour in which nothing is decided yet."""
    return copy_of("harbour", tmp_path / "harbour", decided=False)


@pytest.fixture(scope="session")
def _harbour_of_all(tmp_path_factory: pytest.TempPathFactory) -> StandingHarbour:
    return StandingHarbour(tmp_path_factory.mktemp("standing") / "harbour")


@pytest.fixture(scope="module")
def harbour_of_module(_harbour_of_all: StandingHarbour) -> StandingHarbour:
    """The copy that the tests of a module look at; a module may have one of its own."""
    return _harbour_of_all


@pytest.fixture
def standing_harbour(harbour_of_module: StandingHarbour) -> Iterator[StandingHarbour]:
    """A harbour that was read already, in which nothing is decided. Its files are for looking at."""
    yield harbour_of_module
    harbour_of_module.put_back()


@pytest.fixture
def harbour_session(request: pytest.FixtureRequest) -> Session:
    """On `harbour_folder` where a test asks for that as well, else on what was read already."""
    if "harbour_folder" in request.fixturenames:
        return open_session(request.getfixturevalue("harbour_folder"))
    standing: StandingHarbour = request.getfixturevalue("standing_harbour")
    return standing.session()


@pytest.fixture
def own_window(qtbot: QtBot, request: pytest.FixtureRequest) -> Iterator[MainWindow]:
    """With harbour open: `harbour_folder` where a test asks for that as well, else what was read already."""
    if "harbour_folder" in request.fixturenames:
        made = open_window(qtbot, request.getfixturevalue("harbour_folder"))
    else:
        standing: StandingHarbour = request.getfixturevalue("standing_harbour")
        made = show_window(qtbot, standing.session(at_once=False))
    yield made
    made.close()


@pytest.fixture
def window(own_window: MainWindow) -> MainWindow:
    """As `own_window`, unless a module says that its tests look at the standing one."""
    return own_window


@pytest.fixture(scope="module")
def _window_of_module(harbour_of_module: StandingHarbour, qapp: QApplication) -> Iterator[StandingWindow]:
    made = StandingWindow(lambda: window_on(harbour_of_module.session(at_once=False)))
    yield made
    made.close()


@pytest.fixture
def standing_window(
    _window_of_module: StandingWindow, standing_harbour: StandingHarbour, qtbot: QtBot
) -> Iterator[MainWindow]:
    """`window` for a test that looks: one for all such tests of a module, put back after each of them."""
    yield _window_of_module.window()
    _window_of_module.put_back()
