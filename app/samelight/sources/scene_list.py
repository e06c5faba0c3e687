"""Which scenes a sequence is captured from, and the shot that each is of."""

from __future__ import annotations

import fnmatch
import os
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.plain_files import is_within
from samelight.sheets.sequence import SequenceFile, is_safe_name
from samelight.sources.name_patterns import PLACES, expression_of
from samelight.sources.scenes import ENDINGS

_MAGIC = re.compile(r"[*?\[]")
_VERSION = re.compile(r"[._-]v(\d+)\Z", re.IGNORECASE)


MOST = 200_000
"""Files and folders that a pattern has the program look at."""


def scenes_of(
    sequence: SequenceFile,
    pattern: str | None = None,
    tell: Callable[[str], None] = lambda sentence: None,
    left_out: Callable[[str], None] = lambda sentence: None,
) -> dict[str, Path]:
    """The scene of each shot, in the order stated or in that of their names.

    They are those that `pattern` meets, relative to the sequence folder, else those that sequence.yaml names. A file's
    name is the shot's, without a version at its end, or what stands for `{shot}` in the pattern, and `{version}` beside it, on the
    whole way; of several versions the highest counts. A pattern
    stays in the sequence folder, unless `pattern` itself begins with another. `tell` hears how many files were looked at,
    and which links were left out, and `left_out` of each scene whose name no shot can have and each shot that has two. Raises
    `SamelightError` where nothing says which scenes are meant, and where none are found, or two for every shot.
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
    named = _named_by(stated)
    of_shots: dict[str, dict[int, list[Path]]] = defaultdict(lambda: defaultdict(list))
    for path in _matching(sequence, PLACES.sub("*", stated), pattern is not None, tell):
        told = named(path)
        if told is None:
            continue
        shot, version = told
        if is_safe_name(shot):
            of_shots[shot][version].append(path)
        else:
            left_out(f"{path}: left out, expected a name that a shot can have, found {shot!r}")
    newest = {shot: versions[max(versions)] for shot, versions in sorted(of_shots.items())}
    if not newest:
        raise SamelightError(f"{sequence.folder}: no scene is called {stated}")
    doubled = [
        f"{shot} has {_how_many(paths)} {paths[0]} and {paths[1]}: narrow the pattern"
        for shot, paths in newest.items()
        if len(paths) > 1
    ]
    if len(doubled) == len(newest):
        raise SamelightError(doubled[0])
    for said in doubled:
        left_out(said)
    return {shot: sequence.folder / paths[0] for shot, paths in newest.items() if len(paths) == 1}


def _how_many(paths: Sequence[Path]) -> str:
    return "two scenes," if len(paths) == 2 else f"{len(paths)} scenes, such as"


def _named_by(pattern: str) -> Callable[[Path], tuple[str, int] | None]:
    """What tells the shot and version of a scene that a pattern meets: its places for them, or else the name of the file;
    None where a path does not say one shot in all these places."""
    if "{shot}" not in pattern:
        return lambda path: shot_and_version(path.stem)
    expression = expression_of(pattern)

    def named(path: Path) -> tuple[str, int] | None:
        found = expression.match(path.as_posix())
        if found is None:
            return None
        version = found.groupdict().get("version")
        return found["shot"], int(version or 0)

    return named


def _matching(
    sequence: SequenceFile, pattern: str, is_asked: bool, tell: Callable[[str], None]
) -> list[Path]:
    """The scenes that a pattern meets, by their ways from the sequence folder, or whole where that is not their folder."""
    whole, folder = Path(pattern), sequence.folder
    if whole.is_absolute() and not is_asked:
        raise SamelightError(
            f"{folder / SEQUENCE_FILE}: scenes: expected a pattern in the sequence folder, found {pattern}: "
            "name it with --scenes"
        )
    if ".." in whole.parts:
        raise SamelightError(
            f"{folder}: expected a pattern in the sequence folder, or one that is absolute, found {pattern}"
        )
    parts = whole.parts[1:] if whole.is_absolute() else whole.parts
    top = Path(whole.anchor) if whole.is_absolute() else folder
    walk = _Walk(folder, pattern)
    found = sorted(set(walk.files(top, parts)))
    if not whole.is_absolute():
        outside = [path for path in found if not is_within(path, folder)]
        found = [path.relative_to(folder) for path in found if path not in outside]
        if outside:
            named = f"{outside[0]}{f' and {len(outside) - 1:,} more' if len(outside) > 1 else ''}"
            tell(f"{named}: left out, being a link out of the sequence folder")
    tell(f"{pattern}: {len(found):,} of {walk.looked_at:,} files and folders looked at are scenes")
    return found


class _Walk:
    """Looks for files by a pattern. `**`, any folders, follows no links: so none lead in a circle."""

    def __init__(self, folder: Path, pattern: str) -> None:
        self._folder, self._pattern = folder, pattern
        self.looked_at = 0
        self._listed: dict[Path, list[os.DirEntry[str]]] = {}

    def files(self, folder: Path, parts: Sequence[str]) -> Iterator[Path]:
        """The scenes in a folder by the parts of a pattern."""
        if not parts:
            return
        head, rest = parts[0], parts[1:]
        if not _MAGIC.search(head):
            path = folder / head
            if rest and path.is_dir():
                yield from self.files(path, rest)
            elif not rest and path.is_file() and path.suffix.lower() in ENDINGS:
                yield path
            return
        if head == "**":
            yield from self.files(folder, rest or ("*",))
        for entry in self._entries(folder):
            path = folder / entry.name
            if head == "**":
                if entry.name[0] != "." and _is_folder(entry, follow=False):
                    yield from self.files(path, parts)
            elif not fnmatch.fnmatch(entry.name, head) or (entry.name[0] == "." and head[0] != "."):
                continue
            elif rest:
                if _is_folder(entry, follow=True):
                    yield from self.files(path, rest)
            elif path.suffix.lower() in ENDINGS:
                yield path

    def _entries(self, folder: Path) -> list[os.DirEntry[str]]:
        if folder in self._listed:
            return self._listed[folder]
        try:
            with os.scandir(folder) as entries:
                found = list(entries)
        except OSError:
            found = []
        self._listed[folder] = found
        self.looked_at += len(found)
        if self.looked_at > MOST:
            raise SamelightError(
                f"{self._folder}: {self._pattern} has more than {MOST:,} files and folders looked at: narrow it"
            )
        return found


def _is_folder(entry: os.DirEntry[str], *, follow: bool) -> bool:
    try:
        return entry.is_dir(follow_symlinks=follow)
    except OSError:
        return False


def shot_and_version(stem: str) -> tuple[str, int]:
    """The shot that a scene's name names, and its version, 0 where it states none.

    >>> shot_and_version("HB_010.v003"), shot_and_version("HB_010_v12"), shot_and_version("HB_010")
    (('HB_010', 3), ('HB_010', 12), ('HB_010', 0))
    """
    match = _VERSION.search(stem)
    return (stem[: match.start()], int(match[1])) if match and match.start() else (stem, 0)
