"""Where one shot fails, or cannot be written, that is a sentence and exit status 2, and all others are told and written."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any

import pytest

from conftest import MakeSequence
from rendered_frames import rendered, write_rendered
from samelight.changes import adopting, fix_list, proposing
from samelight.cli import fix
from samelight.cli.main import main
from samelight.reports import render_plan, report
from samelight.sheets import unforeseen
from samelight.sheets.measured import FOLDER
from samelight.sheets.writing import yaml_text

FAILS = "ZeroDivisionError: made to fail"
FULL = "could not be written: No space left on device"


def lit(intensity: float, **more: Any) -> dict[str, Any]:
    return {"lights": {"key": {"type": "point", "position": [0, 2, 0], "intensity": intensity}}, **more}


@pytest.fixture
def folder(make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Three shots on an older master, each with a value of its own to set and a test frame to plan by."""
    monkeypatch.setattr(unforeseen, "kept_errors", lambda: tmp_path / "log")
    shot = {
        "master": 1,
        "frames": [1, 10],
        "cost": {"test_frame": "1m00s"},
        "passes": {"bg": {"frames": "held"}},
    }
    return make_sequence(
        master=[lit(1.0), lit(4.0)], shots={name: lit(1.0, **shot) for name in ("A", "B", "C")}
    )


def is_about(shot: str, *given: object) -> bool:
    return any(shot in (one, getattr(one, "shot", None)) for one in given)


def fails_for_b(work: Callable[..., object]) -> Callable[..., object]:
    def instead(*given: Any, **more: Any) -> object:
        if is_about("B", *given) or (len(given) > 1 and given[1] == 1 and work.__name__ == "_lines"):
            raise ZeroDivisionError("made to fail")
        return work(*given, **more)

    return instead


@pytest.mark.parametrize(
    ("place", "name", "words"),
    [
        (fix_list, "_shot", ["fix"]),
        (fix_list, "_shot", ["fix", "--format", "csv"]),
        (fix, "fixed_version", ["fix", "--sheet"]),
        (adopting, "_adoption", ["adopt"]),
        (proposing, "_signs", ["propose"]),
        (render_plan, "_passes", ["plan"]),
        (render_plan, "_passes", ["plan", "--format", "json"]),
        (report, "_lines", ["report", "--format", "html"]),
        (report, "_lines", ["report", "--format", "markdown"]),
        (report, "_lines", ["check", "--format", "junit"]),
    ],
)
def test_one_that_fails_is_a_sentence_and_the_others_are_told(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    place: Any,
    name: str,
    words: list[str],
) -> None:
    monkeypatch.setattr(place, name, fails_for_b(getattr(place, name)))
    command, *options = words
    assert main([command, str(folder), *options]) == 2
    told = capsys.readouterr()
    assert f"samelight: B: an error of the program itself stopped this: {FAILS}" in told.err
    assert all(shot in told.out for shot in ("A", "C"))
    assert FAILS not in told.out or command in ("report", "check")


@pytest.fixture
def no_room_for_b(monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is full as soon as anything of B is written."""
    opened = Path.open

    def instead(path: Path, mode: str = "r", **more: Any) -> IO[Any]:
        if "x" in mode and (path.parent.name == "B" or path.name.startswith(".B.")):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return opened(path, mode, **more)

    monkeypatch.setattr(Path, "open", instead)


@pytest.mark.usefixtures("folder", "no_room_for_b")
@pytest.mark.parametrize("words", [["adopt", "--write"], ["fix", "--sheet", "--write"]])
def test_one_that_cannot_be_written_is_a_sentence_and_the_others_are_written(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    command, *options = words
    assert main([command, str(folder), *options]) == 2
    told = capsys.readouterr()
    assert "samelight: B: " in told.err and f"B.v002.yaml: {FULL}" in told.err
    assert told.out.count("  written ") == 2 and told.out.count("  not written\n") == 1
    assert sorted(path.name for path in folder.glob("shots/*/*.v002.yaml")) == ["A.v002.yaml", "C.v002.yaml"]


@pytest.mark.usefixtures("no_room_for_b")
def test_what_was_measured_and_cannot_be_kept_stops_no_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "quay"
    tree = {
        **lit(8.0),
        "camera": {
            "position": [0, 1.6, 2.5],
            "direction": [0, 0, -1],
            "focal_length_mm": 50,
            "horizontal_aperture_mm": 36,
        },
        "marks": {"face": {"position": [0.1, 1.6, 0], "normal": [0, 0, 1]}},
    }
    (place / "frames").mkdir(parents=True)
    (place / "sequence.yaml").write_text("samelight_sequence: 2\ncut: [A, B, C]\n")
    for shot in ("A", "B", "C"):
        path = place / f"shots/{shot}/{shot}.v001.yaml"
        path.parent.mkdir(parents=True)
        path.write_text(yaml_text({"samelight": 2, "shot": shot, "version": 1, **tree}))
        write_rendered(place / f"frames/{shot}.exr", rendered(tree, size=(64, 48)))
    assert main(["measure", str(place)]) == 2
    told = capsys.readouterr()
    assert "samelight: B: " in told.err and FULL in told.err
    assert "A face: " in told.out and "C face: " in told.out and "B face: " not in told.out
    assert {path.name[0] for path in (place / FOLDER).iterdir()} == {"A", "C"}


@pytest.mark.parametrize(
    "words", [["report", "--format", "json"], ["report", "--format", "html"], ["publish", "--from", "A"]]
)
def test_a_sheet_that_cannot_be_read_ends_with_2(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    (folder / "shots/B/B.v001.yaml").write_text("lights: 3", encoding="utf-8")
    command, *options = words
    assert main([command, str(folder), *options]) == 2
    told = capsys.readouterr()
    assert "B is unreadable" in told.err and told.out
    if command == "report":
        assert main([command, str(folder), "--shots", "A", *options]) == 0


@pytest.mark.parametrize("command", ["adopt", "fix", "plan", "propose", "report"])
def test_without_the_cut_a_shot_may_be_missing(
    folder: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    text = (folder / "sequence.yaml").read_text()
    (folder / "sequence.yaml").write_text(text.replace("cut: [A, B, C]", "cut: cut.edl"))
    (folder / "cut.edl").write_bytes(b"\0\0 no cut")
    options = ["--format", "csv"] if command == "report" else []
    assert main([command, str(folder), *options]) == 2
    told = capsys.readouterr()
    assert "cut.edl" in told.err and "A" in told.out
