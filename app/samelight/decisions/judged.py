"""The state of every cell of a table that was decided on, worked out once for all who ask."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.decision import Decision
from samelight.decisions.ledger import Ledger
from samelight.decisions.state import Judgement, State, judge
from samelight.drift.rows import Entry
from samelight.drift.table import Table

Cell = tuple[int, int]
"""Row and column of the drift table."""


@dataclass(frozen=True, slots=True, eq=False)
class _Basis:
    """What the judgement of one cell hangs on, beside the master's version."""

    entry: Entry | None
    decisions: Sequence[Decision]
    judgement: Judgement


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """What was decided on the cells of a table, by a ledger at one revision.

    `judgements` and `states` hold every cell that a decision was made on and that the table has, `rows` the rows of those
    in each column that has any. `intended` are rows and columns of what is intended, two arrays of equal length. None of
    this changes.
    """

    table: Table
    ledger: Ledger
    revision: int
    master_version: int | None
    judgements: Mapping[Cell, Judgement]
    states: Mapping[Cell, State]
    rows: Mapping[int, Sequence[int]]
    intended: tuple[NDArray[np.intp], NDArray[np.intp]]
    _bases: Mapping[tuple[str, str], _Basis] = field(repr=False)

    def is_of(self, table: Table, ledger: Ledger, master_version: int | None) -> bool:
        """Whether it is still what was decided on this table."""
        return (
            self.table is table
            and self.ledger is ledger
            and self.revision == ledger.revision
            and self.master_version == master_version
        )


def judge_all(
    table: Table, ledger: Ledger, master_version: int | None, before: Judged | None = None
) -> Judged:
    """Judge every cell of the table that the ledger knows, anew only where its values or decisions are not as `before`."""
    same_master = before is not None and before.master_version == master_version
    known = before._bases if before is not None and same_master else {}
    bases: dict[tuple[str, str], _Basis] = {}
    judgements: dict[Cell, Judgement] = {}
    rows: dict[int, list[int]] = {}
    # A copy: a new master is tried in another thread, while the ledger takes in what others write.
    revision, decided = ledger.revision, list(ledger.by_cell().items())
    for name, decisions in decided:
        shot, parameter = name
        row, column = table.row(parameter), table.column(shot)
        if row is None or column is None:
            continue
        entry, basis = table.entry(row, column), known.get(name)
        if basis is None or basis.entry is not entry or basis.decisions != decisions:
            value, master = (entry.value, entry.master) if entry is not None else (None, None)
            basis = _Basis(entry, decisions, judge(value, master, decisions, master_version))
        bases[name] = basis
        judgements[row, column] = basis.judgement
        rows.setdefault(column, []).append(row)
    states = {cell: judgement.state for cell, judgement in judgements.items()}
    intended = np.array([cell for cell, state in states.items() if state is State.INTENDED], dtype=np.intp)
    across = intended.reshape(-1, 2).T
    return Judged(
        table,
        ledger,
        revision,
        master_version,
        MappingProxyType(judgements),
        MappingProxyType(states),
        MappingProxyType({column: tuple(sorted(held)) for column, held in rows.items()}),
        (across[0], across[1]),
        bases,
    )
