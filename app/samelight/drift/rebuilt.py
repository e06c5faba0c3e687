"""A table after a little has changed: only the columns of changed shots, or the grades of changed tolerances.

Each gives what building the whole table anew would give, or None where that is not certain. And which cells changed
between two tables.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from weakref import ref

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import EXTRA, CellName, Grade
from samelight.drift.derived_names import PICTURE
from samelight.drift.figures import OfEntries
from samelight.drift.metrics import severity
from samelight.drift.policy import Policy
from samelight.drift.rows import NOTHING, Entry, ExtraRow, Row, bad_grade, inside_grade
from samelight.drift.structure import held, same_group
from samelight.drift.table import Table, build_table
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Group
from samelight.sheets.vocabulary import COMPARED_SECTIONS

_LARGE = 50_000
"""Entries that a pool may always have, used or not."""


@dataclass(frozen=True, slots=True)
class Rebuild:
    """A table whose columns of some shots are to be built anew.

    `changed` are the shots whose sheet is another one: `sheets` are all there are now, `was` all before. `references` has
    what the shot of each such column is compared with, and `derived` are the computed rows of these shots alone.
    """

    before: Table
    changed: Sequence[str]
    sheets: Mapping[str, Sheet]
    was: Mapping[str, Sheet]
    references: Mapping[str, Sheet]
    policy: Policy
    derived: Sequence[ExtraRow]

    def pairs(self) -> list[tuple[Sheet, Sheet]] | None:
        """The sheets of the changed shots, now and before; None where one is missing."""
        if not all(shot in self.sheets and shot in self.was for shot in self.changed):
            return None
        return [(self.sheets[shot], self.was[shot]) for shot in self.changed]


def with_columns(mending: Rebuild, master: Sheet) -> Table | None:
    """The table with the columns of the changed shots built anew, where all are compared with one sheet."""
    pairs = mending.pairs()
    if pairs is None or any(_adds_rows(one, master) for pair in pairs for one in pair):
        return None
    return _built(mending, pairs)


def with_columns_of_each(mending: Rebuild) -> Table | None:
    """`with_columns` where each shot is compared with a sheet of its own, as those are that follow a changed shot.

    None also where a changed sheet holds other parameters than before, or other kinds of values.
    """
    pairs = mending.pairs()
    if pairs is None or not all(_laid_out_alike(now, was) for now, was in pairs):
        return None
    return _built(mending, pairs)


def _built(mending: Rebuild, pairs: Sequence[tuple[Sheet, Sheet]]) -> Table | None:
    """The table with what differs in the columns of the references built anew, from the groups that changed alone."""
    before, sheets, references = mending.before, mending.sheets, mending.references
    touched = _touched(pairs)
    held = {shot: _only(sheets[shot], touched) for shot in references if shot in sheets}
    against = {shot: _only(sheet, touched) for shot, sheet in references.items()}
    few = build_table(list(references), held, against, mending.policy, mending.derived, before)
    indices = _places_in(before, few)
    columns = [column for shot in references if (column := before.column(shot)) is not None]
    if indices is None or len(columns) < len(references):
        return None
    if not _are_still_told(before, few, indices, columns, mending.derived):
        return None
    for index in set(range(len(before.rows))) - set(indices):
        for column, (shot, reference) in zip(columns, references.items(), strict=True):
            sides = [reference, *([sheets[shot]] if shot in sheets else [])]
            # Of what was held or computed before, and is not any more, there is no saying.
            if before.codes[index, column] and not any(_holds(one, before.rows[index]) for one in sides):
                return None
    places = np.ix_(np.array(indices, dtype=np.intp), np.array(columns, dtype=np.intp))
    codes, grade = before.codes.copy(), before.grade.copy()
    codes[places], grade[places] = few.codes_after(before.pool), few.grade
    of_entries = before.of_entries.with_more(few.of_entries)
    after = Table(
        before.shots, before.rows, *_compact([*before.pool, *few.pool[1:]], codes, of_entries), grade
    )
    after.since = ref(before), np.sort((places[0] * len(before.shots) + places[1]).ravel())
    return after


def _places_in(before: Table, few: Table) -> list[int] | None:
    """Where the rows of one table stand in another; None where they are not the same there, or in another order."""
    here = [before.row(row.parameter) for row in few.rows]
    if [None if index is None else before.rows[index] for index in here] != list(few.rows):
        return None
    indices = [index for index in here if index is not None]
    return indices if indices == sorted(indices) else None


def _are_still_told(
    before: Table, few: Table, indices: Sequence[int], columns: Sequence[int], derived: Sequence[ExtraRow]
) -> bool:
    """Whether each computed row has a graded figure in some shot, or says in one why it has none, without which it would
    not be listed. A row of frames hangs on what was measured, which is the same."""
    names = {row.parameter for row in derived if row.section != PICTURE}
    others = np.ones(len(before.shots), dtype=np.bool_)
    others[list(columns)] = False
    return all(
        bool(few.grade[place].any())
        or bool(before.grade[index, others].any())
        or _says_why_missing(few, few.codes[place])
        or _says_why_missing(before, before.codes[index, others])
        for place, index in enumerate(indices)
        if few.rows[place].parameter in names
    )


def _says_why_missing(table: Table, codes: NDArray[np.int32]) -> bool:
    """Whether one of these cells has neither value nor reference, and a remark that says why."""
    entries = (table.pool[code] for code in set(codes.tolist()))
    return any(
        entry is not None and entry.value is entry.master is None and entry.remark for entry in entries
    )


def _compact(
    pool: list[Entry | None], codes: NDArray[np.int32], of_entries: OfEntries
) -> tuple[list[Entry | None], NDArray[np.int32], OfEntries]:
    """The same cells from a pool without what no cell holds any more, where the pool could have much of that."""
    if len(pool) < _LARGE + codes.size // 8:
        return pool, codes, of_entries
    used = np.bincount(codes.ravel(), minlength=len(pool)) > 0
    used[0] = True
    numbers = (np.cumsum(used) - 1).astype(np.int32)
    return [pool[index] for index in np.flatnonzero(used).tolist()], numbers[codes], of_entries.only(used)


def unlike(before: Table, after: Table) -> NDArray[np.intp] | None:
    """The cells that may hold another entry than before, as places in the flattened table, ascending; None where the tables
    have not the same parameters and shots.

    Entries that were carried over are the same objects, so that no two need be compared.
    """
    if before is after:
        return np.zeros(0, dtype=np.intp)
    if after.since is not None and after.since[0]() is before:
        return after.since[1]
    if after.shots != before.shots or not _same_parameters(before.rows, after.rows):
        return None
    return _unlike(before, after, before.codes)


def changed_cells(before: Table, after: Table) -> list[CellName]:
    """Shot and parameter of every cell whose value, reference or grade is not what it was, row by row."""
    was, found = before.codes, unlike(before, after)
    if found is None:
        rows = _places(before.row(row.parameter) for row in after.rows)
        columns = _places(before.column(shot) for shot in after.shots)
        was = np.pad(before.codes, ((0, 1), (0, 1)))[np.ix_(rows, columns)]
        found = _unlike(before, after, was)
    places = np.divmod(found, max(len(after.shots), 1))
    return [
        (after.shots[column], after.rows[row].parameter)
        for row, column in zip(*(each.tolist() for each in places), strict=True)
        if after.entry(row, column) != before.pool[was[row, column]]
    ]


def _unlike(before: Table, after: Table, was: NDArray[np.int32]) -> NDArray[np.intp]:
    """Where a table holds other entries than these codes of the pool of before."""
    if after.pool[: len(before.pool)] == before.pool[:]:  # the usual case: what is new was added to the pool
        return np.flatnonzero(after.codes != was)
    return np.flatnonzero(_identities(after.pool)[after.codes] != _identities(before.pool)[was])


def _same_parameters(before: Sequence[Row], after: Sequence[Row]) -> bool:
    return before is after or [row.parameter for row in before] == [row.parameter for row in after]


def _places(indices: Iterable[int | None]) -> NDArray[np.intp]:
    """Where something stood; what was not there stands in a last place, which holds nothing."""
    return np.array([-1 if index is None else index for index in indices], dtype=np.intp)


def _identities(pool: Sequence[Entry | None]) -> NDArray[np.int64]:
    return np.fromiter(map(id, pool), dtype=np.int64, count=len(pool))


def _adds_rows(sheet: Sheet, master: Sheet) -> bool:
    """Whether a sheet holds lights or the like that the master lacks, which may meet those of other shots."""
    for section in COMPARED_SECTIONS:
        setup = held(master.sections, section)
        if setup is None or section == "cost":
            continue
        groups = sheet.sections.get(section, {})
        for name, group in groups.items():
            if name not in setup or not group.keys() <= setup[name].keys():
                return True
    return False


def _holds(sheet: Sheet, row: Row) -> bool:
    """Whether a sheet itself, apart from what is computed from it, holds a row's parameter."""
    group = sheet.sections.get(row.section, {}).get(row.group)
    return group is not None and (not row.leaf or row.leaf in group)


