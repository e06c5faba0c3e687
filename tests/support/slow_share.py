"""Many people decide at once on a share that answers slowly, while a window watches. By hand: python tests/support/slow_share.py 16 200 0.002.

It prints whether a decision was lost, how long after the last one the window had seen all, and the longest time in which the
window did nothing else.
"""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

ASKED = (
    "stat",
    "lstat",
    "scandir",
    "listdir",
    "open",
    "link",
    "rename",
    "replace",
    "unlink",
    "mkdir",
    "fsync",
    "chmod",
)
"""What a share is asked over the wire."""


class SlowShare:
    """From now on every question to the system about a file below a folder takes some seconds more. `asked` counts those of
    the main thread, by who asked; `beside` those of all others."""

    def __init__(self, folder: Path, seconds: float) -> None:
        self.asked: Counter[str] = Counter()
        self.beside = 0
        self._folder, self._seconds = str(folder), seconds
        for name in ASKED:
            setattr(os, name, self._slowed(name, getattr(os, name)))
        io.open = self._slowed("open", io.open)

    def _slowed(self, name: str, ask: Callable[..., Any]) -> Callable[..., Any]:
        def slowed(*args: Any, **kwargs: Any) -> Any:
            if self._is_of_it(args[0] if args else "."):
                self._note(name)
                time.sleep(self._seconds)
            return ask(*args, **kwargs)

        return slowed

    def _note(self, name: str) -> None:
        if threading.current_thread() is not threading.main_thread():
            self.beside += 1
            return
        ours = (frame for frame in traceback.extract_stack()[::-1] if "samelight" in frame.filename)
        asking = next(ours, None)
        self.asked[f"{name} by {asking.name} in {Path(asking.filename).name}" if asking else name] += 1

    def _is_of_it(self, asked: Any) -> bool:
        if isinstance(asked, int):
            return True  # an open file, or a folder
        try:
            return bool(os.fspath(asked).startswith(self._folder))
        except TypeError:
            return False


def write(folder: Path, who: str, count: int) -> None:
    """Decide `count` times, half of the time on a cell that others decide on as well, and look now and then, as a window does."""
    from samelight.decisions.decision import Verb
    from samelight.decisions.ledger import Subject, open_ledger

    ledger = open_ledger(folder)
    for index in range(count):
        subject = Subject("HB_040", "shared" if index % 2 else f"{who}.{index}", 1.0, 2.0)
        ledger.decide(Verb.RETURN, [subject], who, f"decision {index}")
        if index % 10 == 9:
            ledger.look(thoroughly=False)
            ledger.take_in()
    print(time.time(), flush=True)


def watch(folder: Path, writers: int, each: int, share: SlowShare, seconds: float) -> bool:
    """Open a window on the folder, let others decide and say how it went; whether all was seen."""
    from PySide6.QtCore import QTimer
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication

    from samelight.decisions.ledger import open_ledger
    from samelight.gui.paint import theme
    from samelight.gui.window.main_window import MainWindow

    app = QApplication(["slow share"])
    theme.apply(app)
    window = MainWindow()
    window.show()
    window.open_folder(folder)
    while window.session is None:
        QTest.qWait(10)
    ledger = window.session.ledger
    QTest.qWait(1000)  # until it is drawn
    share.asked.clear()
    had, wanted = len(ledger.all()), writers * each
    command = [sys.executable, str(Path(__file__).resolve()), "write", str(folder), str(each), str(seconds)]
    people = [
        subprocess.Popen([*command, f"w{number}"], stdout=subprocess.PIPE, text=True)
        for number in range(writers)
    ]
    pauses: list[float] = []
    ticked = time.monotonic()

    def tick() -> None:
        nonlocal ticked
        now = time.monotonic()
        pauses.append(now - ticked)
        ticked = now

    timer = QTimer()
    timer.timeout.connect(tick)
    timer.start(5)
    while any(one.poll() is None for one in people):
        QTest.qWait(20)
    told = [(one.communicate()[0], one.returncode) for one in people]
    last = max((float(said.split()[-1]) for said, status in told if status == 0), default=time.time())
    while len(ledger.all()) - had < wanted and time.time() < last + 60:
        QTest.qWait(5)
    seen = time.time() - last
    print(
        f"asked by the window's thread: {sum(share.asked.values())}; by others of its process: {share.beside}"
    )
    print(*(f"  {count} x {what}" for what, count in share.asked.most_common()), sep="\n")
    window.close()
    fresh = open_ledger(folder)
    print(f"writers that failed: {sum(status != 0 for _, status in told)}")
    print(
        f"decisions: {wanted} made, {len(fresh.all()) - had} on disk, {len(ledger.all()) - had} seen by the window"
    )
    print(
        f"faults: {len(fresh.faults)} on disk, {len(ledger.faults)} in the window",
        *fresh.faults[:3],
        sep="\n  ",
    )
    print(f"all seen {seen:.2f} s after the last was written")
    print(f"longest pauses of the window: {', '.join(f'{pause:.3f}' for pause in sorted(pauses)[-5:])} s")
    return len(fresh.all()) - had == wanted == len(ledger.all()) - had


def run_by_hand(writers: int, each: int, seconds: float) -> bool:
    """The whole of it, on a copy of harbour."""
    from samelight.sheets.resources import sample_sequence

    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch, "harbour")
        shutil.copytree(sample_sequence("harbour"), folder)
        share = SlowShare(folder, seconds)
        return watch(folder, writers, each, share, seconds)


if __name__ == "__main__":
    if sys.argv[1] == "write":
        SlowShare(Path(sys.argv[2]), float(sys.argv[4]))
        write(Path(sys.argv[2]), sys.argv[5], int(sys.argv[3]))
    else:
        sys.exit(not run_by_hand(int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])))
