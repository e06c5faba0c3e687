"""Figures read from parts of OpenEXR frames of every build."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
import OpenImageIO
import pytest

from exr_help import claim_size, plane, write_exr, write_grey
from samelight.light.framing import Region, Shape
from samelight.light.region_figures import Figures
from samelight.light.spaces import TO_REC709
from samelight.sources.pictures import frame_reading, measuring
from samelight.sources.pictures.mattes import number_of
from samelight.sources.pictures.measuring import frame_figures, frame_header
from samelight.sources.pictures.pictures import read_exr
from samelight.sources.pictures.reduced import UnreadablePictureError

BOX = Region(20, 12, 44, 36, False)
DISK = Region(20, 12, 44, 36, True)


def a_picture() -> np.ndarray:
    """64 x 48, a slope of light across and another down, warmer to the right."""
    x, y = np.arange(64) / 64.0, np.arange(48)[:, None] / 48.0
    level = 0.1 * 2.0 ** (2.0 * x + y)
    return np.stack([level * (1.0 + x), level, level * (1.2 - x)], axis=-1)


def channels(picture: np.ndarray, kind: Any = np.float32, layer: str = "") -> dict[str, Any]:
    return {f"{layer}{name}": np.ascontiguousarray(picture[..., at], kind) for at, name in enumerate("RGB")}


def measured(path: Path, region: Region = BOX, space: str = "rec709") -> Figures:
    found = frame_figures(path, {"face": region}, space).figures["face"]
    assert isinstance(found, Figures), found
    return found


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_exr(tmp_path_factory.mktemp("plain") / "a.exr", channels(a_picture()))


def test_a_part_is_what_the_pixels_there_are(plain: Path) -> None:
    part = a_picture().astype(np.float32).astype(np.float64)[12:36, 20:44]
    luminance = part @ np.array([0.21263900587151036, 0.7151686787677559, 0.07219231536073371])
    found = measured(plain)
    assert found.pixels == 24 * 24
    assert found.level == pytest.approx(np.log2(luminance).mean(), abs=6e-4)
    assert found.side == pytest.approx(np.log2(luminance[:, 12:].mean() / luminance[:, :12].mean()), abs=6e-4)
    # A disk of a diameter of 24 pixels.
    assert measured(plain, DISK).pixels == pytest.approx(np.pi * 144, rel=0.02)


TILES = OpenEXR.TileDescription()
TILES.xSize = TILES.ySize = 16
BUILDS: dict[str, dict[str, Any]] = {
    "none": {"compression": OpenEXR.NO_COMPRESSION},
    "zips": {"compression": OpenEXR.ZIPS_COMPRESSION},
    "piz": {"compression": OpenEXR.PIZ_COMPRESSION},
    "tiles": {"type": OpenEXR.tiledimage, "tiles": TILES},
}


@pytest.mark.parametrize("build", BUILDS)
def test_builds(tmp_path: Path, plain: Path, build: str) -> None:
    path = write_exr(tmp_path / "a.exr", channels(a_picture()), **BUILDS[build])
    assert measured(path) == measured(plain)
    assert measured(path, DISK) == measured(plain, DISK)


def test_a_picture_made_as_a_texture_is_read_at_its_full_size(tmp_path: Path, plain: Path) -> None:
    path, config = tmp_path / "a.exr", OpenImageIO.ImageSpec()
    config.attribute("maketx:filtername", "box")
    config.set_format("float")
    assert OpenImageIO.ImageBufAlgo.make_texture(OpenImageIO.MakeTxTexture, str(plain), str(path), config)
    levels = OpenImageIO.ImageInput.open(str(path))
    assert levels is not None and levels.seek_subimage(0, 3)
    levels.close()
    assert measured(path) == measured(plain)
    assert read_exr(path, 4096).size == (64, 48)


@pytest.mark.parametrize("packing", [OpenEXR.DWAA_COMPRESSION, OpenEXR.B44_COMPRESSION])
def test_what_packing_loses_is_little(tmp_path: Path, plain: Path, packing: Any) -> None:
    halves = {name: one.astype(np.float16) for name, one in channels(a_picture()).items()}
    figures = measured(write_exr(tmp_path / "a.exr", halves, compression=packing))
    assert figures.level == pytest.approx(measured(plain).level, abs=0.02)


def test_a_frame_of_more_channels_than_the_library_takes_by_itself(tmp_path: Path, plain: Path) -> None:
    many = {f"light{number:04}.R": np.zeros((48, 64), np.float16) for number in range(1100)}
    assert measured(write_exr(tmp_path / "a.exr", {**channels(a_picture()), **many})) == measured(plain)


@pytest.mark.parametrize("strip", [1, 700])
def test_strips_change_nothing(plain: Path, monkeypatch: pytest.MonkeyPatch, strip: int) -> None:
    whole = measured(plain)
    monkeypatch.setattr(frame_reading, "_STRIP", strip)
    assert measured(plain) == whole


def test_a_large_part_is_counted_by_some_of_its_lines(plain: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = measured(plain)
    monkeypatch.setattr(measuring, "MOST_COUNTED", 200)
    some = measured(plain)
    assert some.pixels == 8 * 24
    assert some.level == pytest.approx(whole.level, abs=0.05)


def test_of_a_frame_of_many_layers_only_some_packs_of_lines_are_unpacked(
    tmp_path: Path, plain: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is asked of a line, all layers of it are unpacked."""
    many = {f"light{number}.R": np.zeros((48, 64), np.float32) for number in range(5)}
    path = write_exr(tmp_path / "a.exr", {**channels(a_picture()), **many}, **BUILDS["zips"])
    whole, read = measured(plain), list[int]()
    unpack = frame_reading.LineReader._whole  # noqa: SLF001 - what it asks of the library is what costs

    def counted(self: frame_reading.LineReader, left: int, right: int, top: int, bottom: int) -> Any:
        read.extend(range(top, bottom))
        return unpack(self, left, right, top, bottom)

    monkeypatch.setattr(frame_reading.LineReader, "_whole", counted)
    assert measured(path) == whole and read == list(range(12, 36))
    read.clear()
    monkeypatch.setattr(
        frame_reading, "_MOST_UNPACKED", 8 * 64 * 12
    )  # a half of the lines, with all their channels
    some = measured(path)
    assert read == list(range(12, 36, 2)) and some.pixels == 12 * 24
    assert some.level == pytest.approx(whole.level, abs=0.05)
    read.clear()
    monkeypatch.setattr(frame_reading, "_MOST_UNPACKED", 1)
    assert isinstance(measured(path), Figures) and len(read) == 6  # however much there is


