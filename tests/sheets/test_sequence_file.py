import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.light.directions import NORTH
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sequence import (
    Published,
    is_safe_name,
    listed_shots,
    master_versions,
    next_sheet,
    published_in,
    read_sequence,
    shot_versions,
)

Write = Callable[..., Path]
"""Writes a folder's sequence.yaml, the folder under a name where one is given."""


@pytest.fixture
def folder(tmp_path: Path) -> Write:
    def make(text: str, name: str = "quay") -> Path:
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        (folder / SEQUENCE_FILE).write_text(text, encoding="utf-8")
        return folder

    return make


def only_fault(folder: Path) -> Fault:
    with pytest.raises(SheetError) as caught:
        read_sequence(folder)
    assert len(caught.value.faults) == 1, str(caught.value)
    return caught.value.faults[0]


class TestWhatItStates:
    def test_the_sample(self) -> None:
        harbour = read_sequence(sample_sequence("harbour"))
        assert harbour.title == "Harbour"
        assert harbour.cut[0] == "HB_010"
        assert len(harbour.cut) == 24
        assert (harbour.frame_rate, harbour.key_shot) == (24.0, "HB_040")
        assert harbour.conventions.north == NORTH
        assert harbour.policy == sample_sequence("harbour") / "policy.yaml"
        assert "cut" in harbour.stated

    def test_all_of_it(self, folder: Write) -> None:
        path = folder(
            "samelight_sequence: 2\ntitle: Quay\ncut: [QU_010, QU_020]\nframe_rate: 23.976\nup_axis: Z\n"
            "north: [0, 1, 0]\nunits: {length: cm}\nworking_space: ACEScg\nocio: colour/show.ocio\nkey_shot: QU_020\nmaster: 3\n"
            "pinned: {QU_010: 2, QU_020: latest, 030: 4}\nnotes: x\nplace: {latitude: 1}\n"
        )
        sequence = read_sequence(path)
        assert (sequence.title, sequence.cut, sequence.frame_rate) == ("Quay", ("QU_010", "QU_020"), 23.976)
        assert (sequence.master, sequence.pinned) == (3, {"QU_010": 2, "030": 4})
        assert sequence.conventions.length == 0.01
        assert sequence.conventions.north == (0.0, 0.0, -1.0)
        assert sequence.conventions.working_space == "acescg"
        assert sequence.policy is None
        assert sequence.ocio == "colour/show.ocio"

    def test_none_of_it(self, folder: Write) -> None:
        sequence = read_sequence(folder("notes:\n"))
        assert (sequence.title, sequence.cut, sequence.cut_file) == ("quay", (), None)
        assert (sequence.frame_rate, sequence.key_shot, sequence.master) == (24.0, None, None)

    def test_a_policy_that_lies_there_is_found(self, folder: Write) -> None:
        path = folder("title: Quay\n")
        (path / "policy.yaml").write_text("x: 1\n")
        assert read_sequence(path).policy == path / "policy.yaml"

    def test_names_are_what_is_written(self, folder: Write) -> None:
        path = folder("title: 010\ncut: [010, 020, 1_000, no, 12:30, 1e3]\nkey_shot: 010\n")
        sequence = read_sequence(path)
        assert sequence.title == "010"
        assert sequence.cut == ("010", "020", "1_000", "no", "12:30", "1e3")
        assert sequence.key_shot == "010"

    def test_scenes(self, folder: Write) -> None:
        assert read_sequence(folder("scenes: scenes/*.usda\n")).scenes == "scenes/*.usda"
        path = folder("scenes: {HB_010: scenes/a.usda, 020: b.usda}\n")
        assert read_sequence(path).scenes == {"HB_010": path / "scenes/a.usda", "020": path / "b.usda"}

    @pytest.mark.parametrize("name", ["cut.otio", "cut.EDL"])
    def test_a_cut_from_a_file(self, folder: Write, name: str) -> None:
        path = folder(f"cut: {name}\n")
        (path / name).write_text("")
        sequence = read_sequence(path)
        assert (sequence.cut, sequence.cut_file) == ((), path / name)


