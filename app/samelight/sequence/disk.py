"""What is kept of a sequence from one day to the next: files in the user's cache folder, which lets nobody else in.

What is kept is believed, so a folder or a file that somebody else owns or may open counts as nothing, like what is damaged
or was written for another folder, by another program or under other rules. It may be deleted at any time; a cache that
cannot be written is no error. Nothing is ever written into the sequence's own folder.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from platformdirs import user_cache_path

from samelight import __version__
from samelight.sequence.stored import Rules
from samelight.sheets.private import read_own, write_own
from samelight.sheets.stamps import stamp_if_there

FORMAT = 8

LARGEST = 512 * 2**20
"""Bytes that the files of all sequences may have together; the one that was not used for longest goes first."""

DAMAGE = (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError, EOFError)
"""What reading a file of the cache may raise, so that it counts as nothing."""


@dataclass(frozen=True, slots=True)
class Disk:
    """The files that are kept of one sequence folder, read by some rules: one for each `ending`."""

    folder: Path
    rules: Rules

    def file(self, ending: str) -> Path:
        """Where a file lies."""
        return kept_file(self.folder, ending)

    @property
    def head(self) -> dict[str, Any]:
        """What has to be the same for what was kept to hold."""
        return {
            "format": FORMAT,
            "program": program(_state),
            "folder": os.path.realpath(self.folder),
            **stated(self.rules),
        }

    def read(self, ending: str) -> bytes:
        """A file as it was written. Raises as `read_kept`."""
        return read_kept(self.folder, ending)

    def write(self, ending: str, body: bytes) -> None:
        """Write a file as `write_kept` does."""
        write_kept(self.folder, ending, body)


def kept_file(folder: Path, ending: str) -> Path:
    """Where a file of a sequence folder lies."""
    place = os.path.realpath(folder)
    return cache_folder() / f"{hashlib.sha256(os.fsencode(place)).hexdigest()[:40]}.{ending}"


def read_kept(folder: Path, ending: str) -> bytes:
    """A file as it was written. Raises ValueError where anything of it is not, and OSError."""
    file = kept_file(folder, ending)
    digest, _, body = read_own(file, LARGEST).partition(b"\n")
    if hashlib.sha256(body).hexdigest().encode() != digest:
        raise ValueError(f"{file} is damaged")
    return body


def write_kept(folder: Path, ending: str, body: bytes) -> None:
    """Write a file, unless it is too large or there is no writing, and keep the cache in its bounds."""
    content = hashlib.sha256(body).hexdigest().encode() + b"\n" + body
    if len(content) <= LARGEST:
        with contextlib.suppress(OSError):
            file = kept_file(folder, ending)
            write_own(file, content)
            make_room(file)


def stated(rules: Rules) -> dict[str, str]:
    """Rules as data, to be compared."""
    return {"conventions": repr(rules.conventions), "kinds": repr(rules.kinds)}


def cache_folder() -> Path:
    """Where what is kept of all sequences lies."""
    return user_cache_path("samelight", appauthor=False) / "sheets"


@cache
def program(state: Callable[[Path], bytes]) -> str:
    """The version, and the code that reads and compares, each file by its `state`: it changes under one version."""
    here, code = Path(__file__).parents[1], hashlib.sha256()
    for package in ("sheets", "light", "drift", "decisions"):
        for path in sorted(here.glob(f"{package}/**/*.py")):
            code.update(path.name.encode() + b" " + state(path) + b"\n")
    return f"{__version__} {code.hexdigest()}"


def _state(path: Path) -> bytes:
    return str(stamp_if_there(path)).encode()


def make_room(newest: Path) -> None:
    """Remove what was not used for longest until the rest keeps within `LARGEST`."""
    stamps = [(stamp_if_there(path), path) for path in newest.parent.iterdir() if path != newest]
    files = [(stamp[0], stamp[1], path) for stamp, path in stamps if stamp is not None]
    total = newest.stat().st_size
    for _, size, path in sorted(files, reverse=True):
        total += size
        if total > LARGEST:
            path.unlink(missing_ok=True)
