"""The sequence folder: sequence.yaml, and which versions of shots and master setups are there."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from samelight.sheets.conventions import Conventions, read_conventions
from samelight.sheets.errors import Fault, Faults, Found, SheetError, nearest_name
from samelight.sheets.trees import read_document

SEQUENCE_FILE = "sequence.yaml"

_KEYS = frozenset(
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
        "policy",
        "key_shot",
        "master",
        "pinned",
        "notes",
        "place",
    }
)
_VERSIONED = re.compile(r"(?P<name>.+)\.v(?P<version>\d+)\.(?:ya?ml|json)\Z")


@dataclass(frozen=True, slots=True)
class SequenceFile:
    """What sequence.yaml states. `cut` is empty when the cut comes from `cut_file` or from the folders."""

    folder: Path
    title: str
    cut: tuple[str, ...] = ()
    cut_file: Path | None = None
    frame_rate: float = 24.0
    conventions: Conventions = field(default_factory=Conventions)
    policy: Path | None = None
    key_shot: str | None = None
    master: int | None = None
    pinned: Mapping[str, int] = field(default_factory=dict)
    stated: frozenset[str] = frozenset()


def read_sequence(folder: Path) -> SequenceFile:
    """Read `folder`/sequence.yaml. Raises `SheetError` with every fault found."""
    path = folder / SEQUENCE_FILE
    if not folder.is_dir():
        raise SheetError([Fault(str(folder), "", "a sequence folder", "no such folder")])
    if not path.exists():
        raise SheetError([Fault(str(path), "", f"a sequence folder with {SEQUENCE_FILE}", "no such file")])
    document = read_document(path)
    faults, data = document.faults, document.data
    if not isinstance(data, dict):
        faults.add((), "a mapping with title and cut", data)
        faults.raise_if_any()
    for key in data:
        if key not in _KEYS:
            faults.add((key,), "a key of a sequence", Found(f"the key {key}"), nearest_name(key, _KEYS))
    _check_version(data, faults)
    cut, cut_file = _cut(folder, data.get("cut"), faults)
    sequence = SequenceFile(
        folder=folder,
        title=_text(data, "title", faults) or folder.resolve().name,
        cut=cut,
        cut_file=cut_file,
        frame_rate=_frame_rate(data, faults),
        conventions=read_conventions(data, Conventions(), faults),
        policy=_policy(folder, data, faults),
        key_shot=_text(data, "key_shot", faults),
        master=_pin(data.get("master"), ("master",), faults),
        pinned=_pinned(data.get("pinned"), faults),
        stated=frozenset(data),
    )
    faults.raise_if_any()
    return sequence


def _check_version(data: Mapping[str, Any], faults: Faults) -> None:
    for key in ("samelight_sequence", "samelight"):
        if key in data and data[key] != 1:
            faults.add((key,), "format version 1", data[key])


def _text(data: Mapping[str, Any], key: str, faults: Faults) -> str | None:
    value = data.get(key)
    if value is None or (isinstance(value, str) and value.strip()):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool):
        return str(value)
    faults.add((key,), "text", value)
    return None


def _cut(folder: Path, value: Any, faults: Faults) -> tuple[tuple[str, ...], Path | None]:
    if value is None:
        return (), None
    if isinstance(value, str):
        return (), folder / value
    if not isinstance(value, list):
        faults.add(("cut",), "a list of shots, or an .otio or .edl file", value)
        return (), None
    shots: list[str] = []
    for index, shot in enumerate(value):
        if isinstance(shot, bool | dict | list) or shot is None:
            faults.add(("cut", index), "the name of a shot", shot)
        elif not is_safe_name(str(shot)):
            faults.add(("cut", index), "a name that can be a folder's", shot)
        elif str(shot) in shots:
            faults.add(("cut", index), "each shot once", Found(f"{shot} again"))
        else:
            shots.append(str(shot))
    return tuple(shots), None


def is_safe_name(name: str) -> bool:
    """Whether a shot's name stays inside the sequence folder when it is used as a folder's name."""
    return (
        bool(name.strip())
        and name not in (".", "..")
        and not any(c in name for c in "/\\\0")
        and len(name) < 200
    )


def _frame_rate(data: Mapping[str, Any], faults: Faults) -> float:
    value = data.get("frame_rate", 24)
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 < value <= 1000:
        return float(value)
    faults.add(("frame_rate",), "frames a second", value)
    return 24.0


def _policy(folder: Path, data: Mapping[str, Any], faults: Faults) -> Path | None:
    name = _text(data, "policy", faults)
    if name is None:
        return folder / "policy.yaml" if (folder / "policy.yaml").exists() else None
    if not (folder / name).exists():
        faults.add(("policy",), "a policy file in the sequence folder", name)
    return folder / name


def _pin(value: Any, place: tuple[str, ...], faults: Faults) -> int | None:
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


def versions_in(folder: Path, name: str | None = None) -> dict[int, Path]:
    """The versioned files of a folder, `NAME.v003.yaml`, by version; only those of `name` when it is given."""
    found: dict[int, Path] = {}
    try:
        entries = sorted(folder.iterdir())
    except OSError:
        return found
    for path in entries:
        match = _VERSIONED.match(path.name)
        if match and not path.name.startswith(".") and name in (None, match["name"]):
            found.setdefault(int(match["version"]), path)
    return dict(sorted(found.items()))


def master_versions(folder: Path) -> dict[int, Path]:
    """Every published master setup of a sequence folder, oldest first."""
    return versions_in(folder / "master")


def shot_folders(folder: Path) -> list[str]:
    """Names of the shots that have a folder, sorted."""
    try:
        return sorted(
            path.name for path in (folder / "shots").iterdir() if path.is_dir() and path.name[0] != "."
        )
    except OSError:
        return []


def shot_versions(folder: Path, shot: str) -> dict[int, Path]:
    """Every published sheet of a shot, oldest first."""
    return versions_in(folder / "shots" / shot, shot)
