"""The set-ups of a sequence as sequence.yaml states them: day and night, inside and outside, each with a master of its own."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from samelight.sheets.errors import Faults, Found, Place, nearest_name, shown_name
from samelight.sheets.plain_files import is_within
from samelight.sheets.shot_lists import Lighters, read_lighters, read_shots
from samelight.sheets.vocabulary import COMPARED_SECTIONS

KEYS = frozenset({"shots", "key_shot", "master", "policy", "locks", "lighters", "from", "except", "notes"})
_LOCK_KEYS = frozenset({"pattern", "why"})
MOST_SETUPS = 1000
"""Set-ups of a sequence: each may ask for any shot, and so has every shot looked at."""

_SAID = 6
"""Members of a circle that are told."""
_NAME = re.compile(r"[\w-]{1,60}\Z")


@dataclass(frozen=True, slots=True)
class StatedSetUp:
    """One set-up: `shots` as they are written (names, runs of the cut, patterns), the shot that its masters are made of,
    and what holds in it on top of the sequence's own rules.

    `master` is a version that it is pinned to. `locks` are patterns, each with why. With a `base` its master is held to
    that of another set-up, but for the groups that the patterns of `apart` mean.
    """

    name: str
    shots: tuple[str, ...]
    key_shot: str | None = None
    master: int | None = None
    policy: Path | None = None
    locks: tuple[tuple[str, str], ...] = ()
    base: str | None = None
    apart: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StatedSetUps:
    """All set-ups by name, in the order of the file; who lights shots by the word of a set-up; and by shot, which other
    shot it is compared with."""

    by_name: Mapping[str, StatedSetUp] = field(default_factory=dict)
    lighters: Lighters = field(default_factory=dict)
    follows: Mapping[str, str] = field(default_factory=dict)


def read_setups(folder: Path, data: Mapping[str, Any], faults: Faults) -> StatedSetUps:
    """What sequence.yaml states under `setups` and `follows`."""
    stated = data.get("setups")
    follows = _follows(data.get("follows"), faults)
    if stated is None:
        return StatedSetUps(follows=follows)
    if not isinstance(stated, dict) or not stated:
        faults.add(("setups",), "names, and for each its key_shot and shots", stated)
        return StatedSetUps(follows=follows)
    if len(stated) > MOST_SETUPS:
        faults.add(("setups",), f"at most {MOST_SETUPS:,} set-ups", Found(f"{len(stated):,}"))
        return StatedSetUps(follows=follows)
    for key in ("key_shot", "master"):
        if data.get(key) is not None:
            faults.add((key,), f"no {key} beside setups: each set-up has its own", data[key])
    found: dict[str, StatedSetUp] = {}
    lighters: dict[str, tuple[str, ...]] = {}
    for name, one in stated.items():
        place: Place = ("setups", name)
        if not isinstance(name, str) or not _NAME.match(name):
            faults.add(place, "a name of letters, digits, - and _", name)
        elif not isinstance(one, dict):
            faults.add(place, "key_shot and shots of a set-up", one)
        else:
            found[name] = _setup(folder, name, one, place, faults)
            for who, shots in _lighters(one.get("lighters"), found[name].shots, place, faults).items():
                lighters[who] = (*lighters.get(who, ()), *shots)
    _check_bases(found, faults)
    return StatedSetUps(found, lighters, follows)


def _setup(folder: Path, name: str, stated: Mapping[str, Any], place: Place, faults: Faults) -> StatedSetUp:
    for key in stated:
        if key not in KEYS:
            faults.unknown_key((*place, key), "a key of a set-up", KEYS)
    shots: tuple[str, ...] = ()
    if stated.get("shots") is None:
        faults.add(
            place, "shots: a list, a run of the cut such as HB_010-HB_160, or a pattern", Found("none")
        )
    else:
        shots = read_shots(stated["shots"], (*place, "shots"), faults) or ()
    base, apart = stated.get("from"), stated.get("except")
    if base is not None and not isinstance(base, str):
        faults.add((*place, "from"), "the name of another set-up", base)
    if apart is not None and base is None:
        faults.add(
            (*place, "except"), "from, the set-up that this one is held to but for these", Found("none")
        )
    return StatedSetUp(
        name,
        shots,
        key_shot=_key_shot(stated.get("key_shot"), (*place, "key_shot"), faults),
        master=_version(stated.get("master"), (*place, "master"), faults),
        policy=_policy(folder, stated.get("policy"), (*place, "policy"), faults),
        locks=_locks(stated.get("locks"), (*place, "locks"), faults),
        base=base if isinstance(base, str) else None,
        apart=_apart(apart, (*place, "except"), faults),
    )


def _key_shot(stated: Any, place: Place, faults: Faults) -> str | None:
    if stated is None:
        return None
    text = stated if isinstance(stated, str) else faults.written(place)
    if text is None or not text.strip():
        faults.add(place, "the name of a shot", stated)
        return None
    return text


def _version(stated: Any, place: Place, faults: Faults) -> int | None:
    if stated is None or stated == "latest":
        return None
    if isinstance(stated, int) and not isinstance(stated, bool) and stated > 0:
        return stated
    faults.add(place, "a version number, or latest", stated)
    return None


def _policy(folder: Path, stated: Any, place: Place, faults: Faults) -> Path | None:
    if stated is None:
        return None
    if not isinstance(stated, str) or not stated.strip():
        faults.add(place, "the name of a policy file in the sequence folder", stated)
        return None
    path = folder / stated
    if not is_within(path, folder):
        faults.add(place, "a policy file in the sequence folder", Found(f"{shown_name(stated)}, outside it"))
        return None
    return path


def _locks(stated: Any, place: Place, faults: Faults) -> tuple[tuple[str, str], ...]:
    if stated is None:
        return ()
    listed = [stated] if isinstance(stated, str) else stated
    if not isinstance(listed, list):
        faults.add(place, "a list of patterns", stated)
        return ()
    found = []
    for index, entry in enumerate(listed):
        pattern, why = (entry.get("pattern"), entry.get("why")) if isinstance(entry, dict) else (entry, "")
        at = (*place, index) if listed is stated else place
        if not isinstance(pattern, str) or (isinstance(entry, dict) and not entry.keys() <= _LOCK_KEYS):
            faults.add(at, "a pattern, or a mapping with pattern and why", entry)
        else:
            found.append((pattern, str(why or "")))
    return tuple(found)


def _lighters(
    stated: Any, shots: tuple[str, ...], place: Place, faults: Faults
) -> Mapping[str, tuple[str, ...]]:
    """Who lights which shots: names alone light every shot of the set-up."""
    if isinstance(stated, dict) or stated is None:
        return read_lighters(stated, faults, (*place, "lighters"))
    names = [stated] if isinstance(stated, str) else stated
    if not isinstance(names, list) or not all(isinstance(name, str) and name.strip() for name in names):
        faults.add((*place, "lighters"), "a name, a list of names, or names with the shots of each", stated)
        return {}
    return dict.fromkeys(names, shots)


def _apart(stated: Any, place: Place, faults: Faults) -> tuple[str, ...]:
    """Patterns of whole lights, environments and other groups: a light is one thing, and no half of it is another's."""
    listed = [stated] if isinstance(stated, str) else [] if stated is None else stated
    expected = "patterns of whole groups, such as lights.sun.* or environments.*"
    if not isinstance(listed, list):
        faults.add(place, expected, stated)
        return ()
    for index, pattern in enumerate(listed):
        section = pattern.partition(".")[0] if isinstance(pattern, str) else ""
        parts = pattern.split(".") if isinstance(pattern, str) else []
        whole = len(parts) == 2 or (len(parts) == 3 and parts[2] == "*")
        if section not in COMPARED_SECTIONS or not whole:
            at = (*place, index) if listed is stated else place
            faults.add(at, expected, pattern, nearest_name(section, COMPARED_SECTIONS))
    return tuple(pattern for pattern in listed if isinstance(pattern, str))


