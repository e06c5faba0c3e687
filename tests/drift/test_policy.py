"""Which tolerance and lock holds for a parameter, and what a policy file is told when it is wrong."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.sheets.errors import SheetError
from samelight.sheets.patterns import matches


def read(tmp_path: Path, text: str, base: Policy | None = None) -> Policy:
    path = tmp_path / "policy.yaml"
    path.write_text(text, encoding="utf-8")
    return read_policy(path, base or Policy())


def test_the_programs_own_policy_is_read_once() -> None:
    assert default_policy() is default_policy()
    assert isinstance(hash(default_policy()), int), "what all share must not be one that can be changed"


class TestPrecedence:
    def test_nothing_is_tolerated_where_nothing_is_said(self) -> None:
        policy = Policy()
        assert policy.tolerance("lights.sun.level", "level").at_most == 0.0
        assert policy.tolerance("render.gi.samples", "count").at_most == 1.0  # a factor of one
        assert policy.lock("lights.sun.level") is None

    def test_the_last_pattern_that_matches_holds(self, tmp_path: Path) -> None:
        policy = read(
            tmp_path,
            "tolerances: {level: 0.1 st, lights.*.level: 0.3 st, lights.sun.level: 0.01 st, lights.r*.level: 0.2 st}",
        )
        assert policy.tolerance("environments.sky.level", "level").at_most == 0.1
        assert policy.tolerance("lights.sun.level", "level").at_most == 0.01
        assert policy.tolerance("lights.rim.level", "level").at_most == 0.2
        assert policy.tolerance("lights.fill.level", "level").at_most == 0.3

    def test_a_kind_named_last_overrules_what_was_said_before(self, tmp_path: Path) -> None:
        policy = read(tmp_path, "tolerances: {lights.sun.level: 0.01 st, level: 0.5 st}")
        assert policy.tolerance("lights.sun.level", "level").at_most == 0.5

    def test_the_sequences_own_policy_comes_after_the_programs(self, tmp_path: Path) -> None:
        policy = read(
            tmp_path,
            "tolerances: {lights.boat_lamp.level: {at_most: 0.15 st, why: An oil lamp}}\nlocks: [render.volume.samples]",
            default_policy(),
        )
        own = policy.tolerance("lights.boat_lamp.level", "level", "sphere")
        assert (own.at_most, own.why, own.pattern) == (0.15, "An oil lamp", "lights.boat_lamp.level")
        assert policy.tolerance("lights.rim.level", "level", "disk").at_most == 0.1
        lock = policy.lock("render.volume.samples")
        assert lock is not None and lock.file == "policy.yaml"
        assert policy.lock("render.gi.range") is not None

    def test_a_pattern_by_type_of_light(self) -> None:
        policy = default_policy()
        sun = policy.tolerance("lights.sun.direction", "direction", "distant")
        assert sun.at_most == 0.5
        assert sun.pattern == "lights.<distant>.direction"
        assert "diameter" in sun.why
        assert sun.file == "policy.yaml"
        assert policy.tolerance("lights.sun.direction", "direction", "spot").at_most == 2.0
        assert policy.lock("lights.sun.direction", "sun") is not None
        assert policy.lock("lights.moon.direction", "distant") is None
        assert policy.tolerance("lights.sun.direction", "direction", "sun") is sun
        assert policy.lock("lights.sun.direction", "spot") is None
        assert policy.lock("lights.sun", "sun") is not None
        assert policy.lock("lights.sun.samples", "sun") is None

    @pytest.mark.parametrize(
        "name", ["lights.sun.samples", "lights.rim.shadow.samples", "render.gi.samples", "litter", "cost.x"]
    )
    def test_a_default_is_that_of_the_last_pattern_that_means_the_name(self, name: str) -> None:
        patterns = ("*samples", "lights.*.samples", "lights.<distant>.samples", "li*", "render.gi.*", "cost")
        policy = Policy(defaults=tuple((pattern, number) for number, pattern in enumerate(patterns)))
        meant = [number for number, pattern in enumerate(patterns) if matches(pattern, name)]
        assert policy.default(name) == (meant[-1] if meant else None)

    def test_kinds_defaults_and_limits(self, tmp_path: Path) -> None:
        policy = read(
            tmp_path,
            'kinds: {"*.mood": fraction, "lights.*.mood": count}\n'
            'defaults: {render.volume.samples: 8, "lights.*.samples": 4, lights.sun.samples: 64}\n'
            "limits: {lights: 20}",
        )
        assert policy.kinds == (("*.mood", "fraction"), ("lights.*.mood", "count"))
        assert policy.default("render.volume.samples") == 8
        assert policy.default("lights.rim.samples") == 4
        assert policy.default("lights.sun.samples") == 64
        assert policy.default("render.gi.samples") is None
        assert policy.limit("lights") == 20
        assert policy.limit("rigs") is None

    def test_a_policy_that_says_nothing(self, tmp_path: Path) -> None:
        assert read(tmp_path, "samelight_policy: 2\ntolerances:\nlocks:\nkinds: []\ndefaults: {}") == Policy()

    def test_the_programs_own_gives_a_reason_for_everything(self) -> None:
        policy = default_policy()
        assert len(policy.tolerances) > 10
        assert all(tolerance.why for tolerance in policy.tolerances)
        assert all(lock.why for lock in policy.locks)


@pytest.mark.parametrize(
    ("pattern", "stated", "at_most"),
    [
        ("direction", "2 deg", 2.0),
        ("direction", "2", None),
        ("direction", 2, 2.0),
        ("angle", "0.01 rad", 0.572957795),
        ("level", "0.1 st", 0.1),
        ("level", "0.1 stops", 0.1),
        ("level", "10 %", None),
        ("colour", "2 steps", 2.0),
        ("colour", "1 step", 1.0),
        ("temperature", "5 mired", 5.0),
        ("temperature", "100 K", None),
        ("position", "5 cm", 0.05),
        ("position", "1 ft", 0.3048),
        ("length", "2 %", 2.0),
        ("length", "2%", 2.0),
        ("length", "2 cm", None),
        ("number", "1 %", 1.0),
        ("duration", "50 %", 50.0),
        ("fraction", "2 pp", 2.0),
        ("fraction", "2 %", 2.0),
        ("count", "2 x", 2.0),
        ("count", "1 x", 1.0),
        ("count", "0.5 x", None),
        ("count", 0.5, None),
        ("set", "1 member", 1.0),
        ("level", -0.1, None),
        ("level", "-0.1 st", None),
        ("level", "1.2.3 st", None),
        ("level", True, None),
        ("level", None, None),
        ("level", [0.1], None),
        ("render.gi.range", "0.1 %", 0.1),
        ("lights.*.cone", "1 deg", 1.0),
        ("lights.*.samples", "2 x", 2.0),
        ("lights.*.colour", "2 steps", 2.0),
        ("surfaces.*.mood", "1 %", 1.0),
        ("lights.rim.shadow.color", "1 step", 1.0),
    ],
)
def test_a_tolerance_in_the_unit_of_its_kind(
    tmp_path: Path, pattern: str, stated: Any, at_most: float | None
) -> None:
    shown = f'"{stated}"' if isinstance(stated, str) else "" if stated is None else str(stated).lower()
    text = f'samelight_policy: 2\ntolerances:\n  "{pattern}": {shown}\n'
    if at_most is None:
        with pytest.raises(SheetError) as caught:
            read(tmp_path, text)
        (fault,) = caught.value.faults
        assert (fault.line, fault.path) == (3, f"tolerances.{pattern}")
        assert fault.expected.startswith(("a number of", "a factor of"))
    else:
        (tolerance,) = read(tmp_path, text).tolerances
        assert tolerance.at_most == pytest.approx(at_most)
        assert (tolerance.pattern, tolerance.file) == (pattern, "policy.yaml")


@pytest.mark.parametrize(
    ("text", "line", "column", "message"),
    [
        ("tolerance: {}", 1, 1, "tolerance: expected a key of a policy, found the key tolerance (did you mean"),
        ("samelight_policy: 3", 1, 1, "samelight_policy: expected format version 2, found version 3, of a newer program"),
        ("[1, 2]", 1, 1, "expected a mapping with tolerances, locks, kinds or defaults, found [1, 2]"),
        ("tolerances: [level]", 1, 1, "tolerances: expected a mapping of patterns, found ['level']"),
        ("tolerances:\n  levle: 0.1 st", 2, 3, "expected a kind or a pattern with a dot, found 'levle' (did you mean"),
        ("tolerances:\n  curve: 1", 2, 3, "expected a kind or a pattern with a dot, found 'curve'"),
        ("tolerances:\n  switch: 1", 2, 3, "expected something that is measured, found a switch, which is equal or not"),
        ("tolerances:\n  render.gi.on: 1", 2, 3, "expected something that is measured, found a switch"),
        ("tolerances:\n  level: {at_mots: 1}", 2, 11, "expected at_most, seen, share or why, found the key at_mots (did you mean"),
        ("tolerances:\n  level: {why: because}", 2, 3, "expected a number of stops, 0 or more, found nothing"),
        ("tolerances:\n  level: {at_most: far}", 2, 3, "expected a number of stops, 0 or more, found 'far'"),
        ("tolerances:\n  level: .nan", 2, 3, "expected a finite number"),
        ("kinds:\n  a.b: colr", 2, 3, "expected one of direction, level"),
        ("kinds:\n  a.b: curve", 2, 3, "found 'curve'"),
        ("locks: lights.sun", 1, 1, "locks: expected a list of patterns, found 'lights.sun'"),
        ("locks:\n  - 3", 2, 5, "locks[0]: expected a pattern, or a mapping with pattern and why, found 3"),
        ("locks:\n  - {pattern: a.b, because: x}", 2, 5, "locks[0]: expected a pattern, or a mapping"),
        ("limits:\n  lights: many", 2, 3, "limits.lights: expected a number, found 'many'"),
        ("limits:\n  light: 3", 2, 3, "limits.light: expected a limit: lights, found the key light"),
        ("limits:\n  lights: true", 2, 3, "limits.lights: expected a number, found true"),
        ("locks: [a.b]\nlocks: [c.d]", 2, 1, "locks: expected each key once"),
    ],
)  # fmt: skip
def test_every_fault_with_its_place(tmp_path: Path, text: str, line: int, column: int, message: str) -> None:
    with pytest.raises(SheetError) as caught:
        read(tmp_path, text)
    found = [fault for fault in caught.value.faults if message in str(fault)]
    assert [(fault.file, fault.line, fault.column) for fault in found] == [
        (str(tmp_path / "policy.yaml"), line, column)
    ]


def test_all_faults_of_a_file_come_together(tmp_path: Path) -> None:
    with pytest.raises(SheetError) as caught:
        read(tmp_path, "lokcs: []\ntolerances: {levle: 1}\nkinds: {a.b: c}\nlimits: {x: y}")
    assert [fault.line for fault in caught.value.faults] == [1, 2, 3, 4]


@pytest.mark.parametrize(
    ("typed", "compared"),
    [
        ("lights.sun.azimuth", "lights.sun.direction"),
        ("lights.*.target", "lights.*.direction"),
        ("lights.<distant>.matrix", "lights.<distant>.direction"),
        ("lights.sun.intensity", "lights.sun.level"),
        ("lights.sun.exposure", "lights.sun.level"),
        ("lights.sun.temperature", "lights.sun.colour"),
        ("lights.sun.color", "lights.sun.colour"),
        ("environments.sky.intensity", "environments.sky.level"),
        ("environments.sky.matrix", "environments.sky.rotation"),
        ("environments.sky.sha256", "environments.sky.texture"),
    ],
)
def test_a_name_that_is_never_compared_would_hold_nothing(tmp_path: Path, typed: str, compared: str) -> None:
    """A lock on an azimuth would be silent for ever: it folds into the direction before anything is compared."""
    for text in (f'locks: ["{typed}"]', f'tolerances: {{"{typed}": 1}}'):
        with pytest.raises(SheetError) as caught:
            read(tmp_path, text)
        (fault,) = caught.value.faults
        assert fault.nearest == compared
        assert f"did you mean {compared}?" in str(fault)


@pytest.mark.parametrize(
    "pattern",
    [
        "environments.sky.rotation",
        "lights.sun.position",
        "lights.*.shadow.color",
        "surfaces.*.color",
        "lights.*",
    ],
)
def test_names_that_are_compared_as_typed(tmp_path: Path, pattern: str) -> None:
    assert read(tmp_path, f'locks: ["{pattern}"]').locks[0].pattern == pattern


def test_a_missing_policy_is_named(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match=r"policy\.yaml: expected a .*, found no such file"):
        read_policy(tmp_path / "policy.yaml", Policy())
