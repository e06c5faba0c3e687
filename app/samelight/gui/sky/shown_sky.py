"""What the sky's map shows: the lights of a sky in one frame, one of them chosen, and the shot that is ringed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF

from samelight.gui.sky.dome import pixel, pixel_of
from samelight.gui.sky.names import NamedLight, PlacedName, placed
from samelight.gui.state.cell_states import INTENDED
from samelight.gui.state.rows import GridState
from samelight.gui.state.sky_data import (
    Array,
    LightTrack,
    MapFrame,
    MapView,
    Sky,
    Spots,
    cap_outline,
    project,
    spots_of,
)

_NEAR = 10.0
"""How far from a point (pixels) the mouse still means it."""
_KEPT_CLEAR = 200
"""As many marks as names keep clear of; among more there would be no room for any name."""


@dataclass(frozen=True, slots=True, eq=False)
class ShownSky:
    """A sky as it is shown: `track` is the chosen light, `column` the shot that is ringed.

    `spots` are the points of every light that is shown, `states` what was decided on the table's cells, and `lowest` is the
    elevation of the lowest of these lights, 0 where all are above the horizon.
    """

    state: GridState
    sky: Sky
    track: LightTrack | None
    column: int
    frame: MapFrame
    spots: tuple[Spots, ...]
    states: NDArray[np.uint8]
    lowest: float

    @classmethod
    def of(cls, state: GridState, sky: Sky, frame: MapFrame, tracks: tuple[LightTrack, ...]) -> ShownSky:
        """These lights of a sky, none of them chosen yet."""
        states = state.standing.states
        spots = tuple(spots_of(sky, track, frame, _urgency(state, track)) for track in tracks)
        lowest = min((float(np.nanmin(track.elevation, initial=0.0)) for track in tracks), default=0.0)
        return cls(state, sky, None, 0, frame, spots, states, lowest)

    def choosing(self, state: GridState, track: LightTrack | None, column: int) -> ShownSky:
        """The same lights with another one chosen, and another shot."""
        return replace(self, state=state, track=track, column=column)

    def is_of(self, state: GridState, sky: Sky, frame: MapFrame, tracks: tuple[LightTrack, ...]) -> bool:
        """Whether these are the lights that `of` would give."""
        return (
            self.sky is sky
            and self.frame is frame
            and tuple(spots.track for spots in self.spots) == tracks
            and np.array_equal(state.standing.states, self.states)
        )

    @property
    def heading(self) -> float:
        """Where the shot's camera looks, NaN where that is not known."""
        return self.sky.heading(self.column)

    @property
    def chosen(self) -> Spots | None:
        """The points of the chosen light, where it is shown."""
        return next((spots for spots in self.spots if spots.track is self.track), None)

    @property
    def crowd(self) -> int:
        """How many points the lights have that are not chosen."""
        return sum(spots.worst.size for spots in self.spots if spots.track is not self.track)

    def intended(self, spots: Spots) -> NDArray[np.bool_]:
        """In which shots a light is meant as it is."""
        intended: NDArray[np.bool_] = self.states[spots.track.row] == INTENDED
        return intended

    def held(self, track: LightTrack) -> tuple[float, float] | None:
        """Azimuth and elevation of what the light is compared with in the chosen shot, as the frame has them."""
        held = track.held_azimuth
        column = self.column
        if math.isnan(held[column]) and self.frame is MapFrame.WORLD:
            known = np.flatnonzero(~np.isnan(held))
            if not known.size:
                return None
            column = int(known[0])
        azimuth = float(self.sky.turned(held, self.frame)[column])
        return None if math.isnan(azimuth) else (azimuth, float(track.held_elevation[column]))

    def around(self, track: LightTrack) -> tuple[Array, Array]:
        """Where a light is in every shot, and the outline of its tolerance, on the map."""
        x, y = project(self.sky.turned(track.azimuth, self.frame), track.elevation)
        held = self.held(track)
        if held is None:
            return x, y
        cap_x, cap_y = cap_outline(*held, max(track.tolerance, 0.1))
        return np.concatenate((x, cap_x)), np.concatenate((y, cap_y))

    def points_at(self, view: MapView, place: QPointF) -> tuple[LightTrack, list[int]] | None:
        """The light and the shots whose point is nearest to a place, if one is near; the chosen light comes first."""
        best: tuple[float, Spots, int] | None = None
        for spots in self.spots:
            left, top = view.to_pixels(spots.x[spots.worst], spots.y[spots.worst])
            away = np.hypot(left - place.x(), top - place.y())
            if not away.size:
                continue
            nearest = int(np.argmin(away))
            distance = float(away[nearest]) - (2.0 if spots.track is self.track else 0.0)
            if distance < _NEAR and (best is None or distance < best[0]):
                best = (distance, spots, int(spots.worst[nearest]))
        return (best[1].track, best[1].shots_at(best[2])) if best is not None else None

    def names_beside(self, view: MapView, within: QRectF, words: list[QRectF]) -> list[PlacedName]:
        """The name of each light beside where it stands, where it covers no other word; the chosen one first."""
        severity = self.state.table.severity[:, self.column]
        wanted = []
        for spots in sorted(
            self.spots, key=lambda s: (s.track is not self.track, -float(severity[s.track.row]))
        ):
            at = self._named_at(view, spots)
            if at is not None:
                wanted.append(NamedLight(spots.track.name, at, spots.track is self.track))
        return placed(wanted, within, words, self._marks(view))

    def _named_at(self, view: MapView, spots: Spots) -> QPointF | None:
        """What a light's name stands beside: its master's direction; in the camera frame, where each shot has another, that
        of the light in the shot under the cursor."""
        if spots.track is self.track or self.frame is MapFrame.WORLD:
            held = self.held(spots.track)
            return pixel_of(view, *held) if held is not None else None
        x, y = float(spots.x[self.column]), float(spots.y[self.column])
        return pixel(view, x, y) if math.isfinite(x) else None

    def _marks(self, view: MapView) -> list[QRectF]:
        """Where marks are that no name may cover: those of all lights while they are few, else of the chosen one."""
        few = sum(spots.worst.size for spots in self.spots) <= _KEPT_CLEAR
        rooms = []
        for spots in self.spots:
            if few or spots.track is self.track:
                left, top = view.to_pixels(spots.x[spots.worst], spots.y[spots.worst])
                rooms += [
                    QRectF(x - 6, y - 6, 12, 12) for x, y in zip(left.tolist(), top.tolist(), strict=True)
                ]
        return rooms


def _urgency(state: GridState, track: LightTrack) -> Array:
    """How much each shot needs a look at a light: unsettled drift before intended, then by how far."""
    severity = np.minimum(state.table.severity[track.row], 1e6)
    states = state.standing.states[track.row]
    urgency: Array = np.where(states == INTENDED, severity - 1e7, severity)
    return urgency
