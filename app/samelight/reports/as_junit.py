"""A check as JUnit XML, for pipelines that show tests: one test case a shot, a failure lists what is open in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from xml.etree import ElementTree

from samelight.drift.cells import Grade
from samelight.drift.words import drift_text, value_text
from samelight.light.directions import Vector
from samelight.reports.report import Line, Report, ShotPart
from samelight.reports.shown import shown
from samelight.reports.signs import state_text


def junit_text(report: Report, *, fail_on: Grade = Grade.DRIFT) -> str:
    """The XML. A shot that could not be read is an error; one with cells open at or above `fail_on` a failure."""
    return junit_of_shots(
        report.shots, report.title, report.master, report.north, fail_on=fail_on, unread=report.unread
    )


def junit_of_shots(
    shots: Iterable[ShotPart],
    title: str,
    master: int | None,
    north: Vector,
    *,
    fail_on: Grade,
    unread: Sequence[str] = (),
    accepted: Callable[[Line], bool] = lambda line: False,
) -> str:
    """The XML of shots that may be made one after another. Cells that `accepted` lets through do not fail.

    `unread` says what keeps decisions from being known: an error of its own, since a shot may hang on any of them.
    """
    suite = ElementTree.Element("testsuite", name=shown(title, 200))
    cases: list[str] = []
    failures = errors = 0
    for shot in shots:
        name = shown(shot.name, 200)
        case = ElementTree.Element("testcase", classname=shown(title, 200), name=name)
        failing = [line for line in shot.lines if _fails(line, fail_on) and not accepted(line)]
        if shot.trouble or master is None:
            errors += 1
            said = shot.trouble or "no master setup to compare with"
            ElementTree.SubElement(case, "error", message=shown(said, 1000))
        elif failing:
            failures += 1
            message = f"{len(failing)} open, furthest off: {_said(failing[0], north)}"
            failure = ElementTree.SubElement(case, "failure", type="drift", message=message)
            failure.text = "\n".join(_said(line, north) for line in failing)
        meant = [line for line in shot.lines if line.cell.open_worthy and not line.needs_a_look]
        if meant:
            ElementTree.SubElement(case, "system-out").text = "\n".join(
                f"intended: {_said(line, north)}" for line in meant
            )
        cases.append(_case_text(case))
    if unread:
        errors += 1
        case = ElementTree.Element("testcase", classname=shown(title, 200), name="decisions")
        said = f"{len(unread)} of the ledger's entries cannot be relied on: {unread[0]}"
        ElementTree.SubElement(case, "error", message=shown(said, 1000)).text = "\n".join(
            shown(one, 1000) for one in unread
        )
        cases.append(_case_text(case))
    suite.set("tests", str(len(cases)))
    suite.set("failures", str(failures))
    suite.set("errors", str(errors))
    text = ElementTree.tostring(suite, encoding="unicode")
    if cases:
        text = f"{text.removesuffix(' />')}>{''.join(cases)}\n  </testsuite>"
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<testsuites>\n  {text}\n</testsuites>\n'


def _case_text(case: ElementTree.Element) -> str:
    ElementTree.indent(case, level=2)
    return f"\n    {ElementTree.tostring(case, encoding='unicode')}"


def _fails(line: Line, fail_on: Grade) -> bool:
    return line.cell.grade >= fail_on and str(line.state) != "intended"


def _said(line: Line, north: Vector) -> str:
    cell = line.cell
    values = " for ".join(
        shown(value_text(value, cell.base, north), 120) for value in (cell.value, cell.master)
    )
    drift = drift_text(cell)
    off = f" ({shown(drift, 40)})" if drift else ""
    return f"{shown(cell.parameter)}: {values}{off}, {cell.grade.word}, {state_text(line.state)}"
