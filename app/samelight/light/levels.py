"""How bright a light is, in one number that two spellings of the same light share.

Formulas after the UsdLux schema text (usd-core 26.11, `usdLux/schema.usda`): the luminance of a light is
intensity x 2^exposure, divided by its size factor when it is normalised; sizes not given take UsdLux's
fallbacks. Photometric values describe a made-up scene. On a real set they replace neither a light meter nor
the rules for lamps and laser or UV hazards: local codes and licensed practice come first.
"""

import math
from typing import NamedTuple

RELATIVE = "relative"
RELATIVE_LUMINANCE = "relative luminance"
LUMINANCE = "luminance"
INTENSITY = "intensity"
ILLUMINANCE = "illuminance"
FLUX = "flux"

UNITS: dict[str, str] = {
    "relative": RELATIVE,
    "nit": LUMINANCE,
    "cd/m2": LUMINANCE,
    "cd": INTENSITY,
    "lx": ILLUMINANCE,
    "lm": FLUX,
}
"""The units of a level, each with the quantity that it measures."""

UNIT_OF: dict[str, str] = {RELATIVE: "", LUMINANCE: "cd/m²", INTENSITY: "cd", ILLUMINANCE: "lx", FLUX: "lm"}
"""How the canonical value of each quantity is labelled."""

AREA_SHAPES = ("rect", "disk", "sphere", "cylinder", "mesh")
ENVIRONMENT_SHAPES = ("environment", "dome", "portal")

FALLBACK_RADIUS = 0.5
FALLBACK_WIDTH = 1.0
FALLBACK_HEIGHT = 1.0
FALLBACK_LENGTH = 1.0
FALLBACK_ANGLE = 0.53


def effective(intensity: float, exposure: float = 0.0) -> float:
    """intensity x 2^exposure, in the unit of the intensity.

    Raises ValueError when either is not finite or the result is too large for a number.

    >>> effective(1.6, 1) == effective(3.2, 0) == 3.2
    True
    """
    if not (math.isfinite(intensity) and math.isfinite(exposure)):
        raise ValueError(f"intensity and exposure are finite, found {intensity:g} and {exposure:g}")
    try:
        level = float(intensity) * math.pow(2.0, exposure)
    except OverflowError:
        level = math.inf
    if not math.isfinite(level):
        raise ValueError(f"an exposure of {exposure:g} stops on {intensity:g} is beyond any number")
    return level


def stops(value: float, reference: float) -> float:
    """How many stops (factors of two) `value` is brighter than `reference`; swapping the two flips the sign.

    Both black is 0; a light where the reference has none is +inf, none where it has one is -inf. Negative
    levels have no stops and raise ValueError, as does NaN.

    >>> stops(8.0, 1.0), stops(0.0, 0.0), stops(0.0, 1.0)
    (3.0, 0.0, -inf)
    """
    if math.isnan(value) or math.isnan(reference) or value < 0.0 or reference < 0.0:
        raise ValueError(f"stops compare levels of 0 or more, found {value:g} and {reference:g}")
    if value == reference:
        return 0.0
    if value == 0.0:
        return -math.inf
    if reference == 0.0:
        return math.inf
    # The difference of logarithms: the ratio itself may overflow.
    return math.log2(value) - math.log2(reference)


class LightSizes(NamedTuple):
    """The sizes that a light states: lengths, and the full apparent diameter of a distant light in degrees. None is
    UsdLux's fallback."""

    radius: float | None = None
    width: float | None = None
    height: float | None = None
    length: float | None = None
    angle: float | None = None
    area: float | None = None


FALLBACK_SIZES = LightSizes()


def area(shape: str, sizes: LightSizes = FALLBACK_SIZES) -> float:
    """UsdLux's size factor of a light: the emitting area of an area light, in squares of the unit of its
    sizes.

    rect w x h (one side), disk pi r^2, sphere 4 pi r^2, cylinder 2 pi r l (dark caps), of a mesh what it states. For a distant light,
    whose angle is its full diameter, with t = half of it: 1 at 0, pi sin^2 t up to 90 degrees,
    above pi (2 - sin^2 t). 1 for every other shape. Sizes not given are UsdLux's fallbacks. Raises ValueError
    for a negative size.

    >>> area("rect", LightSizes(width=2, height=3))
    6.0
    >>> round(area("distant", LightSizes(angle=180)), 6)  # a whole hemisphere
    3.141593
    """
    r = _size("radius", sizes.radius, FALLBACK_RADIUS)
    if shape == "rect":
        return _size("width", sizes.width, FALLBACK_WIDTH) * _size("height", sizes.height, FALLBACK_HEIGHT)
    if shape == "disk":
        return math.pi * r * r
    if shape == "sphere":
        return 4.0 * math.pi * r * r
    if shape == "cylinder":
        return 2.0 * math.pi * r * _size("length", sizes.length, FALLBACK_LENGTH)
    if shape == "mesh":
        return _size("area", sizes.area, 1.0)
    if shape == "distant":
        return distant_size_factor(FALLBACK_ANGLE if sizes.angle is None else sizes.angle)
    return 1.0


