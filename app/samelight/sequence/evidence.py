"""What findings are drawn from: the evidence of a sequence, and of each of its set-ups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from samelight.decisions.state import Judgement
from samelight.drift.cells import Cell
from samelight.drift.table import Table, TablePart
from samelight.findings.finding import Evidence
from samelight.findings.of_setups import judgements_in
from samelight.sequence.cases import Cases
from samelight.sequence.contents import Contents
from samelight.sheets.sheet import Sheet


def evidence_of(cases: Cases) -> Evidence:
    """What findings are drawn from."""
    contents, table, judgements = cases.contents, cases.table, cases.judged().judgements
    whole = _evidence(contents, table, contents.sheets, judgements)
    places = zip(table.parts, contents.setups, strict=False)
    return replace(whole, parts=tuple((part, _of_setup(part, own, judgements)) for part, own in places))


def _evidence(
    contents: Contents,
    table: Table,
    sheets: Mapping[str, Sheet],
    judgements: Mapping[Cell, Judgement],
) -> Evidence:
    return Evidence(
        table=table,
        sheets=sheets,
        master=contents.master,
        masters=contents.masters,
        policy=contents.policy,
        measured=contents.measured,
        judgements=judgements,
        frame_rate=contents.sequence.frame_rate,
        key_shot=contents.sequence.key_shot,
        lighters=contents.sequence.lighters,
        setup=contents.name,
        newest_master=contents.newest_master,
    )


def _of_setup(part: TablePart, setup: Contents, judgements: Mapping[Cell, Judgement]) -> Evidence:
    """The evidence of one set-up: its own shots, and the key shot, which may be of another."""
    shown = {*setup.shots, setup.sequence.key_shot}
    sheets = {shot: sheet for shot, sheet in setup.sheets.items() if shot in shown}
    apart = np.flatnonzero(np.diff(part.columns) != 1).tolist()
    found = _evidence(setup, part.table, sheets, judgements_in(part, judgements))
    return replace(found, apart=frozenset(apart))