class TestFaults:
    @pytest.mark.parametrize(
        ("text", "line", "place", "expected", "found", "nearest"),
        [
            ("titel: x", 1, "titel", "a key of a sequence", "the key titel", "title"),
            (
                "samelight_sequence: 3",
                1,
                "samelight_sequence",
                "format version 2",
                "version 3, of a newer program",
                None,
            ),
            (
                "samelight_sequence: yes",
                1,
                "samelight_sequence",
                "the format version, samelight_sequence: 2",
                "true",
                None,
            ),
            (
                "samelight_sequence: one",
                1,
                "samelight_sequence",
                "the format version, samelight_sequence: 2",
                "'one'",
                None,
            ),
            ("title: [a]", 1, "title", "text", "['a']", None),
            ("title: ''", 1, "title", "text", "an empty text", None),
            ("cut: 3", 1, "cut", "a list of shots, or the name of an .otio or .edl file", "3", None),
            (
                "cut: HB_010",
                1,
                "cut",
                "a list of shots, or the name of an .otio or .edl file",
                "'HB_010'",
                None,
            ),
            ("cut: gone.edl", 1, "cut", "a cut file in the sequence folder", "no gone.edl there", None),
            ("cut: [a, b,\n  a]", 2, "cut[2]", "each shot once", "a again", None),
            ("cut: [a, ~]", 1, "cut[1]", "the name of a shot", "nothing", None),
            ("cut: [[a]]", 1, "cut[0]", "the name of a shot", "['a']", None),
            ("cut: [{a: 1}]", 1, "cut[0]", "the name of a shot", "a group of 1", None),
            ("cut: [../a]", 1, "cut[0]", "a name that a folder can have", "'../a'", None),
            ("cut: ['..']", 1, "cut[0]", "a name that a folder can have", "'..'", None),
            ("cut: ['']", 1, "cut[0]", "a name that a folder can have", "an empty text", None),
            ('cut: ["a\\nb"]', 1, "cut[0]", "a name that a folder can have", r"'a\nb'", None),
            ("frame_rate: 0", 1, "frame_rate", "frames a second, such as 24", "0", None),
            ("frame_rate: fast", 1, "frame_rate", "frames a second, such as 24", "'fast'", None),
            ("frame_rate: true", 1, "frame_rate", "frames a second, such as 24", "true", None),
            (
                "policy: gone.yaml",
                1,
                "policy",
                "a policy file in the sequence folder",
                "no gone.yaml there",
                None,
            ),
            (
                "ocio: [a]",
                1,
                "ocio",
                "an OpenColorIO config: a file, or ocio:// and the name of one that is built in",
                "['a']",
                None,
            ),
            ("policy: [a]", 1, "policy", "text", "['a']", None),
            ("master: 0", 1, "master", "a version number, or latest", "0", None),
            ("master: newest", 1, "master", "a version number, or latest", "'newest'", None),
            ("pinned: 3", 1, "pinned", "shots and the version each is pinned to", "3", None),
            ("pinned: {a: v2}", 1, "pinned.a", "a version number, or latest", "'v2'", None),
            (
                "scenes: 3",
                1,
                "scenes",
                "a scene for each shot, or a pattern such as scenes/*.usda",
                "3",
                None,
            ),
            ("scenes: {../a: b.usda}", 1, "scenes.../a", "a name that a folder can have", "'../a'", None),
            ("scenes: {a: 3}", 1, "scenes.a", "the file of a scene", "3", None),
            ("up_axis: X", 1, "up_axis", "Y or Z", "'X'", None),
            (
                "units: {length: mile}",
                1,
                "units.length",
                "one of m, cm, mm, dm, km, in, inch, \", ft, foot, feet, ', yd, or a number of metres",
                "'mile'",
                None,
            ),
            ("- a", 1, "", "keys and values, such as title and cut", "['a']", None),
        ],
    )
    def test_in_the_file(
        self,
        folder: Write,
        text: str,
        line: int,
        place: str,
        expected: str,
        found: str,
        nearest: str | None,
    ) -> None:
        fault = only_fault(folder(text))
        assert (fault.path, fault.expected, fault.found) == (place, expected, found)
        assert (fault.line, fault.nearest) == (line, nearest)
        assert fault.file.endswith(SEQUENCE_FILE)

    def test_all_together(self, folder: Write) -> None:
        with pytest.raises(SheetError) as caught:
            read_sequence(folder("titel: x\nframe_rate: 0\ncut: [a, a]\nnorth: up\n"))
        assert [fault.line for fault in caught.value.faults] == [1, 2, 3, 4]

    def test_no_folder(self, tmp_path: Path) -> None:
        fault = only_fault(tmp_path / "gone")
        assert (fault.expected, fault.found) == ("a sequence folder", "no such folder")

    def test_a_folder_that_is_no_sequence(self, tmp_path: Path) -> None:
        fault = only_fault(tmp_path)
        assert fault.expected == "a sequence folder"
        assert fault.found == "no sequence.yaml in it (`samelight start` writes one)"

    def test_a_file(self, tmp_path: Path) -> None:
        path = tmp_path / "a.yaml"
        path.write_text("x: 1")
        fault = only_fault(path)
        assert (fault.expected, fault.found) == ("a sequence folder", "a file")

    def test_a_sequence_file_that_is_a_folder(self, tmp_path: Path) -> None:
        (tmp_path / SEQUENCE_FILE).mkdir()
        assert only_fault(tmp_path).found == "a folder"

    @pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
    def test_a_name_that_no_folder_can_have(self, tmp_path: Path, name: str) -> None:
        with pytest.raises(SheetError):
            read_sequence(tmp_path / name)

    @pytest.mark.parametrize("key", ["policy", "cut"])
    @pytest.mark.parametrize("name", ["a\\0b.edl", "x" * 5000 + ".edl"])
    def test_a_name_that_no_file_can_have(self, folder: Write, key: str, name: str) -> None:
        path = folder(f'{key}: "{name}"\n')
        try:
            read_sequence(path)
        except SheetError as error:
            assert error.faults[0].path == key

    @given(st.binary(max_size=300))
    def test_any_bytes(self, tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
        folder = tmp_path_factory.mktemp("any")
        (folder / SEQUENCE_FILE).write_bytes(raw)
        try:
            read_sequence(folder)
        except SheetError as error:
            assert error.faults

    def test_a_cut_of_very_many_shots_is_quick_to_read(self, folder: Write) -> None:
        names = ", ".join(f"s{number}" for number in range(20_000))
        assert len(read_sequence(folder(f"cut: [{names}]")).cut) == 20_000


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("HB_010", True),
        ("010", True),
        ("a b", True),
        ("é", True),
        ("", False),
        (" ", False),
        (".", False),
        ("..", False),
        ("a/b", False),
        ("a\\b", False),
        ("a\0", False),
        ("a\nb", False),
        ("x" * 200, True),
        ("x" * 201, False),
        ("é" * 101, False),
    ],
)
def test_names_that_a_folder_can_have(name: str, safe: bool) -> None:
    assert is_safe_name(name) is safe


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_a_safe_name_stays_inside_its_folder(name: str) -> None:
    if is_safe_name(name):
        assert Path("/quay/shots", name).parent == Path("/quay/shots")


