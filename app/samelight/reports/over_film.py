"""What goes through all sequences of a production: lights and environments that they share, and the course of the sun.

For planning pictures only. Where the sun stands is worked out by the solar algorithm of `samelight.light.sun`; what that
leaves out is said there, and in `CAUTION` to whoever reads it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from samelight.drift.cells import Grade
from samelight.drift.policy import Policy
from samelight.drift.rows import Row
from samelight.drift.table import Table, build_table
from samelight.drift.words import MINUS, first_names, value_text
from samelight.light.directions import (
    Vector,
    angle_between,
    from_azimuth_elevation,
    to_azimuth_elevation,
    turn_between,
)
from samelight.light.sun import sun_direction
from samelight.reports.summary import SHARED_SECTIONS, SetUpLook, Summary
from samelight.sheets.conventions import Conventions
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.story import Moment, Story, moment_of
from samelight.sheets.values import FileRef, Value, as_vector
from samelight.sheets.vocabulary import DIRECTION

CAUTION = (
    "For planning pictures only. Worked out by the NREL Solar Position Algorithm for a free horizon and a standard atmosphere: "
    "terrain, buildings and weather are not in it, and a compass shows magnetic north. It does not replace a site survey; "
    "where people work by the sun (rigging, glare, heat, eye safety), local codes and licensed practice come first."
)

MOST_VALUES = 6
"""Values of one parameter that are told apart; what differs from all of these is told as one."""

HORIZON = -0.8333
"""Degrees of elevation of the sun's centre at sunrise and sunset: its upper edge, lifted by refraction, touches the horizon."""

_NAME_ALONE = ("name",)

_NEAR = 1.0
"""Degrees of latitude and longitude within which two places are one to the course of the sun."""


@dataclass(frozen=True, slots=True)
class StoryPlace:
    """A set-up of a sequence, in story order, with the moment that it plays at where one is stated."""

    sequence: str
    look: SetUpLook
    moment: Moment | None = None

    @property
    def name(self) -> str:
        """SEQUENCE, or SEQUENCE/SETUP."""
        return f"{self.sequence}/{self.look.name}" if self.look.name else self.sequence


def story_places(summaries: Mapping[str, Summary], story: Story) -> list[StoryPlace]:
    """The set-ups of all sequences in story order. What a master's own sun states of its moment counts where production.yaml says
    nothing."""
    found = []
    for sequence, summary in summaries.items():
        for look in summary.looks:
            moment = story.get(f"{sequence}/{look.name}") or story.get(sequence) or moment_of(look.sun)
            found.append(StoryPlace(sequence, look, moment))
    return found


# What sequences share


@dataclass(frozen=True, slots=True)
class Differs:
    """A parameter of something shared that is not one in all of it: its values in words, each with the places that have it, the
    first in story order first."""

    parameter: str
    values: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Shared:
    """A light or an environment that several sequences have: under which names, by what it is known as one (`name`, `scene path`,
    `file`), where it is, and what differs.

    `everywhere` says that it is infinitely far, as a sun or a sky, so that it should be one wherever it is seen.
    """

    section: str
    name: str
    known_by: tuple[str, ...]
    places: tuple[str, ...]
    everywhere: bool
    differs: tuple[Differs, ...]

    @property
    def is_of_name_alone(self) -> bool:
        """Whether it stands near something and is known as one by its name alone, so that it may well be several things."""
        return not self.everywhere and self.known_by == _NAME_ALONE

    @property
    def says(self) -> str:
        """What differs, as a sentence."""
        what = parameter_name(self.section, self.name)
        leaves = [one.parameter.removeprefix(f"{what}.") for one in self.differs]
        return f"{what} is not one over {first_names(self.places, 6)}: {first_names(leaves, 6)}."


@dataclass(slots=True)
class _Thing:
    section: str
    keys: set[tuple[str, str]] = field(default_factory=set)
    known_by: set[str] = field(default_factory=set)
    at: dict[int, str] = field(default_factory=dict)
    """By the number of a place, what it is called there."""


