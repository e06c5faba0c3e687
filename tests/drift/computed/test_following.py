"""Which lights follow a mark, and what every light is compared with there."""

from __future__ import annotations

import math

import pytest

from drift.computed.scenes import FACE, Scene, Tree, point, sheet, shot
from known import about
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.computed.derived import derived_rows
from samelight.drift.computed.mark_levels import AT_OWN_MARK, CARRIED_ALONG
from samelight.sheets.values import Level

SPOT: Tree = {"type": "spot", "intensity": 8, "position": [0, 0, 2], "direction": [0, 0, -1], "cone": 30}
RIG: Tree = {"spot": SPOT, "fill": point(4, 2, 0, 2), "base": point(1, 0, 0, 1)}
WALK = (3.0, 0.0, 1.0)
FOLLOWS = f"compared with {CARRIED_ALONG}"
STAYS = f"compared with {AT_OWN_MARK}"


def level(value: object) -> float:
    assert isinstance(value, Level)
    return value.value


def face(*by: float, normal: tuple[float, float, float] = (0, 0, 1)) -> Tree:
    return {"position": list(by or (0, 0, 0)), "normal": list(normal)}


def moved(light: Tree, by: tuple[float, ...], **more: object) -> Tree:
    return {**light, "position": [a + b for a, b in zip(light["position"], by, strict=True)], **more}


def scene(lights: Tree, mark: Tree) -> Scene:
    """The key shot with its face at the origin, and shot A."""
    return Scene({"lights": RIG}, "KEY", KEY=shot(RIG), A=shot({**RIG, **lights}, marks={"face": mark}))


def at_face(lights: Tree, mark: Tree, light: str = "spot") -> ComparedCell:
    return scene(lights, mark).cell(f"marks.face.level.{light}")


def turned(vector: tuple[float, ...], degrees: float) -> tuple[float, float, float]:
    """About the vertical."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (c * vector[0] + s * vector[2], vector[1], -s * vector[0] + c * vector[2])


def test_a_lantern_that_went_with_its_man_keeps_its_level_at_his_face() -> None:
    cell = at_face({"spot": moved(SPOT, WALK)}, face(*WALK))
    assert (level(cell.master), cell.grade, cell.remark) == (about(2.0), Grade.SAME, FOLLOWS)


@pytest.mark.parametrize(
    ("off", "follows"),
    [((0.3, 0, 0), True), ((0, -0.3, 0), True), ((0.33, 0, 0), False), ((0, 0.5, 0), False)],
)
def test_a_light_may_be_off_by_a_tenth_of_its_way(off: tuple[float, ...], follows: bool) -> None:
    """The way is 3.16 m; the level then tells what the rest of it does to the face."""
    cell = at_face({"spot": moved(SPOT, tuple(a + b for a, b in zip(WALK, off, strict=True)))}, face(*WALK))
    assert cell.remark.endswith(FOLLOWS if follows else STAYS)


@pytest.mark.parametrize(
    ("walk", "went", "follows"),
    [(0.4, 0.445, True), (0.4, 0.46, False), (0.1, 0.12, True), (0.1, 0.13, False), (0.1, 0.0, False)],
)
def test_on_short_ways_5_cm_but_never_more_than_a_quarter(walk: float, went: float, follows: bool) -> None:
    cell = at_face({"spot": moved(SPOT, (went, 0, 1e-5))}, face(walk, 0, 0))
    assert (cell.remark == FOLLOWS) is follows


def test_what_a_follower_is_off_by_shows_at_the_face() -> None:
    """20 cm further from a face that walked 3.16 m: 2 log2(2 / 2.2)."""
    cell = at_face({"spot": moved(SPOT, (WALK[0], 0, WALK[2] + 0.2))}, face(*WALK))
    assert (cell.drift, cell.remark) == (about(2 * math.log2(2 / 2.2)), FOLLOWS)


def test_a_spot_knocked_off_the_face_keeps_its_row() -> None:
    """The man stands a metre from where he stood in the key shot, and the master's light lights him there too; the spot
    now looks past him."""
    away = {**SPOT, "position": [0, 0.1, 2], "direction": [0.9, 0, -0.5]}
    cell = at_face({"spot": away}, face(0, 0, -1))
    assert level(cell.master) == pytest.approx(8 / 9)
    assert (level(cell.value), cell.drift, cell.grade) == (0.0, -math.inf, Grade.DRIFT)
    assert cell.remark == f"dark in the shot; {STAYS}"


def test_a_fill_knocked_by_a_metre_shows_what_its_face_lost() -> None:
    """He walked 2 m; what the fill gives him now happens to be about what it gave the face of the key shot."""
    mark = face(-0.5, 0, -0.9)
    knocked = {"fill": moved(RIG["fill"], (-1, 0, -0.5))}
    at_key = level(at_face({}, face(), "fill").value)
    cell = at_face(knocked, mark, "fill")
    assert abs(math.log2(level(cell.value) / at_key)) < 0.3
    there, here = math.dist((2, 0, 2), mark["position"]), math.dist((1, 0, 1.5), mark["position"])
    facing = math.log2(((1.5 + 0.9) / here) / ((2 + 0.9) / there))
    assert cell.drift == pytest.approx(2 * math.log2(there / here) + facing)
    assert cell.drift > 0.5
    assert cell.remark == STAYS


def test_a_nudge_where_the_mark_stands_still_is_no_following() -> None:
    """The face is turned edge-on to the spot, which the key shot's is not: half a centimetre is noise, and no 8 stops."""
    sheets = scene({"spot": moved(SPOT, (0.005, 0, 0))}, face(normal=(1, 0, 0)))
    assert not sheets.has("marks.face.level.spot") or sheets.cell("marks.face.level.spot").grade is Grade.NONE
    total = sheets.cell("marks.face.level")
    assert (total.grade, total.remark) == (Grade.WITHIN, "")


