"""Which scenes a sequence is captured from, and the shot that each is of."""

from __future__ import annotations

import glob
import re
from collections.abc import Mapping
from pathlib import Path

from samelight.sheets.errors import SamelightError
from samelight.sheets.sequence import SEQUENCE_FILE, SequenceFile, is_safe_name
from samelight.sources.scenes import ENDINGS

_VERSION = re.compile(r"[._-]v(\d+)\Z", re.IGNORECASE)


def scenes_of(sequence: SequenceFile, pattern: str | None = None) -> dict[str, Path]:
    """The scene of each shot, in the order stated or in that of their names.

    They are those that `pattern` meets, relative to the sequence folder, else those that sequence.yaml names. A file's
    name is the shot's, without a version at its end; of several versions the highest counts. Raises `SamelightError`
    where nothing says which scenes are meant, where none are found and where one shot has two.
    """
    stated = pattern if pattern is not None else sequence.scenes
    if stated is None:
        raise SamelightError(
            f"{sequence.folder / SEQUENCE_FILE} names no scenes: say which with --scenes, such as 'scenes/*.usda'"
        )
    if isinstance(stated, Mapping):
        if not stated:
            raise SamelightError(f"{sequence.folder / SEQUENCE_FILE}: expected scenes, found none")
        return dict(stated)
    # Path.glob takes no pattern that is absolute.
    names = glob.glob(stated, root_dir=sequence.folder, recursive=True)  # noqa: PTH207
    found = sorted(map(Path, names))
    found = [path for path in found if path.suffix.lower() in ENDINGS]
    if not found:
        raise SamelightError(f"{sequence.folder}: no scene is called {stated}")
    chosen: dict[str, tuple[int, Path]] = {}
    for path in found:
        shot, version = shot_and_version(path.stem)
        if not is_safe_name(shot):
            raise SamelightError(f"{path}: expected a name that a shot can have, found {path.stem!r}")
        other = chosen.get(shot)
        if other is not None and other[0] == version:
            raise SamelightError(f"{shot} has two scenes, {other[1]} and {path}: narrow the pattern")
        if other is None or version > other[0]:
            chosen[shot] = (version, path)
    return {shot: sequence.folder / path for shot, (_, path) in sorted(chosen.items())}


def shot_and_version(stem: str) -> tuple[str, int]:
    """The shot that a scene's name names, and its version, 0 where it states none.

    >>> shot_and_version("HB_010.v003"), shot_and_version("HB_010_v12"), shot_and_version("HB_010")
    (('HB_010', 3), ('HB_010', 12), ('HB_010', 0))
    """
    match = _VERSION.search(stem)
    return (stem[: match.start()], int(match[1])) if match and match.start() else (stem, 0)
