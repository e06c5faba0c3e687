"""How the sheets of a sequence are come by: all or some, from disk or from parts, here or in other processes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from samelight.sequence.ahead import FEWEST, File, read_ahead
from samelight.sequence.kept import Kept
from samelight.sequence.parts import UnusedPartError, read_part, save_part
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.sheet import Sheet
from samelight.sources.pools import Pool


@dataclass(slots=True)
class Reading:
    """Reading a sequence in another way than all of it, from its own files, one after another.

    `shots` picks from the cut those that alone are read, beside the master setups and the key shot. `parts` are files
    that `save` wrote. With a `pool` many files are read in `jobs` processes at a time. What is read is the same
    in every way.
    """

    shots: Callable[[Sequence[str], SequenceFile], Collection[str]] | None = None
    parts: Sequence[Path] = ()
    pool: Pool | None = None
    jobs: int = 1
    policy: Path | None = None
    """A policy in the place of the sequence's own, which may lie anywhere."""
    seal_key: bytes | None = None
    """What parts are sealed with, and without whose seal none is believed; without it some sheets are read again."""
    unused: list[str] = field(default_factory=list)
    """Why parts were of no use."""
    _kept: Kept | None = None

    def chosen(self, cut: Sequence[str], sequence: SequenceFile) -> tuple[str, ...]:
        """The shots to read, in cut order. Raises what `shots` raises."""
        if self.shots is None:
            return tuple(cut)
        asked = {*self.shots(cut, sequence), sequence.key_shot}
        return tuple(shot for shot in cut if shot in asked)

    def take_parts(self, kept: Kept) -> None:
        """Offer what the parts hold. Raises `SheetError` for a file that is no part."""
        self._kept = kept
        for path in self.parts:
            try:
                for offered in read_part(path, kept, self.seal_key):
                    kept.offer(offered)
            except UnusedPartError as error:
                self.unused.append(f"{error}; its shots are read from their sheets")

    def read_ahead(
        self, kept: Kept, files: Iterable[File], came: Callable[[int], None], look: Callable[[], None]
    ) -> None:
        """Have the files read by other processes, where so many are to be read that it is worth it.

        `came` is told how many more are through, `look` is called often and may raise to stop.
        """
        if self.pool is None or self.jobs < 2:
            return
        missing = [file for file in files if not kept.knows(*file)]
        jobs = min(self.jobs, len(missing) // FEWEST)
        if jobs < 2:
            return
        given, kinds = kept.sequence.conventions, kept.policy.kinds
        for chunk, offers in read_ahead(missing, given, kinds, pool=self.pool, jobs=jobs, look=look):
            for offered in offers:
                kept.offer(offered)
            came(len(chunk))

    def save(self, path: Path, sheets: Iterable[Sheet]) -> None:
        """Write sheets as a part, after a sequence was read in this way. Raises `WriteError`."""
        assert self._kept is not None, "nothing was read in this way yet"
        save_part(path, self._kept, sheets, self.seal_key)
