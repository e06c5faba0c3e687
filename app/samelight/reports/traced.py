"""One light or environment through all shots of all sequences of a production, in story order."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from samelight.drift.readings import DIFFERS, reading_of, still
from samelight.drift.words import value_text
from samelight.light.directions import to_azimuth_elevation
from samelight.light.levels import UNIT_OF
from samelight.light.noise import figure
from samelight.reports.plan_text import aligned
from samelight.reports.shown import shown
from samelight.reports.summary import SHARED_SECTIONS
from samelight.sequence.session import Session, open_store
from samelight.sequence.store import SheetStore
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.production import Production
from samelight.sheets.values import Level, Value, as_vector
from samelight.sheets.vocabulary import DIRECTION

_NAME, _VALUE = 24, 40


@dataclass(frozen=True, slots=True)
class Stop:
    """One shot: the values of the group in words, by leaf, what its master has, and both as numbers where they are some (a direction as
    azimuth and elevation in degrees; of a place and a colour how far it is off its master's; none in another unit than the first)."""

    sequence: str
    setup: str
    shot: str
    said: Mapping[str, str]
    master: Mapping[str, str]
    readings: Mapping[str, float | None]
    held: Mapping[str, float | None]


@dataclass(frozen=True, slots=True)
class Traced:
    """A group, such as `lights.sun`, at every shot that has it or whose master does."""

    name: str
    leaves: tuple[str, ...]
    stops: tuple[Stop, ...]
    units: Mapping[str, str]
    """Of readings, as they stand behind a number."""


def trace(production: Production, name: str) -> tuple[Traced, dict[str, str]]:
    """Follow a group; and why some sequences could not be read. Raises `SamelightError` for what no sequence has."""
    section, _, group = name.partition(".")
    if section not in SHARED_SECTIONS or not group or "." in group:
        raise SamelightError(f"expected a light or an environment such as lights.sun, found {name}")
    stops: list[Stop] = []
    units: dict[str, str] = {}
    broken: dict[str, str] = {}
    known: dict[str, None] = {}
    for sequence, folder in production.sequences.items():
        try:
            session = open_store(SheetStore(folder, common=production.common(sequence)))
        except (SamelightError, OSError) as error:
            broken[sequence] = str(error)
            continue
        stops += _stops(sequence, session, section, group, units)
        for sheet in session.contents.sheets.values():
            known.update(dict.fromkeys(f"{section}.{one}" for one in sheet.sections.get(section, {})))
    if not stops:
        near = nearest_name(name, known)
        raise SamelightError(
            f"no shot of {production.title} has {name}" + (f"; did you mean {near}?" if near else "")
        )
    leaves = tuple(dict.fromkeys(leaf for one in stops for leaf in (*one.said, *one.master)))
    return Traced(name, leaves, tuple(stops), units), broken


def _stops(sequence: str, session: Session, section: str, group: str, units: dict[str, str]) -> list[Stop]:
    found = []
    for shot in session.contents.shots:
        sheet, setup = session.contents.sheets.get(shot), session.contents.setup_of(shot)
        values = sheet.sections.get(section, {}).get(group, {}) if sheet is not None else {}
        master = setup.master.sections.get(section, {}).get(group, {}) if setup.master is not None else {}
        if sheet is None or not (values or master):
            continue
        north = sheet.conventions.north
        kinds = _kinds(session, section, group)
        found.append(
            Stop(
                sequence,
                setup.name,
                shot,
                {
                    leaf: value_text(value, kinds[leaf], north)
                    for leaf, value in values.items()
                    if leaf in kinds
                },
                {
                    leaf: value_text(value, kinds[leaf], north)
                    for leaf, value in master.items()
                    if leaf in kinds
                },
                _readings(values, master, kinds, north, units),
                _readings(master, master, kinds, north, units),
            )
        )
    return found


def _kinds(session: Session, section: str, group: str) -> dict[str, str]:
    return {
        row.leaf: row.kind
        for row in session.table.rows
        if row.leaf and row.group_name == f"{section}.{group}"
    }


def _readings(
    values: Mapping[str, Value],
    master: Mapping[str, Value],
    kinds: Mapping[str, str],
    north: tuple[float, float, float],
    units: dict[str, str],
) -> dict[str, float | None]:
    found: dict[str, float | None] = {}
    for leaf, value in values.items():
        if kinds.get(leaf) == DIRECTION:
            vector = as_vector(still(value))
            if vector is not None:
                found["azimuth"], found["elevation"] = map(figure, to_azimuth_elevation(vector, north))
                units["azimuth"] = units["elevation"] = "°"
        elif leaf in kinds:
            number, unit = _number(kinds[leaf], value, master.get(leaf, value))
            if math.isfinite(number) and units.setdefault(leaf, unit) == unit:
                found[leaf] = figure(number)
    return found


def _number(kind: str, value: Value, master: Value) -> tuple[float, str]:
    """A value as a number, NaN where it is none, and its unit."""
    fixed, reading = still(value), reading_of(kind)
    if isinstance(fixed, Level):
        unit = UNIT_OF.get(fixed.quantity, fixed.quantity)
        return fixed.value, f" {unit}" if unit else ""
    if reading is DIFFERS:
        return math.nan, ""
    try:
        return reading.number(still(master), fixed), reading.unit
    except (TypeError, ValueError):
        return math.nan, ""


def trace_lines(traced: Traced) -> list[str]:
    """A line a shot; what is not as its master has it is followed by that in brackets."""

    def cell(one: Stop, leaf: str) -> str:
        said, master = one.said.get(leaf, ""), one.master.get(leaf, "")
        return shown(said if said == master else f"{said or 'none'} [{master or 'none'}]", _VALUE)

    head = ("sequence", "set-up", "shot", *traced.leaves, "")
    rows = [
        (
            shown(one.sequence, _NAME),
            shown(one.setup, _NAME),
            shown(one.shot, _NAME),
            *(cell(one, leaf) for leaf in traced.leaves),
            "",
        )
        for one in traced.stops
    ]
    return [f"{traced.name} in story order; in brackets what the master has", "", *aligned(head, rows)]
