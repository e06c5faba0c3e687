"""The window is on the screen before anything loads that only an open sequence needs."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

APP = Path(__file__).parents[3] / "app"

OF_A_SEQUENCE = frozenset(
    {"OpenEXR", "OpenImageIO", "deepdiff", "numpy", "pxr", "pyqtgraph", "rich", "scipy", "yaml"}
)

_FIRST_PAINT = """
import sys
from samelight.gui.window.application import application
from samelight.gui.window.main_window import MainWindow
app = application()
window = MainWindow()
window.welcome.show_loading("harbour")
window.show()
app.processEvents()
assert not window.grab().isNull()
print(*sys.modules)
"""


def test_the_window_is_on_the_screen_before_what_only_a_sequence_needs_is_loaded(tmp_path: Path) -> None:
    folders = {name: str(tmp_path) for name in ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")}
    environment = {**os.environ, **folders, "PYTHONPATH": str(APP), "QT_QPA_PLATFORM": "offscreen"}
    words = [sys.executable, "-c", _FIRST_PAINT]
    done = subprocess.run(words, env=environment, capture_output=True, check=True, text=True)
    loaded = set(done.stdout.split())
    assert {name.partition(".")[0] for name in loaded}.isdisjoint(OF_A_SEQUENCE)
    ours = {name for name in loaded if name.startswith("samelight.")}
    assert {name.split(".")[1] for name in ours}.isdisjoint(
        {"drift", "decisions", "findings", "changes", "cli"}
    )
    rooms = {name.split(".")[2] for name in ours if name.startswith("samelight.gui.")}
    assert rooms == {"background", "paint", "widgets", "window"}
