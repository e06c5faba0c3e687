"""A check as JUnit XML, for pipelines that show tests: one test case a shot, a failure lists what is unsettled in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from xml.etree import ElementTree

from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import Grade
from samelight.drift.words import drift_text, value_text
from samelight.findings.finding import Case
from samelight.light.directions import Vector
from samelight.reports.report import Report, ReportLine, ShotPart, Told
from samelight.reports.shown import shown


def junit_text(report: Report, *, fail_on: Grade = Grade.DRIFT) -> str:
    """The XML. A shot that could not be read is an error; one with cells open at or above `fail_on` a failure."""
    return junit_of_shots(
        report.shots, report.title, report.north, fail_on=fail_on, unread=report.unread, ledger=report.ledger
    )


def junit_of_shots(
    shots: Iterable[ShotPart],
    title: str,
    north: Vector,
    *,
    fail_on: Grade,
    unread: Sequence[str] = (),
    ledger: str = "",
    accepted: Callable[[ReportLine], bool] = lambda line: False,
    accepted_case: Callable[[Case], bool] = lambda case: False,
) -> str:
    """The XML of shots that may be made one after another. Cells that `accepted` lets through do not fail, neither do cases
    of findings that `accepted_case` does.

    Each shot says whose it is as the property `lighter`, and what the findings about it say.
    A cell that follows from others fails with these, and is not told again.
    `ledger` is the receipt of the decisions that it was judged by, a property of the suite.
    `unread` says what keeps decisions from being known: an error of its own, since a shot may hang on any of them.
    """
    suite = ElementTree.Element("testsuite", name=shown(title, 200))
    cases: list[str] = []
    failures = errors = 0
    for shot in shots:
        case = ElementTree.Element("testcase", classname=shown(title, 200), name=shown(shot.name, 200))
        _say_lighter(case, shot)
        lines = [line for line in shot.lines if line.is_unsettled(fail_on) and not accepted(line)]
        told = [one for one in shot.told if one.is_unsettled(fail_on) and not accepted_case(one.case)]
        failing = [*(_said(line, north) for line in lines), *map(_told, told)]
        if shot.trouble or not shot.is_held:
            errors += 1
            why = shot.trouble or "no master setup to compare with"
            ElementTree.SubElement(case, "error", message=shown(why, 1000))
        elif failing:
            failures += 1
            message = f"{_count(lines, told)}, furthest off: {failing[0]}"
            failure = ElementTree.SubElement(case, "failure", type="drift", message=message)
            failure.text = "\n".join(failing)
        _say_what_is_meant(case, shot, north)
        cases.append(_case_text(case))
    if unread:
        errors += 1
        cases.append(_case_text(_of_decisions(title, unread)))
    for of, number in (("tests", len(cases)), ("failures", failures), ("errors", errors)):
        suite.set(of, str(number))
    text = ElementTree.tostring(suite, encoding="unicode")
    if ledger:
        cases.insert(0, _case_text(_properties(ledger=ledger)))
    if cases:
        text = f"{text.removesuffix(' />')}>{''.join(cases)}\n  </testsuite>"
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<testsuites>\n  {text}\n</testsuites>\n'


def _say_lighter(case: ElementTree.Element, shot: ShotPart) -> None:
    if shot.lighter:
        case.append(_properties(lighter=shot.lighter))


def _properties(**named: str) -> ElementTree.Element:
    properties = ElementTree.Element("properties")
    for name, value in named.items():
        ElementTree.SubElement(properties, "property", name=name, value=shown(value, 200))
    return properties


def _say_what_is_meant(case: ElementTree.Element, shot: ShotPart, north: Vector) -> None:
    """What the findings about a shot say, and what of it is intended."""
    meant = [_said(line, north) for line in shot.lines if _is_meant(line)]
    meant += [_told(told) for told in shot.told if told.case.state is State.INTENDED]
    said = [f"{one.finding}, {one.sureness}: {shown(one.says, 1000)}" for one in shot.findings]
    said += [f"intended: {one}" for one in meant]
    if said:
        ElementTree.SubElement(case, "system-out").text = "\n".join(said)


def _of_decisions(title: str, unread: Sequence[str]) -> ElementTree.Element:
    """What keeps decisions from being known, as a case of its own."""
    case = ElementTree.Element("testcase", classname=shown(title, 200), name="decisions")
    why = f"{len(unread)} of the ledger's entries cannot be relied on: {unread[0]}"
    ElementTree.SubElement(case, "error", message=shown(why, 1000)).text = "\n".join(
        shown(one, 1000) for one in unread
    )
    return case


def _case_text(case: ElementTree.Element) -> str:
    ElementTree.indent(case, level=2)
    return f"\n    {ElementTree.tostring(case, encoding='unicode')}"


def _count(lines: Sequence[ReportLine], told: Sequence[Told]) -> str:
    """How many cases are unsettled, of which how many were sent back."""
    states = [*(line.state for line in lines), *(one.case.state for one in told)]
    tally = Tally.of(states)
    parts = [(tally.undecided, "undecided"), (tally.sent_back, "sent back")]
    return ", ".join(f"{number} {word}" for number, word in parts if number)


def _is_meant(line: ReportLine) -> bool:
    return line.cell.drifts and not line.follows and line.state is State.INTENDED


def _told(told: Told) -> str:
    says, state = shown(told.says, 1000), str(told.case.state)
    return f"{shown(told.case.parameter)}: {says} {told.case.level.word}, {state}"


def _said(line: ReportLine, north: Vector) -> str:
    cell = line.cell
    values = " for ".join(
        shown(value_text(value, cell.value_kind, north), 120) for value in (cell.value, cell.master)
    )
    drift = drift_text(cell)
    off = f" ({shown(drift, 40)})" if drift else ""
    return f"{shown(cell.parameter)}: {values}{off}, {cell.grade.word}, {line.state}"
