"""Colours as eyes tell them apart, for tests: CIELAB, CIEDE2000, WCAG contrast, and colour-vision deficiencies.

Colours are sRGB, three channels of 0 to 255, unless "linear" is said: then 0 to 1 without the transfer curve.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Vision = Callable[[Array], Array]
"""Linear RGB to the linear RGB that looks alike to someone with that vision."""

_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""IEC 61966-2-1:1999, linear sRGB to XYZ."""

_WHITE = _XYZ.sum(axis=1)


def linear(rgb: Sequence[int]) -> Array:
    """Without the transfer curve of IEC 61966-2-1."""
    value = np.asarray(rgb, dtype=np.float64) / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def encoded(rgb: Array) -> tuple[int, int, int]:
    """Linear RGB as 8-bit sRGB."""
    value = np.clip(rgb, 0.0, 1.0)
    curve = np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)
    red, green, blue = np.round(curve * 255.0).astype(int).tolist()
    return red, green, blue


def lab(rgb: Array) -> Array:
    """CIELAB (CIE 015:2018) of a linear RGB under D65."""
    ratio = _XYZ @ rgb / _WHITE
    root = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])


def lightness(rgb: Sequence[int]) -> float:
    """CIE L*, 0 to 100."""
    return float(lab(linear(rgb))[0])


def contrast(a: Sequence[int], b: Sequence[int]) -> float:
    """Contrast ratio of WCAG 2.2, 1 to 21."""
    low, high = sorted(float(_XYZ[1] @ linear(rgb)) for rgb in (a, b))
    return (high + 0.05) / (low + 0.05)


def ciede2000(one: Array, two: Array) -> float:
    """The colour difference of CIE 142-2001 between two CIELAB colours, kL = kC = kH = 1.

    In the steps of G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula", Color Research and
    Application 30:21 (2005).
    """
    (light1, a1, b1), (light2, a2, b2) = one, two
    mean = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    stretch = 1.5 - 0.5 * math.sqrt(mean**7 / (mean**7 + 25.0**7))
    chroma1, chroma2 = math.hypot(stretch * a1, b1), math.hypot(stretch * a2, b2)
    hue1 = math.degrees(math.atan2(b1, stretch * a1)) % 360
    hue2 = math.degrees(math.atan2(b2, stretch * a2)) % 360
    chromatic = chroma1 * chroma2 > 0
    turn = (hue2 - hue1 + 180) % 360 - 180 if chromatic else 0.0
    if chromatic and abs(hue2 - hue1) == 180:
        turn = hue2 - hue1
    if not chromatic:
        hue = hue1 + hue2
    elif abs(hue1 - hue2) <= 180:
        hue = (hue1 + hue2) / 2
    else:
        hue = (hue1 + hue2 + (360 if hue1 + hue2 < 360 else -360)) / 2
    light, chroma = (light1 + light2) / 2, (chroma1 + chroma2) / 2
    shape = (
        1
        - 0.17 * math.cos(math.radians(hue - 30))
        + 0.24 * math.cos(math.radians(2 * hue))
        + 0.32 * math.cos(math.radians(3 * hue + 6))
        - 0.20 * math.cos(math.radians(4 * hue - 63))
    )
    by_light = (light2 - light1) / (1 + 0.015 * (light - 50) ** 2 / math.sqrt(20 + (light - 50) ** 2))
    by_chroma = (chroma2 - chroma1) / (1 + 0.045 * chroma)
    by_hue = (
        2 * math.sqrt(chroma1 * chroma2) * math.sin(math.radians(turn / 2)) / (1 + 0.015 * chroma * shape)
    )
    rotation = -math.sin(math.radians(60 * math.exp(-(((hue - 275) / 25) ** 2))))
    rotation *= 2 * math.sqrt(chroma**7 / (chroma**7 + 25.0**7))
    return math.sqrt(by_light**2 + by_chroma**2 + by_hue**2 + rotation * by_chroma * by_hue)


def _matrix(numbers: str) -> Array:
    return np.array([float(number) for number in numbers.split()]).reshape(3, 3)


