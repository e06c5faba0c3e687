"""Small pictures of the shots, kept from one day to the next: a frame is large, and a cut has many.

A kept one lies in the user's cache folder, which lets nobody else in, under a name made of which file it was made from and
when that was written. It may be deleted at any time; a cache that cannot be written is no error.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

from platformdirs import user_cache_path
from PySide6.QtGui import QImage

from samelight.gui.background.frames import Frame, Stamp, load, stamp_of
from samelight.gui.paint.png_bytes import png_bytes
from samelight.sequence.disk import make_room
from samelight.sheets.errors import SamelightError
from samelight.sheets.private import read_own, write_own
from samelight.sources.pictures.seen import PLAIN, Through

THUMBNAIL = 128
"""The longest side, in pixels: as wide as a column gets on a screen scaled to 200 %."""

_LARGEST = 2**20


def thumbnail_folder() -> Path:
    """Where kept ones lie."""
    return user_cache_path("samelight", appauthor=False) / "thumbnails"


def load_thumbnail(
    folder: Path,
    shot: str,
    longest: int,
    stops: float,
    known: Frame | None = None,
    through: Through = PLAIN,
) -> Frame:
    """As `load`, which is asked only for what is not kept; never raises either."""
    stamp = stamp_of(folder, shot)
    if (
        known is not None
        and known.stamp == stamp
        and known.image is not None
        and known.is_seen(stops, through)
    ):
        return known
    if stamp is None:
        return load(folder, shot, longest, stops, known, through)
    image = _kept(_file(folder, stamp, longest, through))
    if image is not None:
        return Frame(shot, longest, stops, stamp, image=image, through=through)
    frame = load(
        folder, shot, longest, stops, known if known is None or known.image is None else None, through
    )
    if frame.image is None or frame.stamp is None:
        return frame
    if not frame.lacks:
        _keep(_file(folder, frame.stamp, longest, through), frame.image)
    return Frame(shot, longest, stops, frame.stamp, image=frame.image, through=through)


def _file(folder: Path, stamp: Stamp, longest: int, through: Through) -> Path:
    """Where a picture is kept: another one where the frame, or the config that it is seen through, is another since."""
    config = None
    if through.view is not None:
        with contextlib.suppress(OSError, ValueError):
            stat = os.stat(through.view.config)  # noqa: PTH116 - of one that is built in there is no path
            config = stat.st_mtime_ns, stat.st_size
    named = repr((os.path.realpath(folder), stamp, longest, through, config))
    return thumbnail_folder() / f"{hashlib.sha256(os.fsencode(named)).hexdigest()[:40]}.png"


def _kept(path: Path) -> QImage | None:
    try:
        content = read_own(path, _LARGEST)
    except (OSError, ValueError):
        return None
    image = QImage.fromData(content)
    return None if image.isNull() or max(image.width(), image.height()) > THUMBNAIL else image


def _keep(path: Path, image: QImage) -> None:
    with contextlib.suppress(OSError, SamelightError):
        write_own(path, png_bytes(image))
        make_room(path)
