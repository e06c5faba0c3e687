"""Sheets read by several processes at a time.

What goes over to a process and what comes back is plain data: names of files, and JSON of packed sheets and of faults.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import astuple
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any

from samelight.light.directions import Vector
from samelight.sequence.kept import Offered, digest_of_unchanged
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Fault, SheetError, is_the_systems
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.sheet import Sheet, read_sheet, without_collection
from samelight.sheets.vocabulary import Patterns
from samelight.sources.pools import Pool

File = tuple[Path, str | None, int]
"""A sheet's file, the shot it is for (None: a master setup) and the version that its name states."""

FEWEST = 100
"""Files. A process reads so many in about the time it takes to start."""

CHUNK = 32
"""Files that a process reads at a time."""

_LOOK = 0.1
"""Seconds between two looks at whether the user has stopped the reading."""

_PlainFile = tuple[str, str | None, int]
_PlainConventions = tuple[float, float | None, str, str, Vector, str]


def read_ahead(
    files: Sequence[File],
    given: Conventions,
    kinds: Patterns,
    *,
    pool: Pool,
    jobs: int,
    look: Callable[[], None] = lambda: None,
) -> Iterator[tuple[Sequence[File], list[Offered]]]:
    """Some of the files and what came of them, as it comes in, until all are through.

    What could not be read in this way, because a file changed meanwhile or a process ended, is simply not among it.
    No more than two chunks a process are on their way at any time. `look` is called often and may raise to stop, but
    no OSError, RuntimeError or ImportError: those end the reading ahead, and the rest is read in place.
    """
    plain: _PlainConventions = astuple(given)
    rules = tuple((pattern, kind) for pattern, kind in kinds)
    chunks = iter([files[start : start + CHUNK] for start in range(0, len(files), CHUNK)])
    try:
        with pool(jobs) as executor:
            waiting: dict[Future[bytes], Sequence[File]] = {}

            def send(count: int) -> None:
                for chunk in islice(chunks, count):
                    names = [(str(path), shot, version) for path, shot, version in chunk]
                    waiting[executor.submit(read_chunk, names, plain, rules)] = chunk

            try:
                send(2 * jobs)
                while waiting:
                    look()
                    for future in wait(waiting, timeout=_LOOK, return_when=FIRST_COMPLETED).done:
                        chunk = waiting.pop(future)
                        yield chunk, _offers(chunk, future.result())
                        send(1)
            finally:
                executor.shutdown(wait=False, cancel_futures=True)
    except (OSError, RuntimeError, ImportError):
        # Processes cannot be had here, or one was ended from outside: the rest is read in place. Where there are no
        # semaphores, so that there is no pool, Python says so by an ImportError.
        return


@without_collection()
def read_chunk(files: Sequence[_PlainFile], given: _PlainConventions, kinds: Patterns) -> bytes:
    """Read files, in another process. The JSON has the packed sheets of those that are sound, and the faults of others."""
    conventions = Conventions(*given)
    sheets: list[Sheet] = []
    sound: list[tuple[int, str]] = []
    at_fault: list[tuple[int, str, list[Any]]] = []
    for index, (name, shot, version) in enumerate(files):
        path = Path(name)
        read = partial(_read, path, shot, version, conventions, kinds)
        outcome, digest = digest_of_unchanged(path, read)
        if digest is None or (isinstance(outcome, SheetError) and is_the_systems(outcome)):
            continue
        if isinstance(outcome, SheetError):
            at_fault.append((index, digest, [astuple(fault) for fault in outcome.faults]))
        else:
            sheets.append(outcome)
            sound.append((index, digest))
    return json.dumps({"packed": packed(sheets), "sound": sound, "at_fault": at_fault}).encode()


def _read(
    path: Path, shot: str | None, version: int, given: Conventions, kinds: Patterns
) -> Sheet | SheetError:
    try:
        return read_sheet(path, shot=shot, version=version, given=given, kinds=kinds)
    except SheetError as error:
        return error


def _offers(files: Sequence[File], answer: bytes) -> list[Offered]:
    data = json.loads(answer)
    sheets = unpacked(data["packed"], [files[index][0] for index, _ in data["sound"]])
    found = []
    for (index, digest), sheet in zip(data["sound"], sheets, strict=True):
        path, shot, version = files[index]
        found.append(Offered(path, digest, (shot, version), sheet))
    for index, digest, faults in data["at_fault"]:
        path, shot, version = files[index]
        error = SheetError([Fault(*fault) for fault in faults])
        found.append(Offered(path, digest, (shot, version), error))
    return found
