"""A computed row of the table from arrays over moments: each shot at the moment at which it deviates most."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import isnan

import numpy as np

from samelight.drift.computed.columns import Array, Words
from samelight.drift.computed.moments import Moments, Rows
from samelight.drift.rows import ExtraRow
from samelight.light.directions import bearing_between
from samelight.light.elementary import log2
from samelight.light.noise import NOISE, figure
from samelight.sheets.names import parameter_name
from samelight.sheets.values import Bearing, Level, Static

Pair = tuple[Static | None, Static | None]
"""Reference and value."""

Bearings = tuple[Array, Array]
"""Degrees about the vertical, and heights."""


@dataclass(frozen=True, slots=True)
class RowName:
    """What a computed row is called, and its kind."""

    section: str
    group: str
    leaf: str
    kind: str


@dataclass(frozen=True, slots=True)
class Notes:
    """What is said of moments beside the figures, each of shape (moments,), "" where there is nothing to say.

    `missing` is the reason for which there is no figure, `ungraded` the one for which a figure is shown and not
    graded; `says` holds remarks on figures by moment.
    """

    missing: Words | None = None
    ungraded: Words | None = None
    says: Mapping[int, str] = field(default_factory=dict)


def beside(said: Mapping[int, str], more: Mapping[int, str]) -> dict[int, str]:
    """Remarks by moment, with what else there is to say of it.

    >>> beside({0: "dark", 1: "held"}, {1: "without its profile"})
    {0: 'dark', 1: 'held; without its profile'}
    """
    return {**said, **{row: f"{said[row]}; {text}" if row in said else text for row, text in more.items()}}


def derived_row(
    name: RowName,
    shots: Sequence[str],
    moments: Moments,
    deviation: Array,
    pairs: Callable[[Rows], Sequence[Pair]],
    notes: Notes | None = None,
) -> ExtraRow | None:
    """The row, or None when it would hold nothing but figures that are not graded and the moments do not list it.

    `deviation` has the shape (moments,) and only chooses the moment of each shot; `pairs` gives reference and value at
    the moments chosen.
    """
    notes = notes or Notes()
    parameter = parameter_name(name.section, name.group, name.leaf)
    is_listed = parameter in moments.listed
    for reasons in (notes.missing, notes.ungraded):
        if reasons is not None:
            deviation = np.where(reasons == "", deviation, np.nan)
    chosen = moments.worst(deviation)
    unlisted = None if is_listed or notes.missing is not None else notes.ungraded
    if unlisted is not None and (unlisted[chosen] != "").all():
        return None
    found = dict(zip(shots, pairs(chosen), strict=True))
    quiet = {} if notes.ungraded is None else _stated(shots, notes.ungraded[chosen])
    missing = {} if notes.missing is None else _stated(shots, notes.missing[chosen])
    remarks = {shot: why for shot, why in quiet.items() if found[shot] is not NEITHER}
    if (
        not is_listed
        and not missing
        and all(pair is NEITHER or shot in quiet for shot, pair in found.items())
    ):
        return None
    found.update(dict.fromkeys(missing, NEITHER))
    remarks.update(missing)
    if notes.says or len(moments) > len(shots):
        said = _said(notes, shots, moments, chosen, deviation)
        remarks.update((shot, text) for shot, text in said.items() if shot not in remarks)
    return ExtraRow(
        parameter,
        name.section,
        name.group,
        name.leaf,
        name.kind,
        found,
        remarks,
        frozenset(quiet) & remarks.keys(),
    )


NEITHER: Pair = (None, None)
"""Neither reference nor value."""


def _said(
    notes: Notes, shots: Sequence[str], moments: Moments, chosen: Rows, deviation: Array
) -> dict[str, str]:
    """What is said of the moments that were chosen, by shot, with the frame where there are several."""
    frames = _telling_frames(moments, chosen, deviation)
    found = {}
    for shot, moment, frame in zip(shots, chosen.tolist(), frames, strict=True):
        said = [notes.says.get(moment, ""), "" if frame is None else f"largest at frame {frame:g}"]
        if any(said):
            found[shot] = "; ".join(part for part in said if part)
    return found


def _stated(shots: Sequence[str], reasons: Words) -> dict[str, str]:
    return {shots[index]: reasons[index] for index in np.flatnonzero(reasons != "").tolist()}


def _telling_frames(moments: Moments, chosen: Rows, deviation: Array) -> list[float | None]:
    """The frame of each shot's moment where the shot was looked at more than once and deviates; else None."""
    if len(moments) == len(chosen):
        return [None] * len(chosen)
    several = np.bincount(moments.shot)[moments.shot[chosen]] > 1
    telling = several & (np.abs(deviation[chosen]) > NOISE)
    return [
        moments.frames[index] if tells else None
        for index, tells in zip(chosen.tolist(), telling.tolist(), strict=True)
    ]


def level_pairs(reference: Array, value: Array, quantities: tuple[Words, Words]) -> list[Pair]:
    """Levels side by side, as figures; None where there is no number. Equal ones are one object, which costs half."""
    made: list[Pair] = []
    sides = (map(figure, side.tolist()) for side in (reference, value))
    for a, b, of_a, of_b in zip(*sides, *map(list, quantities), strict=True):
        if a == b and of_a == of_b:
            made.append((both := Level(a, of_a), both))
        elif isnan(a) and isnan(b):
            made.append(NEITHER)
        else:
            made.append((None if isnan(a) else Level(a, of_a), None if isnan(b) else Level(b, of_b)))
    return made


def number_pairs(reference: Array, value: Array) -> list[Pair]:
    """Numbers side by side, as figures; None on both sides where one is missing."""
    sides = (map(figure, side.tolist()) for side in (reference, value))
    return [
        NEITHER if isnan(a) or isnan(b) else (a, a) if a == b else (a, b) for a, b in zip(*sides, strict=True)
    ]


def bearing_pairs(reference: Bearings, value: Bearings) -> list[Pair]:
    """Bearings side by side, as figures; None on both sides where one is missing."""
    sides = (map(_bearing, *(part.tolist() for part in side)) for side in (reference, value))
    return [
        NEITHER if a is None or b is None else (a, a) if a == b else (a, b)
        for a, b in zip(*sides, strict=True)
    ]


def _bearing(degrees: float, height: float) -> Bearing | None:
    return None if isnan(degrees) or isnan(height) else Bearing(figure(degrees), figure(height))


def bearings_apart(reference: Bearings, value: Bearings) -> Array:
    """Degrees of the great circle between two bearings, as `bearing_between` has them."""
    sides = (zip(*(part.tolist() for part in side), strict=True) for side in (reference, value))
    return np.array([0.0 if a == b else bearing_between(a, b) for a, b in zip(*sides, strict=True)])


def stops_apart(reference: Array, value: Array) -> Array:
    """The stops between two levels, without a sign: 0 for equal ones, infinite where one is dark, NaN if unknown."""
    with np.errstate(divide="ignore", invalid="ignore"):
        apart = np.abs(log2(value) - log2(reference))
    return np.asarray(np.where(value == reference, 0.0, apart))
