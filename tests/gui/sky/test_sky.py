"""The sky: where the lights come from over the cut, on a map seen from above."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPainter
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_films import film_session
from gui_help import opened, rgb
from samelight.decisions.decision import Verb
from samelight.gui.paint import drift_scale, theme
from samelight.gui.sky import sky_lights, sky_painting
from samelight.gui.sky.dome import draw_dome
from samelight.gui.sky.names import PlacedName
from samelight.gui.sky.sky_lights import draw_path
from samelight.gui.sky.sky_map import SkyMap
from samelight.gui.sky.sky_picture import SIDE, picture_of
from samelight.gui.sky.view import SkyView
from samelight.gui.state.rows import GridState
from samelight.gui.state.sky_data import (
    EDGE,
    LightTrack,
    MapFrame,
    MapView,
    Sky,
    cap_outline,
    project,
    sky_of,
    spots_of,
)
from samelight.gui.widgets.plain_text import plain
from samelight.gui.window.main_window import MainWindow
from samelight.light.directions import angle_between, from_azimuth_elevation
from samelight.sequence.session import Session, open_session
from samelight.sheets.pixels import pixels_text
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text

MakeSequence = Callable[..., Path]

MOVED = ("HB_050", "HB_060", "HB_070", "HB_080")


def settle() -> None:
    for _ in range(4):
        QApplication.processEvents()


def sky(session: Session) -> Sky:
    return sky_of(session.table, session.comparison.sheets, session.contents.sequence.conventions.north)


def column(session: Session, shot: str) -> int:
    found = session.table.column(shot)
    assert found is not None
    return found


def row(session: Session, parameter: str) -> int:
    found = session.table.row(parameter)
    assert found is not None
    return found


@pytest.fixture
def view(qtbot: QtBot, harbour_session: Session) -> SkyView:
    """A sky with the cursor on the sun that moved."""
    made = SkyView()
    qtbot.addWidget(made)
    made.resize(520, 640)
    made.show()
    state = GridState(harbour_session)
    made.show_cell(state, row(harbour_session, "lights.sun.direction"), column(harbour_session, "HB_060"))
    settle()
    return made


def pixel(view: SkyView, azimuth: float, elevation: float) -> QPoint:
    """Where a direction is drawn."""
    x, y = view.map.view.to_pixels(*project(azimuth, elevation))
    return QPoint(round(float(x)), round(float(y)))


def colours(image: QImage, at: QPoint, reach: int = 4) -> set[tuple[int, int, int]]:
    found = set()
    for dx in range(-reach, reach + 1):
        for dy in range(-reach, reach + 1):
            colour = image.pixelColor(at + QPoint(dx, dy))
            found.add((colour.red(), colour.green(), colour.blue()))
    return found


# What is known


def test_a_track_says_where_the_sun_stands_in_every_shot(harbour_session: Session) -> None:
    track = sky(harbour_session).track_of("lights.sun")
    assert track is not None
    moved = [column(harbour_session, shot) for shot in MOVED]
    for place in range(len(harbour_session.table.shots)):
        expected = 143.0 if place in moved else 131.0
        assert track.azimuth[place] == pytest.approx(expected, abs=1e-4)
        assert track.elevation[place] == pytest.approx(24.0, abs=1e-4)
        assert track.held_azimuth[place] == pytest.approx(131.0, abs=1e-4)
    away = angle_between(from_azimuth_elevation(143, 24), from_azimuth_elevation(131, 24))
    assert track.away[moved] == pytest.approx(away, abs=1e-4)
    assert np.delete(track.away, moved) == pytest.approx(0.0, abs=1e-4)
    assert track.tolerance == 0.5


def test_a_light_that_shines_every_way_is_named_as_having_no_direction(harbour_session: Session) -> None:
    known = sky(harbour_session)
    assert "boat_lamp" in known.without
    assert known.track_of("lights.boat_lamp") is None
    assert "sun" not in known.without


def test_another_north_turns_the_azimuths(make_sequence: MakeSequence) -> None:
    light = {"type": "distant", "direction": [-1, -1, 0], "intensity": 1}
    folder = make_sequence(
        master={"lights": {"sun": light}},
        shots={"QU_010": {"lights": {"sun": light}}},
        sequence={"north": [1, 0, 0]},
    )
    track = sky(open_session(folder)).track_of("lights.sun")
    assert track is not None
    # It comes from +X, which is north here.
    assert (track.azimuth[0], track.elevation[0]) == pytest.approx((0.0, 45.0), abs=1e-9)


def test_in_the_camera_frame_what_the_camera_looks_at_is_ahead(make_sequence: MakeSequence) -> None:
    light = {"type": "distant", "azimuth": 90, "elevation": 10, "intensity": 1}
    cameras = {
        "QU_010": {"position": [0, 1, 0], "direction": [1, 0, 0]},  # looks east, into the light
        "QU_020": {"position": [0, 1, 0], "direction": [0, 0, 1]},  # looks south: the light is on its left
        "QU_030": {"position": [0, 1, 0], "direction": [0, -1, 0]},  # looks straight down
    }
    shots = {name: {"camera": camera, "lights": {"sun": light}} for name, camera in cameras.items()}
    shots["QU_040"] = {"lights": {"sun": light}}
    known = sky(open_session(make_sequence(master={"lights": {"sun": light}}, shots=shots)))
    track = known.tracks[0]
    x, y = project(known.turned(track.azimuth, MapFrame.CAMERA), track.elevation)
    assert x[0] == pytest.approx(0.0, abs=1e-9) and y[0] > 0.9
    assert x[1] < -0.9 and y[1] == pytest.approx(0.0, abs=1e-9)
    assert np.isnan(x[2]) and np.isnan(x[3])
    assert known.left_out(MapFrame.CAMERA) == 2
    assert known.left_out(MapFrame.WORLD) == 0
    assert np.array_equal(known.turned(track.azimuth, MapFrame.WORLD), track.azimuth)


def test_an_animated_direction_counts_at_its_first_key_and_says_so(make_sequence: MakeSequence) -> None:
    still = {"type": "distant", "azimuth": 100, "elevation": 20, "intensity": 1}
    keys = {"keys": [[1001, 100], [1040, 140]], "interpolation": "linear"}
    folder = make_sequence(
        master={"lights": {"sun": still}},
        shots={"QU_010": {"frames": [1001, 1040], "lights": {"sun": {**still, "azimuth": keys}}}},
    )
    track = sky(open_session(folder)).tracks[0]
    assert track.moves.tolist() == [True]
    assert track.azimuth[0] == pytest.approx(100.0, abs=1e-6)


def test_shots_in_one_place_are_one_spot_with_the_worst_on_top(harbour_session: Session) -> None:
    known = sky(harbour_session)
    track = known.track_of("lights.sun")
    assert track is not None
    spots = spots_of(known, track, MapFrame.WORLD, harbour_session.table.severity[track.row])
    assert spots.worst.size == 2
    moved = spots.shots_at(column(harbour_session, "HB_060"))
    assert [harbour_session.table.shots[place] for place in moved] == list(MOVED)
    assert len(spots.shots_at(0)) == len(harbour_session.table.shots) - len(MOVED)


def test_the_outline_of_a_cap_is_everywhere_its_radius_away() -> None:
    for azimuth, elevation in ((131.0, 24.0), (0.0, 90.0), (200.0, -5.0)):
        x, y = cap_outline(azimuth, elevation, 3.0)
        assert (x[0], y[0]) == pytest.approx((x[-1], y[-1]))
        for u, v in zip(x.tolist(), y.tolist(), strict=True):
            radius = math.hypot(u, v)
            down = 2 * math.degrees(math.asin(radius / EDGE))
            there = from_azimuth_elevation(math.degrees(math.atan2(u, v)), 90 - down)
            assert angle_between(there, from_azimuth_elevation(azimuth, elevation)) == pytest.approx(
                3.0, abs=1e-6
            )


def test_zooming_keeps_the_place_under_the_pointer() -> None:
    view = MapView(400, 300)
    before = view.to_map(310, 80)
    nearer = view.zoomed(3.0, 310, 80)
    assert nearer.to_map(310, 80) == pytest.approx(before)
    assert nearer.zoom == pytest.approx(3.0)
    # All the way out the whole sky is back in the middle.
    assert nearer.zoomed(0.01, 10, 10) == view


def test_framing_holds_every_place() -> None:
    x, y = project([131.0, 143.0, np.nan], [24.0, 24.0, 3.0])
    view = MapView(400, 300).framing(x, y, 0.01)
    left, top = view.to_pixels(x[:2], y[:2])
    assert (left > 0).all() and (left < 400).all() and (top > 0).all() and (top < 300).all()
    assert math.hypot(left[1] - left[0], top[1] - top[0]) > 100


# What is seen


def test_a_sun_that_moved_is_seen_in_one_look(view: SkyView, harbour_session: Session) -> None:
    image = view.map.grab().toImage()
    severity = float(harbour_session.table.severity[row(harbour_session, "lights.sun.direction"), 5])
    moved, master = pixel(view, 143.0, 24.0), pixel(view, 131.0, 24.0)
    assert rgb(drift_scale.colour(severity)) in colours(image, moved)
    assert rgb(drift_scale.colour(severity)) not in colours(image, master)
    assert math.hypot(moved.x() - master.x(), moved.y() - master.y()) > 20
    # The shot under the cursor is ringed, and east is right, south is down.
    assert rgb(theme.BRIGHT) in colours(image, moved, 11)
    centre = view.map.rect().center()
    assert moved.x() > centre.x() and moved.y() > centre.y()


def test_the_sky_is_neutral_grey_but_for_drift(qtbot: QtBot, make_sequence: MakeSequence) -> None:
    light = {"type": "distant", "azimuth": 90, "elevation": 10, "intensity": 1}
    folder = make_sequence(
        master={"lights": {"sun": light}},
        shots={"QU_010": {"lights": {"sun": light}, "camera": {"direction": [1, 0, 0]}}},
    )
    view = SkyView()
    qtbot.addWidget(view)
    view.resize(400, 520)
    view.show()
    view.show_cell(GridState(open_session(folder)), 0, 0)
    settle()
    image = view.map.grab().toImage()
    for x in range(0, image.width(), 3):
        for y in range(0, image.height(), 3):
            red, green, blue = rgb(image.pixelColor(x, y))
            assert red == green == blue


def test_other_lights_stand_back_behind_the_one_that_is_looked_at(qtbot: QtBot, tmp_path: Path) -> None:
    """On a film in which thirty lights drift the marks of the chosen one alone keep their size and their colour."""
    session = film_session(tmp_path / "film", 120)
    view = SkyView()
    qtbot.addWidget(view)
    view.resize(420, 560)
    view.show()
    table = session.table
    chosen, other = (row(session, f"lights.light_{n:02d}.direction") for n in (0, 1))
    state = GridState(session)

    def full_marks(shown: int) -> int:
        """How many of a light's drifting shots have their own colour on the map while another light is shown."""
        view.show_cell(state, shown, 0)
        settle()
        image = view.map.grab().toImage()
        track = sky(session).track_of(table.rows[chosen].group_name)
        assert track is not None
        found = 0
        for place in np.flatnonzero(table.severity[chosen] > 1).tolist():
            at = pixel(view, float(track.azimuth[place]), float(track.elevation[place]))
            wanted = rgb(drift_scale.colour(float(table.severity[chosen, place])))
            found += wanted in colours(image, at, 2)
        return found

    assert full_marks(chosen) > full_marks(other)


