"""Places, directions and sizes in metres and Y-up; the camera and the marks."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from samelight.sources.errors import CaptureError

ORDER = "uniform token[] xformOpOrder"
DIAGONAL = math.sqrt(0.5)


def one(kind: str, inside: str, head: str = 'metersPerUnit = 1\nupAxis = "Y"', name: str = "key") -> str:
    return f'({head})\ndef {kind} "{name}"\n{{\n{inside}\n}}\n'


def turned(kind: str, angles: str, order: str = "XYZ", **options: Any) -> str:
    return one(
        kind,
        f'float3 xformOp:rotate{order} = {angles}\n{ORDER} = ["xformOp:rotate{order}"]',
        **options,
    )


def test_centimetres_and_z_up_become_metres_and_y_up(captured: Callable[..., dict[str, Any]]) -> None:
    text = one(
        "RectLight",
        f"""float inputs:width = 200
        float inputs:height = 50
        double3 xformOp:translate = (100, 200, 300)
        float3 xformOp:rotateXYZ = (0, 0, 0)
        {ORDER} = ["xformOp:translate", "xformOp:rotateXYZ"]""",
        head='metersPerUnit = 0.01\nupAxis = "Z"',
    )
    sheet = captured(text)
    lamp = sheet["lights"]["key"]
    assert sheet["units"] == {"length": "m", "level": "nit", "area": 0.01}
    # (x, y, z) of a Z-up scene is (x, z, -y); -Z points down there.
    assert lamp["position"] == [1.0, 3.0, -2.0]
    assert lamp["direction"] == [0.0, -1.0, 0.0]
    assert (lamp["width"], lamp["height"]) == (2.0, 0.5)
    source = sheet["source"]
    assert (source["up_axis"], source["meters_per_unit"], source["meters_per_unit_assumed"]) == (
        "Z",
        0.01,
        False,
    )
    assert "remarks" not in sheet


def test_metres_need_no_unit_of_area(captured: Callable[..., dict[str, Any]]) -> None:
    assert captured(one("SphereLight", ""))["units"] == {"length": "m", "level": "nit"}


def test_unstated_unit_is_assumed_with_a_remark(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(one("SphereLight", "float inputs:radius = 50", head='upAxis = "Y"'))
    assert sheet["lights"]["key"]["radius"] == 0.5
    assert sheet["source"]["meters_per_unit_assumed"] is True
    assert sheet["remarks"] == [
        "The scene does not say its metersPerUnit; USD's fallback of 0.01 was assumed."
    ]


@pytest.mark.parametrize(
    ("angles", "expected"),
    [
        ("(0, 0, 0)", (0, 0, -1)),
        ("(-90, 0, 0)", (0, -1, 0)),
        ("(0, 90, 0)", (-1, 0, 0)),
        ("(-45, 0, 0)", (0, -DIAGONAL, -DIAGONAL)),
        ("(0, 90, -45)", (-DIAGONAL, DIAGONAL, 0)),
    ],
)
def test_direction(captured: Callable[..., dict[str, Any]], angles: str, expected: tuple[float, ...]) -> None:
    assert captured(turned("DistantLight", angles))["lights"]["key"]["direction"] == pytest.approx(
        expected, abs=1e-9
    )


def test_direction_through_parents(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(
        f"""(metersPerUnit = 1)
        def Xform "set"
        {{
            float xformOp:rotateY = 90
            double3 xformOp:translate = (10, 0, 0)
            {ORDER} = ["xformOp:translate", "xformOp:rotateY"]
            def Scope "lights"
            {{
                def RectLight "key"
                {{
                    double3 xformOp:translate = (0, 0, -3)
                    {ORDER} = ["xformOp:translate"]
                }}
            }}
        }}
        """
    )
    lamp = sheet["lights"]["key"]
    assert lamp["direction"] == [-1.0, 0.0, 0.0]
    assert lamp["position"] == [7.0, 0.0, 0.0]


def scaled(kind: str, scale: str, inside: str = "") -> str:
    return one(kind, f'{inside}\nfloat3 xformOp:scale = {scale}\n{ORDER} = ["xformOp:scale"]')


@pytest.mark.parametrize(
    ("kind", "scale", "sizes"),
    [
        ("SphereLight", "(2, 2, 2)", {"radius": 1.0}),
        ("SphereLight", "(-2, 2, 2)", {"radius": 1.0}),
        ("DiskLight", "(3, 3, 1)", {"radius": 1.5}),
        ("RectLight", "(3, 2, 9)", {"width": 3.0, "height": 2.0}),
        ("PortalLight", "(3, 2, 9)", {"width": 3.0, "height": 2.0}),
        ("CylinderLight", "(4, 2, 2)", {"length": 4.0, "radius": 1.0}),
    ],
)
def test_sizes_with_the_scale(
    captured: Callable[..., dict[str, Any]], kind: str, scale: str, sizes: dict[str, float]
) -> None:
    sheet = captured(scaled(kind, scale))
    lamp = sheet["lights"]["key"]
    assert {name: lamp[name] for name in sizes} == sizes
    assert "remarks" not in sheet


@pytest.mark.parametrize(
    ("kind", "scale", "radius"),
    [
        ("SphereLight", "(1, 2, 4)", 0.5 * 2.0),
        ("DiskLight", "(1, 4, 1)", 0.5 * 2.0),
        ("CylinderLight", "(7, 1, 9)", 0.5 * 3.0),
    ],
)
def test_uneven_scale_has_a_remark(
    captured: Callable[..., dict[str, Any]], kind: str, scale: str, radius: float
) -> None:
    sheet = captured(scaled(kind, scale))
    assert sheet["lights"]["key"]["radius"] == pytest.approx(radius)
    assert sheet["remarks"] == [
        "/key: its scale is not uniform; its radius is that of the like shape of equal size."
    ]


def test_mirrored_scale(captured: Callable[..., dict[str, Any]]) -> None:
    assert captured(scaled("RectLight", "(1, 1, -1)"))["lights"]["key"]["direction"] == [0.0, 0.0, 1.0]
    assert captured(scaled("RectLight", "(-1, 1, 1)"))["lights"]["key"]["direction"] == [0.0, 0.0, -1.0]


def test_flattened_light_shines_along_the_normal_of_its_plane(
    captured: Callable[..., dict[str, Any]],
) -> None:
    assert captured(scaled("RectLight", "(1, 1, 0)"))["lights"]["key"]["direction"] == [0.0, 0.0, -1.0]


def test_vanished_light_has_no_direction(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(scaled("DiskLight", "(0, 0, 0)"))
    assert "direction" not in sheet["lights"]["key"]
    assert "/key: its transform scales it to nothing, so that it has no direction." in sheet["remarks"]


def test_shear_has_a_remark(captured: Callable[..., dict[str, Any]]) -> None:
    matrix = "matrix4d xformOp:transform = ((1, 0, 0, 0), (0.5, 1, 0, 0), (0, 0, 1, 0), (0, 0, 0, 1))"
    sheet = captured(one("RectLight", f'{matrix}\n{ORDER} = ["xformOp:transform"]'))
    assert sheet["remarks"] == ["/key: its transform shears it; its sizes are those along its axes."]


def test_transform_that_is_not_finite(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured(
        one("RectLight", f'double3 xformOp:translate = (inf, 0, 0)\n{ORDER} = ["xformOp:translate"]')
    )
    assert "position" not in sheet["lights"]["key"]
    assert "/key: its transform is not finite; its place is left out." in sheet["remarks"]


def test_broken_transform_is_told_by_a_remark_and_not_on_the_terminal(
    captured: Callable[..., dict[str, Any]], capfd: pytest.CaptureFixture[str]
) -> None:
    sheet = captured(one("RectLight", f'{ORDER} = ["xformOp:missing"]'))
    assert "position" not in sheet["lights"]["key"]
    assert sheet["lights"]["key"]["intensity"] == 1.0
    assert sheet["remarks"] == [
        "/key: its transform cannot be read (Invalid xform opType token 'missing'.); its place is left out."
    ]
    captured_text = capfd.readouterr()
    assert (captured_text.out, captured_text.err) == ("", "")


def test_operation_that_is_not_there_is_passed_over_as_usd_does(
    captured: Callable[..., dict[str, Any]], capfd: pytest.CaptureFixture[str]
) -> None:
    inside = f"""double3 xformOp:translate = (1, 2, 3)
    {ORDER} = ["xformOp:translate", "xformOp:rotateX:gone"]"""
    sheet = captured(one("RectLight", inside))
    assert sheet["lights"]["key"]["position"] == [1.0, 2.0, 3.0]
    captured_text = capfd.readouterr()
    assert (captured_text.out, captured_text.err) == ("", "")


def test_axis_of_a_cylinder(captured: Callable[..., dict[str, Any]]) -> None:
    lamp = captured(turned("CylinderLight", "(0, 0, 90)"))["lights"]["key"]
    assert lamp["axis"] == [0.0, 1.0, 0.0]
    assert "direction" not in lamp


def test_impossible_unit(captured: Callable[..., dict[str, Any]]) -> None:
    with pytest.raises(CaptureError, match="expected metersPerUnit above 0, found 0"):
        captured(one("SphereLight", "", head="metersPerUnit = 0"))


CAMERA = f"""
def Camera "main"
{{
    float focalLength = 50
    float horizontalAperture = 36
    double3 xformOp:translate = (0, 150, 400)
    {ORDER} = ["xformOp:translate"]
}}
"""


def test_camera(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured("(metersPerUnit = 0.01)" + CAMERA)
    assert sheet["camera"] == {
        "position": [0.0, 1.5, 4.0],
        "direction": [0.0, 0.0, -1.0],
        "roll": 0.0,
        "moves": False,
        "focal_length_mm": 50.0,
        "horizontal_aperture_mm": 36.0,
        "fov": pytest.approx(2 * math.degrees(math.atan(18 / 50))),
    }
    assert sheet["source"]["camera"] == "/main"


def test_camera_counts_in_tenths_of_the_scene_unit(captured: Callable[..., dict[str, Any]]) -> None:
    sheet = captured("(metersPerUnit = 1)" + CAMERA)
    assert sheet["camera"]["focal_length_mm"] == 5000.0
    assert any("tenths of a scene unit" in remark for remark in sheet["remarks"])


def test_the_whole_aperture_of_a_camera(captured: Callable[..., dict[str, Any]]) -> None:
    text = "(metersPerUnit = 0.01)" + CAMERA.replace(
        "float horizontalAperture = 36",
        """float horizontalAperture = 36
    float verticalAperture = 24
    float horizontalApertureOffset = -1.5
    float verticalApertureOffset.timeSamples = {1: 0, 3: 2}""",
    )
    camera = captured(text)["camera"]
    assert (camera["vertical_aperture_mm"], camera["horizontal_offset_mm"]) == (24.0, -1.5)
    assert camera["vertical_offset_mm"]["keys"] == [[1, 0.0], [3, 2.0]]
    assert "projection" not in camera
    flat = captured(
        "(metersPerUnit = 0.01)"
        + CAMERA.replace("float focal", 'token projection = "orthographic"\n    float focal')
    )
    assert flat["camera"]["projection"] == "orthographic" and "fov" not in flat["camera"]


def test_camera_moves(captured: Callable[..., dict[str, Any]]) -> None:
    text = f"""(metersPerUnit = 1
    startTimeCode = 1
    endTimeCode = 3)
    def Camera "main"
    {{
        float focalLength.timeSamples = {{1: 0.5, 3: 0.35}}
        float horizontalAperture = 0.36
        float xformOp:rotateZ.timeSamples = {{1: 0, 3: 10}}
        {ORDER} = ["xformOp:rotateZ"]
    }}
    """
    camera = captured(text)["camera"]
    assert camera["moves"] is True
    # A roll alone moves neither place nor aim.
    assert (camera["position"], camera["direction"]) == ([0.0, 0.0, 0.0], [0.0, 0.0, -1.0])
    assert camera["focal_length_mm"]["keys"] == [[1, 50.0], [3, 35.0]]
    assert camera["fov"]["keys"][0] == [1, pytest.approx(2 * math.degrees(math.atan(18 / 50)))]


def test_which_camera(captured: Callable[..., dict[str, Any]], scene: Callable[..., Path]) -> None:
    text = "(metersPerUnit = 0.01)" + CAMERA + CAMERA.replace("main", "witness").replace("50", "35")
    sheet = captured(text)
    assert sheet["source"]["camera"] == "/main"
    assert sheet["remarks"] == [
        "Of 2 cameras the sheet takes the first, /main; others are /witness.",
        "The scene has no lights.",
    ]
    chosen = captured(text, camera="/witness")
    assert (chosen["camera"]["focal_length_mm"], chosen["source"]["camera"]) == (35.0, "/witness")
    with pytest.raises(
        CaptureError, match=r"expected a camera, found no prim at /witnes \(did you mean /witness\?\)"
    ):
        captured(text, camera="/witnes")
    with pytest.raises(CaptureError, match="expected a camera, found no prim at not a path!"):
        captured(text, camera="not a path!")
    with pytest.raises(CaptureError, match="expected a camera, found a SphereLight at /key"):
        captured(one("SphereLight", ""), camera="/key")


def test_marks(captured: Callable[..., dict[str, Any]]) -> None:
    text = f"""(metersPerUnit = 0.01
    upAxis = "Z")
    def Xform "crew"
    {{
        def Xform "face"
        {{
            double3 xformOp:translate = (30, -10, 160)
            {ORDER} = ["xformOp:translate"]
        }}
        def Xform "hand"
        {{
            custom bool samelight:mark = 1
            float xformOp:rotateX = 90
            {ORDER} = ["xformOp:rotateX"]
        }}
        def Xform "boat"
        {{
            custom token samelight:mark = "bow"
        }}
        def Xform "net"
        {{
            custom bool samelight:mark = 0
        }}
    }}
    """
    sheet = captured(text, marks=["/crew/face"])
    assert sheet["marks"] == {
        "bow": {"position": [0.0, 0.0, 0.0], "normal": [0.0, 1.0, 0.0]},
        "face": {"position": [0.3, 1.6, 0.1], "normal": [0.0, 1.0, 0.0]},
        "hand": {"position": [0.0, 0.0, 0.0], "normal": [0.0, 0.0, 1.0]},
    }
    with pytest.raises(CaptureError, match="expected a prim to mark, found no prim at /crew/nobody"):
        captured(text, marks=["/crew/nobody"])
