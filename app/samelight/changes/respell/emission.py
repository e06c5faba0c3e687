"""What could be typed so that a light has a colour and a level."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from samelight.changes.respell import spellings
from samelight.changes.respell.bench import REMOVED, Bench, Edits
from samelight.light.colour import to_rec709
from samelight.light.locus import cct_duv
from samelight.light.primaries import rgb_of
from samelight.light.rows import image
from samelight.light.spaces import FROM_REC709, space_name
from samelight.sheets.units import parse_quantity
from samelight.sheets.values import Colour, Level


def colour(bench: Bench) -> Iterator[Edits]:
    if not isinstance(bench.wanted, Colour):
        return
    uv = (bench.wanted.u, bench.wanted.v)
    kelvin = _kelvin(bench.like.get("temperature"))
    warm: list[Edits] = []
    if kelvin is not None:
        warm = [{"temperature": text} for text in spellings.spelled(kelvin, bench.typed.get("temperature"))]
    elif bench.like.get("temperature") is None:
        warm = [{"temperature": REMOVED}] if "temperature" in bench.typed else [{}]
    tint = bench.like.get("color")
    tints: list[Edits] = [{}]
    if tint is None and "color" in bench.typed:
        tints.append({"color": REMOVED})
    elif isinstance(tint, list):
        tints.append({"color": _in_space(tint, bench)})
    for color in tints:
        for temperature in warm[:1]:
            if edits := {**temperature, **color}:
                yield edits
    found = cct_duv(*uv)
    if found is not None and bench.typed.get("temperature") is not None:
        for text in spellings.spelled(found[0], bench.typed["temperature"]):
            yield {"temperature": text}
    bare: Edits = {"temperature": REMOVED} if "temperature" in bench.typed else {}
    for rgb in spellings.roundings(rgb_of(uv, bench.here.working_space)):
        yield {"color": rgb, **bare}


def _in_space(rgb: list[Any], bench: Bench) -> list[Any]:
    """The master's red, green and blue in the shot's working space."""
    if bench.here.working_space == bench.there.working_space:
        return rgb
    try:
        plain = np.array(to_rec709(rgb, bench.there.working_space))
        here = image(FROM_REC709[space_name(bench.here.working_space)], plain)
        return [spellings.rounded(channel, 12) for channel in here.tolist()]
    except (TypeError, ValueError):
        return rgb


def level(bench: Bench) -> Iterator[Edits]:
    """The intensity at the shot's own exposure; the exposure where the intensity is the master's already."""
    wanted, now = bench.wanted, bench.now.get("level")
    if not isinstance(wanted, Level):
        return
    typed, exposure = bench.typed.get("intensity", 1.0), bench.typed.get("exposure", 0)
    still: Edits = {}
    if isinstance(typed, dict):
        typed = still["intensity"] = 1.0
    if isinstance(exposure, dict):
        exposure = still["exposure"] = 0
    if still:
        now = bench.brightened(still)
    if isinstance(now, Level) and now.quantity == wanted.quantity and now.value > 0.0:
        by_intensity = _scaled(typed, wanted.value / now.value)
        by_exposure = _raised(exposure, wanted.value / now.value)
    else:
        lit = bench.brightened({**still, "intensity": 1.0})
        usable = isinstance(lit, Level) and lit.quantity == wanted.quantity and lit.value > 0.0
        by_intensity = _scaled(1.0, wanted.value / lit.value) if usable and isinstance(lit, Level) else []
        by_exposure = []
    exposures: list[Edits] = [{**still, "exposure": text} for text in by_exposure]
    intensities: list[Edits] = [{**still, "intensity": text} for text in by_intensity]
    # With the master's own intensity, it is the exposure that was changed.
    raised = (
        not still and "intensity" in bench.typed and bench.typed["intensity"] == bench.like.get("intensity")
    )
    yield from (*exposures, *intensities) if raised else (*intensities, *exposures)


def _scaled(typed: Any, ratio: float) -> list[Any]:
    quantity = parse_quantity(typed) if isinstance(typed, str) else None
    amount = quantity.value if quantity is not None else typed
    if isinstance(amount, bool) or not isinstance(amount, int | float) or not math.isfinite(amount * ratio):
        return []
    return list(spellings.spelled(amount * ratio, typed))


def _raised(typed: Any, ratio: float) -> list[Any]:
    quantity = parse_quantity(typed) if isinstance(typed, str) else None
    amount = quantity.value if quantity is not None else typed
    if isinstance(amount, bool) or not isinstance(amount, int | float) or ratio <= 0.0:
        return []
    raised = amount + math.log2(ratio)
    # Decimals first: where the two end each other, what is left is noise, and each of its digits would count.
    few = dict.fromkeys(round(raised, decimals) for decimals in spellings.ROUNDINGS[:-1])
    return [text for stops in (*few, raised) for text in spellings.spelled(stops, typed)]


def _kelvin(typed: Any) -> float | None:
    if isinstance(typed, str):
        quantity = parse_quantity(typed)
        return quantity.value if quantity is not None else None
    return float(typed) if isinstance(typed, int | float) else None
