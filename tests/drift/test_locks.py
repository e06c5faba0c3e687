"""What a lock holds by the program's own policy, and what it does not."""

from __future__ import annotations

from findings.drafts import draft
from samelight.drift.cells import Grade


def test_a_lock_holds_the_strongest_distant_light_and_no_cost_and_nothing_that_is_extra() -> None:
    made = draft(2)
    moon = {**made.master["lights"]["sun"], "intensity": 0.4}
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["moon"] = dict(moon)
    shot = made.shots["S_020"]
    shot["lights"]["moon"]["elevation"] = 50
    shot["lights"]["sun"]["elevation"] = 30
    shot["render"]["gi"].update(samples=384, bounces=6)
    shot["environments"]["second"] = dict(shot["environments"]["dawn_sky"])
    table = made.evidence().table
    grades = {
        name: Grade(int(table.grade[table.row(name), 1]))
        for name in (
            "lights.sun.direction",
            "lights.moon.direction",
            "render.gi.samples",
            "render.gi.bounces",
            "environments.second",
        )
    }
    assert grades == {
        "lights.sun.direction": Grade.BREAK,
        "lights.moon.direction": Grade.DRIFT,
        "render.gi.samples": Grade.DRIFT,
        "render.gi.bounces": Grade.BREAK,
        "environments.second": Grade.DRIFT,
    }
    shot["render"]["gi"]["samples"] = 96
    table = made.evidence().table
    assert table.grade[table.row("render.gi.samples"), 1] == Grade.BREAK
