"""`samelight fix --usd-layer`: from the list of fixes to a layer over the scene."""

from __future__ import annotations

from pathlib import Path

import pytest
from pxr import Sdf

from conftest import write_sequence
from samelight.cli.main import main
from samelight.sources.batch import Job, capture_job
from samelight.sources.usd.capture import capture_usd

SCENE = """#usda 1.0
(
    metersPerUnit = 1
)
def SphereLight "lamp"
{{
    float inputs:intensity = {intensity}
    double3 xformOp:translate = (1, {height}, 3)
    uniform token[] xformOpOrder = ["xformOp:translate"]
}}
def SphereLight "rim"
{{
}}
"""
Streams = pytest.CaptureFixture[str]


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    """A sequence in which QU_020 drifts from the master in level and position."""
    folder = tmp_path / "quay"
    (folder / "scenes").mkdir(parents=True)
    trees = {}
    for shot, values in (("QU_010", (3, 2)), ("QU_020", (4, 2.5))):
        scene = folder / "scenes" / f"{shot}.usda"
        scene.write_text(SCENE.format(intensity=values[0], height=values[1]))
        tree = capture_usd(scene)
        tree["source"]["scene"] = f"scenes/{shot}.usda"
        trees[shot] = tree
    master = {key: value for key, value in trees["QU_010"].items() if key not in ("shot", "source")}
    return write_sequence(folder, master=master, shots=trees)


def test_a_layer_with_its_reasons(quay: Path, tmp_path: Path, capsys: Streams) -> None:
    words = [
        "decide",
        str(quay),
        "return",
        "QU_020",
        "lights.lamp.position",
        "--reason",
        "off the mast",
        "--who",
        "Ada",
    ]
    assert main(words) == 0
    layer = tmp_path / "fix.usda"
    capsys.readouterr()
    assert main(["fix", str(quay), "--shots", "QU_020", "--usd-layer", str(layer)]) == 0
    streams = capsys.readouterr()
    assert streams.out == f"{layer}: 2 values set\n"
    assert streams.err == ""
    made = Sdf.Layer.FindOrOpen(str(layer))
    assert made.documentation == "QU_020, version 1, put back to master 1 of quay."
    lamp = made.GetPrimAtPath("/lamp")
    assert lamp.specifier == Sdf.SpecifierOver
    assert "position: sent back by Ada: off the mast" in lamp.documentation
    assert "intensity: as in master 1 (+0.42 st)" in lamp.documentation
    assert made.GetAttributeAtPath("/lamp.inputs:intensity").default == 3.0
    assert [spec.name for spec in made.rootPrims] == ["lamp"]


def test_what_was_meant_stays(quay: Path, tmp_path: Path, capsys: Streams) -> None:
    main(["decide", str(quay), "intend", "QU_020", "lights.lamp.*", "--reason", "the tide", "--who", "Ada"])
    capsys.readouterr()
    assert main(["fix", str(quay), "--shots", "QU_020", "--usd-layer", str(tmp_path / "fix.usda")]) == 0
    assert capsys.readouterr().out == "Nothing to set.\n"
    assert not (tmp_path / "fix.usda").exists()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--usd-layer", "a.usda"], "one shot"),
        (["--shots", "QU_010,QU_020", "--usd-layer", "a.usda"], "one shot"),
        (["--scene", "a.usda"], "--scene goes with --usd-layer"),
        (["--shots", "QU_020", "--usd-layer", "a.txt"], "named *.usda"),
        (["--shots", "QU_020", "--usd-layer", "a.usda", "--scene", "gone.usda"], "no such file"),
    ],
)
def test_what_does_not_go(quay: Path, words: list[str], says: str, capsys: Streams) -> None:
    assert main(["fix", str(quay), *words]) == 2
    assert says in capsys.readouterr().err


def test_a_scene_that_moved_and_sheets_without_one(quay: Path, tmp_path: Path, capsys: Streams) -> None:
    moved = (quay / "scenes/QU_020.usda").rename(tmp_path / "elsewhere.usda")
    words = ["fix", str(quay), "--shots", "QU_020", "--usd-layer", str(tmp_path / "fix.usda")]
    assert main(words) == 2
    assert "is not at scenes/QU_020.usda: say where with --scene" in capsys.readouterr().err
    assert main([*words, "--scene", str(moved)]) == 0
    sheet = quay / "shots/QU_020/QU_020.v001.yaml"
    text = sheet.read_text()
    sheet.write_text(text.replace("scenes/QU_020.usda", "scenes/QU_020.glb"))
    assert main(words) == 2
    assert "over a USD scene only" in capsys.readouterr().err
    lines = text.split("\n")
    start = next(number for number, line in enumerate(lines) if line.startswith("source"))
    sheet.write_text("\n".join(lines[:start]))
    assert main(words) == 2
    assert "was not captured from a scene" in capsys.readouterr().err


