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
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from samelight.sequence.kept import LARGEST, Kept, Offered, digest_of, digest_of_unchanged, program
from samelight.sheets.documents import write_document
from samelight.sheets.errors import Fault, SamelightError, SheetError
from samelight.sheets.packed import packed, unpacked
from samelight.sheets.sheet import Sheet, read_sheet

_START = b"samelight part 1 "

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


def save_part(path: Path, kept: Kept, sheets: Iterable[Sheet], key: bytes | None = None) -> None:
    """Write the sheets whose files are known for certain, sealed where there is a key.

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
    marks = [hashlib.sha256(body).hexdigest(), *([] if key is None else [_seal(key, body)])]
    write_document(path, _START + " ".join(marks).encode() + b"\n" + body)


def _seal(key: bytes, body: bytes) -> str:
    return hmac.new(key, _START + body, "sha256").hexdigest()


def read_part(path: Path, kept: Kept, key: bytes | None = None) -> list[Offered]:
    """The sheets of a part, for the sequence of `kept`.

    Raises `SheetError` for a file that is no part, and `UnusedPartError` for one that is damaged, or was written
    by another program or under other conventions, or lacks the seal of the key, or does not hold what its files say.
    """
    start, _, body = _bytes(path).partition(b"\n")
    digest, _, seal = start.removeprefix(_START).partition(b" ")
    if hashlib.sha256(body).hexdigest().encode() != digest:
        raise UnusedPartError(f"{path} is damaged")
    if key is not None and not hmac.compare_digest(seal, _seal(key, body).encode()):
        raise UnusedPartError(f"{path} has {'another seal' if seal else 'no seal'}")
    offers = _offers(path, body, kept)
    if key is None:
        _try_some(path, offers, kept)
    return offers


def _try_some(path: Path, offers: Sequence[Offered], kept: Kept) -> None:
    """Read some sheets of a part again, drawn by chance. Raises `UnusedPartError` where one of them is another."""
    count = min(len(offers), max(FEWEST_TRIED, len(offers) // 50))
    for one in secrets.SystemRandom().sample(offers, count):
        shot, version = one.asked
        read = partial(
            read_sheet,
            one.path,
            shot=shot,
            version=version,
            given=kept.sequence.conventions,
            kinds=kept.policy.kinds,
        )
        try:
            sheet, digest = digest_of_unchanged(one.path, read)
        except (SheetError, OSError):
            sheet, digest = None, digest_of(one.path)
        if digest == one.digest and not _alike(sheet, one.outcome):
            raise UnusedPartError(f"{path} does not hold what {one.path.name} says")


def _alike(sheet: Sheet | None, offered: Sheet | SheetError) -> bool:
    """Whether two sheets are the same, also in the spelling of what was typed."""
    if sheet is None or isinstance(offered, SheetError):
        return False
    return sheet == offered and repr(dict(sheet.typed)) == repr(dict(offered.typed))


def _offers(path: Path, body: bytes, kept: Kept) -> list[Offered]:
    try:
        data = json.loads(body)
        other = [name for name, value in _head(kept).items() if data["head"].get(name) != value]
        if other:
            raise UnusedPartError(f"{path} was written {_OTHERWISE[other[0]]}")
        paths = [kept.folder / _inside(name) for name, *_ in data["files"]]
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
    start, _ = _regular(path, wanted, len(_START) - 1)
    if start != _START:
        raise SheetError([Fault(str(path), "", wanted, "another file" if start else "an empty file")])
    content, _ = _regular(path, wanted, LARGEST)
    if len(content) > LARGEST:
        raise SheetError([Fault(str(path), "", f"at most {LARGEST // 2**20} MiB", "more")])
    return content


def _regular(path: Path, wanted: str, most: int) -> tuple[bytes, os.stat_result]:
    """The bytes of a file, one more than `most` at the most, and its state. Raises `SheetError` for what is no file."""
    try:
        state = path.stat()
        if not stat.S_ISREG(state.st_mode):  # opening a pipe would wait for whoever writes to it
            kind = "a folder" if stat.S_ISDIR(state.st_mode) else "a pipe or a device"
            raise SheetError([Fault(str(path), "", wanted, kind)])
        if most >= LARGEST and state.st_size > LARGEST:
            raise SheetError([Fault(str(path), "", f"at most {LARGEST // 2**20} MiB", "more")])
        with path.open("rb") as file:
            return file.read(most + 1), state
    except OSError as error:
        raise SheetError([Fault(str(path), "", wanted, error.strerror or str(error))]) from None


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


def _inside(name: str) -> str:
    """A name of a file of the sequence folder. Raises ValueError for one that leads out of it."""
    if not name or "\\" in name or any(step in ("", ".", "..") for step in name.split("/")):
        raise ValueError(name)
    return name
