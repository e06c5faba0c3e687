"""Names and values made to break out of a document: nothing of them is run, hidden or endless."""

from __future__ import annotations

import csv
import io
import json
import os
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from conftest import MakeSequence
from report_help import MADE, report_of
from samelight.cli.main import main
from samelight.reports.as_csv import csv_text, report_csv, safe
from samelight.reports.as_html import html_text
from samelight.reports.as_junit import junit_text
from samelight.reports.as_markdown import escaped, report_markdown
from samelight.reports.lighter_pages import hand_over
from samelight.reports.pages_html import pages_html
from samelight.reports.pages_text import pages_text
from samelight.reports.shown import HIDDEN
from samelight.sequence.session import open_session
from samelight.sheets.names import as_name

MARKUP = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>&amp;</style></title></svg>"
BIDI = "sun\u202e\u2066gnp.exe\u2069\u200f"
CONTROL = "key\x1b]0;owned\x07\x1b[31m\x07\x9b31m"
TEMPLATE = "{{ 7 * 7 }}{% raw %}{{ config }}"
FORMULAS = [
    "＝1+1",
    "＋1",
    "－2",
    "＠SUM(A1)",
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "  =1+1",
    '=HYPERLINK("x")',
]
LONG = "x" * 10_000
LAMP = {"lights": {"lamp": {"type": "point", "position": [0, 1, 0], "intensity": 2}}}
SHOT = "<b>QU 010<b> {{ 7*7 }} =1+1"
PATHS = "../../../../etc/passwd"


@pytest.fixture
def hostile(make_sequence: MakeSequence) -> Path:
    names = [as_name(name) for name in (MARKUP, BIDI, CONTROL, TEMPLATE, LONG, PATHS, *FORMULAS)]

    def lights(intensity: float, mood: str) -> dict[str, object]:
        return {
            name: {"type": "point", "position": [0, 1, 0], "intensity": intensity, "mood": mood}
            for name in names
        }

    folder = make_sequence(
        master={"lights": lights(1, "calm"), "passes": {as_name(MARKUP): {"frames": "held"}}},
        shots={
            SHOT: {
                "frames": [1, 10],
                "camera": {"moves": True},
                "cost": {"test_frame": "1m00s"},
                "lights": lights(2, MARKUP + LONG + CONTROL + BIDI),
                "passes": {as_name(MARKUP): {"frames": "held"}},
            },
            "QU_020": {"lights": lights(1, "=1+1"), "passes": {as_name(MARKUP): {"frames": "held"}}},
        },
        sequence={"title": MARKUP + BIDI},
    )
    session = open_session(folder)
    cells = session.cases.unsettled_cells()
    from samelight.decisions.decision import Verb

    session.decide(Verb.RETURN, cells[:3], who=MARKUP, reason=f"{MARKUP}{CONTROL}{BIDI}\n=1+1|x\n# head")
    return folder


class Elements(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, tuple[str, ...]]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, tuple(name for name, _ in attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def hides(text: str) -> set[str]:
    import unicodedata

    return {c for c in text if unicodedata.category(c) in HIDDEN and c not in "\n"}


def test_nothing_escapes_into_the_page(hostile: Path) -> None:
    page = html_text(report_of(hostile))
    elements = Elements(page)
    tags = [tag for tag, _ in elements.found]
    assert tags.count("script") == tags.count("style") == tags.count("h1") == 1
    assert "img" not in tags and tags.count("title") > 1
    assert not any(name.startswith("on") for _, names in elements.found for name in names)
    assert not hides(page)
    assert "{{ 7 * 7 }}" in elements.text  # shown as it is, and 49 is nowhere
    assert "<script>alert(1)</script>" in elements.text
    assert "x" * 1000 not in page


def test_nothing_escapes_into_the_pages_of_lighters(hostile: Path) -> None:
    handed = hand_over(open_session(hostile), MADE)
    page, text = pages_html(handed), pages_text(handed)
    elements = Elements(page)
    tags = [tag for tag, _ in elements.found]
    assert tags.count("style") == tags.count("h1") == 1 and not {"script", "img"} & set(tags)
    assert not any(name.startswith("on") for _, names in elements.found for name in names)
    assert "{{ 7 * 7 }}" in elements.text and "<script>alert(1)</script>" in elements.text
    for said in (page, text):
        assert not hides(said) and "x" * 1001 not in said


def test_a_spreadsheet_runs_nothing(hostile: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(report_csv(report_of(hostile)))))
    assert rows
    for row in rows:
        for name, field in row.items():
            if name not in ("drift", "tolerance", "tolerances_off"):
                assert not field.lstrip().startswith(("=", "+", "-", "@", "|", "%")), field
            assert not hides(field) and len(field) <= 2001
    for formula in FORMULAS:
        assert str(safe(formula)).startswith(("'", "�"))
    assert safe(-0.5) == -0.5


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "|", "%", "＝", "＋", "－", "＠"])
@pytest.mark.parametrize("before", ["", " ", "a", "a ", "a;b", '"', 'a"'])
def test_a_spreadsheet_that_divides_by_semicolons_runs_nothing(sign: str, before: str) -> None:
    for text in (f"{before};{sign}1", f"{before}; {sign}1", f'{before};"{sign}1"', f"{sign}1;{sign}1"):
        written = csv_text(("a", "b"), [(text, "x")])
        for fields in csv.reader(io.StringIO(written), delimiter=";"):
            for field in fields:
                assert not field.strip('"').lstrip(' "').startswith(sign), (text, written)


