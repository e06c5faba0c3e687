"""What a light of a shot gives and would give at another level and of another colour, for the layer that a frame holds of it."""

from __future__ import annotations

import math
from collections.abc import Mapping

from samelight.light.colour import luminance
from samelight.light.locus import cct_duv, mired, planckian_uv
from samelight.light.primaries import rgb_of
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Colour, Curve, Group, Level, Static
from samelight.sheets.vocabulary import LEVEL, LIT
from samelight.sources.pictures.light_layers import RGB, LightChange

COLOUR = "colour"
_WARMEST, _COLDEST = 1000.0, 25000.0
"""Kelvin within which a gel takes a light."""
_NEUTRAL = 6504.0


def light_changes(now: Sheet, then: Sheet, frame: float) -> dict[str, LightChange]:
    """By light and environment, what levels and colours make of it where a shot has those of another sheet; without those that stay, and
    those whose levels do not compare. A light that the other sheet lacks gives nothing."""
    found: dict[str, LightChange] = {}
    for section in LIT:
        for light, group in now.sections.get(section, {}).items():
            other = then.sections.get(section, {}).get(light)
            before = _times(tint_of(_colour(group, frame)), 1.0)
            if other is None:
                found[light] = LightChange(before, (0.0, 0.0, 0.0))
                continue
            ratio = _ratio(_at(group, LEVEL, frame), _at(other, LEVEL, frame))
            after = _times(tint_of(_colour(other, frame)), ratio)
            if before != after:
                found[light] = LightChange(before, after)
    return found


def trimmed(
    now: Sheet, stops: Mapping[str, float], gels: Mapping[str, float], frame: float
) -> dict[str, LightChange]:
    """The same where lights are brightened by so many stops, and warmed by gels of so many MK⁻¹ (below 0: cooled), their levels kept."""
    found: dict[str, LightChange] = {}
    for section in LIT:
        for light, group in now.sections.get(section, {}).items():
            brighter, gel = stops.get(light, 0.0), gels.get(light, 0.0)
            if brighter or gel:
                colour = _colour(group, frame)
                before = tint_of(colour)
                found[light] = LightChange(before, _times(_gelled(colour, gel), math.pow(2.0, brighter)))
    return found


def tint_of(colour: Colour | None) -> RGB:
    """The linear Rec.709 of a light, of luminance 1; white where it states no colour.

    >>> tint_of(None)
    (1.0, 1.0, 1.0)
    """
    if colour is None:
        return 1.0, 1.0, 1.0
    rgb = rgb_of((colour.u, colour.v))
    level = luminance(rgb)
    return _times(rgb, 1.0 / level if level > 0.0 else 1.0)


def _gelled(colour: Colour | None, gel: float) -> RGB:
    """A light's tint behind a gel: as the black body of its temperature turns into that of another."""
    tint = tint_of(colour)
    if not gel:
        return tint
    found = cct_duv(colour.u, colour.v) if colour is not None else None
    kelvin = min(max(found[0] if found is not None else _NEUTRAL, _WARMEST), _COLDEST)
    warmed = min(max(1e6 / max(mired(kelvin) + gel, 1e-3), _WARMEST), _COLDEST)
    before, after = (tint_of(Colour(*planckian_uv(one))) for one in (kelvin, warmed))
    red, green, blue = (
        max(t, 0.0) * (b / a if a > 0.0 else 1.0) for t, a, b in zip(tint, before, after, strict=True)
    )
    level = luminance((red, green, blue))
    return _times((red, green, blue), 1.0 / level if level > 0.0 else 1.0)


def _times(rgb: RGB, factor: float) -> RGB:
    red, green, blue = rgb
    return red * factor, green * factor, blue * factor


def _ratio(before: Static | None, after: Static | None) -> float:
    """How many times as bright; 1 where the two do not compare."""
    if isinstance(before, Level) and isinstance(after, Level) and before.quantity == after.quantity:
        return after.value / before.value if before.value > 0.0 else 1.0
    return 1.0


def _colour(group: Group, frame: float) -> Colour | None:
    value = _at(group, COLOUR, frame)
    return value if isinstance(value, Colour) else None


def _at(group: Group, leaf: str, frame: float) -> Static | None:
    value = group.get(leaf)
    return value.at(frame) if isinstance(value, Curve) else value
