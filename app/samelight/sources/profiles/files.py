"""Which reader reads a photometric profile, by the ending of its name."""

from __future__ import annotations

from pathlib import Path

from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sources.profiles.eulumdat import eulumdat_text
from samelight.sources.profiles.lm63 import lm63_text
from samelight.sources.profiles.numbers import UnreadableProfileError

LARGEST = 4 * 2**20
"""Bytes of a profile's file."""
EULUMDAT = ".ldt"


def read_profile(path: Path) -> str:
    """What a sheet holds of a profile's file: EULUMDAT by its ending, else LM-63. Raises `UnreadableProfileError`."""
    try:
        raw = read_plain(path, LARGEST)
    except UnfitFileError as error:
        raise UnreadableProfileError(str(error) if error.expected else f"it is {error.found}") from None
    except OSError as error:
        raise UnreadableProfileError(f"it cannot be read: {error.strerror or error}") from None
    text = raw.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n")
    return eulumdat_text(text) if path.suffix.lower() == EULUMDAT else lm63_text(text)
