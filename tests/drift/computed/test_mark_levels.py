"""Levels at a mark, and what they are compared with."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from drift.computed.scenes import FACE, Scene, Tree, point, sheet, shot
from known import about, being
from samelight.drift.cells import Grade
from samelight.drift.computed import derived, emitters
from samelight.drift.computed.columns import Array
from samelight.drift.computed.derived import derived_rows
from samelight.drift.computed.emitters import Emitter, MarkPlace
from samelight.drift.computed.mark_levels import AT_OWN_MARK, CARRIED_ALONG, MarkLevels, levels_at
from samelight.drift.computed.mark_rows import UNDER_NOISE
from samelight.drift.computed.moments import AT_MOST, Rows
from samelight.drift.computed.rig import Rig
from samelight.sheets.values import Group, Level

KEY = {"lamp": point(8, 0, 0, 2)}


def level(value: object) -> float:
    assert isinstance(value, Level)
    return value.value


def test_a_point_light_by_inverse_square_and_cosine() -> None:
    """8 at 2 m, facing: 2. The same 60 degrees off the normal: 1."""
    tilted = shot(KEY, marks={"face": FACE, "cheek": {"position": [0, 0, 0], "normal": [0, math.sqrt(3), 1]}})
    scene = Scene({"lights": KEY}, A=tilted)
    assert level(scene.cell("marks.face.level.lamp").value) == pytest.approx(2.0)
    assert level(scene.cell("marks.cheek.level.lamp").value) == pytest.approx(1.0)
    assert scene.cell("marks.face.level").grade is Grade.SAME


def test_a_mark_without_a_normal_faces_each_light() -> None:
    scene = Scene(
        {"lights": KEY},
        A=shot(KEY, marks={"face": {"position": [0, 0, 0]}}),
        B=shot(KEY, marks={"face": {"position": [0, 0, 0], "normal": [0, 0, -1]}}),
    )
    assert level(scene.cell("marks.face.level", "A").value) == pytest.approx(2.0)
    assert level(scene.cell("marks.face.level", "B").value) == 0.0


def test_doubling_the_distance_loses_two_stops() -> None:
    scene = Scene({"lights": KEY}, A=shot({"lamp": point(8, 0, 0, 4)}))
    cell = scene.cell("marks.face.level.lamp")
    assert cell.drift == pytest.approx(-2.0)
    assert cell.grade is Grade.DRIFT
    assert cell.remark == f"compared with {AT_OWN_MARK}"


def test_a_character_who_walks_changes_nothing_by_itself() -> None:
    """Both sides at the shot's own mark, 1 m and not 2 m from the lamp."""
    walked = {"position": [0, 0, 1], "normal": [0, 0, 1]}
    scene = Scene({"lights": KEY}, "KEY", KEY=shot(KEY), A=shot(KEY, marks={"face": walked}))
    cell = scene.cell("marks.face.level.lamp")
    assert level(cell.value) == level(cell.master) == pytest.approx(8.0)
    assert (cell.grade, cell.remark) == (Grade.SAME, "")


SPOT = {
    "spot": {"type": "spot", "intensity": 8, "position": [0, 0, 2], "target": [0, 0, 0], "cone": 30},
    "sky_fill": point(0.5, 0, 3, 3),
}
FOLLOWING = {**SPOT, "spot": {**SPOT["spot"], "position": [3, 0, 2], "target": [3, 0, 0]}}
WALKED = {"position": [3, 0, 0], "normal": [0, 0, 1]}


def test_a_spot_that_follows_its_character_keeps_its_level_at_the_face() -> None:
    """The master's spot would leave the walked face in the dark, so that only the key shot's face tells."""
    scene = Scene({"lights": SPOT}, "KEY", KEY=shot(SPOT), A=shot(FOLLOWING, marks={"face": WALKED}))
    assert scene.cell("lights.spot.position").grade is Grade.DRIFT
    cell = scene.cell("marks.face.level.spot")
    assert level(cell.value) == level(cell.master) == pytest.approx(2.0)
    assert cell.drift == pytest.approx(0.0, abs=1e-9)
    assert cell.grade is Grade.SAME
    assert cell.remark == f"compared with {CARRIED_ALONG}"
    assert scene.cell("marks.face.level").remark == f"spot compared with {CARRIED_ALONG}"
    assert scene.cell("marks.face.level").grade is Grade.SAME


