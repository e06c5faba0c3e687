"""Render settings that were never made again after the setup came in by reference, which does not carry them."""

from __future__ import annotations

from collections import defaultdict

from samelight.findings.board import Board, Spot
from samelight.findings.defaults import Defaults
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import leaf_text, listed, sentence
from samelight.sheets.values import Value

NAME = "not-remade"


def find(board: Board) -> list[Finding]:
    """One finding for the shots that lack the same groups of render settings, or have them at their defaults.

    At the defaults means: every setting of the group that the master has is absent in the shot, or is what the
    policy names as its default, and more than one is.
    """
    defaults = Defaults(board)
    lost: dict[int, dict[str, list[Spot]]] = defaultdict(dict)
    for index, row, columns in board.rows_left(lambda row: row.section == "render"):
        for column in columns:
            lost[column].setdefault(row.group, []).append((index, column))
    alike: dict[tuple[tuple[str, ...], tuple[str, ...]], list[Spot]] = defaultdict(list)
    for column, groups in lost.items():
        gone = tuple(name for name in groups if name and not board.group(column, "render", name))
        fallen = tuple(
            name for name in groups if name not in gone and _at_defaults(board, defaults, column, name)
        )
        if gone or fallen:
            alike[gone, fallen].extend(spot for name in (*gone, *fallen) for spot in groups[name])
    return [_finding(board, gone, fallen, cells) for (gone, fallen), cells in alike.items()]


def _at_defaults(board: Board, defaults: Defaults, column: int, group: str) -> bool:
    reference = board.master.sections.get("render", {}).get(group, {})
    here = board.group(column, "render", group)
    if len(reference) < 2:
        return False
    return all(_is_default(board, defaults, group, leaf, here.get(leaf)) for leaf in reference)


def _is_default(board: Board, defaults: Defaults, group: str, leaf: str, value: Value | None) -> bool:
    index = board.row_of("render", group, leaf)
    if value is None or index is None:
        return value is None
    default = defaults.of(index)
    return default is not None and board.same(board.table.rows[index], value, default)


def _finding(board: Board, gone: tuple[str, ...], fallen: tuple[str, ...], cells: list[Spot]) -> Finding:
    said = []
    if gone:
        said.append(f"{listed([leaf_text(name) for name in gone])} {'are' if len(gone) > 1 else 'is'} absent")
    if fallen:
        said.append(f"every value of {listed([leaf_text(name) for name in fallen])} is at its default")
    shots = board.shots([column for _, column in cells])
    return board.make(
        NAME,
        sentence(f"the render settings were never made again in {shots}: {' and '.join(said)}."),
        cells,
        sureness=Sureness.LIKELY,
        known=f"{sentence(' and '.join(said))}.",
        guessed="References carry lights and environments, not render settings: nobody set these by hand.",
        do="Set them by hand, as the master has them.",
    )
