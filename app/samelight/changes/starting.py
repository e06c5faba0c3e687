"""A sequence from a folder that is none yet: what is there of sheets, scenes, a cut and frames, and its sequence.yaml."""

from __future__ import annotations

import os
import re
import shlex
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from samelight.changes.cut_table import shots_of_table
from samelight.drift.words import counted, first_names
from samelight.sequence.cut_order import shots_in
from samelight.sheets import frames
from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE, is_sequence
from samelight.sheets.plain_files import is_within
from samelight.sheets.sequence import (
    CUT_ENDINGS,
    is_safe_name,
    listed_shots,
    published_sheets,
)
from samelight.sheets.vocabulary import FORMAT_VERSION
from samelight.sheets.writing import write_new, yaml_text
from samelight.sources.cut.cuts import read_cut
from samelight.sources.limits import CUT
from samelight.sources.read_well import read_guarded
from samelight.sources.scene_list import shot_and_version
from samelight.sources.scenes import ENDINGS

MOST = 50_000
"""Files and folders that are looked at."""
TABLES = (".csv",)
"""Endings of tables that the order of shots may be taken from."""
_DEEPEST = 4
"""Folders below the one that was named in which scenes and cuts are looked for."""
_NAMED = 4
_SHEET_ENDINGS = (".yaml", ".yml", ".json")
_NO_SHEETS = ("decisions", "grabs", "master", "measured", "views")
"""Folders of a sequence whose files are no sheets of shots."""
SHEET = "shots/SHOT/SHOT.v001.yaml"
"""Where a sheet lies, by its way from the folder."""


@dataclass(frozen=True, slots=True)
class Start:
    """What a folder has that a sequence can be made of.

    `sheets` are the shots that have a sheet already. `scenes` says where scenes are, as sequence.yaml does: one pattern, or a
    file for each shot. `cut` is the file that the order comes from, by its way from the folder, and `in_cut` the shots in it, once it
    was read; a table's order is written into sequence.yaml. `framed` are the shots that have a picture. `doubts` are sentences on what was found and is not used.
    """

    folder: Path
    sheets: tuple[str, ...] = ()
    scenes: str | dict[str, str] | None = None
    scene_shots: tuple[str, ...] = ()
    cut: str | None = None
    framed: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    in_cut: tuple[str, ...] = ()

    @property
    def shots(self) -> tuple[str, ...]:
        """The shots: those of the cut as they stand there, then the others by name."""
        there = {*self.sheets, *self.scene_shots}
        first = [shot for shot in self.in_cut if shot in there]
        return (*first, *sorted(there.difference(first)))


def look_at(folder: Path) -> Start:
    """What is in a folder, of which nothing is written or opened. Raises `SamelightError` where it is a sequence already,
    is not there, or has more in it than can be looked at."""
    if is_sequence(folder):
        raise SamelightError(f"{folder}: is a sequence already: {SEQUENCE_FILE} is there, and stays as it is")
    if not folder.is_dir():
        found = "a file" if folder.exists() else "none of this name"
        raise SamelightError(f"{folder}: expected a folder with sheets or scenes, found {found}")
    files = sorted(_files(folder))
    within = [path.parent for path in files if path.name == SEQUENCE_FILE]
    if within:
        raise SamelightError(
            f"{folder}: has sequences in it: {first_names([str(path) for path in within], _NAMED)}"
        )
    doubts: list[str] = []
    sheets = tuple(_sheets(folder, files, doubts))
    scenes, scene_shots = _scenes([path for path in files if path.suffix.lower() in ENDINGS], doubts)
    by_ending = [
        [path for path in files if path.suffix.lower() in endings] for endings in (CUT_ENDINGS, TABLES)
    ]
    cuts = by_ending[0] or by_ending[1]
    if len(cuts) > 1:
        doubts.append(
            f"{len(cuts)} cuts: {', '.join(map(str, cuts[:4]))}. None is taken: sequence.yaml says which by its key cut"
        )
    shots = {*sheets, *scene_shots}
    pictures = [
        path for path in files if path.parts[0] == frames.FOLDER and path.suffix.lower() in frames.ENDINGS
    ]
    framed = tuple(sorted({path.stem for path in pictures} & shots))
    cut = cuts[0].as_posix() if len(cuts) == 1 else None
    return Start(folder, sheets, scenes, scene_shots, cut, framed, tuple(doubts))