def test_without_a_key_shot_only_the_shots_own_mark_counts() -> None:
    scene = Scene({"lights": SPOT}, KEY=shot(SPOT), A=shot(FOLLOWING, marks={"face": WALKED}))
    cell = scene.cell("marks.face.level.spot")
    assert (cell.drift, cell.grade) == (math.inf, Grade.DRIFT)
    assert cell.remark == f"dark in the master; compared with {AT_OWN_MARK}"


def test_a_key_shot_without_that_mark_gives_no_second_reference() -> None:
    bare = shot(SPOT, marks={"bow": FACE})
    scene = Scene({"lights": SPOT}, "KEY", KEY=bare, A=shot(FOLLOWING, marks={"face": WALKED}))
    assert scene.cell("marks.face.level.spot").drift == math.inf


def test_an_accidental_nudge_shows_the_stops_lost() -> None:
    """From 2 m to 2.5 m: 2 log2(2 / 2.5)."""
    nudged = {**SPOT, "spot": {**SPOT["spot"], "position": [0, 0, 2.5]}}
    scene = Scene({"lights": SPOT}, "KEY", KEY=shot(SPOT), A=shot(nudged))
    cell = scene.cell("marks.face.level.spot")
    assert cell.drift == pytest.approx(2 * math.log2(2 / 2.5))
    assert cell.grade is Grade.DRIFT


def test_a_distant_light_follows_nothing() -> None:
    """At the key shot's face the master's sun gives what the turned sun gives here; it does not count."""
    sun = {"sun": {"type": "distant", "azimuth": 180, "elevation": 0, "intensity": 4}}
    turned = {"sun": {**sun["sun"], "azimuth": 120}}
    away = {"position": [0, 0, 0], "normal": [math.sqrt(3), 0, 1]}
    scene = Scene({"lights": sun}, "KEY", KEY=shot(sun), A=shot(turned, marks={"face": away}))
    cell = scene.cell("marks.face.level.sun")
    assert (level(cell.master), level(cell.value)) == (about(2.0), about(4.0))
    assert (cell.drift, cell.remark) == (about(1.0), "")


def test_a_light_that_is_off_gives_nothing() -> None:
    off = {"lamp": {**KEY["lamp"], "visible": False}, "fill": point(1, 0, 0, 2)}
    scene = Scene({"lights": {**KEY, "fill": off["fill"]}}, A=shot(off))
    cell = scene.cell("marks.face.level.lamp")
    assert (level(cell.value), cell.drift, cell.remark) == (0.0, -math.inf, "dark in the shot")
    assert scene.cell("marks.face.level").drift == pytest.approx(math.log2(0.25 / 2.25))


def test_the_diffuse_multiplier_counts_at_a_mark() -> None:
    scene = Scene({"lights": KEY}, A=shot({"lamp": {**KEY["lamp"], "diffuse": 0.5}}))
    assert scene.cell("marks.face.level.lamp").drift == pytest.approx(-1.0)


@pytest.mark.parametrize(
    ("kinds", "lights_it"),
    [
        (["Reflection"], False),
        (["camera", "volume", "specular"], False),
        ([], False),
        (["camera", "indirect"], True),
        (["*"], True),
        (["diffuse"], True),
        (["a kind of their own"], True),
    ],
)
def test_light_that_no_diffuse_ray_carries_does_not_reach_a_mark(kinds: list[str], lights_it: bool) -> None:
    scene = Scene({"lights": KEY}, A=shot({"lamp": {**KEY["lamp"], "seen_by": kinds}}))
    assert (level(scene.cell("marks.face.level.lamp").value) > 0) is lights_it


