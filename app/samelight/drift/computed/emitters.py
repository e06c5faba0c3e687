"""Lights and environments of many moments as sources that the physics takes, and what reaches a mark from them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from samelight.drift.computed.columns import (
    Array,
    Column,
    Mask,
    Words,
    column,
    factors,
    levels,
    numbers,
    truth,
    vectors,
    words,
)
from samelight.drift.computed.moments import Rows
from samelight.drift.computed.skies import (
    Maps,
    both_words,
    held_of,
    maps_of,
    profiles_of,
    textures_of,
    tints_of,
    turns_of,
)
from samelight.light import marks
from samelight.light.instances import instances_of
from samelight.light.levels import ILLUMINANCE, RELATIVE, RELATIVE_LUMINANCE
from samelight.light.marks import Source
from samelight.light.mesh import mesh_of
from samelight.light.noise import SINGLE
from samelight.light.rolling import across_at
from samelight.light.rows import lengths, level_across
from samelight.sheets.values import Curve, Group, Roll, Static
from samelight.sheets.vocabulary import BRIGHTNESS

ENVIRONMENT = "environment"
PORTAL = "portal"
"""A portal guides the samples of an environment and gives no light of its own."""

LIGHTS_NO_SURFACE = frozenset(
    {
        "camera",
        "primary",
        "reflection",
        "refraction",
        "transmission",
        "specular",
        "glossy",
        "volume",
        "shadow",
    }
)
"""Kinds of ray that carry no diffuse light to a surface. Other kinds, known or not, are taken to."""

UNCOUNTED = {"filters": "filters"}
"""Parameters of a light that change what a mark receives of it and are not counted, each in words."""

_ROUND = frozenset({"point", "spot", "sphere", "distant", ENVIRONMENT})
"""Shapes that light alike however they are rolled, but for a profile."""

_SIZES = ("radius", "width", "height", "length", "angle", "cone", "softness", "inner_cone", "focus")


@dataclass(frozen=True, slots=True)
class MarkPlace:
    """A mark over n moments, shape (n, 3): metres, and the unit normal of its surface, NaN where not given."""

    position: Array
    normal: Array

    def of(self, rows: Rows) -> MarkPlace:
        """The mark at some of the moments."""
        return MarkPlace(self.position[rows], self.normal[rows])


@dataclass(frozen=True, slots=True)
class Emitter:
    """One light or environment over n moments.

    `level` counts what its sheet lets reach a surface: 0 where it is switched off or where only rays see it that
    light no surface (see `LIGHTS_NO_SURFACE`), and times its `diffuse` multiplier. `there` is false where the sheet
    has no such light. `uncounted` names what its sheet states and the level leaves out, such as a profile; "" for nothing.
    `map` is the picture of an environment or on a rect, None elsewhere. Of those that have one, `turn` says how an environment
    is turned, in degrees (rotation, tilt, roll), and `tint` is the colour, linear Rec.709 of luminance 1; 0 and white for
    everything else, since nothing else needs them.
    """

    there: Mask
    shape: Words
    quantity: Words
    level: Array
    position: Array
    direction: Array
    across: Array
    radius: Array
    width: Array
    height: Array
    length: Array
    angle: Array
    cone: Array
    softness: Array
    inner_cone: Array
    focus: Array
    focus_tint: Array
    uncounted: Words
    map: Maps
    turn: Array
    tint: Array
    profile: Maps
    profile_scale: Array
    profile_normalize: Mask
    mesh: Maps
    area: Array
    instances: Maps

    def same_as(self, other: Emitter) -> Mask:
        """Where the two are there and alike, but for noise, in everything that counts at a mark."""
        alike = self.there & other.there
        for field in fields(self):
            mine, theirs = getattr(self, field.name), getattr(other, field.name)
            alike &= _equal(mine, theirs) if mine.dtype == np.float64 else mine == theirs
        return alike

    def rolled_as(self, other: Emitter) -> Emitter:
        """The light, rolled as another where its own sheet does not say how it is rolled."""
        unknown = np.isnan(self.across) & ~np.isnan(other.across)
        return replace(self, across=np.where(unknown, other.across, self.across)) if unknown.any() else self

    def placed_otherwise(self, other: Emitter) -> Mask:
        """Where both have a place and stand elsewhere or point elsewhere. A distant light has no place."""
        with np.errstate(invalid="ignore"):
            moved = lengths(self.position - other.position) > STILL * np.fmax(lengths(other.position), 1.0)
            turned = lengths(self.direction - other.direction) > _STEADY
            turned |= lengths(self.across - other.across) > _STEADY
        # The many instances of one light follow nothing together.
        placed = self.there & other.there & ~self.instances.astype(np.bool_)
        placed &= ~np.isnan(self.position[:, 0]) & ~np.isnan(other.position[:, 0])
        return np.asarray(placed & (moved | turned))

    def received(self, place: MarkPlace, rows: Rows) -> Array:
        """The illuminance at a mark, shape (rows,): `place` is of these rows. 0 where the light is not there.

        NaN where it is not known: a shape that the physics does not take, no position, direction or level.
        """
        found = np.full(rows.shape, np.nan)
        for here, source, facing in self._sources(rows, ~np.isnan(place.normal[:, 0])):
            if source.shape == PORTAL:
                found[here] = 0.0
            else:
                normal = place.normal[here] if facing else None
                found[here] = marks.illuminance(source, place.position[here], normal)
                self._add_instances(found, here, rows, place, facing=facing)
        found[~np.isfinite(found)] = np.nan
        found[~self.there[rows]] = 0.0
        return found

    def _add_instances(self, found: Array, here: Rows, rows: Rows, place: MarkPlace, *, facing: bool) -> None:
        """Put the sum of all instances in the place of the first, where a light has several."""
        several = self.instances[rows[here]]
        for instances in dict.fromkeys(several.tolist()):
            if instances is None:
                continue
            own = here[[one == instances for one in several.tolist()]]
            source = self.source(rows[own])
            normal = place.normal[own] if facing else None
            found[own] = 0.0
            for position, direction, across in zip(
                instances.position, instances.direction, instances.across, strict=True
            ):
                stands, points, lies = (
                    np.broadcast_to(one, (own.size, 3)) for one in (position, direction, across)
                )
                lies = np.where(np.isnan(lies), level_across(points), lies)
                one_of_them = replace(source, position=stands, direction=points, across=lies)
                found[own] += instances.weight * marks.illuminance(one_of_them, place.position[own], normal)

    def direction_at(self, place: MarkPlace, rows: Rows) -> Array:
        """The unit vectors, shape (rows, 3), along which the light reaches a mark; NaN where not known."""
        found = np.full((rows.size, 3), np.nan)
        for here, source, facing in self._sources(rows, ~np.isnan(place.normal[:, 0])):
            normal = place.normal[here] if facing else None
            found[here] = marks.direction_at(source, place.position[here], normal)
        return found

    def apparent_size(self, place: MarkPlace, rows: Rows) -> Array:
        """How large the light looks from a mark, degrees, shape (rows,); NaN where not known."""
        found = np.full(rows.shape, np.nan)
        for here, source, _ in self._sources(rows):
            found[here] = marks.apparent_size(source, place.position[here])
        return found

    def _sources(self, rows: Rows, split: Mask | None = None) -> Iterator[tuple[Rows, Source, bool]]:
        """The light where it is there, as one source for each shape, quantity and value of `split`."""
        split = np.ones(rows.shape, dtype=np.bool_) if split is None else split
        shape, quantity = self.shape[rows], self.quantity[rows]
        there = self.there[rows]
        for key in dict.fromkeys(zip(shape.tolist(), quantity.tolist(), split.tolist(), strict=True)):
            here = np.flatnonzero(there & (shape == key[0]) & (quantity == key[1]) & (split == key[2]))
            if here.size:
                yield here, self.source(rows[here]), key[2]

    def part(self, start: int, count: int) -> Emitter:
        """So many moments of it, from this one on."""
        return Emitter(
            **{field.name: getattr(self, field.name)[start : start + count] for field in fields(self)}
        )

    def source(self, rows: Rows) -> Source:
        """The light at moments at which it has one shape and one quantity."""
        shape = str(self.shape[rows[0]])
        direction, across = self.direction[rows], self.across[rows]
        profiles = profiles if (profiles := self.profile[rows]).any() else None
        if profiles is not None or shape not in _ROUND:
            across = np.where(np.isnan(across), level_across(direction), across)
        return Source(
            shape,
            self.level[rows],
            str(self.quantity[rows[0]]),
            self.position[rows],
            direction,
            across,
            **{name: getattr(self, name)[rows] for name in (*_SIZES, "focus_tint")},
            maps=self.map[rows],
            turn=self.turn[rows],
            tint=self.tint[rows],
            profiles=profiles,
            profile_scale=self.profile_scale[rows],
            profile_normalize=self.profile_normalize[rows],
            meshes=self.mesh[rows] if shape == "mesh" else None,
        )


def joined(emitters: Sequence[Emitter]) -> Emitter:
    """Several lights as one, whose moments are those of the first, then those of the next."""
    return Emitter(
        **{
            field.name: np.concatenate([getattr(one, field.name) for one in emitters])
            for field in fields(Emitter)
        }
    )


_TOGETHER = 50_000
"""Moments of lights. So many are looked at together: of thousands of lights each by itself would cost more in calls than
in figures, and of a film all at once more memory than is free."""


def blocks(lights: int, moments: int) -> Iterator[slice]:
    """Lights, so many at a time that together they have about `_TOGETHER` moments."""
    size = max(1, _TOGETHER // max(moments, 1))
    return (slice(start, min(start + size, lights)) for start in range(0, lights, size))


def received_by(emitters: Sequence[Emitter], place: MarkPlace, rows: Rows, moments: int) -> Array:
    """What a mark receives of each light, shape (rows, lights): `place` is of these rows of so many moments."""
    found = np.zeros((rows.size, len(emitters)))
    for block in blocks(len(emitters), moments) if rows.size else ():
        lights = joined(emitters[block])
        count = len(emitters[block])
        flat = (np.arange(count)[:, None] * moments + rows).ravel()
        found[:, block] = (
            lights.received(place.of(np.tile(np.arange(rows.size), count)), flat).reshape(count, -1).T
        )
    return found


def _equal(mine: Array, theirs: Array) -> Mask:
    """Where numbers, or vectors of three, are given on both sides or on none and differ by no more than noise."""
    if mine.ndim == 1:
        return np.asarray((mine == theirs) | (np.isnan(mine) & np.isnan(theirs)))
    near = lengths(mine - theirs) <= SINGLE * np.fmax(lengths(theirs), 1.0)
    return np.asarray(near | (np.isnan(mine[:, 0]) & np.isnan(theirs[:, 0])))


STILL = 1e-6
"""Metres within which a light stands still, so that a place typed with fewer digits is no move; far out of its distance."""
_STEADY = 1e-5
"""Radians within which a light points alike."""


def received_quantity(quantity: Words) -> Words:
    """The quantity in which lights of these quantities are received at a mark."""
    found = np.full(quantity.shape, ILLUMINANCE, dtype=np.object_)
    found[(quantity == RELATIVE) | (quantity == RELATIVE_LUMINANCE)] = RELATIVE
    found[quantity == ""] = ""
    return found


def emitters_of(
    section: str, groups: Sequence[Sequence[Group | None]], frames: Sequence[float]
) -> list[Emitter]:
    """Lights or environments by the groups of each name at these frames.

    Groups of a name that are equal are converted once: most of a sequence equals its master. Those of all names are
    converted together: a sheet may have thousands of lights.
    """
    all_distinct: list[Group | None] = []
    all_frames: list[float] = []
    places: list[tuple[int, int, Rows]] = []
    for of_name in groups:
        distinct, place = _distinct(of_name)
        places.append((len(all_distinct), len(distinct), place))
        all_distinct += [of_name[index] for index in distinct]
        all_frames += [frames[index] for index in distinct]
    read = read_together(section, all_distinct, all_frames)
    columns = {field.name: getattr(read, field.name) for field in fields(read)}
    found = []
    for start, count, place in places:
        few = {key: values[start : start + count] for key, values in columns.items()}
        if count < len(place):
            few = _spread(few, count, place)
        found.append(Emitter(**few))
    return found


def _spread(few: dict[str, Any], count: int, place: Rows) -> dict[str, Any]:
    """The columns of distinct groups at all places that hold one of them."""
    if count == 1:
        return {key: np.broadcast_to(values, (len(place), *values.shape[1:])) for key, values in few.items()}
    return {key: values[place] for key, values in few.items()}


_REMEMBERED = 4
"""How many groups each next one is compared with: the master's, and what the last few shots made of it."""


