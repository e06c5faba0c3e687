"""How the level of one light at a mark comes about: the formula with its inputs and units."""

from __future__ import annotations

import math

import numpy as np

from samelight.drift.computed.columns import Array
from samelight.drift.computed.emitters import ENVIRONMENT, PORTAL, Emitter, MarkPlace
from samelight.drift.computed.moments import Rows
from samelight.drift.words import number_text
from samelight.light import levels
from samelight.light.marks import Source, illuminance, shaping_share
from samelight.light.rows import lengths, projection


def light_inputs(light: Emitter, moment: Rows, place: MarkPlace) -> str:
    """The formula of a light's level at a mark, with its inputs; `moment` and `place` are of one moment.

    A distant light: E = level cos t. A point or spot: E = I cos t / d^2 x cone share. An area light: E = I v / A x cone
    share, with its seen area A and its projected solid angle v, exact for its shape.
    """
    if not light.there[moment[0]]:
        return "not there"
    source = light.source(moment)
    level = float(np.asarray(source.level)[0])
    if level == 0.0:
        return "off, or seen by no ray that lights a surface"
    if source.shape == PORTAL:
        return "a portal gives no light of its own"
    normal = None if np.isnan(place.normal).any() else place.normal
    received = float(illuminance(source, place.position, normal)[0])
    if not math.isfinite(received):
        return "not known: no position, direction or level, or a shape without a formula"
    if (
        source.quantity in (levels.LUMINANCE, levels.RELATIVE_LUMINANCE)
        and source.shape != ENVIRONMENT
        and not received
    ):
        return f"{_with_unit(level, source.quantity)} of no area: 0"
    if source.shape == ENVIRONMENT and source.maps is not None and source.maps[0] is not None:
        share = received / level
        facing = "its mean, since the mark has no normal" if normal is None else "its map about the normal"
        return f"E = v × level: v = {number_text(share, 3)} sr of {facing}, level {_with_unit(level, source.quantity)} → {_lux(received, source.quantity)}"
    if source.shape == ENVIRONMENT:
        return f"E = π × level = π × {_with_unit(level, source.quantity)} → {_lux(received, source.quantity)}"
    return f"{_formula(source, place, normal, received)} → {_lux(received, source.quantity)}"


def _formula(source: Source, place: MarkPlace, normal: Array | None, received: float) -> str:
    level = float(np.asarray(source.level)[0])
    if source.shape == "distant":
        towards = -np.asarray(source.direction)[0]
        return f"E = level × cos θ: level {_with_unit(level, source.quantity)}, {_tilt(towards, normal)}"
    away = np.asarray(source.position)[0] - place.position[0]
    distance = float(lengths(away))
    share = _share(source, place, normal, away / distance)
    inputs = [f"d = {number_text(distance, 3)} m", _tilt(away / distance, normal)]
    if share is not None:
        off_axis, passes = share
        inputs.append(f"{number_text(off_axis, 3)}° off its axis, cone share {number_text(passes, 3)}")
    by_cone = "" if share is None else " × cone share"
    if source.shape in ("point", "spot"):
        return f"E = I·cos θ/d²{by_cone}: I = {_with_unit(level, source.quantity)}, {', '.join(inputs)}"
    relative = source.quantity == levels.RELATIVE
    intensity = level * levels.SEEN_SHARE[source.shape] if relative else level
    sizes = {name: _size(source, name) for name in ("radius", "width", "height", "length")}
    area = levels.seen_area(source.shape, levels.LightSizes(**sizes))
    passes = 1.0 if share is None else share[1]
    view = received * area / (intensity * passes) if intensity * passes > 0.0 else math.nan
    shown = f"A = {number_text(area, 3)} m² of {source.shape}, v = {number_text(view, 3)} sr"
    quantity = levels.RELATIVE if relative else levels.INTENSITY
    return f"E = I·v/A{by_cone}: I = {_with_unit(intensity, quantity)}, {shown}, {', '.join(inputs)}"


def _share(
    source: Source, place: MarkPlace, normal: Array | None, towards: Array
) -> tuple[float, float] | None:
    """Degrees off the light's axis and what its cone and focus leave of it; None for a light without either."""
    cone, focus = _number(source.cone), _number(source.focus)
    if math.isnan(cone) and not focus > 0.0:
        return None
    cosine = -float(projection(towards, np.asarray(source.direction)[0]))
    share = float(shaping_share(source, place.position, normal)[0])
    return math.degrees(math.acos(min(max(cosine, -1.0), 1.0))), share


def _number(value: object) -> float:
    return float(np.asarray(value, dtype=np.float64).reshape(-1)[0])


def _size(source: Source, name: str) -> float | None:
    value = _number(getattr(source, name))
    return None if math.isnan(value) else value


def _tilt(towards: Array, normal: Array | None) -> str:
    if normal is None:
        return "facing the light, since the mark has no normal"
    cosine = min(max(float(projection(towards, normal[0])), -1.0), 1.0)
    return f"θ = {number_text(math.degrees(math.acos(cosine)), 3)}°"


def _with_unit(value: float, quantity: str) -> str:
    unit = levels.UNIT_OF.get(quantity, quantity)
    return f"{number_text(value)} {unit}".strip()


def _lux(value: float, quantity: str) -> str:
    return _with_unit(value, levels.RELATIVE if quantity == levels.RELATIVE else levels.ILLUMINANCE)
