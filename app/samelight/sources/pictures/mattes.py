"""Mattes in an OpenEXR frame: a layer that holds one, or an object by its name in an ID matte.

ID mattes are those of the Cryptomatte specification 1.2.0 (Psyop, published under BSD): a picture's metadata `cryptomatte/KEY/name` names
the layers NAME00, NAME01 and so on, whose R, G, B and A hold two pairs of an object's number and how much of the pixel it covers. A
name's number is its MurmurHash3 of 32 bits taken as the bits of a float.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

COVERED = 0.5
"""Share of a pixel that a matte has to cover."""
_MOST_RANKS = 32
_LARGEST_MANIFEST = 2**24
_NUMBERS = "rgba"


def murmur3(data: bytes) -> int:
    """MurmurHash3_x86_32 with a seed of 0 (Austin Appleby, public domain).

    >>> hex(murmur3(b"test")), murmur3(b"")
    ('0xba6bd213', 0)
    """
    found = 0
    whole = len(data) // 4 * 4
    for (block,) in struct.iter_unpack("<I", data[:whole]):
        found ^= _mixed(block)
        found = (_turned(found, 13) * 5 + 0xE6546B64) & 0xFFFFFFFF
    if data[whole:]:
        found ^= _mixed(int.from_bytes(data[whole:], "little"))
    found ^= len(data)
    for shift, factor in ((16, 0x85EBCA6B), (13, 0xC2B2AE35)):
        found = ((found ^ (found >> shift)) * factor) & 0xFFFFFFFF
    return found ^ (found >> 16)


def _mixed(block: int) -> int:
    return (_turned((block * 0xCC9E2D51) & 0xFFFFFFFF, 15) * 0x1B873593) & 0xFFFFFFFF


def _turned(number: int, bits: int) -> int:
    return ((number << bits) | (number >> (32 - bits))) & 0xFFFFFFFF


def number_of(name: str) -> int:
    """The bits of the float that stands for an object's name: never those of a denormal, an infinity or no number."""
    return as_float_bits(murmur3(name.encode()))


def as_float_bits(number: int) -> int:
    """A hash as the bits of a float: one whose exponent is all zeros or ones has its lowest bit of that flipped."""
    exponent = number >> 23 & 255
    return number ^ (1 << 23) if exponent in (0, 255) else number


@dataclass(frozen=True, slots=True)
class Matte:
    """Where a matte stands in a file: its part, and its channels, one that is the matte itself or pairs of number and coverage of
    the object `number`."""

    part: int
    channels: tuple[str, ...]
    number: int | None = None


def find_matte(name: str, specs: Sequence[Any]) -> Matte | None:
    """The matte of a name by the headers of all parts of a file: a channel or a layer called so, else an object of an ID matte.

    None where nothing is called so.
    """
    for part, spec in enumerate(specs):
        if not spec.deep:
            for channel in spec.channelnames:
                if channel == name or channel.rpartition(".")[0] == name:
                    return Matte(part, (channel,))
    for part, layer, manifest in _id_mattes(specs):
        stated = manifest.get(name)
        number = number_of(name) if not manifest else None
        if isinstance(stated, str):
            try:
                number = int(stated, 16)
            except ValueError:
                continue
        if number is not None:
            channels = tuple(_pairs(layer, specs[part].channelnames))
            if channels:
                return Matte(part, channels, number)
    return None


def _id_mattes(specs: Sequence[Any]) -> Iterator[tuple[int, str, dict[str, Any]]]:
    """Every ID matte of a file: its part, the name of its layers, and its manifest, empty where none can be read."""
    for part, spec in enumerate(specs):
        stated = {one.name: one.value for one in spec.extra_attribs if one.name.startswith("cryptomatte/")}
        for key, layer in sorted(stated.items()):
            if key.count("/") != 2 or not key.endswith("/name") or not isinstance(layer, str):
                continue
            text = stated.get(f"{key.rpartition('/')[0]}/manifest", "")
            manifest: Any = {}
            if isinstance(text, str) and len(text) <= _LARGEST_MANIFEST:
                try:
                    manifest = json.loads(text) if text else {}
                except (ValueError, RecursionError):
                    manifest = {}
            yield part, layer, manifest if isinstance(manifest, dict) else {}


def _pairs(layer: str, channels: Sequence[str]) -> Iterator[str]:
    """The channels of an ID matte's ranks: number, coverage, number, coverage, and so on."""
    named = {channel.casefold(): channel for channel in channels}
    for rank in range(_MOST_RANKS):
        four = [named.get(f"{layer}{rank:02d}.{one}".casefold()) for one in _NUMBERS]
        whole = [channel for channel in four if channel is not None]
        if len(whole) < 4:
            return
        yield from whole


def covered(matte: Matte, numbers: NDArray[np.float32]) -> NDArray[np.bool_]:
    """Where a matte covers most of a pixel, by the values of its channels, shape (lines, columns, channels)."""
    if matte.number is None:
        return np.asarray(numbers[..., 0] >= COVERED)
    share = np.zeros(numbers.shape[:2])
    bits = np.ascontiguousarray(numbers, dtype=np.float32).view(np.uint32)
    for pair in range(0, numbers.shape[2] - 1, 2):
        own = bits[..., pair] == np.uint32(matte.number)
        share = share + np.where(own, numbers[..., pair + 1], 0.0)
    return np.asarray(share >= COVERED)
