"""How the figure of a computed cell came about, from both sheets: the formula, its inputs, units and sources."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import ComparedCell
from samelight.drift.computed.columns import Array
from samelight.drift.computed.derived_row import stops_apart
from samelight.drift.computed.emitters import MarkPlace
from samelight.drift.computed.key_rows import KeyLight, KeyOfSide, key_at
from samelight.drift.computed.light_words import light_inputs
from samelight.drift.computed.lit_rows import lit_words
from samelight.drift.computed.mark_levels import MarkLevels, levels_at
from samelight.drift.computed.picture_words import picture_words
from samelight.drift.computed.ray_rows import seen_words
from samelight.drift.computed.rig import rig_of
from samelight.drift.computed.sky_rows import angle_words
from samelight.drift.computed.subject import LitSubject, subject_at
from samelight.drift.computed.subject_words import subject_words
from samelight.drift.computed.sums import by_level, frame_words, terms
from samelight.drift.derived_names import PICTURE, SECTIONS, SUBJECT
from samelight.drift.explanations import formula
from samelight.drift.words import number_text, value_text
from samelight.light.noise import NOISE, figure
from samelight.sheets.measured import Witness
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Bearing, Level


def derived_formula(
    cell: ComparedCell,
    master: Sheet,
    shot: Sheet,
    key: Sheet | None = None,
    measured: Mapping[str, Witness] | None = None,
) -> list[str]:
    """Lines that lead from the two sheets to a computed cell; empty for the cell of a typed parameter.

    `key` is the key shot's sheet (`derived.key_sheet`), None where it has none, `measured` what was measured in frames. The lines of `formula` come first: the
    rule and the last step; then the inputs of shot and reference with their units.
    """
    section, _, rest = cell.parameter.partition(".")
    if section not in SECTIONS:
        return []
    lines = formula(cell) if cell.master is not None and cell.value is not None else []
    if section == "count":
        return [*lines, *_lights("shot", shot), *_lights("master", master)]
    if section == PICTURE:
        mark, _, leaf = rest.partition(".")
        held = master if master.shot else key
        return [*lines, *picture_words(mark, leaf, held, shot, measured or {})]
    known = _known(cell.shot, shot, master, key)
    if section == "rays":
        return [*lines, *seen_words(known.rig, rest.removesuffix(".level"))]
    if section == "sky":
        return [*lines, *angle_words(known.rig, rest.removesuffix(".sun_angle"))]
    marks = [mark for mark in shot.sections.get("marks", {}) if rest.startswith(f"{mark}.")]
    if not marks:
        return lines
    mark = max(marks, key=len)
    leaf = rest.removeprefix(f"{mark}.")
    if section == SUBJECT:
        subject = known.subject(mark)
        return [*lines, *(subject_words(subject, leaf, cell) if subject is not None else [])]
    return [*lines, *_at_mark(known.levels(mark), leaf, cell)]


_MOST_KNOWN = 24


class _Known:
    """What all computed cells of a shot and a reference come from, worked out once: whoever looks at one looks at others too."""

    def __init__(self, name: str, shot: Sheet, reference: Sheet, key: Sheet | None) -> None:
        self.sheets = shot, reference, key  # held, so that no other sheet is taken for one of them
        self.rig = rig_of([name], [shot], [reference], key)
        self._levels: dict[str, MarkLevels] = {}
        self._subjects: dict[str, LitSubject | None] = {}

    def levels(self, mark: str) -> MarkLevels:
        """The levels at a mark."""
        if mark not in self._levels:
            self._levels[mark] = levels_at(self.rig, mark)
        return self._levels[mark]

    def subject(self, mark: str) -> LitSubject | None:
        """The subject at a mark; None where it is compared with nothing."""
        if mark not in self._subjects:
            self._subjects[mark] = subject_at(self.levels(mark))
        return self._subjects[mark]


_shots: dict[tuple[str, int, int, int], _Known] = {}
"""The last that were looked at."""


def _known(name: str, shot: Sheet, reference: Sheet, key: Sheet | None) -> _Known:
    asked = name, id(shot), id(reference), id(key)
    found = _shots.pop(asked, None) or _Known(name, shot, reference, key)
    _shots[asked] = found
    if len(_shots) > _MOST_KNOWN:
        _shots.pop(next(iter(_shots)), None)  # unless another thread was first
    return found


def _lights(whose: str, sheet: Sheet) -> list[str]:
    names = sheet.sections.get("lights", {})
    return [f"{whose}: {len(names)} ({', '.join(names) or 'none'})"]


def _at_mark(at: MarkLevels, leaf: str, cell: ComparedCell) -> list[str]:
    kind, _, light = leaf.partition(".")
    if kind == "level" and light in at.rig.names:
        return _of_light(at, at.rig.names.index(light), cell)
    if kind == "lit":
        return lit_words(at, at.rig.names.index(light) if light in at.rig.names else None, cell)
    if kind == "level":
        return _of_sum(at, cell)
    return _of_key(key_at(at), kind, cell)


def _moment(at: MarkLevels, reference: Array, value: Array, cell: ComparedCell) -> int:
    """The moment that the cell shows of the only shot: the first that has its levels, else the one that deviates most."""
    shown = [side.value if isinstance(side, Level) else np.nan for side in (cell.master, cell.value)]
    matches = np.flatnonzero(_is(reference, shown[0]) & _is(value, shown[1]))
    return int(matches[0] if matches.size else at.moments.worst(stops_apart(reference, value))[0])


def _is(levels: Array, shown: float) -> NDArray[np.bool_]:
    return np.isclose(levels, shown, rtol=NOISE, atol=0.0)


def _of_light(at: MarkLevels, light: int, cell: ComparedCell) -> list[str]:
    moment = _moment(at, at.reference[:, light], at.value[:, light], cell)
    return [*frame_words(at, moment), *_both(at, light, moment)]


def _both(at: MarkLevels, light: int, moment: int) -> list[str]:
    row, place = at.rows[moment : moment + 1], _one(at.place, moment)
    held = at.against(moment, light)
    return [
        f"shot: {light_inputs(at.rig.own[light], row, place)}",
        f"reference, {held}: {light_inputs(at.held[light], row, place)}",
    ]


def _one(place: MarkPlace, moment: int) -> MarkPlace:
    return place.of(np.array([moment]))


def _of_sum(at: MarkLevels, cell: ComparedCell) -> list[str]:
    moment = _moment(at, *at.totals, cell)
    return [
        *frame_words(at, moment),
        f"shot: {terms(at.rig.names, at.value[moment])}",
        f"reference: {terms(at.rig.names, at.reference[moment])}",
    ]


def _of_key(key: KeyLight, leaf: str, cell: ComparedCell) -> list[str]:
    at = key.at
    matches = [moment for moment in range(len(at.moments)) if _shows(key, leaf, moment, cell)]
    moment = matches[0] if matches else 0
    lines = frame_words(at, moment)
    for whose, side, levels in (("shot", key.value, at.value), ("reference", key.reference, at.reference)):
        lines.append(f"{whose}: {_side_words(at, side, levels[moment], leaf, moment)}")
    return lines


def _shows(key: KeyLight, leaf: str, moment: int, cell: ComparedCell) -> bool:
    """Whether the cell shows this moment."""
    read: dict[str, Callable[[KeyOfSide], object]] = {
        "key": lambda side: key.at.rig.lights[side.light[moment]] if side.light[moment] >= 0 else None,
        "key_side": lambda side: side.name[moment],
        "fill": lambda side: float(side.fill[moment]),
        "key_to_fill": lambda side: (
            float(side.level[moment] / side.fill[moment]) if side.fill[moment] else None
        ),
        "key_angle": lambda side: Bearing(
            figure(float(side.angle[moment])), figure(float(side.height[moment]))
        ),
        "key_height": lambda side: float(side.height[moment]),
        "key_size": lambda side: float(side.size[moment]),
    }
    shown = [value.value if isinstance(value, Level) else value for value in (cell.master, cell.value)]
    return leaf in read and all(
        figure(found) == held if isinstance(found := read[leaf](side), float) else found == held
        for side, held in zip((key.reference, key.value), shown, strict=True)
    )


def _side_words(at: MarkLevels, side: KeyOfSide, levels: Array, leaf: str, moment: int) -> str:
    light = int(side.light[moment])
    if light < 0:
        return "no light reaches the mark"
    name = at.rig.lights[light]
    if leaf == "fill":
        return f"without the key {name}: {terms(at.rig.names, levels, light)}"
    if leaf == "key_to_fill":
        fill = side.fill[moment]
        ratio = side.level[moment] / fill if fill else float("inf")
        return f"{name} {number_text(side.level[moment])} / fill {number_text(fill)} = {number_text(ratio)}"
    if leaf == "key":
        lights = by_level(levels[: len(at.rig.lights)], at.rig.lights)
        return f"{name}, of {', '.join(f'{other} {number_text(level)}' for level, other in lights)}"
    angle = value_text(float(side.angle[moment]), "angle")
    height = value_text(float(side.height[moment]), "angle")
    size = value_text(float(side.size[moment]), "angle")
    return f"{name}, {angle} from the camera ({side.name[moment] or 'no side'}), {height} high, {size} across"
