"""The one file that says what a folder is. Told without reading it, and without what reads it."""

from __future__ import annotations

import os
from pathlib import Path

SEQUENCE_FILE = "sequence.yaml"


def is_sequence(folder: Path) -> bool:
    """Whether a folder says that it is a sequence, be it by a link that leads nowhere or a file that cannot be read."""
    try:
        return os.path.lexists(folder / SEQUENCE_FILE)
    except ValueError:  # no file can have such a name
        return False
