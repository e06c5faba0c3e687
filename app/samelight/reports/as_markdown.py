"""Documents as Markdown (CommonMark, with the tables of GitHub's dialect), for a ticket or a mail."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from samelight.changes.fix_list import ShotFixes
from samelight.decisions.decision import Decision
from samelight.decisions.state import State
from samelight.drift.explanations import tolerance_text
from samelight.drift.scale import GRADE_MARKS
from samelight.drift.words import bound_text, drift_text, number_text, value_text
from samelight.reports.held import against_text
from samelight.reports.production_plan import (
    PLAN_COLUMNS,
    SequencePlan,
    budget_lines,
    plan_rows,
    schedule,
)
from samelight.reports.render_plan import ESTIMATE, RenderPlan
from samelight.reports.report import Report, ReportLine, Told
from samelight.reports.shown import hours_text, shown
from samelight.reports.signs import STATE_MARKS, standing_text
from samelight.sheets.budget import Budget
from samelight.sheets.units import clock_text

_MEANS_SOMETHING = re.compile(r"([\\`*_{}\[\]<>#|~&$@]|:(?=//))")


def escaped(text: str, longest: int = 400) -> str:
    """Text that Markdown shows as it is.

    >>> escaped("a_b <i> | [x](y)")
    'a\\\\_b \\\\<i\\\\> \\\\| \\\\[x\\\\](y)'
    """
    return _MEANS_SOMETHING.sub(r"\\\1", shown(text, longest))


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """A table; its fields are Markdown already."""
    lines = [f"| {' | '.join(head)} |", f"|{' --- |' * len(head)}"]
    return [*lines, *(f"| {' | '.join(row)} |" for row in rows)]


def report_markdown(report: Report) -> str:
    """The whole report."""
    against = escaped(against_text(report.master, report.held), 1000)
    lines = [
        f"# {escaped(report.title)}",
        "",
        f"{against}, {len(report.shots)} shots, {report.made:%Y-%m-%d %H:%M}, ledger {report.ledger}",
        "",
        f"**{report.tally.says}.** {report.counts['break']} cells break a lock, {report.counts['drift']} drift; "
        f"{report.counts['within']} are within tolerance.",
        "",
    ]
    if report.crew:
        lines += table(
            ("lighter", "shots", "undecided", "sent back", "intended"),
            (
                (escaped(name), str(number), str(of.undecided), str(of.sent_back), str(of.intended))
                for name, number, of in report.crew.tallies(report.tallies)
            ),
        )
        lines.append("")
    if report.troubles:
        lines += ["## Read this first", ""]
        lines += [f"- {escaped(trouble, 1000)}" for trouble in report.troubles]
        lines.append("")
    lines += ["## Findings", ""]
    for number, finding in enumerate(report.findings, 1):
        stands = standing_text(finding)
        lines.append(f"{number}. {escaped(finding.says, 1000)}{f' ({stands})' if stands else ''}")
        if finding.do and finding.state is not State.INTENDED:
            lines.append(f"   {escaped(finding.do, 600)}")
        if (to := report.crew.to(finding.shots)) and finding.state is not State.INTENDED:
            lines.append(f"   To: {escaped(to, 600)}")
    lines += ["None."] if not report.findings else []
    lines += ["", "## Shot by shot", ""]
    for shot in report.shots:
        if shot.lines or shot.told or shot.trouble:
            version = f", sheet v{shot.version:03d}" if shot.version is not None else ""
            whose = f", {escaped(shot.lighter)}" if shot.lighter else ""
            lines += [f"### {escaped(shot.name)}{version}{whose}", ""]
            if shot.trouble:
                lines += [escaped(shot.trouble, 1000), ""]
        if shot.lines or shot.told:
            head = ("parameter", "master", "shot", "drift", "tolerance", "level", "state", "decided, remarks")
            rows = [*map(_told_row, shot.told), *(_row(line, report) for line in shot.lines)]
            lines += [*table(head, rows), ""]
    return "\n".join([*lines, *plan_markdown(report.plan)])


def _told_row(told: Told) -> list[str]:
    case = told.case
    said = [*_decided(case.judgement.decisions), told.says]
    return [
        escaped(case.parameter),
        "",
        escaped(bound_text(case.value, "")),
        "",
        "",
        case.level.word,
        f"{STATE_MARKS[case.state]} {case.state}".strip(),
        escaped("; ".join(said), 1000),
    ]


def _decided(decisions: Iterable[Decision]) -> list[str]:
    return [f"{one.who}: {one.why}" if one.why else one.who for one in decisions]


def _row(line: ReportLine, report: Report) -> list[str]:
    cell = line.cell
    said = _decided(line.decisions)
    said += [f"with {', '.join(line.follows)}"] if line.follows else []
    return [
        escaped(cell.parameter),
        escaped(value_text(cell.master, cell.value_kind, report.north)),
        escaped(value_text(cell.value, cell.value_kind, report.north)),
        f"{GRADE_MARKS.get(cell.grade, '')} {escaped(drift_text(cell) or cell.grade.word)}",
        escaped(tolerance_text(cell)),
        cell.grade.word,
        f"{STATE_MARKS[line.state]} {line.state}".strip(),
        escaped("; ".join([*said, *([cell.remark] if cell.remark else [])]), 1000),
    ]


def production_markdown(plans: Sequence[SequencePlan], budget: Budget | None) -> list[str]:
    """What the sequences of a production cost to render, as lines."""
    due = [] if budget is None else schedule(plans, budget)
    lines = ["## Render plan", "", ESTIMATE, ""]
    rows = (
        ["" if field is None else escaped(str(field)) for field in row] for row in plan_rows(plans, budget)
    )
    lines += table([name.replace("_", " ") for name in PLAN_COLUMNS], rows)
    return [*lines, "", *(escaped(one) for one in budget_lines(due)), ""] if due else [*lines, ""]


def plan_markdown(plan: RenderPlan | None) -> list[str]:
    """The render plan as lines."""
    lines = ["## Render plan", ""]
    if plan is None:
        return [*lines, "It could not be worked out: see above.", ""]
    if not plan.timed:
        return [*lines, "No shot states its frames and a test frame.", ""]
    lines += [
        f"About **{hours_text(plan.seconds)}** of machine time for {len(plan.timed)} shots; passes of one frame save about "
        f"{hours_text(plan.saved)}"
        + (f", of which {hours_text(plan.saved_wrongly)} are not to be had." if plan.saved_wrongly else ".")
        + f" {ESTIMATE}",
        "",
    ]
    lines += table(
        ("pass", "frames", "machine time", "saved by one frame"),
        (
            (
                escaped(one.name),
                str(one.frames),
                hours_text(one.seconds),
                hours_text(one.saved) if one.saved else "",
            )
            for one in plan.by_pass()
        ),
    )
    lines.append("")
    lines += table(
        ("shot", "frames", "test frame", "× median", "machine time", "saved", "to look at"),
        (
            (
                escaped(shot.shot),
                str(shot.length),
                clock_text(round(shot.test_frame or 0.0)),
                number_text(shot.times_median, 3) if shot.times_median is not None else "",
                hours_text(shot.seconds),
                hours_text(shot.saved) if shot.saved else "",
                "; ".join(
                    [
                        *(["out of its family"] if shot.outlier else []),
                        *(f"{escaped(one.name)}: {escaped(one.wrong)}" for one in shot.passes if one.wrong),
                    ]
                ),
            )
            for shot in plan.timed
        ),
    )
    if plan.left_out:
        lines += ["", f"Not counted, as not timed: {escaped(', '.join(plan.left_out), 1000)}."]
    return [*lines, ""]


def fixes_markdown(title: str, master: int | None, fixes: Sequence[ShotFixes]) -> str:
    """The fix list."""
    lines = [
        f"# What to set: {escaped(title)}",
        "",
        f"Back to master {master}." if master is not None else "",
        "",
    ]
    for part in fixes:
        whose = f", {escaped(part.lighter)}" if part.lighter else ""
        lines += [f"## {escaped(part.shot)}, sheet v{part.sheet.version:03d}{whose}", ""]
        for fix in part.fixes:
            drift = drift_text(fix.cell) or fix.cell.grade.word
            sign = GRADE_MARKS.get(fix.cell.grade, "")
            lines.append(
                f"- {sign} **{escaped(fix.cell.parameter)}** ({escaped(drift)}): {escaped(fix.do, 2000)}"
            )
            for decision in fix.decisions:
                reason = f": {decision.why}" if decision.why else ""
                lines.append(f"  - {fix.state} by {escaped(decision.who)}{escaped(reason, 1000)}")
        lines += [f"- {escaped(note, 1000)}" for note in part.also]
        lines.append("")
    return "\n".join(lines)
