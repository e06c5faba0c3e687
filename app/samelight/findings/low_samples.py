"""Samples or rays below half of the master's: the shot renders noisier."""

from __future__ import annotations

from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.drift.rows import Entry
from samelight.drift.words import value_text
from samelight.findings.board import Board
from samelight.findings.finding import Concern, Finding
from samelight.findings.noise import buys_noise, noise_text
from samelight.findings.words import parameter_text, sentence, verb_for

NAME = "low-samples"

LOW = 0.5
"""Below this share of the master's samples; at half of them noise is 1.4 times the master's."""


def find(board: Board) -> list[Finding]:
    """One finding for each parameter and value, with the shots that have it."""
    found = []
    for index, row, columns in board.rows_left(buys_noise):
        by_value: dict[float, list[Cell]] = defaultdict(list)
        for column in columns:
            entry = board.entry(index, column)
            if isinstance(entry.value, float) and is_low(entry):
                by_value[entry.value].append((index, column))
        for value, cells in by_value.items():
            master = board.entry(*cells[0]).master
            shots = board.shots([column for _, column in cells])
            count = f"{value_text(value, row.kind)} for {value_text(master, row.kind)}"
            says = f"{parameter_text(row)} {verb_for(row.leaf)} {count} in {shots}{noise_text(row, master, value)}"
            found.append(
                board.make(
                    NAME,
                    f"{sentence(says)}.",
                    cells,
                    known="Noise falls with the square root of the samples, as long as they are independent.",
                    do="Set it as the master has it, or say that a test render is meant to be rough.",
                    concern=Concern.NOISE,
                )
            )
    return found


def is_low(entry: Entry) -> bool:
    """Whether a cell of samples has far fewer than the master."""
    return 0.0 <= entry.drift < LOW
