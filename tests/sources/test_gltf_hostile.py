"""glTF files that are cut short, mislabelled, in circles or beyond all measure: an error that says so, never a crash."""

import json
import struct
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DataObject

from gltf_files import carried, glb, scene_of
from samelight.sheets.errors import SamelightError
from samelight.sources.errors import CaptureError
from samelight.sources.gltf.capture import capture_gltf
from samelight.sources.scenes import capture_scene
from thoroughness import examples

LAMP = {"type": "point"}
SCENE = scene_of([carried(0, name="lamp", translation=[1, 2, 3])], [LAMP])


def written(tmp_path: Path, raw: bytes | dict[str, Any], name: str = "scene.gltf") -> Path:
    path = tmp_path / name
    path.write_bytes(raw if isinstance(raw, bytes) else json.dumps(raw).encode())
    return path


def refused(path: Path, says: str) -> None:
    with pytest.raises(CaptureError, match=says) as caught:
        capture_gltf(path)
    assert str(path) in str(caught.value)


def test_the_dispatch_knows_both_endings(tmp_path: Path) -> None:
    assert capture_scene(written(tmp_path, SCENE))["lights"]["lamp"]["position"] == [1.0, 2.0, 3.0]
    assert "lamp" in capture_scene(written(tmp_path, glb(SCENE), "SCENE.GLB"))["lights"]
    with pytest.raises(SamelightError, match=r"\.gltf"):
        capture_scene(written(tmp_path, b"", "scene.fbx"))


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"", "an empty file"),
        (b"{", "well-formed JSON"),
        (b"[]", "an object"),
        (b"\xff\xfe{}", "UTF-8"),
        (b"{}", "no version"),
        (b'{"asset": {"version": "1.0"}}', "version 1.0"),
        (b'{"asset": {"version": "2.0"}, "nodes": 3}', "a list of objects"),
        (b'{"asset": {"version": "2.0"}, "nodes": [3]}', "a list of objects"),
        (b'{"asset": {"version": "2.0"}, "extensions": []}', "an object"),
        (b'{"asset": {"version": NaN}}', "finite numbers"),
        (b"[" * 200_000, "beyond all measure|well-formed"),
        (b'{"asset": {"version": "2.0"}, "x": ' + b"9" * 10_000 + b"}", "beyond all measure"),
        (b'{"asset": {"version": "2.0"}, "scene": true}', "an index below 0"),
        (glb(SCENE), "is named .glb"),
    ],
)
def test_what_is_no_gltf(tmp_path: Path, raw: bytes, says: str) -> None:
    refused(written(tmp_path, raw), says)


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (json.dumps(SCENE).encode(), "begins with 'glTF'"),
        (b"glTF", "a whole .glb"),
        (glb(SCENE, version=1), "version 1"),
        (glb(SCENE)[:-4], "cut short"),
        (struct.pack("<4sII", b"glTF", 2, 12), "a chunk of JSON"),
        (struct.pack("<4sIIII", b"glTF", 2, 20, 0, 0x004E4942), "a first chunk of JSON"),
        (struct.pack("<4sIIII", b"glTF", 2, 20, 10**9, 0x4E4F534A), "chunks inside the file"),
    ],
)
def test_what_is_no_glb(tmp_path: Path, raw: bytes, says: str) -> None:
    refused(written(tmp_path, raw, "scene.glb"), says)


def test_a_file_that_is_no_file(tmp_path: Path) -> None:
    refused(tmp_path / "gone.gltf", "no such file")
    (tmp_path / "folder.gltf").mkdir()
    refused(tmp_path / "folder.gltf", "a folder")