def test_no_name_covers_a_mark(view: SkyView, harbour_session: Session) -> None:
    """The window fill of HB_180 stays in sight beside the names of its neighbours."""
    known = sky(harbour_session).track_of("lights.window_fill")
    assert known is not None
    place = column(harbour_session, "HB_180")
    severity = float(
        harbour_session.table.severity[row(harbour_session, "lights.window_fill.direction"), place]
    )
    at = pixel(view, float(known.azimuth[place]), float(known.elevation[place]))
    assert rgb(drift_scale.colour(severity)) in colours(view.map.grab().toImage(), at, 3)


def test_the_sky_can_be_narrow(view: SkyView) -> None:
    view.resize(200, 420)
    settle()
    assert view.width() == 200
    for control in (view.frame_box, view.all_box, view.closer_button, view.map, view.note):
        corner = control.mapTo(view, QPoint(0, 0))
        assert corner.x() >= 0 and corner.x() + control.width() <= 200
    assert view.map.y() + view.map.height() <= view.said.y()
    assert view.note.toolTip() == plain(view.note.text())  # it is cut short there, and whole in its tooltip


@pytest.mark.parametrize(
    ("width", "height"), [(260, 380), (260, 420), (380, 300), (380, 320), (380, 360), (380, 640)]
)
def test_map_read_out_and_note_stand_one_below_the_other_in_any_height(
    view: SkyView, qtbot: QtBot, width: int, height: int
) -> None:
    view.resize(width, height)
    settle()
    for place in (pixel(view, 143.0, 24.0), pixel(view, 300.0, 70.0)):  # on a point, and beside all
        qtbot.mouseMove(view.map, place)
        settle()
        assert view.height() == height
        assert view.map.height() >= 140 and view.map.geometry().bottom() < view.said.y()
        assert view.said.height() >= view.said.heightForWidth(view.said.width())
        assert view.said.geometry().bottom() < view.note.y()
        assert view.note.geometry().bottom() <= view.height()
    if height == 300:
        assert view.note.toolTip() == plain(view.note.text())


