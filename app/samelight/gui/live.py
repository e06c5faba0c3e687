"""Watches a sequence folder, and reads again only what changed, while the window goes on."""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Collection
from pathlib import Path

import watchfiles
from PySide6.QtCore import QObject, QThread, Signal

from samelight.bases import Against, BaseError, Comparison, compare, compare_again, versions_of
from samelight.contents import Contents, Shelf, read_contents
from samelight.decisions.ledger import Ledger
from samelight.session import Session
from samelight.sheets.errors import SamelightError
from samelight.sheets.sequence import master_versions
from samelight.unforeseen import what_failed

LOOK_EVERY = 1500
"""Milliseconds between looks where no event comes: a share tells nothing of what other machines write."""

_GATHER = 120
_FRESH = 2.0
_RETRIES = 6
_PAUSE = 0.3

_OF_NO_SHOT = frozenset({"master", "decisions", "frames", "views"})
"""Folders of a sequence in which nothing is the sheet of a shot. `master` is looked at each time."""

_MANY = 500
"""Events. To find the shots of more costs more than to look at all shots of a film."""


Held = tuple[Contents, Comparison]
"""A sequence as it was read, and how it was compared."""


class Live(QThread):
    """One watcher for one opened sequence.

    Events of the system bring changes at once; a look at every file's size and time every second and a half finds
    those that come without an event.
    """

    changed = Signal(object, object)
    """What was read, and how it compares with the base that is asked for."""
    decided = Signal()
    """The ledger's folder changed."""
    troubled = Signal(str)
    """The sequence cannot be read now; what is shown is what was read last. Empty once it can again."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._folder: Path = session.folder
        self._shelf: Shelf = session.shelf
        self._contents: Contents = session.contents
        self._held: Held = session.contents, session.comparison
        """What was compared last, and how; replaced whole, since the window's thread does so too."""
        self._stop = threading.Event()
        self._ledger: Ledger = session.ledger
        self._decisions = _listing(session.ledger)
        self._trouble = ""
        self._whole = -math.inf
        """When everything was looked at last."""

    def stop(self) -> None:
        """End the watching and wait for its end."""
        self._stop.set()
        self.wait()

    def run(self) -> None:
        while not self._stop.is_set():
            try:
                for events in watchfiles.watch(
                    self._folder,
                    watch_filter=None,
                    debounce=_GATHER,
                    step=50,
                    stop_event=self._stop,
                    rust_timeout=LOOK_EVERY,
                    yield_on_timeout=True,
                    raise_interrupt=False,
                ):
                    if self._stop.is_set():
                        return
                    self._look(touched(self._folder, events) if self._looked_lately() else None)
            except (OSError, RuntimeError):
                # The folder is gone, or the system gives no watches: look now and then.
                self._look()
                self._stop.wait(LOOK_EVERY / 1000)

    def _looked_lately(self) -> bool:
        """Whether everything was looked at a short while ago, also where events come so often that there is no pause."""
        return time.monotonic() < self._whole + 2 * LOOK_EVERY / 1000

    def _look(self, touched: frozenset[str] | None = None) -> None:
        """See what changed: of the shots that were touched where that is known, of everything where it is not."""
        if touched is None:
            self._whole = time.monotonic()
        listing = _listing(self._ledger)
        if listing != self._decisions:
            self._decisions = listing
            self.decided.emit()
        try:
            contents = self._settled(touched)
            compared = None
            if contents != self._contents or self._other_versions(contents):
                compared = self._compared(contents)
        except Exception as error:
            self._whole = -math.inf  # which shots were touched is forgotten
            self._say(_said(error))
            return
        self._say("")
        if compared is not None:
            self.changed.emit(contents, compared)
            self._contents = contents

    def hold(self, contents: Contents, comparison: Comparison) -> None:
        """Compare with another base from now on, that of a comparison of some contents."""
        self._held = contents, comparison

    def _compared(self, contents: Contents) -> Comparison:
        held = was, before = self._held
        try:
            comparison = compare_again(before, was, contents, self._shelf)
        except BaseError:  # what the window compares with has gone
            comparison = compare(contents)
        if self._held is held:
            self._held = contents, comparison
        return comparison

    def _other_versions(self, contents: Contents) -> bool:
        """Whether versions that shots are held against are others now: only the chosen one of a shot is in the contents."""
        _, before = self._held
        if before.base.against is not Against.VERSIONS:
            return False
        sheets = versions_of(contents, before.base.shot or "", self._shelf)[0]
        return list(sheets) != list(before.sheets) or any(
            sheet is not before.sheets[name] for name, sheet in sheets.items()
        )

    def _settled(self, touched: frozenset[str] | None) -> Contents:
        """What the folder holds, read again while a file that was just touched cannot be read: it is being written."""
        contents = read_contents(self._folder, self._shelf, only=touched)
        for _ in range(_RETRIES):
            if not self._half_written(contents) or self._stop.wait(_PAUSE):
                break
            contents = read_contents(self._folder, self._shelf)
        return contents

    def _half_written(self, contents: Contents) -> bool:
        was, cut = self._contents, contents.sequence.cut_file
        unreadable = set(contents.versions) - set(contents.sheets)
        newly = unreadable - (set(was.versions) - set(was.sheets))
        paths = [path for shot in newly for path in contents.versions[shot].values()]
        if contents.master is None and was.master is not None:
            paths += master_versions(self._folder).values()
        if contents.cut is None and was.cut is not None and cut is not None:
            paths.append(cut)
        return any(_age(path) < _FRESH for path in paths)

    def _say(self, trouble: str) -> None:
        if trouble != self._trouble:
            self._trouble = trouble
            self.troubled.emit(trouble)


