"""Photometric profiles: files of IESNA LM-63 (1986 to 2019) as what a sheet holds of them.

The reading is our own: no kept library of the registry reads them. A file is text: keywords, a line that begins with `TILT=`, then
numbers alone. Only type C photometry is read, which is how luminaires are measured; a lamp's tilt counts as none.
"""

from __future__ import annotations

import re
from pathlib import Path

from samelight.light.profile import profile_text, why_no_profile
from samelight.sheets.errors import SamelightError
from samelight.sheets.plain_files import UnfitFileError, read_plain

LARGEST = 4 * 2**20
"""Bytes of a profile's file."""
_MOST = 4096
"""Intensities that a sheet holds; of more, angles are left out evenly."""
_TILT = re.compile(r"^\s*TILT\s*=\s*(\S+)[^\n]*\n", re.MULTILINE | re.IGNORECASE)
_SEPARATORS = re.compile(r"[\s,]+")
_TYPES = {2.0: "B", 3.0: "A"}


class UnreadableProfileError(SamelightError):
    """A profile that cannot be read; the message is the reason, without the file's name."""


def read_profile(path: Path) -> str:
    """What a sheet holds of a profile's file. Raises `UnreadableProfileError`."""
    try:
        raw = read_plain(path, LARGEST)
    except UnfitFileError as error:
        raise UnreadableProfileError(str(error) if error.expected else f"it is {error.found}") from None
    except OSError as error:
        raise UnreadableProfileError(f"it cannot be read: {error.strerror or error}") from None
    return lm63_text(raw.decode("latin-1"))


def lm63_text(text: str) -> str:
    """What a sheet holds of the text of an LM-63 file. Raises `UnreadableProfileError`.

    >>> lm63_text("IESNA:LM-63-2002\\nTILT=NONE\\n1 -1 2 3 1 1 2 0 0 0\\n1 1 40\\n0 45 90\\n0\\n100 50 0\\n")
    '0 45 90; 0; 200 100 0'
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    tilt = _TILT.search(text)
    if tilt is None:
        raise UnreadableProfileError("it has no line TILT=, and so is no LM-63 file")
    try:
        numbers = [float(word) for word in _SEPARATORS.split(text[tilt.end() :]) if word]
    except ValueError:
        raise UnreadableProfileError("what follows its line TILT= is not all numbers") from None
    if tilt[1].upper() == "INCLUDE":
        numbers = _after_tilt(numbers)
    elif tilt[1].upper() != "NONE":
        raise UnreadableProfileError("its tilt stands in another file")
    if len(numbers) < 13:
        raise UnreadableProfileError("it is cut off before its angles")
    multiplier = numbers[2] * numbers[10] * numbers[11]
    if numbers[5] != 1.0:
        kind = _TYPES.get(numbers[5])
        raise UnreadableProfileError(
            f"it is of type {kind} photometry" if kind else "its type of photometry is none"
        )
    sizes = numbers[3:5]
    if not all(1.0 <= size <= 10_000.0 and size.is_integer() for size in sizes):
        raise UnreadableProfileError("its numbers of angles are none")
    angles, planes = map(int, sizes)
    rest = numbers[13:]
    if len(rest) < angles + planes + angles * planes:
        raise UnreadableProfileError("it is cut off: it has fewer intensities than angles")
    polar, about = rest[:angles], rest[angles : angles + planes]
    values = [multiplier * one for one in rest[angles + planes :][: angles * planes]]
    why = why_no_profile(polar, about, values)
    if why:
        raise UnreadableProfileError(why)
    return _thinned(polar, about, values)


def _after_tilt(numbers: list[float]) -> list[float]:
    """The numbers after those of a lamp's tilt: its geometry, how many angles, the angles, the multipliers."""
    pairs = numbers[1] if len(numbers) > 1 else -1.0
    if not (0.0 <= pairs <= 10_000.0 and pairs.is_integer()):
        raise UnreadableProfileError("its tilt has no number of angles")
    return numbers[2 + 2 * int(pairs) :]


def _thinned(polar: list[float], planes: list[float], values: list[float]) -> str:
    """A profile as text, with fewer angles where it has more than a sheet holds; the first and the last stay."""
    keep_polar, keep_planes = list(range(len(polar))), list(range(len(planes)))
    while len(keep_polar) * len(keep_planes) > _MOST:
        longer = (
            keep_polar if len(keep_polar) >= 4 * len(keep_planes) or len(keep_planes) < 3 else keep_planes
        )
        longer[:] = [*longer[:-1:2], longer[-1]]
    kept = [values[plane * len(polar) + angle] for plane in keep_planes for angle in keep_polar]
    return profile_text([polar[one] for one in keep_polar], [planes[one] for one in keep_planes], kept)
