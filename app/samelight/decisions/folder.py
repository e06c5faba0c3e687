"""The folder of a ledger, looked at again and again: one listing, and only what is new or changed is read.

Any thread may look. A network share answers slowly, so that many questions are asked at once where it does.
"""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import perf_counter
from typing import TypeVar

from samelight.decisions.chain import lacking
from samelight.decisions.entries import LedgerEntry, entry_in, fetch, look_at
from samelight.decisions.sound import SoundLedger
from samelight.drift.words import counted
from samelight.sheets.errors import Fault, SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.stamps import Stamp, stamp_of

FRESH = 5.0
"""Seconds after it was read in which a file that does not say that it is whole is looked at again each time: whoever writes
it may not be through."""

SAME_TIME = 60 * 10**9
"""Nanoseconds before the newest file of the folder, by the clock of whoever keeps it, in which a file may still be one
that is being written."""

LEFT_AFTER = 600 * 10**9
"""Nanoseconds after which a hidden file is no longer one that is being written."""

_AT_ONCE = 16
_TRIED = 4
_SLOW = 0.001
"""Seconds that even the quickest of the first few answers takes of a file system that many should be asked of at once."""
_FETCHED = 1024
"""Texts that are held at once."""
_LISTINGS = 4

T = TypeVar("T")
U = TypeVar("U")


class OfflineError(SamelightError):
    """The sequence's own folder is not where it was: a share has gone, or it was moved."""


@dataclass(slots=True)
class Home:
    """A sequence's own folder, as it was when the ledger was opened."""

    folder: Path
    _has_sequence: bool = False
    _identity: tuple[int, int] | None = None

    def __post_init__(self) -> None:
        self._has_sequence = self._sequence_is_there()
        self._identity = self._now()

    def is_there(self) -> bool:
        """Whether the folder is still there, and not merely another one of its name."""
        if self._has_sequence:
            return self._sequence_is_there()
        # Where nothing was when the ledger was opened, nothing can have gone.
        return self._identity is None or self._now() == self._identity

    def check(self) -> None:
        """Raises `OfflineError` where it is not there."""
        if not self.is_there():
            raise OfflineError(
                f"{self.folder} cannot be reached, so nothing can be decided; it is looked for again and again"
            )

    def _sequence_is_there(self) -> bool:
        try:
            os.stat(self.folder / SEQUENCE_FILE)  # noqa: PTH116 - as `stamp_of` does
        except OSError:
            return False
        return True

    def _now(self) -> tuple[int, int] | None:
        try:
            state = os.stat(self.folder)  # noqa: PTH116 - as `stamp_of` does
        except OSError:
            return None
        return state.st_dev, state.st_ino


@dataclass(frozen=True, slots=True)
class News:
    """What a look found: entries that came or changed, and the names of those that are gone.

    Where what was kept from another day is still all there as it was, it is `again`, and nothing of it is in `came`.
    """

    came: Mapping[str, LedgerEntry]
    gone: Collection[str] = ()
    again: SoundLedger | None = None


