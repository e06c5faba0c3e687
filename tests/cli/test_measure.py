"""`samelight measure`: from rendered frames to small files beside the sheets."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from exr_help import claim_size, write_exr
from rendered_frames import rendered, write_rendered
from samelight.cli.main import main
from samelight.sequence.measured import witnesses
from samelight.sequence.measuring import frames_in
from samelight.sequence.store import SheetStore
from samelight.sheets.errors import SheetError
from samelight.sheets.measured import Witness, file_of, read_measured
from samelight.sheets.sheet import Sheet, read_sheet
from samelight.sheets.writing import yaml_text

CAMERA: dict[str, Any] = {
    "position": [0, 1.6, 2.5],
    "direction": [0, 0, -1],
    "focal_length_mm": 50,
    "horizontal_aperture_mm": 36,
}
MARKS: dict[str, dict[str, Any]] = {
    "face": {"position": [0.1, 1.6, 0], "normal": [0, 0, 1]},
    "hand": {"position": [0, 1.6, 4]},
}
LIGHTS: dict[str, Any] = {"key": {"type": "point", "intensity": 8, "position": [2, 3, 2]}}


def tree(**more: Any) -> dict[str, Any]:
    return {
        "camera": CAMERA,
        "marks": MARKS,
        "lights": LIGHTS,
        "environments": {"sky": {"intensity": 0.1}},
        **more,
    }


def publish(folder: Path, shot: str, version: int = 1, **more: Any) -> dict[str, Any]:
    path = folder / f"shots/{shot}/{shot}.v{version:03d}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(yaml_text({"samelight": 2, "shot": shot, "version": version, **tree(**more)}))
    return tree(**more)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two shots with frames and one without."""
    place = tmp_path / "quay"
    place.mkdir()
    (place / "sequence.yaml").write_text("samelight_sequence: 2\ntitle: Quay\ncut: [A, B, C]\n")
    for shot in "ABC":
        publish(place, shot)
    write_rendered(place / "frames/A.exr", rendered(tree()))
    write_rendered(place / "frames/B.1001.exr", rendered(tree()) * 0.5)
    return place


def sheets(folder: Path) -> dict[str, Sheet]:
    found = {}
    for shot in "ABC":
        path = max((folder / f"shots/{shot}").iterdir())
        found[shot] = read_sheet(path, shot=shot, version=int(path.stem[-3:]))
    return found


def kept(folder: Path) -> dict[str, Witness]:
    found, troubles = witnesses(SheetStore(folder), sheets(folder))
    assert not troubles
    return found


