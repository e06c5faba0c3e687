"""What rays see, sun against sky, and the number of lights."""

from __future__ import annotations

import math

import pytest

from drift.computed.scenes import Scene, Tree, point, shot
from known import about
from samelight.drift.cells import Grade
from samelight.sheets.values import Level

KINDS = ["camera", "indirect", "Reflection"]
SKY: Tree = {"sky": {"intensity": 0.8, "rotation": 40, "seen_by": KINDS}}
SUN: Tree = {"sun": {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 3}}


def scene(environments: Tree | None, lights: Tree | None = None, **master: Tree) -> Scene:
    setup = {"lights": SUN, "environments": SKY, **master}
    return Scene(setup, A=shot(SUN if lights is None else lights, environments=environments))


def test_a_row_for_each_kind_of_ray_that_is_named() -> None:
    table = scene(SKY).table
    rows = [row.parameter for row in table.rows if row.section == "rays"]
    assert rows == ["rays.camera.level", "rays.indirect.level", "rays.reflection.level"]


def test_two_half_visible_copies_equal_the_one_they_replace() -> None:
    halves = {
        "sky": {**SKY["sky"], "seen_by": ["camera", "reflection"]},
        "sky_indirect": {**SKY["sky"], "seen_by": ["indirect"]},
    }
    seen = scene(halves)
    for kind in ("camera", "indirect", "reflection"):
        assert seen.cell(f"rays.{kind}.level").grade is Grade.SAME


def test_rays_that_lost_their_environment_are_dark_and_locked() -> None:
    cell = scene({"sky": {**SKY["sky"], "seen_by": ["camera", "reflection"]}}).cell("rays.indirect.level")
    assert (cell.drift, cell.grade, cell.remark) == (-math.inf, Grade.BREAK, "dark in the shot")
    assert cell.value == Level(0.0)


def test_an_environment_that_is_off_is_seen_by_none() -> None:
    assert scene({"sky": {**SKY["sky"], "visible": False}}).cell("rays.camera.level").drift == -math.inf


def test_without_a_list_every_ray_sees_it() -> None:
    open_sky = {"sky": {"intensity": 0.8, "rotation": 40}}
    assert scene(open_sky).cell("rays.indirect.level").grade is Grade.SAME


def test_the_level_that_rays_see_drifts_in_stops() -> None:
    cell = scene({"sky": {**SKY["sky"], "intensity": 0.4}}).cell("rays.camera.level")
    assert (cell.drift, cell.tolerance) == (about(-1.0), 0.05)


def test_levels_of_two_quantities_are_not_summed() -> None:
    mixed = {**SKY, "horizon": {"intensity": "100 nit", "seen_by": ["camera"]}}
    both = scene(mixed)
    camera = both.cell("rays.camera.level")
    assert (camera.grade, camera.value) == (Grade.NONE, None)
    assert "do not add up" in camera.remark
    assert both.cell("rays.indirect.level").grade is Grade.SAME


def test_a_master_without_environments_compares_none() -> None:
    only = Scene({"lights": SUN}, A=shot(SUN, environments=SKY))
    assert not any(row.section in ("rays", "sky") for row in only.table.rows)


def test_sun_against_sky() -> None:
    cell = scene(SKY).cell("sky.sky.sun_angle")
    assert (cell.master, cell.value) == pytest.approx((91, 91))
    assert cell.grade is Grade.SAME


@pytest.mark.parametrize(
    ("azimuth", "rotation", "drift"), [(143, 40, 12), (131, 34, 6), (143, 52, 0), (311, 40, 180)]
)
def test_sun_and_sky_that_turned_apart(azimuth: float, rotation: float, drift: float) -> None:
    sun = {"sun": {**SUN["sun"], "azimuth": azimuth}}
    cell = scene({"sky": {**SKY["sky"], "rotation": rotation}}, sun).cell("sky.sky.sun_angle")
    assert cell.drift == pytest.approx(drift, abs=1e-9)
    assert cell.grade is (Grade.BREAK if drift else Grade.SAME)


def test_the_sun_is_the_masters_by_name() -> None:
    """A brighter moon in the shot is not taken for the sun."""
    lights = {**SUN, "moon": {**SUN["sun"], "azimuth": 10, "intensity": 30}}
    assert scene(SKY, lights).cell("sky.sky.sun_angle").grade is Grade.SAME


def test_a_renamed_sun_is_the_shots_brightest() -> None:
    assert scene(SKY, {"sol": SUN["sun"]}).cell("sky.sky.sun_angle").grade is Grade.SAME


def test_without_a_sun_there_is_no_angle() -> None:
    cell = scene(SKY, {"lamp": point(1, 0, 1, 1)}).cell("sky.sky.sun_angle")
    assert (cell.grade, cell.remark) == (Grade.NONE, "no distant light")


def test_a_master_without_a_sun_has_no_such_rows() -> None:
    lamp = {"lamp": point(1, 0, 1, 1)}
    assert not Scene({"lights": lamp, "environments": SKY}, A=shot(SUN, environments=SKY)).has(
        "sky.sky.sun_angle"
    )


def test_a_sun_overhead_has_no_azimuth() -> None:
    cell = scene(SKY, {"sun": {**SUN["sun"], "elevation": 88}}).cell("sky.sky.sun_angle")
    assert cell.grade is Grade.NONE
    assert "too steep" in cell.remark


def test_an_environment_of_one_side_only_is_said_by_its_presence() -> None:
    more = scene({**SKY, "haze": {"intensity": 1, "rotation": 3}})
    assert not more.has("sky.haze.sun_angle")
    gone = Scene({"lights": SUN, "environments": SKY}, A=shot(SUN), B=shot(SUN, environments=SKY))
    assert (gone.cell("sky.sky.sun_angle").grade, gone.cell("sky.sky.sun_angle").remark) == (
        Grade.NONE,
        "absent",
    )


def test_an_even_sky_has_no_angle() -> None:
    even = {"sky": {"intensity": 0.8}}
    both = Scene({"lights": SUN, "environments": even}, A=shot(SUN, environments=even))
    assert not both.has("sky.sky.sun_angle")


def test_a_sky_that_turns_during_the_shot() -> None:
    turning = {"sky": {**SKY["sky"], "rotation": {"keys": [[1, 40], [24, 43]]}}}
    moving = Scene(
        {"lights": SUN, "environments": SKY}, A=shot(SUN, environments=turning, frames=[1, 24])
    ).cell("sky.sky.sun_angle")
    assert (moving.drift, moving.remark) == (about(-3), "largest at frame 24")


def test_the_number_of_lights() -> None:
    more = scene(SKY, {**SUN, "kick": point(1, 0, 1, 1)}).cell("count.lights")
    assert (more.master, more.value, more.drift, more.grade) == (1.0, 2.0, 2.0, Grade.DRIFT)
    assert scene(SKY).cell("count.lights").grade is Grade.SAME
