"""What a sheet leads one to expect of a mark in the shot's frame: the figures of a grey ball there, under the sheet's lights.

A model and no render: the camera sees the inner four fifths of a ball about the mark, each point of which gets what its normal
receives there (in closed form), times the share of each light that the mark sees. What lies like a floor is flat instead, and so is what is
looked at in a rectangle. There is no bounce light; of an image on a light or in the sky the light counts, and not its colour.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from samelight.drift.computed.columns import Array, Mask, column
from samelight.drift.computed.emitters import (
    Emitter,
    MarkPlace,
    emitters_of,
    received_by,
    received_quantity,
)
from samelight.drift.computed.in_frame import radius_of, view_of
from samelight.drift.computed.in_the_way import shares_of
from samelight.drift.computed.mark_levels import NOT_SUMMED, summed_quantity
from samelight.drift.computed.rig import mark_of, place_of
from samelight.light.directions import is_lying
from samelight.light.framing import CameraView, Region, Shape
from samelight.light.primaries import rgb_of
from samelight.light.region_figures import Figures, figures_of
from samelight.light.rows import cross, projection, unit
from samelight.light.spaces import LUMINANCE
from samelight.sheets.measured import MeasuredFrame
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Colour, Value

_STEPS = 16
"""Points of the ball across."""
_OF_BALL = 0.8
"""The radius of the disk that is looked at, over that of the ball."""


@dataclass(frozen=True, slots=True)
class Expected:
    """The figures that a sheet leads one to expect, whose levels are illuminances or relative (`quantity`).

    `lights` is what the ball gets of each light in the mean. `sees` says whether the sheet tells what stands in the light's way, `without` what of the lights is not counted.
    """

    figures: Figures
    quantity: str
    sees: bool
    without: str
    lights: Mapping[str, float]


def expected_in(measured: MeasuredFrame, mark: str, sheet: Sheet) -> Expected | str:
    """What a sheet leads one to expect where a mark was measured in its frame; in words, why nothing."""
    frame = measured.frame
    place = place_of([mark_of(sheet, mark)], [frame])
    if np.isnan(place.position[0]).any():
        return "the sheet does not say where it is"
    view = view_of(sheet, frame, Shape(*measured.size))
    facing, inside = _facing(place, view, measured.marks[mark].region)
    if not inside.any():
        return "the sheet does not say where it faces"
    names, emitters, colours = _lights(sheet, frame)
    if not emitters:
        return "its sheet has no light"
    rows = np.zeros(int(inside.sum()), dtype=np.intp)
    normals = facing[inside]
    out = radius_of(sheet, mark, frame) / _OF_BALL if inside.size == _STEPS * _STEPS else 0.0
    levels = received_by(emitters, MarkPlace(place.position[0] + normals * out, normals), rows, 1)
    shares = shares_of([mark_of(sheet, mark)], names, [frame])
    unknown = [name for name, of_one in zip(names, levels.T, strict=True) if np.isnan(of_one).all()]
    uncounted = [
        f"the {one.uncounted[0]} of {name}"
        for name, one in zip(names, emitters, strict=True)
        if one.uncounted[0]
    ]
    quantities = np.stack([received_quantity(one.quantity) for one in emitters], axis=1)
    mean = np.nan_to_num(levels).max(axis=0, keepdims=True)
    quantity = str(summed_quantity(mean, quantities)[0])
    if not quantity:
        return NOT_SUMMED
    total = np.zeros((rows.size, 3))
    of_each: dict[str, float] = {}
    for light, colour in enumerate(colours):
        gives = np.nan_to_num(levels[:, light]) * float(shares.share[0, light])
        of_each[names[light]] = math.fsum(gives.tolist()) / rows.size
        total = total + gives[:, None] * _tint(colour)
    rgb = np.zeros((*inside.shape, 3))
    rgb[inside] = total
    figures = figures_of(rgb, inside, inside.shape[1] / 2.0)
    if isinstance(figures, str):
        return "no light of its sheet reaches most of it"
    return Expected(figures, quantity, bool(shares.stated[0]), ", ".join([*uncounted, *unknown]), of_each)


def _facing(place: MarkPlace, view: CameraView | str, region: Region) -> tuple[Array, Mask]:
    """The normals of what is looked at, shape (lines, columns, 3), and where there are any: a ball's, or a flat mark's own."""
    normal = place.normal[0]
    has_normal = not np.isnan(normal).any()
    flat = has_normal and is_lying((float(normal[0]), float(normal[1]), float(normal[2])))
    if flat or not region.is_round or isinstance(view, str):
        facing = np.broadcast_to(normal, (2, 2, 3))
        return facing, np.full((2, 2), has_normal)
    towards = unit((np.array(view.position) - place.position[0])[None])[0]
    across = np.array(view.across)
    right = unit((across - towards * projection(across, towards))[None])[0]
    up = cross(towards[None], right[None])[0]
    steps = (np.arange(_STEPS) + 0.5) / _STEPS * 2.0 - 1.0
    x, y = steps[None, :] * _OF_BALL, -steps[:, None] * _OF_BALL
    off = x * x + y * y
    inside = off <= _OF_BALL * _OF_BALL
    z = np.sqrt(np.maximum(1.0 - off, 0.0))
    return x[..., None] * right + y[..., None] * up + z[..., None] * towards, inside


def _lights(sheet: Sheet, frame: float) -> tuple[list[str], list[Emitter], list[Value | None]]:
    """The lights and environments of a sheet with their colours."""
    names: list[str] = []
    emitters: list[Emitter] = []
    colours: list[Value | None] = []
    for section in ("lights", "environments"):
        groups = sheet.sections.get(section, {})
        if groups:
            names += groups
            emitters += emitters_of(section, [[group] for group in groups.values()], [frame])
            colours += column(list(groups.values()), "colour", [frame] * len(groups))
    return names, emitters, colours


def _tint(colour: Value | None) -> Array:
    """The linear Rec.709 of a light, of luminance 1."""
    if not isinstance(colour, Colour):
        return np.ones(3)
    rgb = np.array(rgb_of((colour.u, colour.v)), dtype=np.float64)
    return np.asarray(rgb / float(projection(rgb, np.array(LUMINANCE["rec709"]))))


def without_words(sides: Sequence[Expected]) -> str:
    """What two sides leave out, as a clause; empty where nothing."""
    said = dict.fromkeys(one.without for one in sides if one.without)
    return f"without {', '.join(said)}" if said else ""
