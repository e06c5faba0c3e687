"""What a renderer falls back to, by the policy, in the form in which values are compared."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from samelight.drift.table import Row
from samelight.findings.board import Board
from samelight.findings.nearness import same
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Faults
from samelight.sheets.quantities import Reader
from samelight.sheets.values import Static, Value, strictly_equal
from samelight.sheets.vocabulary import FOLDED, kind_by_name


class Defaults:
    """The policy's defaults, read as the master's sheet is read, each once."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._read: dict[int, Value | None] = {}
        self._folded: dict[int, dict[str, Static]] = {}
        self._stated: dict[tuple[int, str | None], Static | None] = {}

    def of(self, index: int) -> Value | None:
        """The default of a row; None where the policy names none, or none that can be read."""
        if index not in self._read:
            row = self._board.table.rows[index]
            self._read[index] = self._canonical(row.parameter, row.kind)
        return self._read[index]

    def explains(self, index: int, column: int) -> bool:
        """Whether a cell holds its default, or is not set where there is one that is not the master's value.

        A level or colour is at its default when every name it was typed under that differs from the master's
        is at the default that the policy names for it, such as `lights.*.intensity`.
        """
        board, row = self._board, self._board.table.rows[index]
        entry = board.entry(index, column)
        if entry.master is None:
            return False
        default = self.of(index)
        if default is None:
            return entry.value is not None and self._by_typed_names(index, row, column)
        if entry.value is None:
            return not same(row, default, entry.master)
        return same(row, default, entry.value)

    def _by_typed_names(self, index: int, row: Row, column: int) -> bool:
        sheet, defaults = self._board.sheets[column], self._typed_defaults(index, row)
        if not defaults or sheet is None:
            return False
        master = self._board.master.as_typed(row.section, row.group, row.leaf)
        typed = sheet.as_typed(row.section, row.group, row.leaf)
        fallen = []
        for name in {**master, **typed}:
            here = _canonical(typed.get(name), kind_by_name(name), sheet.conventions)
            there = _canonical(master.get(name), kind_by_name(name), self._board.master.conventions)
            if not strictly_equal(here, there):
                default = defaults.get(name)
                fallen.append(default is not None and (here is None or strictly_equal(here, default)))
        return bool(fallen) and all(fallen)

    def _typed_defaults(self, index: int, row: Row) -> dict[str, Static]:
        """The defaults of the names that fold into a row, by name; empty where there are none."""
        if index not in self._folded:
            names = FOLDED.get(row.leaf, ()) if row.section in ("lights", "environments") else ()
            read = ((name, self._canonical(f"{row.group_name}.{name}", kind_by_name(name))) for name in names)
            self._folded[index] = {name: value for name, value in read if value is not None}
        return self._folded[index]

    def _canonical(self, parameter: str, kind: str | None) -> Static | None:
        stated = self._board.evidence.policy.default(parameter)
        if stated is None:
            return None
        # By identity: the policy keeps what it states, and states it for every light.
        key = id(stated), kind
        if key not in self._stated:
            self._stated[key] = _canonical(stated, kind, self._board.master.conventions)
        return self._stated[key]


def _canonical(stated: Any, kind: str | None, conventions: Conventions) -> Static | None:
    faults = Faults(Path("policy"), lambda place: None)
    value = Reader(conventions, faults).value(stated, kind, ())
    return None if len(faults) else value
