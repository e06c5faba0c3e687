"""A production: a folder of sequence folders, or a production.yaml that lists them with what they have in common."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

from samelight.sheets.at_rest import PRODUCTION_FILE, production_above
from samelight.sheets.budget import Budget, read_budget
from samelight.sheets.errors import Fault, Faults, Found, SamelightError, SheetError, nearest_name, shown_name
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.plain_files import can_be_named, check_own, is_within
from samelight.sheets.sequence import is_safe_name
from samelight.sheets.shot_lists import Lighters, read_lighters
from samelight.sheets.story import Story, read_story
from samelight.sheets.trees import read_document

_KEYS = frozenset(
    {"samelight_production", "title", "sequences", "policy", "lighters", "story", "budget", "notes"}
)
_FORMAT = 2


@dataclass(frozen=True, slots=True)
class CommonRules:
    """What a production gives each of its sequences: a policy below the sequence's own, and who lights what there."""

    policy: Path | None = None
    lighters: Lighters = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Production:
    """What production.yaml states, or what the folder has. `sequences` are folders by name, in story order.

    `lighters` are names, each with shots as SEQUENCE/SHOT, or with whole sequences. `unlisted` are sequence folders beside
    those that are listed.
    """

    folder: Path
    title: str
    sequences: Mapping[str, Path]
    policy: Path | None = None
    lighters: Lighters = field(default_factory=dict)
    unlisted: tuple[str, ...] = ()
    story: Story = field(default_factory=dict)
    """When and where its sequences play."""
    budget: Budget | None = None
    """What may be rendered on which day."""

    @property
    def strange(self) -> list[str]:
        """What is given to a lighter and is of no sequence, in words."""
        return [
            f"{PRODUCTION_FILE}, lighters, {shown_name(who)}: {shown_name(part)} names no sequence, as SEQUENCE/SHOT does"
            for who, parts in self.lighters.items()
            for part in parts
            if all(_in_sequence(part, name) is None for name in self.sequences)
        ]

    def common(self, name: str) -> CommonRules:
        """What the sequence of a name has in common with the others."""
        lighters: dict[str, tuple[str, ...]] = {}
        for who, parts in self.lighters.items():
            own = tuple(shots for part in parts if (shots := _in_sequence(part, name)) is not None)
            if own:
                lighters[who] = own
        return CommonRules(self.policy, lighters)

    def shots(self, text: str | None) -> dict[str, str | None]:
        """The sequences that a list of shots such as "mole/ML_010-ML_040,harbour/*" is about, and for each its own part of the
        list; all of them, and None, without a list. Raises `SamelightError` for what names no sequence."""
        if text is None:
            return dict.fromkeys(self.sequences)
        found: dict[str, str | None] = {}
        for part in text.split(","):
            names = [name for name in self.sequences if _in_sequence(part, name) is not None]
            if not names:
                asked = part.strip().partition("/")[0]
                near = nearest_name(asked, self.sequences)
                hint = f"; did you mean {near}?" if near else f": there are {', '.join(self.sequences)}"
                raise SamelightError(
                    f"{part.strip()} names no sequence of {self.title}, as SEQUENCE/SHOT does{hint}"
                )
            for name in names:
                known, own = found.get(name), _in_sequence(part, name) or "*"
                found[name] = own if known is None else f"{known},{own}"
        return {name: found[name] for name in self.sequences if name in found}


def _in_sequence(part: str, name: str) -> str | None:
    """What of SEQUENCE/SHOT is of the sequence of a name: its shots, all of them for the sequence alone; None for another's."""
    sequence, slash, shots = part.strip().partition("/")
    if not fnmatchcase(name, sequence.strip().replace("[", "[[]")):
        return None
    # A run may name the sequence at both of its ends.
    return shots.replace(f"{sequence}/", "").strip() if slash else "*"


def own_shots(text: str, name: str) -> str:
    """A list of shots for one sequence, which may say its name: "mole/ML_010" is ML_010 in mole. Raises `SamelightError` for
    the name of another.

    >>> own_shots("mole/ML_010-mole/ML_040,ML_080", "mole")
    'ML_010-ML_040,ML_080'
    """
    found = []
    for part in text.split(","):
        own = _in_sequence(part, name) if "/" in part else part.strip()
        if own is None:
            raise SamelightError(f"{part.strip()} is of another sequence than {name}")
        found.append(own)
    return ",".join(found)


