"""Tracks, headings and spots of the sky are read once for each distinct value, and are those of reading every cell."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from gui_films import session_of
from samelight.drift.cells import Grade
from samelight.drift.policy import Tolerance
from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table
from samelight.gui.state.sky_data import LightTrack, MapFrame, Sky, project, sky_of, spots_of
from samelight.light.directions import NORTH, Vector, angle_between, to_azimuth_elevation
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Value

TOLERANCE = Tolerance(0.5, "", "lights.*.direction", "")

finite = st.floats(-10, 10).map(lambda number: round(number, 3))
vectors = st.tuples(finite, finite, finite)
curves = st.lists(vectors, min_size=1, max_size=2).map(
    lambda keys: Curve(tuple((1001.0 + place, key) for place, key in enumerate(keys)))
)
values: st.SearchStrategy[Value | None] = st.one_of(
    st.none(), vectors, curves, st.just("up"), st.just((1.0, 2.0)), st.just((0.0, 0.0, 0.0))
)
entries = st.one_of(
    st.none(), st.builds(Entry, values, values, st.just(math.nan), st.just(0.0), st.just(Grade.NONE))
)


@st.composite
def tables(draw: st.DrawFn) -> Table:
    """Rows of directions whose cells hold what others hold too, or what nobody else does."""
    pool = [None, *draw(st.lists(entries, min_size=1, max_size=6))]
    shots, lights = draw(st.integers(1, 8)), draw(st.integers(1, 3))
    codes = draw(
        st.lists(
            st.lists(st.integers(0, len(pool) - 1), min_size=shots, max_size=shots),
            min_size=lights,
            max_size=lights,
        )
    )
    rows = [
        Row(f"lights.{n}.direction", "lights", str(n), "direction", "direction", TOLERANCE, None)
        for n in range(lights)
    ]
    names = [f"HB_{number:03d}" for number in range(shots)]
    return Table.coded(names, rows, pool, np.array(codes, dtype=np.int32))


def still(value: Value | None) -> Vector | None:
    known = value.keys[0][1] if isinstance(value, Curve) else value
    if isinstance(known, tuple) and len(known) == 3 and known != (0.0, 0.0, 0.0):
        return known
    return None


def by_cell(table: Table, row: int) -> list[tuple[float, float, float, float, float, bool]]:
    """What a track says of each shot, read cell by cell."""
    found = []
    for column in range(len(table.shots)):
        entry = table.entry(row, column)
        value = still(entry.value) if entry is not None else None
        held = still(entry.master) if entry is not None else None
        nowhere = (math.nan, math.nan)
        found.append(
            (
                *(to_azimuth_elevation(value) if value is not None else nowhere),
                *(to_azimuth_elevation(held) if held is not None else nowhere),
                angle_between(value, held) if value is not None and held is not None else math.nan,
                entry is not None and isinstance(entry.value, Curve),
            )
        )
    return found


def columns_of(track: LightTrack) -> list[NDArray[Any]]:
    return [track.azimuth, track.elevation, track.held_azimuth, track.held_elevation, track.away, track.moves]


@given(tables())
def test_a_track_is_what_reading_every_cell_gives(table: Table) -> None:
    sky = sky_of(table, {})
    assert len(sky.tracks) == len(table.rows)
    for track in sky.tracks:
        expected = np.array(by_cell(table, track.row), dtype=np.float64).T
        for place, (found, wanted) in enumerate(zip(columns_of(track), expected, strict=True)):
            apart = np.abs(found - wanted)
            if place in (0, 2):  # 360 is 0, and nearly straight above a small step goes far round
                nearly = np.abs(np.abs(columns_of(track)[place + 1]) - 90.0)
                above = (nearly > 0.0) & (nearly < 1e-6)
                apart = np.where(above, 0.0, np.minimum(apart, 360.0 - apart))
            assert np.array_equal(np.isnan(found), np.isnan(wanted))
            assert np.nanmax(apart, initial=0.0) < 1e-5


@given(tables(), st.data())
def test_how_often_an_entry_is_held_changes_no_bit_of_it(table: Table, data: st.DataObject) -> None:
    """The same table with every cell's entry standing alone in the pool."""
    apart = [table.pool[code] for code in table.codes.ravel().tolist()]
    codes = np.arange(1, len(apart) + 1, dtype=np.int32).reshape(table.codes.shape)
    alone = sky_of(Table.coded(table.shots, table.rows, [None, *apart], codes), {})
    for one, two in zip(sky_of(table, {}).tracks, alone.tracks, strict=True):
        for found, wanted in zip(columns_of(one), columns_of(two), strict=True):
            assert found.tobytes() == wanted.tobytes()


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4), st.integers(0, 3)), min_size=1, max_size=12))
def test_one_spot_for_each_place_and_the_worst_of_it(cells: list[tuple[int, int, int]]) -> None:
    azimuth, elevation, urgency = np.array(cells, dtype=np.float64).T * np.array([[30.0], [10.0], [1.0]])
    nothing = np.full(azimuth.size, np.nan)
    track = LightTrack(
        "lights.a", "a", 0, 0.5, azimuth, elevation, nothing, nothing, nothing, np.zeros(azimuth.size, bool)
    )
    sky = Sky(tuple(map(str, range(azimuth.size))), (track,), (), {})
    spots = spots_of(sky, track, MapFrame.WORLD, urgency)
    worst: dict[tuple[float, float], int] = {}
    for shot in sorted(range(azimuth.size), key=lambda shot: (-urgency[shot], shot)):
        worst.setdefault((float(azimuth[shot]), float(elevation[shot])), shot)
    assert sorted(spots.worst.tolist()) == sorted(worst.values())
    x, y = (axis[spots.worst].round(6).tolist() for axis in project(azimuth, elevation))
    places = list(zip(x, y, strict=True))
    assert places == sorted(places)  # which of two alike is drawn first does not hang on who needs a look


