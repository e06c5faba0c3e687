"""One shot's frame, read and made ready to be drawn; done in a thread, since a picture takes its time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColorSpace, QImage, QImageReader

from samelight.sheets.frames import FOLDER
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.unforeseen import what_failed
from samelight.sources.errors import CaptureError
from samelight.sources.limits import PICTURE
from samelight.sources.pictures.pictures import (
    MOST_PIXELS,
    Picture,
    PictureError,
    check_pixels,
    find_frame,
    read_exr,
)
from samelight.sources.pictures.seen import PLAIN, Through, seen_through
from samelight.sources.pictures.view_transform import Codes, jpeg_is_whole, picture_of_codes
from samelight.sources.trial import tried

FULL, PROXY = 4096, 640
"""The longest side that is kept of the frame that is looked at, and of one beside it."""

_MOST_FILE_BYTES = 2**30
_BYTES_A_PIXEL = 8
"""Of a PNG with 16 bits a channel. Qt by itself reads nothing that takes more than 256 MiB."""
_STARTS = {b"\x89PNG\r\n\x1a\n": b"png", b"\xff\xd8\xff": b"jpeg"}

Stamp = tuple[str, int, int, int, int]
"""Which file it is, when it was written, how long it is, and when anything about it changed: another one has another."""


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A shot's frame at one size and exposure. Without `image` there is none, and `problem` says why."""

    shot: str
    longest: int
    stops: float
    stamp: Stamp | None = None
    picture: Picture | None = None
    image: QImage | None = None
    problem: str = ""
    through: Through = PLAIN
    says: str = ""
    """What was done to the picture before it is on the screen."""
    lacks: str = ""
    """Why it is not seen through the view that was asked for; empty where it is."""

    def is_seen(self, stops: float, through: Through) -> bool:
        """Whether it is exposed so, and seen through this."""
        return (self.stops, self.through) == (stops, through)

    @property
    def size_bytes(self) -> int:
        """What it takes in memory."""
        linear = 0 if self.picture is None else int(self.picture.linear.nbytes)
        return linear + (0 if self.image is None else self.image.sizeInBytes())


def load(
    folder: Path,
    shot: str,
    longest: int,
    stops: float,
    known: Frame | None = None,
    through: Through = PLAIN,
) -> Frame:
    """A shot's frame as it is on disk now: `known` itself where that is still so, else read or exposed anew.

    Never raises for what a file is or is not: the frame then says it.
    """
    stamp: Stamp | None = None
    try:
        path = find_frame(folder, shot)
        if path is None:
            said = f"No frame. Put a picture at {FOLDER}/{shot}.exr, .png or .jpg"
            return _kept(known, Frame(shot, longest, stops, problem=said))
        stamp = _stamp(path)
        if known is not None and known.stamp == stamp:
            if known.picture is None or known.is_seen(stops, through):
                return known
            if known.through.space == through.space:
                return exposed(known, stops, through)
        picture = tried(path, PICTURE, read_frame, path, longest, through.space)
        return exposed(Frame(shot, longest, stops, stamp, picture), stops, through)
    except PictureError as error:
        name = stamp[0] if stamp else FOLDER
        said = f"{name} cannot be shown: {error}."
    except CaptureError as error:
        said = f"{stamp[0] if stamp else shot} cannot be shown: it is {error.fault.found}."
    except MemoryError:
        said = f"{stamp[0] if stamp else shot} cannot be shown: it is too large for the memory that is left."
    except OSError as error:
        said = f"{shot}: the frame cannot be read: {error.strerror or error}."
    except Exception as error:  # noqa: BLE001 - whatever it is, the next file of that name is looked at again
        said = f"{stamp[0] if stamp else shot} cannot be shown: {what_failed(error)}."
    return _kept(known, Frame(shot, longest, stops, stamp, problem=said))


def exposed(frame: Frame, stops: float, through: Through = PLAIN) -> Frame:
    """A frame's picture at another exposure, or through another view; a frame without one stays."""
    if frame.picture is None:
        return frame
    seen = seen_through(frame.picture, stops, through)
    image = image_of(seen.codes)
    return replace(frame, stops=stops, through=through, image=image, says=seen.says, lacks=seen.lacks)


def stamp_of(folder: Path, shot: str) -> Stamp | None:
    """Which file a shot's frame is now; None where there is none that could be read."""
    try:
        path = find_frame(folder, shot)
        return None if path is None else _stamp(path)
    except (PictureError, OSError):
        return None


def _stamp(path: Path) -> Stamp:
    stat = path.stat()
    return path.name, stat.st_mtime_ns, stat.st_size, stat.st_ino, stat.st_ctime_ns


def read_frame(path: Path, longest: int, space: str = "rec709") -> Picture:
    """Read a picture of any kind, reduced until neither side is longer than `longest`; an EXR that states no primaries is in a
    working `space`. Raises `PictureError`, OSError."""
    return read_exr(path, longest, space) if path.suffix.lower() == ".exr" else _read_display(path, longest)


def _kept(known: Frame | None, new: Frame) -> Frame:
    same = known is not None and (known.stamp, known.problem) == (new.stamp, new.problem)
    return known if known is not None and same else new


def image_of(codes: Codes) -> QImage:
    """Codes of shape (height, width, 3) as Qt draws them."""
    height, width = codes.shape[:2]
    plain = QImage(codes.data, width, height, 3 * width, QImage.Format.Format_RGB888)
    # Four bytes a pixel scale five times as fast as three, and that is done where the window waits for it.
    return plain.convertToFormat(QImage.Format.Format_RGB32)


def _read_display(path: Path, longest: int) -> Picture:
    """Read a PNG or JPEG. Raises `PictureError` and OSError."""
    try:
        data = read_plain(path, _MOST_FILE_BYTES)
    except UnfitFileError as error:
        raise PictureError(str(error) if error.expected else f"it is {error.found}") from None
    if not data:
        raise PictureError("it is empty")
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    # What a picture is stands in its first bytes; its ending may be wrong. No other reader is asked: some open further files.
    kind = next((kind for start, kind in _STARTS.items() if data.startswith(start)), None)
    if kind is None:
        raise PictureError("it is no PNG or JPEG picture, whatever its ending says")
    QImageReader.setAllocationLimit(_BYTES_A_PIXEL * MOST_PIXELS // 2**20)
    reader = QImageReader(buffer, QByteArray(kind))
    reader.setAutoDetectImageFormat(False)
    reader.setAutoTransform(True)
    size = reader.size()
    if size.isValid():
        check_pixels(size.width(), size.height())
    if kind == b"jpeg" and not jpeg_is_whole(data):
        raise PictureError("it is cut off before its end")
    image = reader.read()
    if image.isNull():
        raise PictureError("it is damaged or cut off")
    remarks = []
    if image.colorSpace().isValid() and image.colorSpace() != QColorSpace(QColorSpace.NamedColorSpace.SRgb):
        image.convertToColorSpace(QColorSpace(QColorSpace.NamedColorSpace.SRgb))
        remarks.append("colours taken to sRGB from the profile it holds")
    return picture_of_codes(codes_of(image), longest, tuple(remarks))


def codes_of(image: QImage) -> Codes:
    """The codes of a picture, shape (height, width, 3); what is transparent is black."""
    plain = image.convertToFormat(QImage.Format.Format_RGBA8888_Premultiplied)
    rows = np.frombuffer(plain.constBits(), dtype=np.uint8).reshape(plain.height(), plain.bytesPerLine())
    pixels = rows[:, : 4 * plain.width()].reshape(plain.height(), plain.width(), 4)
    return np.ascontiguousarray(pixels[:, :, :3])
