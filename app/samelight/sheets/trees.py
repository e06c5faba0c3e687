"""A YAML or JSON file as a plain tree, with the line of everything in it.

PyYAML's resolution surprises people: `1e-5` is text, `on` is true even as a key, `12:30` is 750, `010` is 8,
and the last of two equal keys wins without a word. Here numbers are read as a person means them, keys are
always text, and equal keys are a fault.
"""

from __future__ import annotations

import json
import re
from codecs import BOM_UTF8
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, NoReturn

import yaml

from samelight.sheets.building import DEEPEST, LARGEST_TREE, build
from samelight.sheets.errors import Fault, Faults, Place, Position, SheetError
from samelight.sheets.events import NextEvent, TextSpot, json_events, nests_beyond, spots, yaml_events
from samelight.sheets.fast_yaml import read_pieces
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.scalars import finite, integer, scalar
from samelight.sheets.syntax import json_problem, yaml_problem

__all__ = [
    "BYTE_ORDER_MARK",
    "DEEPEST",
    "LARGEST_FILE",
    "LARGEST_TREE",
    "Document",
    "parse_document",
    "read_document",
    "read_text",
    "read_to_keep",
    "scalar",
]

LARGEST_FILE = 16 * 1024 * 1024
"""Bytes. A full sheet of a feature shot has about 14 kB; a file above this is not a sheet."""

BYTE_ORDER_MARK = "\ufeff"
"""What a text of UTF-8 may begin with: without it, spreadsheets take it for something older, and a degree sign for two letters."""

_HALF_CHARACTER = re.compile(r"\\u[dD][89abAB]|\\u[dD][c-fC-F]")


class _Lines:
    """Where everything in a text stands, looked up only when something is at fault."""

    def __init__(self, events: Callable[[], NextEvent]) -> None:
        self._events = events

    @cached_property
    def _spots(self) -> dict[Place, TextSpot]:
        return spots(self._events())

    def locate(self, place: Place) -> Position | None:
        """Line and column of a place, or of its nearest ancestor in the text."""
        while place and place not in self._spots:
            place = place[:-1]
        spot = self._spots[place]
        return spot.line, spot.column

    def written(self, place: Place) -> str | None:
        """A scalar as it was written; None where there is none."""
        spot = self._spots.get(place)
        return None if spot is None else spot.text


@dataclass(frozen=True, slots=True)
class Document:
    """A file as a plain tree, and the way back to its lines."""

    path: Path
    data: Any
    faults: Faults
    """What was already found wrong; whoever reads on adds to it and raises all together."""

    def written(self, place: Place) -> str | None:
        """The text of a scalar as it was written: `010` where `data` has 10; None where no scalar stands."""
        return self.faults.written(place)


def read_document(path: Path) -> Document:
    """Read a .yaml, .yml or .json file.

    Raises `SheetError` with file, line, expected and found when the file is missing, too large, empty, in an
    unknown encoding, not well formed or nested too deep, has more than one document, cyclic aliases or aliases that
    expand beyond `LARGEST_TREE` values. Equal keys, tags and numbers that are not finite are noted in the
    document's faults.
    """
    return parse_document(path, read_text(path))


def read_text(path: Path) -> str:
    """The text of a file: UTF-8, or UTF-16 with its byte order mark. Raises `SheetError`."""
    return _decoded(path, _raw(path))


def read_to_keep(path: Path) -> str:
    """`read_text` with the byte order mark that UTF-8 begins with in the file, for what is to be written as it was."""
    raw = _raw(path)
    return (BYTE_ORDER_MARK if raw.startswith(BOM_UTF8) else "") + _decoded(path, raw)


def _raw(path: Path) -> bytes:
    try:
        return read_plain(path, LARGEST_FILE)
    except UnfitFileError as error:
        _fail(path, error.expected or "a file", error.found)
    except OSError as error:
        _fail(path, "a file that can be read", _reason(error))


