"""A shot's frame as a small picture for a document: read, reduced and packed as PNG in one go, where limits hold.

No Qt: a command that writes a page has no window.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from samelight.sources.pictures.pictures import PictureError, check_pixels, read_exr
from samelight.sources.pictures.reduced import UnreadablePictureError, forget_error, opened_picture, start_of
from samelight.sources.pictures.seen import PLAIN, Through, seen_through
from samelight.sources.pictures.view_transform import Codes, picture_of_codes


@dataclass(frozen=True, slots=True)
class SmallPicture:
    """A PNG of 8-bit sRGB codes, its width and height in pixels, and why it is not seen through the view that was asked for."""

    png: bytes
    width: int
    height: int
    lacks: str = ""


def small_picture(path: Path, longest: int, through: Through = PLAIN) -> SmallPicture:
    """A frame reduced until neither side is longer than `longest` pixels. Raises `PictureError` with the reason."""
    exr = path.suffix.lower() == ".exr"
    picture = read_exr(path, longest, through.space) if exr else picture_of_codes(_codes(path), longest)
    seen = seen_through(picture, 0.0, through)
    return SmallPicture(png_of(seen.codes), seen.codes.shape[1], seen.codes.shape[0], seen.lacks)


def _codes(path: Path) -> Codes:
    """The codes of a PNG or JPEG, shape (height, width, 3). Raises `PictureError`."""
    try:
        start_of(path)
        with opened_picture(path) as picture:
            spec = picture.spec()
            check_pixels(spec.width, spec.height)
            read = picture.read_image(0, 0, 0, min(spec.nchannels, 3), "uint8")
            if read is None:
                forget_error(picture)
                raise PictureError("it is damaged or cut off")
    except UnreadablePictureError as error:
        raise PictureError(str(error)) from None
    codes = np.asarray(read, dtype=np.uint8)
    return codes if codes.shape[2] == 3 else np.repeat(codes[..., :1], 3, axis=2)


def png_of(codes: Codes) -> bytes:
    """8-bit codes, shape (height, width, 3), as a PNG (ISO/IEC 15948: three chunks, each with its length and CRC).

    >>> png_of(np.zeros((1, 2, 3), dtype=np.uint8))[:8].hex()
    '89504e470d0a1a0a'
    """
    height, width = codes.shape[:2]
    lines = b"".join(b"\0" + line.tobytes() for line in codes)  # no filter
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = (b"IHDR", header), (b"IDAT", zlib.compress(lines, 9)), (b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(map(_chunk, chunks))


def _chunk(named: tuple[bytes, bytes]) -> bytes:
    name, data = named
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
