"""What a scene names and is not there is said once, with who asked; and nothing is read again in vain."""

from collections.abc import Callable
from pathlib import Path

import pytest

from conftest import write_sequence
from samelight.cli.main import main
from samelight.sequence.session import open_session
from samelight.sources.batch import Job, Result, capture_job
from samelight.sources.gltf.capture import capture_gltf
from samelight.sources.usd.capture import capture_usd

SCENE = """(
    metersPerUnit = 0.01
    subLayers = [@./gone_layer.usda@, @{SHOW}/lights.usda@, @studio://show/lights@]
)
def Xform "a" (references = @./gone.usda@)
{
}
def Xform "a2" (references = @./gone.usda@)
{
}
def Xform "b" (payload = @asset:thing?v=3@</x>)
{
}
def Xform "c" (references = @https://studio.example/{name}/x.usda@)
{
}
def Xform "d" (references = @./there.usda@</nope>)
{
}
def Xform "e" (references = @./lights.mtlx@)
{
}
def DomeLight "sky"
{
    asset inputs:texture:file = @./{time}/sky.exr@
}
def RectLight "key"
{
    float width = 50
    float inputs:intensity = 3
}
"""


@pytest.fixture
def unresolved(scene: Callable[..., Path], tmp_path: Path) -> Path:
    scene('def Xform "x"\n{\n}\n', "there.usda")
    (tmp_path / "lights.mtlx").write_text('<materialx version="1.39"></materialx>')
    return scene(SCENE)


def test_each_is_said_once_and_the_lights_are_there(unresolved: Path) -> None:
    tree = capture_usd(unresolved)
    assert tree["lights"]["key"]["intensity"] == 3.0
    missing = "is not there; what it would bring is missing."
    told = [
        remark
        for remark in tree["remarks"]
        if "its reference" in remark or "payload" in remark or "layer" in remark
    ]
    assert sorted(told) == sorted(
        [
            f"/a, /a2: its reference gone.usda {missing}",
            f"/b: its payload asset:thing?v=3 {missing}",
            f"/c: its reference https:/studio.example/{{name}}/x.usda {missing}",
            "/d: its reference names </nope> in there.usda, which has no such prim.",
            "/e: its reference lights.mtlx cannot be read (Cannot determine file format); what it would bring is missing.",
            f"scene.usda: its sublayer gone_layer.usda {missing}",
            f"scene.usda: its sublayer {{SHOW}}/lights.usda {missing}",
            f"scene.usda: its sublayer studio:/show/lights {missing}",
        ]
    )
    assert any("{time}/sky.exr was not found" in remark for remark in tree["remarks"])
    assert str(unresolved.parent) not in str(tree["remarks"])
    assert {"gone.usda", "{time}/sky.exr", "asset:thing?v=3"} <= set(tree["source"]["missing_files"])
    assert "lights.mtlx" in tree["source"]["files"]


def test_it_is_read_again_once_something_is_there_and_not_before(unresolved: Path, tmp_path: Path) -> None:
    job = Job(tmp_path / "quay", "S_010", unresolved)
    write_sequence(job.folder)
    assert [capture_job(job).result for _ in range(2)] == [Result.NEW, Result.SKIPPED]
    (tmp_path / "lights.mtlx").write_text('<materialx version="1.39"> </materialx>')
    assert [capture_job(job).result for _ in range(2)] == [Result.SAME, Result.SKIPPED]
    (tmp_path / "gone.usda").write_text('#usda 1.0\n(\ndefaultPrim = "x"\n)\ndef SphereLight "x"\n{\n}\n')
    assert [capture_job(job).result for _ in range(2)] == [Result.NEW, Result.SKIPPED]


def test_what_old_scenes_call_width_is_in_metres(unresolved: Path) -> None:
    assert capture_usd(unresolved)["lights"]["key"]["unprefixed"] == {"width": 0.5}


def test_each_remark_names_the_shot(
    unresolved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "quay/shots/S_010/S_010.v001.yaml"
    assert main(["capture", str(unresolved), "-o", str(sheet)]) == 0
    said = capsys.readouterr().err.splitlines()
    assert said
    assert all(line.startswith("samelight: S_010: ") for line in said)
    (tmp_path / "quay/sequence.yaml").write_text("title: quay\ncut: [S_010]\n")
    troubles = open_session(tmp_path / "quay").troubles
    assert "S_010: /a, /a2: " in str([trouble.says for trouble in troubles])


def test_what_a_gltf_scene_requires_is_said(tmp_path: Path) -> None:
    path = tmp_path / "scene.gltf"
    path.write_text(
        '{"asset": {"version": "2.0"}, "extensionsUsed": ["EXT_lights_ies", "KHR_lights_punctual", "KHR_texture_transform"],'
        ' "extensionsRequired": ["KHR_lights_punctual", "KHR_draco_mesh_compression"]}'
    )
    said = capture_gltf(path)["remarks"]
    assert "The scene requires KHR_draco_mesh_compression, of which a capture reads nothing." in said
    assert "The scene has lights by EXT_lights_ies, of which a capture reads nothing." in said
    assert not any("KHR_lights_punctual" in one or "texture_transform" in one for one in said)
