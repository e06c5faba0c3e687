"""A check as JUnit XML, for pipelines that show tests: one test case a shot, a failure lists what is open in it."""

from __future__ import annotations

from collections.abc import Callable
from xml.etree import ElementTree

from samelight.drift.cells import Grade
from samelight.drift.words import drift_text, value_text
from samelight.reports.report import Line, Report
from samelight.reports.shown import shown
from samelight.reports.signs import state_text


def junit_text(
    report: Report, *, fail_on: Grade = Grade.DRIFT, accepted: Callable[[Line], bool] = lambda line: False
) -> str:
    """The XML. A shot that could not be read is an error; one with cells open at or above `fail_on` a failure.

    Cells that `accepted` lets through do not fail.
    """
    suite = ElementTree.Element("testsuite", name=shown(report.title, 200))
    failures = errors = 0
    for shot in report.shots:
        name = shown(shot.name, 200)
        case = ElementTree.SubElement(suite, "testcase", classname=shown(report.title, 200), name=name)
        failing = [line for line in shot.lines if _fails(line, fail_on) and not accepted(line)]
        if shot.trouble or report.master is None:
            errors += 1
            said = shot.trouble or "no master setup to compare with"
            ElementTree.SubElement(case, "error", message=shown(said, 1000))
        elif failing:
            failures += 1
            message = f"{len(failing)} open, furthest off: {_said(failing[0], report)}"
            failure = ElementTree.SubElement(case, "failure", type="drift", message=message)
            failure.text = "\n".join(_said(line, report) for line in failing)
        meant = [line for line in shot.lines if line.cell.open_worthy and not line.needs_a_look]
        if meant:
            ElementTree.SubElement(case, "system-out").text = "\n".join(
                f"intended: {_said(line, report)}" for line in meant
            )
    suite.set("tests", str(len(report.shots)))
    suite.set("failures", str(failures))
    suite.set("errors", str(errors))
    root = ElementTree.Element("testsuites")
    root.append(suite)
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def _fails(line: Line, fail_on: Grade) -> bool:
    return line.cell.grade >= fail_on and str(line.state) != "intended"


def _said(line: Line, report: Report) -> str:
    cell = line.cell
    values = " for ".join(
        shown(value_text(value, cell.base, report.north), 120) for value in (cell.value, cell.master)
    )
    drift = drift_text(cell)
    off = f" ({shown(drift, 40)})" if drift else ""
    return f"{shown(cell.parameter)}: {values}{off}, {cell.grade.word}, {state_text(line.state)}"
