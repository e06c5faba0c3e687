"""Scenes that sequence.yaml names are captured by a check where they have changed, and one scene is checked without a folder."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from samelight.cli import reading
from samelight.cli.main import main
from samelight.sequence.capturing import bring_up_to_date
from samelight.sequence.session import open_store
from samelight.sequence.store import SheetStore
from samelight.sheets.trees import read_document
from samelight.sheets.writing import yaml_text
from samelight.sources import batch, provenance
from samelight.sources.batch import Job, Outcome, capture_job
from samelight.sources.request import CaptureRequest

LAMP = '#usda 1.0\n(\nmetersPerUnit = 1\n{head}\n)\n{kind} "lamp"\n{{\n    float inputs:intensity = {level}\n}}\n'
Streams = pytest.CaptureFixture[str]


def lamp(level: float, kind: str = "def SphereLight", head: str = "") -> str:
    return LAMP.format(level=level, kind=kind, head=head)


@pytest.fixture
def quay(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sequence of two shots with their scenes, captured: QU_020 is a layer over a rig."""
    folder = tmp_path / "quay"
    (folder / "rigs").mkdir(parents=True)
    (folder / "sequence.yaml").write_text(
        "title: quay\ncut: [QU_010, QU_020]\nkey_shot: QU_010\nscenes: 'shots/{shot}/light.usda'\n"
    )
    (folder / "rigs/rig.usda").write_text(lamp(3))
    for shot in ("QU_010", "QU_020"):
        (folder / f"shots/{shot}").mkdir(parents=True)
    (folder / "shots/QU_010/light.usda").write_text(lamp(3))
    head = "subLayers = [@../../rigs/rig.usda@]"
    (folder / "shots/QU_020/light.usda").write_text(lamp(3, "over", head))
    monkeypatch.setattr(reading, "_captured", in_place)
    assert check(folder) == 2  # there is no master yet, and the scenes are captured
    assert main(["publish", str(folder)]) == 0
    return folder


def in_place(jobs: Sequence[Job]) -> list[Outcome]:
    return [capture_job(job) for job in jobs]


def check(folder: Path, *words: str) -> int:
    return main(["check", str(folder), *words])


def sheets(folder: Path, shot: str) -> list[str]:
    return sorted(path.name for path in (folder / "shots" / shot).glob("*.yaml"))


def test_a_check_captures_what_changed(quay: Path, capsys: Streams) -> None:
    assert check(quay) == 0
    assert sheets(quay, "QU_020") == ["QU_020.v001.yaml"]
    capsys.readouterr()
    (quay / "shots/QU_020/light.usda").write_text(lamp(6, "over", "subLayers = [@../../rigs/rig.usda@]"))
    assert check(quay, "--as-captured") == 0
    assert check(quay) == 1
    streams = capsys.readouterr()
    assert "QU_020: captured from its scene as that is now: QU_020.v002.yaml" in streams.err
    assert "QU_010" not in streams.err
    assert "lights.lamp.level" in streams.out
    assert check(quay) == 1
    assert "captured" not in capsys.readouterr().err
    assert sheets(quay, "QU_020") == ["QU_020.v001.yaml", "QU_020.v002.yaml"]


def test_a_layer_below_counts_too_and_what_gives_the_same_makes_no_version(quay: Path) -> None:
    rig = quay / "rigs/rig.usda"
    rig.write_text(lamp(3) + 'def Cube "box"\n{\n}\n')
    assert check(quay) == 0
    assert sheets(quay, "QU_020") == ["QU_020.v001.yaml"]
    rig.write_text(lamp(3) + 'def SphereLight "rim"\n{\n}\n')
    assert check(quay) == 1
    assert sheets(quay, "QU_020") == ["QU_020.v001.yaml", "QU_020.v002.yaml"]


