"""The sequences that the program brings along, as the user's own copies: trying them writes nothing into the program."""

from __future__ import annotations

import os
import secrets
import shutil
from pathlib import Path

from platformdirs import user_data_path

from samelight import __version__
from samelight.sheets.plain_files import can_be_named
from samelight.sheets.resources import sample_sequence


def own_samples() -> Path:
    """Where the user's copies lie; those of each version of the program are apart, since samples change with it."""
    return user_data_path("samelight", appauthor=False) / "samples" / __version__


def own_copy(folder: Path) -> Path:
    """The user's copy of a sequence that the program brings along, made where it is not there yet, and never again: what
    was decided in it stays. Any other folder as it is. Raises OSError."""
    if not can_be_named(folder):
        return folder  # whoever opens it says so
    carried = sample_sequence().parent.resolve()
    place = folder.resolve()
    if place.parent != carried or not place.is_dir():
        return folder
    copy = own_samples() / place.name
    if not copy.is_dir():
        made = copy.with_name(f".{copy.name}.{secrets.token_hex(4)}")
        try:
            _copy(place, made)
            made.rename(copy)
        except OSError:
            if not copy.is_dir():  # or another window has just made it
                raise
        finally:
            shutil.rmtree(made, ignore_errors=True)
    return copy


def _copy(folder: Path, to: Path) -> None:
    """Copy files and folders without their modes: what is installed may be read only."""
    for place, _, names in os.walk(folder):
        into = to / Path(place).relative_to(folder)
        into.mkdir(parents=True)
        for name in names:
            shutil.copyfile(Path(place, name), into / name)