class Asked(Mapping[str, Sheet]):
    """Sheets that remember which were asked for."""

    def __init__(self, sheets: Mapping[str, Sheet]) -> None:
        self._sheets = sheets
        self.names: list[str] = []

    def __getitem__(self, name: str) -> Sheet:
        self.names.append(name)
        return self._sheets[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._sheets)

    def __len__(self) -> int:
        return len(self._sheets)


def sheet(name: str, camera: Value | None) -> Sheet:
    light: dict[str, Value] = {"type": "distant", "direction": (0.0, -1.0, 0.0)}
    sections: dict[str, dict[str, dict[str, Value]]] = {"lights": {"sun": light}}
    if camera is not None:
        sections["camera"] = {"": {"direction": camera}}
    return Sheet(Path(f"{name}.v001.yaml"), name, 1, 1, (1001, 1100), {}, sections)


EAST, SOUTH, DOWN = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)


@pytest.fixture
def asked() -> Asked:
    cameras: list[Value | None] = [EAST, SOUTH, None, DOWN, EAST, Curve(((1001.0, SOUTH), (1100.0, EAST)))]
    return Asked({f"HB_{place}": sheet(f"HB_{place}", camera) for place, camera in enumerate(cameras)})


HEADINGS = [90.0, 180.0, math.nan, math.nan, 90.0, 180.0]


def test_cameras_are_read_when_a_frame_asks_for_them(asked: Asked, tmp_path: Path) -> None:
    session = session_of(sheet("", None), dict(asked), tmp_path)
    asked.names.clear()
    sky = sky_of(session.table, asked, NORTH)
    sun = sky.track_of("lights.sun")
    assert sun is not None
    assert sky.turned(sun.azimuth, MapFrame.WORLD) is sun.azimuth and sky.left_out(MapFrame.WORLD) == 0
    assert asked.names == []
    assert sky.heading(1) == 180.0
    assert asked.names == ["HB_1"]  # the wedge of the shot under the cursor needs no other
    assert sky.left_out(MapFrame.CAMERA) == 2
    assert np.array_equal(sky.headings, HEADINGS, equal_nan=True)
    asked.names.clear()
    assert np.isnan(sky.turned(sun.azimuth, MapFrame.CAMERA)).tolist() == [math.isnan(h) for h in HEADINGS]
    assert asked.names == []  # once is enough


def test_the_headings_of_all_shots_are_those_of_each(asked: Asked, tmp_path: Path) -> None:
    sky = sky_of(session_of(sheet("", None), dict(asked), tmp_path).table, asked, (1.0, 0.0, 0.0))
    alone = np.array([sky.heading(column) for column in range(len(sky.shots))])
    assert alone.tobytes() == sky.headings.tobytes()
    assert np.array_equal(alone, np.array(HEADINGS) - 90.0, equal_nan=True)