def test_the_read_out_says_shot_angles_and_tolerance(view: SkyView) -> None:
    for said in (
        "HB_060",
        "sun",
        "azimuth 143.0°",
        "elevation 24.0°",
        "10.96° from the master",
        "tolerance 0.5°",
    ):
        assert said in view.said.text()
    for said in (
        "Seen from above",
        "north up, east right",
        "Lambert azimuthal equal-area",
        "below the horizon",
    ):
        assert said in view.note.text()


def test_hovering_reads_out_what_is_there(view: SkyView, qtbot: QtBot) -> None:
    qtbot.mouseMove(view.map, pixel(view, 131.0, 24.0))
    assert "HB_010" in view.said.text() and "0.00° from the master" in view.said.text()
    assert "and 16 more" in view.said.text()
    qtbot.mouseMove(view.map, pixel(view, 300.0, 70.0))
    assert "pointer: azimuth 300°, elevation 70°" in view.said.text()
    assert "HB_060" in view.said.text()


def test_a_click_goes_to_the_cell_and_on_through_shots_in_one_place(window: MainWindow, qtbot: QtBot) -> None:
    assert window.session is not None
    window.run("sky")
    window.select("HB_010", "lights.sun.direction")
    settle()
    seen = []
    for _ in range(5):
        qtbot.mouseClick(
            window.panels.sky.map, Qt.MouseButton.LeftButton, pos=pixel(window.panels.sky, 143.0, 24.0)
        )
        current = opened(window).views.grid.current_line()
        assert current is not None and current[0].row == row(window.session, "lights.sun.direction")
        seen.append(window.session.table.shots[current[1]])
    assert seen == [*MOVED, MOVED[0]]


