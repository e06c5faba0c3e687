"""A .gltf or .glb file as checked JSON with its buffers.

The file is read with the standard library. The one general reader on PyPI turns the JSON into classes, needs two more
packages for it, and leaves what matters here to its caller: bounds, node transforms, samplers, extensions.
"""

from __future__ import annotations

import base64
import binascii
import json
import math
import os
import struct
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn, TypeVar
from urllib.parse import unquote, unquote_to_bytes, urlsplit

from samelight.sheets.plain_files import UnfitFileError, can_be_named, check_plain, is_within, open_plain
from samelight.sources.errors import CaptureError
from samelight.sources.numbers import as_typed
from samelight.sources.plain_files import open_plain_file

LARGEST_JSON = 256 * 2**20
"""Bytes of JSON. A film set's node graph has some ten megabytes; what is larger carries its buffers as text."""

LARGEST = 2**32
"""Bytes of a .glb, which cannot say that it has more, and of a buffer."""

_MAGIC, _JSON, _BIN = b"glTF", 0x4E4F534A, 0x004E4942
_HEADER, _CHUNK = struct.Struct("<4sII"), struct.Struct("<II")

Json = Mapping[str, Any]
T = TypeVar("T", str, int)


@dataclass(slots=True)
class Asset:
    """A glTF file: its JSON, and where its buffers are, in the `readable` folders. `used` are the files beside it that were read."""

    path: Path
    readable: Sequence[Path]
    data: Json
    chunk: tuple[int, int] | None = None
    """Offset and length of the binary chunk of a .glb."""
    used: set[Path] = field(default_factory=set)
    _embedded: dict[int, bytes] = field(default_factory=dict)
    _sound: set[int] = field(default_factory=set)
    """The lists of `data` that hold objects alone, by their identity."""

    def fail(self, at: str, expected: str, found: str) -> NoReturn:
        """Raise the `CaptureError` for something wrong at a place such as `nodes[3].rotation`."""
        raise CaptureError(self.path, expected, found, path=at)

    def objects(self, owner: Json, key: str, at: str = "") -> list[Json]:
        """A list of objects, empty where there is none."""
        if key not in owner:
            return []
        listed: list[Json] = owner[key]
        if id(listed) not in self._sound:
            if not isinstance(listed, list) or not all(isinstance(item, dict) for item in listed):
                self.fail(f"{at}{key}", "a list of objects", _shown(listed))
            self._sound.add(id(listed))
        return listed

    def object(self, owner: Json, key: str, at: str) -> Json:
        """An object, empty where there is none."""
        found = owner.get(key, {})
        if not isinstance(found, dict):
            self.fail(f"{at}.{key}", "an object", _shown(found))
        return found

    def extension(self, owner: Json, name: str, at: str) -> Json | None:
        """An extension of an object; None where it has none of that name."""
        extensions = self.object(owner, "extensions", at)
        return self.object(extensions, name, f"{at}.extensions") if name in extensions else None

    def index(self, owner: Json, key: str, at: str, size: int) -> int | None:
        """An index into a list of `size`; None where it is not given."""
        found = owner.get(key)
        if found is None:
            return None
        if isinstance(found, bool) or not isinstance(found, int) or not 0 <= found < size:
            self.fail(f"{at}.{key}".lstrip("."), f"an index below {size}", _shown(found))
        return found

    def one_of(self, owner: Json, key: str, at: str, known: Collection[T], fallback: T | None = None) -> T:
        """One of the values that there are: a text or a code. An object or a list is none, nor is true for 1."""
        found = owner.get(key, fallback)
        same = [value for value in known if type(found) is type(value) and found == value]
        if not same:
            *some, last = map(str, known)
            self.fail(f"{at}.{key}", f"one of {', '.join(some)} or {last}", _shown(found))
        return same[0]

    def number(self, owner: Json, key: str, at: str, fallback: float) -> float:
        """A finite number, as it was typed where it went through a 32-bit float."""
        found = owner.get(key, fallback)
        if isinstance(found, bool) or not isinstance(found, int | float) or not _is_finite(found):
            self.fail(f"{at}.{key}", "a finite number", _shown(found))
        return as_typed(float(found))

    def numbers(self, owner: Json, key: str, at: str, fallback: tuple[float, ...]) -> tuple[float, ...]:
        """As many finite numbers as `fallback` has."""
        found = owner.get(key, fallback)
        size = len(fallback)
        if not isinstance(found, list | tuple) or len(found) != size:
            self.fail(f"{at}.{key}", f"{size} numbers", _shown(found))
        if not all(
            isinstance(item, int | float) and not isinstance(item, bool) and _is_finite(item)
            for item in found
        ):
            self.fail(f"{at}.{key}", f"{size} finite numbers", _shown(found))
        return tuple(float(item) for item in found)

    def count(self, owner: Json, key: str, at: str, fallback: int | None = None) -> int:
        """A whole number of 0 or more."""
        found = owner.get(key, fallback)
        if isinstance(found, bool) or not isinstance(found, int) or found < 0:
            self.fail(f"{at}.{key}", "a whole number of 0 or more", _shown(found))
        return found

    def bytes_of(self, buffer: int, start: int, length: int) -> bytes | str:
        """A part of a buffer, or why it is not to be had (a file that is missing).

        Raises `CaptureError` for a buffer that is not as long as it says.
        """
        at = f"buffers[{buffer}]"
        stated = self.objects(self.data, "buffers")[buffer]
        size = self.count(stated, "byteLength", at)
        if start + length > size:
            self.fail(at, f"at least {start + length} bytes, which a buffer view takes", f"{size}")
        uri = stated.get("uri")
        if uri is None:
            if self.chunk is None or buffer != 0:
                return f"buffer {buffer} names no file"
            return self._read(self.path, self.chunk[0] + start, length, self.chunk[1] - start, at)
        if not isinstance(uri, str):
            self.fail(f"{at}.uri", "text", _shown(uri))
        if uri.startswith("data:"):
            if buffer not in self._embedded:
                self._embedded[buffer] = self.decoded(uri, f"{at}.uri")
            whole = self._embedded[buffer]
            if start + length > len(whole):
                self.fail(at, f"at least {start + length} bytes", f"{len(whole)} in its data URI")
            return whole[start : start + length]
        path = self.beside(uri)
        if path is None:
            return f"{_cut(uri)} is no file beside it"
        if not is_within(path, *self.readable):
            return (
                f"{_cut(uri)} lies outside the scene's folder and is not read (--allow-root allows a folder)"
            )
        try:
            check_plain(path, LARGEST)
            self.used.add(path)
            return self._read(path, start, length, path.stat().st_size - start, at)
        except FileNotFoundError:
            return f"{_cut(uri)} was not found"
        except UnfitFileError as error:
            return f"{_cut(uri)} is {error.found}"
        except (OSError, ValueError):
            return f"{_cut(uri)} could not be read"

    def beside(self, uri: str) -> Path | None:
        """The file that a relative URI names; None for an address elsewhere, which is never fetched."""
        try:
            parts = urlsplit(uri)
        except ValueError:
            return None
        if parts.scheme or parts.netloc or not parts.path or parts.path.startswith("/"):
            return None
        path = self.path.parent / unquote(parts.path)
        return path if can_be_named(path) else None

    def decoded(self, uri: str, at: str) -> bytes:
        """What a data URI holds."""
        head, comma, body = uri.partition(",")
        if not comma:
            self.fail(at, "a data URI with a comma before its data", _cut(uri))
        if not head.endswith(";base64"):
            return unquote_to_bytes(body)
        try:
            return base64.b64decode(body, validate=True)
        except (binascii.Error, ValueError) as error:
            self.fail(at, "base64 data", str(error))

    def _read(self, path: Path, start: int, length: int, there: int, at: str) -> bytes:
        if length > there:
            self.fail(at, f"{start + length} bytes in {path.name}", "fewer")
        with open_plain(path, LARGEST) as stream:
            stream.seek(start)
            return stream.read(length)


