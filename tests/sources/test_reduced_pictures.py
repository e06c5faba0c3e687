"""Pictures on lights: reduced where a scene is captured, and never in the way of the rest of it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import OpenImageIO
import pytest

from exr_help import plane, write_exr
from known import there
from light_reference import FOLDER
from samelight.sheets.pixels import pixels_of
from samelight.sources import scenes
from samelight.sources.limits import SCENE, Limits
from samelight.sources.pictures import reduced
from samelight.sources.pictures.reduced import UnreadablePictureError, reduced_picture
from samelight.sources.request import CaptureRequest
from samelight.sources.scenes import capture_apart
from samelight.sources.trial import ReaderEndedError

DOME = (
    '(metersPerUnit = 1\nupAxis = "Y")\ndef DomeLight "sky"\n{{\nasset inputs:texture:file = @{name}@\n}}\n'
)


def written(path: Path, pixels: np.ndarray, kind: str = "float") -> Path:
    height, width, channels = pixels.shape
    out = OpenImageIO.ImageOutput.create(str(path))
    assert there(out).open(str(path), OpenImageIO.ImageSpec(width, height, channels, kind))
    assert there(out).write_image(pixels)
    there(out).close()
    return path


def test_a_radiance_picture_is_as_an_exr(tmp_path: Path) -> None:
    rgb = np.random.default_rng(5).uniform(0.1, 20.0, (64, 128, 3)).astype(np.float32)
    hdr, exr = (written(tmp_path / f"sky.{ending}", rgb) for ending in ("hdr", "exr"))
    of_hdr, of_exr = (reduced_picture(path, 64, 32, latlong=True) for path in (hdr, exr))
    assert of_hdr == pytest.approx(of_exr, rel=0.1)  # an exponent is shared
    assert of_exr.mean() == pytest.approx(10.05, rel=0.05)


def test_lines_weigh_as_much_as_they_see(tmp_path: Path) -> None:
    """Of two lines in one cell, that nearer to the pole is the smaller part of the sphere."""
    rgb = np.zeros((4, 4, 3), np.float32)
    rgb[0] = 1.0
    path = written(tmp_path / "pole.exr", rgb)
    share = (1.0 - np.cos(np.pi / 4)) / (1.0 - np.cos(np.pi / 2))
    assert reduced_picture(path, 2, 2, latlong=True)[0] == pytest.approx(np.full((2, 3), share))
    assert reduced_picture(path, 2, 2, latlong=False)[0] == pytest.approx(np.full((2, 3), 0.5))


def test_sides_that_do_not_divide_keep_the_mean(tmp_path: Path) -> None:
    rgb = np.random.default_rng(7).uniform(0.0, 3.0, (45, 101, 3)).astype(np.float32)
    found = reduced_picture(written(tmp_path / "odd.exr", rgb), 64, 32, latlong=False)
    assert found.mean(axis=(0, 1)) == pytest.approx(rgb.mean(axis=(0, 1)), rel=1e-5)
    assert found.min() >= 0.0


def test_eight_bits_are_taken_as_srgb(tmp_path: Path) -> None:
    path = written(tmp_path / "grey.png", np.full((8, 8, 3), 188, np.uint8), "uint8")
    assert reduced_picture(path, 1, 1, latlong=False)[0, 0] == pytest.approx([0.5029] * 3, abs=1e-3)


def test_what_is_no_number_counts_as_nothing(tmp_path: Path) -> None:
    rgb = np.ones((4, 8, 3), np.float32)
    rgb[0, 0], rgb[1, 1], rgb[2, 2] = np.nan, -5.0, np.inf
    found = reduced_picture(written(tmp_path / "odd.exr", rgb), 8, 4, latlong=False)
    assert found[0, 0].tolist() == found[1, 1].tolist() == [0.0] * 3
    assert found[2, 2].tolist() == [65504.0] * 3 and found[3, 3].tolist() == [1.0] * 3


def test_primaries_of_the_file_count(tmp_path: Path) -> None:
    path = tmp_path / "wide.exr"
    wide = (0.713, 0.293, 0.165, 0.830, 0.128, 0.044, 0.32168, 0.33767)
    write_exr(path, {name: plane(0.5, (8, 8)) for name in "RGB"}, chromaticities=wide)
    assert reduced_picture(path, 1, 1, latlong=False)[0, 0] == pytest.approx([0.5] * 3, rel=1e-3)


def bad_pictures(folder: Path) -> dict[str, str]:
    """Pictures that cannot be read, by name, each with words of what is said of it."""
    raw = (FOLDER / "dawn.exr").read_bytes()
    (folder / "cut.exr").write_bytes(raw[: len(raw) // 2])
    (folder / "words.exr").write_text("no picture at all")
    (folder / "empty.hdr").write_bytes(b"")
    (folder / "head.hdr").write_bytes(b"#?RADIANCE\nFORMAT=32-bit_rle_rgbe\n\n-Y 64 +X 128\n")
    return {
        "cut.exr": "cut off",
        "words.exr": "damaged, or no picture",
        "empty.hdr": "empty",
        "head.hdr": "cut off",
    }


def test_a_bad_picture_is_a_sentence_and_the_rest_is_captured(
    tmp_path: Path, scene: Callable[..., Path], captured: Callable[..., dict[str, Any]]
) -> None:
    for name, says in bad_pictures(tmp_path).items():
        with pytest.raises(UnreadablePictureError, match=says):
            reduced_picture(tmp_path / name, 64, 32, latlong=True)
        sheet = captured(DOME.format(name=name) + 'def SphereLight "lamp"\n{\n}\n')
        (remark,) = [one for one in sheet["remarks"] if "looks like" in one]
        assert (
            remark.startswith(f"/sky: what its texture {name} looks like is not known: ") and says in remark
        )
        assert "pixels" not in sheet["environments"]["sky"] and "lamp" in sheet["lights"]


def test_a_huge_picture_is_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reduced, "MOST_PIXELS", 256 * 128 - 1)
    with pytest.raises(UnreadablePictureError, match="it is 256 x 128; at most"):
        reduced_picture(FOLDER / "dawn.exr", 64, 32, latlong=True)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_waited_for(tmp_path: Path, captured: Callable[..., dict[str, Any]]) -> None:
    os.mkfifo(tmp_path / "sky.exr")
    sheet = captured(DOME.format(name="sky.exr"))
    assert "pixels" not in sheet["environments"]["sky"]
    assert any("could not be read" in remark for remark in sheet["remarks"])


def test_a_map_goes_into_the_sheet(tmp_path: Path, captured: Callable[..., dict[str, Any]]) -> None:
    (tmp_path / "dawn.exr").write_bytes((FOLDER / "dawn.exr").read_bytes())
    sheet = captured(DOME.format(name="dawn.exr"))
    rgb = pixels_of(sheet["environments"]["sky"]["pixels"])
    assert rgb is not None and rgb.shape == (32, 64, 3)
    assert "remarks" not in sheet


def test_a_picture_that_takes_its_reader_down_leaves_the_scene(
    scene: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The child that reads a scene ends over one of its pictures: the scene is read once more, without them."""
    asked: list[bool] = []

    def tried(
        file: Path, limits: Limits, work: Callable[..., Any], path: Path, request: CaptureRequest
    ) -> dict[str, Any]:
        assert limits is SCENE
        asked.append(request.reads_pictures)
        if request.reads_pictures:
            raise ReaderEndedError(
                file, "a file that can be read to its end", "one that takes its reader down"
            )
        found: dict[str, Any] = work(path, request)
        return found

    monkeypatch.setattr(scenes, "tried", tried)
    path = scene(DOME.format(name="sky.exr"))
    path.with_name("sky.exr").write_bytes((FOLDER / "dawn.exr").read_bytes())
    sheet = capture_apart(path, CaptureRequest())
    assert asked == [True, False]
    assert "pixels" not in sheet["environments"]["sky"] and "sha256" in sheet["environments"]["sky"]
    assert any("takes its reader down" in remark for remark in sheet["remarks"])
