"""`samelight watch`: what happens to cases as JSON lines, for whatever a studio hooks on."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from samelight.cli import watch
from samelight.cli.main import main
from samelight.sheets.writing import write_sheet

RIM: dict[str, Any] = {
    "type": "disk",
    "position": [0, 2, 0],
    "target": [0, 0, 0],
    "intensity": 1,
    "normalize": True,
}
LEVEL = "lights.rim.level"


def rig(exposure: float = 0) -> dict[str, Any]:
    return {"lights": {"rim": {**RIM, "exposure": exposure}}}


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    shots = {"A": rig(), "B": rig(1), "C": rig()}
    return make_sequence(master=rig(), shots=shots, sequence={"lighters": {"Tomas": ["B"]}})


def publish(folder: Path, shot: str, version: int, tree: dict[str, Any]) -> None:
    stated = {"samelight": 2, "shot": shot, "version": version}
    write_sheet(folder / f"shots/{shot}/{shot}.v{version:03d}.yaml", {**stated, **tree})


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


def test_it_looks_now_and_then_also_where_nothing_is_told_of_changes(tmp_path: Path) -> None:
    looks = watch.ticks(tmp_path, 0.01)
    assert next(looks) is None
    assert next(looks) is None
