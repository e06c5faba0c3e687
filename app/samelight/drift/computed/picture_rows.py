"""Rows of the picture: `picture.MARK.…`, what was measured of a mark in its shot's frame against the key shot's frame.

`unexplained` holds what was measured against what the sheets lead one to expect: the key shot's frame, and by how much the two
sheets' lights differ on a ball at the mark (`expected`). Nothing is graded in frames that are older than their sheets, within the
noise of the two frames, and where too many pixels are no measure of light.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from samelight.drift.computed.derived_row import NEITHER, Pair
from samelight.drift.computed.expected import Expected, expected_in, without_words
from samelight.drift.derived_names import PICTURE, PICTURE_KINDS
from samelight.drift.rows import ExtraRow
from samelight.light.levels import RELATIVE
from samelight.light.noise import figure
from samelight.light.region_figures import BLACK, Figures
from samelight.sheets.measured import Witness
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Colour, Level

UNEXPLAINED = "unexplained"
FAINT = -3.3
"""Stops under all light on the mark: a tenth. Of a rim light a ball tells little."""

BLIND = 0.74
"""Stops. So far from its sheet was a rendered face at most in 95 of 100 shots where no sheet said what stands in the light's
way, and 0.09 where both did; measured in a full set with bounce light."""
_SPOILT = 0.1
"""Share of the pixels that may be clipped, black or no numbers."""

SPOILT = "a tenth or more of its pixels are clipped, black or no numbers"


@dataclass(frozen=True, slots=True)
class _Seen:
    """A mark in a shot's frame, and in the frame that it is compared with."""

    mark: str
    shot: str
    own: Witness
    held: Witness
    sheets: tuple[Sheet, Sheet]
    """Those of the frames that it is compared with, and of the shot."""


def picture_rows(
    shots: Sequence[str],
    sheets: Mapping[str, Sheet],
    references: Mapping[str, Sheet],
    key: Sheet | None,
    measured: Mapping[str, Witness],
    listed: frozenset[str] = frozenset(),
) -> list[ExtraRow]:
    """The rows of every mark that was looked at in a frame of these shots, and those that are `listed`.

    A shot is compared with the key shot's frame or, where another shot stands in the master's place, that shot's.
    """
    of_shots = [measured[shot].measured for shot in shots if shot in measured]
    marks = list(dict.fromkeys(mark for one in of_shots for mark in (*one.marks, *one.unseen)))
    marks += [
        mark
        for mark in dict.fromkeys(_mark_of(name) for name in sorted(listed) if name.startswith(f"{PICTURE}."))
        if mark not in marks
    ]
    found: list[ExtraRow] = []
    for mark in marks:
        seen: dict[str, _Seen | str] = {}
        for shot in shots:
            if shot in measured:
                held = references[shot].shot or ("" if key is None else key.shot)
                of_held = references[shot] if references[shot].shot else key
                seen[shot] = _seen(mark, shot, measured, held, (of_held, sheets[shot]))
        known: dict[tuple[str, float], Expected | str] = {}
        lights = dict.fromkeys(
            light
            for one in seen.values()
            if isinstance(one, _Seen)
            for light in one.own.measured.marks[mark].lights
            if light
        )
        leaves = [*PICTURE_KINDS, *(f"{UNEXPLAINED}.{light}" for light in lights)]
        leaves += [
            leaf
            for name in sorted(listed)
            if name.startswith(of_mark := f"{PICTURE}.{mark}.{UNEXPLAINED}.")
            if (leaf := f"{UNEXPLAINED}.{name.removeprefix(of_mark)}") not in leaves
        ]
        for leaf in leaves:
            row = _row(mark, leaf, seen, known)
            if row.pairs or row.remarks or row.parameter in listed:
                found.append(row)
    return found


def _mark_of(parameter: str) -> str:
    return parameter.split(".")[1]  # no name of a mark has a dot


def _seen(
    mark: str, shot: str, measured: Mapping[str, Witness], held: str, sheets: tuple[Sheet | None, Sheet]
) -> _Seen | str:
    """A mark in both frames; why it is not, in words."""
    own, other = measured[shot], measured.get(held)
    if mark not in own.measured.marks:
        return own.measured.unseen.get(mark, "it was not looked at in this frame")
    if other is None or sheets[0] is None:
        return f"nothing was measured of {held or 'a key shot'}, against which it would be held"
    if mark not in other.measured.marks:
        return f"in {held}: {other.measured.unseen.get(mark, 'it was not looked at')}"
    return _Seen(mark, shot, own, other, (sheets[0], sheets[1]))


