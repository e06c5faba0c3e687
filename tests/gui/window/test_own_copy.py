"""A sample is opened in a copy of the user's own."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from gui_help import open_window
from samelight.decisions.decision import Verb
from samelight.gui.window.main_window import MainWindow
from samelight.sequence import samples
from samelight.sheets.resources import sample_sequence
from samples import content


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(samples, "own_samples", lambda: tmp_path / "data" / "1.0")
    return tmp_path / "data" / "1.0"


def test_the_window_opens_the_copy_whoever_asks(qtbot: QtBot, own: Path) -> None:
    before = content(sample_sequence("first_steps"))
    window = open_window(qtbot, sample_sequence("first_steps"))
    assert window.session is not None and window.session.contents.folder == own / "first_steps"
    window.session.decide(Verb.RETURN, window.session.cases.unsettled_cells()[:1], "lead", "tried")
    window.close()
    assert content(sample_sequence("first_steps")) == before


def test_a_window_that_cannot_make_a_copy_says_so(qtbot: QtBot, own: Path) -> None:
    own.parent.parent.mkdir(exist_ok=True)
    own.parent.write_bytes(b"")  # a file where the folder should be
    window = MainWindow()
    qtbot.addWidget(window)
    window.show()
    window.open_folder(sample_sequence())
    assert not window.loader.busy
    assert "no copy of it could be made" in window.welcome.text.text()
    window.close()