def shared_things(places: Sequence[StoryPlace], policy: Policy, *, briefly: bool = False) -> list[Shared]:
    """What several sequences share: by one name, one path in a scene or one file. What differs comes first, and of that what is
    everywhere one. `briefly`, of what is one by its name alone only whether it differs is worked out, and not its values."""
    found = []
    for thing in _things(places):
        if len({places[number].sequence for number in thing.at}) < 2:
            continue
        groups = {number: places[number].look.group(thing.section, name) for number, name in thing.at.items()}
        name = next(iter(thing.at.values()))
        everywhere = thing.section == "environments" or all(
            group.get("type") == "distant" for group in groups.values()
        )
        known_by, at = tuple(sorted(thing.known_by)), tuple(places[number].name for number in thing.at)
        brief = briefly and not everywhere and known_by == _NAME_ALONE
        differs = _differing(thing, name, groups, places, policy, briefly=brief)
        found.append(Shared(thing.section, name, known_by, at, everywhere, differs))
    return sorted(found, key=lambda one: (not one.differs, not one.everywhere))


def _things(places: Sequence[StoryPlace]) -> list[_Thing]:
    found: list[_Thing] = []
    by_key: dict[tuple[str, str, str], _Thing] = {}
    for number, place in enumerate(places):
        for section in SHARED_SECTIONS:
            for name, group in place.look.groups.get(section, {}).items():
                keys = _keys(name, group, place.look.paths.get(name) if section == "lights" else None)
                thing = next(
                    (
                        one
                        for key in keys
                        if (one := by_key.get((section, *key))) is not None and number not in one.at
                    ),
                    None,
                )
                if thing is None:
                    thing = _Thing(section)
                    found.append(thing)
                thing.known_by |= {how for how, key in keys if (how, key) in thing.keys}
                thing.keys |= set(keys)
                thing.at[number] = name
                for key in keys:
                    by_key.setdefault((section, *key), thing)
    return found


def _keys(name: str, group: Mapping[str, Any], path: str | None) -> list[tuple[str, str]]:
    """By what a thing is known to be one with another, the surest first."""
    files = [value for value in group.values() if isinstance(value, Mapping) and "path" in value]
    hashes = [("file", str(one["sha256"]).lower()) for one in files if one.get("sha256")]
    paths = [("file", str(one["path"])) for one in files if not one.get("sha256")]
    return [*hashes, *([("scene path", path)] if path else []), *paths, ("name", name)]


def _differing(
    thing: _Thing,
    name: str,
    groups: Mapping[int, Mapping[str, Value]],
    places: Sequence[StoryPlace],
    policy: Policy,
    *,
    briefly: bool,
) -> tuple[Differs, ...]:
    """The parameters that are not one where they are stated, each with its values."""
    alike = _alike(groups)
    if len(alike) < 2:
        return ()
    if briefly:
        held = _Held({number: _sheet(thing.section, name, groups[number]) for number in alike}, policy)
        return tuple(Differs(row.parameter, ()) for row in held.rows())
    held = _Held({number: _sheet(thing.section, name, groups[number]) for number in alike}, policy)
    found = []
    for row in held.rows():
        leaf = row.leaf
        stated = [number for number in alike if leaf in groups[number]]
        kinds = [
            of
            for of in held.by_value(row.parameter, stated)
            if not _elsewhen(thing, leaf, places, stated[0], of[0])
        ]
        if len(kinds) > 1:
            values = [
                (
                    _said(groups[of[0]].get(leaf), row.kind, places[of[0]].look.north),
                    tuple(
                        places[number].name for number in sorted(each for one in of for each in alike[one])
                    ),
                )
                for of in kinds
            ]
            found.append(Differs(row.parameter, tuple(values)))
    return tuple(found)


