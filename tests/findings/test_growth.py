"""How much finders look at as a film grows: counted, not timed."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from findings.drafts import Draft, Tree, draft
from samelight.findings import colour_transfer, input_slip, one_cause
from samelight.findings.board import Board
from samelight.findings.colour_transfer import RGB, Transfer
from samelight.findings.finding import Finding
from samelight.findings.nearness import nearness
from samelight.light.levels import area


def film(shots: int, light: Tree, drift: Callable[[int], Tree]) -> Draft:
    """A sequence of one light, of which each shot holds what `drift` says."""
    made = draft(shots, {"samelight": 2, "version": 3, "lights": {"key": light}})
    for number, tree in enumerate(made.shots.values()):
        tree["lights"]["key"].update(drift(number))
    return made


def drawn(made: Draft, find: Callable[[Board], list[Finding]]) -> list[Finding]:
    """What one finder says of a sequence by itself."""
    evidence = made.evidence()
    assert evidence.master is not None
    return find(Board(evidence, evidence.master))


def counted(function: Callable[..., Any], calls: list[Any]) -> Callable[..., Any]:
    def counting(*arguments: Any) -> Any:
        calls.append(arguments)
        return function(*arguments)

    return counting


@pytest.mark.parametrize("shots", [30, 120])
def test_directions_as_far_from_the_masters_are_not_each_compared_with_all(
    monkeypatch: pytest.MonkeyPatch, shots: int
) -> None:
    """They stand on a ring about the master's, each other way, but for two that are one."""
    ways = [math.tau * number / shots for number in range(shots)]
    ways[-1] = ways[0]
    ring = [[math.sin(0.6) * math.cos(way), math.sin(0.6) * math.sin(way), -math.cos(0.6)] for way in ways]
    light = {"type": "distant", "direction": [0, 0, -1], "intensity": 2}
    made = film(shots, light, lambda number: {"direction": ring[number]})
    compared: list[Any] = []
    monkeypatch.setattr(one_cause, "nearness", counted(nearness, compared))
    (finding,) = drawn(made, one_cause.find)
    assert finding.shots == (f"S_{10:03d}", f"S_{10 * shots:03d}")
    assert len(compared) <= 3 * shots


def test_what_a_transfer_makes_of_the_masters_colour_is_worked_out_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    taken: list[Any] = []

    def halved(rgb: RGB) -> RGB:
        taken.append(rgb)
        return rgb[0] / 2, rgb[1] / 2, rgb[2] / 2

    half = Transfer("halved", "each channel halved", halved)
    monkeypatch.setattr(colour_transfer, "TRANSFERS", (half,))
    light = {"type": "sphere", "position": [0, 2, 0], "intensity": 2, "color": [0.8, 0.4, 0.2]}
    made = film(12, light, lambda number: {"color": [0.4, 0.2, 0.1 + 0.03 * number]})
    (finding,) = drawn(made, colour_transfer.find)
    assert finding.shots == ("S_010",)
    assert taken == [(0.8, 0.4, 0.2)]


def test_the_size_of_a_light_is_looked_at_where_its_normalize_differs_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    areas: list[Any] = []
    monkeypatch.setattr(input_slip, "area", counted(area, areas))
    light = {"type": "disk", "position": [0, 2, 0], "direction": [0, -1, 0], "radius": 0.3, "intensity": 2}
    made = film(12, light | {"normalize": True}, lambda number: {"intensity": 2.1 + 0.2 * number})
    for number, tree in enumerate(made.shots.values()):
        tree["lights"]["key"]["radius"] = 0.31 + 0.02 * number
    made.shots["S_070"]["lights"]["key"].update(intensity=2, normalize=False)
    (finding,) = drawn(made, input_slip.find)
    assert finding.shots == ("S_070",)
    # Once to see whether it may be, once to say why.
    assert len(areas) == 2
