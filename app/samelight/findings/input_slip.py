"""One input of a light that was lost, turned over or taken for another: its exposure, its normalisation, its temperature, a switch."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from samelight.drift.table import Row
from samelight.drift.words import number_text
from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.typed import master_as_typed, number_typed, rgb_of, typed_text
from samelight.findings.words import capital, group_text, happening, sentence, signed, size_text
from samelight.light.colour import chromaticity, planckian_uv, steps
from samelight.light.levels import AREA_SHAPES, LightSizes, area, distant_size_factor
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Colour, Group
from samelight.sheets.vocabulary import COLOUR, LEVEL, SWITCH

NAME = "input-slip"

STOPS = 0.002
"""By how much a level may miss what the slip makes of it: intensities are typed with three or four digits."""

STEPS = 0.05
"""So may a colour, in steps."""

_POINTS = (10.0, 0.1, 100.0, 0.01)

_MORE_THAN_A_NUDGE = 1.0
"""Stops from which nobody trims a light by hand just so that its exposure comes out at a tenth: 0.05 for 0.5 may be meant, 5 is not."""

SIZES = ("radius", "width", "height", "length", "angle")

Typed = Mapping[str, Any]
Told = tuple[str, Sureness]
"""What was slipped with, and how sure that is."""
Read = Callable[[Board, int, int], Told | None]


def find(board: Board) -> list[Finding]:
    """One finding for each parameter and slip, with every shot that has it."""
    alike: dict[tuple[int, Told], list[int]] = defaultdict(list)
    for index, row, columns in board.rows_left(_wanted):
        read = _READ[_way(row)]
        for column in _likely(board, index, row, columns):
            told = read(board, index, column)
            if told is not None:
                alike[index, told].append(column)
    return [_finding(board, index, *told, columns) for (index, told), columns in alike.items()]


def _likely(board: Board, index: int, row: Row, columns: list[int]) -> list[int]:
    """The columns whose drift a slip may make: a level's by the master's exposure, or by the light's size; of a colour, those
    that have a temperature where the master has none, or none where it has one."""
    if row.leaf == LEVEL:
        exposure = number_typed(board.master.as_typed(row.section, row.group, LEVEL), "exposure") or 0.0
        stops: list[float] = []
        if exposure:
            stops += [exposure * (factor - 1.0) for factor in (0.0, -1.0, *_POINTS)]
            intensity = number_typed(board.master.as_typed(row.section, row.group, LEVEL), "intensity")
            stops += [slip.stops for slip in _exposure_slips(exposure, intensity)]
        drifts: list[float] = board.table.drift[index, columns].tolist()
        return [
            column
            for column, drift in zip(columns, drifts, strict=True)
            if any(abs(drift - slip) <= STOPS for slip in stops) or _normalised(board, row, column, drift)
        ]
    if row.leaf == COLOUR:
        has = _has_temperature(board.master, row)
        return [
            column
            for column in columns
            if _has_temperature(board.sheets[column], row) is not has
            or _is_tinted(board.master, board.sheets[column], row)
        ]
    return columns


def _is_tinted(master: Sheet, sheet: Sheet | None, row: Row) -> bool:
    """Whether a light of the master has a temperature alone, and that of the shot a colour too."""
    held, here = _typed_group(master, row), _typed_group(sheet, row)
    kelvin = here.get("temperature")
    tints = _WHITE == held.get("color", _WHITE) != here.get("color", _WHITE)
    return tints and kelvin is not None and kelvin == held.get("temperature")


def _has_temperature(sheet: Sheet | None, row: Row) -> bool:
    return _typed_group(sheet, row).get("temperature") is not None


def _typed_group(sheet: Sheet | None, row: Row) -> Typed:
    groups = sheet.typed.get(row.section) if sheet is not None else None
    group = groups.get(row.group) if isinstance(groups, Mapping) else None
    return group if isinstance(group, Mapping) else {}


def _wanted(row: Row) -> bool:
    return _way(row) in _READ


def _way(row: Row) -> str:
    if row.section in ("lights", "environments") and row.leaf in (LEVEL, COLOUR):
        return row.leaf
    of_all = row.section == "render" or "temperature" in row.leaf
    return SWITCH if row.kind == SWITCH and row.leaf and of_all else ""


def _level(board: Board, index: int, column: int) -> Told | None:
    row, drift, sheet = board.table.rows[index], board.entry(index, column).drift, board.sheets[column]
    if sheet is None or not math.isfinite(drift):
        return None
    master, typed = (one.as_typed(row.section, row.group, LEVEL) for one in (board.master, sheet))
    if told := _exposure(master, typed, drift) or _mistaken(master, typed, drift):
        return told
    reason = _normalised(board, row, column, drift)
    return (reason, Sureness.LIKELY) if reason else None


def _exposure(master: Typed, typed: Typed, drift: float) -> Told | None:
    """Whether the exposure alone makes the difference by itself, and how."""
    before, after = number_typed(master, "exposure"), number_typed(typed, "exposure")
    if not before:
        return None
    if not after and abs(drift + before) <= STOPS:
        return f"the exposure of {signed(before)} is lost", Sureness.LIKELY
    if after is not None and abs(after + before) <= 1e-9 and abs(drift + 2.0 * before) <= STOPS:
        reason = f"the exposure is {signed(after)} for {signed(before)}: its sign is wrong"
        return reason, Sureness.LIKELY
    if after is not None and typed.get("intensity") == master.get("intensity"):
        factor = after / before
        if any(abs(factor - power) <= 1e-9 for power in _POINTS):
            reason = (
                f"the exposure is {signed(after)} for {signed(before)}: its decimal point is out of place"
            )
            return reason, Sureness.LIKELY if abs(drift) >= _MORE_THAN_A_NUDGE else Sureness.POSSIBLE
    return None


def _mistaken(master: Typed, typed: Typed, drift: float) -> Told | None:
    """Whether the exposure was taken for a factor, or the other way round. What is off by half stops or whole ones may be meant."""
    exposure = number_typed(master, "exposure")
    if not exposure or any(isinstance(typed.get(name), Mapping) for name in ("intensity", "exposure")):
        return None
    here = number_typed(typed, "exposure") or 0.0
    for slip in _exposure_slips(exposure, number_typed(master, "intensity")):
        if abs(drift - slip.stops) <= STOPS and abs(here - slip.exposure) <= STOPS:
            halves = slip.stops * 2.0
            may_be_meant = abs(halves - round(halves)) <= STOPS
            return slip.reason, Sureness.POSSIBLE if may_be_meant else Sureness.LIKELY
    return None


@dataclass(frozen=True, slots=True)
class _Slip:
    """What became of an exposure that was taken for a factor, or the other way round: what it is now, and by how many stops the light
    is off."""

    exposure: float
    stops: float
    reason: str


def _exposure_slips(exposure: float, intensity: float | None) -> Iterator[_Slip]:
    """The slips between exposure and intensity that can be told apart from a nudge: one stop is a doubling."""
    said = signed(exposure)
    tells = abs(exposure) not in (0.0, 1.0)
    if tells:
        yield _Slip(
            exposure,
            exposure,
            f"the exposure of {said} counts twice, since the intensity was multiplied by it too",
        )
    if tells and 0.0 < exposure <= _MOST_STOPS:
        yield _Slip(
            0.0,
            math.log2(exposure) - exposure,
            f"the exposure of {said} stops became a factor of {number_text(exposure, 4)}",
        )
        factor = 2.0**exposure
        says = f"the exposure is {signed(factor)} for {said}: a factor typed where stops are read"
        yield _Slip(factor, factor - exposure, says)
    if exposure > 0.0 and intensity is not None and intensity > 0.0:
        yield _Slip(
            intensity,
            math.log2(exposure / intensity) + intensity - exposure,
            f"intensity and exposure have changed places ({number_text(intensity, 4)} and {said} in the master)",
        )


_MOST_STOPS = 16.0
"""Exposures beyond this are typed by nobody."""


def _normalised(board: Board, row: Row, column: int, drift: float) -> str:
    """Whether normalize alone makes the difference, which it does by the light's size as the shot counts it."""
    sheet = board.sheets[column]
    before, after = (bool(_typed_group(one, row).get("normalize", False)) for one in (board.master, sheet))
    if before is after or sheet is None:
        return ""
    size = _area(board.group(column, row.section, row.group), sheet.conventions.area_unit)
    if not size:
        return ""
    expected = math.log2(size) if before else -math.log2(size)
    if abs(drift - expected) > STOPS:
        return ""
    return f"normalize is {'on' if after else 'off'}, the master has it {'on' if before else 'off'}"


