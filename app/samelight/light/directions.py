"""Every spelling of where a light shines, as one unit vector.

The frame is right-handed and Y-up. A *direction* is where the light shines to; *azimuth* and *elevation* say
where it comes from, the azimuth clockwise as seen from above, from `north`. With the usual north (0, 0, -1)
east is +X. A light shines along its own -Z, as in UsdLux and in glTF's KHR_lights_punctual.
"""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from samelight.light.elementary import arctan2, hypot
from samelight.light.noise import NOISE, SINGLE
from samelight.light.rows import cross, lengths, product, projection

Vector = tuple[float, float, float]
Array = npt.NDArray[np.float64]

NORTH: Vector = (0.0, 0.0, -1.0)
UP: Vector = (0.0, 1.0, 0.0)
LYING = 80.0
"""Degrees of a normal off the horizon beyond which a mark is no face but a surface, which has one side only."""
EULER_ORDERS = ("XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX")

# Shorter than this, relative to its matrix, an axis has been scaled away and points nowhere.
_VANISHED = 1e-12
"""Of a unit vector: what is shorter than this along the ground points straight up or down."""


def normalised(vector: Sequence[float]) -> Vector:
    """The unit vector of `vector`.

    Raises ValueError when it has not three finite numbers or no length.

    >>> normalised((0, 3, 4))
    (0.0, 0.6, 0.8)
    """
    if len(vector) != 3:
        raise ValueError(f"a direction has three numbers, found {len(vector)}")
    x, y, z = map(float, vector)
    if not math.isfinite(x + y + z) and not (math.isfinite(x) and math.isfinite(y) and math.isfinite(z)):
        raise ValueError(f"a direction has finite numbers, found ({x:g}, {y:g}, {z:g})")
    # Divided by the largest first, so that very short and very long vectors neither vanish nor overflow.
    largest = max(abs(x), abs(y), abs(z))
    if largest == 0.0:
        raise ValueError("the vector (0, 0, 0) points nowhere")
    x, y, z = x / largest, y / largest, z / largest
    length = math.sqrt(x * x + y * y + z * z)
    return (x / length, y / length, z / length)


def from_azimuth_elevation(azimuth: float, elevation: float, north: Vector = NORTH) -> Vector:
    """The unit vector a light shines to that comes from `azimuth` and `elevation` (degrees).

    Azimuth is any finite number, clockwise seen from above from `north`; elevation is within -90..90. Only
    the horizontal part of `north` counts. Raises ValueError outside these.

    >>> [round(number, 6) + 0.0 for number in from_azimuth_elevation(90, 0)]  # comes from the east
    [-1.0, 0.0, 0.0]
    """
    if not math.isfinite(azimuth):
        raise ValueError(f"an azimuth is a finite number of degrees, found {azimuth:g}")
    if not -90.0 <= elevation <= 90.0:
        raise ValueError(f"an elevation lies between -90 and 90 degrees, found {elevation:g}")
    (north_x, north_z), (east_x, east_z) = _compass(north)
    turn, rise = math.radians(azimuth), math.radians(elevation)
    flat = math.cos(rise)
    along_north, along_east = flat * math.cos(turn), flat * math.sin(turn)
    return normalised(
        (
            -(along_north * north_x + along_east * east_x),
            -math.sin(rise),
            -(along_north * north_z + along_east * east_z),
        )
    )


def to_azimuth_elevation(direction: Vector, north: Vector = NORTH) -> tuple[float, float]:
    """Azimuth in [0, 360) and elevation in [-90, 90] degrees that a light shining to `direction` comes from.

    Straight above and straight below every azimuth is as good as another; there it is 0 by convention.
    Raises ValueError for a vector that points nowhere.

    >>> to_azimuth_elevation((0, -1, 0))
    (0.0, 90.0)
    """
    x, y, z = normalised(direction)
    (north_x, north_z), (east_x, east_z) = _compass(north)
    flat = math.hypot(x, z)
    elevation = math.degrees(math.atan2(-y, flat))
    if flat < _VANISHED:
        return (0.0, math.copysign(90.0, -y))
    azimuth = math.degrees(math.atan2(-(x * east_x + z * east_z), -(x * north_x + z * north_z)))
    azimuth %= 360.0
    # A tiny negative angle comes out of the modulo as exactly 360; adding zero turns -0.0 into 0.0.
    return (0.0 if azimuth >= 360.0 else azimuth + 0.0, elevation + 0.0)


