"""A cell: one parameter of one shot, compared with the master."""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

from samelight.sheets.values import Named, Value


class Grade(IntEnum):
    """The drift level of a cell, in rising order. `NONE` is a cell with nothing in it."""

    NONE = 0
    SAME = 1
    WITHIN = 2
    DRIFT = 3
    BREAK = 4

    @property
    def word(self) -> str:
        """The name in files and in the window; empty for `NONE`."""
        return ("", "same", "within", "drift", "break")[self]


GRADES: dict[str, Grade] = {grade.word: grade for grade in Grade if grade.word}

ABSENT, EXTRA = "absent", "extra"

Cell = tuple[int, int]
"""Where a cell stands in a table: row and column."""

CellName = tuple[str, str]
"""The name of a cell in any table: shot and parameter. A finding's case has such a name too, for its parameter see `case_name`."""


class ComparedCell(NamedTuple):
    """What the grid shows of one parameter in one shot, apart from the decisions on it. Two are equal as entries are.

    `drift` is in the unit of `kind`: NaN where it has no number, infinite where light against dark has none.
    `kind` is `curve` where either side is animated; `value_kind` is then what its values are. `holds` is all a group
    holds that only the shot has.
    """

    shot: str
    parameter: str
    kind: str
    value_kind: str
    master: Value | None
    value: Value | None
    drift: float
    unit: str
    tolerance: float
    grade: Grade
    remark: str = ""
    holds: Named | None = None

    @property
    def drifts(self) -> bool:
        """Whether someone has to look at the cell: it drifts or breaks a lock."""
        return self.grade >= Grade.DRIFT
