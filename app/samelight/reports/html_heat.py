"""The sequence at a glance: what drifts in which shot, as shapes for a picture. Columns are shots, as in the window."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from samelight.decisions.state import State
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.scale import GRADE_MARKS, ink_is_black, place, rgb
from samelight.drift.words import drift_text
from samelight.light.noise import first_largest_of_rows
from samelight.reports.report import Report
from samelight.reports.shown import shown
from samelight.reports.signs import STATE_MARKS

STEPS = 96
"""Places on the scale that a document knows. The window has 256; between two neighbours of these lie at most 1.5 CIEDE2000."""

LEFT, WIDTH = 230.0, 800.0
"""Where columns begin, and how wide all of them are together, in units of the picture."""

ROW_HEIGHT = 18.0
FRAME = 2.0
TOP = 74.0
MOST_ROWS = 60
"""With more rows than this, one row stands for a whole light or group."""

MOST_SHOTS = 200
"""Shots side by side; what is left goes into another band below, so that no shot is thinner than a line."""

MOST_NAMES = 60
"""With more shots than this in a band, only some are named."""

MOST_LINKS = 3000
"""With more cells than this, cells of one colour are one shape without a text of their own."""


@dataclass(frozen=True, slots=True)
class HeatCell:
    """One cell: where it is drawn, its colour step, its signs, and what it says. What is meant is only framed."""

    x: float
    y: float
    width: float
    height: float
    step: int
    black_ink: bool
    sign: str
    says: str
    shot: int
    framed: bool = False


@dataclass(frozen=True, slots=True)
class HeatName:
    """A name at a place in the picture."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Band:
    """The rows for a run of shots, from the `start`-th. `spots` is empty where there are too many cells: `shapes` then holds a path a colour step."""

    start: int
    shots: tuple[str, ...]
    x: float
    width: float
    names: tuple[HeatName, ...]
    spots: tuple[HeatCell, ...]
    shapes: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class HeatMap:
    """Everything the picture shows."""

    rows: tuple[HeatName, ...]
    bands: tuple[Band, ...]
    height: float
    says: str
    grouped: bool


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    members: tuple[int, ...]


def step_of(severity: float) -> int:
    """The colour step of a drift over tolerance; 0 for none.

    >>> step_of(0.0), step_of(1.0) < step_of(1.1) < step_of(40.0)
    (0, True)
    """
    return round(place(severity) * STEPS)


def colour_steps() -> list[tuple[int, str, str]]:
    """Every step that occurs, with its colour and the ink that reads on it, as CSS writes them."""
    found: dict[int, tuple[int, int, int]] = {}
    for severity in np.geomspace(1e-3, 100.0, 4000).tolist():
        found.setdefault(step_of(severity), rgb(severity))
    return [
        (step, "#{:02x}{:02x}{:02x}".format(*colour), "#000" if ink_is_black(*colour) else "#fff")
        for step, colour in sorted(found.items())
    ]


def heat_map(report: Report) -> HeatMap:
    """The picture of a report."""
    rows, grouped = _rows(report)
    columns = report.columns
    total = sum(
        int((report.table.grade[np.ix_(row.members, columns)].max(axis=0) > Grade.SAME).sum()) for row in rows
    )
    bands = [
        _band(report, rows, start, min(start + MOST_SHOTS, len(columns)), total <= MOST_LINKS)
        for start in range(0, len(columns), MOST_SHOTS)
    ]
    names = tuple(
        HeatName(LEFT - 8.0, TOP + (index + 0.7) * ROW_HEIGHT, shown(row.name, 34))
        for index, row in enumerate(rows)
    )
    return HeatMap(names, tuple(bands), TOP + len(rows) * ROW_HEIGHT, _says(report, rows), grouped)


def _rows(report: Report) -> tuple[list[_Row], bool]:
    """The rows where something is not the master's; by group where those are too many."""
    table = report.table
    columns = report.columns
    if not columns or not table.rows:
        return [], False
    off = np.flatnonzero((table.grade[:, columns] > Grade.SAME).any(axis=1)).tolist()
    if len(off) <= MOST_ROWS:
        return [_Row(table.rows[index].parameter, (index,)) for index in off], False
    groups: dict[str, list[int]] = {}
    for index in off:
        groups.setdefault(table.rows[index].group_name, []).append(index)
    return [_Row(name, tuple(members)) for name, members in groups.items()], True


