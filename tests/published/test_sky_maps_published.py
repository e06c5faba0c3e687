"""Light of a sky at a mark, by the map that its sheet holds.

Sources: tests/data/light_reference/README.md (irradiance of three maps on 90 normals, made outside this program by
integrating the whole maps); the CIE overcast sky, CIE S 011:2003, of which a level surface receives 7/9 pi times the
luminance of the zenith (P. Moon and D. Spencer, "Illumination from a non-uniform sky", 1942; from memory).
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from light_reference import FOLDER
from samelight.light.rolling import Turned, axes_turned
from samelight.light.sky_map import HEIGHT, WIDTH, Panorama, received_of_maps
from samelight.sheets.pixels import pixels_of, pixels_text
from samelight.sources.pictures.reduced import reduced_picture

LUMINANCE = np.array([0.2126390, 0.7151687, 0.0721923])


def kept(rgb: np.ndarray) -> Panorama:
    """A map as a sheet keeps it."""
    text = pixels_text(rgb)
    held = pixels_of(text)
    assert held is not None
    return Panorama(text, held)


def received(sky: Panorama, normal: list[float], turn: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> float:
    maps = np.array([sky], dtype=np.object_)
    return float(received_of_maps(maps, np.array([normal]), np.array([turn]), np.ones((1, 3)))[0])


@pytest.mark.parametrize(("name", "most"), [("dawn", 0.03), ("sunny", 0.06), ("overcast", 0.005)])
def test_turned_maps_on_every_normal(name: str, most: float) -> None:
    sky = kept(reduced_picture(FOLDER / f"{name}.exr", WIDTH, HEIGHT, latlong=True))
    cases = [case for case in json.loads((FOLDER / "dome.json").read_text()) if case["map"] == name]
    assert len(cases) >= 20
    for case in cases:
        whole = float((LUMINANCE * case["irradiance_rgb"]).sum())
        found = received(sky, case["normal"], (case["rotation"], 0.0, 0.0))
        assert abs(math.log2(found / whole)) < most, case


def overcast(ground: float = 0.0) -> Panorama:
    """The CIE overcast sky of a zenith of 1: each cell the mean of (1 + 2 sin elevation) / 3 over its band."""
    polar = np.arange(HEIGHT + 1) * (math.pi / HEIGHT)
    cosine = np.cos(polar)
    above = (cosine[:-1] - cosine[1:] + cosine[:-1] ** 2 - cosine[1:] ** 2) / 3.0
    band = above / (cosine[:-1] - cosine[1:])
    band[HEIGHT // 2 :] = ground
    return kept(np.broadcast_to(band[:, None, None], (HEIGHT, WIDTH, 3)).copy())


def test_a_level_surface_under_the_overcast_sky() -> None:
    assert received(overcast(), [0.0, 1.0, 0.0]) == pytest.approx(7.0 / 9.0 * math.pi, rel=1e-3)


def test_an_upright_surface_under_the_overcast_sky_sees_the_ground_for_half() -> None:
    """The sky gives it the integral of (1 + 2 s)/3 over its half, 1/6 pi + 4/9 in all; even ground gives pi/2 times its own."""
    bare, grey = (received(overcast(ground), [0.0, 0.0, 1.0]) for ground in (0.0, 0.1))
    assert bare == pytest.approx(math.pi / 6.0 + 4.0 / 9.0, rel=1e-3)
    assert grey - bare == pytest.approx(0.1 * math.pi / 2.0, rel=1e-3)


def test_a_tilted_sky_lights_a_surface_that_tilts_with_it() -> None:
    sky = kept(reduced_picture(FOLDER / "dawn.exr", WIDTH, HEIGHT, latlong=True))
    turn = Turned(140.0, 25.0, -50.0)
    own = np.array([0.36, 0.48, 0.8])
    world = (axes_turned(turn) * own[:, None]).sum(axis=0)
    assert received(sky, world.tolist(), turn) == pytest.approx(received(sky, own.tolist()), rel=1e-9)


def test_a_reduced_map_is_text_that_keeps_its_numbers() -> None:
    rgb = reduced_picture(FOLDER / "sunny.exr", WIDTH, HEIGHT, latlong=True)
    sky = kept(rgb)
    assert sky.rgb == pytest.approx(rgb, rel=1e-3)
    assert pixels_text(sky.rgb) == sky.text and sky.text.isascii() and len(sky.text) < 17_000
