"""Frame times of the grid with its traces and overview on a film of 2,000 shots, and of another of 5,000 with the whole
cut in view. Run: python tests/benchmarks/bench_grid.py [SHOTS]

A frame is what one step of a scroll bar or of the zoom costs until everything it moved is painted: grid,
names, shots, traces and the overview's frame, on the offscreen platform. Where a frame is long by the clock and short by
the processor, which counts the window's own thread, another thread or the machine was busy with something else. What the
collector of garbage took is said apart.
"""

from __future__ import annotations

import gc
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
_ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(_ROOT / each) for each in ("app", "tests", "tests/support")]

import numpy as np  # noqa: E402 - after the environment is set
from PySide6.QtCore import QSettings  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402

from gui_films import film_session  # noqa: E402
from gui_help import opened  # noqa: E402
from samelight.gui.window.application import application  # noqa: E402
from samelight.gui.window.main_window import MainWindow  # noqa: E402

FRAMES = 200
LONG_CUT = 5000
WIDTHS = (1, 2, 4, 8, 16, 40, 62)


def settle(app: QApplication) -> None:
    for _ in range(4):
        app.processEvents()


def stepped(app: QApplication, step: Callable[[int], object]) -> np.ndarray:
    """Milliseconds of the frame after each step: by the clock, and of the processor in this thread; shape (2, frames)."""
    settle(app)
    took = []
    for frame in range(FRAMES):
        start, worked = time.perf_counter(), time.thread_time()
        step(frame)
        app.processEvents()
        took.append(((time.perf_counter() - start) * 1000, (time.thread_time() - worked) * 1000))
    return np.array(took).T


def frames(app: QApplication, window: MainWindow, *, sideways: bool, step: int) -> np.ndarray:
    """The frames of a scroll to and fro."""
    grid = opened(window).views.grid
    bar = grid.horizontalScrollBar() if sideways else grid.verticalScrollBar()
    span = max(bar.maximum(), 1)
    bar.setValue(0)

    def scroll(frame: int) -> None:
        place = (frame + 1) * step % (2 * span)
        bar.setValue(place if place <= span else 2 * span - place)

    return stepped(app, scroll)


def fitted(app: QApplication, window: MainWindow) -> list[np.ndarray]:
    """The frames of a fitted cut: down its rows, and in and out of it by the zoom."""
    grid = opened(window).views.grid
    grid.widths.fit()
    found = []
    for title, step in (("down, 2 lines a frame", 48), ("down, a page a frame", 500)):
        settle(app)
        took = frames(app, window, sideways=False, step=step)
        print(said(f"fit     {title}", took))
        found.append(took)
    took = stepped(app, lambda frame: grid.widths.zoom(1 if frame % 50 < 25 else -1))
    print(said("fit     zoom, in and out", took))
    return [*found, took]


class Collections:
    """What the collector of garbage took."""

    def __init__(self) -> None:
        self.took: list[float] = []
        self._start = 0.0
        gc.callbacks.append(self._noted)

    def _noted(self, phase: str, info: dict[str, int]) -> None:
        if phase == "start":
            self._start = time.thread_time()
        else:
            self.took.append((time.thread_time() - self._start) * 1000)

    def said(self) -> str:
        took = self.took or [0.0]
        return f"garbage collected {len(self.took)} times, {sum(took):.0f} ms together, {max(took):.1f} ms the longest"


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
        window.run("expand")
        settle(app)
        print(f"all groups expanded in {(time.perf_counter() - start) * 1000:.0f} ms")
        window.select(session.contents.shots[0], "lights.light_00.direction")
        views = opened(window).views
        print(f"{shots} shots x {views.model.rowCount()} lines at 1600 x 900; ms a frame")
        print(f"{'':<34}{'by the clock':>27}{'processor':>27}")
        print(f"{'':<34}" + f"{'median':>9}{'99 %':>9}{'worst':>9}" * 2)
        everything = []
        collections = Collections()
        for width in WIDTHS:
            views.grid.widths.set_width(width)
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
        everything += fitted(app, window)
        print(said("all", np.concatenate(everything, axis=1)))
        print(collections.said())
        session = film_session(Path(folder) / "long", LONG_CUT)
        window.show_session(session)
        settle(app)
        window.run("expand")
        settle(app)
        window.select(session.contents.shots[0], "lights.light_00.direction")
        print(f"{LONG_CUT} shots x {opened(window).views.model.rowCount()} lines")
        fitted(app, window)
        print(f"{os.cpu_count()} processors, {os.getloadavg()[0]:.1f} of them wanted in the last minute")
        window.close()


if __name__ == "__main__":
    main()
