"""Sheets kept from one day to the next, so that what did not change is not read again.

One file a sequence in the user's cache folder, which lets nobody else in: what is kept is believed, so a folder or a file
that somebody else owns or may open counts as nothing, like what is damaged or was written for another folder, by another
program or under other conventions. It may be deleted at any time; a cache that cannot be written is no error. Nothing is
ever written into the sequence's own folder.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from platformdirs import user_cache_path

from samelight import __version__
from samelight.drift.policy import Policy
from samelight.sheets.errors import SheetError
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.private import read_own, write_own
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.sheet import Sheet
from samelight.sheets.trees import LARGEST_FILE

FORMAT = 3

FEWEST = 60
"""Sheets. A sequence of fewer is read about as fast as its cache."""

LARGEST = 512 * 2**20
"""Bytes that the files of all sequences may have together; the one that was not used for longest goes first."""

T = TypeVar("T")

SAME_MOMENT = 2_000_000_000
"""Nanoseconds. A file that was written this shortly before the cache may have changed since under the same time."""


Stat = tuple[int, int, int]
"""Size in bytes, and nanoseconds of the last change: as it is stated, and of anything about the file, which no copying
sets back (on Windows when it was made)."""


@dataclass(frozen=True, slots=True)
class Offered:
    """What somebody else read of a file: its digest, what it was read as, and the sheet or what is wrong with it."""

    path: Path
    digest: str
    asked: tuple[str | None, int]
    outcome: Sheet | SheetError


@dataclass(frozen=True, slots=True)
class _Known:
    stat: Stat
    digest: str
    asked: tuple[str | None, int]
    sheet: Sheet


@dataclass(slots=True)
class Kept:
    """The kept sheets of one sequence folder, to be read by these conventions and kinds."""

    folder: Path
    sequence: SequenceFile
    policy: Policy
    news: int = 0
    """How many sheets were not kept, or not as they are now."""
    table_holds: bool = False
    """Set by `references.first_comparison`: whether the table that was kept is still the one in use, so that `keep` need
    not write it."""
    decisions: int = 0
    """Set by `kept_ledger`: how many decisions were kept that are still as they were."""
    _known: dict[Path, _Known] = field(default_factory=dict)
    _loaded: Mapping[Path, _Known] = field(default_factory=dict)
    _offered: dict[tuple[Path, str], Offered] = field(default_factory=dict)
    _written: int = 0

    def digest(self, sheet: Sheet) -> str | None:
        """The digest of the file that a sheet was read from; None where it is not known for certain."""
        known = self._known.get(sheet.path)
        return known.digest if known is not None and known.sheet is sheet else None

    def loaded(self, path: Path, digest: str) -> Sheet | None:
        """The sheet that was kept of a file of this digest, also where the file is another by now."""
        known = self._loaded.get(path)
        return known.sheet if known is not None and known.digest == digest else None

    def get(self, path: Path, shot: str | None, version: int, read: Callable[[], Sheet]) -> Sheet:
        """A sheet as it was kept where the file is still the same, else what `read` makes of it, whose errors it raises."""
        now = _stat(path)
        known = self._current(path, shot, version, now)
        if known is not None:
            return known.sheet
        offered = self._offer_of(path, shot, version)
        if offered is None:
            sheet, digest = digest_of_unchanged(path, read)
        elif isinstance(offered.outcome, SheetError):
            raise SheetError(offered.outcome.faults)
        else:
            sheet, digest = offered.outcome, offered.digest
        self.news += 1
        if now is not None and digest is not None:
            self._known[path] = _Known(now, digest, (shot, version), sheet)
        return sheet

    def _current(self, path: Path, shot: str | None, version: int, now: Stat | None) -> _Known | None:
        """What is kept of a file, where that is what it holds `now`."""
        known = self._known.get(path)
        if known is None or now is None or known.asked != (shot, version):
            return None
        is_settled = now[1] < self._written - SAME_MOMENT
        if (now != known.stat or not is_settled) and digest_of(path) != known.digest:
            return None
        if now != known.stat:
            known = self._known[path] = _Known(now, known.digest, known.asked, known.sheet)
        return known

    def _offer_of(self, path: Path, shot: str | None, version: int) -> Offered | None:
        """What was offered of a file, where that is what it holds now."""
        digest = digest_of(path) if self._offered else None
        offered = None if digest is None else self._offered.get((path, digest))
        return offered if offered is not None and offered.asked == (shot, version) else None

    def knows(self, path: Path, shot: str | None, version: int) -> bool:
        """Whether a file need not be read: it is as it was kept or offered."""
        return (
            self._current(path, shot, version, _stat(path)) is not None
            or self._offer_of(path, shot, version) is not None
        )

    def offer(self, offered: Offered) -> None:
        """Take what somebody else read. It is used for a file that has this digest when it is asked for."""
        self._offered[offered.path, offered.digest] = offered

    def offers(self, paths: Iterable[Path]) -> list[Offered]:
        """What is known of these files, to be offered to another."""
        found = [(path, self._known[path]) for path in paths if path in self._known]
        return [Offered(path, known.digest, known.asked, known.sheet) for path, known in found]

    def drop_offers(self) -> None:
        """Forget what was offered and not used."""
        self._offered.clear()

    def load(self, there: Iterable[Path] = ()) -> None:
        """Take up what was kept, if anything was. `there` are files that have paths already, which need not be made."""
        file = self.file()
        try:
            data = json.loads(read_sound(file))
            if data["head"] != self.head():
                return
            made, place = {str(path): path for path in there}, str(self.folder)
            paths = [made.get(f"{place}/{name}") or self.folder / name for name in data["files"]]
            sheets = unpacked(data["packed"], paths)
            known = {
                path: _Known((size, changed, touched), digest, (shot, version), sheet)
                for path, (size, changed, touched, digest, shot, version), sheet in zip(
                    paths, data["stats"], sheets, strict=True
                )
            }
            self._written = int(data["written"])
        except (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
            return
        self._known, self._loaded = known, dict(known)
        with contextlib.suppress(OSError):
            os.utime(file)

    def save(self, paths: Iterable[Path]) -> bool:
        """Keep the sheets of these files, where so many are new that it is worth the writing; whether it was."""
        known = {path: self._known[path] for path in paths if path in self._known}
        if len(known) < FEWEST or self.news < max(FEWEST // 3, len(known) // 20):
            return False
        body = json.dumps(
            {
                "head": self.head(),
                "written": time.time_ns(),
                "files": [path.relative_to(self.folder).as_posix() for path in known],
                "stats": [(*one.stat, one.digest, *one.asked) for one in known.values()],
                "packed": packed([one.sheet for one in known.values()]),
            }
        )
        write_sound(self.file(), body.encode())
        self.news = 0
        return True

    def file(self, ending: str = "json") -> Path:
        """Where what is kept of the folder lies."""
        return cache_folder() / f"{hashlib.sha256(os.fsencode(self._place())).hexdigest()[:40]}.{ending}"

    def _place(self) -> str:
        return os.path.realpath(self.folder)

    def head(self) -> Mapping[str, Any]:
        """What has to be the same for what was kept to hold."""
        return {
            "format": FORMAT,
            "program": program(_stamp),
            "folder": self._place(),
            "conventions": repr(self.sequence.conventions),
            "kinds": repr(self.policy.kinds),
        }


def cache_folder() -> Path:
    """Where the kept sheets of all sequences lie."""
    return user_cache_path("samelight", appauthor=False) / "sheets"


def read_sound(file: Path) -> bytes:
    """What `write_sound` wrote. Raises ValueError where anything of it is not what was written, and OSError."""
    stated, _, body = read_own(file, LARGEST).partition(b"\n")
    if hashlib.sha256(body).hexdigest().encode() != stated:
        raise ValueError(f"{file} is damaged")
    return body


def write_sound(file: Path, body: bytes) -> None:
    """Write a file of the cache, unless it is too large or there is no writing, and keep the cache in its bounds."""
    content = hashlib.sha256(body).hexdigest().encode() + b"\n" + body
    if len(content) <= LARGEST:
        with contextlib.suppress(OSError):
            write_own(file, content)
            _make_room(file)


def _stat(path: Path) -> Stat | None:
    try:
        stat = path.stat()
    except OSError:
        return None
    return stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns


def digest_of_unchanged(path: Path, read: Callable[[], T]) -> tuple[T, str | None]:
    """What `read` makes of a file, and the digest of what it read; None where the file changed meanwhile."""
    before = _stat(path)
    made = read()
    digest = digest_of(path)
    return made, digest if before is not None and _stat(path) == before else None


def digest_of(path: Path) -> str | None:
    """The digest of what a file holds; None where it cannot be read, or is no file but a pipe or a device."""
    try:
        if not path.is_file():
            return None
        return hashlib.sha256(read_plain(path, LARGEST_FILE)).hexdigest()
    except (UnfitFileError, OSError, ValueError):
        return None


@cache
def program(state: Callable[[Path], bytes]) -> str:
    """The version, and the code that reads and compares, each file by its `state`: it changes under one version."""
    here, code = Path(__file__).parents[1], hashlib.sha256()
    for package in ("sheets", "light", "drift", "decisions"):
        for path in sorted(here.glob(f"{package}/**/*.py")):
            code.update(path.name.encode() + b" " + state(path) + b"\n")
    return f"{__version__} {code.hexdigest()}"


def _stamp(path: Path) -> bytes:
    return str(_stat(path)).encode()


def _make_room(newest: Path) -> None:
    """Remove what was not used for longest until the rest keeps within `LARGEST`."""
    files = []
    for path in newest.parent.iterdir():
        stat = _stat(path)
        if stat is not None and path != newest:
            files.append((stat[1], stat[0], path))
    total = newest.stat().st_size
    for _, size, path in sorted(files, reverse=True):
        total += size
        if total > LARGEST:
            path.unlink(missing_ok=True)
