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

KINDS = (*SLIPS, *DEEDS)
AT_ONCE = 4
"""Plants in one sequence."""

ROUND = len(KINDS) // AT_ONCE
"""Sequences in which every kind is planted once."""


def grown(seed: int, plants: int = AT_ONCE, tweaks: int = 3) -> World:
    """A sequence with some plants of all kinds and some tweaks; every kind comes up once in `ROUND` seeds."""
    made = world(seed)
    kinds = list(KINDS)
    random.Random(seed // ROUND).shuffle(kinds)
    for kind in kinds[seed % ROUND :: ROUND][:plants]:
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
    tally.take(made, session.cases.findings)


def test_what_was_planted_is_told_by_name_with_its_shots_and_nothing_else_is(
    tmp_path: Path, pytestconfig: pytest.Config
) -> None:
    """Every kind once; `--planted N` plants each N times, and prints the table."""
    rounds = pytestconfig.getoption("--planted")
    tally = Tally()
    for seed in range(300 * ROUND, (300 + max(rounds, 1)) * ROUND):
        judged(tally, grown(seed), tmp_path / str(seed))
    if rounds:
        print(tally.text())  # noqa: T201 - where it was asked for
    assert tally.share() >= 0.95, tally.text()
    assert len(tally.false) <= 0.05 * tally.named, tally.text()


def test_a_lone_tweak_that_is_meant_gets_no_name(tmp_path: Path, pytestconfig: pytest.Config) -> None:
    """Sixty tweaks; `--planted N` makes a hundred times N."""
    tally = Tally()
    for seed in range(9000, 9005 + 8 * pytestconfig.getoption("--planted")):
        judged(tally, grown(seed, plants=0, tweaks=12), tmp_path / str(seed))
    assert tally.false == []
