"""Whether the window stays steady on a film. Run: python tests/benchmarks/bench_steady.py --shots 2000 --seconds 600 --reloads 1000

The longest pauses of a random walk, each with what was done before it and where the window's thread was meanwhile: by the clock,
and of the processor in the window's own thread, which does not hang on what else the machine does. What a frame of scrolling and zooming takes of the latter.
Memory over many reloads. What an idle window takes of a processor. Threads and open files before the window is opened and after it is closed. On the offscreen platform.
"""

from __future__ import annotations

import argparse
import gc
import os
import random
import sys
import tempfile
import threading
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1] / "app"), str(HERE.parent)]

if TYPE_CHECKING:
    from samelight.gui.window.main_window import MainWindow

PAUSE = 0.05
"""Seconds of a pause that somebody notices."""
FRAMES = 200
WIDTHS = (1, 8, 62)
"""Pixels of a column."""
DEEP = 6
"""How many calls of the program are told of a place."""


class Watchdog:
    """Ticks in the window's thread, and notes how long each tick was in coming, and after what was done. A thread beside it
    looks where the window is while a tick is late."""

    def __init__(self) -> None:
        from PySide6.QtCore import QTimer

        self.doing = "nothing"
        self.pauses: list[tuple[float, float, str]] = []
        self._clock, self._work = time.monotonic(), time.thread_time()
        self._timer = QTimer()
        self._timer.timeout.connect(self.tick)
        self._timer.start(2)
        self._window, self._over = threading.get_ident(), threading.Event()
        self._late: list[str] = []
        self.stacks: dict[str, Counter[str]] = defaultdict(Counter)
        """By what was done, where the window was while a tick was late, innermost first."""
        threading.Thread(target=self._look, daemon=True).start()

    def _look(self) -> None:
        while not self._over.wait(PAUSE / 5):
            if time.monotonic() - self._clock > PAUSE / 2:
                frame = sys._current_frames().get(self._window)  # noqa: SLF001 - there is no other way to see another thread
                calls = traceback.extract_stack(frame)[::-1]
                own = [
                    f"{Path(one.filename).stem}.{one.name}:{one.lineno}"
                    for one in calls
                    if "samelight" in one.filename
                ]
                self._late.append(" < ".join(own[:DEEP]) or "Qt")

    def tick(self) -> None:
        """Note the time since the last tick."""
        clock, work = time.monotonic(), time.thread_time()
        self.pauses.append((work - self._work, clock - self._clock, self.doing))
        if work - self._work > PAUSE:
            self.stacks[self.doing].update(self._late)
        self._late = []
        self._clock, self._work = clock, work

    def say(self) -> None:
        """Print the longest pauses."""
        self._timer.stop()
        self._over.set()
        long = [one for one in self.pauses if one[0] > PAUSE]
        print(f"{len(self.pauses)} ticks, {len(long)} of them after more than {PAUSE * 1000:.0f} ms of work")
        worst: dict[str, tuple[float, float]] = {}
        for work, clock, doing in self.pauses:
            worst[doing] = max(worst.get(doing, (0.0, 0.0)), (work, clock))
        for doing, (work, clock) in sorted(worst.items(), key=lambda one: -one[1][0])[:12]:
            print(f"  {1000 * work:6.0f} ms of work, {1000 * clock:6.0f} ms by the clock: {doing}")
            for stack, times in self.stacks[doing].most_common(3):
                print(f"         {times} x {stack}")


def walk(window: MainWindow, seconds: float, dice: random.Random) -> None:
    """Do what a person does, at random."""
    from PySide6.QtTest import QTest

    opened = window.opened
    assert opened is not None
    session, grid = opened.session, opened.views.grid
    rows, shots = len(session.table.rows), len(session.contents.shots)

    def scroll() -> None:
        for bar in (grid.horizontalScrollBar(), grid.verticalScrollBar()):
            bar.setValue(dice.randint(0, max(bar.maximum(), 1)))

    acts: dict[str, Callable[[], object]] = {
        "go to a cell": lambda: grid.go_to(dice.randrange(rows), dice.randrange(shots)),
        "scroll": scroll,
        "type into the filter": lambda: window.bar.filter_edit.setText(
            dice.choice(("", "l", "li", "light_0", "sun"))
        ),
        "step through findings": lambda: window.findings.step(dice.choice((-1, 1))),
    }
    for command in ("next", "previous", "overview", "sky", "plan", "only_drifting", "expand", "collapse"):
        if command in window.actions_by_name:
            acts[command] = partial(window.run, command)
    dog = Watchdog()
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        dog.doing = dice.choice(list(acts))
        acts[dog.doing]()
        QTest.qWait(dice.choice((5, 30, 200)))
    dog.say()