def test_the_keyboard_alone_goes_from_shot_to_shot_and_light_to_light(
    window: MainWindow, qtbot: QtBot
) -> None:
    assert window.session is not None
    window.select("HB_040", "lights.sun.direction")
    window.run("sky")
    settle()
    assert window.focusWidget() is window.panels.sky.map
    qtbot.keyClick(window.panels.sky.map, Qt.Key.Key_Right)
    current = opened(window).views.grid.current_line()
    assert current is not None and window.session.table.shots[current[1]] == "HB_050"
    qtbot.keyClick(window.panels.sky.map, Qt.Key.Key_Down)
    assert window.panels.sky.track is not None and window.panels.sky.track.group == "lights.bounce"
    qtbot.keyClick(window.panels.sky.map, Qt.Key.Key_Plus)
    assert window.panels.sky.map.view.zoom > 1.0
    qtbot.keyClick(window.panels.sky.map, Qt.Key.Key_0)
    assert window.panels.sky.map.view.zoom == 1.0


def test_the_sky_follows_the_cursor_and_keeps_its_light_on_other_rows(window: MainWindow) -> None:
    window.run("sky")
    window.select("HB_060", "lights.rim.colour")
    settle()
    assert window.panels.sky.track is not None and window.panels.sky.track.group == "lights.rim"
    window.select("HB_120", "render.gi.range")
    assert window.panels.sky.track.group == "lights.rim"
    assert "HB_120" in window.panels.sky.said.text()