RECT: Tree = {
    "type": "rect",
    "position": [0, 0, 100],
    "target": [0, 0, 0],
    "width": 2,
    "height": 3,
    "intensity": 5,
    "normalize": False,
}


def test_the_area_of_a_light_counts_once() -> None:
    """Luminance 5 over 6 m^2 at 100 m: 30 / 10000; normalised, the 30 are in the number."""
    lights = {"soft": RECT}
    same = {"soft": {**RECT, "intensity": 30, "normalize": True}}
    cell = Scene({"lights": lights}, A=shot(same)).cell("marks.face.level.soft")
    assert level(cell.master) == pytest.approx(30 / 100**2, rel=1e-3)
    assert cell.grade is Grade.SAME


def test_a_photometric_light_gives_lux() -> None:
    lights = {"soft": {**RECT, "unit": "nit"}}
    value = Scene({"lights": lights}, A=shot(lights)).cell("marks.face.level.soft").value
    assert value == Level(about(30 / 100**2, rel=1e-3), "illuminance")


def test_a_tube_lies_along_its_own_x() -> None:
    """A tube seen end on shows no side; upright beside the mark it does. Its axis stands in the matrix alone."""
    tube: Tree = {"type": "cylinder", "radius": 0.02, "length": 1.2, "intensity": 10, "normalize": True}
    across = {"tube": {**tube, "matrix": [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 3, 1]}}
    end_on = {"tube": {**tube, "matrix": [0, 0, -1, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 3, 1]}}
    upright = {"tube": {**tube, "matrix": [0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 3, 1]}}
    scene = Scene({"lights": across}, A=shot(upright), B=shot(end_on), C=shot(across))
    assert scene.cell("marks.face.level.tube", "A").drift == pytest.approx(0.0, abs=1e-9)
    assert scene.cell("marks.face.level.tube", "B").drift < -4
    assert scene.cell("marks.face.level.tube", "C").grade is Grade.SAME


def test_a_rotation_in_words_turns_the_tube_too() -> None:
    tube: Tree = {"type": "cylinder", "radius": 0.02, "length": 1.2, "position": [0, 0, 3], "normalize": True}
    lights = {"tube": {**tube, "rotation": [0, "90 deg", 0]}, "fill": point(1, 0, 1, 1)}
    as_matrix = {
        "tube": {**tube, "matrix": [0, 0, -1, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 3, 1]},
        "fill": point(1, 0, 1, 1),
    }
    del as_matrix["tube"]["position"]
    scene = Scene({"lights": lights}, A=shot(as_matrix))
    assert scene.cell("marks.face.level").drift == pytest.approx(0.0, abs=1e-9)
    assert level(scene.cell("marks.face.level").value) < 0.5


SKY = {"sky": {"intensity": 0.5, "rotation": 0, "seen_by": ["camera", "indirect", "reflection"]}}


def test_environments_are_even_light_and_have_no_row_of_their_own() -> None:
    scene = Scene({"lights": KEY, "environments": SKY}, A=shot(KEY, environments=SKY))
    assert level(scene.cell("marks.face.level").value) == pytest.approx(2 + math.pi * 0.5)
    assert not scene.has("marks.face.level.sky")


def test_two_half_visible_copies_give_a_mark_what_the_whole_gave() -> None:
    halves = {
        "sky": {**SKY["sky"], "seen_by": ["camera", "reflection"]},
        "sky_indirect": {**SKY["sky"], "seen_by": ["indirect"]},
    }
    scene = Scene(
        {"lights": KEY, "environments": SKY},
        A=shot(KEY, environments=halves),
        B=shot(KEY, environments={"sky": halves["sky"]}),
    )
    assert scene.cell("marks.face.level", "A").grade is Grade.SAME
    assert scene.cell("marks.face.level", "B").drift == pytest.approx(math.log2(2 / (2 + math.pi * 0.5)))


