"""`samelight check`: what it prints, where, and its exit status."""

from __future__ import annotations

import json
import math
import os
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.cli.shots import chosen_shots
from samelight.decisions.decision import Verb
from samelight.sequence.session import open_session
from samelight.sequence.store import SheetStore
from samelight.sheets.errors import SamelightError
from samelight.sheets.writing import write_sheet

RIM: dict[str, Any] = {
    "type": "disk",
    "position": [0, 2, 0],
    "target": [0, 0, 0],
    "intensity": 1.0,
    "normalize": True,
}
MASTER: dict[str, Any] = {"lights": {"rim": RIM}}
NEARLY: dict[str, Any] = {"lights": {"rim": {**RIM, "exposure": 0.05}}}
DIMMED: dict[str, Any] = {"lights": {"rim": {**RIM, "exposure": -1}}}
LOCKED = {"locks": ["lights.rim.level"]}


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    return make_sequence(master=MASTER, shots={"A": MASTER, "B": NEARLY, "C": DIMMED})


def run(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    try:
        status = main([str(word) for word in words])
    except SystemExit as end:  # argparse ends the program by itself
        status = int(end.code or 0)
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    return status, out, err


def as_json(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, dict[str, Any]]:
    status, out, err = run(capsys, "check", *words, "--format", "json")
    assert err == "" or status == 2
    return status, json.loads(out)


class TestExitStatus:
    @pytest.mark.parametrize(
        ("policy", "sequence", "status", "said"),
        [
            (
                {"locks": ["lights.rmi.level"]},
                {},
                2,
                "the lock holds nothing: lights.rmi.level (did you mean",
            ),
            (
                {"tolerances": {"lights.rmi.level": "1 st"}},
                {},
                0,
                "parameters that no sheet has: lights.rmi.level",
            ),
            ({"defaults": {"lights.rmi.level": 1}}, {}, 0, "parameters that no sheet has: lights.rmi.level"),
            ({}, {"key_shot": "D"}, 0, "calls the key shot D, which is not in the cut"),
            ({}, {"cut": ["A"]}, 0, "Not in the cut, and so not shown: B"),
        ],
        ids=["lock", "tolerance", "default", "key shot", "cut"],
    )
    def test_what_may_make_the_answer_wrong_ends_with_2_and_a_remark_changes_nothing(
        self,
        capsys: pytest.CaptureFixture[str],
        make_sequence: MakeSequence,
        policy: dict[str, Any],
        sequence: dict[str, Any],
        status: int,
        said: str,
    ) -> None:
        folder = make_sequence(
            master=MASTER, shots={"A": MASTER, "B": NEARLY}, policy=policy, sequence=sequence
        )
        found, out, err = run(capsys, "check", folder, "--format", "json")
        assert found == status and said in err
        assert any(said in trouble for trouble in json.loads(out)["troubles"])

    def test_a_cut_that_lost_its_end_is_told_where_its_ends_are_named(
        self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence
    ) -> None:
        edl = "TITLE: QUAY\n" + "".join(
            f"{n:03d}  {shot}  V  C  00:00:0{n}:00 00:00:0{n + 1}:00 01:00:0{n}:00 01:00:0{n + 1}:00\n"
            for n, shot in enumerate("ABC", 1)
        )
        folder = make_sequence(master=MASTER, shots=dict.fromkeys("ABC", MASTER), sequence={"cut": "cut.edl"})
        (folder / "cut.edl").write_text(edl, encoding="utf-8")
        assert run(capsys, "check", folder, "--shots", "A-C")[0] == 0
        (folder / "cut.edl").write_text("".join(edl.splitlines(keepends=True)[:-1]), encoding="utf-8")
        assert run(capsys, "check", folder)[0] == 0
        assert run(capsys, "check", folder, "--shots", "A-C")[0] == 2

    def test_a_cut_that_cannot_be_read_leaves_shots_out_that_nobody_knows(
        self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence
    ) -> None:
        folder = make_sequence(master=MASTER, shots={"A": MASTER}, sequence={"cut": "cut.edl"})
        (folder / "cut.edl").write_text("nothing of a cut", encoding="utf-8")
        status, _, err = run(capsys, "check", folder)
        assert status == 2 and "The cut cannot be read" in err
        assert run(capsys, "check", folder, "--shots", "A")[0] == 0  # which is there, whatever else is

    def test_nothing_open(self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence) -> None:
        assert run(capsys, "check", make_sequence(master=MASTER, shots={"A": MASTER, "B": NEARLY}))[0] == 0

    @pytest.mark.parametrize(
        ("shots", "policy", "fail_on", "status"),
        [
            ({"A": NEARLY}, None, "within", 1),
            ({"A": NEARLY}, None, "drift", 0),
            ({"A": DIMMED}, None, "within", 1),
            ({"A": DIMMED}, None, "drift", 1),
            ({"A": DIMMED}, None, "break", 0),
            ({"A": DIMMED}, LOCKED, "break", 1),
            ({"A": MASTER}, LOCKED, "within", 0),
        ],
    )
    def test_the_lowest_level_that_counts(
        self,
        capsys: pytest.CaptureFixture[str],
        make_sequence: MakeSequence,
        shots: Any,
        policy: Any,
        fail_on: str,
        status: int,
    ) -> None:
        # The derived rows of a rim that falls on no mark are not there, so that only its own level differs.
        folder = make_sequence(master=MASTER, shots=shots, policy=policy)
        assert run(capsys, "check", folder, "--fail-on", fail_on)[0] == status

    def test_what_is_intended_is_not_open(self, capsys: pytest.CaptureFixture[str], quay: Path) -> None:
        assert run(capsys, "check", quay)[0] == 1
        session = open_session(quay)
        session.decide(Verb.INTEND, session.cases.unsettled_cells(), "lead", "a darker rim")
        status, out, _ = run(capsys, "check", quay)
        assert status == 0
        assert "intended" in out
        session.history.undo("lead")
        session.decide(Verb.RETURN, session.cases.unsettled_cells(), "lead")
        assert run(capsys, "check", quay)[0] == 1

    def test_a_shot_that_cannot_be_read(self, capsys: pytest.CaptureFixture[str], quay: Path) -> None:
        """Not all of it could be checked, whatever the rest says: a green farm gate would be a lie."""
        (quay / "shots/A/A.v001.yaml").write_text("samelight: 2\nlighst: {}", encoding="utf-8")
        status, out, err = run(capsys, "check", quay)
        assert status == 2
        assert "lights.rim.level" in out
        assert re.search(r"samelight: A is unreadable: .*A\.v001\.yaml:2:1: lighst: expected", err)
        assert run(capsys, "check", quay, "--shots", "B")[0] == 0
        assert run(capsys, "check", quay, "--shots", "A")[0] == 2

    def test_no_master(self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence) -> None:
        folder = make_sequence(shots={"A": MASTER})
        status, out, err = run(capsys, "check", folder)
        assert status == 2
        assert "no master setup to compare with" in out
        assert (
            f"No master setup is published yet, so that nothing is compared: `samelight publish {folder}"
            in err
        )

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("", "an empty file"),
            ("samelight_decision: 2\nid: a\nverb: [int", "expected"),
            ("samelight_decision: 9\nid: a", "of a newer program"),
            ("samelight_decision: 2\nid: a\nverb: return\nshot: A\nparameter: x.y\nwho: lead\n"
             "when: 2026-09-14T08:15:30Z\nreasons: meant", "the key reasons"),
        ],
        ids=["empty", "cut off", "newer", "unknown key"],
    )  # fmt: skip
    def test_a_decision_that_cannot_be_read(
        self, capsys: pytest.CaptureFixture[str], quay: Path, text: str, message: str
    ) -> None:
        """A shot may hang on it: what everybody else decided is no whole answer."""
        session = open_session(quay)
        session.decide(Verb.INTEND, session.cases.unsettled_cells(), "lead", "a darker rim")
        assert run(capsys, "check", quay)[0] == 0
        (quay / "decisions/a.yaml").write_text(text, encoding="utf-8")
        for words in ([], ["--quiet"], ["--format", "json"], ["--format", "junit"], ["--shots", "B"]):
            status, out, err = run(capsys, "check", quay, *words)
            assert status == 2, words
            assert "samelight: Decision skipped: " in err and message in err
            if "json" in words:
                (trouble,) = json.loads(out)["troubles"]
                assert "a.yaml" in trouble and message in trouble
            if "junit" in words:
                suite = ElementTree.fromstring(out)[0]
                assert suite.get("errors") == "1" and suite.get("failures") == "0"
                (error,) = suite.findall("testcase[@name='decisions']/error")
                assert message in str(error.get("message"))
        for form in ("html", "json", "junit", "csv", "markdown"):
            assert run(capsys, "report", quay, "--format", form)[0] == 2
        (quay / "decisions/a.yaml").unlink()
        assert run(capsys, "check", quay)[0] == 0
        assert run(capsys, "report", quay, "--format", "json")[0] == 0

    @pytest.mark.parametrize("text", [None, "title: [", "ttle: x", "policy: nowhere.yaml"])
    def test_no_sequence(self, capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str | None) -> None:
        if text is not None:
            (tmp_path / "sequence.yaml").write_text(text, encoding="utf-8")
        status, out, err = run(capsys, "check", tmp_path)
        assert (status, out) == (2, "")
        assert f"samelight: {tmp_path}" in err
        assert "sequence.yaml" in err

    def test_no_folder(self, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
        for folder in (tmp_path / "nowhere", tmp_path / ("n" * 5000)):
            status, out, err = run(capsys, "check", folder)
            assert (status, out) == (2, "")
            assert err.startswith("samelight: ")

    def test_a_file_for_a_folder(self, capsys: pytest.CaptureFixture[str], quay: Path) -> None:
        status, _, err = run(capsys, "check", quay / "sequence.yaml")
        assert status == 2
        assert "expected a sequence folder" in err


class TestJson:
    def test_the_names_and_types(self, capsys: pytest.CaptureFixture[str], harbour: Path) -> None:
        status, data = as_json(capsys, harbour)
        assert status == 1
        assert list(data)[:6] == ["samelight", "sequence", "master", "cells", "findings", "counts"]
        assert (data["samelight"], data["sequence"], data["master"]) == (2, "Harbour", 3)
        assert list(data["counts"]) == ["same", "within", "drift", "break"]
        assert all(isinstance(count, int) for count in data["counts"].values())
        names = [
            "shot",
            "parameter",
            "kind",
            "master",
            "value",
            "drift",
            "unit",
            "tolerance",
            "level",
            "state",
        ]
        for cell in data["cells"]:
            assert list(cell)[:10] == names
            assert set(cell) - set(names) <= {"of", "remark", "follows", "rests"}
            assert all(isinstance(cell[name], str) for name in names if name not in ("drift", "tolerance"))
            assert cell["drift"] is None or math.isfinite(cell["drift"])
            assert isinstance(cell["tolerance"], float)
            assert cell["level"] in ("within", "drift", "break")
            assert cell["state"] in ("undecided", "intended", "sent back", "asks again", "two opinions")
            assert ("of" in cell) == (cell["kind"] == "curve")
        for finding in data["findings"]:
            assert {"finding", "shots", "parameters", "says"} <= finding.keys()
            assert finding["says"]
            assert isinstance(finding["shots"], list)
            assert isinstance(finding["parameters"], list)
        graded = [cell["level"] for cell in data["cells"]]
        assert {level: graded.count(level) for level in ("within", "drift", "break")} == {
            level: count for level, count in data["counts"].items() if level != "same"
        }

    def test_a_cell_word_for_word(self, capsys: pytest.CaptureFixture[str], harbour: Path) -> None:
        _, data = as_json(capsys, harbour, "--shots", "HB_050")
        (sun,) = [cell for cell in data["cells"] if cell["parameter"] == "lights.sun.direction"]
        # 12 degrees of azimuth at 24 degrees of elevation: 2 asin(cos 24 sin 6) = 10.96 degrees of a great circle.
        drift = sun.pop("drift")
        assert drift == pytest.approx(
            math.degrees(2 * math.asin(math.cos(math.radians(24)) * math.sin(math.radians(6))))
        )
        assert round(drift, 2) == 10.96
        assert sun == {
            "shot": "HB_050",
            "parameter": "lights.sun.direction",
            "kind": "direction",
            "master": "az 131.0° el 24.0°",
            "value": "az 143.0° el 24.0°",
            "unit": "deg",
            "tolerance": 0.5,
            "level": "break",
            "state": "undecided",
        }

    def test_figures_that_are_none(
        self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence
    ) -> None:
        dark = {"lights": {"rim": {**RIM, "intensity": 0}}}
        _, data = as_json(capsys, make_sequence(master=MASTER, shots={"A": dark, "B": {"lights": {}}}))
        cells = {(cell["shot"], cell["parameter"]): cell for cell in data["cells"]}
        out = cells["A", "lights.rim.level"]
        assert (out["drift"], out["remark"]) == (None, "dark in the shot")
        gone = cells["B", "lights.rim"]
        assert (gone["drift"], gone["master"], gone["value"], gone["remark"]) == (
            None,
            "present",
            "none",
            "absent",
        )

    def test_an_animated_cell(self, capsys: pytest.CaptureFixture[str], harbour: Path) -> None:
        _, data = as_json(capsys, harbour, "--shots", "HB_020")
        (lamp,) = [cell for cell in data["cells"] if cell["parameter"] == "lights.boat_lamp.level"]
        assert (lamp["kind"], lamp["of"], lamp["level"], lamp["tolerance"]) == (
            "curve",
            "level",
            "within",
            0.15,
        )
        assert abs(lamp["drift"]) == pytest.approx(0.07, abs=0.001)

    def test_every_cell(self, capsys: pytest.CaptureFixture[str], quay: Path) -> None:
        _, some = as_json(capsys, quay)
        _, every = as_json(capsys, quay, "--all")
        assert len(some["cells"]) < len(every["cells"]) == sum(every["counts"].values())
        assert {cell["level"] for cell in every["cells"]} == {"same", "within", "drift"}
        assert every["counts"] == some["counts"]

    def test_only_some_shots(self, capsys: pytest.CaptureFixture[str], quay: Path) -> None:
        status, data = as_json(capsys, quay, "--shots", "A-B")
        assert status == 0
        assert {cell["shot"] for cell in data["cells"]} == {"B"}
        _, every = as_json(capsys, quay)
        _, last = as_json(capsys, quay, "--shots", "C")
        assert {level: count + last["counts"][level] for level, count in data["counts"].items()} == every[
            "counts"
        ]

    def test_troubles_are_in_it_too(self, capsys: pytest.CaptureFixture[str], quay: Path) -> None:
        (quay / "shots/A/A.v001.yaml").write_text("samelight: 2\nlighst: {}", encoding="utf-8")
        status, out, _ = run(capsys, "check", quay, "--format", "json")
        assert status == 2
        assert "A is unreadable" in json.loads(out)["troubles"][0]


class TestText:
    def test_a_cell_stands_on_one_line(self, capsys: pytest.CaptureFixture[str], quay: Path) -> None:
        _, out, err = run(capsys, "check", quay)
        lines = out.splitlines()
        assert lines[0] == "quay, against master 1"
        assert "C      lights.rim.level  1       0.5    −1.00 st  drift   undecided" in [
            re.sub(r"^(\S+) +", lambda m: f"{m[1]:<7}", line) for line in lines
        ]
        counts, cases, receipt = lines[-3:]
        assert counts.endswith("1 within, 1 drift, 0 break")
        assert cases == "1 undecided, 0 sent back, 0 intended"
        assert receipt.startswith("ledger ")
        assert err == ""

    def test_long_values_are_cut_and_names_are_not(
        self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence
    ) -> None:
        name = "rim_" + "x" * 150
        links = [f"/set/{number:03d}" for number in range(100)]
        master = {"lights": {name: {**RIM, "light_links": ["*"]}}}
        shot = {"lights": {name: {**RIM, "light_links": links}}}
        _, out, _ = run(capsys, "check", make_sequence(master=master, shots={"A": shot}))
        (line,) = [line for line in out.splitlines() if line.startswith("A ")]
        assert f"lights.{name}.light_links" in line
        assert "/set/000, /set/001" in line
        assert "…" in line
        assert "/set/099" not in line

    def test_nothing_differs(self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence) -> None:
        status, out, err = run(capsys, "check", make_sequence(master=MASTER, shots={"A": MASTER}))
        assert (status, err) == (0, "")
        assert out.splitlines()[0] == "quay, against master 1"
        assert out.splitlines()[-3].endswith("same, 0 within, 0 drift, 0 break")
        assert out.splitlines()[-2] == "0 undecided, 0 sent back, 0 intended"
        assert "parameter" not in out

    def test_findings_come_with_what_to_do(self, capsys: pytest.CaptureFixture[str], harbour: Path) -> None:
        _, out, _ = run(capsys, "check", harbour, "--shots", "HB_120")
        assert "• The GI range is 100 times the master's" in out
        assert "HB_120  render.gi.range" in out
        assert "HB_050" not in out.split("shot ")[1]

    def test_no_colour_but_on_a_terminal(
        self, capsys: pytest.CaptureFixture[str], quay: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.delenv("FORCE_COLOR", raising=False)
        monkeypatch.delenv("NO_COLOR", raising=False)
        assert "\x1b" not in run(capsys, "check", quay)[1]
        monkeypatch.setenv("FORCE_COLOR", "1")
        monkeypatch.setenv("TERM", "xterm-256color")
        assert "\x1b[" in run(capsys, "check", quay)[1]
        monkeypatch.setenv("NO_COLOR", "1")
        assert not re.search(r"\x1b\[[\d;]*3[1-7]m", run(capsys, "check", quay)[1])


HOSTILE = "rim\x1b]0;gone\x07\u202e\u2066\x9b31m\u200b"


class TestHostileNames:
    """A name from a file may try to steer the terminal of whoever checks it."""

    @pytest.fixture
    def trap(self, make_sequence: MakeSequence) -> Path:
        master = {"lights": {"rim": RIM}}
        shot = {"lights": {"rim": {**RIM, "mood": HOSTILE}, "a [bold]rim[/]": RIM}}
        stated = {"title": f"Trap {HOSTILE}", "cut": ["A", "B"]}
        return make_sequence(master=master, shots={"A": shot}, sequence=stated)

    def test_text(self, capsys: pytest.CaptureFixture[str], trap: Path) -> None:
        _, out, err = run(capsys, "check", trap, "--all")
        assert "Trap rim�]0;gone" in out
        assert "B has no published sheet" in err
        _is_tame(out + err)

    def test_json_keeps_every_character(self, capsys: pytest.CaptureFixture[str], trap: Path) -> None:
        _, out, err = run(capsys, "check", trap, "--format", "json")
        _is_tame(out + err)
        data = json.loads(out)
        assert data["sequence"] == f"Trap {HOSTILE}"
        cells = {cell["parameter"]: cell["value"] for cell in data["cells"]}
        assert HOSTILE in str(cells["lights.rim.mood"])
        assert "lights.a [bold]rim[/]" in cells

    def test_decisions(self, capsys: pytest.CaptureFixture[str], trap: Path) -> None:
        status, out, err = run(
            capsys, "decide", trap, "intend", "A", "lights.*", "--reason", f"a trap {HOSTILE}"
        )
        assert status == 0
        assert "intend A lights.a [bold]rim[/]" in out
        _is_tame(out + err)

    def test_faults(self, capsys: pytest.CaptureFixture[str], trap: Path) -> None:
        write_sheet(
            trap / "shots/A/A.v002.yaml", {"samelight": 2, "shot": "A", HOSTILE: 1, "frames": HOSTILE}
        )
        status, out, err = run(capsys, "check", trap)
        assert status == 2
        _is_tame(out + err)

    def test_words_that_a_shell_took_from_names_of_files(
        self, capsys: pytest.CaptureFixture[str], quay: Path
    ) -> None:
        for words in (
            ("check", quay, HOSTILE),
            ("check", quay, "--shots", HOSTILE),
            ("check", quay, "--only", HOSTILE),
            ("check", quay / HOSTILE),
            (quay / HOSTILE,),
            (quay, HOSTILE),
            ("decide", quay, HOSTILE, "A", "lights.rim.level"),
            ("decide", quay, "return", "A", HOSTILE),
        ):
            status, out, err = run(capsys, *words)
            assert (status, out) == (2, "")
            _is_tame(err)


def _is_tame(text: str) -> None:
    assert not set(text) & (set(HOSTILE) - set("rim]0;gone31m"))


class TestShots:
    CUT = ("HB_010", "HB_020", "HB-030", "A", "A-B", "B")

    @pytest.mark.parametrize(
        ("text", "chosen"),
        [
            ("HB_020", ["HB_020"]),
            ("B,HB_010", ["HB_010", "B"]),
            (" A , B ,A", ["A", "B"]),
            ("HB_010-HB-030", ["HB_010", "HB_020", "HB-030"]),
            ("HB-030", ["HB-030"]),
            ("HB-030-B", ["HB-030", "A", "A-B", "B"]),
            ("A-B", ["A-B"]),
            ("A-A-B", ["A", "A-B"]),
            ("HB_010-HB_010", ["HB_010"]),
        ],
    )
    def test_lists_and_runs(self, text: str, chosen: list[str]) -> None:
        assert chosen_shots(text, self.CUT) == chosen

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("HB_11", "no shot HB_11 in the cut; did you mean HB_010?"),
            ("B-HB_010", "B comes after HB_010 in the cut"),
            ("HB_010-HB_02", "no shot HB_02 in the cut; did you mean HB_020?"),
            ("", "no shot '' in the cut"),
            ("A,", "no shot '' in the cut"),
        ],
    )
    def test_what_is_not_in_the_cut(self, text: str, message: str) -> None:
        with pytest.raises(SamelightError, match=re.escape(message)):
            chosen_shots(text, self.CUT)


