"""Which layers say what of a value: strongest first, with the line where they are text."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from pxr import Sdf

from samelight.sources.errors import CaptureError
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.opinions import opinions_on

RIG = """(metersPerUnit = 1)
def Xform "rig"
{
    double3 xformOp:translate = (1, 2, 3)
    uniform token[] xformOpOrder = ["xformOp:translate"]
    # inputs:intensity of a comment, and { in it
    def SphereLight "lamp" (
        doc = "its inputs:intensity }"
        prepend variantSets = "time"
        variants = {
            string time = "night"
        }
    )
    {
        float inputs:exposure = 1
        variantSet "time" = {
            "day" {
                float inputs:intensity = 20
            }
            "night" {
                float inputs:intensity = 2
            }
        }
    }
}
"""
SHOT = """(
    metersPerUnit = 1
    subLayers = [@./packed.usdc@, @./rig.usda@]
)
over "rig"
{
    over "lamp"
    {
        float inputs:intensity.timeSamples = {
            1: 4,
            9: 5,
        }
    }
}
"""


@pytest.fixture
def shot(scene: Callable[..., Path], tmp_path: Path) -> Path:
    scene(RIG, "rig.usda")
    packed = Sdf.Layer.CreateNew(str(tmp_path / "packed.usdc"))
    spec = Sdf.CreatePrimInLayer(packed, "/rig/lamp")
    Sdf.AttributeSpec(spec, "inputs:intensity", Sdf.ValueTypeNames.Float).default = 3.0
    packed.Save()
    return scene(SHOT, "shot.usda")


def test_the_strongest_layer_comes_first_and_text_has_its_line(shot: Path) -> None:
    source = capture_usd(shot)["source"]
    found = opinions_on(shot, source, "lamp", ["intensity", "exposure"])
    assert [(one.attribute, one.layer.name, one.line, one.value) for one in found] == [
        ("inputs:intensity", "shot.usda", 10, "2 time samples"),
        ("inputs:intensity", "packed.usdc", None, "3.0"),
        ("inputs:intensity", "rig.usda", 22, "2.0"),
        ("inputs:exposure", "rig.usda", 16, "1.0"),
    ]
    assert found[0].text == "inputs:intensity: 2 time samples (shot.usda, line 10)"
    assert found[1].text == "inputs:intensity: 3.0 (packed.usdc)"


def test_of_a_place_what_is_above_counts_too(shot: Path) -> None:
    (one,) = opinions_on(shot, capture_usd(shot)["source"], "lamp", ["position"])
    assert one.text == "/rig.xformOp:translate: [1.0, 2.0, 3.0] (rig.usda, line 5)"


def test_a_light_that_is_gone_is_told(shot: Path) -> None:
    with pytest.raises(CaptureError, match="the light rim"):
        opinions_on(shot, capture_usd(shot)["source"], "rim", ["intensity"])
