"""Sheets read by several processes at a time, of which this is one.

What goes over to a process and what comes back is plain data: names of files, and JSON of packed sheets and of faults.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import astuple
from itertools import islice
from pathlib import Path
from typing import Any

from samelight.light.directions import Vector
from samelight.sequence.stored import Rules, SheetFile, Stored, StoredSheet, read_stored_sheet
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.garbage import without_collection
from samelight.sheets.packed import packed, unpacked
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
    for file in files:
        look()
        read = read_stored_sheet(file)
        if read.digest is not None and read.stamp is not None:
            yield read


@without_collection()
def read_chunk(files: Sequence[_PlainFile], given: _PlainConventions, kinds: Patterns) -> bytes:
    """Read files, in another process. The JSON has the packed sheets of those that are sound, and the faults of others."""
    rules = Rules(Conventions(*given), kinds)
    sheets: list[Sheet] = []
    sound: list[tuple[int, str]] = []
    at_fault: list[tuple[int, str, list[Any]]] = []
    for index, (name, shot, version) in enumerate(files):
        read = read_stored_sheet(SheetFile(Path(name), shot, version, rules))
        if read.digest is None or read.stamp is None:
            continue
        if isinstance(read.outcome, SheetError):
            at_fault.append((index, read.digest, [astuple(fault) for fault in read.outcome.faults]))
        else:
            sheets.append(read.outcome)
            sound.append((index, read.digest))
    return json.dumps({"packed": packed(sheets), "sound": sound, "at_fault": at_fault}).encode()


def _stored(files: Sequence[SheetFile], answer: bytes) -> list[StoredSheet]:
    data = json.loads(answer)
    sheets = unpacked(data["packed"], [files[index].path for index, _ in data["sound"]])
    came: list[tuple[int, str, Sheet | SheetError]] = [
        (index, digest, sheet) for (index, digest), sheet in zip(data["sound"], sheets, strict=True)
    ]
    for index, digest, faults in data["at_fault"]:
        came.append((index, digest, SheetError([Fault(*fault) for fault in faults])))
    return [Stored(files[index].path, files[index], None, digest, outcome) for index, digest, outcome in came]
