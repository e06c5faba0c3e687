"""Profiles of EULUMDAT (A. Stockmar, 1990, second edition 1998).

A file is lines of one thing each: 26 of the luminaire, six for each of its sets of lamps, ten shares of rooms, then the angles of all
planes, the polar angles, and the intensities of those planes that its symmetry leaves, in candela per 1000 lumens of its lamps.
Plane C0 lies along the light's own +X. The order of the lines is from memory, and as public descriptions have it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from samelight.light.profile import FULL
from samelight.sources.profiles.numbers import UnreadableProfileError, held_text

_SYMMETRY, _PLANES, _ANGLES, _FACTOR, _SETS = 2, 3, 5, 23, 25
"""Places of lines, from 0."""
_HEAD, _OF_A_SET, _FLUX, _ROOMS = 26, 6, 2, 10
_MOST = 10_000
NONE, ALL_ROUND, SIDES, ENDS, QUARTERS = range(5)
"""Alike nowhere, all round, on both sides of the plane C0 and C180, on both sides of the plane C90 and C270, in all quarters."""
_ENDS_OF = {SIDES: (0, 2), ENDS: (3, 1), QUARTERS: (0, 1)}
"""At how many quarters of a turn the stated planes begin and end."""


def eulumdat_text(text: str) -> str:
    """What a sheet holds of the text of an EULUMDAT file. Raises `UnreadableProfileError`."""
    lines = text.split("\n")
    symmetry = _count(lines, _SYMMETRY, "symmetry", 0, QUARTERS)
    count = _count(lines, _PLANES, "number of planes", 1)
    angles = _count(lines, _ANGLES, "number of angles", 1)
    sets = _count(lines, _SETS, "number of sets of lamps", 0)
    start = _HEAD + _OF_A_SET * sets + _ROOMS
    planes = _numbers(lines, start, count, "planes")
    polar = _numbers(lines, start + count, angles, "angles")
    stated = _stated(symmetry, planes)
    flux = _numbers(lines, _HEAD + _FLUX, 1, "light of its lamps")[0] if sets else 1000.0
    scale = flux / 1000.0 * _numbers(lines, _FACTOR, 1, "factor")[0]
    values = _numbers(lines, start + count + angles, len(stated) * angles, "intensities")
    rows = {
        planes[place]: [scale * one for one in values[index * angles : (index + 1) * angles]]
        for index, place in enumerate(stated)
    }
    if symmetry == ALL_ROUND:
        rows = {0.0: next(iter(rows.values()))}
    if symmetry == ENDS:
        rows |= {(FULL / 2.0 - plane) % FULL: row for plane, row in rows.items()}
    if symmetry in (NONE, ENDS) and 0.0 in rows:
        rows[FULL] = rows[0.0]
    found = sorted(rows)
    return held_text(polar, found, [value for plane in found for value in rows[plane]])


def _stated(symmetry: int, planes: Sequence[float]) -> list[int]:
    """The places, among all planes, of those whose intensities a file states.

    >>> planes = [45.0 * step for step in range(8)]
    >>> _stated(SIDES, planes), _stated(ENDS, planes), _stated(QUARTERS, planes)
    ([0, 1, 2, 3, 4], [6, 7, 0, 1, 2], [0, 1, 2])
    """
    if symmetry == ALL_ROUND:
        return [0]
    if any(b <= a < math.inf for a, b in pairwise(planes)):
        raise UnreadableProfileError("its planes do not ascend")
    count = len(planes)
    if symmetry == NONE:
        return list(range(count))
    first, last = _ENDS_OF[symmetry]
    if count % 4 or planes[first * count // 4] != 90.0 * first or planes[last * count // 4] != 90.0 * last:
        raise UnreadableProfileError("its planes do not go with its symmetry")
    return [(place + first * count // 4) % count for place in range((last - first) % 4 * count // 4 + 1)]


def _count(lines: Sequence[str], place: int, what: str, least: int, most: int = _MOST) -> int:
    number = _numbers(lines, place, 1, what)[0]
    if not (least <= number <= most and number.is_integer()):
        raise UnreadableProfileError(f"its {what} in line {place + 1} is none, and so it is no EULUMDAT file")
    return int(number)


def _numbers(lines: Sequence[str], start: int, count: int, what: str) -> list[float]:
    """The numbers of so many lines, with a point or a comma before their decimals."""
    some = lines[start : start + count]
    if len(some) < count:
        raise UnreadableProfileError(f"it is cut off before the end of its {what}")
    found = []
    for place, line in enumerate(some, start):
        try:
            found.append(float(line.strip().replace(",", ".")))
        except ValueError:
            raise UnreadableProfileError(
                f"line {place + 1} is no number, in the place of its {what}"
            ) from None
    return found
