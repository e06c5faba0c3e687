"""Patterns of scenes that say where the shot's name and its version stand."""

from pathlib import Path

import pytest

from samelight.sheets.errors import SamelightError
from samelight.sheets.sequence import read_sequence
from samelight.sources.scene_list import scenes_of

FILES = (
    "shots/HB_010/lighting.usda",
    "shots/HB_020/lighting.usda",
    "shots/HB_020/v002/light.usda",
    "shots/HB_020/v011/light.usda",
    "shots/HB_030/HB_030_v003.usda",
    "shots/HB_030/HB_010_v009.usda",
)


@pytest.mark.parametrize(
    ("pattern", "scenes"),
    [
        ("shots/{shot}/lighting.usda", {"HB_010": FILES[0], "HB_020": FILES[1]}),
        ("shots/{shot}/v{version}/light.usda", {"HB_020": FILES[3]}),
        ("**/{shot}/{version}/*.usda", {"HB_020": FILES[3]}),
        ("shots/{shot}/{shot}_v{version}.usda", {"HB_030": FILES[4]}),
        ("shots/HB_030/*.usda", {"HB_010": FILES[5], "HB_030": FILES[4]}),
    ],
)
def test_the_shot_and_version_stand_where_the_pattern_says(
    tmp_path: Path, pattern: str, scenes: dict[str, str]
) -> None:
    for name in FILES:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("#usda 1.0\n")
    (tmp_path / "sequence.yaml").write_text(f"title: harbour\nscenes: '{pattern}'\n")
    sequence = read_sequence(tmp_path)
    found = {shot: path.relative_to(tmp_path).as_posix() for shot, path in scenes_of(sequence).items()}
    assert found == scenes
    with pytest.raises(SamelightError, match="two scenes"):
        scenes_of(sequence, "**/lighting.usda")