def test_halves_and_layers(tmp_path: Path, plain: Path) -> None:
    more = {**channels(a_picture() * 3, np.float16, "key."), "depth.Z": plane(7.0, (64, 48), np.float32)}
    path = write_exr(tmp_path / "a.exr", {**channels(a_picture(), np.float16), **more})
    found, known = measured(path), measured(plain)
    assert found.level == pytest.approx(known.level, abs=2e-3)
    assert (found.u, found.v) == pytest.approx((known.u, known.v), abs=2e-4)
    only = write_exr(tmp_path / "b.exr", channels(a_picture(), layer="beauty."))
    assert measured(only) == known
    assert "layer beauty" in frame_figures(only, {}, "rec709").colours


def test_parts_of_a_file(tmp_path: Path, plain: Path) -> None:
    parts = [
        OpenEXR.Part({"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}, of, name)
        for name, of in (
            ("key", channels(a_picture() * 2)),
            ("beauty", channels(a_picture())),
        )
    ]
    path = tmp_path / "a.exr"
    OpenEXR.File(parts).write(str(path))
    assert measured(path) == measured(plain)


def test_windows(tmp_path: Path, plain: Path) -> None:
    """Regions count from the display window, wherever it and the data lie."""
    around = np.pad(a_picture(), ((5, 7), (3, 9), (0, 0)), constant_values=50.0)
    windows = {"displayWindow": ((100, 200), (163, 247)), "dataWindow": ((97, 195), (172, 254))}
    over = write_exr(tmp_path / "over.exr", channels(around), **windows)
    assert frame_header(over).shape == Shape(64, 48)
    assert measured(over) == measured(plain)
    # What is not rendered of a region is left out, and most of one is too much.
    windows = {"displayWindow": ((0, 0), (63, 47)), "dataWindow": ((0, 0), (63, 29))}
    cropped = write_exr(tmp_path / "cropped.exr", channels(a_picture()[:30]), **windows)
    assert measured(cropped).pixels == 18 * 24
    assert frame_figures(cropped, {"face": Region(20, 25, 44, 45, False)}, "rec709").figures == {
        "face": "most of it is outside of what was rendered"
    }


def test_colours(tmp_path: Path, plain: Path) -> None:
    """The same light written in other primaries is the same light."""
    known = measured(plain)
    acescg = np.linalg.solve(TO_REC709["acescg"], a_picture().reshape(-1, 3).T).T.reshape(48, 64, 3)
    primaries = (0.713, 0.293, 0.165, 0.83, 0.128, 0.044, 0.32168, 0.33767)
    stated = write_exr(tmp_path / "stated.exr", channels(acescg), chromaticities=primaries)
    bare = write_exr(tmp_path / "bare.exr", channels(acescg))
    for path, space, says in (
        (stated, "rec709", "the primaries that the frame states"),
        (bare, "acescg", "acescg, the working space, since the frame states no primaries"),
    ):
        found = measured(path, space=space)
        assert found.level == pytest.approx(known.level, abs=2e-3)
        assert (found.u, found.v) == pytest.approx((known.u, known.v), abs=2e-5)
        assert frame_figures(path, {}, space).colours == says
    odd = write_exr(tmp_path / "odd.exr", channels(a_picture()), chromaticities=(0.0,) * 8)
    assert measured(odd, space="acescg") == known
    assert "make no sense" in frame_figures(odd, {}, "rec709").colours


def test_what_a_header_says(tmp_path: Path) -> None:
    header = {"pixelAspectRatio": 2.0, "samelight:version": 3, "samelight:sheet": "ab12"}
    found = frame_header(write_exr(tmp_path / "a.exr", channels(a_picture()), **header))
    assert (found.shape, found.made_of, found.made_of_sheet) == (Shape(64, 48, 2.0), 3, "ab12")
    as_text = write_exr(tmp_path / "b.exr", channels(a_picture()), **{"samelight:version": "4"})
    assert frame_header(as_text).made_of == 4
    assert frame_header(write_grey(tmp_path / "c.exr", 0.5)).made_of is None


def deep(path: Path) -> Path:
    pixels = np.empty((4, 4), dtype=object)
    for at in np.ndindex(4, 4):
        pixels[at] = np.ones(2, np.float32)
    header = {"compression": OpenEXR.ZIPS_COMPRESSION, "type": OpenEXR.deepscanline}
    OpenEXR.File(header, dict.fromkeys("RGB", pixels)).write(str(path))
    return path


def cut_off(path: Path) -> Path:
    write_exr(path, channels(a_picture()), compression=OpenEXR.NO_COMPRESSION)
    path.write_bytes(path.read_bytes()[:4000])
    return path


def with_text(path: Path, text: bytes) -> Path:
    path.write_bytes(text)
    return path


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda path: with_text(path, b"P6 1 1 255 abc"), "no OpenEXR picture"),
        (lambda path: with_text(path, b""), "empty"),
        (lambda path: with_text(path, b"\x76\x2f\x31\x01\x02\0\0\0"), "its header cannot be read"),
        (lambda path: write_exr(path, {"Y": plane(0.5)}), "no red, green and blue"),
        (lambda path: write_exr(path, dict.fromkeys("RGB", plane(7, kind=np.uint32))), "whole numbers"),
        (cut_off, "its pixels cannot be read"),
        (deep, "deep"),
        (lambda path: claim_size(write_grey(path, 0.5), 40_000, 40_000), "million pixels|damaged"),
        (lambda path: path, "cannot be read: No such file"),
    ],
)
def test_what_cannot_be_measured_is_said(tmp_path: Path, make: Any, says: str) -> None:
    path = make(tmp_path / "a.exr")
    with pytest.raises(UnreadablePictureError, match=says):
        frame_figures(path, {"face": BOX}, "rec709")