def _check_bases(setups: Mapping[str, StatedSetUp], faults: Faults) -> None:
    bases = {name: setup.base for name, setup in setups.items() if setup.base is not None}
    for name, base in bases.items():
        if base not in setups:
            faults.add(
                ("setups", name, "from"), "the name of another set-up", base, nearest_name(base, setups)
            )
    for circle in _circles(bases):
        expected = "a set-up that does not come from this one"
        faults.add(("setups", circle[0], "from"), expected, Found(_told(circle, " from ")))


def _circles(leads: Mapping[str, str]) -> list[list[str]]:
    """The circles among names that each lead to another, each once."""
    circles: list[list[str]] = []
    passed: set[str] = set()
    for start in leads:
        way: dict[str, int] = {}
        at = start
        while at in leads and at not in passed:
            passed.add(at)
            way[at] = len(way)
            at = leads[at]
        if at in way:
            circles.append(list(way)[way[at] :])
    return circles


def _told(circle: Sequence[str], joint: str) -> str:
    said = [*circle, circle[0]] if len(circle) <= _SAID else [*circle[:_SAID], f"… ({len(circle):,} in all)"]
    return joint.join(said)


def _follows(stated: Any, faults: Faults) -> dict[str, str]:
    """By shot, the shot that it is compared with. Circles are faults."""
    if stated is None:
        return {}
    if not isinstance(stated, dict):
        faults.add(("follows",), "shots, and for each the shot that it is compared with", stated)
        return {}
    found: dict[str, str] = {}
    for shot, other in stated.items():
        place: Place = ("follows", shot)
        text = other if isinstance(other, str) else faults.written(place)
        if other is None or text is None:
            faults.add(place, "the name of the shot that it is compared with", other)
        else:
            found[str(shot)] = text
    for circle in _circles(found):
        faults.add(("follows", circle[0]), "no circle", Found(_told(circle, " follows ")))
    return found
