"""Rows of the subject: `subject.MARK.…`, what a mark receives in its shot against what it receives in the key shot.

The rows of `marks` hold the lights against the master's at the shot's own mark, so that a character who walks changes
nothing by itself. These say what the walk does: a face that is half a stop darker than in the key shot looks so in the
cut, though every light holds. They follow from no typed cell, and so are decided on by themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isnan

import numpy as np

from samelight.drift.computed.columns import Array, Mask
from samelight.drift.computed.derived_row import (
    NEITHER,
    Notes,
    Pair,
    RowName,
    bearing_pairs,
    bearings_apart,
    beside,
    derived_row,
    level_pairs,
    stops_apart,
)
from samelight.drift.computed.key_rows import NO_KEY, OVERHEAD
from samelight.drift.computed.mark_levels import MarkLevels
from samelight.drift.computed.moments import Rows
from samelight.drift.computed.subject import NO_MARK, LitSubject, subject_at
from samelight.drift.derived_names import SUBJECT, SUBJECT_KINDS
from samelight.drift.rows import ExtraRow
from samelight.light.colour import shift_in_words
from samelight.light.key import STEEP
from samelight.light.levels import RELATIVE
from samelight.light.noise import figure, reaches
from samelight.light.rows import lengths
from samelight.sheets.names import parameter_name
from samelight.sheets.values import Colour

NO_NORMAL = "the mark states no normal, so that it faces nowhere"
UPRIGHT = 80.0
"""Degrees of a surface's normal off the horizon beyond which it is no face: it has no sides."""
LYING = "the surface faces up or down: it has no sides"


def subject_rows(at: MarkLevels) -> list[ExtraRow]:
    """The rows of a mark as a subject. Where nothing of that name is there to be compared with, none but those that other
    shots of the sequence have: these say so."""
    subject = subject_at(at)
    if subject is None:
        return [row for leaf in SUBJECT_KINDS if (row := _without_mark(at, leaf)) is not None]
    rows = [_level(subject), _key_to_fill(subject), _key_angle(subject), _colour(subject), _contrast(subject)]
    return [row for row in rows if row is not None]


def _without_mark(at: MarkLevels, leaf: str) -> ExtraRow | None:
    name = RowName(SUBJECT, at.mark, leaf, SUBJECT_KINDS[leaf])
    if parameter_name(name.section, name.group, name.leaf) not in at.moments.listed:
        return None
    count = len(at.moments)
    notes = Notes(missing=np.full(count, NO_MARK, dtype=np.object_))
    return derived_row(
        name, at.shots, at.moments, np.full(count, np.nan), lambda m: [NEITHER] * len(m), notes
    )


def _row(
    subject: LitSubject,
    leaf: str,
    deviation: Array,
    pairs: Callable[[Rows], Sequence[Pair]],
    missing: Sequence[tuple[str, Mask]] = (),
    says: dict[int, str] | None = None,
) -> ExtraRow | None:
    """A row whose figures are missing for the first of the reasons that holds at a moment."""
    why = subject.not_compared.copy()
    for reason, where in missing:
        why[(why == "") & where] = reason
    said = subject.uncounted if says is None else says
    return derived_row(
        RowName(SUBJECT, subject.at.mark, leaf, SUBJECT_KINDS[leaf]),
        subject.at.shots,
        subject.at.moments,
        deviation,
        pairs,
        Notes(missing=why, says=said),
    )


def _level(subject: LitSubject) -> ExtraRow | None:
    held, own = subject.held.total, subject.own.total
    of_held, of_own = subject.quantities
    return _row(
        subject,
        "level",
        stops_apart(held, own),
        lambda m: level_pairs(held[m], own[m], (of_held[m], of_own[m])),
    )


def _ratio_row(
    subject: LitSubject, leaf: str, sides: tuple[Array, Array], missing: Sequence[tuple[str, Mask]]
) -> ExtraRow | None:
    held, own = sides
    plain = np.full(len(held), RELATIVE, dtype=np.object_)
    return _row(
        subject,
        leaf,
        stops_apart(held, own),
        lambda m: level_pairs(held[m], own[m], (plain[m], plain[m])),
        missing,
    )