def _distinct(groups: Sequence[Group | None]) -> tuple[list[int], Rows]:
    """Places of groups that may differ, and for each group the place among these of the one that it equals."""
    distinct: list[int] = []
    place = np.zeros(len(groups), dtype=np.intp)
    known: list[tuple[Group | None, int]] = []
    for index, group in enumerate(groups):
        for other, at in known:
            if group is other or group == other:
                place[index] = at
                break
        else:
            place[index] = len(distinct)
            if not _is_animated(group):
                # The first one stays: it is likelier the master's than any later one.
                known[1:] = [(group, len(distinct)), *known[1 : _REMEMBERED - 1]] if known else []
                known = known or [(group, len(distinct))]
            distinct.append(index)
    return distinct, place


def _is_animated(group: Group | None) -> bool:
    return group is not None and Curve in map(type, group.values())


def read_together(section: str, groups: Sequence[Group | None], frames: Sequence[float]) -> Emitter:
    """What many groups of a section emit, converted all at once."""

    def of(leaf: str) -> Column:
        return column(groups, leaf, frames)

    is_light = section == "lights"
    count = len(groups)
    level, quantity = levels(of("level"))
    shape = words(of("type") if is_light else [ENVIRONMENT] * count)
    if is_light:
        uncounted = _uncounted({leaf: of(leaf) for leaf in UNCOUNTED}, count)
        pictures, without = textures_of(of("texture"), shape)
        profiles, unread = profiles_of(of("ies"), shape)
        uncounted, turn = both_words(unread, both_words(without, uncounted)), np.zeros((count, 3))
    else:
        pictures, uncounted = maps_of(of("texture"), of("format"), of("mirrored"))
        profiles = np.full(count, None, dtype=np.object_)
        turn = turns_of([of(leaf) for leaf in ("rotation", "tilt", "roll")])
    pictured = np.array([[one is not None] for one in pictures.tolist()], dtype=np.bool_).reshape(-1, 1)
    shining = truth(of("visible"), is_on) & truth(of("seen_by"), lights_surfaces)
    return Emitter(
        there=np.array([group is not None for group in groups], dtype=np.bool_),
        shape=shape,
        quantity=quantity,
        level=np.where(shining | np.isnan(level), level * factors(of("diffuse")), 0.0),
        position=vectors(of("position")),
        direction=vectors(of("direction")),
        across=_across_of(of("roll"), vectors(of("axis"))),
        focus_tint=np.nan_to_num(levels(of(f"focus_tint{BRIGHTNESS}"))[0]),
        uncounted=uncounted,
        map=pictures,
        turn=np.where(pictured, turn, 0.0),
        tint=np.where(pictured, tints_of(of("colour")), 1.0),
        profile=profiles,
        profile_scale=np.where(profiles.astype(np.bool_), np.nan_to_num(numbers(of("ies_angle_scale"))), 0.0),
        profile_normalize=profiles.astype(np.bool_)
        & truth(of("ies_normalize"), lambda stated: stated is True),
        mesh=held_of(of("mesh"), mesh_of),
        area=numbers(of("area")),
        instances=held_of(of("instances"), instances_of),
        **{leaf: numbers(of(leaf)) for leaf in _SIZES},
    )


