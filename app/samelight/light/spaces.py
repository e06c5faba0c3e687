"""Working spaces of linear colour: their names, and their matrices as literals.

Primaries and whites in CIE 1931 xy: Rec.709 / sRGB: ITU-R BT.709-6, D65 (0.3127, 0.3290). Rec.2020: ITU-R BT.2020-2, D65.
ACEScg (AP1): S-2014-004, with the ACES white (0.32168, 0.33767), near D60.

The matrices follow from these by SMPTE RP 177:1993, those of ACEScg adapted from its white to D65 by linear Bradford (ICC.1,
annex E), in exact fractions that were rounded once; tests/published/test_spaces_published.py repeats it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from samelight.light.rows import Array, image, inverse, product

XY = tuple[float, float]

SPACES: dict[str, str] = {
    "rec709": "rec709",
    "srgb": "rec709",
    "lin_rec709": "rec709",
    "acescg": "acescg",
    "ap1": "acescg",
    "lin_ap1": "acescg",
    "rec2020": "rec2020",
    "lin_rec2020": "rec2020",
}
"""Every accepted name of a working space (lower case), with the name it stands for."""

D65: XY = (0.3127, 0.3290)
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])

LUMINANCE: dict[str, tuple[float, float, float]] = {
    "rec709": (0.21263900587151036, 0.7151686787677559, 0.07219231536073371),
    "acescg": (0.27222871678091454, 0.6740817658111484, 0.05368951740793705),
    "rec2020": (0.26270021201126703, 0.677998071518871, 0.059301716469861945),
}
"""The luminance of red, green and blue, 1 together: under the space's own white, before adaptation."""

TO_XYZ: dict[str, Array] = {
    "rec709": np.array(
        [
            (0.4123907992659595, 0.35758433938387796, 0.1804807884018343),
            (0.21263900587151036, 0.7151686787677559, 0.07219231536073371),
            (0.01933081871559185, 0.11919477979462599, 0.9505321522496606),
        ]
    ),
    "acescg": np.array(
        [
            (0.6522375418862887, 0.12823613599971256, 0.16998224916567053),
            (0.26767218012533683, 0.6743399888015508, 0.05798783107311244),
            (-0.005381815766387706, 0.0013690602090958336, 1.0930705063171704),
        ]
    ),
    "rec2020": np.array(
        [
            (0.6369580483012913, 0.14461690358620838, 0.16888097516417205),
            (0.26270021201126703, 0.677998071518871, 0.059301716469861945),
            (0.0, 0.028072693049087508, 1.0609850577107909),
        ]
    ),
}
"""Linear RGB to XYZ, white to D65, shape (3, 3)."""

FROM_REC709: dict[str, Array] = {
    "rec709": np.eye(3),
    "acescg": np.array(
        [
            (0.6130974024011876, 0.3395231461841057, 0.04737945141470668),
            (0.07019372246958173, 0.9163538790573441, 0.0134523984730741),
            (0.020615592882226974, 0.10956977293813548, 0.8698146341796376),
        ]
    ),
    "rec2020": np.array(
        [
            (0.627403895934699, 0.3292830383778837, 0.043313065687417225),
            (0.06909728935823208, 0.9195403950754587, 0.011362315566309178),
            (0.01639143887515028, 0.08801330787722575, 0.895595253247624),
        ]
    ),
}
"""Linear Rec.709 to linear RGB of a space, white to white."""

TO_REC709: dict[str, Array] = {
    "rec709": np.eye(3),
    "acescg": np.array(
        [
            (1.7050509926579833, -0.6217921206570047, -0.08325887200097867),
            (-0.13025641750704348, 1.1408047365754015, -0.010548319068358007),
            (-0.024003356804618126, -0.12896897606497063, 1.1529723328695887),
        ]
    ),
    "rec2020": np.array(
        [
            (1.6604910021084345, -0.5876411387885495, -0.07284986331988488),
            (-0.12455047452159074, 1.1328998971259603, -0.008349422604369477),
            (-0.018150763354905303, -0.10057889800800739, 1.1187296613629127),
        ]
    ),
}
"""The way back."""

REC709_FROM_XYZ = np.array(
    [
        (3.2409699419045213, -1.5373831775700935, -0.4986107602930033),
        (-0.9692436362808798, 1.8759675015077206, 0.04155505740717561),
        (0.05563007969699361, -0.20397695888897657, 1.0569715142428786),
    ]
)


def space_name(space: str) -> str:
    """The one name of a working space: rec709, acescg or rec2020. Case does not matter.

    Raises ValueError for a name that is not in `SPACES`.

    >>> space_name("AP1")
    'acescg'
    """
    try:
        return SPACES[space.lower()]
    except KeyError:
        raise ValueError(f"working space {space!r} is none of {', '.join(SPACES)}") from None


def white_xyz(xy: XY) -> Array:
    """XYZ of a chromaticity at a luminance of 1. Raises ZeroDivisionError where y is 0."""
    x, y = xy
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def rec709_matrix(primaries: Sequence[XY], white: XY) -> Array:
    """The matrix (3, 3) from linear RGB of three primaries and a white, in CIE 1931 xy, to linear Rec.709, white to white.

    Raises ValueError for primaries on one line, or a primary or white that is no chromaticity (y is 0, or not finite).

    >>> rec709_matrix(((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)), (0.3127, 0.3290)).round(9) + 0.0
    array([[1., 0., 0.],
           [0., 1., 0.],
           [0., 0., 1.]])
    """
    with np.errstate(all="ignore"):
        try:
            matrix = product(REC709_FROM_XYZ, _to_d65_xyz(primaries, white))
        except ZeroDivisionError:
            matrix = np.full((3, 3), np.nan)
    if not np.isfinite(matrix).all():
        raise ValueError(f"{tuple(primaries)} and {white} span no colours")
    return matrix


def to_xyz(primaries: Sequence[Array], white: Array) -> Array:
    """RGB to XYZ from the XYZ of primaries and white (SMPTE RP 177:1993); not finite for primaries on one line."""
    columns = np.stack(list(primaries), axis=1)
    return np.asarray(columns * image(inverse(columns), white))


def _to_d65_xyz(primaries: Sequence[XY], white: XY) -> Array:
    columns = [np.array((x, y, 1.0 - x - y)) for x, y in primaries]
    cone = image(BRADFORD, white_xyz(D65)) / image(BRADFORD, white_xyz(white))
    return product(inverse(BRADFORD), cone[:, None] * BRADFORD, to_xyz(columns, white_xyz(white)))
