"""The one store of what was read of a sequence: in memory by the stamps of files, on disk by their digests."""

from __future__ import annotations

import contextlib
import json
import os
import time
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from operator import is_not
from pathlib import Path
from typing import Any, TypeVar

from samelight.sequence.cut_order import CutOrder, cut_order
from samelight.sequence.disk import DAMAGE, Disk
from samelight.sequence.shots_read import ShotsRead
from samelight.sequence.stored import SheetFile, Stored, StoredSheet, read_stored
from samelight.sequence.troubles import Trouble
from samelight.sheets.at_rest import PRODUCTION_FILE, production_above
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.plain_files import digest_of, is_within
from samelight.sheets.production import CommonRules, rules_above
from samelight.sheets.sequence import Published, SequenceFile, published_in
from samelight.sheets.sheet import Sheet
from samelight.sheets.stamps import SAME_MOMENT, Stamp, stamp_if_there
from samelight.sheets.trees import LARGEST_FILE
from samelight.sources.cut.cuts import Cut

T = TypeVar("T")

FEWEST = 60
"""Sheets. A sequence of fewer is read about as fast as what was kept of it."""

_ENDING = "json"


@dataclass(slots=True)
class SheetStore:
    """Files of one sequence folder. One is read again only when it changed on disk, or is to be read in another way.

    Any thread may read. `policy` is one that the user named in the place of the sequence's own, which may lie anywhere.
    """

    folder: Path
    policy: Path | None = None
    common: CommonRules | None = None
    """What a production gives the sequence; None for what the one above it does, if it lists the sequence."""
    of_scenes: tuple[Trouble, ...] = ()
    """What is to be said of the scenes that its sheets are captured from."""
    scene_files: list[Path] = field(default_factory=list)
    """What these scenes are made of, as far as they were looked at."""
    failed_scenes: dict[str, tuple[Stamp | None, Trouble]] = field(default_factory=dict)
    """Scenes that were not captured, by their stamps then: they are tried again once they change."""
    _read: dict[Path, Stored[Any]] = field(default_factory=dict)
    _at_hand: dict[tuple[Path, str | None], StoredSheet] = field(default_factory=dict)
    """What was kept on another day or read by somebody else: it is as good as read for a file that has its digest."""
    _kept: dict[Path, str | None] = field(default_factory=dict)
    """The digests of the sheets that are on disk."""
    _listed: dict[str, Published] = field(default_factory=dict)
    _order: CutOrder | None = None
    shots_read: ShotsRead | None = None
    """What was read of all shots the last time."""
    _made: dict[object, tuple[tuple[Any, ...], Any]] = field(default_factory=dict)

    @property
    def is_empty(self) -> bool:
        """Whether no sheet was read yet."""
        # A copy: while this is asked, the versions of a shot may be read in another thread.
        return not any(isinstance(one.outcome, Sheet) for one in list(self._read.values()))

    def known(self, path: Path, way: object, *, look: bool = True) -> Stored[Any] | None:
        """What was read of a file, if it still holds that; without a `look` as it was when it was looked at last."""
        found = self._read.get(path)
        if found is None or found.way != way:
            return None
        is_same = not look or (found.stamp is not None and found.stamp == stamp_if_there(path))
        return found if is_same else None

    def get(self, path: Path, way: object, read: Callable[[], T]) -> Stored[T]:
        """What `read` makes of a file; `way` is everything else that this hangs on."""
        found = self._found(path, way)
        if found is None:
            found = self._read[path] = read_stored(path, way, read)
        return found

    def _found(self, path: Path, way: object) -> Stored[Any] | None:
        """What need not be read: it is known, or at hand under the digest that the file has now."""
        found = self.known(path, way)
        if found is None and self._at_hand:
            stamp = stamp_if_there(path)
            found = self._at_hand.get((path, digest_of(path, LARGEST_FILE)))
            if found is None or found.way != way:
                return None
            found = self._read[path] = replace(found, stamp=stamp)
        return found

    def sheet(self, file: SheetFile) -> StoredSheet:
        """A sheet, or what is wrong with it."""
        found = self.get(file.path, file, file.read)
        if isinstance(found.outcome, SheetError) and not is_within(file.path, self.folder):
            # What it quotes may be nobody's business.
            fault = Fault(str(file.path), "", "a sheet", "a link to another file outside the sequence")
            found = self._read[file.path] = replace(found, outcome=SheetError([fault]))
        return found

    def rules_above(self) -> CommonRules:
        """What a production gives the sequence. Raises `SheetError` for a production.yaml above it that is at fault."""
        if self.common is not None:
            return self.common
        for above in production_above(os.path.realpath(self.folder)):
            path = Path(above) / PRODUCTION_FILE
            return self.get(path, "production", lambda: rules_above(self.folder)).value
        return CommonRules()

    def forget(self, path: Path) -> None:
        """Read a file again next time, whether it changed or not."""
        self._read.pop(path, None)

    def published(self, shot: str, *, look: bool = True) -> Published:
        """The sheets of a shot as its folder lists them; without a `look` as it listed them last, if it ever did.

        A film's shots are looked at all the time: where the names are the same, so is the object.
        """
        found = self._listed.get(shot)
        if found is None or look:
            found = self._listed[shot] = published_in(f"{self.folder}/shots/{shot}", shot, found)
        return found

    def order(self, sequence: SequenceFile, cut: Cut | None, only: Collection[str] | None = None) -> CutOrder:
        """The cut order. `only` are the shots whose folders alone may have come or gone since, where that is known."""
        known, listed = self._order, None
        if known is not None and only is not None and known.still_lists(only):
            listed = known.listed
        self._order = cut_order(sequence, cut, known, listed)
        return self._order

    def made(self, name: object, of: tuple[Any, ...], make: Callable[..., T]) -> T:
        """What is made `of` some things, under a name: the same object as long as they are the same objects."""
        known = self._made.get(name)
        if known is None or len(known[0]) != len(of) or any(map(is_not, known[0], of)):
            known = self._made[name] = of, make(*of)
        made: T = known[1]
        return made

    def offer(self, sheets: Iterable[StoredSheet]) -> None:
        """Have what somebody else read at hand, each for a file that has its digest when it is asked for."""
        self._at_hand.update(((one.path, one.digest), one) for one in sheets)

    def missing(self, files: Iterable[SheetFile]) -> list[SheetFile]:
        """The files that have to be read."""
        return [file for file in files if self._found(file.path, file) is None]

    def stored(self, sheets: Iterable[Sheet]) -> list[StoredSheet]:
        """Sheets as they were read here, of which the digests are certain."""
        found = [(self._read.get(sheet.path), sheet) for sheet in sheets]
        return [one for one, sheet in found if one is not None and one.outcome is sheet and one.digest]

    def digest(self, sheet: Sheet) -> str | None:
        """The digest of the file that a sheet was read from here; None where that is not certain."""
        found = self._read.get(sheet.path)
        return found.digest if found is not None and found.outcome is sheet else None

    def at_hand(self, path: Path, digest: str) -> Sheet:
        """The sheet that a file of this digest holds, also where the file is another by now. Raises KeyError."""
        return self._at_hand[path, digest].value

    def load(self, files: Sequence[SheetFile]) -> None:
        """Take up what was kept on another day for the rules of these files, if anything was."""
        disk, there = Disk(self.folder, files[0].rules), {str(file.path): file for file in files}
        try:
            data = json.loads(disk.read(_ENDING))
            if data["head"] != disk.head:
                return
            place, settled = str(self.folder), int(data["written"]) - SAME_MOMENT
            paths = [
                # A file that has a path already gets no other.
                there[name].path if (name := f"{place}/{below}") in there else self.folder / below
                for below in data["files"]
            ]
            sheets = unpacked(data["packed"], paths)
            loaded = [
                _loaded(SheetFile(path, shot, version, disk.rules), tuple(stamp), settled, digest, sheet)
                for path, (stamp, digest, shot, version), sheet in zip(
                    paths, data["stated"], sheets, strict=True
                )
            ]
        except DAMAGE:
            return
        self._read.update((one.path, one) for one in loaded)
        self._kept = {one.path: one.digest for one in loaded}
        self.offer(loaded)
        with contextlib.suppress(OSError):
            os.utime(disk.file(_ENDING))

    def save(self, disk: Disk, sheets: Iterable[Sheet]) -> bool:
        """Keep sheets on disk, where so many are new that it is worth the writing; whether it was.

        What was at hand is let go.
        """
        stored = self.stored(sheets)
        news = sum(self._kept.get(one.path) != one.digest for one in stored)
        is_worth_it = len(stored) >= FEWEST and news >= max(FEWEST // 3, len(stored) // 20)
        if is_worth_it:
            body = {
                "head": disk.head,
                "written": time.time_ns(),
                "files": [one.path.relative_to(self.folder).as_posix() for one in stored],
                "stated": [(one.stamp, one.digest, *one.way[1:3]) for one in stored],
                "packed": packed([one.value for one in stored]),
            }
            disk.write(_ENDING, json.dumps(body).encode())
            self._kept = {one.path: one.digest for one in stored}
        self._at_hand.clear()
        return is_worth_it


def _loaded(file: SheetFile, stamp: Stamp, settled: int, digest: str, sheet: Sheet) -> StoredSheet:
    """A kept sheet; one whose file was written in the moment of keeping is known by its digest alone."""
    return Stored(file.path, file, stamp if stamp[0] < settled else None, digest, sheet)