def _laid_out_alike(one: Sheet, other: Sheet) -> bool:
    """Whether two sheets hold the same parameters in the same order, with values of the same kinds."""
    if list(one.sections) != list(other.sections):
        return False
    for section, groups in one.sections.items():
        theirs = other.sections[section]
        if list(groups) != list(theirs) or any(_form(groups[name]) != _form(theirs[name]) for name in groups):
            return False
    return True


def _form(group: Group) -> list[tuple[str, object]]:
    """What the rows of a group hang on: the names of its parameters, and of each what kind of value it has."""
    return [
        (leaf, value if leaf == "type" else (type(value), len(value) if isinstance(value, tuple) else 0))
        for leaf, value in group.items()
    ]


def _touched(pairs: Iterable[tuple[Sheet, Sheet]]) -> set[tuple[str, str]]:
    """Section and name of every group that is not the same on both sides of any pair; of every light where a mark moved,
    since what a light's place may be off goes by the nearest."""
    touched: set[tuple[str, str]] = set()
    for one, other in pairs:
        for section in {*one.sections, *other.sections}:
            here, there = one.sections.get(section, {}), other.sections.get(section, {})
            for name in {*here, *there}:
                a, b = here.get(name), there.get(name)
                if a is None or b is None or not same_group(a, b):
                    touched.add((section, name))
        if one.sections.get("marks") != other.sections.get("marks"):
            lights = {*one.sections.get("lights", {}), *other.sections.get("lights", {})}
            touched |= {("lights", name) for name in lights}
    return touched


