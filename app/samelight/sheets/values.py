"""The canonical values that sheets are compared by: small, immutable, hashable.

Besides these, a value may be a float, a bool, a str, a tuple of floats (a vector or a list of numbers) or a
frozenset of str.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from operator import itemgetter
from typing import Any, TypeAlias

from samelight.light import locus
from samelight.light.directions import Vector, bearing_between, slerp, turn_between
from samelight.light.noise import NOISE, SINGLE, figure, same_place
from samelight.light.rolling import FULL, roll_between


@dataclass(frozen=True, slots=True)
class Level:
    """How much light leaves a light: intensity x 2^exposure x luminance of its colour x area where it counts.

    `quantity` says in what terms (`relative`, `intensity` in cd, `illuminance` in lx, …); two levels compare
    only in equal terms.
    """

    value: float
    quantity: str = "relative"


@dataclass(frozen=True, slots=True)
class Colour:
    """Chromaticity in CIE 1976 u'v'."""

    u: float
    v: float


@dataclass(frozen=True, slots=True)
class Roll:
    """How a light or a camera is rolled: degrees as `light.rolling` counts them, about the direction it points to.

    It looks the same after `every` so many degrees: a plain rectangle after half a turn.
    """

    degrees: float
    about: tuple[float, float, float]
    every: float = FULL


@dataclass(frozen=True, slots=True)
class Bearing:
    """Whence a light comes as somebody sees it: degrees about the vertical, positive to the right, and its height."""

    degrees: float
    height: float


@dataclass(frozen=True, slots=True)
class FileRef:
    """A file by path and, where known, by the SHA-256 of its content.

    `holds` is what a sheet keeps of that content, so that nobody needs the file: the pixels of a reduced picture, or a
    light's profile, as text.
    """

    path: str
    sha256: str = ""
    holds: str = ""

    def names_the_same(self, other: FileRef) -> bool:
        """Whether both name one file with one content, whatever either keeps of it."""
        return (self.path, self.sha256) == (other.path, other.sha256)


@dataclass(frozen=True, slots=True)
class Amount:
    """A number of a parameter whose name says nothing, written with a unit; in the canonical unit."""

    value: float
    dimension: str


Static: TypeAlias = (
    float
    | bool
    | str
    | tuple[float, ...]
    | frozenset[str]
    | Level
    | Colour
    | Roll
    | Bearing
    | FileRef
    | Amount
)


INTERPOLATIONS: tuple[str, ...] = ("linear", "held")
"""How a value with time gets from one key to the next."""


@dataclass(frozen=True, slots=True)
class Curve:
    """An animated value: canonical values at ascending frames; the end values hold outside them."""

    keys: tuple[tuple[float, Static], ...]
    interpolation: str = "linear"

    def frames(self) -> list[float]:
        """The key frames, ascending."""
        return [frame for frame, _ in self.keys]

    def at(self, frame: float) -> Static:
        """The value at a frame: linear between numbers, along the great circle between directions.

        What cannot be blended (text, switches, sets, files) holds until the next key, as a curve whose
        interpolation is `held` does throughout.
        """
        right = bisect.bisect_right(self.keys, frame, key=itemgetter(0))
        if right == 0:
            return self.keys[0][1]
        start, value = self.keys[right - 1]
        if right == len(self.keys) or start == frame or self.interpolation == "held":
            return value
        end, following = self.keys[right]
        return blend(value, following, (frame - start) / (end - start))


Value: TypeAlias = Static | Curve
Group: TypeAlias = Mapping[str, Value]
"""Values by parameter. Groups that are typed alike are one object, and so never changed."""


@dataclass(frozen=True, slots=True)
class Named:
    """Several values, each under a name, that a decision was made on together: no sheet states one.

    `values` are in order of name; None stands for what is not there.
    """

    values: tuple[tuple[str, Value | None], ...]

    @classmethod
    def of(cls, values: Mapping[str, Value | None]) -> Named:
        """These values, in order of name."""
        return cls(tuple(sorted(values.items(), key=itemgetter(0))))


Bound: TypeAlias = Value | Named
"""What a decision is bound to."""


def as_vector(value: Value | None) -> Vector | None:
    """A value that is three numbers as a vector; None for any other."""
    if isinstance(value, tuple) and len(value) == 3:
        return value[0], value[1], value[2]
    return None


def blend(a: Static, b: Static, t: float) -> Static:
    """The value a share `t` (0..1) of the way from a to b; a where the two do not blend."""
    if isinstance(a, bool) or isinstance(b, bool):
        return a
    if isinstance(a, float) and isinstance(b, float):
        return a + (b - a) * t
    if isinstance(a, tuple) and isinstance(b, tuple) and len(a) == len(b):
        if len(a) == 3 and _is_unit(a) and _is_unit(b):
            return slerp((a[0], a[1], a[2]), (b[0], b[1], b[2]), t)
        return tuple(x + (y - x) * t for x, y in zip(a, b, strict=True))
    if isinstance(a, Level) and isinstance(b, Level) and a.quantity == b.quantity:
        return Level(a.value + (b.value - a.value) * t, a.quantity)
    if isinstance(a, Colour) and isinstance(b, Colour):
        return Colour(a.u + (b.u - a.u) * t, a.v + (b.v - a.v) * t)
    if isinstance(a, Amount) and isinstance(b, Amount) and a.dimension == b.dimension:
        return Amount(a.value + (b.value - a.value) * t, a.dimension)
    if isinstance(a, Roll) and isinstance(b, Roll):
        return Roll(a.degrees + turn_between(a.degrees, b.degrees) * t, slerp(a.about, b.about, t), a.every)
    return a


def _is_unit(vector: tuple[float, ...]) -> bool:
    return abs(math.fsum(x * x for x in vector) - 1.0) < 1e-9


def in_figures(value: Static) -> Static:
    """A value with its numbers to 12 significant digits, so that spellings that mean one thing are one to the last of them.

    The same object where they are that short already, as most typed ones are.

    >>> in_figures(Level(0.1 + 0.2)), in_figures((0.5, 2 / 3))
    (Level(value=0.3, quantity='relative'), (0.5, 0.666666666667))
    """
    match value:
        case bool():
            return value
        case float():
            return value if (short := figure(value)) == value else short
        case tuple():
            shorter = tuple(map(figure, value))
            return value if shorter == value else shorter
        case Level(amount, quantity):
            return value if (short := figure(amount)) == amount else Level(short, quantity)
        case Colour(u, v):
            uv = figure(u), figure(v)
            return value if uv == (u, v) else Colour(*uv)
        case Amount(amount, dimension):
            return value if (short := figure(amount)) == amount else Amount(short, dimension)
        case Roll(degrees, (x, y, z), every):
            return Roll(figure(degrees), (figure(x), figure(y), figure(z)), every)
    return value


def strictly_equal(a: object, b: object) -> bool:
    """Equal in type and value: 1.0 is not True, whatever `==` says.

    >>> strictly_equal(1.0, True), strictly_equal(64.0, 64.0)
    (False, True)
    """
    return type(a) is type(b) and a == b


def encoded(value: Bound | None) -> Any:
    """A value as plain data for files that outlive the program, the inverse of `decoded` and `decoded_bound`.

    Of a file what a sheet keeps of it is left out.

    >>> encoded(Level(3.2))
    {'level': 3.2, 'quantity': 'relative'}
    """
    match value:
        case Level(amount, quantity):
            return {"level": amount, "quantity": quantity}
        case Colour(u, v):
            return {"u": u, "v": v}
        case FileRef(path, sha256):
            return {"path": path, "sha256": sha256} if sha256 else {"path": path}
        case Amount(amount, dimension):
            return {"amount": amount, "dimension": dimension}
        case Roll(degrees, about, every):
            return {"roll": degrees, "about": list(about), "every": every}
        case Bearing(degrees, height):
            return {"bearing": degrees, "height": height}
        case Curve(keys, interpolation):
            return {"keys": [[frame, encoded(key)] for frame, key in keys], "interpolation": interpolation}
        case Named(values):
            return {"values": {name: encoded(one) for name, one in values}}
        case frozenset():
            return {"set": sorted(value)}
        case tuple():
            return list(value)
        case _:
            return value


def _roll(data: Any) -> Roll:
    x, y, z = map(float, _list_of(data["about"]))
    return Roll(float(data["roll"]), (x, y, z), float(data["every"]))


_FROM_MAPPING: Mapping[frozenset[str], Callable[[Any], Value]] = {
    frozenset({"level", "quantity"}): lambda d: Level(float(d["level"]), str(d["quantity"])),
    frozenset({"u", "v"}): lambda d: Colour(float(d["u"]), float(d["v"])),
    frozenset({"path", "sha256"}): lambda d: FileRef(str(d["path"]), str(d["sha256"])),
    frozenset({"path"}): lambda d: FileRef(str(d["path"])),
    frozenset({"path", "sha256", "holds"}): lambda d: FileRef(
        str(d["path"]), str(d["sha256"]), str(d["holds"])
    ),
    frozenset({"amount", "dimension"}): lambda d: Amount(float(d["amount"]), str(d["dimension"])),
    frozenset({"roll", "about", "every"}): _roll,
    frozenset({"bearing", "height"}): lambda d: Bearing(float(d["bearing"]), float(d["height"])),
    frozenset({"set"}): lambda d: frozenset(str(member) for member in _list_of(d["set"])),
}
_MAPPINGS = (dict, Mapping)
"""A plain one first: it is the usual one, and told at once."""


def _list_of(data: Any) -> list[Any]:
    if isinstance(data, list):
        return data
    raise ValueError("not an encoded value: a set that is no list")


def decoded(data: Any) -> Value | None:
    """The value that `encoded` made this data of. Raises ValueError for data of no such form."""
    try:
        return _decoded(data)
    except (TypeError, KeyError, OverflowError) as error:
        raise ValueError(f"not an encoded value: {error}") from None


def decoded_bound(data: Any) -> Bound | None:
    """What a decision is bound to, of which `encoded` made this data. Raises as `decoded`."""
    if not isinstance(data, _MAPPINGS) or data.keys() != {"values"}:
        return decoded(data)
    named = data["values"]
    if not isinstance(named, Mapping) or not all(isinstance(name, str) for name in named):
        raise ValueError("not an encoded value: values without names")
    return Named.of({name: decoded(value) for name, value in named.items()})


def _decoded(data: Any) -> Value | None:
    if isinstance(data, _MAPPINGS):
        keys = frozenset(data)
        make = _FROM_MAPPING.get(keys)
        if make is not None:
            return make(data)
        if keys == {"keys", "interpolation"}:
            return _curve(data)
        raise ValueError(f"not an encoded value: a mapping of {', '.join(sorted(map(str, keys)))}")
    if isinstance(data, list):
        try:
            return tuple(float(number) for number in data)
        except (TypeError, ValueError):
            raise ValueError("not an encoded value: a list of other things than numbers") from None
    if isinstance(data, bool) or data is None or isinstance(data, str):
        return data
    if isinstance(data, int | float):
        return float(data)
    raise ValueError(f"not an encoded value: {type(data).__name__}")


def _curve(data: Mapping[str, Any]) -> Curve:
    keys = tuple((float(frame), _static(value)) for frame, value in _list_of(data["keys"]))
    if not keys or any(a[0] >= b[0] for a, b in pairwise(keys)):
        raise ValueError("not an encoded value: keys that are none, or not in order of their frames")
    if data["interpolation"] not in INTERPOLATIONS:
        raise ValueError(f"not an encoded value: an interpolation {data['interpolation']!r}")
    return Curve(keys, data["interpolation"])


def _static(data: Any) -> Static:
    value = decoded(data)
    if value is None or isinstance(value, Curve):
        raise ValueError("not an encoded value: a key without a value")
    return value


def alike(a: Bound | None, b: Bound | None) -> bool:
    """Equal but for the last digits, in kind and in value: of numbers, sizes, places, unit vectors and levels what transforms
    of 32 bits leave, of chromaticities 1e-5, of the frames of a curve 1e-9 relative.

    Used where a value was written to a file and read back, perhaps on another machine.

    >>> alike(0.1 + 0.2, 0.3), alike((1.0, 1e-17), (1.0, 0.0)), alike(1.0, True)
    (True, True, False)
    """
    if isinstance(b, Bearing):
        return _is_bearing(a, b)
    if type(a) is not type(b):
        return False
    match a, b:
        case float(), float():
            return _near(a, b, SINGLE)
        case tuple(), tuple():
            if len(a) == len(b) == 3:
                return same_place(a, b)
            return len(a) == len(b) and all(map(_near, a, b))
        case Level(), Level():
            # Levels are products: the smallest of them is as exact as the largest.
            return a.quantity == b.quantity and math.isclose(a.value, b.value, rel_tol=2.0 * SINGLE)
        case Colour(), Colour():
            return math.hypot(a.u - b.u, a.v - b.v) <= locus.DIGITS
        case FileRef(), FileRef():
            return a.names_the_same(b)
        case Amount(), Amount():
            return a.dimension == b.dimension and _near(a.value, b.value, SINGLE)
        case Roll(), Roll():
            return a.every == b.every and abs(
                roll_between((a.degrees, a.about), (b.degrees, b.about), a.every)
            ) <= (math.degrees(SINGLE))
        case Curve(), Curve():
            return (
                a.interpolation == b.interpolation
                and len(a.keys) == len(b.keys)
                and all(_near(x, y) and alike(u, v) for (x, u), (y, v) in zip(a.keys, b.keys, strict=True))
            )
        case Named(), Named():
            return len(a.values) == len(b.values) and all(
                name == other and alike(u, v)
                for (name, u), (other, v) in zip(a.values, b.values, strict=True)
            )
    return a == b


def _is_bearing(a: Bound | None, b: Bearing) -> bool:
    if isinstance(a, float):  # what was decided on before a height was kept beside it
        return _near(a, b.degrees, SINGLE)
    if not isinstance(a, Bearing):
        return False
    between = bearing_between((a.degrees, a.height), (b.degrees, b.height))
    return abs(between) <= math.degrees(SINGLE)


def _near(a: float, b: float, share: float = NOISE) -> bool:
    return math.isclose(a, b, rel_tol=share, abs_tol=1e-12)
