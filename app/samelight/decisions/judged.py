"""The state of every cell of a table that was decided on, worked out once for all who ask.

A cell that follows from others has their state: intended where all that decide on it are, sent back where all are either,
and open else. A decision on such a cell itself, made while it was a case, rests meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.decision import Decision
from samelight.decisions.ledger import Ledger
from samelight.decisions.on_cell import OnCell
from samelight.decisions.state import NO_SHEET, UNDECIDED, Judgement, State, Versions, judge, version_for
from samelight.drift.cells import Cell, CellName, Grade
from samelight.drift.follows import Following, decide, following
from samelight.drift.rows import Entry
from samelight.drift.table import Table
from samelight.sheets.garbage import without_collection


@dataclass(frozen=True, slots=True, eq=False)
class _Basis:
    """What the judgement of one cell hangs on, beside the version of its master."""

    entry: Entry | None
    decisions: Sequence[Decision]
    version: int | None
    inside: bool
    judgement: Judgement


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """What was decided on the cells of a table, by a ledger at one revision.

    `judgements` and `states` hold every cell that a decision was made on and that the table has, and every one that is
    intended or sent back with what it follows from, by no decisions of its own. `rows` are the rows of the former in each
    column that has any. `intended` and `returned` are rows and columns of what is intended and of what was sent back, each
    two arrays of equal length; what is taken up counts as sent back. `elsewhere` are what was decided on and is no cell of
    the table: cases of findings, and what is gone. None of this changes.
    """

    table: Table
    following: Following
    ledger: Ledger
    revision: int
    versions: Versions
    sheets: Mapping[str, int] | None
    judgements: Mapping[Cell, Judgement]
    states: Mapping[Cell, State]
    rows: Mapping[int, Sequence[int]]
    intended: tuple[NDArray[np.intp], NDArray[np.intp]]
    returned: tuple[NDArray[np.intp], NDArray[np.intp]]
    elsewhere: Sequence[CellName]
    bases: Mapping[CellName, _Basis] = field(repr=False)

    def is_of(
        self, table: Table, ledger: Ledger, versions: Versions, sheets: Mapping[str, int] | None = None
    ) -> bool:
        """Whether it is still what was decided on this table."""
        return (
            self.table is table
            and self.ledger is ledger
            and self.revision == ledger.revision
            and (self.versions is versions or self.versions == versions)
            and (self.sheets is sheets or self.sheets == sheets)
        )

    def version_of(self, shot: str) -> int | None:
        """The version of a shot's sheet: none where no version is known, `NO_SHEET` where there is no sheet."""
        return None if self.sheets is None else self.sheets.get(shot, NO_SHEET)


_NOWHERE = np.zeros((2, 0), dtype=np.intp)


def nothing_judged(table: Table, ledger: Ledger, follows: Following) -> Judged:
    """What is judged of a table that nobody decides on."""
    nowhere = _NOWHERE[0], _NOWHERE[1]
    return Judged(table, follows, ledger, ledger.revision, None, None, {}, {}, {}, nowhere, nowhere, (), {})


