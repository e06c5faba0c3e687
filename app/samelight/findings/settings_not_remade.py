"""Render settings that were never made again after the setup came in by reference, which does not carry them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping

from samelight.drift.cells import Cell
from samelight.drift.words import value_text
from samelight.findings.board import Board
from samelight.findings.fallbacks import Defaults
from samelight.findings.finding import Finding, Sureness
from samelight.findings.nearness import same
from samelight.findings.words import leaf_text, listed, sentence
from samelight.sheets.values import Value, strictly_equal

NAME = "settings-not-remade"

ALL = 4
"""Settings that must all differ where no policy says what the defaults are."""


def find(board: Board) -> list[Finding]:
    """One finding for the shots that lack the same groups of render settings, or have them at their defaults.

    At the defaults means: every setting of the group that the master has is absent in the shot, or is what the
    policy names as its default, and more than one is. Where the policy names none, settings count as such that all differ
    from the master's, `ALL` or more, and are all such as programs start with.
    """
    defaults = Defaults(board)
    lost: dict[int, dict[str, list[Cell]]] = defaultdict(dict)
    for index, row, columns in board.rows_left(lambda row: row.section == "render"):
        for column in columns:
            lost[column].setdefault(row.group, []).append((index, column))
    alike: dict[tuple[tuple[str, ...], tuple[str, ...]], list[Cell]] = defaultdict(list)
    for column, groups in lost.items():
        gone = tuple(name for name in groups if name and not board.group(column, "render", name))
        fallen = tuple(
            name for name in groups if name not in gone and _at_defaults(board, defaults, column, name)
        )
        usual = _all_usual(board, column, groups)
        if usual and not fallen:
            gone = tuple(name for name in groups if name in gone)
            fallen = tuple(name for name in groups if name not in gone)
        if gone or fallen:
            alike[gone, fallen].extend(cell for name in (*gone, *fallen) for cell in groups[name])
    return [_finding(board, gone, fallen, cells) for (gone, fallen), cells in alike.items()]


def _all_usual(board: Board, column: int, groups: Mapping[str, list[Cell]]) -> bool:
    """Whether every setting that has a number is another than the master's, and one that programs start with."""
    numbers = differing = 0
    for group, leaves in board.master_at(column).sections.get("render", {}).items():
        here = board.group(column, "render", group)
        for leaf, master in leaves.items():
            value = here.get(leaf)
            if isinstance(master, bool) or not isinstance(master, float) or value is None:
                continue
            numbers += 1
            if strictly_equal(master, value):
                # A setting that the master has at its default is no sign that it was set.
                numbers -= _is_usual(master)
            elif not _is_usual(value):
                return False
            else:
                differing += 1
    spots = [cell for cells in groups.values() for cell in cells]
    return differing == numbers >= ALL and sum(board.left[cell] for cell in spots) >= ALL


def _is_usual(value: Value) -> bool:
    """Whether a number is such as programs start with: 0, a power of two, or 1, 2.5 or 5 with noughts.

    >>> _is_usual(16.0), _is_usual(0.05), _is_usual(0.25), _is_usual(192.0), _is_usual(3.5)
    (True, True, True, False, False)
    """
    if not isinstance(value, float) or value < 0.0:
        return False
    if value == 0.0:
        return True
    two, ten = math.frexp(value)[0], f"{value:.3e}".partition("e")[0]
    return two == 0.5 or ten in ("1.000", "2.500", "5.000")


def _at_defaults(board: Board, defaults: Defaults, column: int, group: str) -> bool:
    reference = board.master_at(column).sections.get("render", {}).get(group, {})
    here = board.group(column, "render", group)
    if len(reference) < 2:
        return False
    return all(_is_default(board, defaults, group, leaf, here.get(leaf)) for leaf in reference)


def _is_default(board: Board, defaults: Defaults, group: str, leaf: str, value: Value | None) -> bool:
    index = board.row_of("render", group, leaf)
    if value is None or index is None:
        return value is None
    default = defaults.of(index)
    return default is not None and same(board.table.rows[index], value, default)


def _values(board: Board, cells: list[Cell]) -> str:
    """What some of the settings are, in brackets."""
    column = cells[0][1]
    said = []
    for index, at in cells:
        row = board.table.rows[index]
        entry = board.entry(index, at)
        if at == column and row.leaf and entry.value is not None:
            said.append(f"{leaf_text(f'{row.group}.{row.leaf}')} {value_text(entry.value, row.kind)}")
    return f" ({listed(said, at_most=4)})" if said else ""


def _finding(board: Board, gone: tuple[str, ...], fallen: tuple[str, ...], cells: list[Cell]) -> Finding:
    said = []
    if gone:
        said.append(f"{listed([leaf_text(name) for name in gone])} {'are' if len(gone) > 1 else 'is'} absent")
    if fallen:
        said.append(
            f"every value of {listed([leaf_text(name) for name in fallen])} is at its default{_values(board, cells)}"
        )
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