def touched(folder: Path, events: Collection[tuple[watchfiles.Change, str]]) -> frozenset[str] | None:
    """The shots of which events tell something; None where that may be any, and where there are no events, or too many.

    Files that lie in the folder itself, and those in its folders of no shot, touch none. Of what lies behind a link, or
    in a folder that is not known here, nobody can tell whose it is.
    """
    if not 0 < len(events) <= _MANY:
        return None
    real = folder.resolve()
    shots: set[str] = set()
    for _, event in events:
        place = Path(event)
        parts = _below(place, folder, folder.absolute(), real)
        if not parts or place.resolve() != real.joinpath(*parts):
            return None
        if parts[0] == "shots" and len(parts) > 1:
            shots.add(parts[1])
        elif parts[0] not in _OF_NO_SHOT and (len(parts) > 1 or parts[0] == "shots" or place.is_dir()):
            return None
    return frozenset(shots)


def _below(place: Path, *folders: Path) -> tuple[str, ...]:
    """The way to a place from the first of the folders that it is in; empty where it is in none."""
    return next((place.relative_to(one).parts for one in folders if place.is_relative_to(one)), ())


def _said(error: Exception) -> str:
    if isinstance(error, OSError) and error.filename:
        return f"{error.filename}: {error.strerror}"
    return str(error) if isinstance(error, SamelightError | OSError) else what_failed(error)


def _age(path: Path) -> float:
    try:
        return time.time() - path.stat().st_mtime
    except OSError:
        return 0.0


def _listing(ledger: Ledger) -> tuple[int, ...]:
    """The ledger only ever grows, so its time and its number of files tell whether it did. A file at fault may be one
    that is still being copied there, so it is looked at too."""
    folder = ledger.folder
    try:
        count = len(os.listdir(folder))  # noqa: PTH208 - no path of each is needed
    except OSError:
        count = -1
    return count, _time(folder), *(_time(Path(fault.file)) for fault in ledger.faults)


def _time(path: Path) -> int:
    """When anything of a file or folder changed, also who may read it."""
    try:
        stat = path.stat()
    except OSError:
        return 0
    return max(stat.st_mtime_ns, stat.st_ctime_ns)
