"""Tables as CSV that a spreadsheet can open without running anything out of a sheet."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Iterator, Sequence

from samelight.changes.fix_list import ShotFixes
from samelight.decisions.decision import Decision
from samelight.drift.words import bound_text, value_text
from samelight.light.directions import Vector
from samelight.reports.report import Report, ShotPart
from samelight.reports.shown import shown

_FORMULA = re.compile(r"""(^|;)(?=[\s"]*[=+\-@\t\r|%＝＋－＠])""")
"""The start of what a spreadsheet takes for a formula: at the start of a field, or of what becomes one where fields are
divided by semicolons, as they are in half of the world; also with the wide signs of East Asian text."""
LONGEST = 2000

Field = str | int | float | None


def safe(field: Field) -> Field:
    """A field that no spreadsheet takes for a formula: text that looks like one starts with an apostrophe.

    Numbers stay numbers. After OWASP, "CSV Injection".

    >>> safe("=1+1"), safe("lights.sun"), safe(-0.5), safe("a; =1"), safe("＝1")
    ("'=1+1", 'lights.sun', -0.5, "a;' =1", "'＝1")
    """
    if not isinstance(field, str):
        return field
    return _FORMULA.sub(r"\1'", shown(field, LONGEST))


def csv_text(head: Sequence[str], rows: Iterable[Sequence[Field]]) -> str:
    """A table with its head (RFC 4180, lines end with a line feed)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([safe(field) for field in row] for row in rows)
    return out.getvalue()


def report_csv(report: Report) -> str:
    """Every cell that is not the master's, and every finding that is decided on by itself, one a row, in cut order; last who
    lights the shot."""
    return csv_text(
        (
            "shot",
            "parameter",
            "kind",
            "master",
            "value",
            "drift",
            "unit",
            "tolerance",
            "tolerances_off",
            "level",
            "state",
            "decided_by",
            "decided_on",
            "reason",
            "remark",
            "follows",
            "lighter",
        ),
        (row for shot in report.shots for row in _rows(shot, report.north)),
    )


def _rows(shot: ShotPart, north: Vector) -> Iterator[Sequence[Field]]:
    for line in shot.lines:
        cell = line.cell
        yield (
            shot.name,
            cell.parameter,
            cell.kind,
            value_text(cell.master, cell.value_kind, north),
            value_text(cell.value, cell.value_kind, north),
            _number(cell.drift),
            cell.unit,
            _number(cell.tolerance),
            _number(line.severity),
            cell.grade.word,
            str(line.state),
            *_decided(line.decisions),
            cell.remark,
            ", ".join(line.follows),
            shot.lighter,
        )
    for told in shot.told:
        case = told.case
        held = bound_text(case.master, "") if case.master is not None else ""
        yield (
            *(shot.name, case.parameter, "finding", held, bound_text(case.value, "")),
            *(None, "", None, None),
            *(case.level.word, str(case.state), *_decided(case.judgement.decisions), told.says, ""),
            shot.lighter,
        )


def _decided(decisions: Sequence[Decision]) -> tuple[str, str, str]:
    """Who decided, when and why."""
    return (
        ", ".join(decision.who for decision in decisions),
        ", ".join(decision.when.date().isoformat() for decision in decisions),
        " / ".join(decision.reason for decision in decisions if decision.reason),
    )


def fixes_csv(fixes: Iterable[ShotFixes]) -> str:
    """What to set, one cell a row."""
    return csv_text(
        (
            "shot",
            "sheet_version",
            "parameter",
            "set",
            "level",
            "tolerances_off",
            "state",
            "sent_back_by",
            "reason",
            "lighter",
        ),
        (
            (
                part.shot,
                part.sheet.version,
                fix.cell.parameter,
                fix.do,
                fix.cell.grade.word,
                _number(fix.severity),
                str(fix.state),
                ", ".join(decision.who for decision in fix.decisions),
                " / ".join(decision.reason for decision in fix.decisions if decision.reason),
                part.lighter,
            )
            for part in fixes
            for fix in part.fixes
        ),
    )


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None
