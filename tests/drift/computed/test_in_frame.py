"""Where marks are in the frames of their shots, by their sheets."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from drift.computed.scenes import FACE, sheet
from samelight.drift.computed.in_frame import region_of
from samelight.light.framing import HEAD, Region, Shape
from samelight.sheets.errors import SheetError
from samelight.sheets.sheet import sheet_from_document
from samelight.sheets.trees import parse_document

HD = Shape(1920, 1080)
LENS = {"focal_length_mm": 50, "horizontal_aperture_mm": 36, "vertical_aperture_mm": 20.25}
AT = {"position": [0, 0, 5], "direction": [0, 0, -1]}


def region(
    mark: dict[str, Any] | None = None, shape: Shape = HD, at: float = 1, **camera: Any
) -> Region | str:
    """Where a face at the origin is, seen from 5 m in front of it; `camera` changes or, by None, takes away what it states."""
    stated = {name: value for name, value in {**AT, **LENS, **camera}.items() if value is not None}
    tree = {"camera": stated, "marks": {"face": {**FACE, **(mark or {})}}}
    return region_of(sheet("A", tree), "face", at, shape)


def middle(found: Region | str) -> tuple[float, float]:
    assert isinstance(found, Region), found
    return (found.left + found.right) / 2.0, (found.top + found.bottom) / 2.0


def width(found: Region | str) -> float:
    assert isinstance(found, Region), found
    return found.right - found.left


def test_a_head_in_the_middle() -> None:
    found = region()
    assert middle(found) == pytest.approx((960, 540))
    # 0.16 m at 5 m through 50 mm on 36 mm of 1,920 pixels.
    assert width(found) == pytest.approx(2 * HEAD / 5 * 50 / 36 * 1920, rel=1e-8)
    assert isinstance(found, Region) and found.is_round
    assert width(region({"radius": 0.3})) == pytest.approx(0.6 / 5 * 50 / 36 * 1920, rel=1e-8)


def test_to_the_right_is_to_the_right_and_up_is_up() -> None:
    x, y = middle(region({"position": [0.5, 0.25, 0]}))
    assert (x - 960, 540 - y) == pytest.approx((0.1 * 50 / 36 * 1920, 0.05 * 50 / 36 * 1920))
    # The aperture moved to the right: what stood in the middle goes to the left, by its share of the width.
    x, y = middle(region(horizontal_offset_mm=3.6, vertical_offset_mm=2.025))
    assert (x, y) == pytest.approx((960 - 192, 540 + 108))


def test_a_rolled_camera() -> None:
    # Clockwise as seen from behind: its own right points down, so that what is to the right goes up.
    x, y = middle(region({"position": [0.2, 0, 0]}, roll=90))
    assert (x, y) == pytest.approx((960, 540 - 0.04 * 50 / 36 * 1920))


def test_the_lens_by_its_angles() -> None:
    by_angle: dict[str, Any] = dict.fromkeys(LENS)
    assert middle(region({"position": [0.5, 0, 0]}, **by_angle, fov=90))[0] == pytest.approx(960 + 96)
    found = region({"position": [0, 0.5, 0]}, **by_angle, vertical_fov=90)
    assert middle(found)[1] == pytest.approx(540 - 54)
    assert region(**by_angle) == (
        "the sheet states neither focal length and aperture of the camera nor its field of view"
    )


def test_pictures_of_another_shape() -> None:
    square = Shape(1000, 1000)
    assert width(region(shape=square)) == pytest.approx(
        0.032 * 50 / 36 * 1000
    )  # all of the width, and more above
    tree = {
        "camera": {**AT, **LENS},
        "marks": {"face": FACE},
        "render": {"settings": {"aspect_policy": "cropAperture"}},
    }
    found = region_of(sheet("A", tree), "face", 1, square)
    assert width(found) == pytest.approx(0.032 * 50 / 20.25 * 1000)
    # Pixels of twice the width: half as many of them.
    squeezed = region(shape=Shape(960, 1080, 2.0))
    assert isinstance(squeezed, Region)
    assert squeezed.bottom - squeezed.top == pytest.approx(2 * width(squeezed))
    assert width(region(overscan=0.25)) == pytest.approx(width(region()) / 1.25)
    # Without a height of its own the aperture has the picture's shape.
    assert region(vertical_aperture_mm=None) == region()


def test_a_camera_and_a_face_that_move() -> None:
    focal = {"keys": [[1, 50], [11, 100]]}
    walk = {"position": {"keys": [[1, [0, 0, 0]], [11, [1, 0, 0]]]}}
    assert width(region(focal_length_mm=focal, at=6)) == pytest.approx(width(region(focal_length_mm=75)))
    assert middle(region(walk, at=6)) == pytest.approx(middle(region({"position": [0.5, 0, 0]})))


@pytest.mark.parametrize(
    ("mark", "camera", "says"),
    [
        ({"position": [0, 0, 6]}, {}, "it is behind the camera"),
        ({"position": [4, 0, 0]}, {}, "it is outside of the frame"),
        ({"position": [0, -2, 0]}, {}, "it is outside of the frame"),
        ({"normal": [0, 0, -1]}, {}, "it faces away from the camera"),
        (
            {"normal": [0, 1, 0]},
            {"position": [0, -1, 5], "direction": [0, 0.2, -1]},
            "it faces away from the camera",
        ),
        (
            {"in_view": 0.12, "covered_by": "/set/mast"},
            {},
            "it is hidden by /set/mast: the camera sees 12 % of it",
        ),
        ({"in_view": 0}, {}, "it is hidden: the camera sees nothing of it"),
        (
            {"in_view": {"keys": [[0, 0.1], [2, 0.3]]}, "covered_by": "/door"},
            {},
            "it is hidden by /door: the camera sees 20 % of it",
        ),
        ({"radius": 0.005}, {}, "it is too small in the frame: 5.3 x 5.3 pixels, of at least 6 each way"),
        (
            {"in_frame": [10, 10, 14, 40]},
            {},
            "it is too small in the frame: 4.0 x 30.0 pixels, of at least 6 each way",
        ),
        ({}, {"direction": None}, "the sheet does not say where the camera stands and looks to"),
        (
            {},
            {"focal_length_mm": 0},
            "the sheet states neither focal length and aperture of the camera nor its field of view",
        ),
        ({}, {"projection": "orthographic"}, "the camera is orthographic"),
    ],
)
def test_why_it_cannot_be_looked_at(mark: dict[str, Any], camera: dict[str, Any], says: str) -> None:
    assert region(mark, **camera) == says


def test_what_is_seen_enough_is_looked_at_and_a_matte_tells_by_itself() -> None:
    half = {"in_view": 0.5, "covered_by": "/set/mast"}
    assert region(half) == region()
    assert region({**half, "in_view": 0.1, "matte": "head"}) == region()
    assert isinstance(region({**half, "in_view": 0.1, "in_frame": [0.25, 0.25, 0.5, 0.5]}), Region)


def test_a_face_in_profile_is_seen() -> None:
    assert isinstance(region({"normal": [1, 0, 0]}), Region)
    assert isinstance(region({"normal": [0, 1, 0]}, position=[0, 1, 5], direction=[0, -0.2, -1]), Region)


def test_a_sheet_without_mark_or_camera() -> None:
    assert region_of(sheet("A", {"marks": {"face": FACE}}), "hand", 1, HD) == "the sheet has no such mark"
    assert region_of(sheet("A", {"marks": {"face": FACE}}), "face", 1, HD) == "the sheet has no camera"


def test_a_rectangle_in_the_sheet_is_taken_as_it_stands() -> None:
    edges = Region(480, 270, 960, 540, False)
    assert region({"in_frame": [0.25, 0.25, 0.5, 0.5]}, position=None) == edges
    assert region({"in_frame": [480, 270, 960, 540]}, position=None) == edges
    moving = {"in_frame": {"keys": [[1, [0, 0, 100, 100]], [3, [20, 0, 120, 100]]]}}
    assert region(moving, at=2) == Region(10, 0, 110, 100, False)


@pytest.mark.parametrize(
    "stated",
    [
        "in_frame: [1, 2, 3]",
        "in_frame: [5, 0, 5, 9]",
        "in_frame: [-1, 0, 5, 9]",
        "in_frame: middle",
        "radius: -1",
        "in_view: 1.2",
        "in_view: {camera: 0.5}",
        "covered_by: [mast]",
    ],
)
def test_faults(stated: str) -> None:
    text = f"samelight: 2\nmarks: {{face: {{position: [0, 0, 0], {stated}}}}}\n"
    with pytest.raises(SheetError, match=r"in_frame|radius|in_view|covered_by"):
        sheet_from_document(parse_document(Path("a.yaml"), text))
