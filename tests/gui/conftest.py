"""A window on a copy of the harbour sequence, with settings of its own."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import open_window
from samelight.decisions import ledger
from samelight.gui.paint import theme
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session, open_session

SAMPLES = Path(__file__).parents[2] / "sample_sequences"


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path) -> None:
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path / "settings"))


@pytest.fixture(autouse=True)
def a_slow_disk_is_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A decision is on disk when deciding returns, on a machine that is busy too."""
    monkeypatch.setattr(ledger, "PATIENCE", 60.0)


@pytest.fixture(autouse=True, scope="session")
def dressed(qapp: QApplication) -> None:
    """As the program does: once. Another style while widgets of earlier tests are still about takes Qt down now and then."""
    theme.apply(qapp)


@pytest.fixture
def harbour_folder(tmp_path: Path) -> Path:
    """A copy of harbour in which nothing is decided yet."""
    folder = tmp_path / "harbour"
    shutil.copytree(SAMPLES / "harbour", folder, ignore=shutil.ignore_patterns("decisions"))
    return folder


@pytest.fixture
def harbour_session(harbour_folder: Path) -> Session:
    return open_session(harbour_folder)


@pytest.fixture
def window(qtbot: QtBot, harbour_folder: Path) -> Iterator[MainWindow]:
    made = open_window(qtbot, harbour_folder)
    yield made
    made.close()
