"""Where the marks of a shot are in its frame, and how far each is off there."""

from __future__ import annotations

from dataclasses import dataclass

from samelight.drift.cells import Grade
from samelight.drift.computed.in_frame import region_of
from samelight.drift.computed.moments import first_frame
from samelight.drift.derived_names import PICTURE, PICTURE_KINDS
from samelight.drift.words import drift_text
from samelight.light.framing import Region, Shape
from samelight.sequence.session import Session


@dataclass(frozen=True, slots=True)
class MarkRegion:
    """A mark in a frame: its edges in shares of the frame's width and height, from the left and the top.

    `severity` is how many tolerances what was measured there is off, 0 where nothing was measured or nothing is off; `says` is that in
    words.
    """

    mark: str
    left: float
    top: float
    right: float
    bottom: float
    is_round: bool
    severity: float
    says: str


def mark_regions(session: Session, shot: str, size: tuple[int, int]) -> list[MarkRegion]:
    """The marks of a shot that are seen in its frame, which has so many pixels across and down: where they were measured, if they
    were, else where the camera has them; none where the sheet does not tell."""
    sheet = session.comparison.sheets.get(shot)
    if sheet is None or min(size) < 1:
        return []
    witness = session.contents.measured.get(shot)
    measured = witness.measured if witness is not None and witness.is_current else None
    found = []
    for mark in sheet.sections.get("marks", {}):
        if measured is not None:
            shape = Shape(*measured.size)
            seen = measured.marks.get(mark)
            region: Region | str = seen.region if seen is not None else ""
        else:
            shape = Shape(*size)
            region = region_of(sheet, mark, first_frame(sheet), shape)
        if isinstance(region, Region):
            severity, says = _worst(session, shot, mark)
            edges = (
                region.left / shape.width,
                region.top / shape.height,
                region.right / shape.width,
                region.bottom / shape.height,
            )
            found.append(MarkRegion(mark, *edges, region.is_round, severity, says))
    return found


def _worst(session: Session, shot: str, mark: str) -> tuple[float, str]:
    """How many tolerances a mark is off in the frame at most, and what that is, with the mark's name."""
    table = session.table
    column = table.column(shot)
    worst, says = 0.0, mark
    for leaf in PICTURE_KINDS:
        row = table.row(f"{PICTURE}.{mark}.{leaf}")
        if row is None or column is None or table.grade.item(row, column) < Grade.DRIFT:
            continue
        severity = float(table.severity[row, column])
        if severity > worst:
            worst, says = severity, f"{mark}: {drift_text(table.cell(row, column))} {leaf}"
    return worst, says
