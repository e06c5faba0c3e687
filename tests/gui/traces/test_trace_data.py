from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from known import being, there
from samelight.drift.jumps import jumps_of
from samelight.gui.paint.line_styles import STYLES
from samelight.gui.traces.trace_data import (
    MOST_TOGETHER,
    Trace,
    TraceScale,
    panel_of_row,
    panels_together,
    traces_of,
)
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import Session, open_session
from samelight.sheets.values import Bearing

MakeSequence = Callable[..., Path]


def of(session: Session, parameter: str) -> list[Trace]:
    row = session.table.row(parameter)
    assert row is not None
    return traces_of(session.table, row)


def test_a_light_is_plotted_by_level_azimuth_and_elevation(harbour_session: Session) -> None:
    level, azimuth, elevation = of(harbour_session, "lights.sun.direction")
    assert (level.title, azimuth.title, elevation.title) == ("level", "azimuth", "elevation")
    moved = [harbour_session.table.column(shot) for shot in ("HB_050", "HB_060", "HB_070", "HB_080")]
    assert azimuth.master == pytest.approx(131.0)
    for column in range(len(harbour_session.table.shots)):
        expected = 143.0 if column in moved else 131.0
        assert azimuth.values[column] == pytest.approx(expected, abs=1e-4)
    assert np.allclose(elevation.values, 24.0, atol=1e-4)
    assert np.allclose(level.values, 0.0, atol=1e-9)
    # Half a degree on the sphere is more than half a degree of azimuth at 24° elevation.
    assert azimuth.high - azimuth.master == pytest.approx(0.5 / math.cos(math.radians(24)))


def test_any_numeric_row_has_a_trace_in_its_own_unit(harbour_session: Session) -> None:
    (gi_range,) = of(harbour_session, "render.gi.range")
    column = harbour_session.table.column("HB_120")
    assert column is not None
    assert gi_range.unit == " m"
    assert gi_range.values[column] == pytest.approx(350.0)
    assert gi_range.master == pytest.approx(3.5)
    low, high = gi_range.spread()
    assert low < 3.5 and high > 350


def test_a_row_without_numbers_says_where_it_differs(harbour_session: Session) -> None:
    (frames,) = of(harbour_session, "passes.background.frames")
    column = harbour_session.table.column("HB_020")
    assert column is not None
    assert frames.read_out(column) == "differs"
    assert frames.read_out(0) == "as master"


@pytest.mark.parametrize("parameter", ["marks.face.level", "marks.face.level.sun", "rays.indirect.level"])
def test_a_computed_level_is_plotted_in_stops_from_what_each_shot_is_compared_with(
    parameter: str, harbour_session: Session
) -> None:
    table = harbour_session.table
    (level,) = of(harbour_session, parameter)
    row = table.row(parameter)
    assert row is not None
    assert (level.unit, level.words, level.master) == (" st", (), 0.0)
    assert level.high == pytest.approx(table.rows[row].tolerance.at_most)
    drifts = [math.nan if entry is None else entry.drift for entry in table.line(row)]
    assert np.allclose(level.values, drifts, atol=1e-9, equal_nan=True)
    assert np.nanmax(np.abs(level.values)) > 0.1


def test_a_light_that_is_absent_has_a_gap(harbour_session: Session) -> None:
    level = next(trace for trace in of(harbour_session, "lights.boat_lamp.level") if trace.title == "level")
    column = harbour_session.table.column("HB_200")
    assert column is not None
    assert math.isnan(level.values[column])
    assert level.read_out(column) == "no value"


# Scales


def test_a_level_can_stand_in_stops_as_it_is_or_by_logarithm(harbour_session: Session) -> None:
    table = harbour_session.table
    row = table.row("lights.bounce.level")
    column = table.column("HB_150")
    assert row is not None and column is not None
    level = {scale: traces_of(table, row, scale=scale)[0] for scale in TraceScale}
    assert level[TraceScale.OWN].values == pytest.approx(level[TraceScale.STOPS].values, nan_ok=True)
    assert level[TraceScale.OWN].values[column] == pytest.approx(-0.35)
    ratio = level[TraceScale.LINEAR].values[column] / level[TraceScale.LINEAR].master
    assert math.log2(ratio) == pytest.approx(-0.35)
    assert level[TraceScale.LOG].values == pytest.approx(
        np.log10(level[TraceScale.LINEAR].values), nan_ok=True
    )
    # The read-out is the quantity itself on every scale, and the band is the same tolerance.
    assert level[TraceScale.LOG].read_out(column) == level[TraceScale.LINEAR].read_out(column)
    tolerance = table.rows[row].tolerance.at_most
    assert level[TraceScale.STOPS].high == pytest.approx(tolerance)
    assert level[TraceScale.LINEAR].high / level[TraceScale.LINEAR].master == pytest.approx(2**tolerance)
    assert level[TraceScale.LOG].high - level[TraceScale.LOG].master == pytest.approx(
        tolerance * math.log10(2)
    )


