"""Frames that were rendered before their sheets were what they are: what they show proves nothing of what is set."""

from __future__ import annotations

from samelight.findings.board import Board, Rests
from samelight.findings.finding import Concern, Finding
from samelight.findings.words import sentence
from samelight.sheets.measured import Witness

NAME = "old-frame"


def find(board: Board) -> list[Finding]:
    """One finding with every shot whose frame is older than its sheet, or was measured by another one."""
    old: dict[int, Witness] = {}
    for column, shot in enumerate(board.table.shots):
        witness = board.evidence.measured.get(shot)
        if witness is not None and witness.is_old and board.sheets[column] is not None:
            old[column] = witness
    if not old:
        return []
    first = next(iter(old))
    if len(old) == 1:
        says = f"{board.table.shots[first]}: {old[first].age}"
    else:
        says = f"the frames of {board.shots(list(old))} do not show what their sheets say now (in {board.table.shots[first]} {old[first].age})"
    return [
        board.make(
            NAME,
            sentence(f"{says}."),
            [],
            columns=old,
            known="Nothing of them is compared with other frames.",
            do="Render them from the sheets as they stand, and measure again: samelight measure.",
            concern=Concern.ORDER,
            rests={column: Rests({"frame": witness.measured.sha256}) for column, witness in old.items()},
        )
    ]
