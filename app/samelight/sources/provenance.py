"""What a sheet was captured from: every file that went into it by its content, so that nothing is read twice in vain."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from samelight.sheets import plain_files

LARGEST = 16 * 2**30
"""Bytes of a file that a scene is made of or uses."""

MISSING = "missing_files"
"""In a sheet's `source`, the files that the scene names and that were not there, by the way there from the scene's folder; true where
nobody knows where they would be."""

ASSEMBLY = "assembly"
"""In a sheet's `source`, the number and the one digest of the files that a scene is made of, where they are too many to list."""

OUTSIDE = "lies outside the scene's folder and is not read; it is compared by its path (--allow-root allows a folder)."
"""What is said of a file that a scene names elsewhere."""


def digest_of(path: Path) -> str | None:
    """The SHA-256 of a plain file of at most `LARGEST` bytes; None where it cannot be read."""
    return plain_files.digest_of(path, LARGEST)


def used_files(scene: Path, used: Iterable[Path]) -> dict[str, Any]:
    """The hash of a scene, and of each other file that it used, by the way there from the scene's folder."""
    names = {name_beside(scene, path): path for path in used}
    names.pop(scene.name, None)
    digests = {name: digest for name in sorted(names) if (digest := digest_of(names[name])) is not None}
    found: dict[str, Any] = {"sha256": digest_of(scene)}
    if digests:
        found["files"] = digests
    return found


def name_beside(scene: Path, path: Path) -> str:
    """A path as a file in the scene's folder would name it, with slashes; whole where no way leads there, or where it is no file's."""
    if (
        path.parts and not path.is_absolute() and ":" in path.parts[0]
    ):  # a scheme of a studio's own, which is no folder
        return path.as_posix()
    try:
        return Path(os.path.relpath(path.absolute(), scene.absolute().parent)).as_posix()
    except ValueError:  # another drive
        return path.as_posix()


def is_unchanged(source: Mapping[str, Any], scene: Path) -> bool:
    """Whether a scene and every file it used are what a sheet's `source` says they were.

    A source that lacked files counts as changed once one of them is there, or where it does not say where they would be.
    """
    if ASSEMBLY in source:
        return False  # nothing tells which files those were
    stated, files, missing = source.get("sha256"), source.get("files", {}), source.get(MISSING, [])
    if not isinstance(stated, str) or not isinstance(files, dict) or not isinstance(missing, list):
        return False
    if any((scene.parent / str(name)).exists() for name in missing):
        return False
    if stated != digest_of(scene):
        return False
    return all(digest == digest_of(scene.parent / name) for name, digest in files.items())