def test_more_json_than_any_scene(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("samelight.sources.gltf.file.LARGEST_JSON", 100)
    refused(written(tmp_path, SCENE), "of JSON")
    refused(written(tmp_path, glb(SCENE), "scene.glb"), "of JSON")


@pytest.mark.parametrize(
    ("nodes", "roots", "says"),
    [
        ([{"children": [0]}], [0], "itself"),
        ([{"children": [1]}, {"children": [0]}], [], "without a circle"),
        ([{"children": [1]}, {"children": [0]}], [0], "without a circle"),
        ([{"children": [1]}, {"children": [2]}, {"children": [1]}], [0], "each node below one other"),
        ([{"children": [2]}, {"children": [2]}, {}], [0, 1], "each node below one other"),
        ([{"children": [1, 1]}, {}], [0], "different indices"),
        ([{"children": [7]}], [0], "different indices below 1"),
        ([{"children": [-1]}], [0], "different indices"),
        ([{"children": "0"}], [0], "different indices"),
        ([{"children": [1]}, {}], [1], "nodes at the top"),
        ([{}], [0, 0], "different indices"),
        ([{"translation": [1, 2]}], [0], None),
        ([carried(0, translation=[1, 2])], [0], "3 numbers"),
        ([carried(0, matrix=[1] * 15)], [0], "16 numbers"),
        ([carried(0, rotation=[0, 0, 0, "1"])], [0], "4 finite numbers"),
        ([carried(5)], [0], "an index below 1"),
        ([{"extensions": {"KHR_lights_punctual": 3}}], [0], "an object"),
    ],
)
def test_graphs_that_are_no_trees(
    tmp_path: Path, nodes: list[dict[str, Any]], roots: list[int], says: str | None
) -> None:
    path = written(tmp_path, scene_of(nodes, [LAMP], roots))
    if says is None:  # a fault where no light stands concerns no light
        assert capture_gltf(path)["lights"] == {}
    else:
        refused(path, says)


def test_a_hierarchy_of_ten_thousand(tmp_path: Path) -> None:
    nodes = [
        {"name": f"n{number}", "translation": [0, 0.5, 0], "children": [number + 1]} for number in range(9999)
    ]
    path = written(tmp_path, scene_of([*nodes, carried(0, name="lamp")], [LAMP]))
    sheet = capture_gltf(path)
    assert sheet["lights"]["lamp"]["position"] == pytest.approx([0.0, 4999.5, 0.0])
    assert len(sheet["source"]["lights"]["lamp"]) < 1000


def test_ten_thousand_lights(tmp_path: Path) -> None:
    nodes = [carried(0, name=f"lamp_{number}", translation=[number, 0, 0]) for number in range(10_000)]
    lights = capture_gltf(written(tmp_path, scene_of(nodes, [LAMP])))["lights"]
    assert len(lights) == 10_000
    assert lights["lamp_9999"]["position"] == [9999.0, 0.0, 0.0]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=examples(60))
@given(st.data())
def test_any_cut_of_a_binary_file_is_an_error_or_a_sheet(tmp_path: Path, data: DataObject) -> None:
    whole = glb(SCENE, b"0123")
    cut = data.draw(st.integers(0, len(whole) - 1))
    with pytest.raises(CaptureError):
        capture_gltf(written(tmp_path, whole[:cut], "scene.glb"))


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 3) | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=3),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["node", "light", "uri"]), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=examples(150))
@given(
    st.sampled_from(
        [
            "nodes",
            "scenes",
            "scene",
            "cameras",
            "extensions",
            "animations",
            "accessors",
            "buffers",
            "bufferViews",
            "images",
        ]
    ),
    JUNK,
)
def test_junk_in_any_place_is_an_error_or_a_sheet(tmp_path: Path, key: str, junk: Any) -> None:
    path = written(tmp_path, {**SCENE, key: junk})
    try:
        capture_gltf(path)
    except CaptureError as error:
        assert str(error)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=examples(150))
@given(
    st.sampled_from(
        ["translation", "rotation", "scale", "matrix", "children", "name", "camera", "extensions", "extras"]
    ),
    JUNK,
)
def test_junk_in_a_node_is_an_error_or_a_sheet(tmp_path: Path, key: str, junk: Any) -> None:
    path = written(tmp_path, scene_of([carried(0, name="lamp") | {key: junk}], [LAMP], [0]))
    try:
        capture_gltf(path)
    except CaptureError as error:
        assert str(error)
