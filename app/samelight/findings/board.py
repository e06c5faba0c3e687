"""The board that findings are drawn on: which cells drift and are unsettled, and which of them are explained already."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from samelight.decisions.state import State
from samelight.drift.cells import ABSENT, EXTRA, Cell, CellName, Grade
from samelight.drift.follows import following
from samelight.drift.rows import costs_only
from samelight.drift.table import Entry, Row
from samelight.drift.words import drift_text
from samelight.findings.finding import Action, Case, Concern, Evidence, Finding, Sureness, case_name
from samelight.findings.words import shots_text
from samelight.light.noise import first_largest
from samelight.sheets.moved import each_moved
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group, Named, Value
from samelight.sheets.vocabulary import COMPARED_SECTIONS, COUNT, LEVEL

ON_DRIFT = (Action.RETURN, Action.INTEND, Action.SHOW)


@dataclass(frozen=True, slots=True)
class Rests:
    """The values of one shot that a finding rests on, by name, and what they are compared with where that is not the master setup.

    `beside` cells of the finding that are out of tolerance in that shot there is something left to decide on.
    """

    value: Mapping[str, Value | None]
    master: Mapping[str, Value | None] = field(default_factory=dict)
    beside: bool = False


class Board:
    """What every finder looks at. Finders run in order of precedence; `left` shrinks as cells find their reason.

    `open` (rows x shots) marks cells that drift and that nobody called intended, `taken` those that a finding explains,
    `meant` the intended ones, `varied` the rows in which any cell differs; `following` says which cells follow from others; `filled` counts the shots that have a sheet. Rows that are computed and not typed are in `open`, never in `left`.
    """

    def __init__(self, evidence: Evidence, master: Sheet) -> None:
        self.evidence = evidence
        self.table = evidence.table
        self.master = master
        self.north = master.conventions.north
        self.sheets: list[Sheet | None] = [evidence.sheets.get(shot) for shot in self.table.shots]
        self.filled = sum(sheet is not None for sheet in self.sheets)
        shape = self.table.grade.shape
        self.meant: NDArray[np.bool_] = np.zeros(shape, dtype=np.bool_)
        for cell, judgement in evidence.judgements.items():
            self.meant[cell] = judgement.state is State.INTENDED
        self.typed: NDArray[np.bool_] = np.array(
            [row.section in COMPARED_SECTIONS for row in self.table.rows], dtype=np.bool_
        )
        self._off: NDArray[np.bool_] = self.table.grade >= Grade.DRIFT
        self.varied: NDArray[np.bool_] = np.asarray((self.table.grade > Grade.SAME).any(axis=1))
        self.unsettled: NDArray[np.bool_] = self._off & ~self.meant
        self.taken: NDArray[np.bool_] = np.zeros(shape, dtype=np.bool_)
        self.left: NDArray[np.bool_] = self.unsettled & self.typed[:, None]
        self.following = following(self.table)
        self._moved: dict[int, Sheet | dict[str, Sheet]] = {}
        self._groups: dict[tuple[str, str], list[int]] = {}
        for index, row in enumerate(self.table.rows):
            self._groups.setdefault((row.section, row.group), []).append(index)

    @cached_property
    def reaching(self) -> Mapping[str, list[int]]:
        """By the name of a light, the rows of what marks get of it."""
        found: dict[str, list[int]] = {}
        for index, row in enumerate(self.table.rows):
            if row.section == "marks" and row.kind == LEVEL:
                _, between, light = row.parameter.rpartition(".level.")
                if between:
                    found.setdefault(light, []).append(index)
        return found

    def fresh(self, finding: Finding) -> Finding | None:
        """A finding without the cells that another has taken since it was made; None where nothing is left of it."""
        cells = tuple(cell for cell in finding.cells if not self.taken[cell])
        if len(cells) == len(finding.cells):
            return finding
        return replace(finding, cells=cells, explained=self.named(cells)) if cells or finding.cases else None

    def named(self, cells: Iterable[Cell]) -> tuple[CellName, ...]:
        """Cells as (shot, parameter)."""
        return tuple((self.table.shots[column], self.table.rows[index].parameter) for index, column in cells)

    def take(self, cells: Iterable[Cell]) -> None:
        """Mark cells as explained."""
        for cell in cells:
            self.taken[cell] = True
            self.left[cell] = False

    def rows_left(
        self, wanted: Callable[[Row], bool] = lambda row: True
    ) -> Iterator[tuple[int, Row, list[int]]]:
        """Index, row and columns of every row that is wanted and has cells left."""
        rows, places = np.nonzero(self.left)
        columns: list[int] = places.tolist()
        starts = np.flatnonzero(np.diff(rows, prepend=-1))
        bounds = [*starts.tolist(), len(columns)]
        for index, start, end in zip(rows[starts].tolist(), bounds[:-1], bounds[1:], strict=True):
            row = self.table.rows[index]
            if wanted(row):
                yield index, row, columns[start:end]

    def presence_left(self) -> Iterator[tuple[int, Row, list[int]]]:
        """The rows of `rows_left` that say whether a whole group is there."""
        return self.rows_left(lambda row: not row.leaf)

    def entry(self, index: int, column: int) -> Entry:
        """The entry of a cell that has one. Raises LookupError for an empty cell."""
        entry = self.table.entry(index, column)
        if entry is None:
            raise LookupError(f"nothing in row {index}, column {column}")
        return entry

    def entries(self, index: int, columns: Sequence[int]) -> list[Entry]:
        """The entries of cells of one row that have one. Raises LookupError for an empty cell."""
        pool = self.table.pool
        found = [pool[code] for code in self.table.codes[index, columns].tolist()]
        held = [entry for entry in found if entry is not None]
        if len(held) < len(found):
            raise LookupError(f"nothing in some of row {index}, columns {columns}")
        return held

    def varied_in(self, section: str, group: str) -> list[int]:
        """The rows of a group in which any cell differs."""
        varied = self.varied.data
        return [index for index in self._groups.get((section, group), []) if varied[index]]

    def computed(self, section: str, group: str, columns: Iterable[int]) -> list[Cell]:
        """The unsettled cells of the computed rows of a group in these shots."""
        rows = self._groups.get((section, group), [])
        return [(index, column) for column in columns for index in rows if self.unsettled[index, column]]

    def row_of(self, section: str, group: str, leaf: str) -> int | None:
        """The row of a parameter, or None."""
        return self.table.row(parameter_name(section, group, leaf))

    def group(self, column: int, section: str, group: str) -> Group:
        """The values of a group in a shot; empty where it has none."""
        sheet = self.sheets[column]
        return {} if sheet is None else sheet.sections.get(section, {}).get(group, {})

    def master_at(self, column: int, master: Sheet | None = None) -> Sheet:
        """A master, by default that of the board, as a shot is compared with it: its animation told from the shot's own start."""
        whole = self.master if master is None else master
        if id(whole) not in self._moved:
            self._moved[id(whole)] = each_moved(whole, self.evidence.sheets, self.table.shots)
        moved = self._moved[id(whole)]
        return moved if isinstance(moved, Sheet) else moved[self.table.shots[column]]

    def shots(self, columns: Sequence[int]) -> str:
        """The shots of these columns, as a sentence names them."""
        return shots_text(columns, self.table.shots)

    def make(
        self,
        name: str,
        says: str,
        cells: Iterable[Cell],
        *,
        columns: Iterable[int] = (),
        parameters: Iterable[str] = (),
        sureness: Sureness = Sureness.CERTAIN,
        known: str = "",
        guessed: str = "",
        do: str = "",
        concern: Concern | None = None,
        actions: tuple[Action, ...] | None = None,
        rests: Mapping[int, Rests] | None = None,
        subject: str = "",
    ) -> Finding:
        """A finding with what follows from its cells filled in: shots in cut order, parameters, worst drift.

        `columns` and `parameters` are added to those of the cells. Cells that are intended, or that another finding
        explains already, are left out.

        `rests` says by column on what values the finding rests where it is a case by itself, which it is where none of
        its cells is out of tolerance and it is certain or likely; `subject` is what it is about, as the name of that case
        says it.
        """
        cells = sorted(set(cells))
        spots, off = self._free_and_off(cells)
        shown = sorted({column for _, column in spots} | set(columns))
        named = dict.fromkeys((*(self.table.rows[index].parameter for index, _ in spots), *parameters))
        worst, text, gravest = self._worst(spots)
        cases = self._cases(name, subject, sureness, rests or {}, {column for _, column in off})
        return Finding(
            finding=name,
            says=says,
            shots=tuple(self.table.shots[column] for column in shown),
            parameters=tuple(named),
            cells=tuple(spots),
            sureness=sureness,
            known=known,
            guessed=guessed,
            do=do,
            worst=worst,
            worst_text=text,
            concern=gravest if concern is None else concern,
            actions=(ON_DRIFT if spots or cases else (Action.SHOW,)) if actions is None else actions,
            explained=self.named(spots),
            rests_on=tuple(off if off or cases else cells),
            cases=cases,
        )

    def _free_and_off(self, cells: Sequence[Cell]) -> tuple[list[Cell], list[Cell]]:
        """Of these cells those that are neither intended nor explained already, and those that are out of tolerance."""
        # Most findings have a cell or two, for which arrays take longer than they save.
        taken, meant, off = self.taken.data, self.meant.data, self._off.data
        free = [cell for cell in cells if not (taken[cell] or meant[cell])]
        return free, [cell for cell in cells if off[cell]]

    def drifts(self, index: int, column: int) -> bool:
        """Whether a cell is out of tolerance, whatever was decided on it."""
        return bool(self._off[index, column])

    def _cases(
        self,
        name: str,
        subject: str,
        sureness: Sureness,
        rests: Mapping[int, Rests],
        decided_there: Collection[int],
    ) -> tuple[Case, ...]:
        """The cases of a finding, in cut order; none where the policy says that it is none, or where it is one reading of several.

        In the shots that are `decided_there`, on its cells, it has none but where it rests on what is beside these.
        """
        level = self.evidence.policy.finding_level(name, certain=sureness is Sureness.CERTAIN)
        if sureness is Sureness.POSSIBLE or level <= Grade.SAME:
            return ()
        parameter = case_name(name, subject)
        return tuple(
            Case(self.table.shots[column], parameter, level, Named.of(rest.value), _held(rest.master))
            for column, rest in sorted(rests.items())
            if rest.beside or column not in decided_there
        )

    def _worst(self, spots: Sequence[Cell]) -> tuple[float, str, Concern]:
        """The severity of the worst of some cells, of which each shows somewhere, its drift in words, and where it shows."""
        if not spots:
            return 0.0, "", Concern.ORDER
        concerns = [self._concern_at(*cell) for cell in spots]
        # What shows in the picture comes first: any change of a count has an infinite severity.
        gravest = min(concerns)
        first = [cell for cell, concern in zip(spots, concerns, strict=True) if concern is gravest]
        heavy = self.table.severity.at(first)
        place = first_largest(heavy)
        worst = first[place]
        says = self.table.cell(*worst)
        return heavy[place], f"{drift_text(says)} ({says.parameter}, {says.shot})", gravest

    def _concern_at(self, index: int, column: int) -> Concern:
        row = self.table.rows[index]
        if row.kind == COUNT and costs_only(row, float(self.table.drift[index, column])):
            return Concern.ORDER
        return concern_of(row)


def _held(values: Mapping[str, Value | None]) -> Named | None:
    return Named.of(values) if values else None


def concern_of(row: Row) -> Concern:
    """Where drift of a parameter shows."""
    if row.section == "cost":
        return Concern.ORDER
    return Concern.NOISE if row.kind == COUNT else Concern.PICTURE


def is_absent(entry: Entry) -> bool:
    """Whether the master has the value or group and the shot lacks it."""
    return entry.remark == ABSENT


def is_extra(entry: Entry) -> bool:
    """Whether the shot has the value or group and the master lacks it."""
    return entry.remark == EXTRA