# Mattes


def with_mattes(path: Path, manifest: str | None = None, **more: Any) -> Path:
    """The picture with a matte `mask` of its lower half, and ID mattes of a head, in columns 20 to 31 whole and in 32 to 43 by a
    third behind a mast."""
    mask = np.zeros((48, 64), np.float32)
    mask[24:] = 1.0
    head, mast = (np.uint32(number_of(name)).view(np.float32) for name in ("head", "mast"))
    ids = {f"things0{rank}.{one}": np.zeros((48, 64), np.float32) for rank in range(2) for one in "RGBA"}
    ids["things00.R"][:, 20:32], ids["things00.G"][:, 20:32] = head, 1.0
    ids["things00.R"][:, 32:44], ids["things00.G"][:, 32:44] = mast, 2.0 / 3.0
    ids["things01.R"][:, 32:44], ids["things01.G"][:, 32:44] = head, 1.0 / 3.0  # the third that is seen
    stated = {"cryptomatte/ab12345/name": "things", "cryptomatte/ab12345/hash": "MurmurHash3_32"}
    if manifest is not None:
        stated["cryptomatte/ab12345/manifest"] = manifest
    return write_exr(path, {**channels(a_picture()), "mask.A": mask, **ids}, **stated, **more)


def through(path: Path, matte: str, region: Region = BOX) -> Figures | str:
    return frame_figures(path, {"face": region}, "rec709", {"face": matte}).figures["face"]


