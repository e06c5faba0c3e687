"""No command writes over what a sequence holds, whatever name it is given."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.sheets.documents import refuse_of_sequence, write_document
from samelight.sheets.writing import WriteError

SCENE = """#usda 1.0
def SphereLight "lamp"
{
    float inputs:intensity = 3
}
"""
OWN = (
    "sequence.yaml",
    "policy.yaml",
    "master/master.v003.yaml",
    "master/master.v009.yaml",
    "shots/HB_010/HB_010.v002.yaml",
    "shots/HB_010/report.html",
    "decisions/new.yaml",
    "views/Sun.yaml",
    "MASTER/master.v003.yaml",
)


@pytest.fixture
def harbour(make_sequence: MakeSequence) -> Path:
    """A sequence of one shot, which is quickly opened."""
    tree = {"lights": {"lamp": {"type": "sphere", "intensity": 3, "radius": "10 cm"}}}
    sequence = make_sequence("harbour", master=[tree] * 3, shots={"HB_010": [tree] * 2}, policy={})
    for name in ("decisions", "views"):
        (sequence / name).mkdir()
    return sequence


def digest(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.mark.parametrize("own", OWN)
@pytest.mark.parametrize(
    "words",
    [
        ["report", "{folder}", "--format", "html"],
        ["report", "{folder}", "--format", "json"],
        ["fix", "{folder}", "--format", "text"],
        ["schema"],
        ["check", "{folder}", "--quiet", "--save-part"],
    ],
    ids=lambda words: " ".join(words[::2]),
)
def test_a_document_is_not_written_onto_a_file_of_the_sequence(
    harbour: Path, own: str, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    before = digest(harbour)
    option = [] if words[-1] == "--save-part" else ["-o"]
    called = [word.format(folder=harbour) for word in words]
    assert main([*called, *option, str(harbour / own)]) == 2
    said = capsys.readouterr().err
    assert "it is a file of the sequence in" in said or "expected a part" in said
    assert digest(harbour) == before


def test_nor_through_a_link_or_a_way_round(harbour: Path, tmp_path: Path) -> None:
    link = tmp_path / "report.html"
    link.symlink_to(harbour / "sequence.yaml")
    for path in (
        link,
        harbour / "shots" / ".." / "master" / "new.html",
        tmp_path / "harbour/./sequence.yaml",
    ):
        with pytest.raises(WriteError, match="file of the sequence"):
            write_document(path, "text")
    os.link(harbour / "sequence.yaml", tmp_path / "other.html")
    write_document(tmp_path / "other.html", "text")  # a name of its own: what it was is left as it is
    assert (harbour / "sequence.yaml").read_text("utf-8") != "text"


def test_the_cut_and_the_policy_are_the_sequences_whatever_they_are_called(
    make_sequence: MakeSequence,
) -> None:
    folder = make_sequence(sequence={"cut": "edit/final.otio", "policy": "studio.yaml"})
    (folder / "edit").mkdir()
    for name in ("edit/final.otio", "studio.yaml"):
        (folder / name).write_text("samelight_policy: 2\n", encoding="utf-8")
    for name in ("edit/final.otio", "studio.yaml"):
        with pytest.raises(WriteError):
            refuse_of_sequence(folder / name)
    refuse_of_sequence(folder / "edit/report.html")


def test_a_document_beside_them_is_written_and_written_again(harbour: Path) -> None:
    for _ in range(2):
        assert main(["report", str(harbour), "-o", str(harbour / "harbour.html")]) == 0
        assert main(["fix", str(harbour), "-o", str(harbour / "fixes" / "today.md")]) == 0


@pytest.mark.usefixtures("readers_stay")
class TestCapture:
    @pytest.fixture
    def scene(self, tmp_path: Path) -> Path:
        path = tmp_path / "lamp.usda"
        path.write_text(SCENE, encoding="utf-8")
        return path

    @pytest.mark.parametrize("force", [[], ["--force"]])
    def test_onto_an_existing_version_is_refused(
        self, harbour: Path, scene: Path, force: list[str], capsys: pytest.CaptureFixture[str]
    ) -> None:
        before = digest(harbour)
        for own in ("shots/HB_010/HB_010.v001.yaml", "master/master.v003.yaml"):
            assert (harbour / own).exists()
            assert main(["capture", str(scene), "-o", str(harbour / own), *force]) == 2
            said = capsys.readouterr().err
            assert "is there already" in said or "file of the sequence" in said
        assert digest(harbour) == before

    def test_a_next_version_is_written(self, harbour: Path, scene: Path) -> None:
        path = harbour / "shots/HB_010/HB_010.v099.yaml"
        assert main(["capture", str(scene), "-o", str(path)]) == 0
        assert path.exists()

    def test_a_sheet_of_no_sequence_is_written_over_where_that_is_said(
        self, scene: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        path = tmp_path / "lamp.yaml"
        assert main(["capture", str(scene), "-o", str(path)]) == 0
        was = path.read_bytes()
        scene.write_text(SCENE.replace("3", "5"), encoding="utf-8")
        assert main(["capture", str(scene), "-o", str(path)]) == 2
        assert path.read_bytes() == was
        assert main(["capture", str(scene), "-o", str(path), "--force"]) == 0
        assert path.read_bytes() != was
        assert main(["capture", str(scene), "--force"]) == 2

    @pytest.fixture
    def lamps(self, make_sequence: MakeSequence) -> Path:
        """A sequence of one shot whose scene was captured."""
        folder = make_sequence(shots={"lamp": []})
        for below in ("shots/lamp", "scenes"):
            (folder / below).mkdir(parents=True, exist_ok=True)
        (folder / "scenes/lamp.usda").write_text(SCENE, encoding="utf-8")
        assert self.captured_again(folder) == 0
        return folder

    def captured_again(self, folder: Path) -> int:
        return main(["capture", "--sequence", str(folder), "--scenes", "scenes/*.usda", "--jobs", "1"])

    def test_a_link_planted_in_the_place_of_its_note_is_not_followed(
        self, lamps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        theirs = tmp_path / "theirs"
        theirs.write_text("theirs", encoding="utf-8")
        (lamps / "shots/lamp/.captured.json").symlink_to(theirs)
        (lamps / "scenes/lamp.usda").write_text(SCENE + "\n# saved again\n", encoding="utf-8")
        assert self.captured_again(lamps) in (1, 2)
        assert ".captured.json: could not be written: it is a link" in capsys.readouterr().err
        assert theirs.read_text("utf-8") == "theirs"

    @pytest.mark.parametrize("planted", ["huge", "deep"])
    def test_a_note_that_is_none_is_passed_over(self, lamps: Path, planted: str) -> None:
        note = lamps / "shots/lamp/.captured.json"
        if planted == "huge":
            with note.open("wb") as file:
                file.truncate(40 * 2**30)
        else:
            note.write_text("[" * 200_000, encoding="utf-8")
        (lamps / "scenes/lamp.usda").write_text(SCENE + "\n# saved again\n", encoding="utf-8")
        assert self.captured_again(lamps) == 0
        assert note.stat().st_size < 10_000


@pytest.mark.skipif(os.name != "posix", reason="a folder in use can be removed on POSIX alone")
def test_where_the_working_folder_has_gone_the_file_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "gone").mkdir()
    monkeypatch.chdir(tmp_path / "gone")
    (tmp_path / "gone").rmdir()
    assert main(["schema", "-o", "sheet.json"]) == 2
    assert (
        capsys.readouterr().err == "samelight: sheet.json: could not be written: No such file or directory\n"
    )