def _sheets(folder: Path, files: list[Path], doubts: list[str]) -> Iterator[str]:
    """The shots that have a sheet; files that may be sheets by their ending alone are a doubt."""
    published: set[Path] = set()
    for shot in listed_shots(folder)[0]:
        known = published_sheets(folder, shot)
        published.update(known.versions.values(), *known.rivals)
        if known.versions:
            yield shot
    unread = [
        path.as_posix()
        for path in files
        if path.suffix.lower() in _SHEET_ENDINGS
        and path.parts[0] not in _NO_SHEETS
        and "policy" not in path.stem
        and folder / path not in published
    ]
    if unread:
        doubts.append(
            f"{counted(len(unread), 'file ends', 'files end')} as sheets do and will not be read as one, "
            f"since a sheet is called {SHEET}: {first_names(unread, _NAMED)}"
        )


def in_cut_order(start: Start) -> Start:
    """The same with the shots of its cut, which is read; one that cannot be is a doubt."""
    if start.cut is None:
        return start
    path = start.folder / start.cut
    if _is_table(path):
        try:
            return replace(start, in_cut=shots_of_table(path, start.shots))
        except SamelightError as error:
            doubt = f"{error}: it is not taken as the cut"
            return replace(start, cut=None, doubts=(*start.doubts, doubt))
    try:
        cut = read_guarded(path, CUT, read_cut, path)
    except SamelightError as error:
        return replace(start, doubts=(*start.doubts, f"The cut cannot be read: {error}"))
    return replace(start, in_cut=shots_in(cut, start.shots, []))


def _is_table(path: Path) -> bool:
    return path.suffix.lower() in TABLES


def _files(folder: Path) -> Iterator[Path]:
    """The files below a folder, by their ways from it; no link is followed and nothing hidden looked at."""
    looked_at = 0
    waiting = [Path()]
    while waiting:
        here = waiting.pop()
        try:
            with os.scandir(folder / here) as entries:
                found = list(entries)
        except OSError:
            continue
        looked_at += len(found)
        if looked_at > MOST:
            raise SamelightError(f"{folder}: has more than {MOST:,} files: name the folder of one sequence")
        for entry in found:
            if entry.name[0] == "." or entry.is_symlink():
                continue
            if entry.is_dir(follow_symlinks=False):
                if len(here.parts) < _DEEPEST:
                    waiting.append(here / entry.name)
            elif entry.is_file(follow_symlinks=False):
                yield here / entry.name


def _scenes(found: list[Path], doubts: list[str]) -> tuple[str | dict[str, str] | None, tuple[str, ...]]:
    """Where the scenes of the shots are: the folder with the most of one kind, or files of one name in a folder for each
    shot."""
    kinds: dict[tuple[Path, str], list[Path]] = defaultdict(list)
    alike: dict[tuple[Path, str], dict[str, str]] = defaultdict(dict)
    for path in found:
        if is_safe_name(shot_and_version(path.stem)[0]):
            kinds[path.parent, path.suffix].append(path)
        if len(path.parts) > 1 and is_safe_name(path.parent.name):
            alike[path.parent.parent, path.name][path.parent.name] = path.as_posix()
    flat = [_of_one_shape(paths) for _, paths in sorted(kinds.items())]
    pattern, of_shots = max(flat, key=lambda one: len(one[1]), default=("", ()))
    folders = max((files for _, files in sorted(alike.items())), key=len, default={})
    if len(folders) > max(len(of_shots), 1):
        return folders, tuple(sorted(folders))
    if not of_shots:
        return None, ()
    left = sorted({path.as_posix() for path in found if not path.match(pattern)})
    if left:
        doubts.append(
            f"{pattern} is taken as the scenes of shots, and {first_names(left, _NAMED)} as what these are made of"
        )
    return pattern, of_shots


