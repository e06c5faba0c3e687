"""Computed rows have tolerances and locks as any other row."""

from __future__ import annotations

from pathlib import Path

import pytest

from drift.computed.scenes import Scene, point, shot
from samelight.drift.cells import Grade
from samelight.drift.derived_names import MARK_KINDS, derived_kind, derived_rule
from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.sheets.errors import SheetError

KEY = {"lamp": point(8, 0, 0, 2), "fill": point(2, 0, 0, 2)}
BRIGHTER = {"lamp": point(9.6, 0, 0, 2), "fill": point(2, 0, 0, 2)}


def policy_of(folder: Path, text: str) -> Policy:
    path = folder / "policy.yaml"
    path.write_text(f"samelight_policy: 2\n{text}", encoding="utf-8")
    return read_policy(path, default_policy())


@pytest.mark.parametrize(
    ("parameter", "kind", "at_most", "locked"),
    [
        ("marks.face.level", "level", 0.2, False),
        ("marks.face.level.sun", "level", 0.25, False),
        ("marks.face.fill", "level", 0.25, False),
        ("marks.face.key_to_fill", "level", 0.25, False),
        ("marks.face.key_angle", "angle", 5, False),
        ("marks.face.key_height", "angle", 3, False),
        ("marks.face.key_size", "angle", 2, False),
        ("rays.indirect.level", "level", 0.05, True),
        ("sky.dawn.sun_angle", "angle", 0.5, True),
        ("count.lights", "count", 1, False),
    ],
)
def test_what_the_program_holds_them_to(parameter: str, kind: str, at_most: float, locked: bool) -> None:
    policy = default_policy()
    tolerance = policy.tolerance(parameter, kind)
    assert tolerance.at_most == at_most
    assert tolerance.why
    assert (policy.lock(parameter) is not None) is locked


def test_a_sequences_own_tolerance_and_lock(tmp_path: Path) -> None:
    """log2(9.6 / 8) is 0.26 st: out of the program's quarter of a stop, inside half a stop, never where locked."""
    grades = []
    for text in (
        "",
        "tolerances:\n  marks.face.level.lamp: 0.5 st\n",
        "locks: [marks.face.level.lamp]\n",
    ):
        scene = Scene({"lights": KEY}, None, policy_of(tmp_path, text), A=shot(BRIGHTER))
        grades.append(scene.cell("marks.face.level.lamp").grade)
    assert grades == [Grade.DRIFT, Grade.WITHIN, Grade.BREAK]


@pytest.mark.parametrize(
    ("pattern", "stated"),
    [
        ("marks.*.key_size", "3 deg"),
        ("*.key_to_fill", "0.5 st"),
        ("count.lights", "2 x"),
        ("rays.*", "0.1 st"),
    ],
)
def test_patterns_are_read_in_the_unit_of_their_rows(tmp_path: Path, pattern: str, stated: str) -> None:
    policy = policy_of(tmp_path, f'tolerances:\n  "{pattern}": {stated}\n')
    assert policy.tolerances[-1].at_most == float(stated.split(maxsplit=1)[0])


@pytest.mark.parametrize(
    ("pattern", "stated"), [("marks.*.key_size", "3 %"), ("marks.*.level", "3 deg"), ("marks.*.key", "1 st")]
)
def test_a_unit_of_another_kind_is_a_fault(tmp_path: Path, pattern: str, stated: str) -> None:
    with pytest.raises(SheetError):
        policy_of(tmp_path, f'tolerances:\n  "{pattern}": {stated}\n')


def test_names_of_typed_parameters_are_left_alone() -> None:
    for pattern in ("lights.*.level", "marks", "environments.sky.level", "render.gi.range", "*.level"):
        assert derived_kind(pattern) is None
        assert derived_rule(pattern.replace("*", "x")) == () or pattern == "marks"


def test_every_computed_leaf_has_a_rule() -> None:
    for leaf in MARK_KINDS:
        assert derived_rule(f"marks.face.{leaf}")
    assert derived_rule("marks.face.level.fill_light") == derived_rule("marks.face.level")
    for parameter in ("rays.camera.level", "sky.dawn.sun_angle", "count.lights"):
        assert derived_rule(parameter)
