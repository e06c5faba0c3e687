"""What the window read of a film is kept a little later, as it was opened, also when the program ends before."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from film_files import write_film
from samelight.gui.background import loading
from samelight.sequence import disk
from samelight.sequence.keeping import first_comparison
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import Session, open_session


def test_what_was_opened_is_kept_whatever_the_session_holds_by_then(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(disk, "cache_folder", lambda: tmp_path / "cache")
    loader = loading.Loader()
    with qtbot.waitSignal(loader.opened) as opened:
        loader.open(write_film(tmp_path / "film"))
    session: Session = opened.args[0]
    session.hold_against(Reference(Against.BEFORE))
    assert not (tmp_path / "cache").exists()  # what was opened is painted first
    loader.close()
    assert {path.suffix for path in (tmp_path / "cache").iterdir()} == {".json", ".table"}
    again = open_session(tmp_path / "film", at_once=False)
    assert first_comparison(again.contents).is_kept


def test_a_reading_that_was_cancelled_opens_nothing_also_when_it_was_through(
    qtbot: QtBot, harbour_folder: Path
) -> None:
    """As when the window is closed at that moment: what would be opened then would be watched by nobody's window."""
    loader, opened = loading.Loader(), list[Session]()
    loader.opened.connect(opened.append)
    loader.open(harbour_folder)
    assert loader.background.wait()  # it has told, and this thread has not listened yet
    loader.cancel()
    QApplication.processEvents()
    assert opened == []