def _alike(groups: Mapping[int, Mapping[str, Value]]) -> dict[int, list[int]]:
    """The first place of each group, with all places whose group is the same to the letter."""
    first: dict[str, int] = {}
    found: dict[int, list[int]] = {}
    for number, group in groups.items():
        found.setdefault(first.setdefault(repr(sorted(group.items())), number), []).append(number)
    return found


class _Held:
    """Sheets compared with one another, each pair that is asked for once."""

    def __init__(self, sheets: Mapping[int, Sheet], policy: Policy) -> None:
        self._sheets = {str(number): sheet for number, sheet in sheets.items()}
        self._policy = policy
        self._against: dict[int, Table] = {}

    def _table(self, reference: int) -> Table:
        found = self._against.get(reference)
        if found is None:
            sheet = self._sheets[str(reference)]
            found = self._against[reference] = build_table(
                list(self._sheets), self._sheets, sheet, self._policy
            )
        return found

    def rows(self) -> list[Row]:
        """The rows in which one of them is not as the first has it."""
        table = self._table(int(next(iter(self._sheets))))
        off = np.flatnonzero((table.grade >= Grade.DRIFT).max(axis=1)).tolist()
        return [table.rows[index] for index in off if table.rows[index].leaf]

    def by_value(self, parameter: str, numbers: Sequence[int]) -> list[list[int]]:
        """The numbers, those of one value beside each other: each is compared with the first that it is not one with."""
        found: list[list[int]] = []
        left = list(numbers)
        while left:
            table = self._table(left[0])
            row = table.row(parameter)
            columns = [table.column(str(number)) for number in left]
            off = [row is not None and table.grade[row, column] >= Grade.DRIFT for column in columns]
            same = [number for number, is_off in zip(left, off, strict=True) if not is_off]
            if len(found) == MOST_VALUES - 1:
                same = left
            found.append(same)
            left = [number for number in left if number not in same]
        return found


def _sheet(section: str, name: str, group: Mapping[str, Value]) -> Sheet:
    return Sheet(Path(), "", 1, None, None, {}, {section: {name: group}}, Conventions())


def _said(value: Value | None, kind: str, north: Vector) -> str:
    if isinstance(value, FileRef):
        return Path(value.path).name + (f" ({value.sha256[:8]})" if value.sha256 else "")
    return value_text(value, kind, north)


def _elsewhen(thing: _Thing, leaf: str, places: Sequence[StoryPlace], one: int, other: int) -> bool:
    """Whether a sun stands otherwise at another stated moment: its course is told by itself."""
    a, b = places[one], places[other]
    if thing.section != "lights" or leaf != "direction" or a.moment is None or b.moment is None:
        return False
    return (thing.at[one], thing.at[other]) == (a.look.key, b.look.key) and a.moment != b.moment


# The course of the sun


@dataclass(frozen=True, slots=True)
class SunPlace:
    """Where the sun of a set-up stands in the picture and where it stood by the algorithm, azimuth and elevation in degrees, and
    how far apart they are. None of the latter below the horizon or without a moment."""

    place: str
    light: str
    moment: Moment | None
    lit: tuple[float, float]
    sun: tuple[float, float] | None
    apart: float | None
    tolerance: float

    @property
    def is_up(self) -> bool:
        """Whether a moment is stated, and the sun is above the horizon then."""
        return self.sun is not None and self.sun[1] > HORIZON

    @property
    def is_off(self) -> bool:
        """Whether the light is further from the sun than the tolerance of its direction."""
        return self.apart is not None and self.apart > self.tolerance


def sun_places(places: Sequence[StoryPlace], policy: Policy) -> list[SunPlace]:
    """The sun of each set-up that has a distant light, in story order."""
    found = []
    for place in places:
        look = place.look
        direction = as_vector(look.group("lights", look.key).get("direction"))
        if direction is None:
            continue
        tolerance = policy.tolerance(f"lights.{look.key}.direction", DIRECTION, "distant").at_most
        sun = None if place.moment is None else _sun(place.moment)
        apart = None
        if sun is not None and sun[1] > HORIZON:
            apart = angle_between(direction, from_azimuth_elevation(*sun, look.north))
        lit = to_azimuth_elevation(direction, look.north)
        found.append(SunPlace(place.name, look.key, place.moment, lit, sun, apart, tolerance))
    return found