def _area(light: Group, unit: float) -> float:
    """What a light that is not normalised counts for: its area in squares of a unit of so many metres; 0 for none."""
    shape = light.get("type")
    sizes = {name: value for name in SIZES if isinstance(value := light.get(name), float) and value > 0.0}
    if shape == "distant":
        return distant_size_factor(sizes["angle"]) if "angle" in sizes else 0.0
    counts = isinstance(shape, str) and shape in AREA_SHAPES
    return area(shape, LightSizes(**sizes)) / (unit * unit) if isinstance(shape, str) and counts else 0.0


def _colour(board: Board, index: int, column: int) -> Told | None:
    row, sheet = board.table.rows[index], board.sheets[column]
    if sheet is None:
        return None
    both = _is_tinted(board.master, sheet, row)
    reason = _tinted_twice(sheet, row) if both else _of_colour(board.master, sheet, row)
    return (reason, Sureness.LIKELY) if reason else None


def _tinted_twice(sheet: Sheet, row: Row) -> str:
    """Whether a colour is that of the temperature beside it, and so counts twice."""
    kelvin = number_typed(sheet.as_typed(row.section, row.group, COLOUR), "temperature")
    rgb = rgb_of(sheet, row.section, row.group, COLOUR)
    seen = chromaticity(rgb, sheet.conventions.working_space) if rgb is not None else None
    if not kelvin or seen is None or steps(seen, planckian_uv(kelvin)) > _ONE_COLOUR:
        return ""
    return f"{_TWICE} {kelvin:g} K, and its temperature is on as well"


