"""Lights that a shot's scene has and switches off: an inactive prim, or a variant that is selected otherwise."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from samelight.drift.cells import Cell
from samelight.findings.board import Board, is_absent
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import listed
from samelight.sheets.switches import Inactive, Selections, goes_by, inactive_of, selections_of, usual

NAME = "switched-off"


@dataclass(frozen=True, slots=True)
class _Cause:
    """Why lights are not in a shot's sheet: a sentence with what there is to do, and how sure that is."""

    says: str
    known: str
    do: str
    sureness: Sureness


def find(board: Board) -> list[Finding]:
    """One finding for each cause, with the lights that are gone by it and the shots that have it."""
    trees = [{} if sheet is None else sheet.typed for sheet in board.sheets]
    by_cause: dict[_Cause, list[Cell]] = defaultdict(list)
    for index, row, columns in board.presence_left():
        gone = [column for column in columns if is_absent(board.entry(index, column))]
        if row.section not in ("lights", "environments") or not gone:
            continue
        there = usual(
            tree for column, tree in enumerate(trees) if board.group(column, row.section, row.group)
        )
        for column in gone:
            cause = _cause(row.group, trees[column], there)
            if cause is not None:
                by_cause[cause].append((index, column))
    return [_finding(board, cause, cells) for cause, cells in by_cause.items()]


def is_inactive(board: Board, column: int, name: str) -> bool:
    """Whether a shot's scene has a light of a name and says of its prim that it is inactive."""
    sheet = board.sheets[column]
    return sheet is not None and any(goes_by(name, one.path) for one in inactive_of(sheet.typed))


def _cause(name: str, tree: Mapping[str, Any], there: Selections) -> _Cause | None:
    off = next((one for one in inactive_of(tree) if goes_by(name, one.path)), None)
    own = selections_of(tree)
    changed = [key for key, selected in there.items() if key in own and own[key] != selected]
    if off is not None and not (off.variant and changed):
        return _of_inactive(off)
    if not changed:
        return None
    said = listed(
        [
            f"variant set {name} of {path} stands at {own[path, name] or 'none'}, not at {there[path, name]}"
            for path, name in changed
        ],
        at_most=3,
    )
    back = listed([f"{name} = {there[path, name]} on {path}" for path, name in changed], at_most=3)
    return _Cause(
        f"its {said}",
        "The shots that have the lights have another selection.",
        f"Select {back}, or say that the shot is meant to be lit so.",
        Sureness.LIKELY,
    )


def _of_inactive(off: Inactive) -> _Cause:
    where = f" in its variant {off.variant}" if off.variant else ""
    do = "Select another variant" if off.variant else f"Set active = true on {off.prim}"
    return _Cause(
        f"{off.prim} is inactive by {off.layer or 'one of its layers'}{where}",
        "The scene has them, switched off.",
        f"{do}, or say that the shot is meant to do without.",
        Sureness.CERTAIN,
    )


def _finding(board: Board, cause: _Cause, cells: list[Cell]) -> Finding:
    names = list(dict.fromkeys(board.table.rows[index].group for index, _ in cells))
    shots = board.shots([column for _, column in cells])
    return board.make(
        NAME,
        f"{listed(names)} {'are' if len(names) > 1 else 'is'} switched off in {shots}: {cause.says}.",
        cells,
        sureness=cause.sureness,
        known=cause.known,
        do=cause.do,
    )
