"""What was typed, as far as a slip of the hand shows in it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, TypeVar

from samelight.drift.table import Row
from samelight.drift.words import number_text, value_text
from samelight.findings.board import Board
from samelight.findings.words import listed, on_or_off, signed
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import COLOUR, LEVEL

Slip = TypeVar("Slip")

_NUMBER = re.compile(r"[-+]?(\d*)(?:\.(\d*))?(?:[eE]([-+]?\d+))?")


def numbers_in(typed: Any) -> Iterator[str]:
    """The numbers of a typed value as text, in order.

    >>> list(numbers_in("350 cm")), list(numbers_in([1.5, "2 ft"]))
    (['350'], ['1.5', '2'])
    """
    if isinstance(typed, bool) or typed is None:
        return
    if isinstance(typed, int | float):
        yield repr(typed)
    elif isinstance(typed, str):
        match = re.match(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)", typed)
        if match:
            yield match[1]
    elif isinstance(typed, list | tuple):
        for item in typed:
            yield from numbers_in(item)


def half_step(number: str) -> float:
    """Half of the last decimal place of a number as written: what rounding may have taken from it.

    >>> half_step("11.48"), half_step("350"), half_step("1e-3")
    (0.005, 0.5, 0.0005)
    """
    match = _NUMBER.fullmatch(number)
    if match is None:
        return 0.0
    decimals = len(match[2] or "") if match[2] != "0" else 0
    return float(f"5e{int(match[3] or 0) - decimals - 1}")


def rounding(typed: Mapping[str, Any]) -> float:
    """The share of a typed value that rounding may account for, 0..1; of several numbers the root of the squares.

    >>> round(rounding({"range": "11.48 ft"}), 6)
    0.000436
    """
    written = [text for value in typed.values() for text in numbers_in(value)]
    size = sum(float(text) ** 2 for text in written) ** 0.5
    slack = sum(half_step(text) ** 2 for text in written) ** 0.5
    return min(slack / size, 1.0) if size > 0 else 1.0


def rgb_of(sheet: Sheet, section: str, group: str, leaf: str) -> tuple[float, float, float] | None:
    """The red, green and blue that were typed for a colour of a sheet (see `rgb_typed`)."""
    return rgb_typed(sheet.as_typed(section, group, leaf), leaf)


def rgb_typed(typed: Mapping[str, Any], leaf: str) -> tuple[float, float, float] | None:
    """The red, green and blue of what was typed for a colour; None where there are none, or where they are animated.

    A light without a colour of its own is white.
    """
    names = [name for name in ("color", leaf) if name in typed]
    value = typed[names[0]] if names else [1.0, 1.0, 1.0] if leaf in ("colour", "level") else None
    if not isinstance(value, list) or len(value) != 3:
        return None
    if not all(isinstance(item, int | float) and not isinstance(item, bool) for item in value):
        return None
    red, green, blue = (float(item) for item in value)
    return red, green, blue


def aim_that_follows(board: Board, position: Row, column: int) -> list[int]:
    """The row of a light's direction where that drifts only since the light was typed with a target and stands wrong."""
    sheet, index = board.sheets[column], board.row_of(position.section, position.group, "direction")
    if position.leaf != "position" or sheet is None or index is None or not board.left[index, column]:
        return []
    typed = sheet.as_typed(position.section, position.group, "direction")
    master = board.master.as_typed(position.section, position.group, "direction")
    return [index] if "target" in typed and typed.get("target") == master.get("target") else []


_SIZES = ("radius", "width", "height", "length", "angle", "cone")


def what_follows(board: Board, row: Row, column: int) -> list[int]:
    """The rows of a light that drift only since this one does: where it points, as the target stands; how bright it is, as
    nothing was typed otherwise for it and its size counts."""
    return [*aim_that_follows(board, row, column), *level_that_follows(board, row, column)]


def level_that_follows(board: Board, size: Row, column: int) -> list[int]:
    """The row of a light's level where that drifts only since its size counts and is another."""
    sheet, index = board.sheets[column], board.row_of(size.section, size.group, "level")
    if size.section != "lights" or size.leaf not in _SIZES or sheet is None or index is None:
        return []
    if not board.left[index, column]:
        return []
    typed, master = (one.as_typed(size.section, size.group, "level") for one in (sheet, board.master))
    return [index] if typed == master else []


def number_typed(typed: Mapping[str, Any], name: str) -> float | None:
    """A plain number, or one with a unit, as it was typed under a name; None for anything else, and for nothing.

    >>> number_typed({"temperature": "4300 K"}, "temperature"), number_typed({}, "exposure")
    (4300.0, None)
    """
    value = typed.get(name)
    numbers = [] if isinstance(value, list | tuple) else list(numbers_in(value))
    return float(numbers[0]) if numbers else None


def typed_otherwise(board: Board, index: int, column: int) -> list[tuple[str, Any, Any]]:
    """The names under which a shot and the master have another value typed for a cell: name, the shot's, the master's.

    None stands for what is not typed."""
    row, sheet = board.table.rows[index], board.sheets[column]
    shot = {} if sheet is None else sheet.as_typed(row.section, row.group, row.leaf)
    master = board.master.as_typed(row.section, row.group, row.leaf)
    return [
        (name, shot.get(name), master.get(name))
        for name in {**master, **shot}
        if shot.get(name) != master.get(name)
    ]


def master_as_typed(board: Board, index: int, column: int) -> str:
    """What the master has typed where the shot has another value, as a lighter types it: "exposure +0.5", "temperature 2400 K"."""
    row = board.table.rows[index]
    otherwise = typed_otherwise(board, index, column)
    if row.kind not in (LEVEL, COLOUR) or any(isinstance(value, Mapping) for _, _, value in otherwise):
        return value_text(board.entry(index, column).master, row.kind, board.north)
    return listed([f"{name} {typed_text(name, value)}" for name, _, value in otherwise])


def typed_text(name: str, value: Any) -> str:
    """A typed value as it is said.

    >>> typed_text("exposure", -1), typed_text("temperature", 4300), typed_text("normalize", True), typed_text("color", [1, 0.5])
    ('−1', '4300 K', 'on', '1, 0.5')
    """
    if value is None:
        return "not set"
    if isinstance(value, bool):
        return on_or_off(value)
    if isinstance(value, list):
        return ", ".join(typed_text("", item) for item in value)
    if not isinstance(value, int | float):
        return str(value)
    if name == "exposure":
        return signed(value)
    return f"{number_text(value, 6)} K" if name == "temperature" else number_text(value, 6)


def in_same_places(
    hits: Mapping[int, Mapping[Slip, list[int]]],
) -> dict[tuple[Slip, tuple[int, ...]], list[int]]:
    """The shots (columns) that have a slip in the same rows, by slip and rows; `hits` are rows by column and slip."""
    alike: dict[tuple[Slip, tuple[int, ...]], list[int]] = {}
    for column, slips in sorted(hits.items()):
        for slip, rows in slips.items():
            alike.setdefault((slip, tuple(dict.fromkeys(rows))), []).append(column)
    return alike