def test_a_moved_mark_changes_nothing_of_a_light_that_stands_still() -> None:
    cell = at_face({}, face(0.2, 0, 0.5))
    assert (cell.drift, cell.grade, cell.remark) == (0.0, Grade.SAME, "")


def test_a_light_that_went_along_but_was_turned_away_does_not_follow() -> None:
    """20 degrees off: what it lights is not what it lit. Within 5 it follows, and its level tells the rest."""
    for degrees, remark in ((20.0, STAYS), (4.0, FOLLOWS)):
        aim = turned((0, 0, -1), degrees)
        cell = at_face({"spot": moved(SPOT, WALK, direction=list(aim))}, face(*WALK))
        assert cell.remark.endswith(remark)


def test_one_that_stands_and_pans_after_its_character_does_not_follow() -> None:
    cell = at_face({"spot": {**SPOT, "direction": [0.5, 0, -2]}}, face(0.5, 0, 0))
    assert cell.remark == STAYS


def test_one_that_is_set_loosely_beside_its_man_and_still_aimed_at_him_follows() -> None:
    """25 cm off on a way of 3.16 m, and 7 degrees from its old aim, since it is aimed at the face."""
    place = [WALK[0] + 0.25, 0, 2 + WALK[2]]
    aim = [WALK[i] - place[i] for i in range(3)]
    cell = at_face({"spot": {**SPOT, "position": place, "direction": aim}}, face(*WALK))
    assert cell.remark == FOLLOWS


def test_a_head_that_turns_as_it_goes_changes_nothing_by_itself() -> None:
    """The lantern goes beside him, whichever way he looks: both sides at his face as it is turned."""
    looks = turned((0, 0, 1), 40)
    cell = at_face({"spot": moved(SPOT, WALK)}, face(*WALK, normal=looks))
    assert (cell.grade, cell.remark) == (Grade.SAME, FOLLOWS)
    assert level(cell.value) == pytest.approx(2 * math.cos(math.radians(40)))


def test_one_that_went_along_and_turned_as_the_face_did_follows() -> None:
    aim, looks = turned((0, 0, -1), 20), turned((0, 0, 1), 20)
    cell = at_face({"spot": moved(SPOT, WALK, direction=list(aim))}, face(*WALK, normal=looks))
    assert (cell.grade, cell.remark) == (Grade.SAME, FOLLOWS)


