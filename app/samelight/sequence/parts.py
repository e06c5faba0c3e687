"""Sheets in a file, read by one machine of a farm for another: the part of a sequence that it checked.

A part holds what was read, with the digest of every file, and which program read it under which conventions. A sheet is
taken from it only where the file still has that digest, so that a part changes how long a check takes and nothing else.

Whether it holds what its files say cannot be seen without reading them. A part is believed where it has the seal of a key
that both machines have, or else where some of its sheets, drawn by chance, are read again and are the same.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import stat
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from samelight.sequence.disk import LARGEST, Disk, program, stated
from samelight.sequence.stored import SheetFile, Stored, StoredSheet, read_stored_sheet
from samelight.sheets.documents import write_document
from samelight.sheets.errors import Fault, SamelightError, SheetError
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.plain_files import UnfitFileError, open_plain
from samelight.sheets.sheet import Sheet

START = b"samelight part 1 "

SHORTEST_KEY, LONGEST_KEY = 16, 4096
"""Bytes of a key."""

FEWEST_TRIED = 16
"""Sheets of a part that are read again where nothing seals it; of more than 800 it is every fiftieth."""


class UnusedPartError(SamelightError):
    """A part that holds nothing for this sequence as it is: its sheets are to be read from their files."""


def read_key(path: Path) -> bytes:
    """The key that parts are sealed with. Raises `SheetError` for what is no key, or open to everybody."""
    content, state = _regular(path, "a file with a key", LONGEST_KEY)
    if os.name == "posix" and stat.S_IMODE(state.st_mode) & stat.S_IRWXO:
        raise SheetError(
            [Fault(str(path), "", "a key that only its owner and group may open", "one for everybody")]
        )
    if not SHORTEST_KEY <= len(content) <= LONGEST_KEY:
        size = f"{SHORTEST_KEY} to {LONGEST_KEY:,} bytes"
        found = f"{len(content)}" if len(content) <= LONGEST_KEY else "more"
        raise SheetError([Fault(str(path), "", size, found)])
    return content


def save_part(path: Path, disk: Disk, stored: Sequence[StoredSheet], key: bytes | None = None) -> None:
    """Write sheets of the sequence of `disk`, whose digests are certain, sealed where there is a key.

    Raises `WriteError`, and `SheetError` where another file is in the way: only a part is written over.
    """
    if path.is_file() and path.stat().st_size:
        _bytes(path)
    body = json.dumps(
        {
            "head": _head(disk),
            "files": [(_name(disk, one), one.digest, one.way.shot, one.way.version) for one in stored],
            "packed": packed([one.value for one in stored]),
        }
    ).encode()
    marks = [hashlib.sha256(body).hexdigest(), *([] if key is None else [_seal(key, body)])]
    write_document(path, START + " ".join(marks).encode() + b"\n" + body)


def _seal(key: bytes, body: bytes) -> str:
    return hmac.new(key, START + body, "sha256").hexdigest()


def read_part(path: Path, disk: Disk, key: bytes | None = None) -> list[StoredSheet]:
    """The sheets of a part, for the sequence of `disk`.

    Raises `SheetError` for a file that is no part, and `UnusedPartError` for one that is damaged, or was written
    by another program or under other conventions, or lacks the seal of the key, or does not hold what its files say.
    """
    start, _, body = _bytes(path).partition(b"\n")
    digest, _, seal = start.removeprefix(START).partition(b" ")
    if hashlib.sha256(body).hexdigest().encode() != digest:
        raise UnusedPartError(f"{path} is damaged")
    if key is not None and not hmac.compare_digest(seal, _seal(key, body).encode()):
        raise UnusedPartError(f"{path} has {'another seal' if seal else 'no seal'}")
    sheets = _sheets(path, body, disk)
    if key is None:
        _try_some(path, sheets)
    return sheets


def _try_some(path: Path, sheets: Sequence[StoredSheet]) -> None:
    """Read some sheets of a part again, drawn by chance. Raises `UnusedPartError` where one of them is another."""
    count = min(len(sheets), max(FEWEST_TRIED, len(sheets) // 50))
    for one in secrets.SystemRandom().sample(sheets, count):
        read = read_stored_sheet(one.way)
        if read.digest == one.digest and not _alike(read.outcome, one.value):
            raise UnusedPartError(f"{path} does not hold what {one.path.name} says")


def _alike(read: Sheet | SheetError, given: Sheet) -> bool:
    """Whether two sheets are the same, also in the spelling of what was typed."""
    return isinstance(read, Sheet) and read == given and repr(dict(read.typed)) == repr(dict(given.typed))


def _sheets(path: Path, body: bytes, disk: Disk) -> list[StoredSheet]:
    try:
        data = json.loads(body)
        other = [name for name, value in _head(disk).items() if data["head"].get(name) != value]
        if other:
            raise UnusedPartError(f"{path} was written {_OTHERWISE[other[0]]}")
        paths = [disk.folder / _inside(name) for name, *_ in data["files"]]
        sheets = unpacked(data["packed"], paths)
        for sheet in sheets:  # made here, where it is known what does not hold
            dict(sheet.typed)
            for groups in sheet.sections.values():
                for group in groups.values():
                    dict(group)
        return [
            Stored(sheet.path, SheetFile(sheet.path, shot, version, disk.rules), None, str(digest), sheet)
            for (_, digest, shot, version), sheet in zip(data["files"], sheets, strict=True)
        ]
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
        raise UnusedPartError(f"{path} is damaged") from None


def _bytes(path: Path) -> bytes:
    wanted = "a part, as samelight check --save-part writes it"
    start, _ = _regular(path, wanted, len(START) - 1)
    if start != START:
        raise SheetError([Fault(str(path), "", wanted, "another file" if start else "an empty file")])
    content, _ = _regular(path, wanted, LARGEST)
    if len(content) > LARGEST:
        raise SheetError([Fault(str(path), "", f"at most {LARGEST // 2**20} MiB", "more")])
    return content


def _regular(path: Path, wanted: str, most: int) -> tuple[bytes, os.stat_result]:
    """The bytes of a file, one more than `most` at the most, and its state. Raises `SheetError` for what is no file."""
    try:
        with open_plain(path, LARGEST) as file:
            return file.read(most + 1), os.fstat(file.fileno())
    except UnfitFileError as error:
        raise SheetError([Fault(str(path), "", error.expected or wanted, error.found)]) from None
    except OSError as error:
        raise SheetError([Fault(str(path), "", wanted, error.strerror or str(error))]) from None


_OTHERWISE = {
    "program": "by another version of the program",
    "conventions": "under other conventions of the sequence",
    "kinds": "under other kinds of the policy",
}


def _head(disk: Disk) -> Mapping[str, Any]:
    """What has to be the same for a part to hold. Folders differ from machine to machine, and so do times of files."""
    return {"program": program(Path.read_bytes), **stated(disk.rules)}


def _name(disk: Disk, one: StoredSheet) -> str:
    return one.path.relative_to(disk.folder).as_posix()


def _inside(name: str) -> str:
    """A name of a file of the sequence folder. Raises ValueError for one that leads out of it."""
    if not name or "\\" in name or any(step in ("", ".", "..") for step in name.split("/")):
        raise ValueError(name)
    return name