def test_closer_fills_the_map_with_the_light(view: SkyView, qtbot: QtBot) -> None:
    before = pixel(view, 131.0, 24.0) - pixel(view, 143.0, 24.0)
    view.closer_button.click()
    after = pixel(view, 131.0, 24.0) - pixel(view, 143.0, 24.0)
    assert after.manhattanLength() > 3 * before.manhattanLength()
    for azimuth in (131.0, 143.0):
        assert view.map.rect().contains(pixel(view, azimuth, 24.0))
    view.closer_button.click()
    assert view.map.view.zoom == 1.0


def test_only_the_light_under_the_cursor_when_asked(view: SkyView, harbour_session: Session) -> None:
    rim = sky(harbour_session).track_of("lights.rim")
    assert rim is not None
    place = QPointF(pixel(view, float(rim.azimuth[0]), float(rim.elevation[0])))
    found = view.map.points_at(place)
    assert found is not None and found[0].name == "rim"
    view.all_box.setChecked(False)
    found = view.map.points_at(QPointF(pixel(view, float(rim.azimuth[0]), float(rim.elevation[0]))))
    assert found is None


def test_the_camera_frame_says_which_shots_it_leaves_out(qtbot: QtBot, make_sequence: MakeSequence) -> None:
    light = {"type": "distant", "azimuth": 90, "elevation": 10, "intensity": 1}
    shots = {
        "QU_010": {"camera": {"direction": [1, 0, 0]}, "lights": {"sun": light}},
        "QU_020": {"lights": {"sun": light}},
    }
    session = open_session(make_sequence(master={"lights": {"sun": light}}, shots=shots))
    view = SkyView()
    qtbot.addWidget(view)
    view.resize(420, 560)
    view.show()
    view.show_cell(GridState(session), row(session, "lights.sun.direction"), 0)
    assert "left out" not in view.note.text()
    view.frame_box.setCurrentText(str(MapFrame.CAMERA))
    assert "1 shot has no camera with a heading and is left out" in view.note.text()
    assert "QU_010" in view.note.text()
    # The light straight ahead of the camera is drawn at the top.
    found = view.map.points_at(QPointF(pixel(view, 0.0, 10.0)))
    assert found is not None and found[1] == [0]
    view.show_cell(GridState(session), row(session, "lights.sun.direction"), 1)
    settle()
    assert "azimuth 90.0°" in view.said.text()


def test_a_light_below_the_horizon_lies_outside_the_ring_and_on_the_map(
    view: SkyView, harbour_session: Session
) -> None:
    bounce = sky(harbour_session).track_of("lights.bounce")
    assert bounce is not None and float(np.nanmin(bounce.elevation)) < 0
    place = pixel(view, float(bounce.azimuth[0]), float(bounce.elevation[0]))
    assert view.map.rect().contains(place)
    middle = pixel(view, 0.0, 90.0)
    assert math.hypot(place.x() - middle.x(), place.y() - middle.y()) > view.map.view.scale
    view.all_box.setChecked(False)  # the sun alone needs no room below the horizon
    assert view.map.view.extent == pytest.approx(1.14)


def test_what_was_intended_is_hollow(view: SkyView, harbour_session: Session) -> None:
    index = row(harbour_session, "lights.sun.direction")
    cells = [(index, column(harbour_session, shot)) for shot in MOVED]
    harbour_session.decide(Verb.INTEND, cells, "lead", "the boat turned")
    view.show_cell(GridState(harbour_session), index, 0)
    settle()
    image = view.map.grab().toImage()
    assert rgb(theme.CELL) in colours(image, pixel(view, 143.0, 24.0), 1)


