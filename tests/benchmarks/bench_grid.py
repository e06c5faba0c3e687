"""Frame times of the grid with its traces and overview on a film of 2,000 shots. Run: python
tests/benchmarks/bench_grid.py [SHOTS]

A frame is what one step of a scroll bar costs until everything it moved is painted: grid, names, shots, traces and the
overview's frame, on the offscreen platform.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
_ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(_ROOT / "app"), str(_ROOT / "tests")]

import numpy as np  # noqa: E402 - after the environment is set
from PySide6.QtCore import QSettings  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402

from gui_films import film_session  # noqa: E402
from samelight.gui.application import application  # noqa: E402
from samelight.gui.main_window import MainWindow  # noqa: E402

FRAMES = 200
WIDTHS = (1, 2, 4, 8, 16, 40, 62)


def settle(app: QApplication) -> None:
    for _ in range(4):
        app.processEvents()


def frames(app: QApplication, window: MainWindow, *, sideways: bool, step: int) -> np.ndarray:
    """Milliseconds of each frame of a scroll to and fro: by the clock, and of the processor alone; shape (2, frames)."""
    assert window.grid is not None
    bar = window.grid.horizontalScrollBar() if sideways else window.grid.verticalScrollBar()
    span = max(bar.maximum(), 1)
    bar.setValue(0)
    settle(app)
    took = []
    for frame in range(FRAMES):
        place = (frame + 1) * step % (2 * span)
        start, worked = time.perf_counter(), time.process_time()
        bar.setValue(place if place <= span else 2 * span - place)
        app.processEvents()
        took.append(((time.perf_counter() - start) * 1000, (time.process_time() - worked) * 1000))
    return np.array(took).T


def said(title: str, took: np.ndarray) -> str:
    figures = [np.percentile(kind, share) for kind in took for share in (50, 99, 100)]
    return f"{title:<34}" + "".join(f"{figure:>9.1f}" for figure in figures)


def main() -> None:
    shots = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    with tempfile.TemporaryDirectory() as folder:
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, folder)
        app = application()
        start = time.perf_counter()
        session = film_session(Path(folder) / "film", shots)
        print(f"film made and compared in {time.perf_counter() - start:.1f} s")
        window = MainWindow()
        window.resize(1600, 900)
        window.show()
        start = time.perf_counter()
        window.show_session(session)
        settle(app)
        print(f"window shown in {(time.perf_counter() - start) * 1000:.0f} ms")
        start = time.perf_counter()
        window.do_expand()
        settle(app)
        print(f"all groups expanded in {(time.perf_counter() - start) * 1000:.0f} ms")
        window.select(session.shots[0], "lights.light_00.direction")
        assert window.model is not None and window.grid is not None
        print(f"{shots} shots x {window.model.rowCount()} lines at 1600 x 900; ms a frame")
        print(f"{'':<34}{'by the clock':>27}{'processor':>27}")
        print(f"{'':<34}" + f"{'median':>9}{'99 %':>9}{'worst':>9}" * 2)
        everything = []
        for width in WIDTHS:
            window.grid.set_column_width(width)
            settle(app)
            for title, sideways, step in (
                ("sideways, 3 columns a frame", True, 3 * width),
                ("sideways, a page a frame", True, 1000),
                ("down, 2 lines a frame", False, 48),
                ("down, a page a frame", False, 500),
            ):
                took = frames(app, window, sideways=sideways, step=step)
                everything.append(took)
                print(said(f"{width:>3} px  {title}", took))
        print(said("all", np.concatenate(everything, axis=1)))
        print(f"{os.cpu_count()} processors, {os.getloadavg()[0]:.1f} of them wanted in the last minute")
        window.close()


if __name__ == "__main__":
    main()
