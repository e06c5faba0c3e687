"""What is drawn on screens of several factors, in one process. Qt reads the factors once, when it starts: so in one of its
own, which prints a JSON object for each screen."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QApplication

from gui_alignment import alignment, films
from gui_help import leave_behind
from gui_pens import pens
from samelight.gui.window.application import application
from samelight.sequence.session import open_session

_TESTS = Path(__file__).parents[1]
_SIDE = 4000
"""Of each screen, in its own pixels: larger than every window that is shown there."""


def on_screens(factors: Sequence[float], harbour: Path, own: Path) -> dict[float, dict[str, Any]]:
    """What is found of a sequence on a screen of each factor; `own` is a folder for what that needs."""
    own.mkdir()
    screens = [
        {"name": f"at {factor}", "x": _SIDE * at, "y": 0, "width": _SIDE, "height": _SIDE}
        | {"logicalDpi": 96, "logicalBaseDpi": 96, "dpr": 1}
        for at, factor in enumerate(factors)
    ]
    desktop = own / "desktop.json"
    desktop.write_text(json.dumps({"windowFrameMargins": False, "screens": screens}), encoding="utf-8")
    environment = {
        **os.environ,
        "QT_QPA_PLATFORM": f"offscreen:configfile={desktop}",
        "QT_SCREEN_SCALE_FACTORS": ";".join(f"at {factor}={factor}" for factor in factors),
        "PYTHONPATH": os.pathsep.join(map(str, (_TESTS, _TESTS / "support", _TESTS.parent / "app"))),
    }
    done = subprocess.run(
        [sys.executable, __file__, str(harbour), str(own)],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    found = {screen["ratio"]: screen for screen in json.loads(done.stdout)}
    assert list(found) == list(factors)
    return found


def main(folder: Path, own: Path) -> None:
    leave_behind(own)
    application()
    harbour, made_up = open_session(folder), films(own / "film")
    found = []
    for screen in QApplication.screens():
        thick = pens(harbour, screen) if screen.devicePixelRatio().is_integer() else {}
        found.append({"pens": thick, **alignment(harbour, made_up, screen)})
    print(json.dumps(found))


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