@dataclass(slots=True)
class Folder:
    """What is known of the folder's files. `fault` says why it could not be listed; what was known then stands.

    `leftovers` are hidden files that a writer who was stopped has left behind.
    """

    path: Path
    home: Home = field(init=False)
    _place: str = field(init=False)
    fault: Fault | None = None
    leftovers: tuple[str, ...] = ()
    _known: dict[str, LedgerEntry] = field(default_factory=dict)
    _kept: Mapping[str, LedgerEntry] = field(default_factory=dict)
    _sound: SoundLedger | None = None
    _read_at: dict[str, float] = field(default_factory=dict)
    _newest: int = 0
    _lock: threading.RLock = field(default_factory=threading.RLock, repr=False)
    _looking: threading.RLock = field(default_factory=threading.RLock, repr=False)

    def __post_init__(self) -> None:
        self.home, self._place = Home(self.path.parent), str(self.path)

    def check(self) -> None:
        """Raises `OfflineError` where nothing may be written: the sequence's folder is gone, or that of decisions known here."""
        self.home.check()
        with self._lock:
            known = bool(self._known)
        if known and not os.path.lexists(self._place):
            raise OfflineError(
                f"{self.path} has gone with the decisions that are known here, so nothing can be decided: put it back, or "
                "open the sequence again to begin without them"
            )

    def believe(self, kept: Mapping[str, LedgerEntry], sound: SoundLedger | None = None) -> None:
        """Entries of another day: a file that has the stamp of its entry need not be read, nor be understood again where it
        has its digest. `sound` is the ledger of all of them, where nothing was at fault in it."""
        self._kept, self._sound = kept, sound

    def add(self, entries: Iterable[LedgerEntry]) -> None:
        """Know files that were just written here."""
        with self._lock:
            self._known.update((entry.name, entry) for entry in entries)

    def look(self, *, thoroughly: bool = True, touched: Collection[str] = ()) -> News:
        """See what is new, and read it. The folder is listed once, and again only while what was found is not complete.

        Thoroughly means that every known file is asked whether it changed; else these are: the ones `touched`, those at
        fault, and those that were read a moment ago.
        """
        with self._looking:
            came: dict[str, LedgerEntry] = {}
            gone: set[str] = set()
            again: SoundLedger | None = None
            missed: object = None
            for number in range(_LISTINGS):
                found = self._look_once(thoroughly and number == 0, touched)
                if found is None:
                    break
                came.update(found.came)
                again = found.again or again
                gone = (gone | set(found.gone)) - found.came.keys()
                # Whoever lists a folder while others write there may see a later file and not the one before.
                before, missed = missed, self._missed(came)
                if not missed or missed == before:
                    break
            return News({name: entry for name, entry in came.items() if name not in gone}, tuple(gone), again)

    def _missed(self, came: Mapping[str, LedgerEntry]) -> tuple[list[str], dict[str, int]] | None:
        """What those that came name and is not there, and the batches among them that are not complete."""
        with self._lock:
            decisions = [entry.decision for entry in came.values() if entry.decision is not None]
            seen = set[str]().union(*(one.saw for one in decisions if one.saw))
            ids = {name.rpartition(":")[0] for name in seen} - {one.id for one in decisions}
            names = sorted(id_ for id_ in ids if f"{id_}.yaml" not in self._known)
        batches = lacking(came.values())
        return (names, batches) if names or batches else None

    def _look_once(self, thoroughly: bool, touched: Collection[str]) -> News | None:
        """None where the folder could not be looked at."""
        try:
            return self._look_at_all(thoroughly, touched)
        except OSError as error:
            self.fault = Fault(str(self.path), "", "a readable folder", error.strerror or str(error))
            return None

    def _look_at_all(self, thoroughly: bool, touched: Collection[str]) -> News | None:
        with self._lock:
            before = dict(self._known)
        names = self._listed()
        if names is None or ((before.keys() - names) and not self.home.is_there()):
            if names is not None:
                self.fault = Fault(
                    str(self.path.parent), "", "the sequence's folder", "another one in its place"
                )
            return None
        gone = before.keys() - names
        new = [name for name in names if name not in before]
        asked = before.keys() & names if thoroughly else self._doubtful(before, touched).intersection(names)
        came = self._still_kept(new) if self._kept else {}
        due = [name for name in new if name not in came]
        again = list(asked)
        changed = [
            name
            for name, stamp in zip(again, _each(self._stamp, again), strict=True)
            if stamp is not None and stamp != before[name].stamp
        ]
        came.update((entry.name, entry) for entry in self._read([*due, *changed]))
        self._take(came, gone, before)
        sound = self._again(came)
        self._kept, self._sound = {}, None
        self.fault = None
        if sound is not None:
            came = {name: came[name] for name in came.keys() - sound.entries.keys()}
        return News(came, gone, sound)

    def _again(self, came: Mapping[str, LedgerEntry]) -> SoundLedger | None:
        """The ledger that was kept, where every file of it says what it said, with the stamps of now."""
        sound = self._sound
        if sound is None or not sound.entries.keys() <= came.keys():
            return None
        now = list(map(came.__getitem__, sound.entries))
        if any(
            one is not known and one.held is not known.held
            for one, known in zip(now, sound.entries.values(), strict=True)
        ):
            return None
        return replace(sound, entries=dict(zip(sound.entries, now, strict=True)))

    def _take(
        self, came: Mapping[str, LedgerEntry], gone: Collection[str], before: Mapping[str, LedgerEntry]
    ) -> None:
        now = time.monotonic()
        with self._lock:
            for name in gone:
                if self._known.get(name) is before[name]:
                    del self._known[name]
            self._known.update(came)
            self._newest = max([self._newest, *(entry.stamp[0] for entry in came.values())])
            self._read_at = {name: then for name, then in self._read_at.items() if now - then < FRESH}
            self._read_at.update(
                (name, now)
                for name, entry in came.items()
                if entry.stamp[0] > self._newest - SAME_TIME and not _says_that_it_is_whole(entry)
            )

    def _doubtful(self, known: Mapping[str, LedgerEntry], touched: Collection[str]) -> set[str]:
        now = time.monotonic()
        fresh = {name for name, then in self._read_at.items() if now - then < FRESH}
        at_fault = {name for name, entry in known.items() if entry.faults}
        return (fresh | at_fault | set(touched)) & known.keys()

    def _still_kept(self, names: Iterable[str]) -> dict[str, LedgerEntry]:
        """The entries of another day whose files are as they were."""
        kept = list(filter(None, map(self._kept.get, names)))
        stamps = _each(self._stamp, [entry.name for entry in kept])
        return {entry.name: entry for entry, stamp in zip(kept, stamps, strict=True) if entry.stamp == stamp}

    def _stamp(self, name: str) -> Stamp | None:
        path = f"{self._place}/{name}"
        try:
            return stamp_of(path)
        except OSError:
            return look_at(path)

    def _read(self, names: Sequence[str]) -> Iterator[LedgerEntry]:
        """The entries of the files that are there: many are fetched at once from a slow share, and understood one by one, so
        that this thread alone asks for the processor."""
        for start in range(0, len(names), _FETCHED):
            paths = [self.path / name for name in names[start : start + _FETCHED]]
            for fetched in filter(None, _each(fetch, paths)):
                name = fetched.path.name
                yield entry_in(fetched, self._kept.get(name) or self._known.get(name))

    def _listed(self) -> list[str] | None:
        """The names of decision files; none where there is no folder yet. None, and why, where it cannot be listed, also
        where it has gone with what is known of it: it only ever grows."""
        try:
            with os.scandir(self.path) as found:
                names = [entry.name for entry in found]
        except FileNotFoundError:
            if not self.home.is_there():
                self.fault = Fault(str(self.path.parent), "", "the sequence's folder", "nothing there")
                return None
            with self._lock:
                known = len(self._known)
            if known:
                wanted = f"the folder with the {counted(known, 'decision')} known here, which stand meanwhile"
                self.fault = Fault(self._place, "", wanted, "nothing there")
                return None
            if os.path.lexists(self._place):  # as where the share that it lies on is not there
                self.fault = Fault(self._place, "", "a readable folder", "a link to nothing")
                return None
            names = []
        except OSError as error:
            self.fault = Fault(str(self.path), "", "a readable folder", error.strerror or str(error))
            return None
        hidden = [name for name in names if name[0] == "." and name.endswith(".tmp")]
        self.leftovers = tuple(sorted(self._left(hidden))) if hidden else ()
        return [name for name in names if name[0] != "." and name.endswith(".yaml")]

    def _left(self, hidden: Iterable[str], now: int | None = None) -> list[str]:
        """Those that were written too long before a moment to be still written."""
        moment = max(time.time_ns(), self._newest) if now is None else now
        found = []
        for name in hidden:
            with suppress(OSError):
                stamp = self._stamp(name)
                if stamp is not None and stamp[0] < moment - LEFT_AFTER:
                    found.append(name)
        return found

    def clean(self, now: int) -> None:
        """Remove what writers who were stopped have left behind, long before a file that was written a moment ago.

        `now` is the time of that file in nanoseconds, so that it is by one clock, whoever keeps the folder.
        """
        for name in self._left(self.leftovers, now):
            with suppress(OSError):
                os.unlink(f"{self._place}/{name}")  # noqa: PTH108 - as `stamp_of` does
        self.leftovers = ()


def _says_that_it_is_whole(entry: LedgerEntry) -> bool:
    """Whether a file ends as one that nobody is still writing, as all do but those of before there were such ends. What was
    kept from another day was whole by then."""
    held = entry.held
    return callable(held) or (held is not None and held.saw is not None)


def _each(ask: Callable[[T], U], of: list[T]) -> list[U]:
    """What each gives, in order: one after the other where answers come fast, many at once where they do not."""
    found, quickest = [], math.inf
    for one in of[:_TRIED]:
        start = perf_counter()
        found.append(ask(one))
        quickest = min(quickest, perf_counter() - start)
    rest = of[_TRIED:]
    if len(rest) < _TRIED or quickest < _SLOW:
        return found + [ask(one) for one in rest]
    from concurrent.futures import ThreadPoolExecutor  # most looks ask little

    # Each thread takes every sixteenth, so that little is handed over.
    threads = min(_AT_ONCE, len(rest))
    shares = [rest[number::threads] for number in range(threads)]
    with ThreadPoolExecutor(threads) as pool:
        answers = list(pool.map(lambda share: [ask(one) for one in share], shares))
    return found + [answers[number % threads][number // threads] for number in range(len(rest))]