def test_relative_and_photometric_levels_are_not_summed() -> None:
    mixed = {**KEY, "practical": {**point(100, 0, 0, 4), "unit": "cd"}}
    scene = Scene({"lights": KEY}, A=shot(mixed), B=shot(KEY))
    for leaf in ("level", "key", "fill", "key_to_fill", "key_side", "key_angle", "key_height", "key_size"):
        if scene.has(f"marks.face.{leaf}"):
            cell = scene.cell(f"marks.face.{leaf}")
            assert (cell.master, cell.value, cell.grade) == (None, None, Grade.NONE)
            assert "do not add up" in cell.remark
    assert scene.has("marks.face.level")
    assert scene.cell("marks.face.level", "B").grade is Grade.SAME
    assert scene.cell("marks.face.level.lamp").grade is Grade.SAME


def test_a_dark_light_of_another_quantity_mixes_nothing() -> None:
    off = {**KEY, "practical": {**point(100, 0, 0, 4), "unit": "cd", "visible": False}}
    assert Scene({"lights": off}, A=shot(off)).cell("marks.face.level").grade is Grade.SAME


@pytest.mark.parametrize(
    ("sizes", "unit"),
    [
        ({"type": "sphere", "radius": 0}, "nit"),
        ({"type": "sphere", "radius": 0}, "relative"),
        ({"type": "point", "radius": 0}, "nit"),
        ({"type": "rect", "width": 0}, "relative"),
    ],
)
def test_a_light_without_an_area_gives_a_mark_nothing_and_its_level_is_compared(
    sizes: Tree, unit: str
) -> None:
    bare = {**sizes, "position": [0, 0, 2], "direction": [0, 0, -1], "intensity": 5, "unit": unit}
    base = {"lamp": {**KEY["lamp"], "unit": "cd" if unit == "nit" else "relative"}}
    scene = Scene({"lights": {**base, "bulb": bare}}, A=shot({**base, "bulb": {**bare, "exposure": 3}}))
    assert scene.cell("lights.bulb.level").drift == pytest.approx(3.0)
    assert scene.cell("lights.bulb.level").grade > Grade.WITHIN
    assert scene.cell("marks.face.level").grade is Grade.SAME
    assert not scene.has("marks.face.level.bulb")


def test_a_light_whose_level_nobody_knows_is_named() -> None:
    mesh = {**KEY, "glow": {"type": "mesh", "position": [0, 1, 1], "intensity": 3}}
    scene = Scene({"lights": mesh}, A=shot(mesh))
    cell = scene.cell("marks.face.level")
    assert level(cell.value) == pytest.approx(2.0)
    assert "without glow" in cell.remark
    assert not scene.has("marks.face.level.glow")


def test_a_light_known_on_one_side_only_leaves_the_sum_out() -> None:
    known = {**KEY, "glow": point(3, 0, 1, 1)}
    unknown = {**KEY, "glow": {"type": "mesh", "position": [0, 1, 1], "intensity": 3}}
    scene = Scene({"lights": known}, A=shot(unknown), B=shot(known))
    cell = scene.cell("marks.face.level")
    assert (cell.grade, cell.value) == (Grade.NONE, None)
    assert cell.remark == "the level of glow here is known on one side only"
    light = scene.cell("marks.face.level.glow")
    assert (light.grade, light.remark) == (Grade.NONE, "its level here is not known")


def test_a_portal_gives_no_light_of_its_own() -> None:
    with_portal = {**KEY, "window": {"type": "portal", "position": [0, 1, 1], "direction": [0, 0, -1]}}
    cell = Scene({"lights": with_portal}, A=shot(with_portal)).cell("marks.face.level")
    assert (level(cell.value), cell.remark) == (about(2.0), "")


