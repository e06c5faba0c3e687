"""Differences that are right in themselves, so that nobody has to look at them twice."""

from __future__ import annotations

from collections import defaultdict

from samelight.findings.board import Board, Spot, is_extra
from samelight.findings.finding import Action, Concern, Finding, Sureness
from samelight.findings.motion import Motion, motion_text
from samelight.findings.skies import environments, seen_alike
from samelight.findings.words import listed, parameter_text, sentence, thing
from samelight.sheets.canonical import parameter_name

COPIES = "equal-copies"
FRAMES = "held-frame"

_STRUCTURE = ("", "seen_by", "visible", "level")
_DO = "Say that it is meant; nothing has to change."


def copies(board: Board) -> list[Finding]:
    """Several environments in place of one, each seen by some kinds of ray only, that add up to the master's."""
    extra: dict[int, list[str]] = defaultdict(list)
    for index, row, columns in board.presence_left():
        if row.section == "environments":
            for column in columns:
                if is_extra(board.entry(index, column)):
                    extra[column].append(row.group)
    reference = environments(board.master)
    alike: dict[tuple[str, ...], list[Spot]] = defaultdict(list)
    for column, names in extra.items():
        here = environments(board.sheets[column])
        if len(here) > len(reference) and seen_alike(board.evidence.policy, reference, here):
            alike[tuple(names)].extend(structure_cells(board, column))
    return [_copies_finding(board, names, cells) for names, cells in alike.items()]


def structure_cells(board: Board, column: int) -> list[Spot]:
    """The cells of a shot that say which environments there are, who sees them and how bright they are."""
    return [
        (index, column)
        for index, row, columns in board.rows_left(lambda row: row.section == "environments")
        if row.leaf in _STRUCTURE and column in columns
    ]


def _copies_finding(board: Board, names: tuple[str, ...], cells: list[Spot]) -> Finding:
    columns = sorted({column for _, column in cells})
    here = listed([thing(name) for name in environments(board.sheets[columns[0]])])
    return board.make(
        COPIES,
        sentence(
            f"{here} together do in {board.shots(columns)} what {listed([thing(n) for n in environments(board.master)])} "
            f"does in the master: every kind of ray sees the same, at the same level."
        ),
        cells,
        known="Map, rotation and colour agree, and the levels that each kind of ray sees add up to the master's.",
        guessed="It is the usual way to let some rays see a sky and others not.",
        do=_DO,
        concern=Concern.SOUND,
        actions=(Action.INTEND, Action.SHOW),
    )


def frames(board: Board) -> list[Finding]:
    """A pass that renders all frames where the master's holds one, since something in the shot moves."""
    found: list[Finding] = []
    suspects = list(board.rows_left(lambda row: row.section == "passes" and row.leaf == "frames"))
    if not suspects:
        return found
    motion = Motion(board)
    for index, row, columns in suspects:
        cells: dict[str, list[Spot]] = defaultdict(list)
        for column in columns:
            entry = board.entry(index, column)
            moving = motion.of(column)
            if entry.master == "held" and entry.value == "all" and moving:
                cells[motion_text(moving)].append((index, column))
        for why, spots in cells.items():
            shots = board.shots([column for _, column in spots])
            found.append(
                board.make(
                    FRAMES,
                    sentence(f"the {row.group} pass renders all frames in {shots}, and has to: {why}."),
                    spots,
                    parameters=[parameter_name("camera", "", "moves")] if "camera" in why else [],
                    sureness=Sureness.LIKELY,
                    known=sentence(f"{parameter_text(row)} are all for a held one; {why}."),
                    do=_DO,
                    concern=Concern.SOUND,
                    actions=(Action.INTEND, Action.SHOW),
                )
            )
    return found
