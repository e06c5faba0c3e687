"""A colour typed as a picture stores it where a linear one is meant, or the other way round."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from samelight.findings.board import Board, Spot
from samelight.findings.finding import Finding, Sureness
from samelight.findings.typed import half_step, rgb_of
from samelight.findings.words import group_text, parameter_text, sentence
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import COLOUR, FOLDED

NAME = "colour-transfer"

CLOSE = 0.002
"""How far a channel may miss beside what its last typed digit rounds."""

MOVED = 0.02
"""How far the transfer must have moved some channel: at black and at 1 every transfer is the same."""

RGB = tuple[float, float, float]


def srgb_decoded(channel: float) -> float:
    """A channel as stored, 0..1, made linear (IEC 61966-2-1).

    >>> round(srgb_decoded(0.5), 4)
    0.214
    """
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def srgb_encoded(channel: float) -> float:
    """A linear channel, 0..1, as it is stored; the inverse of `srgb_decoded`.

    >>> round(srgb_encoded(0.2140), 3)
    0.5
    """
    return 12.92 * channel if channel <= 0.0031308 else 1.055 * channel ** (1.0 / 2.4) - 0.055


@dataclass(frozen=True, slots=True)
class _Transfer:
    says: str
    reason: str
    of: Callable[[float], float]


_ENCODED = "picked from a picture and typed as if it were linear"
_DECODED = "made linear once too often"
_TRANSFERS = (
    _Transfer("sRGB-encoded", _ENCODED, srgb_encoded),
    _Transfer("sRGB-decoded", _DECODED, srgb_decoded),
    _Transfer("to the power of 1/2.2", _ENCODED, lambda channel: channel ** (1.0 / 2.2)),
    _Transfer("to the power of 2.2", _DECODED, lambda channel: channel**2.2),
)


def find(board: Board) -> list[Finding]:
    """One finding for each colour and transfer, with every shot that has it. It needs colours typed as RGB."""
    alike: dict[tuple[str, str, str, _Transfer], list[Spot]] = defaultdict(list)
    for (section, group, leaf, column), indices in _suspects(board):
        sheet = board.sheets[column]
        transfer = None if sheet is None else _transfer(board.master, sheet, section, group, leaf)
        if transfer is not None:
            alike[section, group, leaf, transfer].extend((index, column) for index in indices)
    return [_finding(board, transfer, cells) for (_, _, _, transfer), cells in alike.items()]


def _suspects(board: Board) -> Iterator[tuple[tuple[str, str, str, int], list[int]]]:
    """Colours by section, group, leaf and column; a light's colour carries its level along."""
    found: dict[tuple[str, str, str, int], list[int]] = defaultdict(list)
    for index, row, columns in board.rows_left(lambda row: row.kind == COLOUR or row.leaf == "level"):
        leaf = "colour" if row.leaf == "level" else row.leaf
        for column in columns:
            if row.leaf != "level" or _only_colour_differs(board, column, row.section, row.group):
                found[row.section, row.group, leaf, column].append(index)
    yield from found.items()


def _only_colour_differs(board: Board, column: int, section: str, group: str) -> bool:
    """Whether a level can differ only through its colour, as intensity, exposure, unit and the like are equal."""
    sheet = board.sheets[column]
    if sheet is None or section not in ("lights", "environments"):
        return False
    mine, theirs = (one.as_typed(section, group, "level") for one in (board.master, sheet))
    return mine.get("color") != theirs.get("color") and all(
        mine.get(name) == theirs.get(name) for name in FOLDED["level"] if name != "color"
    )


def _transfer(master: Sheet, sheet: Sheet, section: str, group: str, leaf: str) -> _Transfer | None:
    if master.conventions.working_space != sheet.conventions.working_space:
        return None
    typed = [one.as_typed(section, group, leaf).get("temperature") for one in (master, sheet)]
    before, after = rgb_of(master, section, group, leaf), rgb_of(sheet, section, group, leaf)
    if typed[0] != typed[1] or before is None or after is None:
        return None
    return next((transfer for transfer in _TRANSFERS if _fits(transfer, before, after)), None)


def _fits(transfer: _Transfer, before: RGB, after: RGB) -> bool:
    if min(before) < 0.0:
        return False
    expected = [transfer.of(channel) for channel in before]
    moved = max(abs(a - b) for a, b in zip(before, after, strict=True))
    return moved >= MOVED and all(
        abs(found - wanted) <= CLOSE + min(half_step(f"{found:g}"), 0.005)
        for found, wanted in zip(after, expected, strict=True)
    )


def _finding(board: Board, transfer: _Transfer, cells: list[Spot]) -> Finding:
    row = board.table.rows[cells[0][0]]
    who = group_text(row) if row.leaf in ("level", "colour") else ""
    what = f"{who}'s colour" if who else parameter_text(row)
    shots = board.shots([column for _, column in cells])
    return board.make(
        NAME,
        sentence(f"{what} is the master's, {transfer.says}, in {shots}: {transfer.reason}."),
        cells,
        sureness=Sureness.LIKELY,
        known=f"Each channel as typed is the master's, {transfer.says}, within rounding.",
        guessed=sentence(f"the colour was {transfer.reason}."),
        do="Type the linear colour that the master has.",
    )
