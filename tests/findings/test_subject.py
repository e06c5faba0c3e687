"""A subject that is not lit as in the key shot, beside lights that drift."""

from __future__ import annotations

from typing import Any

from drift.computed.scenes import Scene, matching_faces, point, shot
from samelight.findings.finding import Evidence, Finding
from samelight.findings.registry import find_all

LAMPS = {"key": point(8, 0, 0, 4), "side": point(1, 3, 0, 0)}


def findings(**shots: dict[str, Any]) -> list[Finding]:
    policy = matching_faces()
    scene = Scene({"lights": LAMPS}, "KEY", policy, KEY=shot(LAMPS), **shots)
    evidence = Evidence(scene.table, scene.sheets, scene.master, {1: scene.master}, policy, {}, 24.0, "KEY")
    drawn = find_all(evidence)
    assert not drawn.failures
    return drawn.findings


def walked(z: float) -> dict[str, Any]:
    return {"marks": {"face": {"position": [0, 0, z], "normal": [0, 0, 1]}}}


def test_a_walk_is_told_with_its_shots_and_its_way() -> None:
    (one,) = findings(A=shot(LAMPS, **walked(2)), B=shot(LAMPS, **walked(2.05)), C=shot(LAMPS, **walked(0.3)))
    assert (one.finding, one.shots) == ("subject", ("A", "B"))
    assert "not lit in B as in the key shot KEY" in one.says
    assert "brighter" in one.says
    assert "holds" in one.known
    assert "2.05 m" in one.known


def test_what_a_drifting_light_does_to_it_is_told_with_that_light() -> None:
    brighter = {**LAMPS, "key": point(16, 0, 0, 4)}
    found = findings(A=shot(brighter))
    assert "subject" not in [one.finding for one in found]
    assert any(("A", "subject.face.level") in one.explained for one in found)


def test_a_walk_in_a_shot_where_another_light_drifts_is_told() -> None:
    other = {**LAMPS, "side": point(1.2, 3, 0, 0)}
    found = findings(A=shot(other, **walked(2)))
    assert {"subject", "unexplained"} <= {one.finding for one in found}
