"""`samelight watch`: what happens to cases as JSON lines, for whatever a studio hooks on."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from rim_light import LEVEL, publish, rig
from samelight.cli import watch, watch_production
from samelight.cli.main import main
from samelight.sequence.session import Session
from samelight.sheets.trees import read_document
from samelight.sheets.writing import yaml_text


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    shots = {"A": rig(), "B": rig(1), "C": rig()}
    return make_sequence(master=rig(), shots=shots, sequence={"lighters": {"Tomas": ["B"]}})


def decide(folder: Path, verb: str, *more: str) -> None:
    assert main(["decide", str(folder), verb, "B", LEVEL, "--who", "mira", *more]) == 0


def told(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    folder: Path,
    steps: Sequence[Callable[[], object]],
    *words: str,
) -> tuple[int, list[list[dict[str, Any]]]]:
    """What is printed at the start and after each of these steps."""
    parts: list[str] = []

    def ticks(_: Path, every: float) -> Iterator[None]:
        parts.append(capsys.readouterr().out)
        for step in steps:
            step()
            capsys.readouterr()
            yield
            parts.append(capsys.readouterr().out)

    monkeypatch.setattr(watch, "ticks", ticks)
    status = main(["watch", str(folder), *words])
    return status, [[json.loads(line) for line in part.splitlines()] for part in parts]


def test_a_case_is_told_of_at_each_step_of_its_life(
    quay: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[Callable[[], object]] = [
        lambda: publish(quay, "C", 2, rig(2)),
        lambda: publish(quay, "C", 3, rig(1)),
        lambda: publish(quay, "C", 4, rig()),
        lambda: decide(quay, "return", "--reason", "as in the master"),
        lambda: decide(quay, "take-up"),
        lambda: publish(quay, "B", 2, rig()),
        lambda: decide(quay, "close"),
        lambda: publish(quay, "B", 3, rig(1)),
        lambda: None,
    ]
    status, (start, *parts) = told(capsys, monkeypatch, quay, steps)
    assert status == 0 and start == []
    said = [
        [(one["event"], one["shot"], one["parameter"]) for one in part if "rim" in one["parameter"]]
        for part in parts
    ]
    assert said == [
        [("opened", "C", LEVEL)],
        [("moved", "C", LEVEL)],
        [("gone", "C", LEVEL)],
        [("sent back", "B", LEVEL)],
        [("taken up", "B", LEVEL)],
        [("mended", "B", LEVEL)],
        [("closed", "B", LEVEL)],
        [("asks again", "B", LEVEL)],
        [],
    ]
    sent = parts[3][0]
    assert (sent["who"], sent["reason"], sent["lighters"], sent["level"]) == (
        "mira",
        "as in the master",
        ["Tomas"],
        "drift",
    )


def test_what_happened_between_two_runs_is_told_by_the_next(
    quay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    state = quay.parent / "quay.state"

    def look(*words: str) -> list[tuple[str, str]]:
        assert main(["watch", str(quay), "--state", str(state), "--once", *words]) == 0
        lines = capsys.readouterr().out.splitlines()
        return [(one["event"], one["shot"]) for one in map(json.loads, lines) if one["parameter"] == LEVEL]

    assert look() == []
    assert state.exists()
    publish(quay, "C", 2, rig(2))
    decide(quay, "intend", "--reason", "by the lamp")
    capsys.readouterr()
    assert sorted(look()) == [("intended", "B"), ("opened", "C")]
    assert look() == []
    state.write_text("{}", "utf-8")
    assert main(["watch", str(quay), "--state", str(state), "--once"]) == 2
    assert "quay.state: expected what `samelight watch --state` keeps" in capsys.readouterr().err


def test_a_file_that_cannot_be_read_is_told_once_and_stops_nothing(
    quay: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    sequence = quay / "sequence.yaml"
    text = sequence.read_text("utf-8")
    steps: list[Callable[[], object]] = [
        lambda: (quay / "shots/C/C.v002.yaml").write_text("samelight: [", "utf-8"),
        lambda: None,
        lambda: sequence.write_text("titel: x", "utf-8"),
        lambda: None,
        lambda: sequence.write_text(text, "utf-8"),
        lambda: publish(quay, "A", 2, rig(3)),
    ]
    status, (_, *parts) = told(capsys, monkeypatch, quay, steps, "--shots", "A,C")
    assert status == 2
    assert [[one["event"] for one in part if one.get("parameter", LEVEL) == LEVEL] for part in parts] == [
        ["trouble"],
        [],
        ["trouble"],
        [],
        [],
        ["opened"],
    ]
    assert "C.v002.yaml" in parts[0][0]["says"] and "titel" in parts[2][0]["says"]


def test_a_state_that_cannot_be_kept_is_told_once_and_kept_once_it_can_be(
    quay: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    state = quay.parent / "folder/quay.state"
    state.parent.write_text("a file in the place of its folder")

    def free() -> None:
        state.parent.unlink()
        publish(quay, "A", 2, rig(3))

    steps: list[Callable[[], object]] = [lambda: publish(quay, "C", 2, rig(2)), lambda: None]
    words = ["--state", str(state)]
    status, parts = told(capsys, monkeypatch, quay, steps, *words)
    events = [[one["event"] for one in part if one.get("parameter", LEVEL) == LEVEL] for part in parts]
    assert (status, events) == (2, [["trouble"], ["opened"], []])
    assert "quay.state" in parts[0][0]["says"]
    status, parts = told(capsys, monkeypatch, quay, [lambda: None, free], *words)
    assert status == 0
    assert [one["event"] for one in parts[0]] == ["trouble"] and not parts[1]
    assert main(["watch", str(quay), *words, "--once"]) == 0
    assert not capsys.readouterr().out


def test_a_shot_that_comes_into_the_cut_is_told_of(
    quay: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def come() -> None:
        publish(quay, "D", 1, rig(2))
        file = quay / "sequence.yaml"
        file.write_text(yaml_text({**read_document(file).data, "cut": ["A", "B", "C", "D"]}), "utf-8")

    steps: list[Callable[[], object]] = [come]
    status, (_, told_of) = told(capsys, monkeypatch, quay, steps)
    assert status == 0
    assert ("opened", "D", LEVEL) in [(one["event"], one["shot"], one["parameter"]) for one in told_of]


def test_a_failure_of_one_look_ends_no_following(
    quay: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: object) -> bool:
        raise ZeroDivisionError("unforeseen")

    def broken() -> None:
        monkeypatch.setattr(Session, "reload", fail)

    def whole() -> None:
        monkeypatch.setattr(Session, "reload", reload)
        publish(quay, "A", 2, rig(3))

    reload = Session.reload
    status, (_, *parts) = told(capsys, monkeypatch, quay, [broken, whole])
    assert status == 0
    assert [one["event"] for one in parts[0]] == ["trouble"] and "unforeseen" in parts[0][0]["says"]
    assert "opened" in [one["event"] for one in parts[1]]


@pytest.mark.parametrize("seconds", ["0", "-1", "nan", "inf", "1e9"])
def test_how_often_is_a_number_of_seconds_of_a_day(
    quay: Path, seconds: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["watch", str(quay), f"--every={seconds}"]) == 2
    assert "--every takes seconds, more than 0 and at most 86400" in capsys.readouterr().err


def test_a_production_is_followed_in_all_its_sequences(
    quay: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    town = quay.parent / "town"
    for name in ("one", "two"):
        shutil.copytree(quay, town / name)
    shutil.copytree(quay, town / "broken")
    (town / "broken/sequence.yaml").write_text("titel: x", "utf-8")
    steps: list[tuple[str, Callable[[], object]]] = [
        ("one", lambda: publish(town / "one", "C", 2, rig(2))),
        ("two", lambda: decide(town / "two", "return", "--reason", "as in the master")),
        ("broken", lambda: None),
        ("one", lambda: None),
    ]
    parts: list[str] = []

    def ticks(folders: Mapping[str, Path], every: float) -> Iterator[str]:
        assert list(folders) == ["broken", "one", "two"]
        parts.append(capsys.readouterr().out)
        for name, step in steps:
            step()
            capsys.readouterr()
            yield name
            parts.append(capsys.readouterr().out)

    monkeypatch.setattr(watch_production, "ticks_in", ticks)
    state = quay.parent / "town.state"
    assert main(["watch", str(town), "--state", str(state)]) == 2
    told = [[json.loads(line) for line in part.splitlines()] for part in parts]
    said = [
        [(one["event"], one["name"], one.get("shot")) for one in part if one.get("parameter", LEVEL) == LEVEL]
        for part in told
    ]
    assert said == [
        [("trouble", "broken", None)],
        [("opened", "one", "C")],
        [("sent back", "two", "B")],
        [],
        [],
    ]
    publish(town / "two", "C", 2, rig(2))
    assert main(["watch", str(town), "--state", str(state), "--once", "--shots", "two/C"]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [(one["event"], one["name"]) for one in lines if one["parameter"] == LEVEL] == [("opened", "two")]


def test_of_many_folders_what_changed_is_named_and_each_has_its_turn(tmp_path: Path) -> None:
    folders = {name: tmp_path / name for name in ("a", "b")}
    for folder in folders.values():
        folder.mkdir()
    looks = watch_production.ticks_in(folders, 0.01)
    assert [next(looks) for _ in range(4)] == ["a", "b", "a", "b"]


def test_a_folder_that_is_not_there_ends_no_following_of_the_others(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    looks = watch_production.ticks_in({"a": tmp_path / "a", "gone": tmp_path / "gone"}, 0.01)
    assert [next(looks) for _ in range(4)] == ["a", "gone", "a", "gone"]
    none = watch_production.ticks_in({"gone": tmp_path / "gone"}, 0.01)
    assert [next(none) for _ in range(2)] == ["gone", "gone"]


def test_it_looks_now_and_then_also_where_nothing_is_told_of_changes(tmp_path: Path) -> None:
    looks = watch.ticks(tmp_path, 0.01)
    assert next(looks) is None
    assert next(looks) is None