def test_a_unit_slip_is_two_decades_and_6_64_stops(harbour_session: Session) -> None:
    table = harbour_session.table
    row, column = table.row("render.gi.range"), table.column("HB_120")
    assert row is not None and column is not None
    log = traces_of(table, row, scale=TraceScale.LOG)[0]
    assert log.values[column] - log.master == pytest.approx(2.0)
    assert (log.read_out(column), log.said(log.master)) == ("350 m", "3.5 m")
    stops = traces_of(table, row, scale=TraceScale.STOPS)[0]
    assert stops.values[column] == pytest.approx(math.log2(100))
    assert stops.read_out(column) == "6.644 st"


def test_what_has_no_ratio_keeps_its_own_scale(harbour_session: Session) -> None:
    table = harbour_session.table
    row = table.row("lights.sun.direction")
    assert row is not None
    for scale in TraceScale:
        azimuth = next(trace for trace in traces_of(table, row, scale=scale) if trace.title == "azimuth")
        assert azimuth.master == pytest.approx(131.0) and azimuth.scale is TraceScale.LINEAR


def test_a_light_that_is_dark_says_so_on_every_scale(make_sequence: MakeSequence) -> None:
    lamp = {"type": "point", "position": [0, 1, 0], "intensity": 2}
    folder = make_sequence(
        master={"lights": {"lamp": lamp}},
        shots={
            "QU_010": {"lights": {"lamp": {**lamp, "intensity": 0}}},
            "QU_020": {"lights": {"lamp": lamp}},
        },
    )
    table = open_session(folder).table
    row = table.row("lights.lamp.level")
    assert row is not None
    for scale in (TraceScale.OWN, TraceScale.STOPS, TraceScale.LOG):
        trace = traces_of(table, row, scale=scale)[0]
        assert trace.values[0] == -math.inf and trace.read_out(0) == "dark"
        low, high = trace.spread()
        assert math.isfinite(low) and math.isfinite(high)
    assert traces_of(table, row, scale=TraceScale.LINEAR)[0].values[0] == 0.0


# Masters that differ from shot to shot


def test_against_the_shot_before_every_shot_has_a_master_of_its_own(harbour_session: Session) -> None:
    harbour_session.hold_against(Reference(Against.BEFORE))
    table = harbour_session.table
    row = table.row("lights.sun.direction")
    assert row is not None
    azimuth = next(trace for trace in traces_of(table, row) if trace.title == "azimuth")
    assert azimuth.masters is not None and math.isnan(azimuth.master)
    column = table.column("HB_050")
    assert column is not None
    assert azimuth.masters[column] == pytest.approx(131.0) and azimuth.values[column] == pytest.approx(143.0)
    assert azimuth.masters[column + 1] == pytest.approx(143.0)
    assert azimuth.from_master().values[column] == pytest.approx(12.0)
    assert azimuth.from_master().values[column + 1] == pytest.approx(0.0)


def test_a_computed_angle_has_a_line_and_a_band_for_each_shot(harbour_session: Session) -> None:
    """The key's angle is seen from each shot's own camera, and so is what it is compared with."""
    table = harbour_session.table
    row = table.row("marks.face.key_angle")
    assert row is not None
    (angle,) = traces_of(table, row)
    references = [being(Bearing, there(entry).master).degrees for entry in table.line(row)]
    assert len(set(references)) > 10
    assert angle.masters is not None and angle.lows is not None and angle.highs is not None
    assert angle.masters == pytest.approx(references)
    tolerance = table.rows[row].tolerance.at_most
    assert angle.highs - angle.masters == pytest.approx([tolerance] * len(references))
    assert angle.masters - angle.lows == pytest.approx([tolerance] * len(references))
    moved = table.column("HB_060")
    assert moved is not None
    assert angle.values[moved] - angle.masters[moved] == pytest.approx(-12.0)
    assert angle.values[moved] < angle.lows[moved]


def test_an_angle_stands_the_shorter_way_from_what_it_is_compared_with(make_sequence: MakeSequence) -> None:
    sky = {"texture": "maps/dawn.exr", "rotation": 5}
    turns = {"QU_010": 358, "QU_020": 12, "QU_030": 365, "QU_040": 185}
    folder = make_sequence(
        master={"environments": {"sky": sky}},
        shots={shot: {"environments": {"sky": {**sky, "rotation": turn}}} for shot, turn in turns.items()},
    )
    table = open_session(folder).table
    row = table.row("environments.sky.rotation")
    assert row is not None
    rotation = traces_of(table, row)[0]
    assert rotation.values == pytest.approx([-2.0, 12.0, 5.0, 185.0])
    assert np.abs(rotation.values - rotation.master) == pytest.approx(np.abs(table.drift[row]))


