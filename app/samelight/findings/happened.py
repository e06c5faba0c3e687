"""What happened to a cell, as a clause of a finding."""

from __future__ import annotations

from samelight.drift.rows import Row
from samelight.findings.board import Board
from samelight.findings.courses import with_typed_levels
from samelight.findings.words import happening
from samelight.sheets.values import Curve
from samelight.sheets.vocabulary import LEVEL


def what_happened(board: Board, index: int, column: int) -> str:
    """What happened to a cell."""
    row = board.table.rows[index]
    distant = row.section == "lights" and _light_type(board, row.group, column) == "distant"
    entry = board.entry(index, column)
    if row.leaf == LEVEL and (isinstance(entry.master, Curve) or isinstance(entry.value, Curve)):
        sheet = board.sheets[column]
        typed = {} if sheet is None else sheet.as_typed(row.section, row.group, LEVEL)
        entry = with_typed_levels(entry, board.master.as_typed(row.section, row.group, LEVEL), typed)
    said = happening(row, entry, board.north, distant)
    kelvins = _kelvins(board, row, column) if row.leaf == "colour" else ""
    return f"{said}, {kelvins}" if kelvins else said


def _kelvins(board: Board, row: Row, column: int) -> str:
    """Temperatures as typed, where nothing else makes a colour differ: "4770 K for 5000 K"."""
    sheet = board.sheets[column]
    typed = [
        {} if one is None else one.as_typed(row.section, row.group, "colour") for one in (sheet, board.master)
    ]
    kelvins = [colour.get("temperature") for colour in typed]
    if typed[0].get("color") != typed[1].get("color"):
        return ""
    if not all(isinstance(kelvin, int | float | str) for kelvin in kelvins):  # not typed, or animated
        return ""
    return " for ".join(
        text if not text.replace(".", "").isdigit() else f"{text} K" for text in map(str, kelvins)
    )


def _light_type(board: Board, light: str, column: int) -> str:
    """The type of a light in the master, or in the shot where the master lacks it."""
    here = board.master.value("lights", light, "type") or board.group(column, "lights", light).get("type")
    return here if isinstance(here, str) else ""