def _is_finite(number: float) -> bool:
    try:
        return math.isfinite(number)
    except OverflowError:  # a whole number beyond any float
        return False


def _shown(value: Any) -> str:
    if value is None:
        return "none"
    return _cut(json.dumps(value)) if not isinstance(value, dict) else "an object"


def _cut(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:59]}…"


def read_asset(path: Path, readable: Sequence[Path] = ()) -> Asset:
    """Read a .gltf or .glb file, whose buffers lie in the `readable` folders, by default its own.

    Raises `CaptureError` for one that is missing, damaged or not glTF 2."""
    expected = "a glTF scene (.gltf, .glb)"
    try:
        with open_plain_file(path, expected, LARGEST) as stream:
            folders = tuple(readable) or (path.parent,)
            size = os.fstat(stream.fileno()).st_size
            start = stream.read(_HEADER.size)
            if not start:
                raise CaptureError(path, expected, "an empty file")
            if path.suffix.lower() == ".glb":
                return _binary(path, folders, stream, start, size)
            if start.startswith(_MAGIC):
                raise CaptureError(path, "JSON, as the name says", "a binary file, which is named .glb")
            _bounded(path, size)
            return Asset(path, folders, _parsed(path, start + stream.read(LARGEST_JSON)))
    except OSError as error:
        raise CaptureError(path, "a readable file", error.strerror or str(error)) from None


