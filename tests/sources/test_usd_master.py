"""The master version that a scene's layers state."""

from collections.abc import Callable
from pathlib import Path

import pytest

from samelight.sources.request import CaptureRequest
from samelight.sources.usd.capture import capture_usd

RIG = '(\ncustomLayerData = {{\ndictionary samelight = {{\nint master = {}\n}}\n}}\n)\ndef SphereLight "key"\n{{\n}}\n'

Scenes = Callable[..., Path]


@pytest.fixture
def shot(scene: Scenes) -> Scenes:
    def write(*versions: int, own: str = "") -> Path:
        for version in versions:
            scene(RIG.format(version), f"master.v{version:03d}.usda")
        layers = ", ".join(f"@./master.v{version:03d}.usda@" for version in versions)
        return scene(f"(\nmetersPerUnit = 1\nsubLayers = [{layers}]\n{own}\n)\n", "shot.usda")

    return write


def test_the_scene_says_which_master_it_stands_on(shot: Scenes) -> None:
    tree = capture_usd(shot(3))
    assert tree["master"] == 3
    assert "remarks" not in tree
    assert capture_usd(shot(3), CaptureRequest(master=2))["master"] == 2


def test_of_several_the_strongest_counts_and_it_is_said(shot: Scenes) -> None:
    tree = capture_usd(shot(2, 5))
    assert tree["master"] == 2
    assert tree["remarks"] == ["The scene's layers are of masters 2, 5; the strongest says 2."]


@pytest.mark.parametrize(
    "stated", ['string samelight = "3"', 'dictionary samelight = {\nstring master = "3"\n}']
)
def test_what_is_no_version_is_none(shot: Scenes, stated: str) -> None:
    assert "master" not in capture_usd(shot(own=f"customLayerData = {{\n{stated}\n}}"))


def test_a_referenced_master_counts_too(scene: Scenes) -> None:
    scene(RIG.format(4), "master.usda")
    path = scene('(metersPerUnit = 1)\ndef "rig" (references = @master.usda@</key>)\n{\n}\n', "shot.usda")
    assert capture_usd(path)["master"] == 4
