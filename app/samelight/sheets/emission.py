"""How bright and of what colour a light is: every spelling into a level and a chromaticity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import repeat
from operator import mul
from typing import Any

from samelight.light import colour as colours
from samelight.light import levels
from samelight.light.noise import figure, figures
from samelight.sheets.errors import Found, Place
from samelight.sheets.memo import Memo
from samelight.sheets.parameters import LIGHT
from samelight.sheets.quantities import LARGEST_NUMBER, Reader
from samelight.sheets.units import LIGHT as PHOTOMETRIC
from samelight.sheets.units import LIGHT_UNITS, STOPS, parse_quantity
from samelight.sheets.values import Colour, Level

RGB = tuple[float, float, float]

WHITE: RGB = (1.0, 1.0, 1.0)
UNITS_IN_WORDS = ", ".join(sorted(set(LIGHT_UNITS.values())))
_BEYOND = "an intensity and an exposure whose product is a number"


Stated = tuple[Mapping[str, Any], Mapping[str, float]]
"""What is typed of a light's emission, and its sizes in metres and degrees."""


@Memo
def emission(stated: Stated, read: Reader, place: Place, shape: str) -> tuple[Level | None, Colour | None]:
    """Intensity, exposure, unit, normalisation, area and the luminance of colour and temperature as a level; the rest as a colour."""
    flat, sizes = stated
    space = read.conventions.working_space
    color = None
    if flat.get("color") is not None:
        color = read.color(flat["color"], (*place, "color"))
    kelvin = None
    if flat.get("temperature") is not None:
        kelvin = read.in_range(flat["temperature"], LIGHT["temperature"], (*place, "temperature"))
    strength = _strength(flat, read, place, shape, sizes)
    luminance, uv = _appearance(color or WHITE, kelvin, space)
    if strength is None:
        return None, uv
    white, quantity = strength
    value = figure(white * luminance)
    if value <= LARGEST_NUMBER:
        return Level(value, quantity), uv
    read.faults.add((*place, "intensity"), _BEYOND, Found("one too large for a number"))
    return None, uv


def emitted_together(
    stated: Mapping[str, Sequence[Any]], count: int, read: Reader, shape: str
) -> list[tuple[Level | None, Colour | None]] | None:
    """`emission` of so many lights of one shape, from columns by name; None where that is more than bare numbers whose level is
    relative and hangs on no size."""
    area_unit, switches = read.conventions.area_unit, stated.get("normalize", [None] * count)
    if (
        "unit" in stated
        or read.conventions.level != "relative"
        or not {*map(type, switches)} <= {bool, type(None)}
    ):
        return None
    if any(levels.counts_sizes(shape, normalize) for normalize in {*switches}):
        return None
    intensities = read.bare(stated.get("intensity", [1.0] * count), LIGHT["intensity"])
    exposures = read.bare(stated.get("exposure", [0.0] * count), LIGHT["exposure"])
    kelvins: Sequence[float | None] | None = [None] * count
    if "temperature" in stated:
        kelvins = read.bare(stated["temperature"], LIGHT["temperature"])
    if intensities is None or exposures is None or kelvins is None:
        return None
    colors = (
        [read.color(value, ()) or WHITE for value in stated["color"]]
        if "color" in stated
        else [WHITE] * count
    )
    seen = [*map(_appearance, colors, kelvins, repeat(read.conventions.working_space))]
    times_area = {
        normalize: levels.emitted(1.0, shape=shape, normalize=normalize, area_unit=area_unit)
        for normalize in {*switches}
    }
    try:
        whites = [
            *map(mul, map(levels.effective, intensities, exposures), map(times_area.__getitem__, switches))
        ]
    except ValueError:
        return None
    values = figures([white * luminance for white, (luminance, _) in zip(whites, seen, strict=True)]).tolist()
    if not max(values) <= LARGEST_NUMBER:
        return None
    return [(Level(value), uv) for value, (_, uv) in zip(values, seen, strict=True)]


@lru_cache(maxsize=65536)
def _appearance(color: RGB, kelvin: float | None, space: str) -> tuple[float, Colour | None]:
    """Luminance and chromaticity of a colour at a temperature; the same few recur in every shot."""
    uv = colours.light_chromaticity(color, kelvin, space)
    return colours.light_luminance(color, kelvin, space), Colour(*map(figure, uv)) if uv is not None else None


def _strength(
    flat: Mapping[str, Any], read: Reader, place: Place, shape: str, sizes: Mapping[str, float]
) -> tuple[float, str] | None:
    """The level of a light as if it were white, and its quantity; None after a fault."""
    before = len(read.faults)
    unit = _unit(flat, read, place)
    intensity = _intensity(flat, read, place)
    exposure = read.number(flat.get("exposure", 0.0), STOPS, (*place, "exposure"))
    normalize = None
    if flat.get("normalize") is not None:
        normalize = read.switch(flat["normalize"], (*place, "normalize"))
    if intensity is None or exposure is None or len(read.faults) > before:
        return None
    area_unit = read.conventions.area_unit
    areal = levels.LightSizes(*map(sizes.get, levels.LightSizes._fields))
    try:
        bare = levels.without_area(unit, shape=shape, normalize=normalize, sizes=areal)
        if bare is not None:
            return levels.effective(intensity, exposure), bare
        if unit == "relative":
            value = levels.emitted(
                intensity, exposure, shape=shape, normalize=normalize, sizes=areal, area_unit=area_unit
            )
            return value, levels.RELATIVE
        stated = levels.effective(intensity, exposure)
        return levels.photometric(
            stated,
            unit,
            shape=shape,
            cone=sizes.get("cone"),
            normalize=normalize,
            sizes=areal,
            area_unit=area_unit,
        )
    except ValueError:
        # Sizes and intensity are sound by themselves, so that their product is what is out of range.
        stops = f"{exposure:g} stops on {intensity:g}"
        read.faults.add((*place, "exposure"), _BEYOND, Found(stops))
        return None


def _unit(flat: Mapping[str, Any], read: Reader, place: Place) -> str:
    """The unit of the intensity: its own, the one stated beside it, or the sheet's; they must not disagree."""
    typed, stated = flat.get("intensity"), flat.get("unit")
    own = parse_quantity(typed) if isinstance(typed, str) else None
    beside = None
    if stated is not None:
        beside = LIGHT_UNITS.get(stated) if isinstance(stated, str) else None
        if beside is None:
            read.faults.add((*place, "unit"), f"one of {UNITS_IN_WORDS}", stated)
    if own is not None and own.dimension == PHOTOMETRIC:
        if beside is not None and beside != own.unit:
            read.faults.add((*place, "unit"), f"{own.unit}, as the intensity has it", stated)
        return own.unit
    return beside or read.conventions.level


def _intensity(flat: Mapping[str, Any], read: Reader, place: Place) -> float | None:
    typed = flat.get("intensity", 1.0)
    place = (*place, "intensity")
    intensity: float | None
    quantity = parse_quantity(typed) if isinstance(typed, str) else None
    if quantity is not None and quantity.dimension == PHOTOMETRIC:
        intensity = quantity.value
    elif isinstance(typed, str):
        read.faults.add(place, "a number, or one with a unit such as 800 lx", typed)
        return None
    else:
        intensity = read.number(typed, None, place)
    if intensity is not None and not 0.0 <= intensity <= LARGEST_NUMBER:
        read.faults.add(place, "an intensity of 0 or more", typed)
        return None
    return intensity
