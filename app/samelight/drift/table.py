"""The drift table: every parameter of every shot against the master, measured and graded.

Rows are parameters, columns shots in cut order. What a view needs for every cell (drift, grade, severity) lies
in arrays of shape (rows, shots); values are kept as they are and a `Cell` is made when someone looks.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Cell, Grade
from samelight.drift.metrics import SCALES
from samelight.drift.rows import NOTHING, Entry, ExtraRow, Row, graded
from samelight.sheets.values import Curve
from samelight.sheets.vocabulary import CURVE

__all__ = ["Entry", "ExtraRow", "Row", "Table", "graded"]


@dataclass(slots=True)
class Table:
    """All rows and shots. `None` in `entries` means that neither the shot's sheet nor the master holds anything there.

    `drift`, `severity` (float64, NaN and inf as `Entry` says) and `grade` (uint8) have the shape
    (rows, shots).
    """

    shots: tuple[str, ...]
    rows: tuple[Row, ...]
    entries: list[list[Entry | None]]
    drift: NDArray[np.float64]
    severity: NDArray[np.float64]
    grade: NDArray[np.uint8]
    _row_of: dict[str, int] = field(default_factory=dict)
    _column_of: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._row_of = {row.parameter: index for index, row in enumerate(self.rows)}
        self._column_of = {shot: index for index, shot in enumerate(self.shots)}

    def row(self, parameter: str) -> int | None:
        """The index of a parameter's row."""
        return self._row_of.get(parameter)

    def column(self, shot: str) -> int | None:
        """The index of a shot's column."""
        return self._column_of.get(shot)

    def cell(self, row: int, column: int) -> Cell:
        """The cell at a row and column."""
        what, shot = self.rows[row], self.shots[column]
        entry = self.entries[row][column] or NOTHING
        animated = isinstance(entry.master, Curve) or isinstance(entry.value, Curve)
        return Cell(
            shot=shot,
            parameter=what.parameter,
            kind=CURVE if animated else what.kind,
            base=what.kind,
            master=entry.master,
            value=entry.value,
            drift=entry.drift,
            unit=SCALES[what.kind].unit,
            tolerance=what.tolerance.at_most,
            grade=entry.grade,
            remark=entry.remark,
        )

    def cells(self, above: Grade = Grade.SAME) -> Iterable[Cell]:
        """Every cell whose grade is above `above`, row by row, in cut order."""
        for row, column in np.argwhere(self.grade > above):
            yield self.cell(int(row), int(column))

    def counts(self, shots: Sequence[str] | None = None) -> dict[str, int]:
        """How many cells have each grade, by its name; of these shots only, where they are given."""
        grades = self.grade
        if shots is not None:
            grades = grades[:, [self._column_of[shot] for shot in shots]]
        return {grade.word: int(np.count_nonzero(grades == grade)) for grade in Grade if grade.word}