def test_a_folder_gets_a_layer_of_each_shot(quay: Path, tmp_path: Path, capsys: Streams) -> None:
    """One shot without a scene keeps none of the others from theirs."""
    third = (quay / "shots/QU_020/QU_020.v001.yaml").read_text().replace("QU_020", "QU_030")
    (quay / "shots/QU_030").mkdir()
    (quay / "shots/QU_030/QU_030.v001.yaml").write_text(third)
    sequence = quay / "sequence.yaml"
    sequence.write_text(sequence.read_text().replace("QU_020", "QU_020, QU_030"))
    layers = tmp_path / "layers"
    assert main(["fix", str(quay), "--usd-layer", str(layers)]) == 2
    streams = capsys.readouterr()
    assert streams.out == f"{layers / 'QU_020.usda'}: 2 values set\n"
    assert "QU_030 has no layer: the scene of QU_030 is not at scenes/QU_030.usda" in streams.err
    assert [path.name for path in layers.iterdir()] == ["QU_020.usda"]
    assert (
        Sdf.Layer.FindOrOpen(str(layers / "QU_020.usda")).GetAttributeAtPath("/lamp.inputs:intensity").default
        == 3.0
    )
    (quay / "scenes/QU_030.usda").write_text((quay / "scenes/QU_020.usda").read_text())
    assert main(["fix", str(quay), "--usd-layer", str(layers)]) == 0
    assert sorted(path.name for path in layers.iterdir()) == ["QU_020.usda", "QU_030.usda"]
    assert main(["fix", str(quay), "--usd-layer", str(layers), "--scene", "a.usda"]) == 2


def test_the_layer_of_a_shot_that_needs_none_any_more_goes(
    quay: Path, tmp_path: Path, capsys: Streams
) -> None:
    """Not one that the shot is mended by, and nothing that is no layer of fixes."""
    layers = tmp_path / "layers"
    words = ["fix", str(quay), "--usd-layer", str(layers)]
    assert main(words) == 0
    layer, scene = layers / "QU_020.usda", quay / "scenes/QU_020.usda"
    made, own = layer.read_text(), scene.read_text()
    scene.write_text(own.replace("metersPerUnit", f"subLayers = [@{layer.as_posix()}@]\n    metersPerUnit"))
    for line in ("    float inputs:intensity = 4\n", "    double3 xformOp:translate = (1, 2.5, 3)\n"):
        scene.write_text(scene.read_text().replace(line, ""))
    text = scene.read_text().replace('    uniform token[] xformOpOrder = ["xformOp:translate"]\n', "", 1)
    scene.write_text(text)
    capture_job(Job(quay, "QU_020", scene))
    capsys.readouterr()
    assert main(words) == 0
    assert capsys.readouterr().out == "Nothing to set.\n"
    assert layer.read_text() == made
    scene.write_text(own.replace("= 4\n", "= 3\n").replace("2.5", "2"))
    capture_job(Job(quay, "QU_020", scene))
    capsys.readouterr()
    assert main([*words, "--at-least", "break"]) == 0
    assert layer.exists()
    capsys.readouterr()
    assert main(words) == 0
    assert capsys.readouterr().out == f"{layer}: taken away, nothing is to be set in QU_020 any more\n"
    assert not layer.exists()
    layer.write_text(own)
    assert main(words) == 0
    assert layer.read_text() == own
    scene.write_text(own)
    capture_job(Job(quay, "QU_020", scene))
    assert main(words) == 2
    assert "is there already, and is no layer of fixes" in capsys.readouterr().err
    assert layer.read_text() == own


def test_no_layer_is_written_while_decisions_cannot_be_read(
    quay: Path, tmp_path: Path, capsys: Streams
) -> None:
    """What was intended might be put back, as in a sheet."""
    (quay / "decisions").mkdir()
    (quay / "decisions/20260101T000000Z-x.yaml").write_text("samelight_decision: [")
    for out in (tmp_path / "fix.usda", tmp_path / "fixes"):
        words = ["fix", str(quay), "--shots", "QU_020", "--usd-layer", str(out)]
        assert main(words) == 2
        assert "nothing is written: Samelight cannot read every decision" in capsys.readouterr().err
        assert not out.exists()
        assert main([*words, "--all"]) == 2
        assert out.exists()


def test_a_layer_of_the_scene_is_not_written_over_by_another_way_to_it(quay: Path, tmp_path: Path) -> None:
    scene = quay / "scenes/QU_020.usda"
    text = scene.read_text()
    (tmp_path / "by_link").symlink_to(quay / "scenes", target_is_directory=True)
    out = tmp_path / "by_link/QU_020.usda"
    assert main(["fix", str(quay), "--shots", "QU_020", "--usd-layer", str(out)]) == 2
    assert scene.read_text() == text
