"""One table of several, each of some of the shots: what a sequence of several set-ups shows, each graded by its own rules."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table, TablePart
from samelight.sheets.vocabulary import COMPARED_SECTIONS


def joined(shots: Sequence[str], tables: Sequence[Table]) -> Table:
    """The table of all shots, of which each is in one of the tables, or in none and then has an empty column.

    A row that several have stands once, as the first has it; `Table.row_in` says how each shot's own table has it. What only
    later ones have stands at the end of its group, and groups at the end of their section.
    """
    order = _order(tables)
    place = {parameter: index for index, parameter in enumerate(order)}
    column_of = {shot: index for index, shot in enumerate(shots)}
    first: dict[str, Row] = {}
    pool: list[Entry | None] = [None]
    codes = np.zeros((len(order), len(shots)), dtype=np.int32)
    parts = []
    for table in tables:
        for row in table.rows:
            first.setdefault(row.parameter, row)
        rows = np.array([place[row.parameter] for row in table.rows], dtype=np.intp)
        columns = np.array([column_of[shot] for shot in table.shots], dtype=np.intp)
        codes[np.ix_(rows, columns)] = table.codes_after(pool)
        pool += table.pool[1:]
        parts.append(TablePart(table, rows, columns))
    whole = Table.coded(shots, [first[parameter] for parameter in order], pool, codes)
    return whole.of_parts(parts)


def _order(tables: Sequence[Table]) -> list[str]:
    """The names of all rows, those of a section and in it those of a group beside each other."""
    sections: dict[str, dict[str, dict[str, None]]] = {section: {} for section in COMPARED_SECTIONS}
    for table in tables:
        for row in table.rows:
            groups = sections.setdefault(row.section, {})
            groups.setdefault(row.group, {})[row.parameter] = None
    return [name for groups in sections.values() for names in groups.values() for name in names]
