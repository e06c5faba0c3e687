"""A temperature typed in mireds, or with a nought too few or too many."""

from __future__ import annotations

from collections import defaultdict

from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.typed import half_step, number_typed, numbers_in
from samelight.findings.words import capital, sentence, thing
from samelight.sheets.vocabulary import COLOUR

NAME = "unit-slip"

MIRED = 1e6
"""Kelvin times mireds."""


def find(board: Board) -> list[Finding]:
    """One finding for each light and reading, with every shot that has it."""
    alike: dict[tuple[int, str, str], list[int]] = defaultdict(list)
    for index, row, columns in board.rows_left(lambda row: row.kind == COLOUR and row.leaf == "colour"):
        reference = board.master.as_typed(row.section, row.group, row.leaf)
        master = number_typed(reference, "temperature")
        for column in columns if master else ():
            sheet = board.sheets[column]
            typed = {} if sheet is None else sheet.as_typed(row.section, row.group, row.leaf)
            kelvin = number_typed(typed, "temperature")
            if not kelvin or not master or typed.get("color") != reference.get("color"):
                continue
            reason = _reason(master, kelvin, half_step(next(numbers_in(typed["temperature"]))))
            if reason:
                alike[index, f"{kelvin:g} K for {master:g} K", reason].append(column)
    return [_finding(board, *key, columns) for key, columns in alike.items()]


def _reason(master: float, kelvin: float, rounding: float) -> str:
    """How one temperature becomes the other; empty where no slip does."""
    if abs(MIRED / master - kelvin) <= max(rounding, 0.5):
        return f"{master:g} K is {MIRED / master:.0f} mired, and mireds were typed where kelvin are read"
    if abs(MIRED / kelvin - master) <= max(rounding * MIRED / kelvin**2, 0.5):
        return f"{kelvin:g} K is {MIRED / kelvin:.0f} mired: kelvin and mireds were exchanged"
    for factor, what in ((10.0, "a nought was dropped"), (0.1, "a nought too many was typed")):
        if abs(kelvin * factor - master) <= 1e-6 * master:
            return what
    return ""


def _finding(board: Board, index: int, values: str, reason: str, columns: list[int]) -> Finding:
    row = board.table.rows[index]
    return board.make(
        NAME,
        sentence(f"{thing(row.group)}'s temperature is {values} in {board.shots(columns)}: {reason}."),
        [(index, column) for column in columns],
        sureness=Sureness.LIKELY,
        known="The two numbers are one temperature, read so.",
        guessed=capital(f"{reason}."),
        do=f"Set it to {values.partition(' for ')[2]}.",
    )
