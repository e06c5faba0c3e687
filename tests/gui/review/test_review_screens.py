"""The review window on one of two screens."""

from __future__ import annotations

import doctest
import json
import os
import subprocess
import sys
from pathlib import Path

from samelight.gui.review import monitors
from samples import copy_of

SCREENS = {
    "synchronousWindowSystemEvents": False,
    "windowFrameMargins": False,
    "screens": [
        {
            "name": name,
            "x": x,
            "y": 0,
            "width": width,
            "height": height,
            "logicalDpi": 96,
            "logicalBaseDpi": 96,
            "dpr": 1,
        }
        for name, x, width, height in (("desk", 0, 1600, 1000), ("room", 1600, 1920, 1080))
    ],
}

STORY = """
import sys, time
from pathlib import Path
from samelight.gui.window.application import application
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import open_session

app = application()

def settle():
    for _ in range(20):
        app.processEvents()
        time.sleep(0.005)

def say(window):
    settle()
    here = window.geometry()
    print(window.screen().name(), window.isFullScreen(), here.x(), here.width(), here.height())

main = MainWindow()
main.setGeometry(100, 100, 1200, 800)
main.show()
main.show_session(open_session(Path(sys.argv[1])))
settle()
main.run("review")
review = main.review.window
say(review)
for name in ("screen", "full", "screen"):
    review.actions_by_name[name].trigger()
    say(review)
review.bar.screen_menu.aboutToShow.emit()
print([action.text() for action in review.bar.screen_menu.actions() if action.isChecked()])
review.bar.screen_menu.actions()[0].trigger()
say(review)
review.close()
main.run("review")
say(review)
main.close()
"""


def test_the_examples_of_the_documentation_hold() -> None:
    assert doctest.testmod(monitors).failed == 0


def test_it_comes_up_on_the_second_screen_and_stays_where_it_was_put(tmp_path: Path) -> None:
    """In a process of its own, since a platform has the screens that it was started with."""
    config = tmp_path / "screens.json"
    config.write_text(json.dumps(SCREENS), encoding="utf-8")
    environment = {
        **os.environ,
        "QT_QPA_PLATFORM": f"offscreen:configfile={config}",
        "XDG_CONFIG_HOME": str(tmp_path / "settings"),
        "PYTHONPATH": os.pathsep.join(sys.path),
    }
    done = subprocess.run(
        [sys.executable, "-c", STORY, str(copy_of("first_steps", tmp_path / "first"))],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [
        "room True 1600 1920 1080",
        "desk True 0 1600 1000",
        "desk False 160 1280 800",
        "room False 1792 1536 864",
        "['room, 1920 x 1080']",
        "desk False 160 1280 800",
        "desk False 160 1280 800",
    ]
