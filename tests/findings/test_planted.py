"""Causes that another hand planted are told by their names, and tweaks that are meant are not."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from findings.planted.deeds import DEEDS
from findings.planted.judging import Tally
from findings.planted.slips import SLIPS
from findings.planted.worlds import World, tweak, world
from samelight.decisions.decision import Verb
from samelight.sequence.session import open_session

SEEDS = range(3)


def grown(seed: int, plants: int = 4, tweaks: int = 3) -> World:
    """A sequence with some plants of all kinds and some tweaks."""
    made = world(seed)
    kinds = [*SLIPS, *DEEDS]
    rounds = len(kinds) // plants if plants else 1
    random.Random(seed // rounds).shuffle(kinds)
    for kind in kinds[seed % rounds :: rounds] if plants else ():
        kind(made)
    for _ in range(tweaks):
        tweak(made)
    return made


def judged(tally: Tally, made: World, folder: Path) -> None:
    """Write a sequence, decide what is approved in it, and add what is found."""
    session = open_session(made.write(folder))
    cells = []
    for shot, parameter in made.approved:
        row, column = session.table.row(parameter), session.table.column(shot)
        assert row is not None and column is not None
        cells.append((row, column))
    if cells:
        session.decide(Verb.INTEND, cells, "the lead", "this scene is darker")
        session.refresh_findings()
    tally.take(made, session.findings)


def test_planted(tmp_path: Path, pytestconfig: pytest.Config) -> None:
    tally = Tally()
    for seed in SEEDS:
        judged(tally, grown(seed), tmp_path / f"s{seed}")
    print(tally.text())