def azimuths_and_elevations(directions: npt.ArrayLike, north: Vector = NORTH) -> tuple[Array, Array]:
    """`to_azimuth_elevation` of vectors of any length, shape (n, 3); NaN where one has none.

    >>> [angles.tolist() for angles in azimuths_and_elevations([(0, -1, 0), (-1, 0, 0)])]
    [[0.0, 90.0], [90.0, 0.0]]
    """
    x, y, z = np.asarray(directions, dtype=np.float64).T
    (north_x, north_z), (east_x, east_z) = _compass(north)
    flat = hypot(x, z)
    with np.errstate(invalid="ignore"):
        azimuth: Array = np.degrees(arctan2(-(x * east_x + z * east_z), -(x * north_x + z * north_z))) % 360.0
        elevation: Array = np.degrees(arctan2(-y, flat)) + 0.0
        azimuth[azimuth >= 360.0] = 0.0
        azimuth[flat < _VANISHED * hypot(flat, y)] = 0.0
    return azimuth, elevation


def _compass(north: Sequence[float]) -> tuple[tuple[float, float], tuple[float, float]]:
    """Horizontal unit vectors (x, z) to the north and to the east."""
    if north is NORTH:  # nearly always
        return _USUAL_COMPASS
    return _plain_compass(north)


def _plain_compass(north: Sequence[float]) -> tuple[tuple[float, float], tuple[float, float]]:
    x, _, z = normalised(north)
    length = math.hypot(x, z)
    if length < _VANISHED:
        raise ValueError("north must not point straight up or down")
    x, z = x / length, z / length
    return (x, z), (-z, x)


_USUAL_COMPASS = _plain_compass(NORTH)


def from_euler(angles: Sequence[float], order: str = "XYZ") -> Array:
    """The 3x3 rotation of three angles (degrees, about x, y and z), for column vectors.

    `order` names the axes in the order in which the rotations are applied, about axes that stay fixed, as
    USD's `xformOp:rotateXYZ` does: "XYZ" turns about x first. `angles` is always (x, y, z), whatever the
    order. Raises ValueError for another order or for numbers that are not finite.

    >>> from samelight.light.rows import image
    >>> image(from_euler((90, 0, 0)), np.array([0, 0, -1])).round(6) + 0.0
    array([0., 1., 0.])
    """
    if order not in EULER_ORDERS:
        raise ValueError(f"rotation order {order!r} is none of {', '.join(EULER_ORDERS)}")
    if len(angles) != 3 or not all(math.isfinite(angle) for angle in angles):
        raise ValueError(f"a rotation has three finite angles in degrees, found {tuple(angles)}")
    turned = np.eye(3)
    for axis in order:
        turned = product(_about(axis, angles["XYZ".index(axis)]), turned)
    return turned


def _about(axis: str, angle: float) -> Array:
    turn = math.radians(math.remainder(angle, 360.0))
    c, s = math.cos(turn), math.sin(turn)
    if axis == "X":
        return np.array([[1, 0, 0], [0, c, -s], [0, s, c]], dtype=np.float64)
    if axis == "Y":
        return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]], dtype=np.float64)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]], dtype=np.float64)


def direction_from_euler(angles: Sequence[float], order: str = "XYZ") -> Vector:
    """Where a light turned by `angles` (degrees) shines: the image of its own -Z. Errors as `from_euler`."""
    return normalised(_as_tuple(-from_euler(angles, order)[:, 2]))


def direction_from_matrix(matrix: Sequence[float] | Sequence[Sequence[float]]) -> Vector:
    """Where a light with this 4x4 transform shines: the image of its own -Z.

    `matrix` is 16 numbers or four rows of four, for row vectors, the translation in the last row, as USD
    prints it (glTF's flat list has the same order). Scale is divided out. A mirrored axis counts as it
    stands: a light whose z is scaled by -1 shines the other way. Raises ValueError when the matrix is not
    4x4, not finite, or has its z axis scaled away.

    >>> direction_from_matrix([1, 0, 0, 0, 0, 2, 0, 0, 0, 0, 3, 0, 5, 6, 7, 1])
    (0.0, 0.0, -1.0)
    """
    return _axis_of(_four_by_four(matrix), 2, -1.0)


def _axis_of(rows: Array, axis: int, sign: float) -> Vector:
    pointed = sign * rows[axis, :3]
    if float(lengths(pointed)) <= _VANISHED * float(np.abs(rows[:3, :3]).max()):
        raise ValueError(
            f"the matrix scales its {'xyz'[axis]} axis to nothing, so that the light has no direction"
        )
    return normalised(_as_tuple(pointed + 0.0))


