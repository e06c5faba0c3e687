"""A sheet of very many lights takes no more than their number: twice the lights, about twice the work."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from growth_help import ABOUT_LINEAR, APART, growth
from samelight.sequence.session import Session, open_session

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

    folders = {count: folder(count) for count in (50, 50 * APART)}
    assert growth(lambda count: open_session(folders[count]), 50) < ABOUT_LINEAR


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
        for finding in session.findings
        if finding.finding == "renamed"
    }
