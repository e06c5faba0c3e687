"""Who lights which shot, wherever a shot is told of."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from samelight.cli.main import main
from samelight.decisions.tally import Tally
from samelight.sequence.crew import Crew

LIGHTERS = {"Ines": ("A-B",), "Tomas": ("B", "C"), "Old": ("gone",)}
CUT = ("A", "B", "C", "D")


def test_a_shot_may_be_of_one_of_two_or_of_nobody() -> None:
    crew = Crew.of(LIGHTERS, CUT)
    assert [crew.who(shot) for shot in (*CUT, "gone")] == ["Ines", "Ines and Tomas", "Tomas", "", ""]
    assert crew.names_of(["C", "D", "A"]) == ["Ines", "Tomas"]
    assert crew.free() == ("D",)
    assert crew.to(["C", "D"]) == "Tomas (C), nobody (D)"


def test_a_shot_of_two_counts_with_both() -> None:
    crew = Crew.of(LIGHTERS, CUT)
    one = {shot: Tally(undecided=1) for shot in CUT}
    assert crew.tallies(one) == [
        ("Ines", 2, Tally(2)),
        ("Tomas", 2, Tally(2)),
        ("nobody", 1, Tally(1)),
    ]


def test_a_sequence_without_lighters_says_nothing_of_them() -> None:
    crew = Crew.of({}, CUT)
    assert not crew
    assert (crew.to(CUT), crew.who("A"), crew.names_of(CUT)) == ("", "", [])


def test_every_document_says_whose_a_shot_is(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def said(*words: str) -> str:
        capsys.readouterr()
        main([*words])
        return capsys.readouterr().out

    text = said("check", str(harbour))
    assert "\n  To: Ines (HB_050 to HB_080)\n" in text
    assert "\nTomas, 13 shots: " in text
    data = json.loads(said("check", str(harbour), "--format", "json"))
    assert [(one["lighter"], one["shots"]) for one in data["by_lighter"]] == [("Ines", 11), ("Tomas", 13)]
    for key in ("undecided", "sent_back", "intended"):
        assert sum(one[key] for one in data["by_lighter"]) == data["cases"][key]
        assert sum(one[key] for one in data["by_shot"]) == data["cases"][key]
    assert {tuple(one["lighters"]) for one in data["by_shot"]} == {("Ines",), ("Tomas",)}
    assert all(finding["lighters"] for finding in data["findings"])
    suite = ElementTree.fromstring(said("check", str(harbour), "--format", "junit"))
    cases = {case.get("name"): case for case in suite.iter("testcase")}
    whose = cases["HB_180"].find("properties/property")
    assert whose is not None
    assert (whose.get("name"), whose.get("value")) == ("lighter", "Tomas")
    assert "unexplained, certain: window_fill stands 60 cm" in (cases["HB_180"].findtext("system-out") or "")
    rows = list(csv.DictReader(io.StringIO(said("report", str(harbour), "--format", "csv"))))
    assert {row["lighter"] for row in rows} == {"Ines", "Tomas"}
    markdown = said("report", str(harbour), "--format", "markdown")
    assert "| Ines | 11 |" in markdown
    assert any(line.startswith("### HB") and line.endswith(", Tomas") for line in markdown.splitlines())
    fixes = said("fix", str(harbour), "--lighter", "ines")
    heads = [line for line in fixes.splitlines() if line and not line.startswith(" ")]
    assert heads
    assert all(", Ines: " in head for head in heads)
    assert "HB_050, sheet v002, Ines: " in fixes
    rows = list(csv.DictReader(io.StringIO(said("fix", str(harbour), "--format", "csv"))))
    assert {(row["shot"] <= "HB_100" or row["shot"] == "HB_240", row["lighter"]) for row in rows} == {
        (True, "Ines"),
        (False, "Tomas"),
    }
    assert "HB\\_050, sheet v002, Ines" in said("fix", str(harbour), "--format", "markdown")
    page = said("report", str(harbour), "--format", "html")
    assert "To: Ines (HB_050 to HB_080)" in page
