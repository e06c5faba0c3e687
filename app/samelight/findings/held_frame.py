"""A pass that renders all frames where the master's holds one, since something in the shot moves."""

from __future__ import annotations

from collections import defaultdict

from samelight.drift.cells import Cell
from samelight.findings.board import Board
from samelight.findings.finding import NOTHING_TO_DO, Action, Concern, Finding, Sureness
from samelight.findings.motion import Motion, motion_text
from samelight.findings.words import parameter_text, sentence
from samelight.sheets.names import parameter_name

NAME = "held-frame"


def find(board: Board) -> list[Finding]:
    """One finding for each pass and cause of motion, with every shot that has it."""
    found: list[Finding] = []
    motion = Motion(board)
    for index, row, columns in board.rows_left(lambda row: row.section == "passes" and row.leaf == "frames"):
        cells: dict[str, list[Cell]] = defaultdict(list)
        for column in columns:
            entry = board.entry(index, column)
            moving = motion.of(column)
            if entry.master == "held" and entry.value == "all" and moving:
                cells[motion_text(moving)].append((index, column))
        for why, spots in cells.items():
            shots = board.shots([column for _, column in spots])
            found.append(
                board.make(
                    NAME,
                    sentence(f"the {row.group} pass renders all frames in {shots}, and has to: {why}."),
                    spots,
                    parameters=[parameter_name("camera", "", "moves")] if "camera" in why else [],
                    sureness=Sureness.LIKELY,
                    known=sentence(f"{parameter_text(row)} are all for a held one; {why}."),
                    do=NOTHING_TO_DO,
                    concern=Concern.SOUND,
                    actions=(Action.INTEND, Action.SHOW),
                )
            )
    return found
