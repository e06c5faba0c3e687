"""Sheets had at hand before each is asked for: out of parts, or read by other processes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from samelight.sequence.ahead import read_ahead
from samelight.sequence.disk import Disk
from samelight.sequence.parts import UnusedPartError, read_part
from samelight.sequence.store import SheetStore
from samelight.sequence.stored import SheetFile
from samelight.sources.pools import Pool

FEWEST = 500
"""Files a process. One starts in the time in which 300 to 450 are read, so that of fewer two are through no sooner than one."""


@dataclass(frozen=True, slots=True)
class Prefetch:
    """Where sheets come from beside their own files. What is read is the same in every way.

    `parts` are files that `save_part` wrote; with a `seal_key` none is believed without its seal, without one some of
    their sheets are read again, and `told` hears why one was of no use. With a `pool` many files are read in `jobs`
    processes at a time, of which this one is the first.
    """

    parts: Sequence[Path] = ()
    seal_key: bytes | None = None
    told: Callable[[str], None] = lambda why: None
    pool: Pool | None = None
    jobs: int = 1

    def __call__(
        self,
        store: SheetStore,
        disk: Disk,
        files: Sequence[SheetFile],
        came: Callable[[int], None],
        look: Callable[[], None],
    ) -> None:
        """Have files at hand in a store. `came` hears how many more are through, `look` is called often and may raise to
        stop. Raises `SheetError` for a file that is no part."""
        for path in self.parts:
            try:
                store.offer(read_part(path, disk, self.seal_key))
            except UnusedPartError as error:
                self.told(f"{error}; its shots are read from their sheets")
        if self.pool is None or self.jobs < 2:
            return
        missing = store.missing(files)
        jobs = min(self.jobs, len(missing) // FEWEST)
        if jobs < 2:
            return
        for count, sheets in read_ahead(missing, pool=self.pool, jobs=jobs, look=look):
            store.offer(sheets)
            came(count)
