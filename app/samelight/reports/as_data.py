"""The result of a check as plain data, for JSON. The names are a promise to whoever reads them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.words import bound_text, value_text
from samelight.findings.finding import Case, Finding, Harm
from samelight.light.directions import NORTH, Vector
from samelight.reports.held import HeldShots, held_data
from samelight.sequence.crew import Crew
from samelight.sheets.values import encoded
from samelight.sheets.vocabulary import CURVE, FORMAT_VERSION


def cell_data(
    cell: ComparedCell, state: State, north: Vector = NORTH, follows: Sequence[str] = ()
) -> dict[str, Any]:
    """One cell. `drift` is null where it has no finite number; `remark` then says why.

    `follows` are the parameters that a computed cell follows from in its shot, and is decided on with. `rests` is what a
    decision on it is bound to where that is more than its value: all that a group holds that only the shot has.
    """
    data: dict[str, Any] = {
        "shot": cell.shot,
        "parameter": cell.parameter,
        "kind": cell.kind,
        "master": value_text(cell.master, cell.value_kind, north),
        "value": value_text(cell.value, cell.value_kind, north),
        "drift": cell.drift if math.isfinite(cell.drift) else None,
        "unit": cell.unit,
        "tolerance": cell.tolerance,
        "level": cell.grade.word,
        "state": str(state),
    }
    if cell.kind == CURVE:
        data["of"] = cell.value_kind
    if cell.remark:
        data["remark"] = cell.remark
    if cell.holds is not None:
        data["rests"] = {"value": encoded(cell.holds), "master": None}
    if follows:
        data["follows"] = list(follows)
    return data


def case_data(case: Case) -> dict[str, Any]:
    """What is decided on of a finding in one shot. `rests` is what a decision on it is bound to, by name; `value` the same in
    words, and `master` what that is compared with, empty where that is the master setup."""
    return {
        "shot": case.shot,
        "parameter": case.parameter,
        "value": bound_text(case.value, ""),
        "master": bound_text(case.master, "") if case.master is not None else "",
        "level": case.level.word,
        "state": str(case.state),
        "rests": {"value": encoded(case.value), "master": encoded(case.master)},
    }


def finding_data(finding: Finding, crew: Crew | None = None) -> dict[str, Any]:
    """One finding. `lighters` are those of its shots; `cells` are the [shot, parameter] pairs that it explains; `tolerances_off` is null without a number."""
    return {
        "finding": finding.finding,
        "shots": list(finding.shots),
        "lighters": [] if crew is None else crew.names_of(finding.shots),
        "parameters": list(finding.parameters),
        "says": finding.says,
        "sure": str(finding.sureness),
        "known": finding.known,
        "guessed": finding.guessed,
        "do": finding.do,
        "cells": [list(names) for names in finding.explained],
        "worst": finding.worst_text,
        "tolerances_off": finding.worst if math.isfinite(finding.worst) else None,
        "concern": finding.concern.name.lower(),
        "actions": [str(action) for action in finding.actions],
        "level": finding.level.word,
        "state": str(finding.state),
        "cases": [case_data(case) for case in finding.cases],
        "harm": None if finding.harm is None else harm_data(finding.harm),
        **({"setup": finding.setup} if finding.setup else {}),
        **({"frames": [point._asdict() for point in finding.frames]} if finding.frames else {}),
    }


def harm_data(harm: Harm) -> dict[str, Any]:
    """What a finding does to the mark that it changes most. `stops` is null where the mark goes dark."""
    return {
        "shot": harm.shot,
        "mark": harm.mark,
        "stops": harm.stops if math.isfinite(harm.stops) else None,
        "steps": harm.steps,
        "side": harm.side,
    }


def check_data(
    title: str,
    master: int | None,
    cells: Sequence[tuple[ComparedCell, State]],
    findings: Sequence[Finding],
    counts: dict[str, int],
    *,
    troubles: Sequence[str] = (),
    north: Vector = NORTH,
    keep: Callable[[Finding], bool] = lambda finding: True,
    shots: Sequence[str] | None = None,
    tally: Tally | None = None,
    ledger: str | None = None,
    held: Sequence[HeldShots] = (),
    crew: Crew | None = None,
    tallies: Mapping[str, Tally] | None = None,
) -> dict[str, Any]:
    """The whole result of a check. `shots` names those that were looked at, so that two results can be compared.

    `tally` counts the cases in them that are at or above the level drift. `ledger` is the receipt of the decisions
    that were judged by. `held` are the set-ups where there are several, of which each has a master of its own.
    `tallies` says how the cases of each shot stand, `crew` who lights it.
    """
    by_shot = tallies or {}
    return {
        "samelight": FORMAT_VERSION,
        "sequence": title,
        "master": master,
        **({"setups": held_data(held)} if held else {}),
        "cells": [cell_data(cell, state, north) for cell, state in cells],
        "findings": [finding_data(finding, crew) for finding in findings if keep(finding)],
        "counts": {grade.word: counts.get(grade.word, 0) for grade in Grade if grade.word},
        **({} if tally is None else {"cases": asdict(tally)}),
        "by_shot": [
            {"shot": shot, "lighters": [] if crew is None else list(crew.names(shot)), **asdict(of_shot)}
            for shot, of_shot in by_shot.items()
        ],
        "by_lighter": [
            {"lighter": name if name in crew.shots else None, "shots": number, **asdict(of_name)}
            for name, number, of_name in crew.tallies(by_shot)
        ]
        if crew
        else [],
        "troubles": list(troubles),
        **({} if shots is None else {"shots": list(shots)}),
        **({} if ledger is None else {"ledger": ledger}),
    }