@pytest.mark.parametrize(("share", "row"), [(1 / 70, False), (1 / 60, True)])
def test_a_light_under_a_64th_of_all_light_on_both_sides_has_no_row(share: float, row: bool) -> None:
    """A 70th, and 1.05 of that in the shot, stay under a 64th of the sum; a 60th does not."""
    sides = [{"lamp": point(8, 0, 0, 2), "candle": point(8 * share * more, 0, 0, 2)} for more in (1, 1.05)]
    assert Scene({"lights": sides[0]}, A=shot(sides[1])).has("marks.face.level.candle") is row


def test_noise_in_one_shot_is_shown_there_and_not_graded() -> None:
    lights = {"lamp": point(8, 0, 0, 2), "candle": point(0.1, 0, 0, 2)}
    close = {"position": [0, 0, 1.9], "normal": [0, 0, 1]}
    beside = {**lights, "candle": point(0.1, 0, 0.01, 2)}
    scene = Scene(
        {"lights": {**lights, "candle": beside["candle"]}},
        A=shot(beside),
        B=shot(beside, marks={"face": close}),
        C=shot({**beside, "candle": point(0, 0, 0.01, 2)}),
        D=shot({**beside, "candle": point(4, 0, 0.01, 2)}),
    )
    noise = scene.cell("marks.face.level.candle", "A")
    assert (noise.grade, noise.remark) == (Grade.NONE, UNDER_NOISE)
    assert level(noise.value) == pytest.approx(0.025, rel=1e-3)
    assert scene.cell("marks.face.level.candle", "C").grade is Grade.NONE
    risen = scene.cell("marks.face.level.candle", "D")
    assert (risen.grade, risen.drift) == (Grade.DRIFT, about(math.log2(40), abs=1e-6))


def test_a_light_that_one_side_lacks_is_said_by_its_presence_and_the_sum() -> None:
    both = {**KEY, "fill": point(4, 0, 0, 2)}
    scene = Scene({"lights": both}, A=shot(KEY), B=shot(both), C=shot({**both, "added": point(12, 0, 0, 2)}))
    gone = scene.cell("marks.face.level.fill")
    assert (gone.grade, gone.value, gone.remark) == (Grade.NONE, None, "absent")
    assert scene.cell("marks.face.level").drift == pytest.approx(math.log2(2 / 3))
    assert scene.cell("lights.fill").grade is Grade.DRIFT
    assert not scene.has("marks.face.level.added")
    assert scene.cell("marks.face.level", "C").drift == pytest.approx(1.0)


def test_links_are_not_applied_to_a_place() -> None:
    linked = {"lamp": {**KEY["lamp"], "light_links": ["/set/boat"]}}
    assert Scene({"lights": KEY}, A=shot(linked)).cell("marks.face.level.lamp").grade is Grade.SAME


def test_a_shot_without_the_mark_has_nothing_there() -> None:
    scene = Scene({"lights": KEY}, A=shot(KEY), B=shot(KEY, marks={"bow": FACE}))
    row, column = scene.table.row("marks.face.level"), scene.table.column("B")
    assert row is not None
    assert column is not None
    assert scene.table.entry(row, column) is None


def test_a_master_without_lights_has_no_marks() -> None:
    scene = Scene({"environments": SKY}, A=shot(KEY, environments=SKY))
    assert not any(what.section == "marks" for what in scene.table.rows)


FLICKER = {"keys": [[1, 8], [5, 16], [9, 4], [12, 8]]}


def test_an_animated_light_is_compared_with_the_master_at_every_key() -> None:
    """At frame 9 it gives half: the largest deviation is a stop either way, and the earliest counts."""
    scene = Scene({"lights": KEY}, A=shot({"lamp": {**KEY["lamp"], "intensity": FLICKER}}, frames=[1, 12]))
    cell = scene.cell("marks.face.level.lamp")
    assert (cell.drift, cell.remark) == (about(1.0), "largest at frame 5")


def test_keys_outside_the_shot_do_not_count() -> None:
    scene = Scene({"lights": KEY}, A=shot({"lamp": {**KEY["lamp"], "intensity": FLICKER}}, frames=[8, 12]))
    cell = scene.cell("marks.face.level.lamp")
    assert (cell.drift, cell.remark) == (about(-1.0), "largest at frame 9")


