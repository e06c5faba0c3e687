from __future__ import annotations

import math

import numpy as np
import pytest

from samelight.gui.trace_data import Trace, traces_of
from samelight.session import Session


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


def test_a_light_that_is_absent_has_a_gap(harbour_session: Session) -> None:
    level = next(trace for trace in of(harbour_session, "lights.boat_lamp.level") if trace.title == "level")
    column = harbour_session.table.column("HB_200")
    assert column is not None
    assert math.isnan(level.values[column])
    assert level.read_out(column) == "no value"