def _uncounted(stated: Mapping[str, Column], count: int) -> Words:
    """What of these parameters each moment's light states, in words."""
    found = np.full(count, "", dtype=np.object_)
    for leaf, values in stated.items():
        if values.count(None) < count:
            says = [UNCOUNTED[leaf] if value else "" for value in values]
            found = both_words(found, words(says))
    return found


def is_on(visible: Static | None) -> bool:
    """Whether a light with this `visible` is switched on."""
    return visible is None or visible not in (False, 0.0)


def lights_surfaces(seen_by: frozenset[str] | None) -> bool:
    """Whether some kind of ray that sees this light carries its light to a surface.

    >>> lights_surfaces(frozenset({"camera", "Reflection"})), lights_surfaces(frozenset({"camera", "indirect"}))
    (False, True)
    """
    if seen_by is None:
        return True
    return any(kind.casefold() not in LIGHTS_NO_SURFACE for kind in seen_by)


def _across_of(rolls: Column, axes: Array) -> Array:
    """The lights' own +X, shape (n, 3), by their rolls where they have one, else by their axes; NaN where they have neither. A rect that
    is rolled lights a mark beside it otherwise, and a cylinder lies along it."""
    rolled = [index for index, roll in enumerate(rolls) if isinstance(roll, Roll)]
    if not rolled:
        return axes
    found = np.array(axes)
    stated = [roll for roll in rolls if isinstance(roll, Roll)]
    about = np.array([roll.about for roll in stated], dtype=np.float64)
    found[rolled] = across_at(about, np.array([roll.degrees for roll in stated], dtype=np.float64))
    return found