def is_production(folder: Path) -> bool:
    """Whether a folder is a production and no sequence."""
    try:
        if (folder / SEQUENCE_FILE).exists():
            return False
        return (folder / PRODUCTION_FILE).exists() or bool(_sequence_folders(folder))
    except (OSError, ValueError):
        return False


def read_production(folder: Path) -> Production:
    """Read `folder`/production.yaml, or list the sequences of a folder without one. Raises `SheetError`."""
    path = folder / PRODUCTION_FILE
    there = _sequence_folders(folder)
    if not path.exists():
        if not there:
            raise SheetError([Fault(str(folder), "", "a folder of sequences", "none")])
        return Production(folder, folder.resolve().name, {name: folder / name for name in there})
    check_own(path)
    document = read_document(path)
    faults, data = document.faults, document.data
    if not isinstance(data, dict):
        faults.add((), "keys and values, such as title and sequences", data)
        faults.raise_if_any()
    for key in data:
        if key not in _KEYS:
            faults.unknown_key((key,), "a key of a production", _KEYS)
    version = data.get("samelight_production", _FORMAT)
    if version != _FORMAT:
        faults.add(("samelight_production",), f"version {_FORMAT}", version)
    title = data.get("title")
    if title is not None and (not isinstance(title, str) or not title.strip()):
        faults.add(("title",), "text", title)
    sequences = _sequences(folder, data.get("sequences"), there, faults)
    production = Production(
        folder,
        str(title or folder.resolve().name),
        sequences,
        _policy(folder, data.get("policy"), faults),
        read_lighters(data.get("lighters"), faults),
        tuple(name for name in there if folder / name not in sequences.values()),
        read_story(data.get("story"), sequences, faults),
        read_budget(data.get("budget"), sequences, faults),
    )
    faults.raise_if_any()
    return production


def rules_above(folder: Path) -> CommonRules:
    """What the production above a sequence folder gives it: the nearest production.yaml, where it lists the folder. Raises
    `SheetError`."""
    real = os.path.realpath(folder)
    for above in production_above(real):
        production = read_production(Path(above))
        for name, place in production.sequences.items():
            if os.path.realpath(place) == real:
                return production.common(name)
    return CommonRules()


def _sequences(folder: Path, stated: Any, there: list[str], faults: Faults) -> dict[str, Path]:
    """The folders by name: a list of folders, or names with the folder of each; those that are there without either."""
    if stated is None:
        return {name: folder / name for name in there}
    places: dict[Any, Any]
    if isinstance(stated, list) and stated:
        places = {Path(one).name if _is_path(one) else index: one for index, one in enumerate(stated)}
        if len(places) < len(stated):
            faults.add(("sequences",), "each name once: write names, and the folder of each", stated)
    elif isinstance(stated, dict) and stated:
        places = stated
    else:
        faults.add(("sequences",), "a list of sequence folders, or names with the folder of each", stated)
        return {}
    found: dict[str, Path] = {}
    for index, (name, place) in enumerate(places.items()):
        at = ("sequences", index if isinstance(stated, list) else name)
        if not _is_path(place):
            faults.add(at, "a sequence folder", place)
        elif not is_safe_name(str(name)) or any(sign in str(name) for sign in "*?,"):
            faults.add(at, "a name that a folder can have", str(name))
        else:
            found[str(name)] = folder / place
    return found


def _is_path(stated: Any) -> bool:
    return isinstance(stated, str) and bool(stated.strip()) and can_be_named(stated)


def _policy(folder: Path, stated: Any, faults: Faults) -> Path | None:
    if stated is None:
        return None
    if not _is_path(stated):
        faults.add(("policy",), "the name of a policy file in the folder of the production", stated)
        return None
    if not is_within(folder / stated, folder):
        expected = "a policy file in the folder of the production"
        faults.add(("policy",), expected, Found(f"{shown_name(stated)}, outside it"))
    return folder / str(stated)


def _sequence_folders(folder: Path) -> list[str]:
    """The names of the folders in a folder that have a sequence.yaml, sorted."""
    try:
        with os.scandir(folder) as entries:
            names = sorted(entry.name for entry in entries if entry.name[0] != "." and entry.is_dir())
    except OSError:
        return []
    return [name for name in names if (folder / name / SEQUENCE_FILE).exists()]