def distant_size_factor(angle: float) -> float:
    """UsdLux's size factor of a distant light of this full apparent diameter (degrees); see `area`.

    >>> f"{distant_size_factor(0.53):.5e}"
    '6.72037e-05'
    """
    if not math.isfinite(angle) or angle < 0.0:
        raise ValueError(f"the angle of a distant light is 0 degrees or more, found {angle:g}")
    half = min(math.radians(angle) / 2.0, math.pi)
    if half == 0.0:
        return 1.0
    sine = math.sin(half)
    return math.pi * sine * sine if half <= math.pi / 2.0 else math.pi * (2.0 - sine * sine)


def facing_share(angle: float | None) -> float:
    """The share of its size factor that a surface which faces a distant light of this angle (degrees) sees: 1 up to 180.

    >>> facing_share(90.0), facing_share(360.0)
    (1.0, 0.5)
    """
    wide = FALLBACK_ANGLE if angle is None else angle
    return 1.0 if wide <= 180.0 else math.pi / distant_size_factor(wide)


def _size(name: str, value: float | None, fallback: float) -> float:
    if value is None:
        return fallback
    if not math.isfinite(value) or value < 0.0:
        raise ValueError(f"the {name} of a light is 0 or more, found {value:g}")
    return float(value)


def emitted(
    intensity: float,
    exposure: float = 0.0,
    *,
    shape: str,
    normalize: bool | None = None,
    sizes: LightSizes = FALLBACK_SIZES,
    area_unit: float = 1.0,
) -> float:
    """The level of a light whose intensity has no declared photometric unit: what it gives, all sizes
    counted.

    For rect, disk, sphere and cylinder this is luminance x emitting area (m^2): with `normalize` off or not
    given (UsdLux's fallback is off) intensity x 2^exposure x area; with `normalize` on the area is already in
    the number, in squares of `area_unit` (metres in the length unit in which areas were counted: 0.01 in a
    centimetre scene), so intensity x 2^exposure x area_unit^2. So a normalised light and an un-normalised one
    of equal light have equal levels.

    For a distant light this is its illuminance: with `normalize` on or not given intensity x 2^exposure, with
    `normalize` off that times the size factor of its angle. (Of one wider than 180 degrees a surface that faces it receives
    `facing_share` of that.) Other shapes ignore `normalize`: intensity x
    2^exposure. Sizes are in metres. Errors as `effective` and `area`.

    >>> emitted(5, shape="rect", sizes=LightSizes(width=2, height=3)), emitted(30, shape="rect", normalize=True)
    (30.0, 30.0)
    """
    level = effective(intensity, exposure)
    if counts_sizes(shape, normalize):
        return level * area(shape, sizes)
    return level * _square(area_unit) if shape in AREA_SHAPES else level


def counts_sizes(shape: str, normalize: bool | None) -> bool:
    """Whether what `emitted` gives, and whether that is without an area, hangs on the sizes of a light.

    >>> counts_sizes("rect", None), counts_sizes("rect", True), counts_sizes("distant", None)
    (True, False, False)
    """
    return not normalize if shape in AREA_SHAPES else shape == "distant" and normalize is False


def _square(area_unit: float) -> float:
    if not math.isfinite(area_unit) or area_unit <= 0.0:
        raise ValueError(f"the length unit of areas is a positive number of metres, found {area_unit:g}")
    return area_unit * area_unit


