"""The colour of several lights together: the mixture of their chromaticities, each by what it gives."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from samelight.drift.computed.columns import Array
from samelight.light.colour import chromaticity
from samelight.light.rows import image
from samelight.light.sky_map import irradiances_of_maps
from samelight.light.spaces import TO_XYZ
from samelight.sheets.values import Colour, Value

_WHITE = Colour(*(chromaticity((1.0, 1.0, 1.0)) or ()))
"""What a light without a stated colour has: the white of its space."""


def tints(colours: Sequence[Value | None]) -> tuple[Array, Array]:
    """Of each colour the tristimulus values X and Z that go with a Y of 1, shape (n,) each; white where none is stated."""
    known: dict[Value | None, tuple[float, float]] = {}
    for value in colours:
        if value not in known:
            colour = value if isinstance(value, Colour) else _WHITE
            known[value] = (
                9.0 * colour.u / (4.0 * colour.v),
                (12.0 - 3.0 * colour.u - 20.0 * colour.v) / (4.0 * colour.v),
            )
    pairs = np.array([known[value] for value in colours], dtype=np.float64).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def tints_of_maps(
    plain: tuple[Array, Array], maps: NDArray[np.object_], normal: Array, turn: Array, tint: Array
) -> tuple[Array, Array]:
    """The `tints` of environments at surfaces: where one has a map, of what the surface receives of it, else the `plain` ones.

    The rest as `light.sky_map.irradiances_of_maps` takes it; a map that gives a surface nothing has no colour there, and counts
    as white.
    """
    mapped = np.flatnonzero([one is not None for one in maps.tolist()])
    if not mapped.size:
        return plain
    x, z = (side.copy() for side in plain)
    received = tint[mapped] * irradiances_of_maps(maps[mapped], normal[mapped], turn[mapped])
    of_x, of_y, of_z = image(TO_XYZ["rec709"], received).T
    dark = of_y <= 0.0
    with np.errstate(invalid="ignore", divide="ignore"):
        x[mapped] = np.where(dark, tints([None])[0], of_x / of_y)
        z[mapped] = np.where(dark, tints([None])[1], of_z / of_y)
    return x, z


def mixture(levels: Array, tint: Sequence[tuple[Array, Array]]) -> Array:
    """u'v' of n sums of k lights, shape (n, 2), NaN where it is dark: `levels` (n, k), and the `tints` of each light.

    Chromaticities mix by their tristimulus values (CIE 015:2018, 7.1); a light of unknown level is left out.

    >>> both = tints([Colour(0.25, 0.5), Colour(0.2, 0.5)])
    >>> mixture(np.array([[1.0, 1.0]]), [(x, z) for x, z in zip(*both)]).round(4).tolist()
    [[0.225, 0.5]]
    """
    known = np.nan_to_num(levels)
    x, y, z = np.zeros((3, len(levels)))
    for light, (of_x, of_z) in enumerate(tint):
        given = known[:, light]
        x, y, z = x + given * of_x, y + given, z + given * of_z
    with np.errstate(invalid="ignore", divide="ignore"):
        scale = x + 15.0 * y + 3.0 * z
        return np.stack([4.0 * x / scale, 9.0 * y / scale], axis=1)
