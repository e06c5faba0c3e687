"""The sequence folder: sequence.yaml, and which versions of shots and master setups are there."""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, TypeGuard

from samelight.sheets.conventions import Conventions, read_conventions
from samelight.sheets.errors import Fault, Faults, Found, Locate, Place, Position, SheetError, shown_name
from samelight.sheets.events import spots, yaml_events
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.plain_files import can_be_named, check_own, is_within
from samelight.sheets.setups import StatedSetUp, read_setups
from samelight.sheets.shot_lists import LONGEST_NAME, Lighters, read_lighters
from samelight.sheets.trees import Document, parse_document, read_text
from samelight.sheets.upgrades import SEQUENCE, up_to_date

KEYS = frozenset(
    {
        "samelight_sequence",
        "samelight",
        "title",
        "cut",
        "frame_rate",
        "up_axis",
        "north",
        "units",
        "working_space",
        "ocio",
        "policy",
        "key_shot",
        "master",
        "pinned",
        "scenes",
        "master_layers",
        "allow_roots",
        "lighters",
        "notes",
        "place",
        "setups",
        "follows",
    }
)
CUT_ENDINGS = (".otio", ".edl")
"""Endings of files that a cut order can come from."""

_VERSIONED = re.compile(r"(?P<name>.+)\.v(?P<version>[0-9]+)\.(?:ya?ml|json)\Z")


@dataclass(frozen=True, slots=True)
class SequenceFile:
    """What sequence.yaml states. `cut` is empty when the cut comes from `cut_file` or from the folders.

    `scenes` are files by shot, or one pattern such as `scenes/*.usda`, from which shots are captured; `master_layers` is the
    pattern of the layers that bring the master into them, with its `{version}`. `allow_roots`
    are folders outside a scene's own whose textures may be read. `lighters` are names, each with shots and runs of the cut such as HB_050-HB_080.
    `setups` are empty where one master is for all; `follows` are shots that are compared with another shot.
    `ocio` is an OpenColorIO config as it is named: a file, by the way there from the folder, or one that is built in.
    """

    folder: Path
    title: str
    cut: tuple[str, ...] = ()
    cut_file: Path | None = None
    frame_rate: float = 24.0
    conventions: Conventions = field(default_factory=Conventions)
    ocio: str = ""
    policy: Path | None = None
    key_shot: str | None = None
    master: int | None = None
    pinned: Mapping[str, int] = field(default_factory=dict)
    scenes: Mapping[str, Path] | str | None = None
    master_layers: str = ""
    allow_roots: tuple[str, ...] = ()
    lighters: Lighters = field(default_factory=dict)
    setups: Mapping[str, StatedSetUp] = field(default_factory=dict)
    follows: Mapping[str, str] = field(default_factory=dict)
    stated: frozenset[str] = frozenset()
    where: Locate = field(default=lambda place: None, compare=False, repr=False)
    """Line and column of a place of the file, for what turns out to be at fault only beside other files."""


def read_sequence(folder: Path, policy: Path | None = None) -> SequenceFile:
    """Read `folder`/sequence.yaml. Raises `SheetError` with every fault found.

    The cut and the policy that it names lie in the folder. `policy` is one that the user names instead, anywhere.
    """
    path = _file_of(folder)
    text = read_text(path)
    document = parse_document(path, text)
    faults, data = document.faults, document.data
    if not isinstance(data, dict):
        faults.add((), "keys and values, such as title and cut", data)
        faults.raise_if_any()
    for key in sorted(data.keys() & {"samelight_sequence", "samelight"}):
        data = up_to_date(data, key, SEQUENCE, faults)
    for key in data:
        if key not in KEYS:
            faults.unknown_key((key,), "a key of a sequence", KEYS)
    cut, cut_file = _cut(folder, document, faults)
    setups = read_setups(folder, data, faults)
    lighters = read_lighters(data.get("lighters"), faults)
    for who, shots in setups.lighters.items():
        lighters[who] = (*lighters.get(who, ()), *shots)
    sequence = SequenceFile(
        folder=folder,
        title=_text(document, "title", faults) or folder.resolve().name,
        cut=cut,
        cut_file=cut_file,
        frame_rate=_frame_rate(data, faults),
        conventions=read_conventions(data, Conventions(), faults),
        ocio=_ocio(data.get("ocio"), faults),
        policy=policy or _policy(folder, document, faults),
        key_shot=_text(document, "key_shot", faults),
        master=_pin(data.get("master"), ("master",), faults),
        pinned=_pinned(data.get("pinned"), faults),
        scenes=_scenes(folder, data.get("scenes"), faults),
        master_layers=_master_layers(data.get("master_layers"), faults),
        allow_roots=_roots(data.get("allow_roots"), faults),
        lighters=lighters,
        setups=setups.by_name,
        follows=setups.follows,
        stated=frozenset(data),
        where=_places(text),
    )
    faults.raise_if_any()
    return sequence


