"""A pass rendered as one frame although something moves that it shows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from samelight.drift.cells import Cell
from samelight.findings.board import Board, Rests
from samelight.findings.finding import Concern, Finding, Sureness
from samelight.findings.motion import CAMERA, Motion, Mover, motion_text
from samelight.findings.words import sentence
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Value

NAME = "one-frame"

_DIGITS = 16
"""No frame has a number of so many."""


def find(board: Board) -> list[Finding]:
    """One finding for each pass and reason, with every shot that has it."""
    motion = Motion(board)
    alike: dict[tuple[str, frozenset[Mover]], list[int]] = defaultdict(list)
    for column, sheet in enumerate(board.sheets):
        if sheet is None or (sheet.frames is not None and sheet.frames[0] == sheet.frames[1]):
            continue
        passes = [name for name in sheet.sections.get("passes", {}) if is_one_frame(sheet, name)]
        moving = motion.of(column) if passes else frozenset()
        for name in passes:
            reasons = moving or _as_in_master(board, name, column, motion)
            if reasons:
                alike[name, reasons].append(column)
    return [_finding(board, name, moving, columns) for (name, moving), columns in alike.items()]


def is_one_frame(sheet: Sheet | None, name: str) -> bool:
    """Whether a pass renders a single frame for the whole shot."""
    frames = None if sheet is None else sheet.value("passes", name, "frames")
    if isinstance(frames, tuple):  # a list of frames
        return len(set(frames)) == 1
    return frames in ("held", "1") or (isinstance(frames, str) and _is_one_of(frames, sheet))


def _is_one_of(frames: str, sheet: Sheet | None) -> bool:
    """Whether a text is the number of a single frame of the shot."""
    if sheet is None or sheet.frames is None or not frames.isascii() or not frames.isdigit():
        return False
    first, last = sheet.frames
    return len(frames) < _DIGITS and first <= int(frames) <= last


def _as_in_master(board: Board, name: str, column: int, motion: Motion) -> frozenset[Mover]:
    """What moves in the master too, where the master for that reason renders all frames and the shot does not."""
    return frozenset() if is_one_frame(board.master, name) else motion.carried(column)


def _finding(board: Board, name: str, moving: frozenset[Mover], columns: list[int]) -> Finding:
    index = board.row_of("passes", name, "frames")
    cells: list[Cell] = [] if index is None else [(index, c) for c in columns if board.drifts(index, c)]
    parameters = [parameter_name("passes", name, "frames")]
    parameters += [
        parameter_name(section, group, "moves" if group == "" else "") for section, group in sorted(moving)
    ]
    certain = CAMERA in moving
    return board.make(
        NAME,
        sentence(f"the {name} pass is one frame in {board.shots(columns)}, but {motion_text(moving)}."),
        cells,
        columns=columns,
        parameters=parameters,
        sureness=Sureness.CERTAIN if certain else Sureness.LIKELY,
        known=sentence(f"{motion_text(moving)}, and one frame stands for all."),
        guessed="" if certain else "An animated light falls on something that this pass shows.",
        do=f"Render all frames of the {name} pass there, or hold still what moves.",
        concern=Concern.PICTURE,
        rests={column: _rests(board, name, moving, column) for column in columns},
        subject=name,
    )


def _rests(board: Board, name: str, moving: Collection[Mover], column: int) -> Rests:
    """That the pass is one frame, that the camera moves, and how what is animated changes."""
    found: dict[str, Value | None] = {}
    for section, group in moving:
        if (section, group) == CAMERA:
            found[parameter_name(section, group, "moves")] = True
        for leaf, value in board.group(column, section, group).items():
            if section != "camera" and isinstance(value, Curve):
                found[parameter_name(section, group, leaf)] = value
    found[parameter_name("passes", name, "frames")] = board.group(column, "passes", name)["frames"]
    return Rests(found)
