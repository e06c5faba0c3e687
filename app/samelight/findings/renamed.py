"""A group of the master that goes under another name in a shot: one absent, one extra, the values alike."""

from __future__ import annotations

import difflib
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from samelight.drift.cells import Grade
from samelight.drift.table import graded
from samelight.findings.board import Board, Spot, is_absent, is_extra
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import leaf_text, listed, sentence, thing
from samelight.sheets.values import Group, Value

NAME = "renamed"

ENOUGH = 0.75
"""Share of the parameters that must be within tolerance of the master's."""

AT_LEAST = 2
"""Parameters that must agree: one alone is no likeness."""

MOST_PAIRS = 10_000
"""Pairs of names that are all looked at, as of a hundred lights that are absent and a hundred that are extra."""

_IDENTITY = ("type", "position", "direction", "texture")
"""Where something stands, points to or comes from: if that differs, it is another thing."""


@dataclass(frozen=True, slots=True)
class _Likeness:
    share: float
    differing: tuple[str, ...]


def find(board: Board) -> list[Finding]:
    """One finding for each pair of names, with every shot that has it."""
    absent: dict[tuple[int, str], dict[str, int]] = defaultdict(dict)
    extra: dict[tuple[int, str], dict[str, int]] = defaultdict(dict)
    for index, row, columns in board.presence_left():
        for column in columns:
            entry = board.entry(index, column)
            if is_absent(entry):
                absent[column, row.section][row.group] = index
            elif is_extra(entry):
                extra[column, row.section][row.group] = index
    pairs: dict[tuple[str, str, str, tuple[str, ...]], list[Spot]] = defaultdict(list)
    for (column, section), gone in absent.items():
        come = extra.get((column, section), {})
        for old, new, likeness in _paired(board, column, section, list(gone), list(come)):
            cells = pairs[section, old, new, likeness.differing]
            cells.extend(((gone[old], column), (come[new], column)))
    return [
        _finding(board, section, old, new, differing, cells)
        for (section, old, new, differing), cells in pairs.items()
    ]


def _paired(
    board: Board, column: int, section: str, gone: list[str], come: list[str]
) -> list[tuple[str, str, _Likeness]]:
    """The pairs that are alike, the likest first, each name once."""
    scored: list[tuple[float, float, str, str, _Likeness]] = []
    for old, new in _candidates(board, column, section, gone, come):
        likeness = _likeness(board, column, section, old, new)
        if likeness is not None:
            spelling = difflib.SequenceMatcher(None, old, new).ratio()
            scored.append((likeness.share, spelling, old, new, likeness))
    scored.sort(key=lambda score: (-score[0], -score[1], score[2], score[3]))
    found: list[tuple[str, str, _Likeness]] = []
    used: set[str] = set()
    for _, _, old, new, likeness in scored:
        if old not in used and new not in used:
            used.update((old, new))
            found.append((old, new, likeness))
    return found


def _candidates(
    board: Board, column: int, section: str, gone: list[str], come: list[str]
) -> Iterator[tuple[str, str]]:
    """The pairs to look at: all, or, where these are very many, those that are the same thing to the last digit.

    Of several that are, each is looked at beside those of about its own place among them.
    """
    if len(gone) * len(come) <= MOST_PAIRS:
        yield from product(gone, come)
        return
    master = board.master.sections.get(section, {})
    olds, news = (
        _by_identity(names, groups)
        for names, groups in (
            (gone, master),
            (come, {name: board.group(column, section, name) for name in come}),
        )
    )
    for identity, names in olds.items():
        there = news.get(identity, [])
        for place, old in enumerate(names):
            yield from ((old, new) for new in there[max(place - 1, 0) : place + 2])


def _by_identity(names: list[str], groups: Mapping[str, Group]) -> dict[tuple[Value | None, ...], list[str]]:
    alike: dict[tuple[Value | None, ...], list[str]] = defaultdict(list)
    for name in names:
        alike[tuple(groups.get(name, {}).get(leaf) for leaf in _IDENTITY)].append(name)
    return alike


def _likeness(board: Board, column: int, section: str, old: str, new: str) -> _Likeness | None:
    reference = board.master.sections.get(section, {}).get(old, {})
    here = board.group(column, section, new)
    leaves = list({**reference, **here})
    differing: list[str] = []
    for leaf in leaves:
        index, a, b = board.row_of(section, old, leaf), reference.get(leaf), here.get(leaf)
        alike = a is not None and b is not None and index is not None
        if alike and index is not None and a is not None and b is not None:
            alike = graded(board.table.rows[index], a, b).grade <= Grade.WITHIN
        if not alike:
            if leaf in _IDENTITY:
                return None
            differing.append(leaf)
    equal = len(leaves) - len(differing)
    if equal < AT_LEAST or equal < ENOUGH * len(leaves):
        return None
    return _Likeness(equal / len(leaves), tuple(differing))


def _finding(
    board: Board, section: str, old: str, new: str, differing: tuple[str, ...], cells: list[Spot]
) -> Finding:
    shots = board.shots([column for _, column in cells])
    values = "every value is the master's"
    if differing:
        values = f"all but {listed([leaf_text(leaf) for leaf in differing])} is the master's"
    return board.make(
        NAME,
        sentence(f"{thing(old)} is called {new} in {shots}; {values}."),
        cells,
        sureness=Sureness.LIKELY,
        known=f"{section}: {old} is absent, {new} is extra, and {values}.",
        guessed="It is the same thing under another name.",
        do=f"Name it {old} again: what is published next will look for that name.",
    )
