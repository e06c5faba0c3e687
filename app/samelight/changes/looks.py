"""A shot's frame as it would be: with the master's levels and colours, with the fix list done, or with trims, where it holds a layer for each
light."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from samelight.changes.fix_list import fix_list
from samelight.changes.fixing import fixed_sheet
from samelight.changes.lights_changed import COLOUR, light_changes, trimmed
from samelight.drift.cells import Grade
from samelight.drift.computed.moments import first_frame
from samelight.sequence.session import Session
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import LEVEL, LIT
from samelight.sources.pictures.light_layers import LightChange


class FrameLook(StrEnum):
    """How a frame is shown."""

    RENDERED = "as rendered"
    MASTER = "with the master's light"
    FIXED = "with the fix list"
    TRIMS = "with trims"


@dataclass(frozen=True, slots=True)
class Looked:
    """What changes of which lights, and what a look would change that no layer shows: parameters beside level and colour."""

    changes: Mapping[str, LightChange]
    not_shown: tuple[str, ...] = ()


NOTHING = Looked({})


def looked(
    session: Session, shot: str, look: FrameLook, stops: Mapping[str, float], gels: Mapping[str, float]
) -> Looked:
    """What a look makes of the lights of a shot; `stops` and `gels` (MK⁻¹) are the trims of lights by their names."""
    sheet = session.contents.sheets.get(shot)
    if sheet is None or look is FrameLook.RENDERED:
        return NOTHING
    frame = frame_of(session, sheet)
    if look is FrameLook.TRIMS:
        return Looked(trimmed(sheet, stops, gels, frame))
    if look is FrameLook.MASTER:
        master = session.contents.setup_of(shot).master
        if master is None:
            return NOTHING
        return Looked(light_changes(sheet, master, frame), _unlike(session, shot))
    parts = fix_list(session, shots={shot})
    if not parts:
        return NOTHING
    fixed = fixed_sheet(session, parts[0], {**parts[0].tree, "version": sheet.version})
    return Looked(light_changes(sheet, fixed, frame), _beside(fix.cell.parameter for fix in parts[0].fixes))


def frame_of(session: Session, sheet: Sheet) -> float:
    """The frame of a shot that its picture shows."""
    witness = session.contents.measured.get(sheet.shot)
    return witness.measured.frame if witness is not None else first_frame(sheet)


def _unlike(session: Session, shot: str) -> tuple[str, ...]:
    """What of the lights drifts in a shot and is neither level nor colour."""
    column = session.table.column(shot)
    if column is None:
        return ()
    off = (session.table.grade[:, column] >= Grade.DRIFT).nonzero()[0].tolist()
    return _beside(session.table.rows[row].parameter for row in off)


def _beside(parameters: Iterable[str]) -> tuple[str, ...]:
    found = []
    for parameter in parameters:
        section, _, rest = parameter.partition(".")
        name, _, leaf = rest.partition(".")
        if section in LIT and leaf not in (LEVEL, COLOUR):
            found.append(parameter_name(section, name, leaf))
    return tuple(found)
