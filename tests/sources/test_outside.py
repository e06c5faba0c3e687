"""What lies outside a sequence or beside a scene's folder: it is named, and neither read nor quoted unless that is allowed."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

import pytest

from conftest import MakeSequence
from gltf_files import Animated, carried, scene_of
from samelight.cli.main import main
from samelight.sheets.errors import SamelightError, SheetError
from samelight.sheets.plain_files import is_within
from samelight.sheets.sequence import read_sequence
from samelight.sheets.trees import read_document
from samelight.sources.request import CaptureRequest
from samelight.sources.scene_list import scenes_of
from samelight.sources.scenes import capture_scene

pytestmark = pytest.mark.usefixtures("readers_stay")

LINKS = pytest.mark.skipif(os.name != "posix", reason="links need a permission there")
SECRET = "root:$6$salt$hash:19000:0:99999:7:::\n"
DOME = """#usda 1.0
(
    metersPerUnit = 1
)
def DomeLight "sky"
{
    asset inputs:texture:file = @%s@
}
"""
Streams = pytest.CaptureFixture[str]


# Policy and cut


@pytest.mark.parametrize(
    ("key", "name"), [("policy", "passwd"), ("cut", "passwd.otio"), ("cut", "passwd.edl")]
)
@pytest.mark.parametrize("absolute", [True, False])
def test_a_policy_or_cut_elsewhere_is_refused_and_not_quoted(
    make_sequence: MakeSequence, tmp_path: Path, key: str, name: str, absolute: bool
) -> None:
    (tmp_path / name).write_text(SECRET)
    folder = make_sequence(
        shots={"QU_010": {}}, sequence={key: str(tmp_path / name) if absolute else f"../{name}"}
    )
    with pytest.raises(SheetError, match=f"{key}: expected .* in the sequence folder.* outside it") as caught:
        read_sequence(folder)
    assert "$6$" not in str(caught.value)


@LINKS
def test_a_link_there_is_refused_as_well(
    make_sequence: MakeSequence, tmp_path: Path, capsys: Streams
) -> None:
    (tmp_path / "passwd").write_text(SECRET)
    folder = make_sequence(master={"lights": {}}, shots={"QU_010": {"lights": {}}, "QU_020": {"lights": {}}})
    (folder / "policy.yaml").symlink_to(tmp_path / "passwd")
    assert main(["check", str(folder)]) == 2
    assert "named with --policy" in capsys.readouterr().err
    (folder / "policy.yaml").unlink()
    sheet = folder / "shots/QU_010/QU_010.v001.yaml"
    sheet.unlink()
    sheet.symlink_to(tmp_path / "passwd")
    assert main(["check", str(folder)]) == 2
    streams = capsys.readouterr()
    assert "$6$" not in streams.err + streams.out
    assert "a link to another file outside the sequence" in streams.err


def test_a_policy_named_by_the_user_may_lie_anywhere(
    make_sequence: MakeSequence, tmp_path: Path, capsys: Streams
) -> None:
    sheets = ({"lights": {"sun": {"exposure": 0}}}, {"lights": {"sun": {"exposure": 1}}})
    folder = make_sequence(
        master=sheets[0], shots={"QU_010": sheets[1]}, sequence={"policy": "../studio.yaml"}
    )
    studio = tmp_path / "studio.yaml"
    studio.write_text("tolerances: {level: 3 st}\n")
    assert main(["check", str(folder)]) == 2
    assert main(["check", str(folder), "--policy", str(studio)]) == 0
    assert main(["check", str(folder), "--policy", str(tmp_path / "gone.yaml")]) == 2
    assert "no such file" in capsys.readouterr().err


# Patterns of scenes


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    folder = tmp_path / "quay"
    (folder / "scenes/deep").mkdir(parents=True)
    (folder / "sequence.yaml").write_text("title: Quay\n")
    for name in ("QU_010.usda", "deep/QU_020.usda", "deep/notes.txt"):
        (folder / "scenes" / name).write_text(DOME % "sky.exr")
    return folder


def found(folder: Path, pattern: str) -> tuple[list[str], list[str]]:
    told: list[str] = []
    return list(scenes_of(read_sequence(folder), pattern, told.append)), told


@LINKS
def test_a_pattern_never_follows_a_loop_of_links(quay: Path) -> None:
    for number in range(12):
        (quay / f"scenes/loop{number}").symlink_to(quay / "scenes")
    shots, told = found(quay, "**/*.usda")
    assert shots == ["QU_010", "QU_020"]
    assert told == ["**/*.usda: 2 of 18 files and folders looked at are scenes"]


@LINKS
def test_a_pattern_stays_in_the_folder(quay: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other/QU_030.usda").write_text(DOME % "sky.exr")
    (quay / "scenes/QU_030.usda").symlink_to(tmp_path / "other/QU_030.usda")
    (quay / "other").symlink_to(tmp_path / "other")
    shots, told = found(quay, "*/*.usda")
    assert shots == ["QU_010"]
    assert "left out, being a link out of the sequence folder" in told[0]
    for pattern in ("../other/*.usda", "scenes/../../other/*.usda"):
        with pytest.raises(SamelightError, match="expected a pattern in the sequence folder"):
            found(quay, pattern)


def test_an_absolute_pattern_is_for_the_command_line_alone(quay: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other/QU_030.usda").write_text(DOME % "sky.exr")
    pattern = str(tmp_path / "other/*.usda")
    assert found(quay, pattern)[0] == ["QU_030"]
    (quay / "sequence.yaml").write_text(json.dumps({"title": "Quay", "scenes": pattern}))
    with pytest.raises(SamelightError, match="name it with --scenes"):
        scenes_of(read_sequence(quay))


def test_patterns_mean_what_they_did(quay: Path) -> None:
    for pattern in ("scenes/**/*", "scenes/**", "**/QU_0?0.usda", "scenes/**/QU_0[12]0.*"):
        assert found(quay, pattern)[0] == ["QU_010", "QU_020"]
    assert found(quay, "scenes/deep/QU_020.usda")[0] == ["QU_020"]
    assert found(quay, "scenes/*.usda")[0] == ["QU_010"]
    with pytest.raises(SamelightError, match="no scene is called"):
        found(quay, "gone/*.usda")


# Files that scenes name


def test_within(tmp_path: Path) -> None:
    assert is_within(tmp_path / "a/../b", tmp_path)
    assert not is_within(tmp_path / "../b", tmp_path, tmp_path / "c")
    assert not is_within(Path(f"{tmp_path}2"), tmp_path)
    assert not is_within(Path("a\0b"), tmp_path)


def test_a_texture_elsewhere_is_named_and_not_read(tmp_path: Path) -> None:
    (tmp_path / "sky.exr").write_bytes(b"sky")
    scene = tmp_path / "scenes/QU_010.usda"
    scene.parent.mkdir()
    scene.write_text(DOME % "../sky.exr")
    tree = capture_scene(scene)
    assert tree["environments"]["sky"]["texture"] == "../sky.exr"
    assert "sha256" not in tree["environments"]["sky"]
    assert any("lies outside the scene's folder and is not read" in remark for remark in tree["remarks"])
    digest = hashlib.sha256(b"sky").hexdigest()
    for allowed in (
        {"roots": (str(tmp_path),)},
        {"home": tmp_path},
        {"home": tmp_path / "scenes", "roots": ("..",)},
    ):
        tree = capture_scene(scene, CaptureRequest(**allowed))
        assert tree["environments"]["sky"]["sha256"] == digest
        assert not any("outside" in remark for remark in tree["remarks"])


def test_a_buffer_and_an_image_elsewhere(tmp_path: Path) -> None:
    animated = Animated().move((0, "translation"), [0.0, 1.0], [[0, 0, 0], [1, 0, 0]])
    data = animated.into(scene_of([carried(0, name="lamp")], [{"type": "point"}]), uri="../motion.bin")
    data["extensions"]["EXT_lights_image_based"] = {"lights": [{"name": "sky", "specularImages": [[0]]}]}
    data["scenes"][0]["extensions"] = {"EXT_lights_image_based": {"light": 0}}
    data["images"] = [{"uri": "../sky.png"}]
    scene = tmp_path / "scenes/QU_010.gltf"
    scene.parent.mkdir()
    scene.write_text(json.dumps(data))
    (tmp_path / "motion.bin").write_bytes(animated.raw)
    (tmp_path / "sky.png").write_bytes(b"sky")
    closed, opened = capture_scene(scene), capture_scene(scene, CaptureRequest(roots=(str(tmp_path),)))
    assert closed["lights"]["lamp"]["position"] == [0.0, 0.0, 0.0]
    assert "sha256" not in closed["environments"]["sky"]
    assert sum("lies outside the scene's folder" in remark for remark in closed["remarks"]) == 2
    assert "keys" in opened["lights"]["lamp"]["position"]
    assert "sha256" in opened["environments"]["sky"]


@pytest.mark.parametrize("own", [True, False])
def test_roots_of_a_sequence_are_those_of_its_user(
    quay: Path, tmp_path: Path, own: bool, monkeypatch: pytest.MonkeyPatch, capsys: Streams
) -> None:
    if not hasattr(os, "geteuid"):
        pytest.skip("this system does not say whose a file is")
    (tmp_path / "library").mkdir()
    (tmp_path / "library/sky.exr").write_bytes(b"sky")
    (quay / "scenes/QU_010.usda").write_text(DOME % "../../library/sky.exr")
    (quay / "sequence.yaml").write_text("title: Quay\nscenes: scenes/*.usda\nallow_roots: [../library]\n")
    user = os.geteuid()
    if not own:
        monkeypatch.setattr("samelight.sequence.scene_jobs.os.geteuid", lambda: user + 1)
    assert main(["capture", "--sequence", str(quay), "--jobs", "1"]) == 0
    assert ("do not count" in capsys.readouterr().err) is not own
    sheet = read_document(quay / "shots/QU_010/QU_010.v001.yaml").data
    assert ("sha256" in sheet["environments"]["sky"]) is own
    assert sheet["source"].get("asked") == ({"roots": ["../library"]} if own else None)
    assert main(["capture", "--sequence", str(quay), "--jobs", "1"]) == 0
    assert "1 unchanged" in capsys.readouterr().out
    if not own:
        library = ["--allow-root", str(tmp_path / "library")]
        assert main(["capture", "--sequence", str(quay), "--jobs", "1", *library]) == 0
        assert "1 new" in capsys.readouterr().out