class TestVersions:
    @pytest.fixture
    def files(self, tmp_path: Path) -> Path:
        names = ["HB_010.v001.yaml", "HB_010.v2.json", "HB_010.v010.yml", "HB_020.v001.yaml", "notes.txt"]
        names += [
            "HB_010.yaml",
            ".HB_010.v003.yaml",
            "HB_010.v004.yaml.tmp",
            "HB_010.vx.yaml",
            "HB_010.v٣.yaml",
        ]
        for name in names:
            (tmp_path / name).write_text("")
        return tmp_path

    def test_by_number_oldest_first(self, files: Path) -> None:
        assert {version: path.name for version, path in published_in(files, "HB_010").versions.items()} == {
            1: "HB_010.v001.yaml",
            2: "HB_010.v2.json",
            10: "HB_010.v010.yml",
        }
        assert list(published_in(files, "HB_010").versions) == [1, 2, 10]

    def test_of_any_name(self, files: Path) -> None:
        assert list(published_in(files).versions) == [1, 2, 10]

    def test_of_a_folder_that_is_not_there(self, tmp_path: Path) -> None:
        assert published_in(tmp_path / "gone").versions == {}
        assert published_in(tmp_path / "gone").rivals == []

    def test_two_files_of_one_version(self, files: Path) -> None:
        (files / "HB_010.v002.yaml").write_text("")
        assert published_in(files, "HB_010").versions[2].name == "HB_010.v002.yaml"
        ((counts, left_out),) = published_in(files, "HB_010").rivals
        assert (counts.name, left_out.name) == ("HB_010.v002.yaml", "HB_010.v2.json")

    def test_known_as_long_as_the_folder_lists_the_same(self, files: Path) -> None:
        known = published_in(files, "HB_010")
        assert published_in(str(files), "HB_010", known) is known
        (files / "HB_010.v011.yaml").write_text("")
        after = published_in(files, "HB_010", known)
        assert list(after.versions) == [1, 2, 10, 11]
        for file in files.iterdir():
            file.unlink()
        assert published_in(files, "HB_010", after) == published_in(files, "HB_010") == Published({}, [])

    def test_a_folder_that_is_there_and_cannot_be_listed(
        self, files: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        known = published_in(files / "gone")

        def refused(folder: Path) -> None:
            raise PermissionError(13, "Permission denied", folder)

        monkeypatch.setattr(os, "listdir", refused)
        found = published_in(files / "gone", None, known)
        assert (found.versions, found.unreadable) == ({}, "no permission to read it")
        monkeypatch.undo()
        assert published_in(files / "gone", None, found).unreadable == ""
        assert published_in(files / "notes.txt").unreadable == "a file where a folder should be"

    def test_of_the_sample(self) -> None:
        harbour = sample_sequence("harbour")
        assert list(master_versions(harbour)) == [1, 2, 3]
        assert listed_shots(harbour)[0] == list(read_sequence(harbour).cut)
        assert list(shot_versions(harbour, "HB_040")) == [1, 2, 3]
        assert published_in(harbour / "master").rivals == []

    def test_shots_are_folders(self, tmp_path: Path) -> None:
        shots = tmp_path / "shots"
        for name in ("HB_020", "HB_010", ".hidden"):
            (shots / name).mkdir(parents=True)
        (shots / "notes.txt").write_text("")
        assert listed_shots(tmp_path)[0] == ["HB_010", "HB_020"]
        assert listed_shots(tmp_path / "gone") == ([], "")
        assert listed_shots(tmp_path) == (["HB_010", "HB_020"], "")
        assert listed_shots(tmp_path / "gone") == ([], "")
        (tmp_path / "film").mkdir()
        (tmp_path / "film/shots").write_text("")
        assert listed_shots(tmp_path / "film") == ([], "a file where a folder should be")

    @pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="this user may look everywhere")
    def test_a_folder_that_must_not_be_looked_into(self, tmp_path: Path) -> None:
        (tmp_path / "shots" / "HB_010").mkdir(parents=True)
        (tmp_path / "shots").chmod(0)
        try:
            assert listed_shots(tmp_path)[0] == []
        finally:
            (tmp_path / "shots").chmod(0o755)


def test_the_next_sheet_comes_after_those_that_are_known(tmp_path: Path) -> None:
    assert next_sheet(tmp_path, "HB_010", ()) == (1, tmp_path / "shots/HB_010/HB_010.v001.yaml")
    assert next_sheet(tmp_path, "HB_010", (1, 12), ".json") == (
        13,
        tmp_path / "shots/HB_010/HB_010.v013.json",
    )
