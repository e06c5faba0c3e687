"""Findings of a sequence of several set-ups: the evidence of each by itself, and what is found in it as of the whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from samelight.decisions.state import Judgement
from samelight.drift.cells import Cell
from samelight.drift.table import TablePart
from samelight.findings.finding import Finding


def in_whole(finding: Finding, part: TablePart, setup: str) -> Finding:
    """A finding of a part of a table, with the rows and columns of the whole."""

    def placed(spots: tuple[Cell, ...]) -> tuple[Cell, ...]:
        return tuple((int(part.rows[row]), int(part.columns[column])) for row, column in spots)

    return replace(finding, cells=placed(finding.cells), rests_on=placed(finding.rests_on), setup=setup)


def judgements_in(part: TablePart, judgements: Mapping[Cell, Judgement]) -> dict[Cell, Judgement]:
    """The judgements of the cells of a part, by the rows and columns of its own."""
    rows = {whole: own for own, whole in enumerate(part.rows.tolist())}
    columns = {whole: own for own, whole in enumerate(part.columns.tolist())}
    return {
        (rows[row], columns[column]): judgement
        for (row, column), judgement in judgements.items()
        if row in rows and column in columns
    }
