"""Copies of the sample sequences, which hundreds of tests change: each sample is read from disk once in a process."""

from __future__ import annotations

import hashlib
import os
from functools import cache
from pathlib import Path

from samelight.sheets.resources import sample_sequence


def copy_of(name: str, folder: Path, *, decided: bool = True) -> Path:
    """Write a sample sequence as it stands, times of files included, into a new folder, and return that; without its
    decisions where nothing is to be `decided`."""
    for inside, files in _folders_of(sample_sequence(name)):
        if inside == "decisions" and not decided:
            continue
        (folder / inside).mkdir(parents=True)
        for file, content, times in files:
            path = f"{folder}/{inside}/{file}"
            Path(path).write_bytes(content)
            os.utime(path, ns=times)
    return folder


def content(folder: Path) -> dict[str, str]:
    """The digest of each file in a folder and below it, by its place."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


@cache
def _folders_of(sample: Path) -> list[tuple[str, list[tuple[str, bytes, tuple[int, int]]]]]:
    """Every folder of a sample, each before those in it, with its files: name, content, when it was read and written."""
    found = []
    for folder, inside, names in os.walk(sample):
        inside.sort()
        paths = [Path(folder, name) for name in sorted(names)]
        stats = [path.stat() for path in paths]
        files = [
            (path.name, path.read_bytes(), (stat.st_atime_ns, stat.st_mtime_ns))
            for path, stat in zip(paths, stats, strict=True)
        ]
        found.append((Path(folder).relative_to(sample).as_posix(), files))
    return found
