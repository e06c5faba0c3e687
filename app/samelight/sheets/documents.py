"""Documents that a user asks for under a name of their own: they may write over each other, never over a sequence."""

from __future__ import annotations

import os
from pathlib import Path

from samelight.sheets import frames
from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import read_sequence
from samelight.sheets.writing import WriteError, failure_told, write_whole

_OF_A_SEQUENCE = frozenset({"master", "shots", "decisions", "views", frames.FOLDER})
"""Folders of a sequence in which the program, or a render, puts what others rely on."""


def write_document(path: Path, content: str | bytes) -> None:
    """Write a document whole, over an earlier one of its name. Raises `WriteError`, also where `refuse_of_sequence` does."""
    refuse_of_sequence(path)
    write_whole(path, content)


def refuse_of_sequence(path: Path) -> None:
    """Raise `WriteError` for a path that is a sequence's own: in its folders of masters, shots, decisions, views and frames,
    or what sequence.yaml is or names. A link counts as what it leads to."""
    with failure_told(path):  # a ring of links, or the working folder has gone
        place = path.resolve()
    for folder in place.parents:
        if not os.path.lexists(folder / SEQUENCE_FILE):
            continue
        inside = place.relative_to(folder).parts
        in_folder = len(inside) > 1 and inside[0].casefold() in _OF_A_SEQUENCE
        if in_folder or any(_is_same(place, own) for own in _own_files(folder)):
            raise WriteError(
                f"{path}: not written: it is a file of the sequence in {folder}; take another name"
            )


def _own_files(folder: Path) -> list[Path]:
    own = [folder / SEQUENCE_FILE, folder / "policy.yaml"]
    try:
        stated = read_sequence(folder)
    except SamelightError:
        return own
    return [*own, *(path for path in (stated.policy, stated.cut_file) if path is not None)]


def _is_same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return one == other
