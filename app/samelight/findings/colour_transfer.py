"""A colour typed as a picture stores it, in other primaries, in other steps or in another order than the one that is meant."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from samelight.drift.cells import Cell
from samelight.drift.table import Entry, Row
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.nearness import nearness
from samelight.findings.typed import half_step, number_typed, rgb_of, rgb_typed
from samelight.findings.words import capital, group_text, listed, parameter_text, sentence
from samelight.light.colour import light_luminance, luminance
from samelight.light.rows import Array, image
from samelight.light.spaces import FROM_REC709, TO_REC709
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Level
from samelight.sheets.vocabulary import COLOUR, LEVEL

NAME = "colour-transfer"

CLOSE = 0.002
"""How far a channel may miss beside what its last typed digit rounds."""

MOVED = 0.02
"""How far the transfer must have moved some channel: at black and at 1 every transfer is the same."""

_STOPS = 0.01
"""By how much a level may be off what its colour gives in another space."""

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
class Transfer:
    """How a colour was taken: what it says, why, and what it makes of the master's red, green and blue."""

    says: str
    reason: str
    of: Callable[[RGB], RGB]


def _each(channel: Callable[[float], float]) -> Callable[[RGB], RGB]:
    return lambda rgb: (channel(rgb[0]), channel(rgb[1]), channel(rgb[2]))


def _power(exponent: float) -> Callable[[RGB], RGB]:
    return _each(lambda channel: max(channel, 0.0) ** exponent)


def _by(matrix: Array) -> Callable[[RGB], RGB]:
    def turned(rgb: RGB) -> RGB:
        red, green, blue = image(matrix, np.array(rgb)).tolist()
        return red, green, blue

    return turned


def _cut(of: Callable[[RGB], RGB]) -> Callable[[RGB], RGB]:
    return lambda rgb: _each(lambda channel: max(channel, 0.0))(of(rgb))


_ENCODED = "picked from a picture and typed as if it were linear"
_DECODED = "made linear once too often"
_GAMMAS = ("2.2", "2.4", "1.8")
_PRIMARIES = (("acescg", "ACEScg (AP1)"), ("rec2020", "Rec.2020"))


def _transfers() -> tuple[Transfer, ...]:
    found = [
        Transfer("sRGB-encoded", _ENCODED, _each(srgb_encoded)),
        Transfer("sRGB-decoded", _DECODED, _each(srgb_decoded)),
    ]
    for gamma in _GAMMAS:
        found.append(Transfer(f"to the power of 1/{gamma}", _ENCODED, _power(1.0 / float(gamma))))
        found.append(Transfer(f"to the power of {gamma}", _DECODED, _power(float(gamma))))
    for space, name in _PRIMARIES:
        there, back = _by(FROM_REC709[space]), _by(TO_REC709[space])
        for reason, of in (
            (f"numbers of {name} primaries typed where Rec.709 is read", there),
            (f"numbers of Rec.709 typed where {name} primaries are read", back),
        ):
            found.append(Transfer("in other primaries", reason, of))
            found.append(Transfer("in other primaries", reason, _cut(of)))
    found.append(
        Transfer("with red and blue exchanged", "channels read as BGR", lambda rgb: (rgb[2], rgb[1], rgb[0]))
    )
    steps = "picked in steps of 0 to 255 and typed where 0 to 1 is read"
    found.append(Transfer("times 255", steps, _each(lambda channel: 255.0 * channel)))
    encoded = _each(lambda channel: 255.0 * srgb_encoded(channel))
    found.append(Transfer("sRGB-encoded, times 255", steps, encoded))
    return tuple(found)


TRANSFERS = _transfers()

Taken = Sequence[tuple[Transfer, RGB]]
"""Transfers, and what each makes of the master's colour."""


def find(board: Board) -> list[Finding]:
    """One finding for each colour and transfer, with every shot that has it. It needs colours typed as RGB."""
    alike: dict[tuple[str, str, str, Transfer], list[Cell]] = defaultdict(list)
    for (section, group, leaf), suspects in _suspects(board).items():
        of_master = board.master.as_typed(section, group, leaf)
        rgb = rgb_typed(of_master, leaf)
        taken = [] if rgb is None else _taken(rgb)
        for column, indices in suspects.items():
            sheet = board.sheets[column]
            if sheet is None or sheet.conventions.working_space != board.master.conventions.working_space:
                continue
            transfer = _transfer(taken, of_master, sheet.as_typed(section, group, leaf), leaf)
            if transfer is not None:
                alike[section, group, leaf, transfer].extend((index, column) for index in indices)
    return [
        *(_finding(board, transfer, cells) for (_, _, _, transfer), cells in alike.items()),
        *_in_another_space(board),
    ]


def _in_another_space(board: Board) -> list[Finding]:
    """One finding for each working space that sheets state in the place of the master's, where colours are typed as in the master."""
    alike: dict[str, list[Cell]] = defaultdict(list)
    for index, row, columns in board.rows_left(lambda row: row.kind == COLOUR or row.leaf == LEVEL):
        typed = board.master.as_typed(row.section, row.group, row.leaf)
        for column in columns:
            sheet = board.sheets[column]
            if sheet is None or sheet.conventions.working_space == board.master.conventions.working_space:
                continue
            same = sheet.as_typed(row.section, row.group, row.leaf) == typed
            if same and (row.leaf != LEVEL or _is_of_space(board, sheet, row, board.entry(index, column))):
                alike[sheet.conventions.working_space].append((index, column))
    return [_space_finding(board, space, cells) for space, cells in alike.items()]


