"""A sheet of very many lights takes no more than their number: twice the lights, about twice the work."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from conftest import MakeSequence
from growth_help import ABOUT_LINEAR, APART, growth
from known import there
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.drift.computed import emitters
from samelight.drift.table import Row
from samelight.findings import harm
from samelight.findings.board import Board
from samelight.findings.finding import Evidence
from samelight.findings.registry import find_all
from samelight.sequence.evidence import evidence_of
from samelight.sequence.session import Session, open_session
from samelight.sheets.vocabulary import Patterns, kind_by_pattern

Tree = dict[str, Any]


def _lights(count: int) -> Tree:
    return {
        f"light_{number:05d}": {
            "type": ("rect", "disk", "spot", "sphere")[number % 4],
            "position": [number % 100, 2.0, number // 100],
            "azimuth": number % 360,
            "elevation": 20,
            "intensity": 1 + number * 0.01,
            "samples": 16,
        }
        for number in range(count)
    }


def _drifted(lights: Tree) -> Tree:
    return {
        name: {**light, "intensity": light["intensity"] * 3, "samples": 4} for name, light in lights.items()
    }


def _alike(lights: Tree) -> Tree:
    return dict.fromkeys(lights, next(iter(lights.values())))


def _renamed(lights: Tree) -> Tree:
    return {name.replace("light", "lamp"): light for name, light in lights.items()}


_GRADES = list(Grade)
SHOTS = {
    "the same": lambda lights: lights,
    "every one drifts": _drifted,
    "every one has another name": _renamed,
    "none": lambda lights: {},
}


@pytest.mark.parametrize("shot", SHOTS.values(), ids=SHOTS)
def test_sixteen_times_the_lights(make_sequence: MakeSequence, shot: Any) -> None:
    def folder(count: int) -> Path:
        lights = _lights(count)
        return make_sequence(f"of_{count}", master={"lights": lights}, shots={"A": {"lights": shot(lights)}})

    folders = {count: folder(count) for count in (25, 25 * APART)}
    assert growth(lambda count: open_session(folders[count]), 25) < ABOUT_LINEAR


def test_no_grade_of_an_array_is_held_against_one_that_has_a_name(
    make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch
) -> None:
    """NumPy asks such a grade for its number by a way that takes as long as to grade a cell: of a table it may, of a cell not."""
    asked: list[Grade] = []

    def number(grade: Grade) -> int:
        asked.append(grade)
        return _GRADES.index(grade)

    def asked_of(count: int) -> int:
        lights = _lights(count)
        shots = {name: {"lights": _drifted(lights)} for name in ("A", "B")}
        session = open_session(make_sequence(f"of_{count}", master={"lights": lights}, shots=shots))
        off = [
            cell for cell in np.ndindex(session.table.grade.shape) if session.cases.may(Verb.INTEND, *cell)
        ]
        session.decide(Verb.INTEND, off[:count], "ada", "meant")
        asked.clear()
        with monkeypatch.context() as patched:
            patched.setattr(Grade, "__int__", number, raising=False)
            again = open_session(session.contents.folder)
            assert len(again.cases.judged().judgements) >= count and again.cases.findings
        return len(asked)

    few, many = asked_of(4), asked_of(16)
    assert few > 0 and many < few + 12


def test_how_a_parameter_is_read_hangs_on_no_name_of_a_light(
    make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a policy names no kinds, that is."""
    asked: list[str] = []

    def noting(parameter: str, patterns: Patterns) -> str | None:
        asked.append(parameter)
        return kind_by_pattern(parameter, patterns)

    monkeypatch.setattr("samelight.sheets.leaves.kind_by_pattern", noting)
    lights = {f"unmet_{name}": light for name, light in _lights(60).items()}
    shots = {"A": {"lights": _drifted(lights)}}
    open_session(make_sequence(master={"lights": lights}, shots=shots))
    assert asked == []
    folder = make_sequence("of_kinds", master={"lights": lights}, shots=shots)
    (folder / "policy.yaml").write_text("samelight_policy: 2\nkinds: {lights.*.samples: number}\n")
    with (folder / "sequence.yaml").open("a", encoding="utf-8") as stated:
        stated.write("policy: policy.yaml\n")
    table = open_session(folder).table
    assert {f"lights.{name}.samples" for name in lights} <= set(asked)
    assert {row.kind for row in table.rows if row.leaf == "samples"} == {"number"}


def test_rows_that_hold_one_value_share_its_entry(make_sequence: MakeSequence) -> None:
    lights = _lights(60)
    table = open_session(make_sequence(master={"lights": lights}, shots={"A": {"lights": lights}})).table
    assert sum(row.leaf == "samples" for row in table.rows) == len(lights)
    assert [entry.value for entry in table.pool if entry is not None and entry.value == 16.0] == [16.0]
    for index, row in enumerate(table.rows):
        entry = table.entry(index, 0)
        assert entry is not None and entry.value is entry.master
        stated = {"": "present", "type": lights.get(row.group, {}).get("type"), "samples": 16.0}
        assert entry.value == stated.get(row.leaf, entry.value)


