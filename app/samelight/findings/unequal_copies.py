"""Copies of an environment, each seen by some kinds of ray, that do not add up to the one that they replace."""

from __future__ import annotations

import math
from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.findings.board import Board, is_extra
from samelight.findings.equal_copies import structure_cells
from samelight.findings.finding import Finding, Sureness
from samelight.findings.skies import environments, sums_by_ray
from samelight.findings.words import listed, plain, sentence, thing

NAME = "unequal-copies"


def find(board: Board) -> list[Finding]:
    """One finding for each set of copies and what is wrong with it, with every shot that has it."""
    extra: dict[int, list[str]] = defaultdict(list)
    for index, row, columns in board.presence_left():
        for column in columns if row.section == "environments" else ():
            if is_extra(board.entry(index, column)):
                extra[column].append(row.group)
    reference = environments(board.master)
    alike: dict[tuple[tuple[str, ...], str], list[Cell]] = defaultdict(list)
    for column in extra:
        here = environments(board.sheets[column])
        sums = sums_by_ray(board.evidence.policy, reference, here)
        if sums is None:
            continue
        wrong = _wrong(sums)
        if wrong:
            alike[tuple(here), wrong].extend(structure_cells(board, column))
    return [_finding(board, names, wrong, cells) for (names, wrong), cells in alike.items()]


def _wrong(sums: dict[str, tuple[float, float]]) -> str:
    """Which kinds of ray see how much too much or too little; empty where all see what they should."""
    kinds: dict[str, list[str]] = defaultdict(list)
    for kind, (master, shot) in sums.items():
        said = _stops(master, shot)
        if said:
            kinds[said].append(kind)
    return " and ".join(f"{listed(names)} rays see {said}" for said, names in kinds.items())


def _stops(master: float, shot: float) -> str:
    if master <= 0.0:
        return "it and should not" if shot > 0.0 else ""
    if shot <= 0.0:
        return "nothing of it"
    stops = math.log2(shot / master)
    if abs(stops) < 0.05:
        return ""
    unit = "stop" if abs(stops) == 1.0 else "stops"
    return f"{plain(f'{abs(stops):.2f}')} {unit} too {'much' if stops > 0 else 'little'}"


def _finding(board: Board, names: tuple[str, ...], wrong: str, cells: list[Cell]) -> Finding:
    columns = sorted({column for _, column in cells})
    master = listed([thing(name) for name in environments(board.master)])
    return board.make(
        NAME,
        sentence(
            f"{listed([thing(name) for name in names])} together do not make the master's {master.removeprefix('the ')} "
            f"in {board.shots(columns)}: {wrong}."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known="The copies have one map, rotation and colour; what each kind of ray sees of them was added up.",
        guessed="They were meant to let some rays see the sky and others not, and one was not kept level with the other.",
        do="Give each copy the level of the master, and let each kind of ray see one of them.",
    )