def test_an_animated_master_is_met_at_its_keys() -> None:
    lights = {"lamp": {**KEY["lamp"], "intensity": FLICKER}}
    scene = Scene({"lights": lights}, A=shot(KEY, frames=[1, 12]), B=shot(lights, frames=[1, 12]))
    assert scene.cell("marks.face.level.lamp", "A").drift == pytest.approx(-1.0)
    assert scene.cell("marks.face.level.lamp", "B").grade is Grade.SAME


def test_a_mark_that_moves_is_met_at_its_keys() -> None:
    """It walks towards a lamp that the shot has at half; half everywhere, so that the first frame says it."""
    walks = {"position": {"keys": [[1, [0, 0, 0]], [20, [0, 0, 1]]]}, "normal": [0, 0, 1]}
    dimmed = {"lamp": {**KEY["lamp"], "intensity": 4}}
    scene = Scene({"lights": KEY}, A=shot(dimmed, frames=[1, 20], marks={"face": walks}))
    cell = scene.cell("marks.face.level.lamp")
    assert (cell.drift, level(cell.value)) == (about(-1.0), about(1.0))


def test_of_many_keys_the_first_and_the_last_are_looked_at() -> None:
    keys = {"keys": [[frame, 8.0 + frame % 2] for frame in range(1, 200)] + [[200, 64]]}
    scene = Scene({"lights": KEY}, A=shot({"lamp": {**KEY["lamp"], "intensity": keys}}, frames=[1, 200]))
    cell = scene.cell("marks.face.level.lamp")
    assert (cell.drift, cell.remark) == (about(3.0), "largest at frame 200")
    assert AT_MOST < 200


def test_each_shot_may_be_compared_with_a_sheet_of_its_own() -> None:
    """As against the shot before: B against A, C against B, and A against nothing."""
    levels = {"A": 8, "B": 4, "C": 4}
    sheets = {name: sheet(name, shot({"lamp": point(amount, 0, 0, 2)})) for name, amount in levels.items()}
    before = {"B": sheets["A"], "C": sheets["B"]}
    rows = {row.parameter: row for row in derived_rows(tuple(sheets), sheets, before, None)}
    assert rows["marks.face.level.lamp"].pairs == {
        "B": (Level(2.0), Level(1.0)),
        "C": (Level(1.0), Level(1.0)),
    }
    assert rows["count.lights"].pairs.keys() == {"B", "C"}


def test_a_shot_as_a_reference_has_marks_of_its_own() -> None:
    """The follower is compared with that shot's light at that shot's face, not at the key shot's."""
    first = sheet("B", shot(SPOT))
    follower = sheet("C", shot(FOLLOWING, marks={"face": WALKED}))
    elsewhere = sheet("KEY", shot(SPOT, marks={"face": {"position": [9, 9, 9]}}))
    rows = {row.parameter: row for row in derived_rows(("C",), {"C": follower}, {"C": first}, elsewhere)}
    reference, value = rows["marks.face.level.spot"].pairs["C"]
    assert level(reference) == level(value) == pytest.approx(2.0)
    remark = rows["marks.face.level.spot"].remarks["C"]
    assert (
        remark
        == "compared with B's light carried along from the mark there, since this light follows its mark"
    )


def test_a_section_that_one_reference_lacks_is_not_compared_there() -> None:
    bare, whole = sheet("A", shot(KEY)), sheet("B", shot(KEY, environments=SKY))
    rows = {
        row.parameter: row
        for row in derived_rows(("B", "C"), {"B": whole, "C": whole}, {"B": bare, "C": whole}, None)
    }
    without, with_sky = rows["marks.face.level"].pairs["B"], rows["marks.face.level"].pairs["C"]
    assert level(without[0]) == level(without[1]) == pytest.approx(2.0)
    assert level(with_sky[1]) == pytest.approx(2 + math.pi * 0.5)
    assert rows["rays.camera.level"].pairs["B"] == (None, None)
    assert rows["rays.camera.level"].pairs["C"] == (Level(0.5), Level(0.5))


