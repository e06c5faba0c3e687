"""Which shots of a sequence seem to be lit alike, as a start for its set-ups: by their sun, their sky and their key."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from samelight.drift.table import strongest_distant
from samelight.findings.words import listed
from samelight.light.directions import Vector, angle_between, to_azimuth_elevation
from samelight.sequence.references import Against, Reference, compare
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, FileRef, Level, Value

SAME_SUN = 20.0
"""Degrees. Two suns further apart were not put there for one hour; one that was nudged by accident is nearer."""

SAME_STRENGTH = 2.0
"""Stops between two suns of one set-up. A moon is ten or more under a sun."""

FEWEST = 2
"""Shots. One that is like no other is told, and makes no set-up."""

_LOW, _HIGH = 12.0, 40.0
_MOON = 3.0
"""Stops under the strongest sun of the sequence from which a distant light is that of a night."""


@dataclass(frozen=True, slots=True)
class Signs:
    """What tells how a shot is lit. `sun` is the name of its strongest distant light, empty without one, with where it comes
    from and how strong it is; `sky` are the maps of its environments, `key` the light that gives the first mark most."""

    sun: str = ""
    direction: Vector | None = None
    strength: float = 0.0
    sky: tuple[str, ...] = ()
    key: str = ""
    maps: tuple[str, ...] = field(default=(), compare=False)
    """The paths of what `sky` knows by content."""


@dataclass(frozen=True, slots=True)
class ProposedSetUp:
    """Shots that seem to be one set-up: its name by the time of day that the sun says, the runs of the cut that it has, the
    shot to make a master of, and why, in sentences."""

    name: str
    shots: tuple[str, ...]
    runs: tuple[str, ...]
    key_shot: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """The set-ups in the order of the cut, and by shot why one is in none."""

    setups: tuple[ProposedSetUp, ...]
    left: Mapping[str, str]


def propose(session: Session, failed: list[Trouble] | None = None) -> Proposal:
    """Group the shots that have a sheet. A shot goes with the first one before it that it agrees with in most of what both
    state of sun, sky and key. Nothing is written. A shot that fails is left and added to `failed`, without which it is raised.
    """
    keys, signs = _keys(session), dict[str, Signs]()
    for shot in session.contents.shots:
        if shot in session.contents.sheets:
            with apart(shot, failed):
                signs[shot] = _signs(session.contents.sheets[shot], keys.get(shot, ""))
    groups: list[list[str]] = []
    for shot, own in signs.items():
        group = next((group for group in groups if _is_like(own, signs[group[0]])), None)
        if group is None:
            groups.append([shot])
        else:
            group.append(shot)
    brightest = max((one.strength for one in signs.values()), default=0.0)
    north = session.contents.sequence.conventions.north
    taken: Counter[str] = Counter()
    setups, left = [], {}
    for group in groups:
        if len(group) < FEWEST:
            left[group[0]] = _alone(group[0], signs, groups)
            continue
        hour = _hour(signs[group[0]], brightest, north)
        taken[hour] += 1
        name = hour if taken[hour] == 1 else f"{hour}_{taken[hour]}"
        key_shot = _key_shot(session, group, signs)
        why = tuple(_why(group, signs, north))
        setups.append(
            ProposedSetUp(name, tuple(group), runs_of(group, session.contents.shots), key_shot, why)
        )
    for shot in session.contents.shots:
        if shot not in signs:
            left[shot] = (
                "could not be looked at" if shot in session.contents.sheets else "has no readable sheet"
            )
    return Proposal(tuple(setups), left)


def _keys(session: Session) -> dict[str, str]:
    """By shot, the light that gives its first mark most; a shot without marks is left out."""
    first = next((shot for shot in session.contents.shots if shot in session.contents.sheets), None)
    if first is None:
        return {}
    table = compare(session.contents, Reference(Against.SHOT, shot=first)).table
    rows = [index for index, row in enumerate(table.rows) if row.section == "marks" and row.leaf == "key"]
    found: dict[str, str] = {}
    for index in rows:
        for shot, entry in zip(table.shots, table.line(index), strict=True):
            if entry is not None and isinstance(entry.value, str):
                found.setdefault(shot, entry.value)
    return found


def _signs(sheet: Sheet, key: str) -> Signs:
    sun = strongest_distant(sheet.sections)
    light = sheet.sections.get("lights", {}).get(sun, {})
    direction, level = _still(light.get("direction")), _still(light.get("level"))
    stated = [_still(one.get("texture")) for one in sheet.sections.get("environments", {}).values()]
    maps = {one.sha256 or one.path: one.path for one in stated if isinstance(one, FileRef)}
    return Signs(
        sun,
        direction if isinstance(direction, tuple) and len(direction) == 3 and any(direction) else None,
        level.value if isinstance(level, Level) else 0.0,
        tuple(sorted(maps)),
        key,
        tuple(path for _, path in sorted(maps.items())),
    )


def _still(value: Value | None) -> Value | None:
    """A value as it is at its first key."""
    return value.keys[0][1] if isinstance(value, Curve) else value


def _is_like(one: Signs, other: Signs) -> bool:
    """Whether two shots agree in most of what both state."""
    agree = [
        same
        for is_known, same in (
            (bool(one.sun or other.sun), _same_sun(one, other)),
            (bool(one.sky or other.sky), one.sky == other.sky),
            (bool(one.key and other.key), one.key == other.key),
        )
        if is_known
    ]
    return 2 * sum(agree) > len(agree)


def _same_sun(one: Signs, other: Signs) -> bool:
    if one.direction is None or other.direction is None:
        return one.sun == other.sun
    if angle_between(one.direction, other.direction) > SAME_SUN:
        return False
    return abs(_stops(one.strength, other.strength)) <= SAME_STRENGTH


def _stops(one: float, other: float) -> float:
    if one <= 0.0 or other <= 0.0:
        return 0.0 if one == other else math.inf
    return math.log2(one / other)


def _hour(signs: Signs, brightest: float, north: Vector) -> str:
    """The time of day that the sun tells; a weak one is a moon, and where there is neither sun nor sky it is inside."""
    if signs.direction is None:
        return "night" if signs.sky else "inside"
    if _stops(signs.strength, brightest) < -_MOON:
        return "night"
    azimuth, elevation = to_azimuth_elevation(signs.direction, north)
    if elevation < 0.0:
        return "night"
    is_east = azimuth < 180.0
    if elevation < _LOW:
        return "dawn" if is_east else "dusk"
    if elevation < _HIGH:
        return "morning" if is_east else "afternoon"
    return "midday"


def _why(group: Sequence[str], signs: Mapping[str, Signs], north: Vector) -> Iterable[str]:
    own = [signs[shot] for shot in group]
    suns = Counter(one.sun for one in own)
    for sun, count in suns.items():
        directions = [one.direction for one in own if one.sun == sun and one.direction is not None]
        if sun and directions:
            azimuth, elevation = to_azimuth_elevation(directions[0], north)
            spread = max(angle_between(directions[0], other) for other in directions)
            within = f", within {spread:.0f}°" if spread >= 0.5 else ""
            yield f"{sun} comes from azimuth {azimuth:.0f}°, elevation {elevation:.0f}°{within}{_share(count, own)}"
        elif not sun:
            yield f"no distant light{_share(count, own)}"
    for sky, count in Counter(one.sky for one in own).items():
        names = next(one.maps for one in own if one.sky == sky)
        said = f"sky {', '.join(names)}" if names else "no map of a sky"
        yield f"{said}{_share(count, own)}"
    for key, count in Counter(one.key for one in own if one.key).items():
        yield f"{key} is the key{_share(count, own)}"


def _share(count: int, own: Sequence[Signs]) -> str:
    return "" if count == len(own) else f" in {count} of {len(own)}"


def _alone(shot: str, signs: Mapping[str, Signs], groups: Sequence[Sequence[str]]) -> str:
    """In what a shot that is like no other differs from the nearest group."""
    own = signs[shot]
    largest = max(groups, key=len)
    if len(largest) < FEWEST:
        return "is lit like no other"
    other, parts = signs[largest[0]], []
    if not _same_sun(own, other):
        parts.append("sun")
    if own.sky != other.sky:
        parts.append("sky")
    if own.key and other.key and own.key != other.key:
        parts.append("key")
    return f"is lit like no other: it has another {listed(parts)} than {largest[0]}"


def _key_shot(session: Session, group: Sequence[str], signs: Mapping[str, Signs]) -> str:
    """The shot to make a master of: the one that the sequence or a master names, else the first of those that most are like."""
    named = [
        session.contents.sequence.key_shot,
        *(setup.sequence.key_shot for setup in session.contents.setups),
    ]
    named += [
        str(master.typed.get("key_shot"))
        for part in session.contents.parts
        for master in part.masters.values()
    ]
    known = next((shot for shot in named if shot in group), None)
    if known is not None:
        return known
    alike = Counter(signs[shot] for shot in group)
    return max(group, key=lambda shot: (alike[signs[shot]], -group.index(shot)))


def runs_of(shots: Sequence[str], cut: Sequence[str]) -> tuple[str, ...]:
    """Shots as runs of the cut.

    >>> runs_of(["a", "b", "d"], ["a", "b", "c", "d"])
    ('a-b', 'd')
    """
    wanted, runs, run = set(shots), list[list[str]](), list[str]()
    for shot in [*cut, ""]:
        if shot in wanted:
            run.append(shot)
        elif run:
            runs.append(run)
            run = []
    return tuple(one[0] if len(one) == 1 else f"{one[0]}-{one[-1]}" for one in runs)
