"""Key and fill at a mark."""

from __future__ import annotations

import math

import pytest

from drift.computed.scenes import Scene, Tree, point, shot
from known import about, being
from samelight.drift.cells import Grade
from samelight.drift.computed.key_rows import KEY_HOLDS, SIDE_HOLDS
from samelight.sheets.values import Bearing, Level


def at(azimuth: float, height: float = 0.0, distance: float = 2.0) -> tuple[float, float, float]:
    """A place seen from the face: degrees from the camera's axis to its right, and above the horizon."""
    turn, rise = math.radians(azimuth), math.radians(height)
    flat = distance * math.cos(rise)
    return flat * math.sin(turn), distance * math.sin(rise), flat * math.cos(turn)


BALL = {"face": {"position": [0, 0, 0]}}
"""A mark that faces every light, so that only distances count."""


def ball(lights: Tree, **more: object) -> Tree:
    return {**shot(lights), "marks": BALL, **more}


def rig(key: float = 8, fill: float = 2, azimuth: float = 40, height: float = 30) -> dict[str, object]:
    return {"key": point(key, *at(azimuth, height)), "fill": point(fill, *at(-50))}


def test_key_fill_and_their_ratio() -> None:
    """8 and 2 at 2 m: 2.0 over 0.5, four to one."""
    scene = Scene({"lights": rig()}, A=ball(rig()))
    assert scene.cell("marks.face.key").value == "key"
    assert scene.cell("marks.face.fill").value == Level(about(0.5))
    assert scene.cell("marks.face.key_to_fill").value == Level(about(4.0))


def test_the_ratio_drifts_in_stops() -> None:
    cell = Scene({"lights": rig()}, A=ball(rig(fill=1))).cell("marks.face.key_to_fill")
    assert (cell.drift, cell.unit) == (about(1.0), "stops")


def test_whence_the_key_comes() -> None:
    scene = Scene({"lights": rig()}, A=ball(rig(azimuth=70, height=42)))
    angle, height, side = (scene.cell(f"marks.face.key_{leaf}") for leaf in ("angle", "height", "side"))
    assert [being(Bearing, one) for one in (angle.master, angle.value)] == [
        Bearing(about(40), about(30)),
        Bearing(about(70), about(42)),
    ]
    assert angle.drift == pytest.approx(great_circle((40, 30), (70, 42)))
    assert (height.master, height.value, height.drift) == pytest.approx((30, 42, 12))
    assert (side.master, side.value, side.grade) == ("right", "right", Grade.SAME)