def test_a_set_that_is_turned_with_all_its_lights_is_the_same_to_the_face() -> None:
    """Turned about a point a metre beside the face: every light goes round the face with it."""
    degrees, about = 25.0, (1.0, 0.0, 0.0)

    def round_(place: list[float]) -> list[float]:
        offset = turned(tuple(p - a for p, a in zip(place, about, strict=True)), degrees)
        return [a + b for a, b in zip(about, offset, strict=True)]

    lights: Tree = {name: {**light, "position": round_(light["position"])} for name, light in RIG.items()}
    lights["spot"]["direction"] = list(turned((0, 0, -1), degrees))
    camera = {"position": round_([0, 0, 5])}
    whole = shot(
        lights, marks={"face": face(*round_([0, 0, 0]), normal=turned((0, 0, 1), degrees))}, camera=camera
    )
    sheets = Scene({"lights": RIG}, "KEY", KEY=shot(RIG), A=whole)
    for name in RIG:
        cell = sheets.cell(f"marks.face.level.{name}")
        assert cell.drift == pytest.approx(0.0, abs=1e-9)
        assert cell.remark == FOLLOWS
    for leaf in ("level", "fill", "key_to_fill", "key_angle", "key_height", "key_size"):
        assert sheets.cell(f"marks.face.{leaf}").drift == pytest.approx(0.0, abs=1e-6)


def test_a_key_shot_without_that_mark_leaves_every_light_at_the_shots_own() -> None:
    bare = shot(RIG, marks={"bow": FACE})
    sheets = Scene(
        {"lights": RIG},
        "KEY",
        KEY=bare,
        A=shot({**RIG, "spot": moved(SPOT, WALK)}, marks={"face": face(*WALK)}),
    )
    assert sheets.cell("marks.face.level.spot").remark.endswith(STAYS)


def animated(start: list[float], end: list[float]) -> Tree:
    return {"keys": [[1, start], [20, end]]}


def test_an_animated_lantern_and_face_are_met_at_their_keys() -> None:
    """Together: nothing happens to the face. Where the lantern is left behind half way, that moment tells."""
    walks = {"position": animated([0, 0, 0], [4, 0, 0]), "normal": [0, 0, 1]}
    along = {**SPOT, "position": animated([0, 0, 2], [4, 0, 2])}
    behind = {**SPOT, "position": {"keys": [[1, [0, 0, 2]], [10, [1.9, 0, 2]], [20, [1.9, 0, 2]]]}}

    def of(spot: Tree) -> Tree:
        return shot({**RIG, "spot": spot}, marks={"face": walks}, frames=[1, 20])

    sheets = Scene({"lights": RIG}, "KEY", KEY=shot(RIG), A=of(along), B=of(behind))
    together, left = (sheets.cell("marks.face.level.spot", name) for name in "AB")
    assert together.drift == pytest.approx(0.0, abs=1e-9)
    assert (together.grade, level(together.value)) == (Grade.SAME, about(2.0))
    assert left.grade is not Grade.SAME


def test_another_shot_that_is_compared_with_has_its_mark_at_the_same_frame() -> None:
    """Both animate lantern and face alike, over other frames; the later shot goes on where the earlier ended."""
    walks = {"position": animated([0, 0, 0], [4, 0, 0]), "normal": [0, 0, 1]}
    first = shot(
        {"spot": {**SPOT, "position": animated([0, 0, 2], [4, 0, 2])}}, marks={"face": walks}, frames=[1, 20]
    )
    second = shot({"spot": moved(SPOT, (6, 0, 0))}, marks={"face": face(6, 0, 0)}, frames=[21, 30])
    sheets = {"A": sheet("A", first), "B": sheet("B", second)}
    rows = {row.parameter: row for row in derived_rows(("B",), sheets, {"B": sheets["A"]}, None)}
    reference, value = rows["marks.face.level.spot"].pairs["B"]
    assert level(reference) == level(value) == pytest.approx(2.0)
    assert rows["marks.face.level.spot"].remarks["B"].endswith("since this light follows its mark")


def test_what_a_transform_of_32_bits_leaves_is_nothing_at_a_mark() -> None:
    """9e-9 m and as much of its aim: every row is the same, on every mark, and nothing moved."""
    disk: Tree = {
        "type": "disk",
        "radius": 0.3,
        "position": [0.15, 0, 2],
        "direction": [0, 0, -1],
        "intensity": 3,
    }
    nudged = {**disk, "position": [0.150000009, 0, 2], "direction": [5e-8, 0, -1]}
    sheets = Scene(
        {"lights": {"disk": disk}},
        "KEY",
        KEY=shot({"disk": disk}),
        A=shot({"disk": nudged}, marks={"face": face(1, 0, 0)}),
    )
    for what in sheets.table.rows:
        if what.section == "subject":
            continue  # the face stands a metre from where it stands in the key shot
        cell = sheets.cell(what.parameter)
        assert cell.grade in (Grade.SAME, Grade.NONE), what.parameter
        assert "held" not in cell.remark
