"""Trims of a shot's lights in stops and gels: what to type for each in the shot's own spelling, and the cells that they are about."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from samelight.changes.fix_list import edit_text
from samelight.changes.lights_changed import COLOUR
from samelight.changes.respell.put_back import Edit, Leaf, put_back
from samelight.drift.cells import Cell
from samelight.sequence.session import Session
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Level, Static, Value
from samelight.sheets.vocabulary import LEVEL, LIT

_BY_HAND = "by hand: this sheet's way of writing has no exact value for that"
_NO_GELS: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Trim:
    """A light to be brightened by so many stops, and what to type for it: nothing where its sheet has no exact value for that.

    `gel` is the gel before it in MK⁻¹, above 0 warmer.
    """

    section: str
    light: str
    stops: float
    edits: tuple[Edit, ...] = ()
    gel: float = 0.0

    @property
    def says(self) -> str:
        """By how many stops, what to type for that, and the gel."""
        typed = "; ".join(edit_text(edit) for edit in self.edits) or _BY_HAND
        said = [f"{stops_text(self.stops)}: {typed}"] if self.stops else []
        said += [f"gel {gel_text(self.gel)}"] if self.gel else []
        return ", ".join(said)


def typed_trims(
    session: Session, sheet: Sheet, stops: Mapping[str, float], gels: Mapping[str, float] = _NO_GELS
) -> tuple[tuple[Trim, ...], Mapping[str, Any]]:
    """The trims of lights of a sheet by so many stops and by gels (MK⁻¹), with what to type for the stops in the sheet's own spelling;
    beside them the sheet's tree with that typed. Lights that the sheet does not have are left out.
    """
    sections = lit_sections(sheet)
    stated = {
        light: by
        for light, by in stops.items()
        if light in sections and sheet.value(sections[light], light, LEVEL) is not None
    }
    leaves: list[Leaf] = [(sections[light], light, LEVEL) for light in stated]
    respelt = put_back(sheet, _brightened(sheet, sections, stated), leaves, session.contents.policy.kinds)
    edits: dict[str, list[Edit]] = {}
    for edit in respelt.edits:
        edits.setdefault(edit.parameter, []).append(edit)
    trims = tuple(
        Trim(
            sections[light],
            light,
            stops.get(light, 0.0),
            tuple(edits.get(parameter_name(sections[light], light, LEVEL), ())),
            gels.get(light, 0.0),
        )
        for light in dict.fromkeys((*stops, *gels))
        if light in sections
    )
    return trims, respelt.tree


def lit_sections(sheet: Sheet) -> dict[str, str]:
    """The section of each light of a sheet, by its name."""
    return {name: section for section in LIT for name in sheet.sections.get(section, {})}


def trims_text(trims: Iterable[Trim]) -> str:
    """What to set: each light with its trim."""
    return "; ".join(f"{parameter_name(trim.section, trim.light)} {trim.says}" for trim in trims)


def trimmed_cells(session: Session, shot: str, trims: Iterable[Trim]) -> list[Cell]:
    """What is trimmed of the lights of a shot, as far as it is compared: by stops its level, by a gel its colour."""
    return session.table.places(
        (shot, parameter_name(trim.section, trim.light, leaf))
        for trim in trims
        for leaf, by in ((LEVEL, trim.stops), (COLOUR, trim.gel))
        if by
    )


def stops_text(stops: float) -> str:
    """Stops with their sign.

    >>> stops_text(-0.5), stops_text(0.0)
    ('−0.50 st', '0 st')
    """
    return f"{stops:+.2f} st".replace("-", "−") if stops else "0 st"


def gel_text(gel: float) -> str:
    """A gel with its sign.

    >>> gel_text(30.0), gel_text(0.0)
    ('+30 MK⁻¹', 'no gel')
    """
    return f"{gel:+.0f} MK⁻¹".replace("-", "−") if gel else "no gel"


def _brightened(sheet: Sheet, sections: Mapping[str, str], trims: Mapping[str, float]) -> Sheet:
    """The sheet with lights of other levels."""
    changed = {section: dict(groups) for section, groups in sheet.sections.items()}
    for light, stops in trims.items():
        groups = changed[sections[light]]
        groups[light] = {**groups[light], LEVEL: _times(groups[light].get(LEVEL), math.pow(2.0, stops))}
    return replace(sheet, sections=changed)


def _times(value: Value | None, factor: float) -> Value:
    if isinstance(value, Curve):
        keys = tuple((frame, _level_times(one, factor)) for frame, one in value.keys)
        return replace(value, keys=keys)
    assert value is not None
    return _level_times(value, factor)


def _level_times(value: Static, factor: float) -> Static:
    return replace(value, value=value.value * factor) if isinstance(value, Level) else value
