"""A group of the master that goes under another name in a shot: one absent, or a light that is off, one extra, the values alike."""

from __future__ import annotations

import difflib
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from samelight.drift.cells import Cell, Grade
from samelight.drift.table import graded
from samelight.findings.board import Board, is_absent, is_extra
from samelight.findings.finding import Finding, Sureness
from samelight.findings.switched_off import is_inactive
from samelight.findings.words import leaf_text, listed, sentence, thing
from samelight.sheets.values import Group, Level, Value
from samelight.sheets.vocabulary import LEVEL, LIT

NAME = "renamed"

ENOUGH = 0.75
"""Share of the parameters that must be within tolerance of the master's."""

AT_LEAST = 2
"""Parameters that must agree: one alone is no likeness."""

MOST_PAIRS = 10_000
"""Pairs of names that are all looked at, as of a hundred lights that are absent and a hundred that are extra."""

_IDENTITY = ("type", "position", "direction", "texture")
"""Where something stands, points to or comes from: if that differs, it is another thing."""


SEVERAL = 2
"""Names that changed in one and the same way and are told in one sentence."""


@dataclass(frozen=True, slots=True)
class _Pair:
    """A group of the master and what it is called in a shot, with the cells of both."""

    section: str
    old: str
    new: str
    differing: tuple[str, ...]
    cells: tuple[Cell, Cell]
    off: bool = False
    """Whether the master's own is there and off."""


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
    pairs: dict[int, list[_Pair]] = defaultdict(list)
    for (column, section), come in extra.items():
        off = _off(board, column, section)
        gone = {**off, **absent.get((column, section), {})}
        for old, new, likeness in _paired(board, column, section, list(gone), list(come)):
            cells = ((gone[old], column), (come[new], column))
            is_off = old in off or is_inactive(board, column, old)
            pairs[column].append(_Pair(section, old, new, likeness.differing, cells, is_off))
    single: dict[tuple[str, str, str, tuple[str, ...], bool], list[Cell]] = defaultdict(list)
    affixed: dict[tuple[str, tuple[tuple[str, str], ...]], list[Cell]] = defaultdict(list)
    for found in pairs.values():
        by_affix: dict[str, list[_Pair]] = defaultdict(list)
        for pair in found:
            by_affix["" if pair.off else _affix(pair.old, pair.new)].append(pair)
        for affix, alike in by_affix.items():
            one = affix and len(alike) >= SEVERAL
            names = tuple((pair.section, pair.old) for pair in alike)
            for pair in alike:
                key = pair.section, pair.old, pair.new, pair.differing, pair.off
                (affixed[affix, names] if one else single[key]).extend(pair.cells)
    return [
        *(_affix_finding(board, affix, names, cells) for (affix, names), cells in affixed.items()),
        *(_finding(board, *key, cells) for key, cells in single.items()),
    ]


def _off(board: Board, column: int, section: str) -> dict[str, int]:
    """The master's lights that are off in a shot, or give nothing, each with the row that says so."""
    found: dict[str, int] = {}
    for name in board.master.sections.get(section, {}) if section in LIT else ():
        for leaf in ("visible", LEVEL):
            index = board.row_of(section, name, leaf)
            if index is not None and board.left[index, column]:
                value = board.entry(index, column).value
                if value is False or (isinstance(value, Level) and value.value == 0.0):
                    found.setdefault(name, index)
    return found


def _affix(old: str, new: str) -> str:
    """What was put before or behind a name, or taken from it, as a clause; empty for another change.

    >>> _affix("key", "set_key"), _affix("char:key", "key"), _affix("key", "fill")
    ('“set_” stands before', '“char:” is gone from before', '')
    """
    for longer, shorter, before, behind in (
        (new, old, "stands before", "stands behind"),
        (old, new, "is gone from before", "is gone from behind"),
    ):
        if longer.endswith(shorter) and longer != shorter:
            return f"“{longer.removesuffix(shorter)}” {before}"
        if longer.startswith(shorter) and longer != shorter:
            return f"“{longer.removeprefix(shorter)}” {behind}"
    return ""


def _affix_finding(board: Board, affix: str, names: Sequence[tuple[str, str]], cells: list[Cell]) -> Finding:
    there = {
        (section, name)
        for section in ("lights", "environments")
        for name in board.master.sections.get(section, {})
    }
    every = there <= set(names)
    who = "every name" if every else f"{len(names)} names"
    return board.make(
        NAME,
        sentence(
            f"{affix} {who} in {board.shots([column for _, column in cells])} "
            f"({listed([name for _, name in names], at_most=4)}): one root or namespace, not {len(names)} lights."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known="Each is absent under the master's name, and is there under the other with the master's values.",
        guessed="The setup was brought in under another root or namespace.",
        do="Bring it in as the master has it: what is published next will look for those names.",
    )


def _paired(
    board: Board, column: int, section: str, gone: list[str], come: list[str]
) -> list[tuple[str, str, _Likeness]]:
    """The pairs that are alike, the likest first, each name once.

    Several environments from the map of one that is gone are copies that share its rays, and none is that one renamed.
    """
    if section == "environments":
        maps = Counter(board.group(column, section, name).get("texture") for name in come)
        master = board.master_at(column).sections.get(section, {})
        gone = [name for name in gone if maps[master.get(name, {}).get("texture")] < SEVERAL]
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
    master = board.master_at(column).sections.get(section, {})
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
    reference = board.master_at(column).sections.get(section, {}).get(old, {})
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
    board: Board, section: str, old: str, new: str, differing: tuple[str, ...], off: bool, cells: list[Cell]
) -> Finding:
    shots = board.shots([column for _, column in cells])
    values = "every value is the master's"
    if differing:
        values = f"all but {listed([leaf_text(leaf) for leaf in differing])} is the master's"
    if off:
        return board.make(
            NAME,
            sentence(f"{thing(old)} is off in {shots}, and {new} stands in its place; {values}."),
            cells,
            sureness=Sureness.LIKELY,
            known=f"{section}: {old} gives nothing, {new} is extra, and {values}.",
            guessed="It was made again in the shot to be changed there, and the master's own was put out.",
            do=f"Bring {old} back and change that: what is published next goes to it alone.",
        )
    return board.make(
        NAME,
        sentence(f"{thing(old)} is called {new} in {shots}; {values}."),
        cells,
        sureness=Sureness.LIKELY,
        known=f"{section}: {old} is absent, {new} is extra, and {values}.",
        guessed="It is the same thing under another name.",
        do=f"Name it {old} again: what is published next will look for that name.",
    )