def _bounded(path: Path, size: int) -> None:
    if size > LARGEST_JSON:
        raise CaptureError(path, f"at most {LARGEST_JSON // 2**20} MiB of JSON", f"{size / 2**20:.0f} MiB")


def _binary(path: Path, folders: Sequence[Path], stream: Any, start: bytes, size: int) -> Asset:
    if not start.startswith(_MAGIC):
        raise CaptureError(path, "a file that begins with 'glTF'", f"one that begins with {start[:4]!r}")
    if len(start) < _HEADER.size:
        raise CaptureError(path, "a whole .glb file", f"{len(start)} bytes")
    _, version, length = _HEADER.unpack(start)
    if version != 2:
        raise CaptureError(path, "version 2 of .glb", f"version {version}")
    if length > size:
        raise CaptureError(path, f"{length:,} bytes, as it says", f"{size:,}: it was cut short")
    data: Json | None = None
    chunk: tuple[int, int] | None = None
    at = _HEADER.size
    while at + _CHUNK.size <= length and chunk is None:
        stream.seek(at)
        chunk_length, kind = _CHUNK.unpack(stream.read(_CHUNK.size))
        at += _CHUNK.size
        if at + chunk_length > length:
            raise CaptureError(path, "chunks inside the file", f"one of {chunk_length:,} bytes at {at:,}")
        if data is None:
            if kind != _JSON:
                raise CaptureError(path, "a first chunk of JSON", f"one of type {kind:#010x}")
            _bounded(path, chunk_length)
            data = _parsed(path, stream.read(chunk_length))
        elif kind == _BIN:
            chunk = (at, chunk_length)
        at += chunk_length
    if data is None:
        raise CaptureError(path, "a chunk of JSON", "none")
    return Asset(path, folders, data, chunk)


def _parsed(path: Path, raw: bytes) -> Json:
    def reject(constant: str) -> NoReturn:
        raise CaptureError(path, "finite numbers", constant)

    try:
        data = json.loads(raw.decode("utf-8-sig"), parse_constant=reject)
    except UnicodeDecodeError as error:
        raise CaptureError(path, "UTF-8 text", f"the byte 0x{raw[error.start]:02X}") from None
    except json.JSONDecodeError as error:
        raise CaptureError(
            path, "well-formed JSON", error.msg, line=error.lineno, column=error.colno
        ) from None
    except (RecursionError, ValueError):  # nested without end, or a number of thousands of digits
        raise CaptureError(path, "JSON of a scene", "nesting or numbers beyond all measure") from None
    if not isinstance(data, dict):
        raise CaptureError(path, "an object", "something else")
    stated = data.get("asset")
    version = str(stated.get("version", "")) if isinstance(stated, dict) else ""
    if not version.startswith("2."):
        found = f"version {_cut(version)}" if version else "no version"
        raise CaptureError(path, "glTF of version 2", found, path="asset.version")
    return data