@without_collection()
def judge_all(
    table: Table,
    ledger: Ledger,
    versions: Versions,
    before: Judged | None = None,
    follows: Following | None = None,
    sheets: Mapping[str, int] | None = None,
) -> Judged:
    """Judge every cell of the table that the ledger knows, anew only where its values or decisions are not as `before`.

    `versions` are those of the master setup that shots are compared with; `follows` is what follows from what in the table,
    where it is known already. `sheets` are the versions of the shots' sheets: a shot of none has no sheet that can be read.
    Where they are not given, no version is known.
    """
    follows = follows or following(table)
    known = before.bases if before is not None and before.versions == versions else {}
    bases: dict[CellName, _Basis] = {}
    judgements: dict[Cell, Judgement] = {}
    rows: dict[int, list[int]] = {}
    # A copy: a new master is tried in another thread, while the ledger takes in what others write.
    revision, decided = ledger.revision, dict(ledger.by_cell())
    cells, elsewhere = _placed(table, decided)
    for name, (row, column) in cells.items():
        version = None if sheets is None else sheets.get(name[0], NO_SHEET)
        basis = _basis(table, (row, column), decided[name], versions, version, known.get(name))
        bases[name] = basis
        if not follows.mask[row, column]:
            judgements[row, column] = basis.judgement
            rows.setdefault(column, []).append(row)
    judgements.update(_followed(follows, judgements, sorted(rows)))
    states = {cell: judgement.state for cell, judgement in judgements.items()}
    return Judged(
        table,
        follows,
        ledger,
        revision,
        versions,
        sheets,
        MappingProxyType(judgements),
        MappingProxyType(states),
        MappingProxyType({column: tuple(sorted(held)) for column, held in rows.items()}),
        _places(states, State.INTENDED),
        _places(states, State.SENT_BACK, State.TAKEN_UP),
        tuple(elsewhere),
        bases,
    )


def _placed(table: Table, decided: Iterable[CellName]) -> tuple[dict[CellName, Cell], list[CellName]]:
    """Where in the table the cells are that were decided on; and those of its shots that are no cell of it."""
    cells: dict[CellName, Cell] = {}
    elsewhere: list[CellName] = []
    for name in decided:
        row, column = table.row(name[1]), table.column(name[0])
        if row is not None and column is not None:
            cells[name] = row, column
        elif column is not None:
            elsewhere.append(name)
    return cells, elsewhere


def _basis(
    table: Table,
    cell: Cell,
    decisions: OnCell,
    versions: Versions,
    version: int | None,
    before: _Basis | None,
) -> _Basis:
    """What a cell's judgement rests on now, and the judgement: anew where that is not as `before`."""
    row, column = cell
    entry, inside = table.entry(row, column), table.grade.item(row, column) < Grade.DRIFT
    is_group = not table.rows[row].leaf  # which hangs on more than its own entry
    if (
        before is not None
        and not is_group
        and before.entry is entry
        and before.decisions == decisions
        and (before.version, before.inside) == (version, inside)
    ):
        return before
    judgement = judge(
        *table.bound(row, column),
        decisions.judged_by(),
        version_for(versions, table.shots[column]),
        shot_version=version,
        inside=inside,
    )
    return _Basis(entry, decisions, version, inside, judgement)


def _places(states: Mapping[Cell, State], *wanted: State) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of the cells in one of these states."""
    found = np.array([cell for cell, state in states.items() if state in wanted], dtype=np.intp)
    across = found.reshape(-1, 2).T
    return across[0], across[1]


_FOLLOWED = (UNDECIDED, Judgement(State.SENT_BACK), Judgement(State.INTENDED))
"""What a cell is judged that follows from others, the least of which stands so: open, sent back, intended."""
_STANDS = {State.SENT_BACK: 1, State.TAKEN_UP: 1, State.INTENDED: 2}


def _followed(
    follows: Following, judgements: Mapping[Cell, Judgement], columns: Sequence[int]
) -> dict[Cell, Judgement]:
    """The cells of these columns that are intended or sent back with what they follow from."""
    table, across = follows.table, np.array(columns, dtype=np.intp)
    place = {column: index for index, column in enumerate(columns)}
    stands = np.zeros((len(table.rows), len(columns)), dtype=np.uint8)
    for (row, column), judgement in judgements.items():
        stands[row, place[column]] = _STANDS.get(judgement.state, 0)
    found: dict[Cell, Judgement] = {}
    for feed in follows.feeds:
        mask = follows.mask[np.ix_(feed.rows, across)]
        decides = decide(table.grade[np.ix_(feed.inputs, across)])
        least = np.where(decides, stands[feed.inputs], _STANDS[State.INTENDED]).min(axis=0, initial=2)
        for index, at in np.argwhere(mask & (least > 0)).tolist():
            found[int(feed.rows[index]), columns[at]] = _FOLLOWED[least[at]]
    return found