def _of_one_shape(paths: list[Path]) -> tuple[str, tuple[str, ...]]:
    """The pattern and the shots of the scenes of one folder and ending: where most of the names differ in their figures alone,
    as those of shots do, they are these."""
    shapes: dict[str, list[str]] = defaultdict(list)
    for path in paths:
        stem = shot_and_version(path.stem)[0]
        shapes[re.sub(r"\d+", "9", stem)].append(stem)
    most = max(shapes.values(), key=len)
    start = re.split(r"\d", most[0])[0]  # which all of one shape share
    if len(most) < 2 or any(
        stem.startswith(start) for stems in shapes.values() if stems is not most for stem in stems
    ):
        start, most = "", [stem for stems in shapes.values() for stem in stems]
    pattern = (paths[0].parent / f"{start}*{paths[0].suffix}").as_posix()
    return pattern, tuple(sorted(set(most)))


def begin(start: Start, key_shot: str, *, title: str = "", cut: str | None = None) -> Path:
    """Write sequence.yaml of a folder, where there is none; its path. Raises `SamelightError` for a key shot that is none
    of the shots and a cut that is none of the folder's files, and `WriteError` where it cannot be written."""
    if key_shot not in start.shots:
        raise SamelightError(
            f"expected a key shot among {', '.join(start.shots[:6]) or 'no shots'}, found {key_shot!r}"
        )
    if cut is not None and (Path(cut).is_absolute() or not is_within(start.folder / cut, start.folder)):
        raise SamelightError(f"{cut}: expected a cut in {start.folder}, by its way from there")
    if cut is not None and Path(cut).suffix.lower() not in (*CUT_ENDINGS, *TABLES):
        raise SamelightError(f"{cut}: expected a cut that ends in {', '.join(CUT_ENDINGS)} or {TABLES[0]}")
    if cut is not None and not (start.folder / cut).is_file():
        raise SamelightError(f"{start.folder / cut}: expected a cut, found no file of this name")
    stated: dict[str, Any] = {
        "samelight_sequence": FORMAT_VERSION,
        "title": title or start.folder.resolve().name,
        "key_shot": key_shot,
    }
    if taken := cut or start.cut:
        path = start.folder / taken
        told = start.in_cut if taken == start.cut else ()  # what was said of a table is what is written
        stated["cut"] = list(told or shots_of_table(path, start.shots)) if _is_table(path) else taken
    if start.scenes is not None:
        stated["scenes"] = start.scenes
    path = start.folder / SEQUENCE_FILE
    write_new({path: yaml_text(stated)})
    return path


def found_lines(start: Start) -> Iterator[str]:
    """What a folder has, a line each."""
    yield (
        f"{counted(len(start.shots), 'shot')}: {first_names(start.shots, _NAMED)}"
        if start.shots
        else "No shots"
    )
    if start.sheets:
        yield f"{counted(len(start.sheets), 'shot has', 'shots have')} a sheet"
    if isinstance(start.scenes, str):
        yield f"{counted(len(start.scene_shots), 'scene')}: {start.scenes}"
    elif start.scenes is not None:
        yield f"{counted(len(start.scenes), 'scene')}, such as {next(iter(start.scenes.values()))}"
    yield (
        f"The order comes from {start.cut}"
        if start.cut
        else "No cut: shots stand in the order of their names"
    )
    outside = [shot for shot in start.shots if shot not in start.in_cut] if start.in_cut else []
    if outside:
        yield f"{counted(len(outside), 'shot is', 'shots are')} not in it, and so not shown: {first_names(outside, _NAMED)}"
    lacking = [shot for shot in start.in_cut if shot not in start.shots]
    if lacking:
        yield f"{counted(len(lacking), 'shot')} of it without a sheet or a scene: {first_names(lacking, _NAMED)}"
    if start.framed:
        yield f"{counted(len(start.framed), 'shot has', 'shots have')} a frame"
    yield from start.doubts


def without_shots(start: Start) -> str:
    """That a folder has nothing that a sequence can be made of, and what to put there."""
    return (
        f"{start.folder}: has no {SEQUENCE_FILE} in it and no shots to make a sequence of: "
        f"put sheets ({SHEET}) or scenes there first"
    )


def next_lines(start: Start) -> Iterator[str]:
    """What comes next, as commands that a shell takes as they are."""
    folder = shlex.quote(str(start.folder))
    if start.scenes is not None:
        yield f"Next, make sheets of the scenes: samelight capture --sequence {folder}"
    then = "Next" if start.scenes is None else "Then"
    yield f"{then}, publish the key shot as the first master: samelight publish {folder}"
