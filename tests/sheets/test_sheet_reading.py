"""Whole sheets: what is read of the top, what was typed, and that every sample is one."""

from pathlib import Path
from typing import Any

import pytest

from known import being
from samelight.light.directions import angle_between
from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import SheetError
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import read_sheet
from samelight.sheets.values import Curve, Level, alike
from sheets.sheet_help import JSON, only_fault, sheet_of

HEAD = "samelight: 2\n"
SAMPLES = [
    path
    for name in ("harbour", "first_steps")
    for folder in ("shots/*", "master")
    for path in sorted(sample_sequence(name).glob(f"{folder}/*.v*.*"))
]


class TestTop:
    def test_all_of_it(self) -> None:
        sheet = sheet_of(
            HEAD + "shot: HB_040\nversion: 2\nmaster: 3\nframes: [1001, 1084]\nremarks: [late]\n"
            "units: {length: cm}\nup_axis: Z\nnotes: 3\nsource: {file: a.usd}\npublished: {on: 2026-09-14}\n",
            version=2,
        )
        assert (sheet.shot, sheet.version, sheet.master, sheet.frames) == ("HB_040", 2, 3, (1001, 1084))
        assert sheet.remarks == ("late",)
        assert (sheet.conventions.length, sheet.conventions.up_axis) == (0.01, "Z")
        assert sheet.typed["published"] == {"on": "2026-09-14"}

    def test_none_of_it(self) -> None:
        sheet = sheet_of(HEAD)
        assert (sheet.shot, sheet.version, sheet.master, sheet.frames) == ("", 1, None, None)
        assert (sheet.remarks, sheet.sections, sheet.conventions) == ((), {}, Conventions())

    @pytest.mark.parametrize(
        "text",
        ["shot:", "version:", "master:", "frames:", "remarks:", "units:", "lights:", "marks:", "notes:"],
    )
    def test_nothing_after_a_key_is_a_fault(self, text: str) -> None:
        fault = only_fault(HEAD + text + "\n")
        assert (fault.line, fault.column, fault.path) == (2, 1, text[:-1])
        assert (fault.expected, fault.found) == ("a value", "nothing")

    @pytest.mark.parametrize("text", ["samelight: 2.0", "samelight: 0x1", "samelight: 01"])
    def test_one_is_one(self, text: str) -> None:
        assert sheet_of(text).shot == ""

    def test_whole_numbers_may_be_written_with_a_point(self) -> None:
        sheet = sheet_of(
            '{"samelight": 2.0, "version": 2.0, "master": 3.0, "frames": [1001.0, 1084.0]}', JSON, version=2
        )
        assert (sheet.master, sheet.frames) == (3, (1001, 1084))
        assert isinstance(sheet.master, int)

    def test_a_version_that_its_file_name_contradicts_is_a_remark(self) -> None:
        (remark,) = sheet_of(HEAD + "version: 2", version=3).remarks
        assert remark == "The sheet says version 2; its file name says version 3."

    def test_conventions_come_from_the_sequence(self) -> None:
        given = Conventions(0.01, up_axis="Z")
        assert sheet_of(HEAD, given=given).conventions == given


class TestShots:
    @pytest.mark.parametrize(
        ("written", "name"),
        [
            ("HB_040", "HB_040"),
            ("010", "010"),
            ("'010'", "010"),
            ("10.0", "10.0"),
            ("010_020", "010_020"),
            ("100_200", "100_200"),
            ("1e3", "1e3"),
            ("0x1F", "0x1F"),
            ("12:30", "12:30"),
            ("no", "no"),
            ("On", "On"),
            ("2026-09-14", "2026-09-14"),
        ],
    )
    def test_a_name_is_what_is_written(self, written: str, name: str) -> None:
        assert sheet_of(HEAD + f"shot: {written}").shot == name
        assert sheet_of(HEAD + f"shot: {written}", shot=name).shot == name

    def test_a_number_of_json(self) -> None:
        assert sheet_of('{"samelight": 2, "shot": 10}', JSON, shot="10").shot == "10"

    def test_without_a_name_it_is_the_shot_of_its_folder(self) -> None:
        assert sheet_of(HEAD, shot="HB_040").shot == "HB_040"

    def test_10_is_not_010(self) -> None:
        with pytest.raises(SheetError, match="expected the shot 010, found a sheet of 10"):
            sheet_of(HEAD + "shot: 10", shot="010")


