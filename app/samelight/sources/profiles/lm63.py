"""Profiles of IESNA LM-63 (1986 to 2019).

The reading is our own: no kept library of the registry reads them. A file is text: keywords, a line that begins with `TILT=`, then
numbers alone. A lamp's tilt counts as none.
"""

from __future__ import annotations

import re

from samelight.sources.profiles.goniometers import A, B, as_type_c
from samelight.sources.profiles.numbers import UnreadableProfileError, held_text

_TILT = re.compile(r"^\s*TILT\s*=\s*(\S+)[^\n]*\n", re.MULTILINE | re.IGNORECASE)
_SEPARATORS = re.compile(r"[\s,]+")
C = 1.0
_TURNED = {2.0: B, 3.0: A}


def lm63_text(text: str) -> str:
    """What a sheet holds of the text of an LM-63 file. Raises `UnreadableProfileError`.

    >>> lm63_text("IESNA:LM-63-2002\\nTILT=NONE\\n1 -1 2 3 1 1 2 0 0 0\\n1 1 40\\n0 45 90\\n0\\n100 50 0\\n")
    '0 45 90; 0; 200 100 0'
    """
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
    multiplier, kind = numbers[2] * numbers[10] * numbers[11], numbers[5]
    if kind != C and kind not in _TURNED:
        raise UnreadableProfileError("its type of photometry is none")
    sizes = numbers[3:5]
    if not all(1.0 <= size <= 10_000.0 and size.is_integer() for size in sizes):
        raise UnreadableProfileError("its numbers of angles are none")
    angles, planes = map(int, sizes)
    rest = numbers[13:]
    if len(rest) < angles + planes + angles * planes:
        raise UnreadableProfileError("it is cut off: it has fewer intensities than angles")
    vertical, about = rest[:angles], rest[angles : angles + planes]
    values = [multiplier * one for one in rest[angles + planes :][: angles * planes]]
    if kind == C:
        return held_text(vertical, about, values)
    return held_text(*as_type_c(_TURNED[kind], vertical, about, values))


def _after_tilt(numbers: list[float]) -> list[float]:
    """The numbers after those of a lamp's tilt: its geometry, how many angles, the angles, the multipliers."""
    pairs = numbers[1] if len(numbers) > 1 else -1.0
    if not (0.0 <= pairs <= 10_000.0 and pairs.is_integer()):
        raise UnreadableProfileError("its tilt has no number of angles")
    return numbers[2 + 2 * int(pairs) :]
