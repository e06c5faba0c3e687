"""The pictures of environments and lights and the profiles of lights, over many moments: what of their files a sheet holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.drift.computed.columns import Array, Column, Words, numbers
from samelight.light.colour import UV
from samelight.light.locus import uv_to_xy
from samelight.light.profile import Profile, profile_of
from samelight.light.rows import image
from samelight.light.sky_map import Panorama
from samelight.light.spaces import REC709_FROM_XYZ, white_xyz
from samelight.sheets.pixels import pixels_of
from samelight.sheets.values import Colour, FileRef

Maps = NDArray[np.object_]

LATLONG = frozenset({"latlong", "automatic"})
"""How an environment's picture is laid out where it is counted; so is one of which nothing is stated."""

NO_PIXELS = "map (even, since the sheet holds no pixels of it)"
DAMAGED = "map (even, since its pixels in the sheet are damaged)"
OTHER_LAYOUT = "map (even, since it is not laid out by latitude and longitude)"
MIRRORED = "map (even, since it is mirrored)"


def maps_of(textures: Column, formats: Column, mirrored: Column) -> tuple[Maps, Words]:
    """The map of each moment's environment, None where it has none that is counted, and what is left out for that, in words."""
    found = np.full(len(textures), None, dtype=np.object_)
    left_out = np.full(len(textures), "", dtype=np.object_)
    for index, (texture, layout, flipped) in enumerate(zip(textures, formats, mirrored, strict=True)):
        if isinstance(texture, FileRef) and texture.path:
            found[index], left_out[index] = (None, MIRRORED) if flipped else _map(texture.holds, layout)
    return found, left_out


def textures_of(textures: Column, shapes: Words) -> tuple[Maps, Words]:
    """The picture on each moment's light, None where it has none that is counted, and what is left out for that, in words.
    UsdLux has a texture on a rect alone."""
    found = np.full(len(textures), None, dtype=np.object_)
    left_out = np.full(len(textures), "", dtype=np.object_)
    for index, (texture, shape) in enumerate(zip(textures, shapes.tolist(), strict=True)):
        if isinstance(texture, FileRef) and texture.path:
            found[index] = _picture(texture.holds) if shape == "rect" else None
            left_out[index] = "texture" if found[index] is None else ""
    return found, left_out


PROFILED = frozenset({"point", "sphere", "disk", "rect", "cylinder", "spot"})
"""Shapes of which a profile is counted."""


def profiles_of(profiles: Column, shapes: Words) -> tuple[Maps, Words]:
    """The photometric profile of each moment's light, None where it has none that is counted, and what is left out for that."""
    found = np.full(len(profiles), None, dtype=np.object_)
    left_out = np.full(len(profiles), "", dtype=np.object_)
    for index, (profile, shape) in enumerate(zip(profiles, shapes.tolist(), strict=True)):
        if isinstance(profile, FileRef) and profile.path:
            found[index] = _profile(profile.holds) if shape in PROFILED else None
            left_out[index] = "profile" if found[index] is None else ""
    return found, left_out


@lru_cache(maxsize=256)
def _profile(text: str) -> Profile | None:
    return profile_of(text) if text else None


def held_of(files: Column, read: Callable[[str], object | None]) -> Maps:
    """What `read` makes of what a sheet holds of each moment's file, None where it has none or that is damaged."""
    found = np.full(len(files), None, dtype=np.object_)
    for index, file in enumerate(files):
        if isinstance(file, FileRef) and file.holds:
            found[index] = _held(read, file.holds)
    return found


@lru_cache(maxsize=1024)
def _held(read: Callable[[str], object | None], text: str) -> object | None:
    return read(text)


@lru_cache(maxsize=64)
def _picture(text: str) -> Panorama | None:
    rgb = pixels_of(text) if text else None
    return None if rgb is None else Panorama(text, rgb)


def both_words(first: Words, then: Words) -> Words:
    """What is left out twice over, in words."""
    pairs = zip(first.tolist(), then.tolist(), strict=True)
    found = np.empty(len(first), dtype=np.object_)
    found[:] = [" and ".join(filter(None, pair)) for pair in pairs]
    return found


@lru_cache(maxsize=64)
def _map(text: str, layout: Any) -> tuple[Panorama | None, str]:
    if layout not in (None, *LATLONG):
        return None, OTHER_LAYOUT
    rgb = pixels_of(text) if text else None
    if rgb is None:
        return None, DAMAGED if text else NO_PIXELS
    return Panorama(text, rgb), ""


def tints_of(colours: Column) -> Array:
    """The linear Rec.709 of colours, of luminance 1, channels outside it cut, shape (n, 3); white where none is stated."""
    found = np.ones((len(colours), 3))
    for index, colour in enumerate(colours):
        if isinstance(colour, Colour):
            found[index] = _tint((colour.u, colour.v))
    return found


@lru_cache(maxsize=4096)
def _tint(uv: UV) -> tuple[float, float, float]:
    if uv[1] <= 0.0:
        return 1.0, 1.0, 1.0
    red, green, blue = np.maximum(image(REC709_FROM_XYZ, white_xyz(uv_to_xy(*uv))), 0.0).tolist()
    return red, green, blue


def turns_of(columns: Sequence[Column]) -> Array:
    """Rotation, tilt and roll in degrees, 0 where not stated, shape (n, 3)."""
    return np.stack([np.nan_to_num(numbers(one)) for one in columns], axis=1)
