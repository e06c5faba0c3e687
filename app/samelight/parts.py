"""Sheets in a file, read by one machine of a farm for another: the part of a sequence that it checked.

A part holds what was read, with the digest of every file, and which program read it under which conventions. A sheet is
taken from it only where the file still has that digest, so that a part changes how long a check takes and nothing else.
"""

from __future__ import annotations

import hashlib
import json
import stat
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from samelight.kept import LARGEST, Kept, Offered, program
from samelight.sheets.errors import Fault, SamelightError, SheetError
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.sheet import Sheet
from samelight.sheets.writing import write_whole

_START = b"samelight part 1 "


class UnusedPartError(SamelightError):
    """A part that holds nothing for this sequence as it is: its sheets are to be read from their files."""


def save_part(path: Path, kept: Kept, sheets: Iterable[Sheet]) -> None:
    """Write the sheets whose files are known for certain.

    Raises `WriteError`, and `SheetError` where another file is in the way: only a part is written over.
    """
    if path.is_file() and path.stat().st_size:
        _bytes(path)
    known = kept.offers(sheet.path for sheet in sheets)
    offers = [(one, one.outcome) for one in known if isinstance(one.outcome, Sheet)]
    body = json.dumps(
        {
            "head": _head(kept),
            "files": [(_name(kept, one), one.digest, *one.asked) for one, _ in offers],
            "packed": packed([sheet for _, sheet in offers]),
        }
    ).encode()
    write_whole(path, _START + hashlib.sha256(body).hexdigest().encode() + b"\n" + body)


def read_part(path: Path, kept: Kept) -> list[Offered]:
    """The sheets of a part, for the sequence of `kept`.

    Raises `SheetError` for a file that is no part, and `UnusedPartError` for one that is damaged, or was written
    by another program or under other conventions.
    """
    start, _, body = _bytes(path).partition(b"\n")
    if hashlib.sha256(body).hexdigest().encode() != start.removeprefix(_START):
        raise UnusedPartError(f"{path} is damaged")
    try:
        data = json.loads(body)
        other = [name for name, value in _head(kept).items() if data["head"].get(name) != value]
        if other:
            raise UnusedPartError(f"{path} was written {_OTHERWISE[other[0]]}")
        paths = [kept.folder / name for name, *_ in data["files"]]
        sheets = unpacked(data["packed"], paths)
        for sheet in sheets:  # made here, where it is known what does not hold
            dict(sheet.typed)
            for groups in sheet.sections.values():
                for group in groups.values():
                    dict(group)
        return [
            Offered(sheet.path, str(digest), (shot, version), sheet)
            for (_, digest, shot, version), sheet in zip(data["files"], sheets, strict=True)
        ]
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
        raise UnusedPartError(f"{path} is damaged") from None


def _bytes(path: Path) -> bytes:
    wanted = "a part, as samelight check --save-part writes it"
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # opening a pipe would wait for whoever writes to it
            raise SheetError(
                [Fault(str(path), "", wanted, "a folder" if path.is_dir() else "a pipe or a device")]
            )
        with path.open("rb") as file:
            start = file.read(len(_START))
            if start != _START:
                raise SheetError([Fault(str(path), "", wanted, "another file" if start else "an empty file")])
            rest = file.read(LARGEST + 1)
    except OSError as error:
        raise SheetError([Fault(str(path), "", wanted, error.strerror or str(error))]) from None
    if len(rest) > LARGEST:
        raise SheetError([Fault(str(path), "", f"at most {LARGEST // 2**20} MiB", "more")])
    return start + rest


_OTHERWISE = {
    "program": "by another version of the program",
    "conventions": "under other conventions of the sequence",
    "kinds": "under other kinds of the policy",
}


def _head(kept: Kept) -> Mapping[str, Any]:
    """What has to be the same for a part to hold. Folders differ from machine to machine, and so do times of files."""
    return {
        "program": program(Path.read_bytes),
        "conventions": repr(kept.sequence.conventions),
        "kinds": repr(kept.policy.kinds),
    }


def _name(kept: Kept, one: Offered) -> str:
    return one.path.relative_to(kept.folder).as_posix()
