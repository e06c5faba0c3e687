"""Watches the folders of many sequences at once, and tells which of them something happened in."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterable, Mapping
from pathlib import Path

from PySide6.QtCore import QObject, QThread, Signal

from samelight.gui.background.folder_events import folder_events

LOOK_EVERY = 60_000
"""Milliseconds after which every sequence is looked at, whatever events came: a share tells nothing of what other machines write."""

_PAUSE = 2.0
"""Seconds until the watching is tried again where there is none."""


class ManyFolders(QThread):
    """One watcher for all sequences of a production."""

    touched = Signal(object)
    """The names of the sequences to be looked at, a frozenset."""

    def __init__(self, folders: Mapping[str, Path], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._folders = {os.path.realpath(folder): name for name, folder in folders.items()}
        self._stop = threading.Event()

    def stop(self) -> None:
        """End the watching and wait for its end."""
        self._stop.set()
        self.wait()

    def run(self) -> None:
        while not self._stop.is_set():
            there, looked = self._there(), time.monotonic()
            try:
                for events in folder_events(self._stop, LOOK_EVERY, *there):
                    if events and time.monotonic() < looked + LOOK_EVERY / 1000:
                        self.touched.emit(self.names(path for _, path in events))
                        continue
                    looked = time.monotonic()
                    self.touched.emit(self.all)
                    if self._there() != there:
                        break  # a folder came back, and is watched from now on
            except (OSError, RuntimeError, ValueError):
                # A folder is gone, or the system gives no more watches: look now and then.
                self.touched.emit(self.all)
                self._stop.wait(LOOK_EVERY / 1000 if there else _PAUSE)

    def _there(self) -> list[str]:
        return [folder for folder in self._folders if os.path.isdir(folder)]  # noqa: PTH112 - as they are watched

    @property
    def all(self) -> frozenset[str]:
        """Every sequence."""
        return frozenset(self._folders.values())

    def names(self, paths: Iterable[str]) -> frozenset[str]:
        """The sequences that these paths lie in."""
        found: set[str] = set()
        for path in paths:
            at = path
            while at not in self._folders:
                above = os.path.dirname(at)  # noqa: PTH120 - thousands of events
                if above == at:
                    break
                at = above
            else:
                found.add(self._folders[at])
        return frozenset(found)