def _only(sheet: Sheet, groups: Collection[tuple[str, str]]) -> Sheet:
    """A sheet with nothing but these groups, and its marks, in its sections."""
    sections = {
        section: {
            name: group for name, group in held.items() if section == "marks" or (section, name) in groups
        }
        for section, held in sheet.sections.items()
    }
    return replace(sheet, sections=sections)


def regraded(before: Table, policy: Policy) -> Table:
    """The table under other tolerances and locks. What was measured stays; kinds must be the same in both policies."""
    rows: list[Row] = []
    pool, codes, grade = list(before.pool), before.codes.copy(), before.grade.copy()
    for index, row in enumerate(before.rows):
        now = row._replace(
            tolerance=policy.tolerance(row.parameter, row.kind, row.light_type),
            lock=policy.lock(row.parameter, row.light_type),
        )
        rows.append(now)
        if _numbers(now) == _numbers(row):
            continue
        anew: dict[int, int] = {}
        # What is the same may still be off: a subject inside its tolerance.
        off = (before.grade[index] > Grade.SAME) | (before.severity[index] > 0.0)
        for column in off.nonzero()[0].tolist():
            code = int(codes[index, column])
            if code not in anew:
                anew[code] = len(pool)
                pool.append(_regraded(now, before.pool[code] or NOTHING))
            codes[index, column] = anew[code]
            grade[index, column] = (pool[anew[code]] or NOTHING).grade
    of_entries = before.of_entries.with_more(OfEntries.of([None, *pool[len(before.pool) :]]))
    return Table(before.shots, tuple(rows), *_compact(pool, codes, of_entries), grade)


def _numbers(row: Row) -> tuple[float, float, float, bool]:
    """What a row is graded by."""
    tolerance = row.tolerance
    return tolerance.at_most, tolerance.seen, tolerance.share, row.lock is None


def _regraded(row: Row, entry: Entry) -> Entry:
    if entry.master is None or entry.value is None:
        extra = entry.remark.startswith(EXTRA) and not row.leaf
        return entry._replace(grade=Grade.DRIFT if extra else bad_grade(row, entry.drift))
    row = row.of(entry.master, entry.away)
    weight = severity(row.kind, entry.drift, row.tolerance.at_most)
    within = inside_grade(row) if weight <= 1.0 else bad_grade(row, entry.drift)
    return entry._replace(severity=weight, grade=Grade.SAME if weight == 0.0 else within)
