"""Links, filters, activity, instances and names."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from samelight.drift.structure import differences
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.errors import CaptureError
from samelight.sources.usd.capture import capture_usd

GEOMETRY = """
def Xform "set"
{
    def Xform "nets"
    {
        def Sphere "a"
        {
        }
        def Sphere "b"
        {
        }
    }
    def Cube "quay"
    {
    }
}
"""
ONLY = "uniform bool collection:lightLink:includeRoot = 0\n"


def linked(captured: Callable[..., dict[str, Any]], inside: str, geometry: str = GEOMETRY) -> dict[str, Any]:
    sheet = captured(f'(metersPerUnit = 1)\ndef SphereLight "key"\n{{\n{inside}\n}}\n{geometry}')
    return {**sheet["lights"]["key"], "remarks": sheet.get("remarks", [])}


@pytest.mark.parametrize(
    ("inside", "links"),
    [
        ("", ["*"]),
        (ONLY, []),
        (ONLY + "rel collection:lightLink:includes = </set/nets>", ["/set/nets"]),
        (
            ONLY + "rel collection:lightLink:includes = [</set/nets/b>, </set/quay>]",
            ["/set/nets/b", "/set/quay"],
        ),
        # What is named below what is named already says nothing.
        (ONLY + "rel collection:lightLink:includes = [</set/nets>, </set/nets/a>]", ["/set/nets"]),
        ("rel collection:lightLink:excludes = </set/nets>", ["*", "!/set/nets"]),
        ("rel collection:lightLink:excludes = [</set/nets>, </set/nets/a>]", ["*", "!/set/nets"]),
        (
            "rel collection:lightLink:excludes = </set/nets>\nrel collection:lightLink:includes = </set/nets/a>",
            ["*", "/set/nets/a", "!/set/nets"],
        ),
        (
            ONLY
            + "rel collection:lightLink:includes = </set>\nrel collection:lightLink:excludes = </set/nets/b>",
            ["/set", "!/set/nets/b"],
        ),
        # All that can be lit is everything, however it is said.
        (ONLY + "rel collection:lightLink:includes = </set>", ["*"]),
        (ONLY + "rel collection:lightLink:includes = [</set/quay>, </set/nets/a>, </set/nets/b>]", ["*"]),
        ("uniform bool collection:lightLink:includeRoot = 1", ["*"]),
        (
            ONLY
            + 'uniform token collection:lightLink:expansionRule = "explicitOnly"\n'
            + "rel collection:lightLink:includes = [</set/nets>, </set/nets/b>]",
            ["/set/nets", "!/set/nets/a"],
        ),
        (ONLY + 'pathExpression collection:lightLink:membershipExpression = "/set/nets//"', ["/set/nets"]),
        (
            ONLY + 'pathExpression collection:lightLink:membershipExpression = "//a /set/quay"',
            ["/set/nets/a", "/set/quay"],
        ),
        (ONLY + 'pathExpression collection:lightLink:membershipExpression = "//"', ["*"]),
    ],
)
def test_links(captured: Callable[..., dict[str, Any]], inside: str, links: list[str]) -> None:
    lamp = linked(captured, inside)
    assert lamp["light_links"] == links
    assert lamp["shadow_links"] == ["*"]
    assert "missing_links" not in lamp


def test_links_by_way_of_another_collection(captured: Callable[..., dict[str, Any]]) -> None:
    rig = """
    def "rig" (prepend apiSchemas = ["CollectionAPI:wet"])
    {
        rel collection:wet:includes = [</set/nets/b>]
    }
    """
    lamp = linked(
        captured, ONLY + "rel collection:lightLink:includes = </rig.collection:wet>", GEOMETRY + rig
    )
    assert lamp["light_links"] == ["/set/nets/b"]
    assert "missing_links" not in lamp


def test_shadow_links(captured: Callable[..., dict[str, Any]]) -> None:
    lamp = linked(captured, "rel collection:shadowLink:excludes = </set/quay>")
    assert (lamp["light_links"], lamp["shadow_links"]) == (["*"], ["*", "!/set/quay"])


def test_links_that_point_at_nothing(captured: Callable[..., dict[str, Any]]) -> None:
    lamp = linked(
        captured,
        ONLY
        + "rel collection:lightLink:includes = [</set/nets>, </shot/set/nets>, </rig.collection:gone>]\n"
        + "rel collection:shadowLink:excludes = </shot/quay>",
    )
    assert lamp["light_links"] == ["/set/nets", "/shot/set/nets"]
    assert lamp["missing_links"] == ["/rig.collection:gone", "/shot/quay", "/shot/set/nets"]
    assert lamp["remarks"] == [
        "/key: its links name what is not there: /rig.collection:gone, /shot/quay, /shot/set/nets."
    ]


def test_a_rig_on_its_own_keeps_its_links(captured: Callable[..., dict[str, Any]]) -> None:
    lamp = linked(captured, ONLY + "rel collection:lightLink:includes = </set/nets>", geometry="")
    assert lamp["light_links"] == lamp["missing_links"] == ["/set/nets"]


def test_filters(captured: Callable[..., dict[str, Any]]) -> None:
    filters = """
    def LightFilter "flag"
    {
        rel collection:filterLink:excludes = </set/quay>
    }
    def LightFilter "scrim"
    {
    }
    """
    lamp = linked(captured, "rel light:filters = [</scrim>, </flag>, </gone>]", GEOMETRY + filters)
    assert lamp["filters"] == ["/flag", "/gone", "/scrim"]
    assert lamp["filter_links"] == {"flag": ["*", "!/set/quay"]}
    assert lamp["missing_links"] == ["/gone"]


def test_real_links(real: Callable[..., Path]) -> None:
    lights = capture_usd(real("linking_example.usda"))["lights"]
    assert {name: lamp["light_links"] for name, lamp in lights.items()} == {
        "include_all": ["*"],
        "include_a": ["/Geom/a"],
        "include_b": ["/Geom/b"],
        "include_ab": ["/Geom/a", "/Geom/b"],
        "exclude_a": ["*", "!/Geom/a"],
        "exclude_b": ["*", "!/Geom/b"],
        "filter_exclude_a": ["*"],
        "include_faceSet_example": ["/Geom/meshWithFaceSet/faceSet"],
    }
    assert lights["filter_exclude_a"]["filters"] == ["/Lights/FilterLinking/filter"]
    assert lights["filter_exclude_a"]["filter_links"] == {"filter": ["*", "!/Geom/a"]}


def test_invisible(captured: Callable[..., dict[str, Any]]) -> None:
    text = """(metersPerUnit = 1)
    def Xform "rig"
    {
        token visibility = "invisible"
        def SphereLight "below"
        {
        }
    }
    def SphereLight "own"
    {
        token visibility = "invisible"
    }
    def SphereLight "seen"
    {
    }
    """
    lights = captured(text)["lights"]
    assert {name: lamp.get("visible") for name, lamp in lights.items()} == {
        "below": False,
        "own": False,
        "seen": None,
    }


def test_purpose(captured: Callable[..., dict[str, Any]]) -> None:
    text = '(metersPerUnit = 1)\ndef Xform "rig"\n{\nuniform token purpose = "render"\ndef SphereLight "key"\n{\n}\n}\n'
    assert captured(text)["lights"]["key"]["purpose"] == "render"


def test_inactive_lights_are_named(
    captured: Callable[..., dict[str, Any]], scene: Callable[..., Path]
) -> None:
    scene('def Xform "crew"\n{\ndef DiskLight "bounce"\n{\n}\n}\n', "crew.usda")
    text = """(metersPerUnit = 1)
    def SphereLight "off" (active = false)
    {
    }
    def Xform "rig" (active = false)
    {
        def Xform "left"
        {
            def RectLight "fill"
            {
            }
        }
        def Mesh "panel" (prepend apiSchemas = ["MeshLightAPI"])
        {
        }
        def Sphere "ball"
        {
        }
    }
    def Xform "crew" (
        active = false
        references = @crew.usda@</crew>
    )
    {
    }
    def SphereLight "on"
    {
    }
    """
    sheet = captured(text)
    assert list(sheet["lights"]) == ["on"]
    assert sheet["remarks"] == [
        "/off, /rig/panel, /rig/left/fill and 1 more: it is inactive and so not in the sheet."
    ]


def test_classes_and_overs_are_no_lights(captured: Callable[..., dict[str, Any]]) -> None:
    text = """(metersPerUnit = 1)
    class SphereLight "model"
    {
    }
    over "rig"
    {
        over "key"
        {
            float inputs:intensity = 3
        }
    }
    """
    sheet = captured(text)
    assert sheet["lights"] == {}
    assert sheet["remarks"] == ["The scene has no lights."]


def test_instances(captured: Callable[..., dict[str, Any]]) -> None:
    text = """(metersPerUnit = 1)
    class Xform "lantern"
    {
        def SphereLight "bulb"
        {
            float inputs:intensity = 12
        }
    }
    def Xform "left" (
        instanceable = true
        inherits = </lantern>
    )
    {
        double3 xformOp:translate = (-1, 0, 0)
        uniform token[] xformOpOrder = ["xformOp:translate"]
    }
    def Xform "right" (
        instanceable = true
        inherits = </lantern>
    )
    {
        double3 xformOp:translate = (1, 0, 0)
        uniform token[] xformOpOrder = ["xformOp:translate"]
    }
    """
    sheet = captured(text)
    assert {name: (lamp["position"], lamp["intensity"]) for name, lamp in sheet["lights"].items()} == {
        "left_bulb": ([-1.0, 0.0, 0.0], 12.0),
        "right_bulb": ([1.0, 0.0, 0.0], 12.0),
    }
    assert sheet["source"]["lights"] == {"left_bulb": "/left/bulb", "right_bulb": "/right/bulb"}


def test_lights_below_a_point_instancer_have_a_remark(captured: Callable[..., dict[str, Any]]) -> None:
    text = """(metersPerUnit = 1)
    def PointInstancer "lamps"
    {
        def SphereLight "bulb"
        {
        }
    }
    """
    sheet = captured(text)
    assert sheet["remarks"] == [
        "/lamps/bulb: where its instances stand cannot be told; it is taken once, where its model stands."
    ]


RIGS = """(metersPerUnit = 1)
def Xform "rig"
{
    def Xform "left"
    {
        def SphereLight "lamp"
        {
        }
        def DomeLight "sky"
        {
        }
    }
    def Xform "right"
    {
        def SphereLight "lamp"
        {
        }
    }
    def SphereLight "sky"
    {
    }
}
"""


def test_names(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(RIGS)
    assert sheet["source"]["lights"] == {
        "left_lamp": "/rig/left/lamp",
        "left_sky": "/rig/left/sky",
        "right_lamp": "/rig/right/lamp",
        "rig_sky": "/rig/sky",
    }
    assert list(sheet["lights"]) == ["left_lamp", "right_lamp", "rig_sky"]
    assert list(sheet["environments"]) == ["left_sky"]


@pytest.mark.parametrize(
    ("asked", "paths"),
    [
        (["/rig/left"], ["/rig/left/lamp", "/rig/left/sky"]),
        (["/rig/left/lamp"], ["/rig/left/lamp"]),
        (["lamp"], ["/rig/left/lamp", "/rig/right/lamp"]),
        (["/rig/right/", "/rig/sky"], ["/rig/right/lamp", "/rig/sky"]),
        (["/"], ["/rig/left/lamp", "/rig/left/sky", "/rig/right/lamp", "/rig/sky"]),
    ],
)
def test_some_lights_only(
    captured: Callable[..., dict[str, Any]], asked: list[str], paths: list[str]
) -> None:
    assert sorted(captured(RIGS, lights=asked)["source"]["lights"].values()) == paths


def test_a_light_asked_for_that_is_not_there(captured: Callable[..., dict[str, Any]]) -> None:
    with pytest.raises(
        CaptureError, match=r"found none at /rig/rihgt/lamp \(did you mean /rig/right/lamp\?\)"
    ):
        captured(RIGS, lights=["/rig/rihgt/lamp"])


def test_variants_on_the_way_to_a_light(captured: Callable[..., dict[str, Any]]) -> None:
    text = """(metersPerUnit = 1)
    def Xform "rig" (
        variants = {
            string time = "dusk"
        }
        prepend variantSets = "time"
    )
    {
        variantSet "time" = {
            "dawn" {
                def SphereLight "early"
                {
                }
            }
            "dusk" {
                def SphereLight "late"
                {
                }
            }
        }
    }
    def Xform "set" (
        kind = "component"
        variants = {
            string tide = "high"
        }
        prepend variantSets = "tide"
    )
    {
        variantSet "tide" = {
            "high" {
            }
        }
    }
    """
    sheet = captured(text)
    assert list(sheet["lights"]) == ["late"]
    assert sheet["source"]["variants"] == {"/rig": {"time": "dusk"}}


FILTERED = """(metersPerUnit = 0.01)
def SphereLight "lamp"
{
    rel light:filters = [</doors>, </gone>]
}
def LightFilter "doors"
{
    custom float inputs:openTop = %s
    custom color3f inputs:tint:color = (1, 0.5, 0.25)
    float inputs:intensity = 2
    double3 xformOp:translate = (0, 100, %s)
    uniform token[] xformOpOrder = ["xformOp:translate"]
}
"""


def test_what_a_filter_states_and_where_it_stands_is_compared(
    captured: Callable[..., dict[str, Any]],
) -> None:
    lamp = captured(FILTERED % (60, 0))["lights"]["lamp"]
    assert lamp["filter_values"] == {
        "doors": {"openTop": 60.0, "tint": {"color": [1.0, 0.5, 0.25]}, "intensity": 2.0}
    }
    assert lamp["filter_places"] == {"doors": {"position": [0.0, 1.0, 0.0], "direction": [0.0, 0.0, -1.0]}}
    sheets = [
        sheet_from_document(parse_document(Path("a.yaml"), yaml_text(captured(FILTERED % state))))
        for state in ((60, 0), (5, 50))
    ]
    found = [(one.group, one.leaf) for one in differences(sheets[0].sections, sheets[1].sections)]
    assert sorted(found) == [
        ("lamp", "filter_places.doors.position"),
        ("lamp", "filter_values.doors.openTop"),
    ]