def test_ordinary_text_stays_as_it_is() -> None:
    for text in ("a; b", "0.5; 3 st", "HB_010-HB_020", "a = b", "x;y;z"):
        assert safe(text) == text


FORBIDDEN = [chr(code) for code in range(32) if code not in (9, 10, 13)] + [
    "\ufffe",
    "\uffff",
    "\ud800",
    "\udcff",
]
"""XML 1.0, production 2."""


def test_no_character_that_xml_forbids_is_in_the_xml(make_sequence: MakeSequence) -> None:
    folder = make_sequence(
        master=LAMP, shots={"QU_010": {"lights": {"lamp": {**LAMP["lights"]["lamp"], "intensity": 9}}}}
    )
    report = report_of(folder)
    name = "".join(["QU", *FORBIDDEN])
    shots = tuple(
        replace(shot, name=name, trouble=trouble) for shot in report.shots for trouble in ("", name)
    )
    text = junit_text(replace(report, title=name, shots=shots))
    text.encode("utf-8")
    root = ElementTree.fromstring(text)
    cases = list(root.iter("testcase"))
    assert len(cases) == 2 and all(case.get("name") == "QU" + "�" * len(FORBIDDEN) for case in cases)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no names that are no UTF-8")
@pytest.mark.parametrize("form", ["html", "csv", "markdown", "junit", "json"])
def test_a_name_that_is_no_utf8_breaks_no_report(
    make_sequence: MakeSequence, tmp_path: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make_sequence(master=LAMP, shots={"QU_010": LAMP}, sequence={"cut": None})
    name = os.fsdecode(b"QU_\xff\xe9")
    bright = {
        "samelight": 2,
        "version": 1,
        "lights": {"lamp": {"type": "point", "position": [0, 1, 0], "intensity": 9}},
    }
    (folder / "shots" / name).mkdir()
    (folder / "shots" / name / f"{name}.v001.json").write_text(json.dumps(bright), encoding="utf-8")
    out = tmp_path / "report"
    assert main(["report", str(folder), "--format", form, "-o", str(out)]) == 0
    text = out.read_text(encoding="utf-8")
    assert ("QU_\\udcff\\udce9" if form == "json" else "��") in text.replace("\\_", "_")
    if form == "json":
        assert name in {cell["shot"] for cell in json.loads(text)["cells"]}
    for words in (["report", "--format", form], ["check"], ["fix"], ["plan"], ["fix", "--format", "csv"]):
        assert main([words[0], str(folder), *words[1:]]) in (0, 1)
        told = capsys.readouterr()
        assert "lamp" in told.out or words[0] == "plan"
        assert "program itself" not in told.err


def test_numbers_stay_numbers(harbour: Path) -> None:
    rows = csv.DictReader(io.StringIO(report_csv(report_of(harbour))))
    drifts = {(row["shot"], row["parameter"]): row["drift"] for row in rows}
    assert float(drifts["HB_150", "lights.bounce.level"]) == pytest.approx(-0.35)


def test_the_xml_is_whole(hostile: Path) -> None:
    text = junit_text(report_of(hostile))
    root = ElementTree.fromstring(text)
    assert [case.get("name") for case in root.iter("testcase")] == [SHOT, "QU_020"]
    assert not hides(text)
    assert {element.tag for element in root.iter()} <= {
        "testsuites",
        "testsuite",
        "testcase",
        "failure",
        "error",
        "properties",
        "property",
        "system-out",
    }


def test_markdown_shows_it_as_it_is(hostile: Path) -> None:
    text = report_markdown(report_of(hostile))
    assert not hides(text)
    assert "<script>" not in text.replace("\\<", "")
    for line in text.splitlines():
        if line.startswith("|"):
            bare = line.replace("\\\\", "").replace("\\|", "")
            assert bare.count("|") in (9, 8, 5)  # the tables here have eight, seven and four columns
    assert escaped("# head\n| a") == "\\# head�\\| a"


def test_nothing_steers_a_terminal(hostile: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["fix"], ["fix", "--sheet"], ["plan"], ["check"], ["report", "--format", "markdown"]):
        command, *options = words
        main([command, str(hostile), *options])
        out, err = capsys.readouterr()
        assert not hides(out) and not hides(err), words
        assert max(map(len, out.splitlines())) < 5000 or "--sheet" in words, words


def test_nothing_is_written_elsewhere(hostile: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = everything(hostile.parent)
    out = hostile.parent / "report.html"
    assert main(["report", str(hostile), "-o", str(out)]) == 0
    assert main(["fix", str(hostile), "--sheet", "--write"]) == 0
    capsys.readouterr()
    new = everything(hostile.parent) - before
    shots = {str(Path(hostile.name, "shots", shot, f"{shot}.v002.yaml")) for shot in (SHOT, "QU_020")}
    assert new == {"report.html", *shots}
    # What was written reads back, hostile names and all, and drifts no more.
    assert main(["check", str(hostile), "--format", "json"]) in (0, 1)
    data = json.loads(capsys.readouterr().out)
    typed = [cell for cell in data["cells"] if cell["parameter"].startswith(("lights.", "passes."))]
    assert not [cell for cell in typed if cell["level"] in ("drift", "break")]


def everything(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
