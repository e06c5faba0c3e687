"""The matrices of working spaces, in exact fractions from the primaries and whites of their standards."""

from fractions import Fraction

import pytest

from samelight.light import spaces

# Rec.709: ITU-R BT.709-6, table 1. Rec.2020: ITU-R BT.2020-2, table 2. ACEScg: Academy S-2014-004, annex A (AP1), and its white.
STATED = {
    "rec709": ("0.640 0.330", "0.300 0.600", "0.150 0.060", "0.3127 0.3290"),
    "rec2020": ("0.708 0.292", "0.170 0.797", "0.131 0.046", "0.3127 0.3290"),
    "acescg": ("0.713 0.293", "0.165 0.830", "0.128 0.044", "0.32168 0.33767"),
}
# ICC.1:2022, annex E: the linearised Bradford transform.
BRADFORD = [
    [Fraction(n) for n in row.split()]
    for row in ("0.8951 0.2664 -0.1614", "-0.7502 1.7135 0.0367", "0.0389 -0.0685 1.0296")
]


def times(a: list[list[Fraction]], b: list[list[Fraction]]) -> list[list[Fraction]]:
    return [
        [sum(x * y for x, y in zip(row, column, strict=True)) for column in zip(*b, strict=True)] for row in a
    ]


def inverse(m: list[list[Fraction]]) -> list[list[Fraction]]:
    def cross(a: list[Fraction], b: list[Fraction]) -> list[Fraction]:
        return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]

    columns = [cross(m[1], m[2]), cross(m[2], m[0]), cross(m[0], m[1])]
    volume = sum(x * y for x, y in zip(m[0], columns[0], strict=True))
    return [[part / volume for part in row] for row in zip(*columns, strict=True)]


def chromaticity(text: str) -> list[Fraction]:
    x, y = map(Fraction, text.split())
    return [x / y, Fraction(1), (1 - x - y) / y]


def plain_to_xyz(space: str) -> list[list[Fraction]]:
    """SMPTE RP 177:1993."""
    *primaries, white = map(chromaticity, STATED[space])
    columns = [list(row) for row in zip(*primaries, strict=True)]
    scale = times(inverse(columns), [[part] for part in white])
    return [[part * each[0] for part, each in zip(row, scale, strict=True)] for row in columns]


def to_d65(space: str) -> list[list[Fraction]]:
    white, day = (
        [[part] for part in chromaticity(text)] for text in (STATED[space][-1], STATED["rec709"][-1])
    )
    cones = [a[0] / b[0] for a, b in zip(times(BRADFORD, day), times(BRADFORD, white), strict=True)]
    adapted = [[cone * part for part in row] for cone, row in zip(cones, BRADFORD, strict=True)]
    return times(inverse(BRADFORD), times(adapted, plain_to_xyz(space)))


def rounded(matrix: list[list[Fraction]]) -> list[list[float]]:
    return [[float(part) for part in row] for row in matrix]


@pytest.mark.parametrize("space", STATED)
def test_matrices_follow_from_primaries_and_white(space: str) -> None:
    here, screen = to_d65(space), to_d65("rec709")
    assert list(spaces.LUMINANCE[space]) == rounded(plain_to_xyz(space))[1]
    assert spaces.TO_XYZ[space].tolist() == rounded(here)
    assert spaces.FROM_REC709[space].tolist() == rounded(times(inverse(here), screen))
    assert spaces.TO_REC709[space].tolist() == rounded(times(inverse(screen), here))


def test_the_way_from_xyz_to_the_screen() -> None:
    assert spaces.REC709_FROM_XYZ.tolist() == rounded(inverse(to_d65("rec709")))
    assert spaces.BRADFORD.tolist() == rounded(BRADFORD)