def _file_of(folder: Path) -> Path:
    """The file of a folder that is a sequence. Raises `SheetError` for any other."""
    path = folder / SEQUENCE_FILE
    if not _is_there(path):
        found = "no such folder"
        if _is_there(folder, folder=True):
            found = f"no {SEQUENCE_FILE} in it (`samelight start` writes one)"
        elif _is_there(folder):
            found = "a file"
        raise SheetError([Fault(str(folder), "", "a sequence folder", found)])
    check_own(path)
    return path


def _places(text: str) -> Locate:
    """Finds places of a text, which is looked through only when something turns out to be at fault."""
    found = cache(lambda: spots(yaml_events(text)))

    def locate(place: Place) -> Position | None:
        while place and place not in found():
            place = place[:-1]
        spot = found()[place]
        return spot.line, spot.column

    return locate


def _is_there(path: Path, *, folder: bool = False) -> bool:
    try:
        return path.is_dir() if folder else path.exists()
    except (OSError, ValueError):
        # No permission to look, a name too long, or one that no file can have: reading it says which.
        return True


def _text(document: Document, key: str, faults: Faults) -> str | None:
    """Text, or a number as it is written, such as 010."""
    value = document.data.get(key)
    if value is None:
        return None
    text = value if isinstance(value, str) else document.written((key,))
    if text is not None and text.strip():
        return text
    faults.add((key,), "text", value)
    return None


def _cut(folder: Path, document: Document, faults: Faults) -> tuple[tuple[str, ...], Path | None]:
    value = document.data.get("cut")
    if value is None:
        return (), None
    if isinstance(value, str):
        path = folder / value
        if path.suffix.lower() not in CUT_ENDINGS:
            faults.add(("cut",), "a list of shots, or the name of an .otio or .edl file", value)
        else:
            _check_inside(folder, "cut", value, faults)
        return (), path
    if not isinstance(value, list):
        faults.add(("cut",), "a list of shots, or the name of an .otio or .edl file", value)
        return (), None
    shots: dict[str, None] = {}
    for index, item in enumerate(value):
        place = ("cut", index)
        shot = item if isinstance(item, str) else document.written(place)
        if item is None or shot is None:
            faults.add(place, "the name of a shot", item)
        elif not is_safe_name(shot):
            faults.add(place, "a name that a folder can have", shot)
        elif shot in shots:
            faults.add(place, "each shot once", Found(f"{shot} again"))
        else:
            shots[shot] = None
    return tuple(shots), None


def is_safe_name(name: str) -> bool:
    """Whether a shot's name stays inside the sequence folder when it is used as a folder's name.

    >>> is_safe_name("HB_040"), is_safe_name("../HB_040"), is_safe_name(".."), is_safe_name(" ")
    (True, False, False, False)
    """
    return (
        bool(name.strip())
        and name not in (".", "..")
        and name.isprintable()
        and "/" not in name
        and "\\" not in name
        and len(name.encode("utf-8", "replace")) <= LONGEST_NAME
    )