def test_a_sequence_without_directions_says_so(qtbot: QtBot, make_sequence: MakeSequence) -> None:
    lamp = {"type": "sphere", "position": [0, 1, 0], "intensity": 1}
    session = open_session(
        make_sequence(master={"lights": {"lamp": lamp}}, shots={"QU_010": {"lights": {"lamp": lamp}}})
    )
    view = SkyView()
    qtbot.addWidget(view)
    view.show()
    view.show_cell(GridState(session), 0, 0)
    settle()
    view.map.grab()
    assert "No light of this sequence has a direction" in view.said.text()
    assert "lamp" in view.note.text()
    for key in (Qt.Key.Key_Left, Qt.Key.Key_Down, Qt.Key.Key_Plus):
        qtbot.keyClick(view.map, key)


def test_a_long_film_is_drawn(qtbot: QtBot, tmp_path: Path) -> None:
    session = film_session(tmp_path / "film", 120)
    view = SkyView()
    qtbot.addWidget(view)
    view.resize(420, 560)
    view.show()
    view.show_cell(GridState(session), row(session, "lights.light_00.direction"), 60)
    settle()
    drifting = int(np.flatnonzero(session.table.severity[row(session, "lights.light_00.direction")] > 1)[0])
    track = view.track
    assert track is not None
    at = pixel(view, float(track.azimuth[drifting]), float(track.elevation[drifting]))
    assert view.map.points_at(QPointF(at)) == (track, [drifting])


def test_every_control_has_a_name_and_a_tip(view: SkyView) -> None:
    for control in (view.frame_box, view.closer_button):
        assert control.accessibleName() and control.toolTip()
    assert view.all_box.text() and view.all_box.toolTip()
    assert isinstance(view.map, SkyMap) and view.map.accessibleName() and view.map.accessibleDescription()
    assert view.map.focusPolicy() & Qt.FocusPolicy.TabFocus


def words_and_names(view: SkyView) -> tuple[list[QRectF], list[PlacedName]]:
    """Where the dome's own words stand on the map as it is drawn now, and the names of the lights."""
    assert view.sky is not None
    image = QImage(view.map.size(), QImage.Format.Format_RGB32)
    painter = QPainter(image)
    words = draw_dome(painter, view.map.view, view.frame, float(view.sky.headings[view.column]))
    painter.end()
    return words, view.map.names_beside(list(words))


def double_the_type(monkeypatch: pytest.MonkeyPatch) -> None:
    real = theme.font

    def twice(points: float = 10.0, *, bold: bool = False) -> QFont:
        return real(points * 2, bold=bold)

    monkeypatch.setattr(theme, "font", twice)


@pytest.mark.parametrize("doubled", [False, True])
@pytest.mark.parametrize("frame", list(MapFrame))
@pytest.mark.parametrize("size", [(380, 400), (520, 640), (820, 900)])
@pytest.mark.parametrize("light", ["sun", "rim", "window_fill"])
def test_no_word_of_the_sky_covers_another_or_is_cut(
    view: SkyView,
    harbour_session: Session,
    monkeypatch: pytest.MonkeyPatch,
    light: str,
    size: tuple[int, int],
    frame: MapFrame,
    doubled: bool,
) -> None:
    if doubled:
        double_the_type(monkeypatch)
    view.resize(*size)
    view.frame_box.setCurrentText(str(frame))
    for shot in ("HB_010", "HB_060", "HB_180"):
        view.show_cell(
            GridState(harbour_session),
            row(harbour_session, f"lights.{light}.direction"),
            column(harbour_session, shot),
        )
        settle()
        words, names = words_and_names(view)
        whole = QRectF(view.map.rect())
        rooms = [*words, *(name.room for name in names)]
        assert len(words) >= 4
        if size != (380, 400) or not doubled:  # else there may be no room for it, and the read-out names it
            assert names[0].chosen and names[0].text == f"{light} (master)"
        for place, room in enumerate(rooms):
            assert whole.contains(room), (shot, room)
            for other in rooms[place + 1 :]:
                assert not room.intersects(other), (shot, room, other)