def _row(
    mark: str,
    leaf: str,
    seen: Mapping[str, _Seen | str],
    known: dict[tuple[str, float], Expected | str],
) -> ExtraRow:
    pairs: dict[str, Pair] = {}
    remarks: dict[str, str] = {}
    ungraded: set[str] = set()
    for shot, one in seen.items():
        if isinstance(one, str):
            pairs[shot], remarks[shot] = NEITHER, one
            continue
        own = one.own.measured.marks[mark].figures
        held = one.held.measured.marks[mark].figures
        light = leaf.removeprefix(UNEXPLAINED).removeprefix(".") if leaf.startswith(UNEXPLAINED) else ""
        if light and light not in one.own.measured.marks[mark].lights:
            continue  # its frame has no layers, or none of this light
        if leaf.startswith(UNEXPLAINED):
            pair, says, band = _unexplained(one, held, own, known, light)
        else:
            pair, says, band = _pair(leaf, held, own), "", _BANDS[leaf] * (held.noise + own.noise)
        pairs[shot] = pair
        quiet = (
            ""
            if pair is NEITHER
            else _quiet(one, held, own) or _faint(one, light) or _within(leaf, pair, band)
        )
        said = "; ".join(part for part in (quiet, says) if part)
        if said:
            remarks[shot] = said
        if quiet:
            ungraded.add(shot)
    return ExtraRow(
        parameter_name(PICTURE, mark, leaf),
        PICTURE,
        mark,
        leaf,
        PICTURE_KINDS[leaf.partition(".")[0]],
        pairs,
        remarks,
        frozenset(ungraded),
    )


_BANDS = {"level": 1.0, "spread": 2.0, "side": 2.0, "colour": 0.0}
"""By row, how many times as far as a level noise may put it off: the halves of a mark have half its pixels, each with noise of its own."""


def _pair(leaf: str, held: Figures, own: Figures) -> Pair:
    """A figure of both frames."""
    if leaf == "colour":
        before, after = (Colour(figure(one.u), figure(one.v)) for one in (held, own))
        return (before, before) if before == after else (before, after)
    return _levels(getattr(held, leaf), getattr(own, leaf))


def _levels(held: float, own: float) -> Pair:
    """Two levels of so many stops."""
    before, after = (Level(figure(math.pow(2.0, stops)), RELATIVE) for stops in (held, own))
    return (before, before) if before == after else (before, after)


def _unexplained(
    one: _Seen, held: Figures, own: Figures, known: dict[tuple[str, float], Expected | str], light: str
) -> tuple[Pair, str, float]:
    """What the shot's frame should show, in all or of one light, beside what it shows; what is said of it, and how far it may be off."""
    sides = []
    for witness, sheet in zip((one.held, one.own), one.sheets, strict=True):
        at = sheet.shot, witness.measured.frame
        if at not in known:
            known[at] = expected_in(witness.measured, one.mark, sheet)
        sides.append(known[at])
    for side, sheet in zip(sides, one.sheets, strict=True):
        if isinstance(side, str):
            return NEITHER, f"in {sheet.shot}: {side}" if sheet.shot != one.shot else side, 0.0
    before, after = (side for side in sides if isinstance(side, Expected))
    if before.quantity != after.quantity:
        return NEITHER, "the lights of the two shots are stated in units that do not compare", 0.0
    if light:
        levels = [side.measured.marks[one.mark].lights.get(light) for side in (one.held, one.own)]
        gives = [side.lights.get(light, 0.0) for side in (before, after)]
        if levels[0] is None or levels[1] is None:
            return NEITHER, f"the frame of {one.sheets[0].shot} has no layer of it", 0.0
        if min(gives) <= 0.0:
            return NEITHER, "by one of the two sheets no light of it arrives", 0.0
        should, shows = levels[0] + (math.log2(gives[1]) - math.log2(gives[0])), levels[1]
    else:
        should, shows = held.level + (after.figures.level - before.figures.level), own.level
    is_self = one.shot == one.sheets[0].shot
    blind = 0.0 if is_self or (before.sees and after.sees) else BLIND
    said = [_layers_off(one) if light else "", without_words((before, after))]
    return _levels(should, shows), "; ".join(filter(None, said)), held.noise + own.noise + blind


def _layers_off(one: _Seen) -> str:
    """That in one of the two frames the layers are not the picture, in words; empty where they are."""
    for side in (one.own, one.held):
        if says := side.measured.marks[one.mark].layers_words:
            return f"in the frame of {side.measured.shot} {says}"
    return ""


def _quiet(one: _Seen, held: Figures, own: Figures) -> str:
    """Why two frames are not compared with each other; empty where they are."""
    if one.own.is_old:
        return one.own.age
    if one.held.is_old and one.held is not one.own:
        return f"of {one.held.measured.shot}: {one.held.age}"
    spoilt = (
        side.dark + side.clipped + side.not_numbers > _SPOILT * (side.pixels + side.dark + side.not_numbers)
        for side in (held, own)
    )
    return SPOILT if any(spoilt) else ""


def _faint(one: _Seen, light: str) -> str:
    """That a light gives the mark next to nothing in both frames; empty where it is more, or no light is asked for."""
    if not light:
        return ""
    sides = [side.measured.marks[one.mark] for side in (one.held, one.own)]
    if all(of.lights.get(light, BLACK) - of.mean < FAINT for of in sides if of.mean is not None):
        return "it gives less than a tenth of the light there"
    return ""


def _within(leaf: str, pair: Pair, band: float) -> str:
    before, after = pair
    if before is after or not isinstance(before, Level) or not isinstance(after, Level):
        return ""
    apart = abs(math.log2(after.value) - math.log2(before.value))
    if not band or apart > band:
        return ""
    if leaf.startswith(UNEXPLAINED) and band >= BLIND:
        return f"no sheet says what stands in the light's way, which leaves {band:.2f} stops open"
    return f"within what noise may do, {band:.2f} stops"