def _of_colour(setup: Sheet, sheet: Sheet, row: Row) -> str:
    master, typed = (one.as_typed(row.section, row.group, COLOUR) for one in (setup, sheet))
    is_one_colour = master.get("color", _WHITE) == typed.get("color", _WHITE)
    before, after = (typed_text("temperature", one.get("temperature")) for one in (master, typed))
    if typed.get("temperature") is not None:
        return f"it has one of {after}, and the master a colour alone" if is_one_colour else ""
    if is_one_colour:
        return "its temperature is off, and only its colour is left"
    others = setup.typed.get(row.section)
    held = (
        []
        if not isinstance(others, Mapping)
        else [group for name, group in others.items() if name != row.group]
    )
    if any(isinstance(group, Mapping) and group.get("color") == typed.get("color") for group in held):
        return ""  # the colour of another light is no slip of this one
    return f"a colour of {typed_text('color', typed.get('color', _WHITE))} stands in the place of {before}"


def _level_of_colour(board: Board, row: Row, column: int) -> list[int]:
    """The row of a light's level where that drifts only since its colour does, which is of another luminance."""
    sheet, index = board.sheets[column], board.row_of(row.section, row.group, LEVEL)
    if row.leaf != COLOUR or sheet is None or index is None or not board.left[index, column]:
        return []
    names = [
        {
            name: value
            for name, value in one.as_typed(row.section, row.group, LEVEL).items()
            if name not in _COLOURS
        }
        for one in (board.master, sheet)
    ]
    return [index] if names[0] == names[1] else []


_TWICE = "its colour is that of"
_ONE_COLOUR = 5.0
"""Steps by which tables of black bodies, and what people round of them, may be apart."""

_WHITE = [1, 1, 1]
_COLOURS = ("color", "temperature")


def _switch(board: Board, index: int, column: int) -> Told | None:
    entry = board.entry(index, column)
    if not isinstance(entry.master, bool) or not isinstance(entry.value, bool):
        return None
    return f"the master has it {'on' if entry.master else 'off'}", Sureness.CERTAIN


_READ: Mapping[str, Read] = {LEVEL: _level, COLOUR: _colour, SWITCH: _switch}


def _finding(board: Board, index: int, reason: str, sureness: Sureness, columns: list[int]) -> Finding:
    row = board.table.rows[index]
    entry = board.entry(index, columns[0])
    where = board.shots(columns)
    if row.kind == SWITCH:
        said, _, master = happening(row, entry, board.north).partition("; ")
        says = f"{said} in {where}; {master}"
    elif isinstance(entry.value, Colour):
        lost = "has lost its temperature" if _has_temperature(board.master, row) else "has a temperature"
        says = f"{group_text(row)} {'is tinted twice' if reason.startswith(_TWICE) else lost} in {where}: {reason}"
    else:
        way = "brighter" if entry.drift > 0 else "darker"
        says = f"{group_text(row)} is {size_text(LEVEL, entry.drift)} {way} in {where}: {reason}"
    certain = sureness is Sureness.CERTAIN
    return board.make(
        NAME,
        sentence(f"{says}."),
        [(at, column) for column in columns for at in (index, *_level_of_colour(board, row, column))],
        sureness=sureness,
        known="Nothing else makes the difference."
        if not certain
        else "A switch is on or off; there is no tolerance.",
        guessed="" if certain else capital(f"{reason}."),
        do=f"Set it as the master has it: {master_as_typed(board, index, columns[0])}.",
    )