def _frame_rate(data: Mapping[str, Any], faults: Faults) -> float:
    value = data.get("frame_rate")
    if value is None:
        return 24.0
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 < value <= 1000:
        return float(value)
    faults.add(("frame_rate",), "frames a second, such as 24", value)
    return 24.0


def _ocio(value: Any, faults: Faults) -> str:
    if value is None or _is_name(value):
        return value or ""
    faults.add(
        ("ocio",), "an OpenColorIO config: a file, or ocio:// and the name of one that is built in", value
    )
    return ""


def _policy(folder: Path, document: Document, faults: Faults) -> Path | None:
    name = _text(document, "policy", faults)
    if name is None and not _is_there(folder / "policy.yaml"):
        return None
    name = name or "policy.yaml"
    _check_inside(folder, "policy", name, faults, ", or one that is named with --policy")
    return folder / name


def _check_inside(folder: Path, key: str, name: str, faults: Faults, otherwise: str = "") -> None:
    """Note where no file of the sequence folder has this name; one that lies outside it is to be named `otherwise`."""
    expected = f"a {key} file in the sequence folder"
    if not can_be_named(name):
        faults.add((key,), expected, Found(f"{shown_name(name)}, which no file can be called"))
    elif not is_within(folder / name, folder):
        faults.add((key,), expected + otherwise, Found(f"{shown_name(name)}, outside it"))
    elif not _is_there(folder / name):
        faults.add((key,), expected, Found(f"no {shown_name(name)} there"))


def _pin(value: Any, place: Place, faults: Faults) -> int | None:
    if value is None or value == "latest":
        return None
    if isinstance(value, int) and not isinstance(value, bool) and value > 0:
        return value
    faults.add(place, "a version number, or latest", value)
    return None


def _pinned(value: Any, faults: Faults) -> dict[str, int]:
    if value is None:
        return {}
    if not isinstance(value, dict):
        faults.add(("pinned",), "shots and the version each is pinned to", value)
        return {}
    pins = {shot: _pin(version, ("pinned", shot), faults) for shot, version in value.items()}
    return {shot: version for shot, version in pins.items() if version is not None}


def _scenes(folder: Path, value: Any, faults: Faults) -> Mapping[str, Path] | str | None:
    if value is None or _is_name(value):
        return value
    if not isinstance(value, dict):
        faults.add(("scenes",), "a scene for each shot, or a pattern such as scenes/*.usda", value)
        return None
    for shot, scene in value.items():
        if not is_safe_name(shot):
            faults.add(("scenes", shot), "a name that a folder can have", shot)
        if not _is_name(scene):
            faults.add(("scenes", shot), "the file of a scene", scene)
    return {shot: folder / scene for shot, scene in value.items() if isinstance(scene, str)}


def _master_layers(value: Any, faults: Faults) -> str:
    if value is None:
        return ""
    if _is_name(value) and "{version}" in value:
        return value
    faults.add(
        ("master_layers",), "a pattern of names with a {version}, such as light.v{version}.usda", value
    )
    return ""


def _roots(value: Any, faults: Faults) -> tuple[str, ...]:
    listed = [] if value is None else value if isinstance(value, list) else [value]
    for index, root in enumerate(listed):
        if not _is_name(root):
            faults.add(("allow_roots", index), "a folder", root)
    return tuple(root for root in listed if isinstance(root, str))


def _is_name(value: Any) -> TypeGuard[str]:
    return isinstance(value, str) and bool(value.strip()) and can_be_named(value)


@dataclass(frozen=True, slots=True)
class Published:
    """The versioned files of a folder as listed once.

    `versions` are those that count, oldest first; `rivals` pairs one that counts with another file that states the same
    version and is left out. `listed` are all names in the folder, and `unreadable` says why a folder that is there
    cannot be listed.
    """

    versions: dict[int, Path]
    rivals: list[tuple[Path, Path]]
    listed: list[str] = field(default_factory=list, repr=False, compare=False)
    unreadable: str = ""