def across_from_euler(angles: Sequence[float], order: str = "XYZ") -> Vector:
    """Where a turned light's own +X lies: the width of a rect, the axis of a cylinder. Errors as
    `from_euler`."""
    return normalised(_as_tuple(from_euler(angles, order)[:, 0]))


def across_from_matrix(matrix: Sequence[float] | Sequence[Sequence[float]]) -> Vector:
    """Where a light's own +X lies under a 4x4 transform. Conventions and errors as `direction_from_matrix`.

    >>> across_from_matrix([2, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 5, 6, 7, 1])
    (1.0, 0.0, 0.0)
    """
    return _axis_of(_four_by_four(matrix), 0, 1.0)


def position_from_matrix(matrix: Sequence[float] | Sequence[Sequence[float]]) -> Vector:
    """The translation of a 4x4 transform (see `direction_from_matrix`).

    >>> position_from_matrix([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 5, 6, 7, 1])
    (5.0, 6.0, 7.0)
    """
    return _as_tuple(_four_by_four(matrix)[3, :3])


def _four_by_four(matrix: Sequence[float] | Sequence[Sequence[float]]) -> Array:
    try:
        numbers = np.asarray(matrix, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise ValueError("a matrix has 16 numbers, or four rows of four") from error
    if numbers.shape not in ((16,), (4, 4)):
        raise ValueError(f"a matrix has 16 numbers, or four rows of four; found the shape {numbers.shape}")
    if not np.isfinite(numbers).all():
        raise ValueError("a matrix has finite numbers")
    rows: Array = numbers.reshape(4, 4)
    return rows


def _as_tuple(numbers: Array) -> Vector:
    return (float(numbers[0]), float(numbers[1]), float(numbers[2]))


def direction_from_target(position: Sequence[float], target: Sequence[float]) -> Vector:
    """The unit vector from `position` to `target`. Raises ValueError when they are the same place.

    >>> direction_from_target((0, 2, 0), (0, 0, 0))
    (0.0, -1.0, 0.0)
    """
    try:
        return normalised([float(to) - float(at) for at, to in zip(position, target, strict=True)])
    except ValueError as error:
        raise ValueError(f"no direction from {tuple(position)} to {tuple(target)}: {error}") from error


def to_y_up(vector: Sequence[float], up_axis: str) -> Vector:
    """`vector` of a scene whose `up_axis` is "Y" or "Z", in the Y-up frame. Raises ValueError for another
    axis.

    >>> to_y_up((1, 2, 3), "Z")
    (1.0, 3.0, -2.0)
    """
    x, y, z = map(float, vector)
    if up_axis == "Y":
        return (x, y, z)
    if up_axis == "Z":
        return (x, z, -y)
    raise ValueError(f"the up axis is Y or Z, found {up_axis!r}")


def is_lying(normal: Vector) -> bool:
    """Whether what has this unit normal is a floor, a table or a ceiling rather than a face.

    >>> is_lying((0.0, 1.0, 0.0)), is_lying((0.0, 0.6, 0.8))
    (True, False)
    """
    return angle_between(normal, (0.0, math.copysign(1.0, normal[1]), 0.0)) < 90.0 - LYING


def angle_between(a: Sequence[float], b: Sequence[float]) -> float:
    """The great-circle angle between two vectors, in degrees within 0..180; symmetric, blind to their
    lengths.

    Taken as atan2(|a - b|, |a + b|) of the unit vectors (Kahan 2006, "How futile are mindless assessments of
    roundoff in floating-point computation?", section 12), which keeps its precision near 0 and 180 degrees,
    where acos does not. Raises ValueError for a vector that points nowhere.

    >>> round(angle_between((1, 0, 0), (0, 2, 0)), 9)
    90.0
    """
    first, second = normalised(a), normalised(b)
    together = math.hypot(*(x + y for x, y in zip(first, second, strict=True)))
    return math.degrees(2.0 * math.atan2(math.dist(first, second), together))


def angles_between(a: npt.ArrayLike, b: npt.ArrayLike) -> Array:
    """`angle_between` of arrays of shape (..., 3), which broadcast; NaN where a vector points nowhere.

    >>> angles_between([(1, 0, 0), (0, 1, 0)], (0, 1, 0)).round(6)
    array([90.,  0.])
    """
    first, second = _unit_rows(a), _unit_rows(b)
    degrees: Array = np.degrees(2.0 * arctan2(lengths(first - second), lengths(first + second)))
    return degrees


def _unit_rows(vectors: npt.ArrayLike) -> Array:
    rows = np.asarray(vectors, dtype=np.float64)
    largest = np.max(np.abs(rows), axis=-1, keepdims=True)
    with np.errstate(invalid="ignore", divide="ignore"):
        rows = rows / largest
        unit: Array = rows / lengths(rows)[..., None]
    return unit


HALF = 180.0 * (1.0 - NOISE)
"""Degrees from which a turn is half a turn, forwards: else its sign would hang on the last digit."""


def turn_between(a: float, b: float) -> float:
    """The signed smallest turn from heading `a` to heading `b` (degrees), in (-180, 180]; half a turn, but for noise, is 180.

    >>> turn_between(350, 10), turn_between(10, 350), turn_between(0, 180)
    (20.0, -20.0, 180.0)
    """
    turn = math.remainder(b - a, 360.0)
    return 180.0 if abs(turn) >= HALF else turn + 0.0


def level_turn(before: Vector, after: Vector) -> float:
    """Degrees by which a vector's heading is turned, clockwise as seen from above, in (-180, 180]; neither may be upright.

    >>> level_turn((0.0, 0.0, -1.0), (1.0, 0.5, 0.0))
    90.0
    """
    heading, other = (math.degrees(math.atan2(z, x)) for x, _, z in (before, after))
    return turn_between(heading, other)


def turned_level(vector: Vector, turn: float) -> Vector:
    """A vector turned about the vertical by so many degrees, clockwise as seen from above.

    >>> [round(part, 6) for part in turned_level((0.0, 0.5, -1.0), 60.0)]
    [0.866025, 0.5, -0.5]
    """
    x, y, z = vector
    sine, cosine = math.sin(math.radians(turn)), math.cos(math.radians(turn))
    return x * cosine - z * sine, y, x * sine + z * cosine


def bearing_between(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Degrees of the great circle from one direction to another, each as its angle about the vertical and its height.

    Positive where the second is turned to the right, or is as far round and higher; swapping the two flips the sign. In
    [-180, 180]; NaN where one is not known. The haversine: R. W. Sinnott, "Virtues of the Haversine", Sky and Telescope 68
    (1984) 159.

    >>> bearing_between((0.0, 30.0), (0.0, 20.0)), round(bearing_between((0.0, 60.0), (90.0, 60.0)), 6)
    (-10.0, 41.409622)
    """
    turn, rise = turn_between(a[0], b[0]), b[1] - a[1]
    half_turn, half_rise = (math.sin(math.radians(way / 2.0)) for way in (turn, rise))
    level = math.cos(math.radians(a[1])) * math.cos(math.radians(b[1]))
    share = min(half_rise * half_rise + level * half_turn * half_turn, 1.0)
    apart = 2.0 * math.degrees(math.atan2(math.sqrt(share), math.sqrt(1.0 - share)))
    return -apart if turn < 0.0 or (turn == 0.0 and rise < 0.0) else apart


def slerp(a: Sequence[float], b: Sequence[float], t: float) -> Vector:
    """The unit vector at share `t` (0 gives `a`, 1 gives `b`) of the shortest great-circle way from `a` to
    `b`.

    `t` outside 0..1 goes on along the same circle. Between opposite vectors, but for noise, every way is as short as another:
    the one taken then turns about the axis at right angles to `a` that lies nearest to the vertical, so that
    a level light swings round the horizon. Raises ValueError for a vector that points nowhere or a `t` that
    is not finite.

    >>> [round(number, 6) for number in slerp((1, 0, 0), (0, 1, 0), 0.5)]
    [0.707107, 0.707107, 0.0]
    """
    if not math.isfinite(t):
        raise ValueError(f"a share is a finite number, found {t:g}")
    start, end = np.array(normalised(a)), np.array(normalised(b))
    angle = math.radians(float(angles_between(start, end)))
    sideways = end - projection(start, end) * start
    length = float(lengths(sideways))
    if length < _VANISHED and angle < 1.0:
        return _as_tuple(start)
    if length < SINGLE and angle > 1.0:
        sideways = cross(_level_axis(start), start)
        length = float(lengths(sideways))
    sideways = sideways / length
    return normalised(_as_tuple(math.cos(t * angle) * start + math.sin(t * angle) * sideways))


def _level_axis(unit: Array) -> Array:
    """The axis at right angles to `unit` that lies nearest to the vertical (north for a vertical `unit`)."""
    for reference in (UP, NORTH):
        axis = np.array(reference) - projection(np.array(reference), unit) * unit
        if (length := float(lengths(axis))) > 1e-6:
            return np.asarray(axis / length)
    raise AssertionError("a vector cannot lie along both the vertical and north")
