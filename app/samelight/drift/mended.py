"""A table after a little has changed: only the columns of changed shots, or the grades of changed tolerances.

Each gives what building the whole table anew would give, or None where that is not certain. And which cells changed
between two tables.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from samelight.drift.cells import Grade
from samelight.drift.metrics import severity
from samelight.drift.policy import Policy
from samelight.drift.rows import Entry, ExtraRow, Row, bad_grade
from samelight.drift.table import Table, build_table
from samelight.sheets.sheet import Sheet


def with_columns(
    before: Table,
    changed: Sequence[str],
    sheets: Mapping[str, Sheet],
    was: Mapping[str, Sheet],
    master: Sheet,
    policy: Policy,
    derived: Sequence[ExtraRow],
) -> Table | None:
    """The table with the columns of the changed shots built anew: `sheets` are all there are now, `was` all before.

    `derived` are the computed rows of the changed shots alone.
    """
    if not all(shot in sheets and shot in was for shot in changed):
        return None
    if any(_adds_rows(one, master) for shot in changed for one in (sheets[shot], was[shot])):
        return None
    few = build_table(changed, sheets, master, policy, derived)
    here = [before.row(row.parameter) for row in few.rows]
    if [None if index is None else before.rows[index] for index in here] != list(few.rows):
        return None
    indices = [index for index in here if index is not None]
    if indices != sorted(indices):
        return None
    known = set(indices)
    others = [row for index, row in enumerate(before.rows) if index not in known]
    unchanged = [sheet for shot, sheet in sheets.items() if shot not in changed]
    if not all(_is_extra(row, master, unchanged) for row in others):
        return None
    entries = [list(line) for line in before.entries]
    drift, heavy, grade = before.drift.copy(), before.severity.copy(), before.grade.copy()
    for at, shot in enumerate(changed):
        column = before.column(shot)
        if column is None:
            return None
        for line, index in enumerate(indices):
            entries[index][column] = few.entries[line][at]
        drift[indices, column], heavy[indices, column] = few.drift[:, at], few.severity[:, at]
        grade[indices, column] = few.grade[:, at]
    return Table(before.shots, before.rows, entries, drift, heavy, grade)


def changed_cells(before: Table, after: Table) -> list[tuple[str, str]]:
    """Shot and parameter of every cell whose value, reference or grade is not what it was, row by row.

    Entries that were carried over are the same objects, so that most of a film costs no comparison.
    """
    was = [before.column(shot) for shot in after.shots]
    changed: list[tuple[str, str]] = []
    for row, line in zip(after.rows, after.entries, strict=True):
        index = before.row(row.parameter)
        old = [None] * len(was) if index is None else _picked(before.entries[index], was)
        changed.extend(
            (shot, row.parameter)
            for shot, entry, known in zip(after.shots, line, old, strict=True)
            if entry is not known and entry != known
        )
    return changed


def _picked(line: Sequence[Entry | None], columns: Sequence[int | None]) -> list[Entry | None]:
    return [None if column is None else line[column] for column in columns]


def _adds_rows(sheet: Sheet, master: Sheet) -> bool:
    """Whether a sheet holds lights, marks or the like that the master lacks, which may meet those of other shots."""
    for section, groups in sheet.sections.items():
        setup = master.sections.get(section, {})
        for name, group in groups.items() if section not in ("camera", "cost") else ():
            if name not in setup or not group.keys() <= setup[name].keys():
                return True
    return False


def _is_extra(row: Row, master: Sheet, sheets: Sequence[Sheet]) -> bool:
    """Whether a row is there because a shot holds what the master lacks: others then have nothing in it."""

    def holds(sheet: Sheet) -> bool:
        group = sheet.sections.get(row.section, {}).get(row.group)
        return group is not None and (not row.leaf or row.leaf in group)

    return row.section in master.sections and not holds(master) and any(map(holds, sheets))


def regraded(before: Table, policy: Policy) -> Table:
    """The table under other tolerances and locks. What was measured stays; kinds must be the same in both policies."""
    rows: list[Row] = []
    entries: list[list[Entry | None]] = []
    heavy, grade = before.severity.copy(), before.grade.copy()
    for index, row in enumerate(before.rows):
        now = replace(
            row,
            tolerance=policy.tolerance(row.parameter, row.kind, row.light_type),
            lock=policy.lock(row.parameter, row.light_type),
        )
        rows.append(now)
        line = before.entries[index]
        if (now.tolerance.at_most, now.lock is None) != (row.tolerance.at_most, row.lock is None):
            line = list(line)
            anew: dict[int, Entry] = {}
            for column in (before.grade[index] > Grade.SAME).nonzero()[0].tolist():
                entry = line[column]
                if entry is None:
                    continue
                if id(entry) not in anew:
                    anew[id(entry)] = _regraded(now, entry)
                entry = line[column] = anew[id(entry)]
                heavy[index, column], grade[index, column] = entry.severity, entry.grade
        entries.append(line)
    return Table(before.shots, tuple(rows), entries, before.drift, heavy, grade)


def _regraded(row: Row, entry: Entry) -> Entry:
    if entry.master is None or entry.value is None:
        return replace(entry, grade=bad_grade(row))
    weight = severity(row.kind, entry.drift, row.tolerance.at_most)
    within = Grade.WITHIN if weight <= 1.0 else bad_grade(row)
    return replace(entry, severity=weight, grade=Grade.SAME if weight == 0.0 else within)
