"""A folder that is no sequence yet becomes one, and nothing in it is touched."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from growth_help import ABOUT_LINEAR, growth
from samelight.changes import starting
from samelight.changes.cut_table import shots_of_table
from samelight.changes.starting import Start, begin, found_lines, in_cut_order, look_at, next_lines
from samelight.cli.main import main
from samelight.sequence.session import open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import read_sequence
from samelight.sources.scene_list import scenes_of


def empty(folder: Path, *names: str) -> Path:
    """A folder of empty files."""
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).touch()
    folder.mkdir(exist_ok=True)
    return folder


def test_a_folder_of_sheets_opens_as_the_sequence_that_it_was(harbour: Path) -> None:
    before = open_session(harbour)
    (harbour / SEQUENCE_FILE).unlink()
    kept = {path: path.read_bytes() for path in harbour.rglob("*") if path.is_file()}
    start = look_at(harbour)
    assert (start.scenes, start.cut, start.shots) == (None, None, tuple(before.contents.sheets))
    assert set(start.framed) < set(start.shots)
    assert begin(start, "HB_040", title="Harbour") == harbour / SEQUENCE_FILE
    after = open_session(harbour)
    assert after.contents.sequence.key_shot == "HB_040"
    assert (
        list(after.contents.sheets) == list(before.contents.sheets)
        and after.contents.masters.keys() == before.contents.masters.keys()
    )
    assert {path: path.read_bytes() for path in kept} == kept


@pytest.mark.parametrize(
    ("names", "scenes", "shots"),
    [
        (["scenes/A_010.usda", "scenes/A_020.usda"], "scenes/A_*.usda", ("A_010", "A_020")),
        (["A_010.v001.usda", "A_010.v002.usda", "A_020.usda"], "A_*.usda", ("A_010", "A_020")),
        (["in/A_010.glb", "in/A_020.glb", "in/set.glb"], "in/A_*.glb", ("A_010", "A_020")),
        (["in/day.glb", "in/night.glb"], "in/*.glb", ("day", "night")),
        (["in/A_010.usda", "in/A_020.usda", "in/A_rig.usda"], "in/*.usda", ("A_010", "A_020", "A_rig")),
        (
            ["shots/A_010/light.usda", "shots/A_020/light.usda", "lib/one.usda"],
            {"A_010": "shots/A_010/light.usda", "A_020": "shots/A_020/light.usda"},
            ("A_010", "A_020"),
        ),
        (["one.usda"], "*.usda", ("one",)),
        ([], None, ()),
        ([".hidden/A_010.usda", "a/b/c/d/e/A_010.usda"], None, ()),
    ],
)
def test_scenes_are_found_where_they_lie(
    tmp_path: Path, names: list[str], scenes: object, shots: tuple[str, ...]
) -> None:
    folder = empty(tmp_path / "film", *names)
    start = look_at(folder)
    assert (start.scenes, start.shots) == (scenes, shots)
    if shots:
        begin(start, shots[0])
        assert tuple(scenes_of(read_sequence(folder))) == shots  # what capture will take


def test_what_is_not_taken_is_said(tmp_path: Path) -> None:
    folder = empty(tmp_path / "film", "in/A_010.usda", "in/A_020.usda", "in/set.usda", "a.edl", "b.otio")
    start = look_at(folder)
    assert start.cut is None
    said = "\n".join(found_lines(start))
    assert "in/set.usda as what these are made of" in said
    assert "2 cuts: a.edl, b.otio. None is taken: sequence.yaml says which by its key cut" in said
    assert any("capture" in line for line in next_lines(start))
    begin(start, "A_010", cut="a.edl")
    assert yaml.safe_load((folder / SEQUENCE_FILE).read_text(encoding="utf-8"))["cut"] == "a.edl"


def test_no_link_is_followed(tmp_path: Path) -> None:
    elsewhere = empty(tmp_path / "elsewhere", "A_010.usda")
    folder = empty(tmp_path / "film")
    (folder / "scenes").symlink_to(elsewhere)
    (folder / "round").symlink_to(folder)
    assert look_at(folder).shots == ()


def test_what_is_no_start_is_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(folder: Path) -> str:
        with pytest.raises(SamelightError) as found:
            look_at(folder)
        return str(found.value)

    assert "is a sequence already" in refused(empty(tmp_path / "one", SEQUENCE_FILE))
    dangling = empty(tmp_path / "two")
    (dangling / SEQUENCE_FILE).symlink_to("nowhere")
    assert "is a sequence already" in refused(dangling)
    assert "has sequences in it: east, west" in refused(
        empty(tmp_path / "town", "east/sequence.yaml", "west/sequence.yaml")
    )
    assert "expected a folder with sheets or scenes, found none of" in refused(tmp_path / "gone")
    (tmp_path / "cut.csv").touch()
    assert "expected a folder with sheets or scenes, found a file" in refused(tmp_path / "cut.csv")
    monkeypatch.setattr(starting, "MOST", 3)
    assert "has more than 3 files" in refused(empty(tmp_path / "many", *"abcd"))
    with pytest.raises(SamelightError, match="expected a key shot among A, B, found 'C'"):
        begin(Start(tmp_path, sheets=("A", "B")), "C")
    for outside in ("../cut.edl", str(tmp_path / "cut.edl")):
        with pytest.raises(SamelightError, match="expected a cut in"):
            begin(Start(tmp_path / "film", sheets=("A",)), "A", cut=outside)
    with pytest.raises(SamelightError, match=r"ends in \.otio, \.edl or \.csv"):
        begin(Start(tmp_path, sheets=("A",)), "A", cut="cut.txt")
    with pytest.raises(SamelightError, match="found no file of this name"):
        begin(Start(tmp_path, sheets=("A",)), "A", cut="gone.edl")


def test_one_that_came_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    folder = empty(tmp_path / "film", "A_010.usda")
    start = look_at(folder)
    (folder / SEQUENCE_FILE).write_text("title: Theirs\n", encoding="utf-8")
    with pytest.raises(SamelightError):
        begin(start, "A_010")
    assert (folder / SEQUENCE_FILE).read_text(encoding="utf-8") == "title: Theirs\n"


def test_the_command_says_what_is_there_and_asks_for_the_key_shot(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = empty(tmp_path / "film", "in/A_010.usda", "in/A_020.usda")
    assert main(["start", str(folder)]) == 2
    told = capsys.readouterr()
    assert "2 scenes: in/A_*.usda" in told.out and "--key-shot" in told.err
    assert not (folder / SEQUENCE_FILE).exists()
    assert main(["start", str(folder), "--key-shot", "A_020", "--title", "The pier"]) == 0
    assert f"samelight capture --sequence {folder}" in capsys.readouterr().out
    stated = read_sequence(folder)
    assert (stated.title, stated.key_shot) == ("The pier", "A_020")
    assert main(["start", str(folder), "--key-shot", "A_010"]) == 2
    assert main(["start", str(empty(tmp_path / "nothing"))]) == 2
    assert "no shots to make a sequence of" in capsys.readouterr().err


def test_sheets_that_lie_or_are_called_otherwise_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = empty(tmp_path / "my film", "A_010.yaml", "shots/A_020/A_020.V1.YML", "policy.yaml")
    empty(folder, "master/master.v001.yaml", "decisions/one.json")
    told = "2 files end as sheets do and will not be read as one, since a sheet is called shots/SHOT/SHOT.v001.yaml: "
    assert look_at(folder).doubts == (f"{told}A_010.yaml, shots/A_020/A_020.V1.YML",)
    assert main(["start", str(folder)]) == 2
    said = capsys.readouterr()
    assert told in said.out and "put sheets (shots/SHOT/SHOT.v001.yaml) or scenes there first" in said.err
    empty(folder, "shots/A_020/A_020.v001.yaml", "shots/A_020/A_020.v001.json")
    start = look_at(folder)
    assert start.sheets == ("A_020",) and start.doubts == (f"{told}A_010.yaml, shots/A_020/A_020.V1.YML",)
    assert list(next_lines(start)) == [
        f"Next, publish the key shot as the first master: samelight publish '{folder}'"
    ]


EDL = """TITLE: A
FCM: NON-DROP FRAME

