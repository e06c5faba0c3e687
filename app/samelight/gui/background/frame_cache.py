"""The frames that are looked at, read in threads and kept within a bound of memory."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from samelight.gui.background.background import Background
from samelight.gui.background.frames import FULL, PROXY, Frame, load
from samelight.sources.pictures.seen import PLAIN, Through

BUDGET = 512 * 2**20
"""Bytes of all kept frames together: the full frames of about seven shots of 4096 x 1716, and their neighbours."""

_LOOK_AGAIN = 1500
_THREADS = 2

Key = tuple[str, int]
"""A shot, and the longest side its frame is kept at."""


class FrameShelf:
    """Frames by key. When they take more than `budget` bytes, those looked at longest ago go."""

    def __init__(self, budget: int) -> None:
        self.budget = budget
        self.size_bytes = 0
        self._frames: OrderedDict[Key, Frame] = OrderedDict()

    def __len__(self) -> int:
        return len(self._frames)

    def __contains__(self, key: Key) -> bool:
        return key in self._frames

    def get(self, key: Key) -> Frame | None:
        """The frame of a key, which counts as looking at it."""
        if key in self._frames:
            self._frames.move_to_end(key)
        return self._frames.get(key)

    def put(self, key: Key, frame: Frame) -> None:
        """Keep a frame in the place of the one before. One that alone exceeds the budget is not kept."""
        old = self._frames.pop(key, None)
        self.size_bytes -= old.size_bytes if old is not None else 0
        if frame.size_bytes <= self.budget:
            self._frames[key] = frame
            self.size_bytes += frame.size_bytes
        while self.size_bytes > self.budget:
            _, gone = self._frames.popitem(last=False)
            self.size_bytes -= gone.size_bytes

    def clear(self) -> None:
        """Forget all of them."""
        self._frames.clear()
        self.size_bytes = 0


class FrameCache(QObject):
    """Gives the frames that are known, and reads those that are wanted (by `loading`) without ever holding up the window.

    While `watching`, wanted frames are looked at again every 1.5 s, so that a new render shows by itself.
    """

    changed = Signal(str, int)
    """A frame was read or exposed anew: its shot and longest side."""

    def __init__(
        self, parent: QObject | None = None, budget: int = BUDGET, loading: Callable[..., Frame] | None = None
    ) -> None:
        super().__init__(parent)
        self.shelf = FrameShelf(budget)
        self._load = loading or load
        self._shown: dict[Key, Frame] = {}
        self._folder: Path | None = None
        self._wanted: list[Key] = []
        self._stops = 0.0
        self.through = PLAIN
        """What frames are seen through."""
        self._background = Background(self, _THREADS)
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOK_AGAIN)
        self._timer.timeout.connect(self._look)

    def set_folder(self, folder: Path) -> None:
        """Read the frames of another sequence; the same one keeps what is known."""
        if folder != self._folder:
            self.stop()
            self._folder = folder
            self.shelf.clear()
            self._shown.clear()

    def frame(self, shot: str, longest: int) -> Frame | None:
        """The frame as last read; None while it is read for the first time."""
        return self._shown.get((shot, longest))

    def look_through(self, through: Through) -> None:
        """See all frames through something else."""
        if through != self.through:
            self.through = through
            self.want(self._wanted, self._stops)

    def best(self, shot: str) -> Frame | None:
        """The full frame; while it is read for the first time, or through a view is not yet exposed as it is to be, the small one, if
        that is known as it is exposed now."""
        full = self.frame(shot, FULL)
        if full is not None and (full.image is None or full.is_seen(self._stops, self.through)):
            return full
        small = self.frame(shot, PROXY) or self.shelf.get((shot, PROXY))
        usable = small is not None and small.image is not None and small.is_seen(self._stops, self.through)
        return small if usable else full

    def want(self, keys: Iterable[Key], stops: float) -> None:
        """Have these frames ready at this exposure, the first the soonest; what was wanted before is let go."""
        wanted = list(keys)
        if self.through.view is not None:
            # A view takes its time on a large picture: a small one stands in for it.
            wanted = [part for key in wanted for part in ((key[0], PROXY), key) if part[1] <= key[1]]
        self._wanted, self._stops = list(dict.fromkeys(wanted)), stops
        # What has not begun is asked for anew, in the order that is wanted now.
        self._background.cancel_waiting()
        # What is on the screen is held here in any case; the shelf is for coming back to.
        kept = {key: self._shown.get(key) or self.shelf.get(key) for key in self._wanted}
        self._shown = {key: frame for key, frame in kept.items() if frame is not None}
        self._look()

    def watch(self, watching: bool) -> None:
        """Whether to look again by itself."""
        if watching:
            self._timer.start()
        else:
            self._timer.stop()

    @property
    def busy(self) -> bool:
        """Whether anything is being read or looked at."""
        return self._background.busy

    def stop(self) -> None:
        """Let go of what waits, and return when no thread reads any more."""
        self._wanted = []
        self._background.cancel_all()
        self._background.wait()

    def _look(self) -> None:
        for place, key in enumerate(self._wanted):
            if key not in self._background:
                self._start(key, place)

    def _start(self, key: Key, rank: int) -> None:
        if self._folder is not None:
            reading = partial(self._load, self._folder, *key, self._stops, self._shown.get(key), self.through)
            self._background.run(key, reading, partial(self._done, key), rank=rank)

    def _done(self, key: Key, frame: Frame) -> None:
        if frame is not self._shown.get(key):
            self.shelf.put(key, frame)
            if key in self._wanted:
                self._shown[key] = frame
                self.changed.emit(*key)
        if key in self._wanted and frame.image is not None and not frame.is_seen(self._stops, self.through):
            self._start(key, 0)