def great_circle(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Degrees between two places, of their vectors."""
    return math.degrees(math.acos(sum(p * q for p, q in zip(at(*a, 1.0), at(*b, 1.0), strict=True))))


@pytest.mark.parametrize(
    ("master", "value", "sign"),
    [
        ((40, 60), (64, 60), 1),
        ((40, 60), (30, 55), -1),
        ((40, 30), (40, 42), 1),
        ((40, 30), (40, 18), -1),
        ((175, 10), (-175, 10), 1),
        ((10, 85), (-170, 85), 1),
        ((30, -40), (-20, 20), -1),
    ],
)
def test_the_key_turns_along_a_great_circle(
    master: tuple[float, float], value: tuple[float, float], sign: int
) -> None:
    """High up a turn about the vertical is a small one, and a key that only rises turns too."""
    scene = Scene({"lights": rig(64, 1, *master)}, A=ball(rig(64, 1, *value)))
    assert scene.cell("marks.face.key_angle").drift == pytest.approx(sign * great_circle(master, value))


def test_the_key_of_a_subject_turns_along_a_great_circle() -> None:
    before, after = (shot(rig(64, 1, *way)) for way in ((40, 60), (64, 55)))
    cell = Scene({"lights": rig()}, "KEY", KEY=before, A=after).cell("subject.face.key_angle", "A")
    assert cell.drift == pytest.approx(great_circle((40, 60), (64, 55)))


def test_the_side_is_the_cameras() -> None:
    """The same light, seen from the other side of the face; for both setups, so that the cut is no drift."""
    behind = ball(rig(), camera={"position": [0, 0, -5]})
    scene = Scene({"lights": rig()}, A=ball(rig()), B=behind)
    assert (scene.cell("marks.face.key_side").value, scene.cell("marks.face.key_side", "B").value) == (
        "right",
        "left",
    )
    assert scene.cell("marks.face.key_side", "B").grade is Grade.SAME
    assert scene.cell("marks.face.key_angle", "B").drift == pytest.approx(0.0, abs=1e-9)


def test_a_camera_by_its_direction_alone() -> None:
    scene = Scene({"lights": rig()}, A=ball(rig(), camera={"direction": [0, 0, -1]}))
    assert scene.cell("marks.face.key_angle").value == Bearing(about(40), about(30))


def test_without_a_camera_there_is_no_side() -> None:
    scene = Scene({"lights": rig()}, A=ball(rig(), camera={}), B=ball(rig()))
    for leaf in ("key_side", "key_angle"):
        assert scene.cell(f"marks.face.{leaf}").grade is Grade.NONE
        assert scene.cell(f"marks.face.{leaf}", "B").grade is Grade.SAME
    assert scene.cell("marks.face.key_height").value == pytest.approx(30)


def test_the_key_changes_sides() -> None:
    cell = Scene({"lights": rig()}, A=ball(rig(azimuth=-40))).cell("marks.face.key_side")
    assert (cell.master, cell.value, cell.grade) == ("right", "left", Grade.DRIFT)


@pytest.mark.parametrize(("turned", "side"), [(SIDE_HOLDS - 1, "front"), (SIDE_HOLDS + 1, "right")])
def test_a_key_on_an_edge_stays_on_its_side_for_a_few_degrees(turned: float, side: str) -> None:
    scene = Scene({"lights": rig(azimuth=22)}, A=ball(rig(azimuth=22 + turned)))
    assert scene.cell("marks.face.key_side").master == "front"
    assert scene.cell("marks.face.key_side").value == side


@pytest.mark.parametrize(("stops", "key"), [(KEY_HOLDS - 0.05, "key"), (KEY_HOLDS + 0.05, "fill")])
def test_a_key_nearly_as_bright_as_the_brightest_stays_the_key(stops: float, key: str) -> None:
    scene = Scene({"lights": rig(fill=7)}, A=ball(rig(fill=8 * 2**stops)))
    assert scene.cell("marks.face.key").master == "key"
    assert scene.cell("marks.face.key").value == key


def test_environments_are_fill_however_bright() -> None:
    skies = {"sky": {"intensity": 10}}
    scene = Scene({"lights": rig(), "environments": skies}, A=ball(rig(), environments=skies))
    assert scene.cell("marks.face.key").value == "key"
    assert scene.cell("marks.face.fill").value == Level(about(0.5 + 10 * math.pi))


def test_a_key_that_follows_its_mark_is_held_as_at_the_key_shot() -> None:
    walked = {"face": {"position": [3, 0, 0]}}
    moved = {
        "key": point(8, *(a + b for a, b in zip(at(40, 30), (3, 0, 0), strict=True))),
        "fill": rig()["fill"],
    }
    camera = {"position": [3, 0, 5]}
    scene = Scene(
        {"lights": rig()}, "KEY", KEY=ball(rig()), A={**ball(moved, camera=camera), "marks": walked}
    )
    for leaf in ("key", "key_side", "key_angle", "key_height", "key_size"):
        assert scene.cell(f"marks.face.{leaf}").grade is Grade.SAME
    assert "since this light follows its mark" in scene.cell("marks.face.key_angle").remark


def test_the_size_of_the_key_is_how_soft_its_shadows_are() -> None:
    """A ball of 0.5 m radius fills 60 degrees at 1 m, 2 asin 0.5, and 28.96 at 2 m."""
    near, far = (
        {"key": {"type": "sphere", "radius": 0.5, "intensity": 9, "position": [0, 0, d]}} for d in (1, 2)
    )
    cell = Scene({"lights": near}, A=ball(far)).cell("marks.face.key_size")
    assert (cell.master, cell.value) == pytest.approx((60.0, 2 * math.degrees(math.asin(0.25))))
    assert cell.grade is Grade.DRIFT


def test_straight_above_an_angle_is_told_and_said_to_mean_little() -> None:
    over = rig(height=85)
    scene = Scene({"lights": over}, A=ball(over), B=ball({**over, "key": point(8, *at(10, 89))}))
    assert scene.cell("marks.face.key_side").value == "top"
    turned = scene.cell("marks.face.key_angle", "B")
    assert turned.drift == pytest.approx(-great_circle((40, 85), (10, 89)))
    assert "straight above" in turned.remark
    assert scene.cell("marks.face.key_height", "B").drift == pytest.approx(4)


def test_without_fill_there_is_no_ratio() -> None:
    alone = {"key": point(8, *at(40))}
    scene = Scene({"lights": rig()}, A=ball(alone))
    cell = scene.cell("marks.face.key_to_fill")
    assert (cell.grade, cell.value) == (Grade.NONE, None)
    assert "no fill" in cell.remark
    fill = scene.cell("marks.face.fill")
    assert (fill.drift, fill.remark) == (-math.inf, "dark in the shot")


def test_where_no_light_reaches_there_is_no_key() -> None:
    behind = {"key": point(8, 0, 0, -2)}
    scene = Scene({"lights": behind}, A=shot(behind))
    assert not scene.has("marks.face.key")
    assert scene.cell("marks.face.level").value == Level(0.0)


def test_a_mark_that_lost_all_light_lost_its_key() -> None:
    front, behind = {"key": point(8, 0, 0, 2)}, {"key": point(8, 0, 0, -2)}
    cell = Scene({"lights": front}, A=shot(behind)).cell("marks.face.key")
    assert (cell.master, cell.value, cell.grade) == ("key", None, Grade.DRIFT)


def test_a_moving_camera_is_met_at_its_keys() -> None:
    """The key was turned; how far is the same from everywhere, and the first frame says it."""
    moving = {"position": {"keys": [[1, [0, 0, 5]], [10, [5, 0, 0]]]}}
    scene = Scene({"lights": rig()}, A=ball(rig(azimuth=50), camera=moving, frames=[1, 10]))
    assert scene.cell("marks.face.key_angle").drift == pytest.approx(great_circle((40, 30), (50, 30)))


def test_the_key_comes_from_its_lit_part() -> None:
    """A box of 4 x 4 m flat above a wall: the half before the wall lights it, from 41 degrees off the vertical and not from it.

    Far away a light comes from its centre, whatever its size across.
    """
    box: Tree = {
        "type": "rect",
        "width": 4,
        "height": 4,
        "intensity": 10,
        "direction": [0, -1, 0],
    }
    wall: Tree = {"face": {"position": [0, 0, 0], "normal": [0, 0, 1]}}
    lights = [{"box": {**box, "position": [0, height, 0]}} for height in (1, 40)]
    near, far = (
        Scene({"lights": one}, A=shot(one, marks=wall)).cell("marks.face.key_height").value for one in lights
    )
    assert near == pytest.approx(49.04, abs=0.3) and being(float, far) > 88.0
