"""`samelight report`: every format holds the same, and files are written whole or not at all."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from report_help import report_of
from samelight.cli.main import main
from samelight.reports.as_csv import csv_text
from samelight.reports.as_markdown import report_markdown
from samelight.sequence.session import open_session

ENDINGS = ["html", "htm", "csv", "md", "markdown", "xml", "json", "HTML"]


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_ending_says_the_format(harbour: Path, ending: str, capsys: pytest.CaptureFixture[str]) -> None:
    out = harbour.parent / f"drift.{ending}"
    assert main(["report", str(harbour), "-o", str(out)]) == 0
    assert capsys.readouterr().out == f"{out}\n"
    text = out.read_text(encoding="utf-8")
    starts = {
        "html": "<!DOCTYPE html>",
        "htm": "<!DOCTYPE html>",
        "csv": "\ufeffshot,",
        "xml": "<?xml",
        "json": "{",
    }
    assert text.startswith(starts.get(ending.lower(), "# Harbour"))


def test_the_format_may_be_stated(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = harbour.parent / "results"
    assert main(["report", str(harbour), "-o", str(out), "--format", "junit"]) == 0
    ElementTree.parse(out)
    capsys.readouterr()
    assert main(["report", str(harbour), "--format", "csv"]) == 0
    assert capsys.readouterr().out.startswith("shot,parameter,")  # a pipe wants no byte order mark


@pytest.mark.parametrize("words", [[], ["-o", "drift.doc"], ["-o", "drift"], ["--format", "pdf"]])
def test_formats_that_are_none(harbour: Path, words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    try:
        assert main(["report", str(harbour), *words]) == 2
    except SystemExit as ended:
        assert ended.code == 2
    assert "format" in capsys.readouterr().err


def test_every_format_lists_the_same_cells(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    report = report_of(harbour)
    cells = {(line.cell.shot, line.cell.parameter) for shot in report.shots for line in shot.lines}
    cases = {(told.case.shot, told.case.parameter) for shot in report.shots for told in shot.told}
    wanted = cells | cases

    def output(form: str) -> str:
        assert main(["report", str(harbour), "--format", form]) == 0
        return capsys.readouterr().out

    rows = list(csv.DictReader(io.StringIO(output("csv"))))
    assert {(row["shot"], row["parameter"]) for row in rows} == wanted
    data: dict[str, Any] = json.loads(output("json"))
    assert {(cell["shot"], cell["parameter"]) for cell in data["cells"]} == cells
    assert {(case["shot"], case["parameter"]) for f in data["findings"] for case in f["cases"]} == cases
    markdown = output("markdown").replace("\\", "")
    html = output("html").replace("<wbr>", "")
    for _, parameter in wanted:
        assert f"| {parameter} |" in markdown
        assert f">{parameter}</th>" in html
    testcases = ElementTree.fromstring(output("junit")).iter("testcase")
    failing = {case.get("name") for case in testcases if case.find("failure") is not None}
    assert failing == {shot.name for shot in report.shots if shot.tally.unsettled}


def test_only_some_shots(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(harbour), "--format", "json", "--shots", "HB_120-HB_130"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["shots"] == ["HB_120", "HB_130"]
    assert {cell["shot"] for cell in data["cells"]} == {"HB_120", "HB_130"}
    assert sum(data["counts"].values()) == sum(
        open_session(harbour).table.counts(["HB_120", "HB_130"]).values()
    )


def test_a_report_that_cannot_be_written(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = harbour / "sequence.yaml" / "report.html"
    assert main(["report", str(harbour), "-o", str(out)]) == 2
    assert str(out) in capsys.readouterr().err


def test_troubles_are_said_and_in_the_report(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (harbour / "shots/HB_120/HB_120.v002.yaml").write_text("lighst: {}", encoding="utf-8")
    (harbour / "decisions/odd.yaml").write_text("verb: 3", encoding="utf-8")
    out = harbour.parent / "drift.md"
    assert main(["report", str(harbour), "-o", str(out)]) == 2
    err = capsys.readouterr().err
    text = out.read_text(encoding="utf-8")
    assert "HB_120" in err and "odd.yaml" in err
    assert "Read this first" in text and "odd.yaml" in text


def test_decisions_and_reasons_are_in_the_table(harbour: Path) -> None:
    text = report_markdown(report_of(harbour))
    line = next(line for line in text.splitlines() if line.startswith("| lights.window\\_fill.position |"))
    assert "← sent back" in line and "lead: Nudged by accident; put it back." in line


def test_csv_is_read_as_it_was_meant() -> None:
    text = csv_text(("a", "b"), [("x, y", 'say "hi"'), ("two\nlines", -0.5), ("-1 st", None)])
    assert list(csv.reader(io.StringIO(text))) == [
        ["a", "b"],
        ["x, y", 'say "hi"'],
        ["two�lines", "-0.5"],
        ["'-1 st", ""],
    ]