def test_lights_are_converted_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sheet of thousands of lights costs as many conversions as one of two: one for each section."""
    calls: list[int] = []
    plain = emitters.read_together

    def counted(section: str, groups: Sequence[Group | None], frames: Sequence[float]) -> Emitter:
        calls.append(len(groups))
        return plain(section, groups, frames)

    monkeypatch.setattr(emitters, "read_together", counted)
    lights = {f"l{number}": point(1 + number, 0, number, 2) for number in range(60)}
    scene = Scene({"lights": lights}, A=shot({**lights, "l7": point(9, 0, 0, 1)}))
    assert level(scene.cell("marks.face.level.l7").value) == pytest.approx(9.0)
    assert len(calls) == 2
    assert max(calls) >= 120


def test_what_reaches_a_mark_is_worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """For its own rows and for those of its subject; of the latter the mark and both cheeks together."""
    at: list[str] = []
    sizes: list[int] = []
    plain_levels, plain = levels_at, Emitter.received

    def counted_levels(rig: Rig, mark: str) -> MarkLevels:
        at.append(mark)
        return plain_levels(rig, mark)

    def counted(light: Emitter, place: MarkPlace, rows: Rows) -> Array:
        sizes.append(rows.size)
        return plain(light, place, rows)

    monkeypatch.setattr(derived, "levels_at", counted_levels)
    monkeypatch.setattr(Emitter, "received", counted)
    marked = shot(KEY, marks={"face": FACE, "hand": {"position": [1, 1, 0]}})
    scene = Scene({"lights": KEY}, "A", A=marked)
    assert scene.cell("subject.face.contrast").value and scene.cell("subject.hand.level").value
    assert at == ["face", "hand"]
    # At each mark: of the shot, the mark and the cheeks of what it is held against, the cheeks of the shot.
    assert sizes == [1, 3, 2, 1, 1]


WINDOW: Tree = {
    "type": "rect",
    "position": [1.2, 1.6, 0.4],
    "direction": [-1, 0, 0],
    "width": 2.4,
    "height": 0.3,
}


class TestRoll:
    """How a light is rolled about the way it shines."""

    def test_a_window_that_is_turned_on_its_side_is_seen_by_itself_and_at_the_mark(self) -> None:
        lying, standing = {**WINDOW, "roll": 0}, {**WINDOW, "roll": 90}
        scene = Scene({"lights": {"window": lying}}, A=shot({"window": standing}))
        assert scene.cell("lights.window.roll").drift == 90.0
        assert abs(scene.cell("marks.face.level.window").drift) > 0.25

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ({"direction": [-1, 0, 0], "roll": 30}, {"rotation": [-30, 90, 0], "rotation_order": "YXZ"}),
            ({"direction": [-1, 0, 0], "roll": 10}, {"direction": [-1, 0, 0], "roll": 190}),
        ],
    )
    def test_two_spellings_of_one_orientation_are_one(self, one: Tree, other: Tree) -> None:
        bare = {name: value for name, value in WINDOW.items() if name != "direction"}
        scene = Scene({"lights": {"window": {**bare, **one}}}, A=shot({"window": {**bare, **other}}))
        assert scene.cell("lights.window.roll").grade == Grade.SAME
        assert scene.cell("marks.face.level.window").drift == pytest.approx(0.0, abs=1e-9)

    def test_a_roll_that_only_one_side_states_is_no_drift(self) -> None:
        """A sheet of before, or one that says a target, tells no roll: it is taken as the other side's."""
        rolled = {**WINDOW, "roll": 90}
        for master, own in ((WINDOW, rolled), (rolled, WINDOW)):
            scene = Scene({"lights": {"window": master}}, A=shot({"window": own}))
            assert scene.cell("lights.window.roll").grade == Grade.NONE
            assert "states no roll" in scene.cell("lights.window.roll").remark
            assert scene.cell("marks.face.level.window").grade == Grade.SAME
        assert not Scene({"lights": {"w": WINDOW}}, A=shot({"w": WINDOW})).has("lights.w.roll")

    def test_a_tube_counts_by_its_axis_alone(self) -> None:
        tube = {"type": "cylinder", "position": [0, 1, 1], "radius": 0.02, "length": 1.2}
        scene = Scene(
            {"lights": {"tube": {**tube, "axis": [1, 0, 0]}}}, A=shot({"tube": {**tube, "axis": [0, 0, 1]}})
        )
        assert being(Level, scene.cell("marks.face.level.tube").value).value > 0.0
        assert scene.cell("lights.tube.axis").drift == pytest.approx(90.0)
        assert scene.cell("marks.face.level.tube").drift != 0.0

    def test_what_is_round_about_its_axis_has_no_roll(self) -> None:
        spot = {"type": "spot", "position": [0, 2, 2], "rotation": [-30, 0, 40], "cone": 30}
        assert not Scene({"lights": {"spot": spot}}, A=shot({"spot": spot})).has("lights.spot.roll")

    def test_a_ball_with_a_focus_keeps_its_direction(self) -> None:
        ball = {"type": "sphere", "position": [0, 2, 2], "radius": 0.1, "focus": 4}
        scene = Scene(
            {"lights": {"ball": {**ball, "direction": [0, -1, -1]}}},
            A=shot({"ball": {**ball, "direction": [0, -1, 0]}}),
        )
        assert scene.cell("lights.ball.direction").drift == pytest.approx(45.0)
        assert scene.cell("marks.face.level.ball").drift < -1.0


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({"ies": "lamp.ies"}, "profile"),
        ({"texture": "gobo.exr", "type": "rect", "rotation": [0, 0, 0]}, "texture"),
        ({"filters": ["/lights/barn"]}, "filters"),
        ({"ies": "lamp.ies", "filters": ["/lights/barn"]}, "profile and filters"),
    ],
)
@pytest.mark.parametrize("side", ["master", "shot"])
def test_what_of_a_light_is_not_counted_is_said_beside_each_figure_that_it_touches(
    stated: Tree, words: str, side: str
) -> None:
    plain = {"lamp": point(8, 0, 0, 2), "fill": point(2, 1, 0, 2)}
    told = {**plain, "lamp": {**plain["lamp"], **stated}}
    master, own = (told, plain) if side == "master" else (plain, told)
    scene = Scene({"lights": master}, A=shot(own))
    assert f"without its {words}" in scene.cell("marks.face.level.lamp").remark
    for leaf in ("level", "fill", "key_to_fill", "key", "key_angle"):
        assert f"without the {words} of lamp" in scene.cell(f"marks.face.{leaf}").remark
    assert "without" not in scene.cell("marks.face.level.fill").remark


def test_under_a_bright_sky_a_faint_light_is_no_key() -> None:
    """A lamp that gives under a hundredth of the light: which one it is, and from where, is no drift. The fill still is."""
    sky: Tree = {"sky": {"intensity": 100}}
    left, right = point(2, -1, 0, 2), point(2, 1, 0, 2)
    master: Tree = {"lights": {"left": left, "right": {**right, "intensity": 1}}, "environments": sky}
    swapped = shot({"left": {**left, "intensity": 1}, "right": right}, environments=sky)
    scene = Scene(master, A=swapped)
    for leaf in ("key", "key_side", "key_angle", "key_height", "key_size", "key_to_fill"):
        cell = scene.cell(f"marks.face.{leaf}")
        assert cell.value is None
        assert "no key" in cell.remark
        assert cell.grade <= Grade.SAME
    assert isinstance(scene.cell("marks.face.fill").value, Level)
    dim: Tree = {"environments": {"sky": {"intensity": 0.1}}}
    seen = Scene({**master, **dim}, A={**swapped, **dim})
    assert seen.cell("marks.face.key").grade > Grade.WITHIN