001  AX V C 00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00
* FROM CLIP NAME: B_020

002  AX V C 00:00:00:00 00:00:02:00 01:00:02:00 01:00:04:00
* FROM CLIP NAME: A_010

003  AX V C 00:00:00:00 00:00:02:00 01:00:04:00 01:00:06:00
* FROM CLIP NAME: C_030
"""


def test_shots_stand_as_in_the_cut_and_what_is_not_in_both_is_told(tmp_path: Path) -> None:
    empty(tmp_path, *(f"in/{shot}.usda" for shot in ("A_010", "B_020", "Z_990")))
    (tmp_path / "edit.edl").write_text(EDL)
    start = in_cut_order(look_at(tmp_path))
    assert start.shots == ("B_020", "A_010", "Z_990")
    said = list(found_lines(start))
    assert "1 shot is not in it, and so not shown: Z_990" in said
    assert "1 shot of it without a sheet or a scene: C_030" in said
    (tmp_path / "edit.edl").write_text("nothing of the kind")
    start = in_cut_order(look_at(tmp_path))
    assert start.shots == ("A_010", "B_020", "Z_990")
    assert any(line.startswith("The cut cannot be read: ") for line in found_lines(start))


@pytest.mark.parametrize(
    ("table", "cut", "said"),
    [
        (
            "Nr,Shot,In\n1,B_020,1001\n2,A_010,1001\n2,A_010,1040\n",
            ["B_020", "A_010"],
            "The order comes from edit.csv",
        ),
        (
            "\ufeffShot;In\nB_020;1001\nC_030;1\n",
            ["B_020", "C_030"],
            "1 shot is not in it, and so not shown: A_010",
        ),
        (
            "lamp,stops\nrim,1\n",
            None,
            "edit.csv: no column of it names half of the shots: it is not taken as the cut",
        ),
        ("\x00", None, "it is not taken as the cut"),
        ("", None, "it is not taken as the cut"),
    ],
)
def test_a_table_alone_is_the_cut_where_it_names_the_shots(
    tmp_path: Path, table: str, cut: list[str] | None, said: str
) -> None:
    empty(tmp_path, "in/A_010.usda", "in/B_020.usda")
    (tmp_path / "edit.csv").write_text(table, encoding="utf-8")
    start = in_cut_order(look_at(tmp_path))
    assert said in "\n".join(found_lines(start))
    stated = yaml.safe_load(begin(start, "A_010").read_text(encoding="utf-8"))
    assert stated.get("cut") == cut


def test_what_was_said_of_a_table_is_what_is_written(tmp_path: Path) -> None:
    empty(tmp_path, "in/A_010.usda", "in/B_020.usda")
    table = tmp_path / "edit.csv"
    table.write_text("B_020\nA_010\n", encoding="utf-8")
    start = in_cut_order(look_at(tmp_path))
    table.write_text("nothing of it\n", encoding="utf-8")
    stated = yaml.safe_load(begin(start, "A_010").read_text(encoding="utf-8"))
    assert stated["cut"] == ["B_020", "A_010"]


def test_the_heading_of_a_table_is_no_shot_where_shots_are_words(tmp_path: Path) -> None:
    table = tmp_path / "edit.csv"
    table.write_text("Shot,In\nchase,1001\nopening,1001\nTotal,2\n", encoding="utf-8")
    assert shots_of_table(table, {"opening", "chase"}) == ("chase", "opening")


def test_a_table_is_looked_through_once(tmp_path: Path) -> None:
    table = tmp_path / "edit.csv"

    def work(size: int) -> None:
        table.write_text("," * size + "\n" * size + "A_010\n", encoding="utf-8")
        assert shots_of_table(table, {"A_010"}) == ("A_010",)

    assert growth(work, 2_000) < ABOUT_LINEAR


def test_a_cut_goes_before_a_table_unless_that_is_named(tmp_path: Path) -> None:
    empty(tmp_path, "in/A_010.usda", "in/B_020.usda")
    (tmp_path / "edit.edl").write_text(EDL)
    (tmp_path / "order.csv").write_text("A_010\nB_020\n")
    assert look_at(tmp_path).cut == "edit.edl"
    assert main(["start", str(tmp_path), "--key-shot", "A_010", "--cut", "order.csv"]) == 0
    assert read_sequence(tmp_path).cut == ("A_010", "B_020")