def _no_key(subject: LitSubject) -> list[tuple[str, Mask]]:
    held, own = subject.keys
    return [
        ("no light reaches it in one of the two shots", (held.light < 0) | (own.light < 0)),
        (NO_KEY, held.faint & own.faint),
    ]


def _key_to_fill(subject: LitSubject) -> ExtraRow | None:
    held, own = subject.keys
    with np.errstate(divide="ignore", invalid="ignore"):
        ratios = held.level / held.fill, own.level / own.fill
    no_fill = "no fill to hold the key against", (held.fill <= 0.0) | (own.fill <= 0.0)
    return _ratio_row(subject, "key_to_fill", ratios, [*_no_key(subject), no_fill])


def _no_face(subject: LitSubject) -> list[tuple[str, Mask]]:
    normals = subject.held.place.normal, subject.own.place.normal
    none = np.isnan(normals[0][:, 0]) | np.isnan(normals[1][:, 0])
    # Where the level part of a unit vector is under the cosine of UPRIGHT.
    flat = [lengths(normal[:, [0, 2]]) < _LEVEL_PART * lengths(normal) for normal in normals]
    return [(NO_NORMAL, none), (LYING, flat[0] | flat[1])]


_LEVEL_PART = 0.17364817766693033
"""The cosine of `UPRIGHT`."""


def _key_angle(subject: LitSubject) -> ExtraRow | None:
    held, own = subject.keys
    steep = reaches(np.abs(held.height), STEEP) | reaches(np.abs(own.height), STEEP)
    says = beside(dict.fromkeys(np.flatnonzero(steep).tolist(), OVERHEAD), subject.uncounted)
    for row in np.flatnonzero((held.side != own.side) & (held.side != "") & (own.side != "")).tolist():
        sides = f"{own.side[row]} for {held.side[row]}"
        says[row] = f"{sides}; {says[row]}" if row in says else sides
    return _row(
        subject,
        "key_angle",
        bearings_apart((held.angle, held.height), (own.angle, own.height)),
        lambda m: bearing_pairs((held.angle[m], held.height[m]), (own.angle[m], own.height[m])),
        [*_no_key(subject), *_no_face(subject)],
        says,
    )


def _colour(subject: LitSubject) -> ExtraRow | None:
    held, own = subject.held.colour, subject.own.colour
    says = dict(subject.uncounted)
    for row, (before, after) in enumerate(zip(held.tolist(), own.tolist(), strict=True)):
        words = shift_in_words(tuple(before), tuple(after)) if before != after and _lit(before, after) else ""
        if words:
            says[row] = f"{words}; {says[row]}" if row in says else words
    apart = own - held
    dark = np.isnan(held[:, 0]) | np.isnan(own[:, 0])
    return _row(
        subject,
        "colour",
        np.sqrt(apart[:, 0] * apart[:, 0] + apart[:, 1] * apart[:, 1]),
        lambda m: [_colours(*pair) for pair in zip(held[m].tolist(), own[m].tolist(), strict=True)],
        [("no light reaches it in one of the two shots", dark)],
        says,
    )


def _lit(*colours: Sequence[float]) -> bool:
    return not any(isnan(number) for colour in colours for number in colour)


def _colours(held: Sequence[float], own: Sequence[float]) -> Pair:
    if not _lit(held, own):
        return NEITHER
    reference, value = (Colour(*map(figure, side)) for side in (held, own))
    return (reference, reference) if reference == value else (reference, value)


def _contrast(subject: LitSubject) -> ExtraRow | None:
    held, own = (_over(side.cheeks) for side in (subject.held, subject.own))
    unlit = np.asarray((subject.held.cheeks <= 0.0).any(axis=1) | (subject.own.cheeks <= 0.0).any(axis=1))
    return _ratio_row(
        subject, "contrast", (held, own), [*_no_face(subject), ("a cheek gets no light at all", unlit)]
    )


def _over(cheeks: Array) -> Array:
    """The brighter cheek over the other."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.maximum(cheeks[:, 0], cheeks[:, 1]) / np.minimum(cheeks[:, 0], cheeks[:, 1]))
