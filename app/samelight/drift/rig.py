"""The lights and environments of all shots beside the master's, over their moments."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.drift.columns import Array, Mask, Words, column, vectors
from samelight.drift.emitters import Emitter, Place, emitter, held_emitter, received_quantity
from samelight.drift.moments import Moments, first_frame, moments_of
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group


@dataclass(frozen=True, slots=True)
class Rig:
    """Shots with a sheet, and for each light and then each environment its columns in the shots and in the master.

    `same` says where the shot's is alike in everything that counts at a mark, `moved` where it stands or points
    elsewhere than the master's. `quantities` and `there` (moments, lights and environments), of the master and of the
    shots, say in what each is received and whether the sheet has it. `camera` is the camera's position and where it looks, NaN where not given.
    `key_marks` are the marks of the key shot.
    """

    shots: tuple[str, ...]
    moments: Moments
    lights: tuple[str, ...]
    environments: tuple[str, ...]
    own: tuple[Emitter, ...]
    setup: tuple[Emitter, ...]
    same: tuple[Mask, ...]
    moved: tuple[Mask, ...]
    quantities: tuple[Words, Words]
    there: tuple[Mask, Mask]
    camera: tuple[Array, Array]
    key_marks: Mapping[str, Place]

    @property
    def names(self) -> tuple[str, ...]:
        """The lights, then the environments."""
        return self.lights + self.environments


def rig_of(shots: Sequence[str], sheets: Sequence[Sheet], master: Sheet, key: Sheet | None) -> Rig:
    """The rig of shots by their sheets; `key` is the sheet of the key shot. Sections that the master lacks stay out."""
    moments = moments_of(sheets, master)
    lights = _names(moments, master, "lights")
    environments = _names(moments, master, "environments")
    own, setup = [], []
    for section, names in (("lights", lights), ("environments", environments)):
        for name in names:
            own.append(emitter(name, section, moments, master.sections[section].get(name)))
            setup.append(held_emitter(name, section, moments, master))
    pairs = list(zip(own, setup, strict=True))
    count = len(moments)
    cameras = moments.groups("camera", "")
    return Rig(
        tuple(shots),
        moments,
        lights,
        environments,
        tuple(own),
        tuple(setup),
        tuple(mine.same_as(its) for mine, its in pairs),
        tuple(mine.placed_otherwise(its) for mine, its in pairs),
        (_side_by_side(setup, _received, count), _side_by_side(own, _received, count)),
        (_side_by_side(setup, _is_there, count), _side_by_side(own, _is_there, count)),
        (
            vectors(column(cameras, "position", moments.frames)),
            vectors(column(cameras, "direction", moments.frames)),
        ),
        {} if key is None else _marks(key),
    )


def _received(one: Emitter) -> NDArray[Any]:
    return received_quantity(one.quantity)


def _is_there(one: Emitter) -> NDArray[Any]:
    return one.there


def _side_by_side(
    emitters: Sequence[Emitter], part: Callable[[Emitter], NDArray[Any]], count: int
) -> NDArray[Any]:
    return np.stack([part(one) for one in emitters], axis=1) if emitters else np.zeros((count, 0))


def _names(moments: Moments, master: Sheet, section: str) -> tuple[str, ...]:
    known = master.sections.get(section)
    return () if known is None else tuple(moments.names(section, list(known)))


def _marks(sheet: Sheet) -> dict[str, Place]:
    frame = first_frame(sheet)
    return {name: place_of([group], [frame]) for name, group in sheet.sections.get("marks", {}).items()}


def place_of(groups: Sequence[Group | None], frames: Sequence[float]) -> Place:
    """A mark by its groups at the moments."""
    return Place(vectors(column(groups, "position", frames)), vectors(column(groups, "normal", frames)))


def spread(place: Place, count: int) -> Place:
    """A place that holds at `count` moments."""
    return Place(np.broadcast_to(place.position, (count, 3)), np.broadcast_to(place.normal, (count, 3)))
