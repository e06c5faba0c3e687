"""`check` as a gate: what is new, what is accepted, what is printed and what is not."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.sequence.session import open_session

Check = Callable[..., tuple[int, str]]
LAMP = {"type": "point", "position": [0, 1, 0], "intensity": 2}


@pytest.fixture
def check(capsys: pytest.CaptureFixture[str]) -> Check:
    def run(folder: Path, *words: str) -> tuple[int, str]:
        status = main(["check", str(folder), *words])
        return status, capsys.readouterr().out

    return run


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    return make_sequence(
        master={"lights": {"key": LAMP, "rim": LAMP}},
        shots={
            "QU_010": {"lights": {"key": {**LAMP, "intensity": 4}, "rim": LAMP}},
            "QU_020": {"lights": {"key": LAMP, "rim": {**LAMP, "cone": 3}}},
            "QU_030": {"lights": {"key": LAMP, "rim": LAMP}},
        },
    )


def saved(check: Check, folder: Path, *words: str) -> Path:
    path = folder.parent / f"saved{len(list(folder.parent.glob('saved*')))}.json"
    path.write_text(check(folder, "--format", "json", *words)[1], encoding="utf-8")
    return path


def publish(folder: Path, shot: str, version: int, lights: dict[str, Any]) -> None:
    tree = {"samelight": 2, "shot": shot, "version": version, "lights": lights}
    path = folder / f"shots/{shot}/{shot}.v{version:03d}.json"
    path.write_text(json.dumps(tree), encoding="utf-8")


def cells(text: str) -> list[tuple[str, str]]:
    return [(cell["shot"], cell["parameter"]) for cell in json.loads(text)["cells"]]


def test_since_lists_nothing_while_nothing_changed(check: Check, quay: Path) -> None:
    before = saved(check, quay)
    status, out = check(quay, "--since", str(before), "--format", "json")
    assert (status, cells(out)) == (0, [])


def test_since_lists_what_is_new_and_what_moved(check: Check, quay: Path) -> None:
    before = saved(check, quay)
    publish(quay, "QU_030", 2, {"key": LAMP, "rim": {**LAMP, "intensity": 3}})
    publish(quay, "QU_010", 2, {"key": {**LAMP, "intensity": 8}, "rim": LAMP})
    status, out = check(quay, "--since", str(before), "--format", "json")
    typed = [name for name in cells(out) if name[1].startswith("lights.")]
    assert (status, typed) == (1, [("QU_010", "lights.key.level"), ("QU_030", "lights.rim.level")])
    assert all(set(finding["shots"]) & {"QU_010", "QU_030"} for finding in json.loads(out)["findings"])


def test_since_lists_what_lapsed(check: Check, quay: Path) -> None:
    session = open_session(quay)
    row, column = session.table.row("lights.key.level"), session.table.column("QU_010")
    assert row is not None and column is not None
    before = saved(check, quay)
    session.decide(Verb.INTEND, [(row, column)], who="lead", reason="meant")
    _, out = check(quay, "--since", str(before), "--format", "json")
    assert [(cell["parameter"], cell["state"]) for cell in json.loads(out)["cells"]] == [
        ("lights.key.level", "intended")
    ]


def test_a_baseline_is_accepted_as_it_stands(check: Check, quay: Path) -> None:
    accepted = saved(check, quay)
    status, out = check(quay, "--baseline", str(accepted), "--format", "json")
    assert status == 0
    assert all(cell["baseline"] is True for cell in json.loads(out)["cells"])
    assert cells(out)  # they are still listed
    text = check(quay, "--baseline", str(accepted))[1]
    assert f"accepted by {accepted}" in text


def test_a_baseline_holds_for_its_values_only(check: Check, quay: Path) -> None:
    accepted = saved(check, quay)
    publish(quay, "QU_010", 2, {"key": {**LAMP, "intensity": 4.4}, "rim": LAMP})
    status, out = check(quay, "--baseline", str(accepted), "--format", "json")
    marked = {(cell["shot"], cell["parameter"]): cell.get("baseline") for cell in json.loads(out)["cells"]}
    assert status == 1
    assert marked["QU_010", "lights.key.level"] is None
    assert marked["QU_020", "lights.rim.cone"] is True


def test_a_baseline_holds_for_all_that_an_extra_light_holds(check: Check, quay: Path) -> None:
    extra = {"key": LAMP, "rim": LAMP, "card": {**LAMP, "intensity": 2}}
    publish(quay, "QU_030", 2, extra)
    accepted = saved(check, quay)
    assert check(quay, "--baseline", str(accepted))[0] == 0
    publish(quay, "QU_030", 3, {**extra, "card": {**LAMP, "intensity": 9000}})
    assert check(quay, "--baseline", str(accepted))[0] == 1
    _, out = check(quay, "--since", str(accepted), "--format", "json")
    assert ("QU_030", "lights.card") in cells(out)


def test_a_baseline_of_other_shots_accepts_nothing(check: Check, quay: Path) -> None:
    accepted = saved(check, quay, "--shots", "QU_020")
    assert check(quay, "--baseline", str(accepted))[0] == 1
    assert check(quay, "--baseline", str(accepted), "--shots", "QU_020-QU_030")[0] == 0


def test_a_baseline_that_cannot_be_read_stops_the_gate(check: Check, quay: Path, tmp_path: Path) -> None:
    path = tmp_path / "odd.json"
    path.write_text("{}", encoding="utf-8")
    for option in ("--baseline", "--since"):
        assert check(quay, option, str(path)) == (2, "")


def test_quiet_says_it_with_its_status(check: Check, quay: Path, harbour: Path) -> None:
    assert check(quay, "--quiet") == (1, "")
    assert check(quay, "--quiet", "--shots", "QU_030") == (0, "")
    assert check(harbour, "--quiet", "--format", "json") == (1, "")


def test_junit_has_a_case_a_shot(check: Check, quay: Path) -> None:
    status, out = check(quay, "--format", "junit")
    suite = ElementTree.fromstring(out).find("testsuite")
    assert status == 1 and suite is not None
    assert (suite.get("tests"), suite.get("failures"), suite.get("errors")) == ("3", "2", "0")
    failing = [case.get("name") for case in suite if case.find("failure") is not None]
    assert failing == ["QU_010", "QU_020"]
    accepted = saved(check, quay)
    status, out = check(quay, "--format", "junit", "--baseline", str(accepted))
    assert status == 0 and "<failure" not in out


def test_junit_agrees_with_the_status(check: Check, harbour: Path) -> None:
    for words in (
        ["--fail-on", "break"],
        ["--shots", "HB_010-HB_040"],
        ["--only", "old-master"],
        ["--shots", "HB_160"],
    ):
        status, out = check(harbour, "--format", "junit", *words)
        assert status == int("<failure" in out), words


def test_a_shot_that_cannot_be_read_is_an_error(check: Check, quay: Path) -> None:
    (quay / "shots/QU_020/QU_020.v001.yaml").write_text("lighst: 1", encoding="utf-8")
    status, out = check(quay, "--format", "junit")
    root = ElementTree.fromstring(out)
    assert status == 2
    assert [case.get("name") for case in root.iter("testcase") if case.find("error") is not None] == [
        "QU_020"
    ]


def test_json_names_the_shots_it_looked_at(check: Check, quay: Path) -> None:
    assert json.loads(check(quay, "--format", "json")[1])["shots"] == ["QU_010", "QU_020", "QU_030"]
    assert json.loads(check(quay, "--format", "json", "--shots", "QU_020")[1])["shots"] == ["QU_020"]


@pytest.mark.parametrize(("words", "environment"), [(["--no-colour"], {}), ([], {"NO_COLOR": "1"})])
def test_no_colour_where_none_is_wanted(
    quay: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: list[str],
    environment: dict[str, str],
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    for name, value in {"FORCE_COLOR": "1", "TERM": "xterm-256color"}.items():
        monkeypatch.setenv(name, value)
    coloured = re.compile(r"\x1b\[[0-9;]*3[0-9]")
    assert main(["check", str(quay)]) == 1
    assert coloured.search(capsys.readouterr().out)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert main(["check", str(quay), *words]) == 1
    out, err = capsys.readouterr()
    assert not coloured.search(out)
    assert err == ""  # no progress where nobody watches


@pytest.mark.parametrize("is_folder", [True, False])
def test_of_no_shot_it_is_said_that_nothing_was_checked(
    quay: Path, capsys: pytest.CaptureFixture[str], is_folder: bool
) -> None:
    (quay / "sequence.yaml").write_text("samelight_sequence: 2\n", encoding="utf-8")
    shutil.rmtree(quay / "shots")
    (quay / "shots").mkdir() if is_folder else (quay / "shots").touch()
    assert main(["check", str(quay)]) == 2
    told = capsys.readouterr().err
    assert "samelight: there are no shots to check" in told
    assert is_folder or "The folder of all shots cannot be read: a file where a folder should be" in told