def test_a_folder_that_may_not_be_entered(capsys: pytest.CaptureFixture[str], quay: Path) -> None:
    quay.chmod(0o000)
    if os.access(quay, os.R_OK):
        quay.chmod(0o700)
        pytest.skip("the superuser may read everything")
    try:
        status, out, err = run(capsys, "check", quay)
    finally:
        quay.chmod(0o700)
    assert (status, out) == (2, "")
    assert "Permission denied" in err


def test_any_error_of_the_system_is_one_line(
    capsys: pytest.CaptureFixture[str], quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(store: SheetStore, **options: object) -> None:
        raise PermissionError(13, "Permission denied", str(store.folder))

    monkeypatch.setattr("samelight.cli.reading.open_store", refuse)
    assert run(capsys, "check", quay) == (2, "", f"samelight: {quay}: Permission denied\n")


class TestSheetsAtFault:
    """A slip in one sheet is a sentence with its place and exit status 2; everything else is told."""

    def test_a_master_setup_that_was_never_published(
        self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence
    ) -> None:
        folder = make_sequence(master=MASTER, shots={"A": {"master": 7, **MASTER}, "B": DIMMED})
        status, data = as_json(capsys, folder)
        assert status == 2
        (said,) = data["troubles"]
        assert "A.v001.yaml:" in said
        assert said.startswith("A is unreadable: ")
        assert "master: expected the version of a published master setup, 1 at most, found version 7" in said
        place = re.search(r"A\.v001\.yaml:(\d+):1: master", said)
        assert place is not None
        lines = (folder / "shots" / "A" / "A.v001.yaml").read_text(encoding="utf-8").splitlines()
        assert lines[int(place[1]) - 1] == "master: 7"
        assert {cell["shot"] for cell in data["cells"]} == {"B"}

    def test_one_that_was_put_away_since_is_none(
        self, capsys: pytest.CaptureFixture[str], make_sequence: MakeSequence
    ) -> None:
        folder = make_sequence(master=[MASTER, MASTER], shots={"A": {"master": 1, **MASTER}})
        (folder / "master" / "master.v001.yaml").unlink()
        assert run(capsys, "check", folder)[0] == 0

    @pytest.mark.parametrize(
        ("text", "where"),
        [
            ("lights:\n  rim:\n", "3:3: lights.rim: expected a group of parameters, found nothing"),
            ("lights: {rim: {type: disk, exposure: -0,5}}\n", "lights.rim.5: expected a name as key"),
            ("lights: {rim: {type: disk, intensty: 1}}\n", "(did you mean intensity?)"),
            ("lights: {rim: {type: dsik}}\n", "(did you mean disk?)"),
        ],
    )
    def test_a_slip(self, capsys: pytest.CaptureFixture[str], quay: Path, text: str, where: str) -> None:
        (quay / "shots" / "A" / "A.v001.yaml").write_text(f"samelight: 2\n{text}", encoding="utf-8")
        status, data = as_json(capsys, quay)
        assert status == 2
        (said,) = data["troubles"]
        assert said.startswith("A is unreadable: ")
        assert where in said
        assert {cell["shot"] for cell in data["cells"]} == {"B", "C"}
        assert not any(finding["shots"] == ["A"] for finding in data["findings"])
        for words in (["plan"], ["fix"], ["report", "-o", str(quay.parent / "r.html")]):
            assert run(capsys, words[0], quay, *words[1:])[0] in (0, 1, 2)
