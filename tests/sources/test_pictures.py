"""Frames on disk: which file is a shot's, what an EXR holds in all its layouts, and what is said of a damaged one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
import pytest
from hypothesis import given
from hypothesis import strategies as st

from exr_help import SCANLINES, claim_size, plane, write_exr, write_grey
from samelight.light.colour import to_rec709
from samelight.light.spaces import rec709_matrix
from samelight.sources.pictures import pictures
from samelight.sources.pictures.pictures import Picture, PictureError, find_frame, read_exr, reduced
from samelight.sources.pictures.view_transform import (
    linear_of,
    picture_of_codes,
    shown,
    srgb_codes,
    view_text,
)

ACESCG = (0.713, 0.293, 0.165, 0.830, 0.128, 0.044, 0.32168, 0.33767)


# Which file


@pytest.mark.parametrize(
    ("names", "found"),
    [
        (["A.jpg", "A.png", "A.exr"], "A.exr"),
        (["A.jpeg", "A.png"], "A.png"),
        (["A.JPG"], "A.JPG"),
        (["A.tif", "AB.exr", "A_b.png", ".A.exr"], None),
        ([], None),
    ],
)
def test_the_frame_of_a_shot_is_found_by_its_name(
    tmp_path: Path, names: list[str], found: str | None
) -> None:
    for name in names:
        (tmp_path / "frames").mkdir(exist_ok=True)
        (tmp_path / "frames" / name).touch()
    path = find_frame(tmp_path, "A")
    assert (path.name if path is not None else None) == found


def test_a_file_in_the_place_of_the_folder_is_said(tmp_path: Path) -> None:
    (tmp_path / "frames").touch()
    with pytest.raises(PictureError, match="the folder frames cannot be read: Not a directory"):
        find_frame(tmp_path, "A")


# Layouts


def read(path: Path, longest: int = 4096) -> Picture:
    return read_exr(path, longest)


def pixel(picture: Picture, x: int = 0, y: int = 0) -> list[float]:
    return [round(float(value), 3) for value in picture.linear[y, x]]


RGB = {"R": plane(0.25), "G": plane(0.5), "B": plane(2.0)}


def layer(name: str, value: float) -> dict[str, Any]:
    return {f"{name}.{channel}": plane(value) for channel in "RGB"}


@pytest.mark.parametrize(
    ("channels", "expected", "remarks"),
    [
        (RGB, [0.25, 0.5, 2.0], ()),
        ({**RGB, "A": plane(0.5)}, [0.25, 0.5, 2.0], ()),
        ({name: value.astype(np.float32) for name, value in RGB.items()}, [0.25, 0.5, 2.0], ()),
        ({"red": plane(0.25), "green": plane(0.5), "blue": plane(2.0)}, [0.25, 0.5, 2.0], ()),
        ({"Y": plane(0.5)}, [0.5, 0.5, 0.5], ("luminance alone, shown grey",)),
        ({"Y": plane(0.5), "A": plane(1.0)}, [0.5, 0.5, 0.5], ("luminance alone, shown grey",)),
        (layer("key", 0.25), [0.25, 0.25, 0.25], ("layer key",)),
        ({**layer("albedo", 0.5), **layer("beauty", 0.25)}, [0.25] * 3, ("layer beauty",)),
        ({**layer("beauty", 0.5), **RGB}, [0.25, 0.5, 2.0], ()),
        ({**layer("key", 0.25), "Y": plane(0.5)}, [0.25] * 3, ("layer key",)),
        ({"Z": plane(7.0, kind=np.float32)}, [7.0] * 3, ("channel Z alone, shown grey",)),
        (
            {"depth.Z": plane(7.0, kind=np.float32)},
            [7.0] * 3,
            ("layer depth", "channel depth.Z alone, shown grey"),
        ),
        ({"id": plane(3, kind=np.uint32)}, [3.0] * 3, ("channel id alone, shown grey",)),
    ],
)
def test_every_layout_of_channels(
    tmp_path: Path, channels: dict[str, Any], expected: list[float], remarks: tuple[str, ...]
) -> None:
    picture = read(write_exr(tmp_path / "a.exr", channels))
    assert (pixel(picture), picture.remarks, picture.size) == (expected, remarks, (40, 20))
    assert picture.linear.dtype == np.float16
    assert (picture.linear.shape, picture.scene) == ((20, 40, 3), True)


def test_of_several_parts_the_beauty_is_shown(tmp_path: Path) -> None:
    def part(name: str, channels: dict[str, Any]) -> Any:
        return OpenEXR.Part({**SCANLINES, "name": name}, channels)

    grey = {name: plane(0.5) for name in "RGB"}
    path = tmp_path / "parts.exr"
    OpenEXR.File([part("depth", {"Z": plane(1.0)}), part("key", grey), part("beauty", RGB)]).write(str(path))
    picture = read(path)
    assert (pixel(picture), picture.remarks) == ([0.25, 0.5, 2.0], ("layer beauty",))


def test_tiles_read_as_scan_lines_do(tmp_path: Path) -> None:
    path = tmp_path / "tiles.exr"
    header = {"type": OpenEXR.tiledimage, "tiles": OpenEXR.TileDescription()}
    OpenEXR.File({**SCANLINES, **header}, RGB).write(str(path))
    assert pixel(read(path)) == [0.25, 0.5, 2.0]


def test_a_deep_picture_is_refused_in_words(tmp_path: Path) -> None:
    deep = np.empty((4, 4), dtype=object)
    for place in np.ndindex(4, 4):
        deep[place] = np.ones(2, np.float32)
    path = tmp_path / "deep.exr"
    OpenEXR.File({"compression": OpenEXR.ZIPS_COMPRESSION, "type": OpenEXR.deepscanline}, {"Z": deep}).write(
        str(path)
    )
    with pytest.raises(PictureError, match="no channel that can be shown"):
        read(path)


def test_the_display_window_is_what_is_shown(tmp_path: Path) -> None:
    """A data window that is smaller leaves black around it; what it has outside is cut off."""
    ramp = np.tile(np.arange(40, dtype=np.float16), (20, 1))
    channels = dict.fromkeys("RGB", ramp)
    inside = write_exr(
        tmp_path / "in.exr",
        channels,
        dataWindow=((10, 5), (49, 24)),
        displayWindow=((0, 0), (59, 29)),
    )
    picture = read(inside)
    assert picture.size == (60, 30)
    assert [pixel(picture, x, 10)[0] for x in (9, 10, 49, 50)] == [0.0, 0.0, 39.0, 0.0]
    assert [pixel(picture, 30, y)[0] for y in (4, 5, 24, 25)] == [0.0, 20.0, 20.0, 0.0]
    overscan = write_exr(
        tmp_path / "over.exr",
        channels,
        dataWindow=((-10, -5), (29, 14)),
        displayWindow=((0, 0), (19, 9)),
    )
    picture = read(overscan)
    assert picture.size == (20, 10)
    assert [pixel(picture, x)[0] for x in (0, 19)] == [10.0, 29.0]
    apart = write_exr(
        tmp_path / "apart.exr",
        channels,
        dataWindow=((100, 0), (139, 19)),
        displayWindow=((0, 0), (19, 9)),
    )
    with pytest.raises(PictureError, match="lie outside its display window"):
        read(apart)


def test_stated_primaries_are_taken_to_rec709(tmp_path: Path) -> None:
    picture = read(write_exr(tmp_path / "a.exr", RGB, chromaticities=ACESCG))
    expected = to_rec709((0.25, 0.5, 2.0), "acescg")
    assert np.allclose(picture.linear[0, 0], expected, rtol=2e-3)
    assert picture.remarks == ("colours taken to Rec.709 from the primaries it states",)
    white = read(write_grey(tmp_path / "white.exr", 1.0))
    assert pixel(white) == [1.0, 1.0, 1.0]
    rec709 = (0.64, 0.33, 0.30, 0.60, 0.15, 0.06, 0.3127, 0.3290)
    assert pixel(read(write_exr(tmp_path / "b.exr", RGB, chromaticities=rec709))) == [0.25, 0.5, 2.0]


def test_primaries_that_span_nothing_are_said(tmp_path: Path) -> None:
    picture = read(write_exr(tmp_path / "a.exr", RGB, chromaticities=(0.3, 0.3) * 4))
    assert pixel(picture) == [0.25, 0.5, 2.0]
    assert picture.remarks == ("its primaries make no sense and are taken as Rec.709",)
    with pytest.raises(ValueError, match="span no colours"):
        rec709_matrix(((0.64, 0.33), (0.3, 0.6), (0.15, 0.06)), (0.3, 0.0))


def test_what_is_no_number_or_beyond_halves(tmp_path: Path) -> None:
    odd = plane(0.5, kind=np.float32)
    odd[0, :4] = (np.nan, np.inf, -np.inf, 1e9)
    picture = read(write_exr(tmp_path / "a.exr", dict.fromkeys("RGB", odd), chromaticities=ACESCG))
    assert "some pixels are not numbers and shown black" in picture.remarks
    assert np.isfinite(picture.linear).all()
    assert shown(picture.linear)[0, :5, 1].tolist() == [0, 255, 0, 255, 188]
    small = read(write_exr(tmp_path / "b.exr", dict.fromkeys("RGB", odd)), longest=10)
    assert np.isfinite(small.linear).all()


def test_a_large_picture_is_reduced_by_its_mean(tmp_path: Path) -> None:
    checks = np.indices((20, 40)).sum(axis=0) % 2
    path = write_exr(tmp_path / "a.exr", {name: checks.astype(np.float16) for name in "RGB"})
    picture = read(path, longest=10)
    assert (picture.linear.shape, picture.size) == ((5, 10, 3), (40, 20))
    assert np.all(picture.linear == 0.5)
    assert reduced(np.ones((3, 100)), 4).shape == (1, 25)


# Damaged pictures


def test_a_picture_that_is_cut_off_anywhere_says_so(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).random((64, 96)).astype(np.float16)
    whole = write_exr(tmp_path / "whole.exr", dict.fromkeys("RGB", noise)).read_bytes()
    for length in (5, 40, 200, 320, 400, 1000, len(whole) // 2, len(whole) - 1):
        path = tmp_path / f"{length}.exr"
        path.write_bytes(whole[:length])
        with pytest.raises(PictureError, match="damaged or cut off"):
            read(path)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"this is a text\n" * 100, "it is no OpenEXR picture, whatever its ending says"),
        (b"\x89PNG\r\n\x1a\n", "it is no OpenEXR picture"),
        (b"", "it is empty"),
    ],
)
def test_what_is_no_exr_says_so(tmp_path: Path, content: bytes, reason: str) -> None:
    path = tmp_path / "a.exr"
    path.write_bytes(content)
    with pytest.raises(PictureError, match=reason):
        read(path)


def test_a_picture_that_cannot_be_opened_says_why(tmp_path: Path) -> None:
    with pytest.raises(PictureError, match="it cannot be read: No such file"):
        read(tmp_path / "gone.exr")
    (tmp_path / "folder.exr").mkdir()
    with pytest.raises(PictureError, match="it is a folder"):
        read(tmp_path / "folder.exr")


def test_a_name_that_is_no_text_is_said(tmp_path: Path) -> None:
    path = write_exr(tmp_path / "a.exr", {**RGB, "lumiere": plane(0.0)})
    path.write_bytes(path.read_bytes().replace(b"lumiere\0", b"lumi\xe8re\0"))
    with pytest.raises(PictureError, match="a name in its header is no UTF-8 text"):
        read(path)


def test_an_absurd_size_is_refused_before_anything_is_read(tmp_path: Path) -> None:
    path = claim_size(write_grey(tmp_path / "a.exr", 0.5), 200_000, 100_000)
    with pytest.raises(PictureError, match=r"it is 200,000 x 100,000; at most 67 million pixels are read"):
        read(path)


def test_too_many_channels_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_exr(tmp_path / "a.exr", {**RGB, **{f"aov{i}.Y": plane(0.0) for i in range(30)}})
    monkeypatch.setattr(pictures, "MOST_BYTES", 33 * 4 * 800 - 1)
    with pytest.raises(PictureError, match="all its channels take"):
        read(path)
    monkeypatch.setattr(pictures, "MOST_BYTES", 33 * 4 * 800)
    assert pixel(read(path)) == [0.25, 0.5, 2.0]


@given(st.data())
def test_damage_anywhere_never_comes_out_as_another_error(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    folder = tmp_path_factory.mktemp("damaged")
    content = bytearray(write_grey(folder / "a.exr", 0.5, (16, 8)).read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(4, len(content) - 1))] = data.draw(st.integers(0, 255))
    (folder / "a.exr").write_bytes(content)
    try:
        picture = read(folder / "a.exr", longest=64)
    except PictureError as error:
        assert str(error)
    else:
        assert np.isfinite(picture.linear).all()


# On the screen


@pytest.mark.parametrize(
    ("linear", "stops", "code"),
    [(0.18, 0.0, 118), (0.18, 1.0, 162), (0.18, -1.0, 85), (0.18, 3.0, 255), (1.0, 0.0, 255), (0.0, 5.0, 0)],
)
def test_exposure_by_numbers(linear: float, stops: float, code: int) -> None:
    assert abs(int(shown(np.array([linear], np.float16), stops)[0]) - code) <= 1


def test_codes_pass_through_at_no_stops() -> None:
    codes = np.arange(256, dtype=np.uint8)
    assert np.array_equal(shown(linear_of(codes)), codes)


def test_every_half_has_its_code() -> None:
    halves = np.arange(2**16, dtype=np.uint16).view(np.float16)
    numbers = np.nan_to_num(halves.astype(np.float64), nan=0.0, posinf=65504.0, neginf=-65504.0)
    for stops in (-2.0, 0.0, 0.5, 6.0):
        assert np.array_equal(shown(halves, stops), srgb_codes(numbers * 2.0**stops))
    assert shown(halves[:1], 1e9).tolist() == [0]


@given(st.floats(0, 60000, width=16), st.floats(-12, 12), st.floats(0, 6))
def test_more_exposure_never_darkens(linear: float, stops: float, more: float) -> None:
    value = np.array([linear], np.float16)
    assert shown(value, stops + more)[0] >= shown(value, stops)[0]


def test_a_picture_of_codes_is_reduced_in_linear_light() -> None:
    checks = (np.indices((20, 40)).sum(axis=0) % 2 * 255).astype(np.uint8)
    picture = picture_of_codes(np.dstack([checks] * 3), longest=10)
    # Half of the light, which is more than half of the code.
    assert np.unique(shown(picture.linear)).tolist() == [188]
    assert (picture.size, picture.scene) == ((40, 20), False)


def test_what_is_done_to_a_picture_is_said() -> None:
    scene = Picture(np.zeros((1, 1, 3), np.float16), (1, 1), True)
    assert view_text(scene, 1.0) == "Scene-linear, Rec.709, +1.0 stops, clipped, sRGB curve"
    screen = Picture(np.zeros((1, 1, 3), np.float16), (1, 1), False)
    assert view_text(screen, -0.5) == "8-bit sRGB, −0.5 stops, clipped"


def test_a_shot_of_many_frames_is_shown_by_its_first(tmp_path: Path) -> None:
    place = tmp_path / "frames"
    place.mkdir()
    for name in (
        "A.1010.exr",
        "A.0999.EXR",
        "A_0998.tif",
        "A_2.1.exr",
        "B_0010.png",
        "B.x.exr",
        "C.exr",
        "C.1.exr",
    ):
        (place / name).touch()
    found = {
        shot: path and path.name
        for shot in ("A", "B", "B_0010", "C")
        for path in [find_frame(tmp_path, shot)]
    }
    assert found == {"A": "A.0999.EXR", "B": None, "B_0010": "B_0010.png", "C": "C.exr"}