_MACHADO = {
    "protanomaly": "0.385450 0.769005 -0.154455 0.100526 0.829802 0.069673 -0.007442 -0.022190 1.029632",
    "protanopia": "0.152286 1.052583 -0.204868 0.114503 0.786281 0.099216 -0.003882 -0.048116 1.051998",
    "deuteranomaly": "0.498864 0.674741 -0.173604 0.205199 0.754872 0.039929 -0.011131 0.030969 0.980162",
    "deuteranopia": "0.367322 0.860646 -0.227968 0.280085 0.672501 0.047413 -0.011820 0.042940 0.968881",
    "tritanomaly": "1.104996 -0.046633 -0.058363 -0.032137 0.971635 0.060503 0.001336 0.317922 0.680742",
    "tritanopia": "1.255528 -0.076749 -0.178779 -0.078411 0.930809 0.147602 0.004733 0.691367 0.303900",
}
"""G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-based model for simulation of color vision
deficiency", IEEE TVCG 15:1291 (2009), the matrices published with it for linear RGB: severity 0.6 of each anomaly,
and 1.0, as colour-science 0.4.7 has them (`colour.blindness.matrix_cvd_Machado2009`)."""

CONES = np.array([[0.15514, 0.54312, -0.03286], [-0.15514, 0.45684, 0.03286], [0.0, 0.0, 0.01608]]) @ _XYZ
"""V. C. Smith, J. Pokorny, Vision Research 15:161 (1975): linear sRGB to what L, M and S cones take up."""

_SPECTRAL = {
    475: (0.1421, 0.1126, 1.0419),
    485: (0.05795, 0.1693, 0.6162),
    575: (0.8425, 0.9154, 0.0018),
    660: (0.1649, 0.0610, 0.0),
}
"""CIE 015:2018, XYZ of monochromatic lights (nm) by the 1931 observer, which dichromats see as others do."""


def _machado(numbers: str) -> Vision:
    matrix = _matrix(numbers)
    return lambda rgb: np.clip(matrix @ rgb, 0.0, 1.0)


def _brettel(missing: int, short: int, long: int) -> Vision:
    """H. Brettel, F. Viénot, J. D. Mollon, "Computerized simulation of color appearance for dichromats", JOSA A 14:2647
    (1997): the colours that a dichromat tells apart lie on two half planes, each through the neutral axis and one light
    of the spectrum that looks the same to everyone. Neutral is the white of sRGB, so that greys stay as they are."""
    back = np.linalg.inv(CONES)
    neutral = CONES.sum(axis=1)
    over, under = (2, 1) if missing == 0 else (2, 0) if missing == 1 else (1, 0)

    def plane(wavelength: int) -> Array:
        light = CONES @ np.linalg.solve(_XYZ, np.array(_SPECTRAL[wavelength]))
        normal = np.cross(neutral, light)
        onto = np.eye(3)
        onto[missing] = -normal / normal[missing]
        onto[missing, missing] = 0.0
        return np.asarray(back @ onto @ CONES)

    beyond, before = plane(short), plane(long)

    def see(rgb: Array) -> Array:
        cones = CONES @ rgb
        bluer = cones[over] * neutral[under] > neutral[over] * cones[under]
        return np.clip((beyond if bluer else before) @ rgb, 0.0, 1.0)

    return see


VISIONS: dict[str, Vision] = {
    "normal": lambda rgb: rgb,
    **{f"{name} (Machado)": _machado(numbers) for name, numbers in _MACHADO.items()},
    "protanopia (Brettel)": _brettel(0, 475, 575),
    "deuteranopia (Brettel)": _brettel(1, 475, 575),
    "tritanopia (Brettel)": _brettel(2, 485, 660),
}
"""Every vision that the colours are compared with. An anomaly is at severity 0.6 of 1, the rest are dichromats."""


DICHROMATS = {"protanopia (Brettel)": 0, "deuteranopia (Brettel)": 1, "tritanopia (Brettel)": 2}
"""The place of the cone that is missing: L, M or S."""


def seen(rgb: Sequence[int], vision: str) -> Array:
    """A colour in CIELAB as someone with that vision sees it."""
    return lab(VISIONS[vision](linear(rgb)))


def apart(one: Sequence[int], two: Sequence[int], vision: str = "normal") -> float:
    """CIEDE2000 between two colours as someone with that vision sees them."""
    return ciede2000(seen(one, vision), seen(two, vision))