def test_against_the_shot_before_an_azimuth_is_the_shorter_way_from_its_own_master(
    make_sequence: MakeSequence,
) -> None:
    sun = {"type": "distant", "azimuth": 170, "elevation": 60, "intensity": 1}
    azimuths = (170, 340, 20, 355)
    folder = make_sequence(
        master={"lights": {"sun": sun}},
        shots={
            f"QU_{10 * place:03d}": {"lights": {"sun": {**sun, "azimuth": azimuth}}}
            for place, azimuth in enumerate(azimuths, 1)
        },
    )
    session = open_session(folder)
    session.hold_against(Reference(Against.BEFORE))
    row = session.table.row("lights.sun.direction")
    assert row is not None
    azimuth = next(trace for trace in traces_of(session.table, row) if trace.title == "azimuth")
    assert azimuth.masters is not None and azimuth.highs is not None
    off = azimuth.values - azimuth.masters
    assert off[1:] == pytest.approx([170.0, 40.0, -25.0])
    # At 60° of elevation an angle on the sphere is twice as much azimuth.
    width = 2.0 * session.table.rows[row].tolerance.at_most
    assert (azimuth.highs - azimuth.masters)[1:] == pytest.approx([width] * 3, rel=1e-3)


# Jumps at cuts


def rims(levels: Sequence[float]) -> dict[str, Any]:
    rim = {"type": "point", "position": [0, 1, 0], "intensity": 1}
    return {
        "master": {"lights": {"rim": rim}},
        "shots": {
            f"QU_{10 * place:03d}": {"lights": {"rim": {**rim, "exposure": exposure}}}
            for place, exposure in enumerate(levels, 1)
        },
        "policy": {"tolerances": {"lights.rim.level": "0.2 st"}},
    }


def test_neighbours_within_tolerance_of_the_master_but_not_of_each_other_jump(
    make_sequence: MakeSequence,
) -> None:
    # +0.15 | -0.15 is 0.3 apart; 0.15 | 0 is not; 0.5 is no jump but drift.
    table = open_session(make_sequence(**rims([0.15, -0.15, 0.0, 0.15, 0.5, -0.1]))).table
    row = table.row("lights.rim.level")
    assert row is not None
    assert jumps_of(table, row) == [0]
    (panel,) = panel_of_row(table, row)
    assert panel.strands[0].jumps == (0,)


def test_jumps_agree_with_the_finding(make_sequence: MakeSequence) -> None:
    session = open_session(make_sequence(**rims([0.15, -0.15, 0.15, 0.0, 0.0, -0.19, 0.19])))
    row = session.table.row("lights.rim.level")
    assert row is not None
    found = [finding for finding in session.cases.findings if finding.finding == "cut-jump"]
    shots = {shot for finding in found for shot in finding.shots}
    jumps = jumps_of(session.table, row)
    assert jumps == [0, 1, 5]
    assert shots == {session.table.shots[place] for jump in jumps for place in (jump, jump + 1)}


def test_a_turned_light_jumps_in_azimuth_and_not_in_elevation(make_sequence: MakeSequence) -> None:
    sun = {"type": "distant", "azimuth": 100, "elevation": 0, "intensity": 1}
    folder = make_sequence(
        master={"lights": {"sun": sun}},
        shots={
            "QU_010": {"lights": {"sun": {**sun, "azimuth": 100.4}}},
            "QU_020": {"lights": {"sun": {**sun, "azimuth": 99.6}}},
        },
    )
    table = open_session(folder).table
    row = table.row("lights.sun.direction")
    assert row is not None
    panels = {panel.title: panel.strands[0].jumps for panel in panel_of_row(table, row)}
    assert panels["azimuth"] == (0,) and panels["elevation"] == ()


# Several lights together


def test_several_lights_share_the_axes_as_differences_from_the_master(harbour_session: Session) -> None:
    table = harbour_session.table
    rows = [(name, table.row(f"lights.{name}")) for name in ("sun", "window_fill", "boat_lamp")]
    panels = panels_together(table, [(name, row) for name, row in rows if row is not None])
    assert [panel.title for panel in panels] == ["level", "azimuth", "elevation"]
    level, azimuth, _ = panels
    assert [strand.name for strand in level.strands] == ["sun", "window_fill", "boat_lamp"]
    assert [strand.name for strand in azimuth.strands] == ["sun", "window_fill"]  # a sphere has no direction
    column = table.column("HB_060")
    assert column is not None
    assert azimuth.strands[0].trace.values[column] == pytest.approx(12.0)
    assert all(strand.trace.master == 0.0 for panel in panels for strand in panel.strands)
    low, high = azimuth.spread()
    assert low < 0 and high > 12


def test_no_more_lights_are_drawn_together_than_can_be_told_apart(harbour_session: Session) -> None:
    table = harbour_session.table
    groups = [
        (row.group, index) for index, row in enumerate(table.rows) if row.section == "lights" and not row.leaf
    ]
    assert len(groups) > MOST_TOGETHER
    level = panels_together(table, groups)[0]
    assert len(level.strands) == MOST_TOGETHER == len(STYLES)
    assert len({(width, dashes) for _, width, dashes in STYLES}) == len(STYLES)
