"""Marks that flicker or change from frame to frame of a shot."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from measured_sequence import LIGHTS, publish, sequence, tree
from rendered_frames import rendered, write_rendered
from samelight.cli.main import main
from samelight.findings.finding import Finding
from samelight.findings.over_frames import CHANGES, FLICKERS, FrameLevel
from samelight.findings.unsteady import unsteady_words
from samelight.reports.as_data import finding_data
from samelight.sequence.measuring import all_frames_in, some_of
from samelight.sequence.session import open_session

FADES = {**LIGHTS, "key": {**LIGHTS["key"], "exposure": {"keys": [[1, 0], [9, -1.5]]}}}


def moments(*levels: float, noise: float = 0.0) -> list[FrameLevel]:
    return [FrameLevel(float(frame), level, 0.0, noise) for frame, level in enumerate(levels)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """B has a frame that is half as bright, C gets darker and darker, and D does too, as its sheet says."""
    place = sequence(tmp_path_factory.mktemp("unsteady") / "quay", dict.fromkeys("ABCD", tree()))
    publish(place, "D", {**tree(lights=FADES), "frames": [1, 9]}, 1)
    picture = rendered(tree(), size=(240, 135))
    for shot, course in {"B": (1.0, 1.0, 0.5, 1.0, 1.0), "C": (1.0, 0.9, 0.8, 0.7, 0.6)}.items():
        (place / f"frames/{shot}.exr").unlink()
        for frame, times in zip((1, 3, 5, 7, 9), course, strict=True):
            write_rendered(
                place / f"frames/{shot}.{frame:04d}.exr", picture * times, {"samelight:version": 1}
            )
    (place / "frames/D.exr").unlink()
    for frame in (1, 5, 9):
        key = {**LIGHTS["key"], "exposure": -1.5 * (frame - 1) / 8}
        now = rendered(tree(lights={**LIGHTS, "key": key}), size=(240, 135))
        write_rendered(place / f"frames/D.{frame:04d}.exr", now, {"samelight:version": 1})
    return place


def told(folder: Path) -> dict[str, Finding]:
    return {one.shots[0]: one for one in open_session(folder).cases.findings if one.finding == "unsteady"}


def test_what_jumps_and_what_fades_is_told_unless_the_sheet_says_so(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["measure", str(folder)]) == 0
    assert "B face: " in capsys.readouterr().out
    assert told(folder) == {}  # the first frames alone
    assert main(["measure", str(folder), "--frames", "ends"]) == 0
    said = capsys.readouterr().out
    assert "in frame 9" in said and "in frame 3" not in said
    assert set(told(folder)) == {"B", "C"}
    assert main(["measure", str(folder), "--frames", "all"]) == 0
    assert "in frame 3" in capsys.readouterr().out
    found = told(folder)
    assert set(found) == {"B", "C"}
    assert found["B"].says == (
        "The face in B flickers: in frame 5 it is 1.0 stop darker than between the frames beside it, and its sheet says nothing "
        "of that."
    )
    assert found["C"].says == (
        "The face in C is 0.7 stops darker in frame 9 than in frame 1, and its sheet says nothing of that."
    )
    assert "3 +0.00, 5 −1.00, 7 +0.00" in found["B"].known
    assert [case.shot for case in found["B"].cases] == ["B"]  # decided on by itself
    # The frames with what they are held to go with it, and into the data.
    points = finding_data(found["B"])["frames"]
    assert [(one["frame"], one["level"], one["beside"], one["told"]) for one in points] == [
        (1.0, 0.0, None, False),
        (3.0, 0.0, -0.5, False),
        (5.0, -1.0, 0.0, True),
        (7.0, 0.0, -0.5, False),
        (9.0, 0.0, 0.0, False),
    ]
    assert points[2]["limit"] == pytest.approx(FLICKERS + points[2]["noise"] + points[1]["noise"], abs=0.002)
    assert points[4]["limit"] == pytest.approx(CHANGES + 2 * points[0]["noise"], abs=0.002)
    assert "frames" not in finding_data(replace(found["B"], frames=()))
    # The first frame stands for the shot still.
    assert open_session(folder).contents.measured["B"].measured.frame == 1.0


def test_which_frames() -> None:
    with pytest.raises(SystemExit):
        main(["measure", "none", "--frames", "some"])
    frames = [(Path(str(number)), float(number)) for number in range(5)]
    assert [number for _, number in some_of(frames, "2")] == [0.0, 2.0, 4.0]
    assert some_of(frames[:1], "ends") == frames[:1] and some_of(frames, "all") == frames


def test_frames_are_listed_in_order(tmp_path: Path) -> None:
    (tmp_path / "frames").mkdir()
    for name in ("A.1010.exr", "A.0999.exr", "A.1001.exr", "B.exr", "B.1.exr"):
        (tmp_path / "frames" / name).touch()
    found = all_frames_in(tmp_path)
    assert [number for _, number in found["A"]] == [999.0, 1001.0, 1010.0]
    assert [path.name for path, _ in found["B"]] == ["B.exr"]


def test_missing_frames_and_several_at_a_time(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = Path(shutil.copytree(folder, tmp_path / "quay", ignore=shutil.ignore_patterns("measured")))
    (place / "frames/C.0005.exr").unlink()
    (place / "frames/B.0007.exr").write_bytes(b"no picture")
    assert main(["measure", str(place), "--shots", "B,C", "--frames", "all", "--jobs", "3"]) == 2
    told = capsys.readouterr()
    assert "C: 1 frame missing: 5" in told.out and "B: B.0007.exr cannot be measured" in told.err
    # In the order of the cut and of the frames, whichever is ready first.
    frames = [line.rpartition(" ")[2] for line in told.out.splitlines() if ", in frame " in line]
    assert frames == ["1", "3", "5", "9", "1", "3", "7", "9"]


@given(st.lists(st.floats(-FLICKERS / 4, FLICKERS / 4), max_size=8), st.floats(-8, 8))
def test_what_holds_is_not_told(levels: list[float], level: float) -> None:
    assert unsteady_words(moments(*(level + one for one in levels))) == ""


@given(st.integers(3, 8), st.integers(0, 7), st.floats(0.25, 4.0), st.sampled_from([-1.0, 1.0]))
def test_a_planted_jump_is_found(count: int, at: int, size: float, sign: float) -> None:
    assume(0 < at < count - 1)
    levels = [0.0] * count
    levels[at] = sign * size
    says = unsteady_words(moments(*levels))
    assert says.startswith(f"flickers: in frame {at} ") and ("brighter" in says) == (sign > 0.0)
    assert unsteady_words(moments(*levels, noise=size)) == ""


def test_near_misses() -> None:
    assert unsteady_words(moments(0.0, 0.9 * FLICKERS, 0.0)) == ""
    assert unsteady_words(moments(0.0, CHANGES / 2, 0.95 * CHANGES)) == ""
    assert unsteady_words(moments(0.0, CHANGES / 2, 1.05 * CHANGES)) != ""
    assert unsteady_words(moments(0.0, 3.0)) == ""  # two frames say nothing of what lies between
