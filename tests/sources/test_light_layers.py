"""A frame as the sum of its lights, with some of them changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
import pytest

from exr_help import plane, write_exr
from measured_sequence import LIGHTS, publish, shoot_layers, tree
from rendered_frames import rendered
from samelight.changes.lights_changed import light_changes, trimmed
from samelight.light.colour import luminance
from samelight.sheets.sheet import read_sheet
from samelight.sources.pictures.light_layers import LightChange, LightLayers, read_light_layers
from samelight.sources.pictures.pictures import Half
from samelight.sources.pictures.reduced import UnreadablePictureError

NAMES = "key", "rim", "sky"
WHITE = (1.0, 1.0, 1.0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("layers")
    shoot_layers(place, "A", tree())
    return place


def layers_of(folder: Path, longest: int = 4096) -> LightLayers:
    return read_light_layers(folder / "frames/A.exr", NAMES, "rec709", longest)


def ball(picture: Half, sheet: dict[str, Any]) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """A picture and what is rendered anew of a sheet, where the ball is."""
    anew = rendered(sheet, size=(240, 135), behind=0.0)
    seen = anew[..., 0] > 0.0
    return picture[seen].astype(np.float64), anew[seen]


def test_it_is_what_a_render_with_other_levels_and_colours_shows(folder: Path, tmp_path: Path) -> None:
    lights = {
        "key": {**LIGHTS["key"], "exposure": -1.3, "color": [0.5, 0.8, 1.2]},
        "rim": {**LIGHTS["rim"], "intensity": 11},
    }
    sky = {"sky": {"intensity": 0.3, "color": [1, 0.6, 0.4]}}
    then = tree(lights=lights, environments=sky)
    before, after = (
        read_sheet(publish(tmp_path, "A", of, version), shot="A", version=version)
        for version, of in ((1, tree()), (2, then))
    )
    picture = layers_of(folder).picture(light_changes(before, after, 1.0))
    shown, anew = ball(picture.linear, then)
    assert shown == pytest.approx(anew, rel=4e-3)
    gone = tree(lights={"key": LIGHTS["key"]})
    without = read_sheet(publish(tmp_path, "A", gone, 3), shot="A", version=3)
    shown, anew = ball(layers_of(folder).picture(light_changes(before, without, 1.0)).linear, gone)
    assert shown == pytest.approx(anew, rel=4e-3, abs=1e-4)


def test_trims_and_gels(folder: Path, tmp_path: Path) -> None:
    sheet = read_sheet(publish(tmp_path, "A", tree()), shot="A", version=1)
    assert trimmed(sheet, {}, {}, 1.0) == {}
    up = trimmed(sheet, {"rim": 1.0}, {}, 1.0)
    shown, anew = ball(
        layers_of(folder).picture(up).linear,
        tree(lights={**LIGHTS, "rim": {**LIGHTS["rim"], "exposure": 1.0}}),
    )
    assert shown == pytest.approx(anew, rel=4e-3)
    for light in NAMES:
        for gel in (-80.0, 60.0):
            change = trimmed(sheet, {}, {light: gel}, 1.0)[light]
            # As bright as before, and warmer with a gel above 0.
            assert luminance(change.then) == pytest.approx(luminance(change.now), rel=1e-9)
            before, after = (rgb[0] / rgb[2] for rgb in (change.now, change.then))
            assert (after > before) == (gel > 0.0)


def test_what_no_layer_holds_stays(folder: Path, tmp_path: Path) -> None:
    whole = layers_of(folder)
    assert whole.off == pytest.approx(0.0, abs=1e-3)
    assert np.array_equal(whole.picture({}).linear, whole.beauty)
    assert np.array_equal(whole.picture({"lamp": LightChange(WHITE, (9.0, 9.0, 9.0))}).linear, whole.beauty)
    shoot_layers(tmp_path, "A", tree(), lost=0.5)
    half = layers_of(tmp_path)
    assert half.off == pytest.approx(-1.0, abs=2e-3)
    dark = half.picture(dict.fromkeys(NAMES, LightChange(WHITE, (0.0, 0.0, 0.0)))).linear.astype(float)
    assert dark == pytest.approx(half.beauty.astype(float) / 2.0, rel=4e-3, abs=1e-4)


def test_reduced_and_in_other_windows(folder: Path, tmp_path: Path) -> None:
    small = layers_of(folder, 60)
    assert small.beauty.shape[:2] == (33, 60) and small.size == (240, 135)
    assert {layer.shape for layer in small.layers.values()} == {small.beauty.shape}
    # A data window in part beside the display window, in tiles.
    tiles = OpenEXR.TileDescription()
    tiles.xSize = tiles.ySize = 16
    windows = {"displayWindow": ((0, 0), (63, 31)), "dataWindow": ((-8, 8), (31, 47))}
    channels = {
        f"{layer}{one}": plane(value, (40, 40))
        for layer, value in (("", 3.0), ("key.", 1.0))
        for one in "RGB"
    }
    path = write_exr(tmp_path / "a.exr", channels, type=OpenEXR.tiledimage, tiles=tiles, **windows)
    placed = read_light_layers(path, NAMES, "acescg", 4096)
    assert placed.beauty.shape == (32, 64, 3) and set(placed.layers) == {"key"}
    assert (placed.layers["key"][8:, :32] == 1.0).all() and placed.layers["key"].sum() == 24 * 32 * 3
    twice = placed.picture({"key": LightChange(WHITE, (2.0, 2.0, 2.0))}).linear[8:, :32].astype(float)
    assert twice == pytest.approx(4.0, rel=2e-3)  # white is white in any primaries


def test_a_frame_without_layers_and_no_frame(tmp_path: Path) -> None:
    bare = write_exr(tmp_path / "a.exr", {one: plane(0.5) for one in "RGB"})
    assert read_light_layers(bare, NAMES, "rec709", 64).layers == {}
    (tmp_path / "b.exr").write_bytes(b"no picture")
    with pytest.raises(UnreadablePictureError):
        read_light_layers(tmp_path / "b.exr", NAMES, "rec709", 64)
