"""A mark that is brighter or darker in its shot's frame than the sheet leads one to expect: what the sheet does not know of."""

from __future__ import annotations

import math
from collections import defaultdict

from samelight.drift.cells import Cell, Grade
from samelight.drift.computed.in_the_way import says_what_it_sees
from samelight.drift.derived_names import PICTURE, SUBJECT
from samelight.drift.words import counted
from samelight.findings.board import Board
from samelight.findings.finding import Finding
from samelight.findings.words import plain, sentence, size_text, thing
from samelight.light.noise import first_largest
from samelight.sheets.vocabulary import LEVEL

NAME = "unlike-sheet"

_UNEXPLAINED = "unexplained"
_ALIKE = 0.15
"""Stops within which all lights are off by one amount: no light is, but what they fall on or the exposure."""


def find(board: Board) -> list[Finding]:
    """One finding for each mark, with the shots whose frames show it brighter, or darker, than their sheets say, and one with those in
    which all lights do so alike; then one for each light whose layers do so where all light together does not."""
    found: dict[tuple[str, str, bool, bool], list[Cell]] = defaultdict(list)
    told: set[tuple[str, int]] = set()
    rows = [(index, row) for index, row in enumerate(board.table.rows) if row.section == PICTURE]
    for index, row in sorted(rows, key=lambda one: len(one[1].leaf.split("."))):  # all light first
        if row.leaf.partition(".")[0] != _UNEXPLAINED:
            continue
        light = row.leaf.partition(".")[2]
        for column in (board.unsettled[index] & ~board.taken[index]).nonzero()[0].tolist():
            if not light:
                told.add((row.group, column))
            if not light or (row.group, column) not in told:
                brighter = bool(board.table.drift[index, column] > 0.0)
                alike = not light and _is_alike(board, row.group, column)
                found[row.group, light, brighter, alike].append((index, column))
    return [
        _finding(board, mark, light, brighter, cells, _reasons(brighter, alike))
        for (mark, light, brighter, alike), cells in found.items()
    ]


def _reasons(brighter: bool, alike: bool) -> str:
    if alike:
        return "all its lights are off alike, so that it is no light but the material or the exposure"
    if brighter:
        return "light reaches it that the sheet lacks (a bounce, a light of the set)"
    return "something stands in the way"


def _is_alike(board: Board, mark: str, column: int) -> bool:
    """Whether by the layers of the frame every light that counts is off as far as the others; there are two at least."""
    off = [
        float(board.table.drift[index, column])
        for index, row in enumerate(board.table.rows)
        if (row.section, row.group) == (PICTURE, mark)
        and row.leaf.startswith(f"{_UNEXPLAINED}.")
        and board.table.grade.item(index, column) >= Grade.SAME
    ]
    return len(off) > 1 and all(map(math.isfinite, off)) and max(off) - min(off) <= _ALIKE


def _finding(board: Board, mark: str, light: str, brighter: bool, cells: list[Cell], reasons: str) -> Finding:
    worst = cells[first_largest(abs(float(board.table.drift[cell])) for cell in cells)]
    shot, drift = board.table.shots[worst[1]], float(board.table.drift[worst])
    size = "much"
    if math.isfinite(drift):  # no frame tells hundredths
        size = f"{plain(f'{abs(drift):.1f}')} {'stop' if f'{abs(drift):.1f}' == '1.0' else 'stops'}"
    what = f"What {thing(light)} gives {thing(mark)}" if light else thing(mark)
    says = f"{what} in {shot} is {size} {'brighter' if brighter else 'darker'} than its sheet says: {reasons}"
    says += _or_else(board, shot, "material" in reasons)
    columns = sorted({column for _, column in cells})
    if len(columns) > 1:
        says += f"; {counted(len(columns), 'shot')} in all ({board.shots(columns)})"
    beside = [
        (index, column)
        for index, row in enumerate(board.table.rows)
        if (row.section, row.group) == (PICTURE, mark) and not light and row.leaf != _UNEXPLAINED
        for column in columns
        if board.unsettled[index, column]
    ]
    return board.make(
        NAME,
        sentence(f"{says}."),
        [*cells, *beside],
        known=" ".join(
            part for part in (_known(board, mark, worst[1]), _by_light(board, mark, worst[1])) if part
        ),
        guessed=_guessed(board, mark, worst[1], brighter),
        do="Look at the frame: render it from the sheet as it stands, clear the way or mend the material, or say that it is meant.",
    )


def _or_else(board: Board, shot: str, names_material: bool) -> str:
    """What else it may be: an older frame only where that does not say itself what it was rendered from."""
    measured = board.evidence.measured[shot].measured
    older = f"the frame is older than version {measured.version} of the sheet"
    if measured.made_of == measured.version:
        return "" if names_material else ", or the material differs"
    return f"; or {older}" if names_material else f", the material differs, or {older}"


def _known(board: Board, mark: str, column: int) -> str:
    """The subject by the sheets, and in the frames, side by side."""
    said = []
    for section, where in ((SUBJECT, "by the sheets"), (PICTURE, "in the frames")):
        index = board.row_of(section, mark, LEVEL)
        entry = None if index is None else board.table.entry(index, column)
        if entry is None or entry.grade < Grade.SAME or not math.isfinite(entry.drift):
            continue
        how = "brighter" if entry.drift > 0.0 else "darker"
        said.append(f"{size_text(LEVEL, entry.drift)} {how} than in the key shot {where}")
    return sentence(f"{thing(mark)} is {', and '.join(said)}.") if said else ""


def _by_light(board: Board, mark: str, column: int) -> str:
    """Which lights account for it, by the layers of the frame, the most unlike first; empty without layers."""
    off: list[tuple[float, str]] = []
    holds = False
    for index, row in enumerate(board.table.rows):
        if (row.section, row.group) != (PICTURE, mark) or not row.leaf.startswith(f"{_UNEXPLAINED}."):
            continue
        drift = float(board.table.drift[index, column])
        if board.table.grade.item(index, column) >= Grade.DRIFT and math.isfinite(drift):
            off.append((drift, thing(row.leaf.partition(".")[2])))
        holds = holds or board.table.grade.item(index, column) in (Grade.SAME, Grade.WITHIN)
    if not off:
        return ""
    off.sort(key=lambda one: (-abs(one[0]), one[1]))
    said = [
        f"{name} is {abs(drift):.1f} stops {'brighter' if drift > 0.0 else 'darker'} there"
        for drift, name in off
    ]
    return sentence(
        f"By the layers of the frame {', '.join(said)}{', and the other lights hold' if holds else ''}."
    )


def _guessed(board: Board, mark: str, column: int, brighter: bool) -> str:
    """What speaks for or against something in the way."""
    if brighter:
        return ""
    if says_what_it_sees(board.group(column, "marks", mark)):
        return "The capture looked through the scene, and counted what stood in the way then."
    return "The sheet does not say what stands in the lights' way: capture the scene, with its geometry, to know it."