def test_what_a_matte_covers_alone_counts(tmp_path: Path, plain: Path) -> None:
    path = with_mattes(tmp_path / "a.exr")
    for matte, part in (
        ("mask", Region(20, 24, 44, 36, False)),
        ("head", Region(20, 12, 32, 36, False)),
        ("mast", Region(32, 12, 44, 36, False)),
    ):
        found, known = through(path, matte), measured(plain, part)
        assert isinstance(found, Figures)
        # Only its sides are those of the whole region.
        assert found._replace(side=0.0) == known._replace(side=0.0), matte
    tiled = with_mattes(tmp_path / "b.exr", type=OpenEXR.tiledimage, tiles=TILES)
    assert through(tiled, "head") == through(path, "head")


def test_a_manifest_says_which_number_a_name_has(tmp_path: Path) -> None:
    number = f"{number_of('mast'):08x}"
    path = with_mattes(tmp_path / "a.exr", f'{{"sail": "{number}", "odd": "no number"}}')
    by_number = with_mattes(tmp_path / "b.exr")
    assert through(path, "sail") == through(by_number, "mast")
    for name in ("head", "odd"):  # not in it, or nothing that is a number
        assert through(path, name) == f"the frame holds no layer or ID matte of {name}"
    damaged = with_mattes(tmp_path / "c.exr", '{"mast": ')
    assert through(damaged, "mast") == through(by_number, "mast")


def test_what_is_hidden_is_not_measured(tmp_path: Path, plain: Path) -> None:
    path = with_mattes(tmp_path / "a.exr")
    behind = Region(34, 12, 44, 36, False)
    assert through(path, "head", behind) == "it is hidden, or not there: its matte covers 0 of 240 pixels"
    assert through(plain, "head") == "the frame holds no layer or ID matte of head"


# Layers of lights


def test_layers_of_lights_by_their_names(tmp_path: Path, plain: Path) -> None:
    """Half the picture is the key's, a quarter the rim's, below another name, and the sky's layer is black; they are read in lines
    and in tiles, and of a part of the file too."""
    layers = {
        **channels(a_picture() / 2.0, layer="key."),
        **channels(a_picture() / 4.0, layer="lights.rim."),
        **channels(a_picture() * 0.0, layer="sky."),
        "lamp.R": plane(1.0, (64, 48), np.float32),  # no whole colour
    }
    names = ("key", "rim", "sky", "lamp", "none")
    for build in ("zips", "tiles"):
        path = write_exr(tmp_path / f"{build}.exr", {**channels(a_picture()), **layers}, **BUILDS[build])
        found = frame_figures(path, {"face": DISK}, "rec709", None, names)
        whole = found.wholes["face"]
        assert found.lights["face"] == {
            "key": pytest.approx(whole - 1.0, abs=0.0011),
            "rim": pytest.approx(whole - 2.0, abs=0.0011),
            "sky": -30.0,
        }
        assert found.figures["face"] == measured(plain, DISK)
    parts = [
        OpenEXR.Part({"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}, of, name)
        for name, of in (("beauty", channels(a_picture())), ("key", channels(a_picture() / 2.0)))
    ]
    OpenEXR.File(parts).write(str(tmp_path / "parts.exr"))
    found = frame_figures(tmp_path / "parts.exr", {"face": DISK}, "rec709", None, names)
    assert found.lights["face"] == {"key": pytest.approx(whole - 1.0, abs=0.0011)}
    assert not frame_figures(plain, {"face": DISK}, "rec709", None, names).wholes


def test_picture_layers_and_matte_are_unpacked_together_and_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    layers = {**channels(a_picture() / 2.0, layer="key."), **channels(a_picture() / 2.0, layer="rim.")}
    mask = np.ones((48, 64), np.float32)
    path = write_exr(tmp_path / "a.exr", {**channels(a_picture()), **layers, "mask.A": mask})
    read: list[tuple[int, int]] = []
    whole = frame_reading.LineReader._whole  # noqa: SLF001 - what it asks of the library is what costs

    def counted(self: frame_reading.LineReader, left: int, right: int, top: int, bottom: int) -> Any:
        read.append((top, bottom))
        return whole(self, left, right, top, bottom)

    monkeypatch.setattr(frame_reading.LineReader, "_whole", counted)
    monkeypatch.setattr(frame_reading, "_STRIP", 1)  # as little at a time as there can be
    found = frame_figures(path, {"face": BOX}, "rec709", {"face": "mask"}, ("key", "rim"))
    assert set(found.lights["face"]) == {"key", "rim"}
    # Lines 12 to 36 of blocks of 16.
    assert read == [(0, 16), (16, 32), (32, 48)]