def test_a_small_sky_keeps_to_the_compass_and_the_lights(view: SkyView) -> None:
    view.resize(380, 380)
    settle()
    assert min(view.map.width(), view.map.height()) < 250
    assert len(words_and_names(view)[0]) == 4
    view.resize(520, 640)
    settle()
    assert len(words_and_names(view)[0]) == 4 + 3 + 1  # three rings, and the camera


@pytest.mark.parametrize("doubled", [False, True])
def test_the_words_of_the_sky_have_the_room_that_their_type_needs(
    view: SkyView, monkeypatch: pytest.MonkeyPatch, doubled: bool
) -> None:
    if doubled:
        double_the_type(monkeypatch)
    view.resize(820, 900)
    settle()
    small = QFontMetricsF(theme.font(8.0))
    words, _ = words_and_names(view)
    figures, camera = words[:3], words[-1]
    assert all(room.height() >= small.height() for room in words)
    assert all(room.width() >= small.horizontalAdvance("30°") for room in figures[1:])
    assert camera.width() >= small.horizontalAdvance("camera")


def test_in_the_camera_frame_the_other_lights_are_named_too(view: SkyView, harbour_session: Session) -> None:
    view.frame_box.setCurrentText(str(MapFrame.CAMERA))
    settle()
    _, names = words_and_names(view)
    assert {name.text for name in names} >= {"sun (master)", "rim", "window_fill", "bounce"}
    # A name stands beside the point of the shot under the cursor.
    known = sky(harbour_session)
    rim, shot = known.track_of("lights.rim"), column(harbour_session, "HB_060")
    assert rim is not None
    heading = float(known.headings[shot])
    at = pixel(view, float(rim.azimuth[shot]) - heading, float(rim.elevation[shot]))
    room = next(name.room for name in names if name.text == "rim")
    assert room.adjusted(-24, -24, 24, 24).contains(QPointF(at))


# What is painted anew


