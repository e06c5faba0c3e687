"""The order of shots out of a table (.csv): the column that names the most of them."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from collections.abc import Collection
from io import StringIO
from pathlib import Path

from samelight.sheets.errors import SamelightError
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.sequence import is_safe_name

_LARGEST = 16 * 2**20
"""Bytes of a table; a line a shot of a whole film takes a megabyte."""


def shots_of_table(path: Path, shots: Collection[str]) -> tuple[str, ...]:
    """Names of shots as a table has them from top to bottom, each once: those of `shots`, and what is spelt as these are.

    Raises `SamelightError` for a file that cannot be read, and for one that does not name half of the shots or more.
    """
    rows = _rows(path)
    known = set(shots)
    # A heading is a word: of shots without a number none but those that are there can be known.
    spelt = {spelling for shot in shots if "9" in (spelling := _spelling(shot))}
    named: dict[int, set[str]] = defaultdict(set)
    for row in rows:
        for place, cell in enumerate(row):
            if (name := cell.strip()) in known:
                named[place].add(name)
    most = max(map(len, named.values()), default=0)
    if not most or 2 * most < len(known):
        raise SamelightError(f"{path}: no column of it names half of the shots")
    column = min(place for place, names in named.items() if len(names) == most)
    found = (row[column].strip() for row in rows if column < len(row))
    return tuple(
        dict.fromkeys(
            name for name in found if name in known or (_spelling(name) in spelt and is_safe_name(name))
        )
    )


def _rows(path: Path) -> list[list[str]]:
    try:
        text = read_plain(path, _LARGEST).decode("utf-8-sig")
        first = text.partition("\n")[0]
        return list(csv.reader(StringIO(text, newline=""), delimiter=max(",;\t", key=first.count)))
    except UnfitFileError as error:
        raise SamelightError(f"{path}: {error}") from None
    except (OSError, ValueError, csv.Error) as error:
        raise SamelightError(f"{path}: expected a table, found one that cannot be read ({error})") from None


def _spelling(name: str) -> str:
    """A name with all its letters and all its numbers alike."""
    return re.sub(r"[^\W\d_]+", "a", re.sub(r"\d+", "9", name))
