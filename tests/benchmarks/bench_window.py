"""What the person at the window waits for, each measured until it is painted. Run: python tests/benchmarks/bench_window.py

Imports, opening and memory are those of a fresh process each time. A film is 2,000 shots x 540 rows on disk (see
film_on_disk.py). "cold" has nothing kept of its sheets from an earlier run, though the files are in the system's memory.
Medians; by the clock, and of the processor with all threads and child processes. On the offscreen platform.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1] / "app"), str(HERE.parent)]

if TYPE_CHECKING:
    from PySide6.QtGui import QPaintEvent
    from PySide6.QtWidgets import QApplication

    from samelight.gui.grid.view import GridView
    from samelight.gui.window.main_window import MainWindow
    from samelight.sequence.references import Reference

HARBOUR = HERE.parents[1] / "sample_sequences" / "harbour"
WORDS = "light_07 s"
"""Typed letter by letter into the filter."""
CHANGES = 7
PATIENCE = 600_000

Took = tuple[float, float]
"""Seconds by the clock, and of the processor."""

TARGETS = {
    "imports": 1.0,
    "harbour": 1.5,
    "film, cold": 4.0,
    "film, warm": 0.7,
    "one changed sheet": 0.05,
    "a changed tolerance": 0.1,
    "a filter keystroke": 0.05,
}
MOST_MIB = 600


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shots", type=int, default=2000)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--child", nargs=2, metavar=("KIND", "FOLDER"), help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.child:
        print(json.dumps(CHILDREN[asked.child[0]](Path(asked.child[1]))))
        return
    print(f"{platform.platform()}, Python {platform.python_version()}, {os.cpu_count()} processors")
    print(f"{'':<44}{'clock':>8}{'processor':>11}{'target':>8}   runs")
    with tempfile.TemporaryDirectory() as place:
        run_all(Path(place), asked.shots, asked.runs)
    print(f"{os.getloadavg()[0]:.1f} of the processors wanted in the last minute")


def run_all(place: Path, shots: int, runs: int) -> None:
    from benchmarks.film_on_disk import write_film

    def fresh(kind: str, folder: Path, *, kept: bool, left: bool = False) -> dict[str, Any]:
        cache, settings = place / "cache", place / "settings"
        if not left:
            shutil.rmtree(settings, ignore_errors=True)
        if not kept:
            shutil.rmtree(cache, ignore_errors=True)
        environment = {**os.environ, "XDG_CACHE_HOME": str(cache), "XDG_CONFIG_HOME": str(settings)}
        command = [sys.executable, __file__, "--child", kind, str(folder)]
        done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
        if done.returncode:
            raise SystemExit(done.stderr)
        found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
        return found

    opened = [fresh("open", HARBOUR, kept=False) for _ in range(runs)]
    say("imports, until a window can be made", "imports", [one["imports"] for one in opened])
    say("harbour, window to first painted grid", "harbour", [one["opened"] for one in opened])
    memory("harbour", opened)
    film = write_film(place / "film", shots)
    cold = [fresh("open", film, kept=False) for _ in range(max(runs // 2, 1))]
    say(f"{shots} shots, cold", "film, cold", [one["opened"] for one in cold])
    memory("film, cold", cold)
    warm = [fresh("open", film, kept=True) for _ in range(runs)]
    say(f"{shots} shots, warm", "film, warm", [one["opened"] for one in warm])
    memory("film, warm", warm)
    fresh("leave", film, kept=True)
    left = [fresh("open", film, kept=True, left=True)["opened"] for _ in range(runs)]
    say("  and with the sky up, as it was left", "film, warm", left)
    worked = fresh("work", film, kept=True)
    say("one changed sheet, once it is noticed", "one changed sheet", worked["sheet"])
    say("  the watcher's delay before that", "", worked["sheet delay"])
    say("a changed tolerance, once it is noticed", "a changed tolerance", worked["tolerance"])
    say("  the watcher's delay before that", "", worked["tolerance delay"])
    say(f"a filter keystroke, {worked['lines']} lines", "a filter keystroke", worked["filter"])
    say("  the slowest of them", "", [max(worked["filter"])])
    say("compared with the shot before, until drawn", "", [worked["before"]])
    say("  what of that holds up the window", "", [worked["before asked"]])
    say("back to the master", "", [worked["master"]])
    memory("after all that", [worked])


def say(title: str, target: str, took: list[Took]) -> None:
    clock, worked = (statistics.median(each) for each in zip(*took, strict=True))
    limit = TARGETS.get(target)
    wanted = f"{limit:>7.2f}{' ' if clock <= limit else '!'}" if limit is not None else " " * 8
    print(f"{title:<44}{clock:>8.3f}{worked:>11.3f}{wanted}   {len(took)}", flush=True)


def memory(title: str, found: list[dict[str, Any]]) -> None:
    own, child = (statistics.median(each) for each in zip(*(one["peak"] for one in found), strict=True))
    over = "!" if own > MOST_MIB else " "
    beside = f"   and {child:.0f} MiB the largest child process" if child else ""
    print(f"  {f'peak memory, {title}':<42}{own:>8.0f} MiB{MOST_MIB:>15}{over}{beside}", flush=True)


# In a process of its own


def now() -> Took:
    """By the clock, and of the processor: this process with its threads, and the ended children."""
    spent = os.times()
    return time.perf_counter(), time.process_time() + spent.children_user + spent.children_system


def since(start: Took, end: Took | None = None) -> Took:
    clock, worked = end or now()
    return clock - start[0], worked - start[1]


class Painted:
    """When the grid was painted last, and a loop that runs until it is."""

    def __init__(self) -> None:
        from PySide6.QtCore import QEventLoop, QTimer

        from samelight.gui.grid.view import GridView

        self.at: Took = (0.0, 0.0)
        self.loop = QEventLoop()
        self.patience = QTimer()
        self.patience.setSingleShot(True)
        self.patience.timeout.connect(self.loop.quit)
        self.ready: Callable[[], bool] = lambda: True
        paint = GridView.paintEvent

        def painted(view: GridView, event: QPaintEvent) -> None:
            paint(view, event)
            if self.ready():
                self.at = now()
                QTimer.singleShot(0, self.loop.quit)

        GridView.paintEvent = painted  # type: ignore[method-assign, assignment] # there is no signal for it

    def wait(self, ready: Callable[[], bool] = lambda: True) -> Took:
        """Run the program until the grid is painted while `ready`; when that was."""
        self.at, self.ready = (0.0, 0.0), ready
        self.patience.start(PATIENCE)
        self.loop.exec()
        self.patience.stop()
        assert self.at != (0.0, 0.0), "the grid was not painted"
        return self.at


def idle(app: QApplication, seconds: float = 0.3) -> None:
    """Let what comes after the grid happen: traces, overview, panels, a first look at the folder."""
    end = time.perf_counter() + seconds
    while time.perf_counter() < end:
        app.processEvents()
        time.sleep(0.005)


@contextmanager
def window_on(folder: Path) -> Iterator[tuple[QApplication, MainWindow, Painted, dict[str, Any]]]:
    """The window, opened on a folder, with what that took."""
    start = now()
    import samelight.cli.main  # noqa: F401 - the program starts there
    from samelight.gui.window.application import application
    from samelight.gui.window.main_window import MainWindow

    app = application()
    imports = since(start)
    painted = Painted()
    start = now()
    window = MainWindow()
    window.resize(1600, 900)
    window.show()
    window.open_folder(folder)
    opened = since(start, painted.wait())
    idle(app)
    yield app, window, painted, {"imports": imports, "opened": opened, "peak": peak()}
    window.close()


def peak() -> tuple[float, float]:
    """MiB at most so far: of this process, and of the largest of its children that ended."""
    import resource

    whose = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    own, child = (resource.getrusage(each).ru_maxrss / 1024 for each in whose)
    return own, child


def opened(folder: Path) -> dict[str, Any]:
    with window_on(folder) as (_, _, _, found):
        return found


def left(folder: Path) -> dict[str, Any]:
    """The window, closed with the sky in front of the inspector."""
    with window_on(folder) as (app, window, _, found):
        window.actions_by_name["sky"].trigger()
        idle(app)
    return found


def worked(folder: Path) -> dict[str, Any]:
    from samelight.gui.background.live import Live
    from samelight.sequence.references import MASTER, Against, Reference

    looked: list[Took] = []
    look = Live.look

    def noticed(self: Live, touched: frozenset[str] | None = None) -> None:
        start, before = now(), self._contents
        look(self, touched)
        if self._contents is not before:
            looked.append(start)

    Live.look = noticed  # type: ignore[method-assign] # where the watcher's delay ends
    with window_on(folder) as (app, window, painted, found):
        window.actions_by_name["expand"].trigger()
        idle(app, 2.5)

        def measured(write: Callable[[], object]) -> tuple[Took, Took]:
            """From the look that found it to the painted grid, and the delay before that look."""
            assert window.session is not None
            table, before = window.session.table, len(looked)
            start = now()
            write()
            end = painted.wait(lambda: window.session is not None and window.session.table is not table)
            while len(looked) == before:
                idle(app)
            idle(app, 2.5)
            # A look that was under way may find it as well: then nothing was waited for.
            seen = max(looked[-1], start)
            return since(seen, end), since(start, seen)

        assert window.session is not None and window.opened is not None
        path = window.session.contents.sheets[window.session.contents.shots[3]].path
        text = path.read_text(encoding="utf-8")
        policy = folder / "policy.yaml"

        def sheet(number: int) -> None:
            changed = re.sub(r"\bintensity: [\d.]+", f"intensity: {30 + number}", text, count=1)
            path.write_text(changed, encoding="utf-8")

        def tolerance(number: int) -> None:
            stated = f"lights.*.samples: {{at_most: {2 + number} x, why: measured}}"
            policy.write_text(f"samelight_policy: 2\ntolerances:\n  {stated}\n", encoding="utf-8")

        for name, change in (("sheet", sheet), ("tolerance", tolerance)):
            both = [measured(partial(change, number)) for number in range(CHANGES)]
            found[name], found[f"{name} delay"] = zip(*both, strict=True)
        path.write_text(text, encoding="utf-8")
        policy.unlink()
        idle(app, 2.5)
        found["lines"] = window.opened.views.model.rowCount()
        found["filter"] = typed(app, window, painted)
        found["before"], found["before asked"] = compared_with(
            Reference(Against.BEFORE), app, window, painted
        )
        found["master"], _ = compared_with(MASTER, app, window, painted)
        found["peak"] = peak()
        return found


def typed(app: QApplication, window: MainWindow, painted: Painted) -> list[Took]:
    """Each letter of a filter, typed and taken away again."""
    found = []
    for end in (*range(1, len(WORDS) + 1), *range(len(WORDS) - 1, -1, -1)):
        start = now()
        window.bar.filter_edit.setText(WORDS[:end])
        found.append(since(start, painted.wait()))
        idle(app, 0.2)
    return found


def compared_with(
    reference: Reference, app: QApplication, window: MainWindow, painted: Painted
) -> tuple[Took, Took]:
    """Until the shots are compared with another reference and that is painted, and of that until the window goes on."""
    start = now()
    window.reference_link.hold_against(reference)
    asked = since(start)
    end = painted.wait(
        lambda: window.session is not None and window.session.comparison.reference == reference
    )
    idle(app, 2.5)
    return since(start, end), asked


CHILDREN: dict[str, Callable[[Path], dict[str, Any]]] = {"open": opened, "leave": left, "work": worked}


if __name__ == "__main__":
    main()