def test_nothing_is_read_where_nothing_changed(quay: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not even the bytes of the scenes."""
    assert check(quay) == 0

    def fails(*_: object) -> None:
        raise AssertionError("a scene was read")

    monkeypatch.setattr("samelight.sources.batch.is_unchanged", fails)
    assert not bring_up_to_date(SheetStore(quay), in_place)


def test_a_scene_whose_name_no_file_can_have_stops_no_other(quay: Path) -> None:
    file = quay / "sequence.yaml"
    stated = {"QU_010": f"{'a' * 300}.usda", "QU_020": "shots/QU_020/light.usda"}
    file.write_text(yaml_text({**read_document(file).data, "scenes": stated}))
    (quay / "shots/QU_020/light.usda").write_text(lamp(6, "over", "subLayers = [@../../rigs/rig.usda@]"))
    assert check(quay) == 2
    assert sheets(quay, "QU_020") == ["QU_020.v001.yaml", "QU_020.v002.yaml"]


def test_a_scene_that_is_named_and_not_there_is_told_with_its_line(quay: Path, capsys: Streams) -> None:
    file, scene = quay / "sequence.yaml", quay / "later/QU_010.usda"
    stated = {"QU_020": "shots/QU_020/light.usda", "QU_010": "later/QU_010.usda", "QU_990": "no/such.usda"}
    file.write_text(yaml_text({**read_document(file).data, "scenes": stated}))
    line = next(n for n, text in enumerate(file.read_text().splitlines(), 1) if "later/" in text)
    for _ in range(2):
        assert check(quay) == 2
        said = capsys.readouterr().err
        assert f"{file}:{line}:" in said
        assert f"scenes.QU_010: expected a scene, found no file {scene}" in said
        assert "QU_990" not in said  # which is not in the cut
    scene.parent.mkdir()
    scene.write_text(lamp(3))
    assert check(quay) == 0
    assert sheets(quay, "QU_010") == ["QU_010.v001.yaml"]


def test_a_scene_whose_name_no_shot_can_have_stops_no_other(quay: Path, capsys: Streams) -> None:
    file = quay / "sequence.yaml"
    file.write_text(
        yaml_text({**read_document(file).data, "scenes": "shots/**/*.usda", "cut": ["light", "b"]})
    )
    odd = quay / "shots/QU_010/ .usda"
    (quay / "shots/QU_010/light.usda").rename(quay / "shots/b.usda")
    odd.write_text(lamp(3))
    says = "shots/QU_010/ .usda: left out, expected a name that a shot can have, found ' '"
    assert check(quay) == 2
    assert says in capsys.readouterr().err
    assert sheets(quay, "b") and sheets(quay, "light")
    words = ["capture", "--sequence", str(quay), "--jobs", "1"]
    assert main(words) == 2
    streams = capsys.readouterr()
    assert says in streams.err
    assert "2 scenes: 2 unchanged" in streams.out
    (quay / "shots/b.usda").unlink()
    (quay / "shots/QU_020/light.usda").unlink()
    for asked in (["check", str(quay)], words):
        assert main(asked) == 2
        assert says in capsys.readouterr().err


def test_what_changes_while_it_is_looked_at_is_captured_the_next_time(
    quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scene = quay / "shots/QU_020/light.usda"
    scene.write_text(lamp(6, "over", "subLayers = [@../../rigs/rig.usda@]") + "# touched\n")
    whole = provenance.is_unchanged

    def while_it_is_read(source: dict[str, object], path: Path) -> bool:
        found = whole(source, path)
        if path == scene:
            scene.write_text(lamp(12, "over", "subLayers = [@../../rigs/rig.usda@]"))
        return found

    def captured(jobs: Sequence[Job]) -> list[Outcome]:
        outcomes = in_place(jobs)
        monkeypatch.setattr(batch, "is_unchanged", while_it_is_read)
        return outcomes

    assert bring_up_to_date(SheetStore(quay), captured)
    monkeypatch.setattr(batch, "is_unchanged", whole)
    assert bring_up_to_date(SheetStore(quay), in_place)
    assert sheets(quay, "QU_020") == [f"QU_020.v00{version}.yaml" for version in (1, 2, 3)]


def test_roots_that_do_not_count_are_told(
    quay: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = quay / "sequence.yaml"
    file.write_text(yaml_text({**read_document(file).data, "allow_roots": [str(quay.parent)]}))
    monkeypatch.setattr("samelight.sequence.scene_jobs.is_own", lambda sequence: False)
    assert check(quay) == 0
    assert f"{file} is another user's: its allow_roots do not count" in capsys.readouterr().err


@pytest.mark.parametrize(
    "odd", [{"asked": {"frames": ["a", None]}}, {"missing_files": 3}, {"files": ["a"]}, {"asked": 3}]
)
def test_a_sheet_whose_source_makes_no_sense_stops_no_other(quay: Path, odd: dict[str, object]) -> None:
    sheet = quay / "shots/QU_010/QU_010.v001.yaml"
    tree = read_document(sheet).data
    sheet.write_text(yaml_text({**tree, "source": {**tree["source"], **odd}}))
    (quay / "shots/QU_020/light.usda").write_text(lamp(6, "over", "subLayers = [@../../rigs/rig.usda@]"))
    check(quay)
    assert sheets(quay, "QU_020") == ["QU_020.v001.yaml", "QU_020.v002.yaml"]


def test_a_scene_that_cannot_be_read_stops_no_other(quay: Path, capsys: Streams) -> None:
    (quay / "shots/QU_010/light.usda").write_text("#usda 1.0\nnonsense")
    (quay / "shots/QU_020/light.usda").write_text(lamp(6, "over", "subLayers = [@../../rigs/rig.usda@]"))
    assert check(quay) == 2
    streams = capsys.readouterr()
    assert "QU_010: its scene was not captured, so that its sheet stands as it was" in streams.err
    assert "lights.lamp.level" in streams.out
    tried: list[str] = []

    def counted(jobs: Sequence[Job]) -> list[Outcome]:
        tried.extend(job.shot for job in jobs)
        return in_place(jobs)

    store = SheetStore(quay)
    for _ in range(3):  # one that is broken is not tried again and again
        bring_up_to_date(store, counted)
        assert not open_store(store).whole
    assert tried == ["QU_010"]
    (quay / "shots/QU_010/light.usda").write_text(lamp(3))
    bring_up_to_date(store, counted)
    assert open_store(store).whole


def test_what_is_stopped_goes_on_the_next_time(quay: Path) -> None:
    for shot in ("QU_010", "QU_020"):
        (quay / f"shots/{shot}/light.usda").write_text(lamp(6))
    store = SheetStore(quay)
    reached: list[tuple[int, int, str]] = []

    def at_a_time(jobs: Sequence[Job]) -> Iterator[Outcome]:
        return map(capture_job, jobs)

    def reach(done: int, total: int, name: str) -> None:
        reached.append((done, total, name))

    assert bring_up_to_date(store, at_a_time, reached=reach, cancelled=lambda: bool(reached[1:]))
    assert reached == [(0, 2, "scenes, to make sheets of them"), (1, 2, "the scene of QU_010")]
    assert [len(sheets(quay, shot)) for shot in ("QU_010", "QU_020")] == [2, 1]
    reached.clear()
    assert bring_up_to_date(store, at_a_time, reached=reach)
    assert reached[1:] == [(1, 1, "the scene of QU_020")]
    assert [len(sheets(quay, shot)) for shot in ("QU_010", "QU_020")] == [2, 2]


def test_what_somebody_typed_or_asked_for_stays(quay: Path) -> None:
    """A sheet that came from no scene is left, and a capture asks for what the one before asked for."""
    scene = quay / "shots/QU_020/light.usda"
    scene.write_text(lamp(3) + 'def SphereLight "rim"\n{\n}\n')
    capture_job(Job(quay, "QU_020", scene, CaptureRequest(lights=("/lamp",), master=1)))
    scene.write_text(lamp(5) + 'def SphereLight "rim"\n{\n}\n')
    assert check(quay) == 1
    tree = read_document(quay / "shots/QU_020/QU_020.v003.yaml").data
    assert list(tree["lights"]) == ["lamp"]
    assert tree["master"] == 1
    typed = quay / "shots/QU_020/QU_020.v004.yaml"
    typed.write_text(
        "samelight: 2\nshot: QU_020\nversion: 4\nlights: {lamp: {type: sphere, intensity: 3, radius: 0.5}}\n"
    )
    scene.write_text(lamp(7))
    check(quay)
    assert sheets(quay, "QU_020")[-1] == typed.name


def test_a_folder_that_cannot_be_written_to_is_checked_as_it_stands(
    quay: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch
) -> None:
    (quay / "shots/QU_020/light.usda").write_text(lamp(6, "over", "subLayers = [@../../rigs/rig.usda@]"))
    monkeypatch.setattr("samelight.sequence.capturing._can_write", lambda folder: False)
    assert check(quay) == 0
    assert f"1 scene changed since captured, and {quay} cannot be written to: the sheets of QU_020 stand" in (
        capsys.readouterr().err
    )


def test_one_scene_against_another(tmp_path: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch) -> None:
    from samelight.cli import check_scenes
    from samelight.sources.scenes import capture_scene

    monkeypatch.setattr(check_scenes, "capture_apart", capture_scene)
    (tmp_path / "key.usda").write_text(lamp(3))
    (tmp_path / "a shot.usda").write_text(lamp(6))
    words = ["check", "--scene", str(tmp_path / "a shot.usda"), "--against"]
    assert main([*words, str(tmp_path / "key.usda"), "--format", "json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["sequence"] == "a shot.usda (key.usda as master 1)"
    drifts = {cell["parameter"]: cell["drift"] for cell in found["cells"]}
    assert drifts == {"lights.lamp.level": pytest.approx(1.0)}
    assert main([*words, str(tmp_path / "a shot.usda"), "--quiet"]) == 0
    sheet = tmp_path / "master.yaml"
    sheet.write_text(yaml_text(capture_scene(tmp_path / "a shot.usda")))
    assert main([*words, str(sheet), "--quiet"]) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a shot.usda", "key.usda", "master.yaml"]
    sheet.write_text("lights: 3\n")
    assert main([*words, str(sheet)]) == 2
    assert f"{sheet}:1:1: lights: expected lights by name" in capsys.readouterr().err
    stated = (
        "version: 4\nkey_shot: HB_010\nlights:\n  lamp: {type: sphere, intensity: 6, visible_to: [camera]}\n"
    )
    sheet.write_text(f"samelight: 1\n{stated}")
    main([*words, str(sheet), "--format", "json"])
    before = json.loads(capsys.readouterr().out)
    sheet.write_text(f"samelight: 2\n{stated}".replace("visible_to", "seen_by"))
    main([*words, str(sheet), "--format", "json"])
    assert json.loads(capsys.readouterr().out) == before


def test_a_fault_of_a_sheet_is_told_in_its_own_file(tmp_path: Path, capsys: Streams) -> None:
    whole, faulty = tmp_path / "whole.yaml", tmp_path / "faulty.yaml"
    whole.write_text("samelight: 2\nlights: {lamp: {type: sphere, intensity: 3, radius: 0.5}}\n")
    faulty.write_text("samelight: 2\n\nlights:\n  lamp: {type: sphere, intensity: much}\n")
    for words in ((faulty, whole), (whole, faulty)):
        assert main(["check", "--scene", str(words[0]), "--against", str(words[1])]) == 2
        assert capsys.readouterr().err.startswith(f"samelight: {faulty}:4:24: lights.lamp.intensity: ")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--scene", "a.usda"], "--scene and --against go together"),
        (["quay", "--scene", "a.usda", "--against", "b.usda"], "without a folder"),
        (["--scene", "gone.usda", "--against", "gone.yaml"], "gone.yaml"),
    ],
)
def test_what_does_not_go_together(words: list[str], says: str, capsys: Streams) -> None:
    assert main(["check", *words]) == 2
    assert says in capsys.readouterr().err