def test_what_frames_show_is_kept_beside_the_sheets(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measure", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "B face: " in said and "A hand: not measured, it is behind the camera" in said
    assert "1 shot without an EXR frame" in said
    found = kept(folder)
    assert list(found) == ["A", "B"] or set(found) == {"A", "B"}
    a, b = (found[shot].measured for shot in "AB")
    assert (a.picture, a.version, a.frame, b.picture, b.frame) == (
        "frames/A.exr",
        1,
        0.0,
        "frames/B.1001.exr",
        1001.0,
    )
    face, half = (one.marks["face"].figures for one in (a, b))
    assert half.level == pytest.approx(face.level - 1.0, abs=0.0011)
    assert half._replace(level=0.0) == face._replace(level=0.0)
    assert face.side > 0.3 and face.pixels > 200  # the key comes from the right
    assert a.unseen == {"hand": "it is behind the camera"}
    assert not found["A"].is_old

    names = sorted(path.name for path in (folder / "measured").iterdir())
    assert main(["measure", str(folder)]) == 0
    assert "2 shots measured already" in capsys.readouterr().out
    assert main(["measure", str(folder), "--again", "--shots", "A"]) == 0
    assert sorted(path.name for path in (folder / "measured").iterdir()) == names


def test_what_is_hidden_from_the_camera_is_said_and_not_measured(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    hidden = {**MARKS["face"], "in_view": 0.12, "covered_by": "/set/mast"}
    publish(folder, "A", 2, marks={"face": MARKS["face"] | {"in_view": 0.6}, "hand": hidden})
    assert main(["measure", str(folder), "--shots", "A"]) == 0
    said = capsys.readouterr().out
    assert "A hand: not measured, it is hidden by /set/mast: the camera sees 12 % of it" in said
    assert set(kept(folder)["A"].measured.marks) == {"face"}


def test_what_was_measured_elsewhere_merges(folder: Path, tmp_path: Path) -> None:
    other = Path(shutil.copytree(folder, tmp_path / "other"))
    assert main(["measure", str(folder), "--shots", "A"]) == 0
    assert main(["measure", str(other)]) == 0
    for path in (other / "measured").iterdir():
        target = folder / "measured" / path.name
        assert not target.exists() or target.read_bytes() == path.read_bytes()
        shutil.copy(path, target)
    assert set(kept(folder)) == {"A", "B"}


def test_files_read_back_as_they_were(folder: Path) -> None:
    main(["measure", str(folder)])
    for witness in kept(folder).values():
        name, text = file_of(witness.measured)
        assert (folder / "measured" / name).read_text() == text
        assert read_measured(folder / "measured" / name) == witness.measured


def test_a_frame_that_is_older_than_its_sheet(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.utime(folder / "frames/A.exr", (1_000_000, 1_000_000))
    # This one says what it was rendered from, whatever its time.
    write_rendered(folder / "frames/B.exr", rendered(tree()), {"samelight:version": 1})
    publish(folder, "B", 2)
    assert main(["measure", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "A: the frame is older than version 1 of the sheet" in said
    assert "B: the frame was rendered from version 1 of the sheet, and not from version 2" in said
    assert all(one.is_old for one in kept(folder).values())
    # One that says so is of the sheet, however old.
    write_rendered(folder / "frames/A.exr", rendered(tree()), {"samelight:version": 1})
    os.utime(folder / "frames/A.exr", (1_000_000, 1_000_000))
    assert main(["measure", str(folder), "--shots", "A"]) == 0
    assert any(not one.measured.is_older for one in kept(folder).values())


def test_the_measurement_by_the_sheet_as_it_stands_counts(folder: Path) -> None:
    main(["measure", str(folder)])
    publish(folder, "A", lights={})
    assert (
        kept(folder)["A"].age == "the frame was measured by version 1 of the sheet, which was changed since"
    )
    assert main(["measure", str(folder)]) == 0
    assert not kept(folder)["A"].age.startswith("the frame was measured")
    publish(folder, "A", 2)
    assert kept(folder)["A"].measured.version == 1 and kept(folder)["A"].is_old


def test_a_mark_through_a_matte(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    face = {**MARKS["face"], "matte": "hero"}
    publish(folder, "A", marks={"face": face})
    assert main(["measure", str(folder), "--shots", "A"]) == 0
    assert "A face: not measured, the frame holds no layer or ID matte of hero" in capsys.readouterr().out
    picture = rendered(tree())
    mask = (picture[..., 0] > 0.02).astype(np.float32)  # the ball
    planes = {name: np.ascontiguousarray(picture[..., at], np.float32) for at, name in enumerate("RGB")}
    write_exr(folder / "frames/A.exr", {**planes, "hero.A": mask})
    assert main(["measure", str(folder), "--shots", "A"]) == 0
    assert "A face: −" in capsys.readouterr().out


def test_one_bad_frame_stops_no_other(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    claim_size(folder / "frames/A.exr", 40_000, 40_000)
    (folder / "frames/C.exr").write_bytes(b"no picture at all")
    assert main(["measure", str(folder)]) == 2
    told = capsys.readouterr()
    assert "A: A.exr cannot be measured: it " in told.err
    assert "C: C.exr cannot be measured: it is no OpenEXR picture" in told.err
    assert "B face: " in told.out
    assert set(kept(folder)) == {"B"}


def test_a_shot_without_a_sheet_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "shots/A/A.v001.yaml").write_text("samelight: 2\nlighst: {}\n")
    assert main(["measure", str(folder)]) == 2
    told = capsys.readouterr()
    assert "A is unreadable" in told.err and "B face: " in told.out


@pytest.mark.parametrize(
    ("change", "expects"),
    [
        ({"samelight_measured": 9}, "1, the format of what was measured"),
        ({"version": "two"}, "version: expected a number"),
        ({"size": [3]}, "size: expected a list of 2 numbers"),
        ({"marks": []}, "marks: expected marks by name"),
        ({"marks": {"face": {"region": [1, 2, 3, 4]}}}, "expected a number, found none"),
        ({"shot": None}, "shot: expected text"),
    ],
)
def test_faults_of_such_a_file(folder: Path, change: dict[str, Any], expects: str) -> None:
    main(["measure", str(folder), "--shots", "A"])
    path = next((folder / "measured").iterdir())
    path.write_text(json.dumps({**json.loads(path.read_text()), **change}))
    with pytest.raises(SheetError, match=expects):
        read_measured(path)
    found, troubles = witnesses(SheetStore(folder), sheets(folder))
    assert not found
    assert [trouble.says.startswith("What was measured of A cannot be read") for trouble in troubles] == [
        True
    ]


def test_the_frame_of_a_shot_is_its_own_or_the_first_of_several(tmp_path: Path) -> None:
    (tmp_path / "frames").mkdir()
    for name in (
        "A.1002.exr",
        "A.1001.exr",
        "B_0010.exr",
        "B_0010.7.exr",
        "C.exr",
        "C.1001.exr",
        "D.png",
        "E.-3.EXR",
    ):
        (tmp_path / "frames" / name).touch()
    found = {shot: (path.name, frame) for shot, (path, frame) in frames_in(tmp_path).items()}
    assert {shot: found.get(shot) for shot in ("A", "B_0010", "C", "D", "E")} == {
        "A": ("A.1001.exr", 1001.0),
        "B_0010": ("B_0010.exr", None),
        "C": ("C.exr", None),
        "D": None,
        "E": ("E.-3.EXR", -3.0),
    }
    assert frames_in(tmp_path / "gone") == {}


def test_a_slip_in_the_number_of_a_frame_is_told_as_one_run(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And not as hundreds of millions of frames, one by one."""
    frame = folder / "frames/B.1001.exr"
    for number in (1002, 1003, 1005, 999999999):
        shutil.copy(frame, folder / f"frames/B.{number}.exr")
    assert main(["measure", str(folder), "--shots", "B", "--frames", "ends"]) == 0
    assert "B: 999998994 frames missing: 1004 and 1006 to 999999998\n" in capsys.readouterr().out