class TestAsTyped:
    SHEET = sheet_of(
        HEAD + "lights: {sun: {azimuth: 131, elevation: 24, intensity: 1.6, exposure: 1, color: [1, 1, 1],\n"
        "  shadow: {color: [0, 0, 0], bias: 2}, gel.density: 3, texture: a.exr, sha256: 'ab'}}\n"
        "environments: {sky: {rotation: 40, intensity: 2}}\n"
        "camera: {position: [0, 0, 0], target: [0, 0, 1]}\n"
        "render: {gi: {range: 350 cm}, engine: fast}\n"
    )

    @pytest.mark.parametrize(
        ("section", "group", "leaf", "typed"),
        [
            ("lights", "sun", "direction", {"azimuth": 131, "elevation": 24}),
            ("lights", "sun", "level", {"intensity": 1.6, "exposure": 1, "color": [1, 1, 1]}),
            ("lights", "sun", "colour", {"color": [1, 1, 1]}),
            ("lights", "sun", "texture", {"texture": "a.exr", "sha256": "ab"}),
            ("lights", "sun", "shadow.bias", {"shadow.bias": 2}),
            ("lights", "sun", "shadow.color_level", {"shadow.color": [0, 0, 0]}),
            ("lights", "sun", "gel.density", {"gel.density": 3}),
            ("lights", "sun", "mood", {}),
            ("lights", "moon", "direction", {}),
            ("environments", "sky", "rotation", {"rotation": 40}),
            ("environments", "sky", "level", {"intensity": 2}),
            ("camera", "", "direction", {"target": [0, 0, 1]}),
            ("render", "gi", "range", {"range": "350 cm"}),
            ("render", "", "engine", {"engine": "fast"}),
            ("passes", "crew", "frames", {}),
        ],
    )
    def test_what_the_file_says(self, section: str, group: str, leaf: str, typed: dict[str, Any]) -> None:
        assert self.SHEET.as_typed(section, group, leaf) == typed

    def test_every_value_was_typed(self) -> None:
        for path in SAMPLES:
            sheet = read_sheet(path)
            for section, groups in sheet.sections.items():
                for group, leaves in groups.items():
                    for leaf in leaves:
                        said = sheet.as_typed(section, group, leaf)
                        assert said or leaf in ("colour", "light_links", "level"), (
                            path.name,
                            section,
                            group,
                            leaf,
                        )


class TestSamples:
    @pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
    def test_every_sample_is_a_sheet(self, path: Path) -> None:
        name, _, rest = path.name.partition(".v")
        version = int(rest.split(".")[0])
        sheet = read_sheet(path, shot=None if name == "master" else name, version=version)
        assert sheet.sections["lights"]
        assert (sheet.version, sheet.remarks) == (version, ())

    def test_there_are_many(self) -> None:
        assert len(SAMPLES) >= 40

    @pytest.mark.parametrize("name", ["HB_010", "HB_190", "HB_110", "HB_160"])
    def test_other_spellings_of_the_same_sun(self, name: str) -> None:
        # sample_sequences/harbour/README.md, "What looks different and is the same".
        master = read_sheet(sample_sequence("harbour") / "master" / "master.v003.yaml", version=3)
        latest = sorted((sample_sequence("harbour") / "shots" / name).iterdir())[-1]
        shot = read_sheet(latest)
        for leaf in ("level", "colour", "seen_by", "angle", "samples"):
            assert alike(shot.value("lights", "sun", leaf), master.value("lights", "sun", leaf)), leaf
        directions = [being(tuple, sheet.value("lights", "sun", "direction")) for sheet in (shot, master)]
        assert angle_between(*directions) < 1e-5

    def test_a_lamp_that_flickers_and_a_lantern_that_is_only_keyed(self) -> None:
        (path,) = sample_sequence("harbour").glob("shots/HB_020/HB_020.v002.*")
        sheet = read_sheet(path)
        flicker = sheet.value("lights", "boat_lamp", "level")
        assert isinstance(flicker, Curve)
        # 0.315 at frame 1013 against 0.3 at 1001.
        assert being(Level, flicker.at(1013)).value / being(Level, flicker.at(1001)).value == pytest.approx(
            1.05
        )
        assert isinstance(sheet.value("lights", "lantern_spot", "level"), Level)