def _is_of_space(board: Board, sheet: Sheet, row: Row, entry: Entry) -> bool:
    """Whether a level is off by what its colour gives in another space, and not by a size, a unit or an area as well."""
    rgb = rgb_of(sheet, row.section, row.group, LEVEL)
    if rgb is None or not math.isfinite(entry.drift):
        return False
    kelvin = number_typed(sheet.as_typed(row.section, row.group, "colour"), "temperature")
    here, there = (
        light_luminance(rgb, kelvin, one.conventions.working_space) for one in (sheet, board.master)
    )
    return here > 0.0 < there and abs(math.log2(here / there) - entry.drift) <= _STOPS


def _space_finding(board: Board, space: str, cells: list[Cell]) -> Finding:
    names = [group_text(board.table.rows[index]) for index, _ in cells]
    shots = sorted({column for _, column in cells})
    states = "the sheets state" if len(shots) > 1 else "the sheet states"
    of_master = board.master.conventions.working_space
    return board.make(
        NAME,
        sentence(
            f"{listed(list(dict.fromkeys(names)))} {'has' if len(set(names)) == 1 else 'have'} the numbers of the master in {board.shots(shots)}, "
            f"read in another space: {states} the working space {space}, and the master {of_master}."
        ),
        cells,
        sureness=Sureness.LIKELY,
        known="What is typed is the master's to the digit.",
        guessed="The wrong space is stated, or the colours were not converted to it.",
        do=f"State the space that the scene is worked in (working_space: {of_master} in the master), or convert the colours.",
    )


def _suspects(board: Board) -> dict[tuple[str, str, str], dict[int, list[int]]]:
    """Colours by section, group and leaf, of each the rows by column; a light's colour carries its level along."""
    found: dict[tuple[str, str, str], dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, row, columns in board.rows_left(lambda row: row.kind == COLOUR or row.leaf == LEVEL):
        of_level = row.leaf == LEVEL
        suspects = _carrying_level(board, index, row, columns) if of_level else columns
        for column in suspects:
            found[row.section, row.group, "colour" if of_level else row.leaf][column].append(index)
    return found


def _transfer(
    taken: Taken, of_master: Mapping[str, Any], typed: Mapping[str, Any], leaf: str
) -> Transfer | None:
    """The transfer that what a shot has typed is the master's by, of those that `taken` tells of."""
    if leaf == "colour" and typed.get("color") == of_master.get("color"):
        return None
    before, after = rgb_typed(of_master, leaf), rgb_typed(typed, leaf)
    if before is None or after is None or typed.get("temperature") != of_master.get("temperature"):
        return None
    if max(abs(a - b) for a, b in zip(before, after, strict=True)) < MOVED:
        return None
    return next((one for one, rgb in taken if _fits(rgb, after)), None)


def _taken(rgb: RGB) -> Taken:
    """What the transfers make of a colour; a negative one is of other primaries, if of any."""
    of_negative = min(rgb) < 0.0
    return [
        (transfer, transfer.of(rgb))
        for transfer in TRANSFERS
        if not of_negative or transfer.says == "in other primaries"
    ]


def _fits(expected: RGB, after: RGB) -> bool:
    scale = max(1.0, *map(abs, expected))
    close, rounded = CLOSE * scale, 0.005 * scale
    offs = [abs(found - wanted) for found, wanted in zip(after, expected, strict=True)]
    # What rounding may have taken is looked at last: most colours are further off, or near enough without.
    return all(off <= close + rounded for off in offs) and all(
        off <= close or off <= close + min(half_step(f"{found:g}"), rounded)
        for found, off in zip(after, offs, strict=True)
    )


def _typed_colour(sheet: Sheet, section: str, name: str) -> Any:
    groups = sheet.typed.get(section)
    group = groups.get(name) if isinstance(groups, Mapping) else None
    return group.get("color") if isinstance(group, Mapping) else None


def _carrying_level(board: Board, index: int, row: Row, columns: Sequence[int]) -> list[int]:
    """Those of some columns in which a level is the master's once the colour is, however intensity and exposure were split."""
    before, of_master = _bright(board.master, row), _typed_colour(board.master, row.section, row.group)
    found = []
    for column, entry in zip(columns, board.entries(index, columns), strict=True):
        sheet, value = board.sheets[column], entry.value
        if sheet is None or _typed_colour(sheet, row.section, row.group) == of_master:
            continue
        after = _bright(sheet, row)
        if min(before, after) > 0.0 and isinstance(value, Level):
            mended = Level(value.value * before / after, value.quantity)
            if nearness(row, entry.master, mended) <= 1.0:
                found.append(column)
    return found


def _bright(sheet: Sheet, row: Row) -> float:
    """The luminance of the colour that a light was typed with; 0 without one."""
    rgb = rgb_of(sheet, row.section, row.group, LEVEL)
    return 0.0 if rgb is None else luminance(rgb, sheet.conventions.working_space)


def _finding(board: Board, transfer: Transfer, cells: list[Cell]) -> Finding:
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
        guessed=capital(f"{transfer.reason}."),
        do="Type the linear colour that the master has.",
    )