class Painted:
    """Which lights' marks are painted while a test looks, with `chosen` or behind."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.lights: list[tuple[str, bool]] = []
        draw = sky_lights.draw_spots

        def noted(*args: Any, chosen: bool) -> None:
            self.lights.append((args[2].track.name, chosen))
            draw(*args, chosen=chosen)

        monkeypatch.setattr(sky_painting, "draw_spots", noted)

    def since(self) -> tuple[list[str], list[str]]:
        """The lights painted since the last call: in front, and behind."""
        settle()
        found, self.lights = self.lights, []
        return [name for name, chosen in found if chosen], [name for name, chosen in found if not chosen]


@pytest.fixture
def painted(view: SkyView, monkeypatch: pytest.MonkeyPatch) -> Painted:
    return Painted(monkeypatch)


def test_another_shot_paints_no_mark_anew(view: SkyView, painted: Painted, harbour_session: Session) -> None:
    assert view.state is not None
    sun = row(harbour_session, "lights.sun.direction")
    before = view.map.grab().toImage()
    painted.since()
    view.show_cell(view.state, sun, column(harbour_session, "HB_010"))
    assert painted.since() == ([], [])
    assert view.map.grab().toImage() != before  # its ring is elsewhere
    view.show_cell(view.state, sun, column(harbour_session, "HB_060"))
    view.map.grab()
    assert painted.since() == ([], [])
    assert view.map.grab().toImage() == before


def test_another_light_paints_its_own_marks_alone(
    view: SkyView, painted: Painted, harbour_session: Session
) -> None:
    assert view.state is not None
    view.show_cell(view.state, row(harbour_session, "lights.rim.direction"), 0)
    assert painted.since() == (["rim"], [])


def test_what_is_listed_is_nothing_to_the_sky_and_what_was_decided_is(
    view: SkyView, painted: Painted, harbour_session: Session
) -> None:
    state = view.state
    assert state is not None
    sun, shot = row(harbour_session, "lights.sun.direction"), column(harbour_session, "HB_060")
    state.show(replace(state.view, expanded=("lights.sun",)))
    state.refresh()
    view.show_cell(state, sun, shot)
    assert painted.since() == ([], [])
    harbour_session.decide(Verb.INTEND, [(sun, shot)], "lead", "the boat turned")
    state.refresh()
    view.show_cell(state, sun, shot)
    front, behind = painted.since()
    assert front == ["sun"] and "rim" in behind


def test_zoom_size_and_frame_paint_all_anew(view: SkyView, painted: Painted, qtbot: QtBot) -> None:
    def zoom() -> None:
        qtbot.keyClick(view.map, Qt.Key.Key_Plus)

    def turn() -> None:
        view.frame_box.setCurrentText(str(MapFrame.CAMERA))

    for change in (zoom, turn, lambda: view.resize(540, 660)):
        change()
        front, behind = painted.since()
        assert "sun" in front and {"sun", "rim", "bounce"} <= set(behind)
    view.all_box.setChecked(False)
    front, behind = painted.since()
    assert set(front) == {"sun"} and behind == []


def test_which_light_was_looked_at_before_leaves_no_trace(view: SkyView, harbour_session: Session) -> None:
    assert view.state is not None
    before = view.map.grab().toImage()
    for light in ("rim", "bounce", "window_fill", "sun"):
        view.show_cell(
            view.state,
            row(harbour_session, f"lights.{light}.direction"),
            column(harbour_session, "HB_060"),
        )
        settle()
    assert view.map.grab().toImage() == before


def way(*azimuth: float) -> QImage:
    """The way of a light along the horizon, from shot to shot."""
    count = len(azimuth)
    nothing, moves = np.full(count, np.nan), np.zeros(count, dtype=np.bool_)
    track = LightTrack(
        "lights.a", "a", 0, 0.5, np.array(azimuth), np.zeros(count), nothing, nothing, nothing, moves
    )
    known = Sky(tuple(map(str, range(count))), (track,), (), {})
    image = QImage(200, 200, QImage.Format.Format_RGB32)
    image.fill(theme.WINDOW)
    painter = QPainter(image)
    draw_path(painter, MapView(200, 200), spots_of(known, track, MapFrame.WORLD, np.zeros(count)))
    painter.end()
    return image


def test_the_way_from_shot_to_shot_has_an_arrow_for_each_direction() -> None:
    def drawn(image: QImage) -> set[tuple[int, int]]:
        return {
            (x, y) for x in range(200) for y in range(200) if rgb(image.pixelColor(x, y)) != rgb(theme.WINDOW)
        }

    there, both = drawn(way(90.0, 270.0)), drawn(way(90.0, 270.0, math.nan, 90.0, 90.0, 270.0))
    across = [x for x, _ in there]
    assert min(across) < 15 and max(across) > 185
    assert there < both and all(80 < x < 120 and 90 < y < 110 for x, y in both - there)
    assert drawn(way(90.0, 90.0)) == drawn(way(math.nan)) == drawn(way(90.0)) == set()


def test_the_picture_of_the_sky_lies_under_its_lights() -> None:
    """Bright where the map looks to +Z, which is south; turned by 90 degrees clockwise it is west, and ahead of a camera that looks there."""
    rgb = np.full((32, 64, 3), 0.01)
    rgb[:, 16:48] = 1.0
    dome = {"intensity": 1, "texture": "s.exr", "pixels": pixels_text(rgb)}

    def bright(rotation: float, heading: float) -> list[int]:
        """Above, right of, below and left of the middle."""
        tree = {"environments": {"dome": {**dome, "rotation": rotation}}}
        text = yaml_text({"samelight": 2, "shot": "A", **tree})
        sheet = sheet_from_document(parse_document(Path("A.yaml"), text), shot="A")
        pixels = picture_of(Sky(("A",), (), (), {"A": sheet}), 0, heading)
        assert pixels is not None and pixels[0, 0, 3] == 0
        far, middle = SIDE // 4, SIDE // 2
        places = (
            (middle - far, middle),
            (middle, middle + far),
            (middle + far, middle),
            (middle, middle - far),
        )
        return [int(pixels[place][0]) for place in places]

    above, right, below, left = bright(0.0, 0.0)
    assert below > 3 * above
    above, right, below, left = bright(90.0, 0.0)
    assert left > 3 * right
    above, right, below, left = bright(90.0, 270.0)
    assert above > 3 * below
    assert picture_of(Sky(("A",), (), (), {}), 0, 0.0) is None
