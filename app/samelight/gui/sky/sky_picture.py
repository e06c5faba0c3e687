"""The picture of an environment as the sky view has it under its lights."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from samelight.drift.computed.skies import maps_of
from samelight.gui.state.sky_data import EDGE, Sky
from samelight.light.directions import from_azimuth_elevation
from samelight.light.rolling import Turned, axes_turned
from samelight.light.rows import image
from samelight.light.sky_map import Panorama
from samelight.sheets.values import Curve, Value

SIDE = 192
"""Pixels of the picture each way: many times what a map is reduced to."""
_DIM = 0.5
"""How bright the brightest of it is, so that lights and words stand out."""
_MIDDLE = 0.35
"""How bright the mean of the map is, before that."""

Pixels = NDArray[np.uint8]


def picture_of(sky: Sky, column: int, heading: float) -> Pixels | None:
    """The first map among a shot's environments at its first frame, as it lies on the sky view's map, shape (side, side, 4).

    Its middle is the zenith and its edges lie `EDGE` away; outside it is clear. `heading` is the azimuth that is up, in
    degrees. None where the sheet holds no map.
    """
    found = _shown(sky, column)
    if found is None:
        return None
    sky_map, turn = found
    places = (np.arange(SIDE) + 0.5) * (2.0 * EDGE / SIDE) - EDGE
    x, y = np.meshgrid(places, -places)
    radius = np.hypot(x, y)
    inside = radius <= EDGE
    azimuth = np.arctan2(x, y) + math.radians(heading)
    elevation = math.pi / 2.0 - 2.0 * np.arcsin(np.clip(radius / EDGE, 0.0, 1.0))
    north, east = (-np.array(from_azimuth_elevation(angle, 0.0, sky.north)) for angle in (0.0, 90.0))
    flat = np.cos(elevation)[..., None]
    towards = flat * (np.cos(azimuth)[..., None] * north + np.sin(azimuth)[..., None] * east)
    towards[..., 1] += np.sin(elevation)
    rgb = _looked_up(sky_map, image(axes_turned(turn), towards))
    shown = rgb / (rgb + float(sky_map.mean.mean() or 1.0) * (1.0 - _MIDDLE) / _MIDDLE)
    pixels = np.zeros((SIDE, SIDE, 4), dtype=np.uint8)
    pixels[..., :3] = np.rint(255.0 * _DIM * np.power(shown, 1.0 / 2.2)).astype(np.uint8)
    pixels[..., 3] = np.where(inside, 255, 0)
    return pixels


def _shown(sky: Sky, column: int) -> tuple[Panorama, Turned] | None:
    sheet = sky.sheets.get(sky.shots[column])
    groups = {} if sheet is None else sheet.sections.get("environments", {})
    for group in groups.values():
        stated: Mapping[str, Value] = {
            leaf: value.keys[0][1] if isinstance(value, Curve) else value for leaf, value in group.items()
        }
        column_of = [[stated.get(leaf)] for leaf in ("texture", "format", "mirrored")]
        maps, _ = maps_of(*column_of)  # type: ignore[arg-type]
        if maps[0] is not None:
            turn = [
                value if isinstance(value := stated.get(leaf), float) else 0.0
                for leaf in ("rotation", "tilt", "roll")
            ]
            return maps[0], Turned(*turn)
    return None


def _looked_up(sky_map: Panorama, own: NDArray[np.float64]) -> NDArray[np.float64]:
    """The radiance that a map has in directions in its own axes, (..., 3)."""
    height, width = sky_map.rgb.shape[:2]
    across = (0.5 - np.arctan2(own[..., 0], own[..., 2]) / (2.0 * math.pi)) * width
    down = np.arccos(np.clip(own[..., 1], -1.0, 1.0)) / math.pi * height
    found: NDArray[np.float64] = sky_map.rgb[
        np.clip(down.astype(np.intp), 0, height - 1), across.astype(np.intp) % width
    ]
    return found
