"""Values that a scene may state and few do: half precision, texts that are none, an object where a word belongs."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from gltf_files import Animated, carried, scene_of
from samelight.cli.main import main
from samelight.sheets.trees import read_document
from samelight.sources.errors import CaptureError
from samelight.sources.gltf.capture import capture_gltf
from samelight.sources.scenes import capture_scene
from samelight.sources.usd.capture import capture_usd

HALVES = """def SphereLight "key"
{
    half inputs:one = 0.5
    half3 inputs:three = (1, 2, 3)
    half[] inputs:some = [1, 2]
    half3[] inputs:several = [(1, 2, 3)]
    color3h inputs:tint.timeSamples = { 1: (1, 2, 3), 5: (2, 3, 4) }
    quath inputs:turn = (1, 0, 0, 0)
}
"""


def test_numbers_of_half_precision(captured: Any) -> None:
    inputs = captured(HALVES)["lights"]["key"]["inputs"]
    assert inputs["one"] == 0.5
    assert inputs["three"] == [1.0, 2.0, 3.0]
    assert inputs["some"] == [1.0, 2.0]
    assert inputs["several"] == [[1.0, 2.0, 3.0]]
    assert inputs["tint"]["keys"] == [[1, [1.0, 2.0, 3.0]], [5, [2.0, 3.0, 4.0]]]
    assert inputs["turn"] == [1.0, 0.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("raw", "line", "column"),
    [
        (b'def SphereLight "key"\n{\n    string inputs:a = "caf\xe9"\n}\n', 4, 27),
        (b'(\n    doc = "caf\xe9"\n)\ndef SphereLight "key"\n{\n}\n', 3, 15),
        (b'def Xform "caf\xe9"\n{\n}\n', 2, 15),
        (b'def DomeLight "d"\n{\n    asset inputs:texture:file = @caf\xe9.png@\n}\n', 4, 37),
    ],
)
def test_a_byte_that_is_no_utf8(tmp_path: Path, raw: bytes, line: int, column: int) -> None:
    path = tmp_path / "scene.usda"
    path.write_bytes(b"#usda 1.0\n" + raw)
    with pytest.raises(CaptureError) as caught:
        capture_usd(path)
    fault = caught.value.fault
    assert (fault.file, fault.line, fault.column) == (str(path), line, column)
    assert (fault.expected, fault.found) == ("UTF-8 text", "the byte 0xE9")


def test_such_a_byte_in_a_layer_below(tmp_path: Path) -> None:
    (tmp_path / "below.usda").write_bytes(b'#usda 1.0\ndef SphereLight "key" (doc = "caf\xe9") {}\n')
    (tmp_path / "scene.usda").write_text("#usda 1.0\n(\n    subLayers = [@./below.usda@]\n)\n")
    with pytest.raises(CaptureError, match="expected UTF-8 text, found the byte 0xE9"):
        capture_usd(tmp_path / "scene.usda")


def moving() -> dict[str, Any]:
    animated = Animated()
    animated.move((0, "translation"), [0.0, 1.0], [[0, 0, 0], [1, 0, 0]])
    return animated.into(scene_of([carried(0, name="lamp")], [{"type": "spot"}]))


PLACES = (
    ("accessors", 0, "type"),
    ("accessors", 0, "componentType"),
    ("animations", 0, "samplers", 0, "interpolation"),
    ("animations", 0, "channels", 0, "target", "path"),
    ("extensions", "KHR_lights_punctual", "lights", 0, "type"),
)


@pytest.mark.parametrize("odd", [{"a": 1}, ["VEC3"], True, 7, None], ids=repr)
@pytest.mark.parametrize("place", PLACES, ids=lambda place: str(place[-1]))
def test_what_is_no_word_of_gltf(tmp_path: Path, place: tuple[Any, ...], odd: Any) -> None:
    data = copy.deepcopy(moving())
    owner: Any = data
    for step in place[:-1]:
        owner = owner[step]
    owner[place[-1]] = odd
    path = tmp_path / "scene.gltf"
    path.write_text(json.dumps(data))
    with pytest.raises(CaptureError) as caught:
        capture_gltf(path)
    assert str(path) in str(caught.value)
    assert str(place[-1]) in caught.value.fault.path


def test_half_characters_are_spelled_out(tmp_path: Path) -> None:
    data = scene_of([carried(0, name="lamp")], [{"type": "point", "name": "x"}])
    data["extensions"]["EXT_lights_image_based"] = {
        "lights": [{"name": "sky \ud83c", "specularImages": [[0]]}]
    }
    data["scenes"][0]["extensions"] = {"EXT_lights_image_based": {"light": 0}}
    data["images"] = [{"uri": "maps/\udce9.png"}]
    path = tmp_path / "scene.gltf"
    path.write_text(json.dumps(data))
    tree = capture_scene(path)
    (name,) = tree["environments"]
    assert name.startswith("sky ") and name.encode()
    assert tree["environments"][name]["texture"] == "maps/\\udce9.png"
    sheet = tmp_path / "A.v001.yaml"
    assert main(["capture", str(path), "-o", str(sheet)]) == 0
    assert name in read_document(sheet).data["environments"]


def test_a_file_whose_name_is_no_utf8(tmp_path: Path) -> None:
    path = tmp_path / "caf\udce9.gltf"
    try:
        path.write_text(json.dumps(moving()))
    except (OSError, UnicodeError):
        pytest.skip("this system has no such names")
    with pytest.raises(CaptureError) as told:
        capture_scene(path)
    assert told.value.fault.found == "one of other bytes"
