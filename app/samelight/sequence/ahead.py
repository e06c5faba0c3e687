"""Sheets read by several processes at a time, of which this is one.

What goes over to a process is plain data, the names of files. What comes back are its sheets and faults, pickled: that takes
a fifth of the time that packing them takes. A process is a child of this one, so that nobody else can send any.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import astuple
from itertools import islice
from pathlib import Path

from samelight.light.directions import Vector
from samelight.sequence.stored import Rules, SheetFile, Stored, StoredSheet, folded_ahead, read_stored_sheet
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import SheetError
from samelight.sheets.garbage import without_collection
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import Patterns
from samelight.sources.pools import Pool

CHUNK = 32
"""Files that a process reads at a time."""

_LOOK = 0.1
"""Seconds between two looks at whether the user has stopped the reading."""

_PlainFile = tuple[str, str | None, int]
_PlainConventions = tuple[float, float | None, str, str, Vector, str]


def read_ahead(
    files: Sequence[SheetFile], *, pool: Pool, jobs: int, look: Callable[[], None] = lambda: None
) -> Iterator[tuple[int, list[StoredSheet]]]:
    """How many more of the files, which have the same rules, are through, and what came of them, until all are.

    This process reads as the others do while they start and while they read, so that none of it waits for them to start.
    What could not be read in this way, because a file changed meanwhile or a process ended, is simply not among it.
    No more than two chunks a process are on their way at any time. `look` is called often and may raise to stop, but
    no OSError, RuntimeError or ImportError: those end the reading ahead, and the rest is read in place.
    """
    chunks = iter([files[start : start + CHUNK] for start in range(0, len(files), CHUNK)])
    try:
        with pool(jobs - 1) as executor:
            waiting: dict[Future[bytes], Sequence[SheetFile]] = {}

            def send(count: int) -> None:
                for chunk in islice(chunks, count):
                    conventions, kinds = chunk[0].rules
                    names = [(str(path), shot, version) for path, shot, version, _ in chunk]
                    rules = tuple((pattern, kind) for pattern, kind in kinds)
                    waiting[executor.submit(read_chunk, names, astuple(conventions), rules)] = chunk

            try:
                send(2 * (jobs - 1))
                mine: Sequence[SheetFile] | None = ()
                while waiting or mine is not None:
                    look()
                    patience = 0.0 if mine is not None else _LOOK
                    for future in wait(waiting, timeout=patience, return_when=FIRST_COMPLETED).done:
                        chunk = waiting.pop(future)
                        yield len(chunk), _stored(chunk, future.result())
                        send(1)
                    if mine is not None and (mine := next(chunks, None)) is not None:
                        yield len(mine), list(_read_here(mine, look))
            finally:
                for future in waiting:  # who made the pool ends it, and waits for that
                    future.cancel()
    except (OSError, RuntimeError, ImportError):
        # Processes cannot be had here, or one was ended from outside: the rest is read in place. Where there are no
        # semaphores, so that there is no pool, Python says so by an ImportError.
        return


def _read_here(files: Sequence[SheetFile], look: Callable[[], None]) -> Iterator[StoredSheet]:
    for file in folded_ahead(files):
        look()
        read = read_stored_sheet(file)
        if read.digest is not None and read.stamp is not None:
            yield read


_Came = tuple[int, str, Sheet | SheetError]
"""Which of some files, the digest of what was read, and the sheet or what is wrong with it."""


@without_collection()
def read_chunk(files: Sequence[_PlainFile], given: _PlainConventions, kinds: Patterns) -> bytes:
    """Read files, in another process: what came of them, pickled."""
    rules = Rules(Conventions(*given), kinds)
    came: list[_Came] = []
    sheets = (SheetFile(Path(name), shot, version, rules) for name, shot, version in files)
    for index, file in enumerate(folded_ahead(sheets)):
        read = read_stored_sheet(file)
        if read.digest is not None and read.stamp is not None:
            came.append((index, read.digest, read.outcome))
    return pickle.dumps(came, pickle.HIGHEST_PROTOCOL)


def _stored(files: Sequence[SheetFile], answer: bytes) -> list[StoredSheet]:
    came: list[_Came] = pickle.loads(answer)
    return [Stored(files[index].path, files[index], None, digest, outcome) for index, digest, outcome in came]