def published_in(folder: Path | str, name: str | None = None, known: Published | None = None) -> Published:
    """The versioned files of a folder, `NAME.v003.yaml`; only those of `name` when it is given.

    It is `known` itself, which was of the same folder and name, where the folder lists as it did then.
    """
    listed, unreadable = _listed(folder)
    if known is not None and listed == known.listed and unreadable == known.unreadable:
        return known
    return _published(
        folder, [entry for entry in _versioned(listed) if name in (None, entry[1])], listed, unreadable
    )


_Versioned = tuple[str, str, int]
"""A file's name, what it is a version of, and which."""


def _versioned(listed: Collection[str]) -> list[_Versioned]:
    matches = [(entry, _VERSIONED.match(entry)) for entry in sorted(listed) if entry[0] != "."]
    return [(entry, match["name"], int(match["version"])) for entry, match in matches if match is not None]


def _published(
    folder: Path | str, files: Sequence[_Versioned], listed: list[str], unreadable: str
) -> Published:
    counts: dict[int, Path] = {}
    rivals: list[tuple[Path, Path]] = []
    for entry, _, version in files:
        path = Path(folder, entry)
        if version in counts:
            rivals.append((counts[version], path))
        else:
            counts[version] = path
    return Published(dict(sorted(counts.items())), rivals, listed, unreadable)


def published_masters(folder: Path, setups: Collection[str] = ("",)) -> dict[str, Published]:
    """The master setups of each of some set-ups of a sequence folder; all there are under the name of none."""
    listed, unreadable = _listed(folder / "master")
    by_name: dict[str, list[_Versioned]] = {name: [] for name in setups}
    for entry in _versioned(listed):
        for name in by_name.keys() & {"", entry[1]}:
            by_name[name].append(entry)
    return {name: _published(folder / "master", files, listed, unreadable) for name, files in by_name.items()}


def published_sheets(folder: Path, shot: str) -> Published:
    """The sheets of a shot of a sequence folder."""
    return published_in(folder / "shots" / shot, shot)


def next_sheet(folder: Path, shot: str, known: Collection[int], suffix: str = ".yaml") -> tuple[int, Path]:
    """The version of a shot after those `known`, and the file it would be in a sequence folder; the first is 1.

    `known` are the versions that the caller has read: with one published since, the file is there already, and
    writing it fails rather than passing over what somebody else made.
    """
    version = max(known, default=0) + 1
    return version, folder / "shots" / shot / f"{shot}.v{version:03d}{suffix}"


def _listed(folder: Path | str) -> tuple[list[str], str]:
    """The names in a folder, and why a folder that is there cannot be listed."""
    try:
        return os.listdir(folder), ""  # noqa: PTH208 - a path of every name costs more than the listing
    except FileNotFoundError:
        return [], ""
    except OSError as error:
        return [], _why(error)


def _why(error: OSError) -> str:
    if isinstance(error, PermissionError):
        return "no permission to read it"
    if isinstance(error, NotADirectoryError):
        return "a file where a folder should be"
    return error.strerror or str(error)


def master_versions(folder: Path, setup: str = "") -> dict[int, Path]:
    """Every published master setup of a sequence folder, or of one set-up of it, oldest first."""
    return published_masters(folder, [setup])[setup].versions


def listed_shots(folder: Path) -> tuple[list[str], str]:
    """Names of the shots that have a folder, sorted, and why they cannot be listed where their place is there."""
    try:
        with os.scandir(folder / "shots") as entries:
            return sorted(entry.name for entry in entries if entry.name[0] != "." and _is_folder(entry)), ""
    except FileNotFoundError:
        return [], ""
    except OSError as error:
        return [], _why(error)


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return True  # as in `_is_there`


def shot_versions(folder: Path, shot: str) -> dict[int, Path]:
    """Every published sheet of a shot, oldest first."""
    return published_sheets(folder, shot).versions