def frames(window: MainWindow) -> None:
    """Print what steps of a scroll bar and of the zoom take until all that moved is painted: in the window's own thread, as median, 99 %
    and worst of so many milliseconds."""
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication, QScrollBar

    assert window.opened is not None
    grid = window.opened.views.grid
    window.bar.filter_edit.clear()
    window.bar.list_all()
    window.run("expand")

    def stepped(title: str, step: Callable[[int], object]) -> None:
        QTest.qWait(200)
        took = []
        for frame in range(FRAMES):
            start = time.thread_time()
            step(frame)
            QApplication.processEvents()
            took.append(1000 * (time.thread_time() - start))
        took.sort()
        said = "".join(f"{took[round(share * (FRAMES - 1))]:8.1f}" for share in (0.5, 0.99, 1.0))
        print(f"a frame, {title:<34}{said}")

    def to_and_fro(bar: QScrollBar, each: int, frame: int) -> None:
        span = max(bar.maximum(), 1)
        place = (frame + 1) * each % (2 * span)
        bar.setValue(min(place, 2 * span - place))

    across, down = grid.horizontalScrollBar(), grid.verticalScrollBar()
    for width in WIDTHS:
        grid.widths.set_width(width)
        ways = (("3 columns", across, 3 * width), ("a page across", across, 1000))
        for title, bar, each in (*ways, ("2 lines", down, 48), ("a page down", down, 500)):
            stepped(f"{width} px a column, {title}", partial(to_and_fro, bar, each))
    grid.widths.fit()
    stepped("whole cut, a page down", partial(to_and_fro, down, 500))
    stepped("whole cut, zoom", lambda frame: grid.widths.zoom(1 if frame % 50 < 25 else -1))


def reload_often(window: MainWindow, times: int) -> None:
    """Read the sequence again and again, and print what the process holds."""
    from PySide6.QtTest import QTest

    said = []
    for number in range(times + 1):
        if number % max(1, times // 10) == 0:
            said.append(f"{number}: {_mebibytes():.0f} MiB")
        before = window.session
        window.run("reload")
        while window.session is before or window.loader.busy:
            QTest.qWait(2)
    print("reloads,", ", ".join(said))


def idle(window: MainWindow, seconds: float) -> None:
    """Print what of a processor a window takes that nobody touches, after it came to rest."""
    from PySide6.QtCore import QEventLoop, QTimer
    from PySide6.QtTest import QTest

    QTest.qWait(3000)
    start, work = time.monotonic(), time.process_time()
    loop = QEventLoop()  # to wait as a test does wakes up a hundred times a second
    QTimer.singleShot(int(1000 * seconds), loop.quit)
    loop.exec()
    share = (time.process_time() - work) / (time.monotonic() - start)
    print(f"idle for {seconds:.0f} s: {100 * share:.2f} % of a processor")


def _mebibytes() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def _held() -> tuple[int, int]:
    """How many threads and open files the process has."""
    return threading.active_count(), len(os.listdir("/proc/self/fd"))  # noqa: PTH208 - names alone


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shots", type=int, default=2000)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--reloads", type=int, default=50)
    parser.add_argument("--idle", type=float, default=60)
    asked = parser.parse_args()
    from PySide6.QtCore import QEvent, QSettings
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    from benchmarks.film_on_disk import write_film
    from samelight.gui.background.sweeping import swept_in_this_thread
    from samelight.gui.paint import theme
    from samelight.gui.window.main_window import MainWindow

    app = QApplication(["steady"])
    theme.apply(app)
    with tempfile.TemporaryDirectory() as scratch, swept_in_this_thread():
        os.environ["XDG_CACHE_HOME"] = f"{scratch}/cache"
        QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
        folder = write_film(Path(scratch, "film"), asked.shots)
        before = _held()
        window = MainWindow()
        window.resize(1600, 950)
        window.show()
        window.open_folder(folder)
        while window.session is None or window.searching.busy:
            QTest.qWait(20)
        walk(window, asked.seconds, random.Random(1))
        frames(window)
        idle(window, asked.idle)
        reload_often(window, asked.reloads)
        window.close()
        window.deleteLater()
        del window
        QTest.qWait(500)
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        gc.collect()
        print(f"threads and open files before {before} and after {_held()}")


if __name__ == "__main__":
    main()