def photometric(
    value: float,
    unit: str,
    *,
    shape: str,
    cone: float | None = None,
    normalize: bool | None = None,
    sizes: LightSizes = FALLBACK_SIZES,
    area_unit: float = 1.0,
) -> tuple[float, str]:
    """A level with a declared unit as (value, quantity), in the one quantity in which lights of its shape are
    compared.

    `value` is intensity x 2^exposure in `unit` (a key of `UNITS`). Two levels compare only when their
    quantities are equal; a relative level stays relative, whatever the shape (use `emitted` for its value).

    - point: intensity (cd); lm spread over the whole sphere, lm / 4 pi; with a radius, cd/m2 x pi r^2.
    - spot: intensity on the axis; lm spread evenly within the cone, lm / (2 pi (1 - cos cone)), `cone` being
      the half angle (degrees) and softness taken as 0; without a cone as a point. With a radius, cd/m2 x pi
      r^2.
    - rect, disk, sphere, cylinder: intensity along the brightest direction; cd/m2 x the area seen from there
      (w h, pi r^2, pi r^2, 2 r l); lm / (pi A) is the luminance of an even Lambertian emitter of area A (a
      rect or disk emits from one side). With `normalize` on, a luminance was divided by A counted in squares
      of `area_unit` metres.
    - mesh: as these where its area is known, all of it taken as seen.
    - distant: illuminance (lx) facing the light; cd/m2 x the size factor of its angle, or as it stands with
      `normalize` on.
    - environment, dome, portal: luminance; lx / pi, as on a surface under an even hemisphere.

    What geometry cannot convert keeps the quantity of its unit. Raises ValueError for an unknown unit, a cone
    outside 0..180 or a wrong size.

    >>> value, quantity = photometric(1000, "lm", shape="point")
    >>> round(value, 4), quantity
    (79.5775, 'intensity')
    """
    if unit not in UNITS:
        raise ValueError(f"the unit of a level is one of {', '.join(UNITS)}; found {unit!r}")
    if not math.isfinite(value):
        raise ValueError(f"a level is a finite number, found {value:g}")
    quantity = UNITS[unit]
    if quantity == RELATIVE:
        return value, RELATIVE
    if shape in ("point", "spot"):
        return _of_point(value, quantity, cone if shape == "spot" else None, sizes.radius)
    if shape in AREA_SHAPES and (shape != "mesh" or sizes.area is not None):
        return _of_area(
            value, quantity, SEEN_SHARE[shape], area(shape, sizes), area_unit if normalize else None
        )
    if shape == "distant" and quantity == LUMINANCE:
        return (value if normalize else value * area(shape, sizes)) * facing_share(sizes.angle), ILLUMINANCE
    if shape in ENVIRONMENT_SHAPES and quantity == ILLUMINANCE:
        return value / math.pi, LUMINANCE
    return value, quantity


def _of_area(value: float, quantity: str, seen: float, size: float, unit: float | None) -> tuple[float, str]:
    """The level of a light of a `size` of which the share `seen` is seen; `unit` where that was divided out of a luminance."""
    if quantity == LUMINANCE:
        return (value * _square(unit) * seen if unit is not None else value * (size * seen)), INTENSITY
    return (value / math.pi * seen, INTENSITY) if quantity == FLUX else (value, quantity)


def without_area(
    unit: str,
    *,
    shape: str,
    normalize: bool | None = None,
    sizes: LightSizes = FALLBACK_SIZES,
) -> str | None:
    """In what quantity lights compare whose level counts per area and that have none; None for every other light.

    Such are a sphere of radius 0, a rect of width 0, a tube of length 0, a point of radius 0 in nits, unless their size
    is normalised out. Times their area all of them are 0, whatever their strength, and renderers that take them as
    points or lines do shine: what can be told is intensity x 2^exposure itself. Arguments and errors as `emitted`.

    >>> [without_area("nit", shape="sphere", sizes=LightSizes(radius=radius)) for radius in (0.0, 0.1)]
    ['luminance', None]
    """
    quantity = UNITS[unit]
    if quantity not in (RELATIVE, LUMINANCE):
        return None
    factor = 1.0
    if shape in ("point", "spot"):
        factor = area("disk", sizes) if quantity == LUMINANCE and sizes.radius is not None else 1.0
    elif (shape in AREA_SHAPES and not normalize) or (
        shape == "distant" and (normalize is False or (normalize is None and quantity == LUMINANCE))
    ):
        factor = area(shape, sizes)
    if factor > 0.0:
        return None
    return LUMINANCE if quantity == LUMINANCE else RELATIVE_LUMINANCE


# Share of its emitting area that a light shows along its brightest direction (pi r^2 of 4 pi r^2; 2 r l of 2
# pi r l).
# Of a mesh it is not known, and taken as all.
SEEN_SHARE: dict[str, float] = {
    "rect": 1.0,
    "disk": 1.0,
    "sphere": 0.25,
    "cylinder": 1.0 / math.pi,
    "mesh": 1.0,
}


def seen_area(shape: str, sizes: LightSizes = FALLBACK_SIZES) -> float:
    """The area (m^2) that an area light shows along its brightest direction: its luminance times this is its
    intensity.

    >>> round(seen_area("sphere", LightSizes(radius=1)), 6)
    3.141593
    """
    if shape not in AREA_SHAPES:
        raise ValueError(f"{shape!r} is no area light; those are {', '.join(AREA_SHAPES)}")
    return area(shape, sizes) * SEEN_SHARE[shape]


def _of_point(value: float, quantity: str, cone: float | None, radius: float | None) -> tuple[float, str]:
    if quantity == FLUX:
        half = 180.0 if cone is None else cone
        if not 0.0 <= half <= 180.0:
            raise ValueError(f"the cone of a spot is a half angle of 0 to 180 degrees, found {half:g}")
        # 1 - cos written with the half angle's sine, which keeps its digits for narrow cones.
        solid = 4.0 * math.pi * math.sin(math.radians(half) / 2.0) ** 2
        if solid == 0.0:
            return value, FLUX
        return value / solid, INTENSITY
    if quantity == LUMINANCE and radius is not None:
        size = _size("radius", radius, FALLBACK_RADIUS)
        return value * math.pi * size * size, INTENSITY
    return value, quantity
