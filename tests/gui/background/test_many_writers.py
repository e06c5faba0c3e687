"""Eight people decide at once while a window watches: nothing is lost, and the window sees all of it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from pytestqt.qtbot import QtBot

from gui_help import open_window
from samelight.decisions.ledger import open_ledger

APP = Path(__file__).parents[3] / "app"
WRITERS, EACH = 8, 125

WRITER = """
import sys
from pathlib import Path
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import Subject, open_ledger

ledger = open_ledger(Path(sys.argv[1]))
for index in range(int(sys.argv[3])):
    subject = Subject(f"HB_{index:03d}", f"lights.writer_{sys.argv[2]}.level", float(index), 0.0)
    ledger.decide(Verb.RETURN, [subject], f"writer {sys.argv[2]}", "to be mended")
"""


def test_eight_writers_and_a_window(qtbot: QtBot, harbour_folder: Path) -> None:
    window = open_window(qtbot, harbour_folder)
    environment = {**os.environ, "PYTHONPATH": str(APP)}
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(harbour_folder), str(number), str(EACH)], env=environment
        )
        for number in range(WRITERS)
    ]
    assert window.session is not None
    ledger = window.session.ledger
    qtbot.waitUntil(lambda: all(writer.poll() is not None for writer in writers))
    assert [writer.returncode for writer in writers] == [0] * WRITERS
    qtbot.waitUntil(lambda: len(ledger.all()) == WRITERS * EACH)
    fresh = open_ledger(harbour_folder)
    assert len(fresh.all()) == WRITERS * EACH
    assert fresh.faults == () and ledger.faults == ()
    window.close()
