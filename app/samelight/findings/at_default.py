"""A setting that was lost, or what a light states, so that it fell back to what the renderer, or UsdLux, takes when nothing is said."""

from __future__ import annotations

from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.drift.words import value_text
from samelight.findings import schema_fallbacks
from samelight.findings.board import Board
from samelight.findings.fallbacks import Defaults
from samelight.findings.finding import Finding, Sureness
from samelight.findings.noise import noise_text
from samelight.findings.words import parameter_text, sentence, verb_for

NAME = "at-default"


def find(board: Board) -> list[Finding]:
    """One finding for each parameter, with every shot in which it is at the policy's default or not set, then one for each light that
    is at what UsdLux falls back to."""
    found = _by_policy(board) if board.evidence.policy.defaults else []  # the program's own names none
    told = {cell for finding in found for cell in finding.cells}
    return [*found, *schema_fallbacks.find(board, NAME, told)]


def _by_policy(board: Board) -> list[Finding]:
    defaults = Defaults(board)
    found = []
    for index, row, columns in board.rows_left(lambda row: bool(row.leaf)):
        spots: dict[bool, list[Cell]] = defaultdict(list)
        for column in columns:
            if defaults.explains(index, column):
                spots[board.entry(index, column).value is None].append((index, column))
        for unset, cells in spots.items():
            entry = board.entry(*cells[0])
            value = defaults.of(index) if unset else entry.value
            shots = board.shots([column for _, column in cells])
            at = f"{value_text(value, row.kind, board.north)} for {value_text(entry.master, row.kind, board.north)}"
            how = "not set, and so at the default" if unset else "back at the default"
            noise = noise_text(row, entry.master, value)
            says = f"{parameter_text(row)} {verb_for(row.leaf)} {how} in {shots}: {at}{noise}"
            found.append(
                board.make(
                    NAME,
                    f"{sentence(says)}.",
                    cells,
                    sureness=Sureness.LIKELY,
                    known="The policy names this value as the default.",
                    guessed="The setting was lost, not chosen.",
                    do=f"Set it to {value_text(entry.master, row.kind, board.north)} again.",
                )
            )
    return found