def test_what_all_findings_share_at_a_mark_is_worked_out_once(
    make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[str] = []
    changed: list[object] = []

    class Noting(harm.Harms):
        def _in_shot(self, column: int, rows: Any) -> Any:
            looked.append("shot")
            return super()._in_shot(column, rows)

        def _part(self, index: int, column: int) -> tuple[float, float]:
            looked.append("light")
            return super()._part(index, column)

        def _unlisted(self, mark: Any, column: int) -> set[str]:
            found = super()._unlisted(mark, column)
            changed.append(found)
            return found

    monkeypatch.setattr("samelight.findings.registry.Harms", Noting)
    lights = _lights(40)
    marks = {"face": {"position": [0.0, 1.6, 0.0], "normal": [0.0, 0.0, 1.0]}}
    drifted = {"lights": {name: {**light, "azimuth": 7, "intensity": 9} for name, light in lights.items()}}
    open_session(make_sequence(master={"lights": lights}, shots={"A": {"marks": marks, **drifted}}))
    assert looked.count("shot") == len(changed) > 1
    assert all(found is changed[0] for found in changed)
    assert looked.count("light") <= 2 * looked.count("shot") + len(lights)


def test_what_marks_get_of_lights_that_moved_is_looked_up(make_sequence: MakeSequence) -> None:
    """The rows of a table are gone through no more often for many that moved than for a few."""
    gone_through: list[int] = []

    class Noting(tuple[Row, ...]):
        __slots__ = ()

        def __iter__(self) -> Iterator[Row]:
            gone_through.append(len(self))
            return super().__iter__()

    def seen(count: int) -> Evidence:
        lights = _lights(count)
        moved = {
            name: {**light, "position": [number * 0.37 - 1.0, 3.1, 0.5 + number * number]}
            for number, (name, light) in enumerate(lights.items())
        }
        marks = {name: {"position": [0.0, 1.6, depth]} for name, depth in (("face", 0.0), ("hand", 0.4))}
        shots = {"A": {"marks": marks, "lights": moved}}
        folder = make_sequence(f"moved_{count}", master={"lights": lights}, shots=shots)
        return evidence_of(open_session(folder).cases)

    def times(evidence: Evidence) -> int:
        evidence.table.rows = Noting(evidence.table.rows)
        gone_through.clear()
        assert not find_all(evidence).failures
        return len(gone_through)

    few, many = seen(12), seen(36)
    board = Board(many, there(many.master))
    assert {len(found) for found in board.reaching.values()} == {2}
    for light, found in board.reaching.items():
        named = [row.parameter.endswith(f".level.{light}") for row in many.table.rows]
        assert found == [index for index, is_of_light in enumerate(named) if is_of_light]
    assert times(few) == times(many) > 0


def test_many_that_are_alike_and_have_other_names_find_theirs(make_sequence: MakeSequence) -> None:
    """Beyond so many pairs that all could be looked at, those of one place are told by their order."""
    lights = _lights(150)
    folder = make_sequence(master={"lights": lights}, shots={"A": {"lights": _renamed(lights)}})
    assert _pairs(open_session(folder)) == {(name, name.replace("light", "lamp")) for name in lights}
    alike = _alike(lights)
    folder = make_sequence("alike", master={"lights": alike}, shots={"A": {"lights": _renamed(alike)}})
    assert len(_pairs(open_session(folder))) == 150


def _pairs(session: Session) -> set[tuple[str, ...]]:
    return {
        tuple(name.removeprefix("lights.") for _, name in finding.explained)
        for finding in session.cases.findings
        if finding.finding == "renamed"
    }


def _of_all_shapes(count: int, shift: float) -> Tree:
    shapes = ("rect", "disk", "spot", "sphere", "cylinder", "distant", "point")
    return {
        f"light_{number}": {
            "type": shapes[number % len(shapes)],
            "position": [number + shift, 2.0 + number / 7, 3.0 - number / 3],
            "rotation": [10 * number, 7 * number, 5],
            "intensity": 1.0 + number / 3 + (shift if number % 3 else 0.0),
            **({"cone": 20 + number, "softness": 0.3} if number % 4 == 1 else {}),
            **({"focus": 2.0, "focus_tint": [0.1, 0.3, 0.7]} if number % 5 == 1 else {}),
            **({"radius": 0.3} if number % 7 in (1, 3) else {}),
        }
        for number in range(count)
    }


def test_lights_that_are_looked_at_together_give_what_each_gives_by_itself(
    make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To the last bit: marks that stand still and that are followed, still lights and animated ones."""
    face = {"position": [0.5, 1.6, 0.0], "normal": [0.0, 0.0, 1.0]}
    walked = {"position": [1.5, 1.6, 0.0], "normal": [0.0, 0.0, 1.0]}
    moving = {"light_2": {**_of_all_shapes(3, 0.0)["light_2"], "intensity": {"keys": [[1, 2.0], [9, 5.0]]}}}
    lights = _of_all_shapes(30, 0.0)
    folder = make_sequence(
        master={"key_shot": "A", "lights": lights, "environments": {"sky": {"intensity": 0.5}}},
        shots={
            "A": {"lights": lights, "marks": {"face": face}},
            "B": {"lights": _of_all_shapes(28, 1.0), "marks": {"face": walked}},
            "C": {"frames": [1, 9], "lights": {**lights, **moving}, "marks": {"face": face}},
        },
    )
    together = open_session(folder).table
    monkeypatch.setattr(emitters, "_TOGETHER", 1)
    alone = open_session(folder).table
    assert any(row.section == "marks" and "level." in row.leaf for row in together.rows)
    assert together.rows == alone.rows and together.pool == alone.pool
    for part in ("codes", "drift", "severity", "grade"):
        assert np.asarray(getattr(together, part)).tobytes() == np.asarray(getattr(alone, part)).tobytes()