_REASONS = {
    FileNotFoundError: "no such file",
    PermissionError: "no permission to read it",
    NotADirectoryError: "a file where a folder should be",
}


def _reason(error: OSError) -> str:
    return _REASONS.get(type(error)) or error.strerror or str(error)


def _decoded(path: Path, raw: bytes) -> str:
    encoding = "utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        column = error.start - raw.rfind(b"\n", 0, error.start) if encoding == "utf-8-sig" else None
        byte = raw[error.start] if error.start < len(raw) else 0
        found = f"the byte 0x{byte:02X}, as in a file of another encoding"
        _fail(path, "UTF-8 text", found, line, column)
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        _fail(path, "UTF-8 text", "NUL bytes, as in UTF-16 without a byte order mark", line)
    return text


def _fail(
    path: Path, expected: str, found: str, line: int | None = None, column: int | None = None
) -> NoReturn:
    raise SheetError([Fault(str(path), "", expected, found, line, column)]) from None


def parse_document(path: Path, text: str) -> Document:
    """Parse text already read; see `read_document`."""
    text = text.removeprefix(BYTE_ORDER_MARK)
    if not text.strip():
        _fail(path, "keys and values", "an empty file")
    is_json = path.suffix.lower() == ".json"
    lines = _Lines(lambda: json_events(text) if is_json else yaml_events(text))
    faults = Faults(path, lines.locate, lines.written)
    data = _json(text, faults) if is_json else _yaml(text, faults)
    return Document(path, data, faults)


def _yaml(text: str, faults: Faults) -> Any:
    tree = read_pieces(text)
    if tree is not None:
        return tree
    try:
        return build(yaml_events(text), faults)
    except yaml.YAMLError as error:
        faults.stop(*yaml_problem(error, text))
    except UnicodeEncodeError:  # text given by a caller; what was read from a file is whole
        faults.stop("whole characters", "half of one")


class _OddError(ValueError):
    """Something in JSON that has to be reported with its place."""


def _json(text: str, faults: Faults) -> Any:
    """JSON by Python's own reader; where anything is odd, once more by events, which know their places."""
    try:
        data = _plain_json(text)
        if _is_modest(data):
            return data
    except json.JSONDecodeError as error:
        _stop_at(error, text, faults)
    except (ValueError, RecursionError):
        _check_json(text, faults)
    return build(json_events(text), faults)


def _stop_at(error: json.JSONDecodeError, text: str, faults: Faults) -> None:
    """Raise `SheetError`, but where text is nested too deep before it is malformed: the events stop at a depth, whereas
    how deep Python's reader goes hangs on its version."""
    if not nests_beyond(text[: error.pos], DEEPEST):
        faults.stop(*json_problem(error, text))


def _plain_json(text: str) -> Any:
    """Raises ValueError for equal or empty keys, numbers that are not finite and half characters."""

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        result = dict(pairs)
        if len(result) != len(pairs) or "" in result:
            raise _OddError
        return result

    def reject(constant: str) -> NoReturn:
        raise _OddError(constant)

    if _HALF_CHARACTER.search(text):
        raise _OddError
    return json.loads(
        text, object_pairs_hook=once, parse_constant=reject, parse_float=finite, parse_int=integer
    )


def _check_json(text: str, faults: Faults) -> None:
    """Raise `SheetError` when text is not well formed, as far as it is not nested too deep."""
    try:
        json.loads(text, parse_int=float)
    except json.JSONDecodeError as error:
        _stop_at(error, text, faults)
    except RecursionError:
        pass  # the events stop at a depth long before


def _is_modest(data: Any) -> bool:
    """Whether a tree keeps within `DEEPEST` and `LARGEST_TREE`."""
    level, count = [data], 1
    for _ in range(DEEPEST):
        below: list[Any] = []
        for item in level:
            if isinstance(item, dict):
                below.extend(item.values())
            elif isinstance(item, list):
                below.extend(item)
        count += len(below)
        level = below
    return count <= LARGEST_TREE and not any(isinstance(item, dict | list) for item in level)