def _band(report: Report, rows: Sequence[_Row], start: int, end: int, linked: bool) -> Band:
    shots = report.shots[start:end]
    # Bands share one width of a column, so that a short last one does not look like another zoom.
    count = len(shots) if len(report.shots) <= MOST_SHOTS else MOST_SHOTS
    each = min(WIDTH / count, 44.0)
    spots = list(_spots(report, rows, start, end, each, linked))
    every = -(-len(shots) // MOST_NAMES)
    names = tuple(
        HeatName(LEFT + (index + 0.5) * each, TOP - 6.0, shown(shot.name, 12))
        for index, shot in enumerate(shots)
        if index % every == 0
    )
    return Band(
        start,
        tuple(shown(shot.name, 60) for shot in shots),
        LEFT,
        each * len(shots),
        names,
        tuple(spots) if linked else (),
        () if linked else _shapes(spots),
    )


def _spots(
    report: Report, rows: Sequence[_Row], start: int, end: int, each: float, says: bool
) -> Iterable[HeatCell]:
    table = report.table
    columns = report.columns[start:end]
    for index, row in enumerate(rows):
        cells = np.ix_(row.members, columns)
        grades = table.grade[cells]
        heavy = np.minimum(table.severity[cells], 900.0)
        intended = np.zeros(grades.shape, dtype=bool)
        if report.states:
            for place_, member in enumerate(row.members):
                for at, column in enumerate(columns):
                    intended[place_, at] = report.states.get((member, column)) is State.INTENDED
        score = grades * 1e3 + heavy + np.where(intended, 0.0, 1e4)
        worst = first_largest_of_rows(score.T)
        for at in np.flatnonzero((grades > Grade.SAME).any(axis=0)).tolist():
            member = row.members[int(worst[at])]
            yield _spot(report, member, columns[at], start + at, LEFT + at * each, index, each, says)


def _spot(
    report: Report, member: int, column: int, shot: int, x: float, index: int, each: float, says: bool
) -> HeatCell:
    severity = float(report.table.severity[member, column])
    grade = Grade(int(report.table.grade[member, column]))
    state = report.states.get((member, column), State.UNDECIDED)
    colour = rgb(severity)
    gap = 1.0 if each >= 8.0 and says else 0.0
    meant = state is State.INTENDED
    sign = GRADE_MARKS.get(grade, "") + STATE_MARKS[state] if each >= 16.0 else ""
    if says and meant:
        # As in the window: the colour stays as a frame.
        inset = FRAME / 2.0
        return HeatCell(
            round(x + inset, 3),
            TOP + index * ROW_HEIGHT + 0.5 + inset,
            round(each - gap - FRAME, 3),
            ROW_HEIGHT - 1.0 - FRAME,
            step_of(severity),
            False,
            sign,
            _spot_says(report.table.cell(member, column), state),
            shot,
            framed=True,
        )
    return HeatCell(
        round(x, 3),
        # Too small for a frame, what is meant is half as high.
        TOP + index * ROW_HEIGHT + (ROW_HEIGHT / 2.0 if meant else 0.5),
        round(each - gap, 3),
        ROW_HEIGHT / 2.0 - 0.5 if meant else ROW_HEIGHT - 1.0,
        step_of(severity),
        ink_is_black(*colour),
        sign,
        _spot_says(report.table.cell(member, column), state) if says else "",
        shot,
    )


def _spot_says(cell: ComparedCell, state: State) -> str:
    where = f"{shown(cell.shot, 60)}, {shown(cell.parameter, 120)}"
    return f"{where}: {shown(drift_text(cell), 40)}, {cell.grade.word}, {state}"


def _shapes(spots: Sequence[HeatCell]) -> tuple[tuple[int, str], ...]:
    """Cells as one path a colour step; neighbours of one colour run together."""
    runs: dict[int, list[list[float]]] = {}
    for spot in spots:
        line = runs.setdefault(spot.step, [])
        last = line[-1] if line else None
        if last and last[1] == spot.y and last[3] == spot.height and abs(last[0] + last[2] - spot.x) < 0.01:
            last[2] += spot.width
        else:
            line.append([spot.x, spot.y, spot.width, spot.height])
    return tuple(
        (step, "".join(f"M{x:g} {y:g}h{width:.5g}v{height:g}h-{width:.5g}z" for x, y, width, height in line))
        for step, line in sorted(runs.items())
    )


def _says(report: Report, rows: Sequence[_Row]) -> str:
    drifting = sum(1 for shot in report.shots for line in shot.lines if line.cell.drifts)
    worst = [shot for shot in report.shots if shot.tally.unsettled]
    text = f"{len(report.shots)} shots by {len(rows)} rows; {drifting} cells drift"
    if worst:
        most = max(worst, key=lambda shot: shot.tally.unsettled)
        text += (
            f", in {len(worst)} shots something is left to decide or mend, most in "
            f"{shown(most.name, 60)} ({most.tally.unsettled})"
        )
    return text + ". The same is listed below, shot by shot."