def _sun(moment: Moment) -> tuple[float, float]:
    return sun_direction(moment.latitude, moment.longitude, moment.when, elevation_m=moment.elevation_m)


def course_says(suns: Sequence[SunPlace]) -> list[str]:
    """What is odd in the course of the sun over the film, a sentence each: where it is not where it stood, and where it goes back
    within a day."""
    said = [
        f"{one.place}: lights.{one.light} stands {_degrees(one.apart or 0.0)} from the sun of {one.moment.text}: "
        f"{_where(one.lit)} for {_where(one.sun)}."
        for one in suns
        if one.is_off and one.moment is not None and one.sun is not None
    ]
    timed = [one for one in suns if one.moment is not None]
    for before, after in pairwise(timed):
        said += _step(before, after)
    return said


def _step(before: SunPlace, after: SunPlace) -> list[str]:
    a, b = before.moment, after.moment
    if a is None or b is None or not _one_day(a, b):
        return []
    both = f"between {before.place} ({a.text}) and {after.place} ({b.text})"
    if b.when < a.when:
        return [f"The story goes back {both}: is that meant?"]
    if not (before.is_up and after.is_up) or before.sun is None or after.sun is None:
        return []
    tolerance = max(before.tolerance, after.tolerance)
    turned, moved = turn_between(before.lit[0], after.lit[0]), turn_between(before.sun[0], after.sun[0])
    rose, climbed = after.lit[1] - before.lit[1], after.sun[1] - before.sun[1]
    if a.when == b.when:
        apart = abs(turned) > tolerance or abs(rose) > tolerance
        return (
            [
                f"The sun stands otherwise at one moment, {both}: {_where(before.lit)}, then {_where(after.lit)}."
            ]
            if apart
            else []
        )
    steep = max(before.lit[1], after.lit[1]) > 85.0
    if not steep and turned * moved < 0.0 and abs(turned) > tolerance:
        return [
            f"The sun goes back by {_degrees(abs(turned))} {both}, while it moved on by {_degrees(abs(moved))}."
        ]
    if rose * climbed < 0.0 and abs(rose) > tolerance:
        way, meant = ("rises", "sank") if rose > 0.0 else ("sinks", "rose")
        return [
            f"The sun {way} by {_degrees(abs(rose))} {both}, while it {meant} by {_degrees(abs(climbed))}."
        ]
    return []


def _one_day(a: Moment, b: Moment) -> bool:
    near = abs(a.latitude - b.latitude) < _NEAR and abs(turn_between(a.longitude, b.longitude)) < _NEAR
    return near and a.when.date() == b.when.astimezone(a.when.tzinfo).date()


def _degrees(value: float) -> str:
    return f"{value:.1f}°"


def _where(place: tuple[float, float] | None) -> str:
    azimuth, elevation = place or (0.0, 0.0)
    return f"az {azimuth:.1f}° el {elevation:.1f}°".replace("-", MINUS)


def film_says(summaries: Mapping[str, Summary], story: Story, policy: Policy) -> list[str]:
    """All that is odd over the film, a sentence each: the course of the sun, then what is shared and not one. Lights that stand
    near something and agree in their name alone are told together."""
    places = story_places(summaries, story)
    shared = [one for one in shared_things(places, policy, briefly=True) if one.differs]
    told = [one.says for one in shared if not one.is_of_name_alone]
    return [*course_says(sun_places(places, policy)), *told, *names_say(shared)]


def names_say(shared: Sequence[Shared]) -> list[str]:
    """Which lights have one name and are not one, in a sentence; none where there are none."""
    names = [parameter_name(one.section, one.name) for one in shared if one.differs and one.is_of_name_alone]
    if not names:
        return []
    return [
        f"Of one name in several sequences, and not one: {first_names(names, 8)}. They may be several lights."
    ]
