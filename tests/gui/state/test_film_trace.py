"""One light over a production as curves."""

from __future__ import annotations

import math

import pytest

from samelight.gui.state.film_trace import film_trace
from samelight.reports.traced import Stop, Traced


def stop(shot: str, sequence: str = "a", **readings: float) -> Stop:
    return Stop(sequence, "", shot, {}, {}, readings, {"azimuth": 350.0, "level": 2.0, "size": 1.0})


def test_what_moves_is_drawn_and_azimuths_go_on_past_north() -> None:
    stops = (stop("1", azimuth=350.0, level=2.0, size=1.0), stop("2", "b", azimuth=10.0, level=0.5, size=1.0))
    trace = film_trace(Traced("lights.sun", (), stops, {"azimuth": "°", "size": " m"}))
    assert [line.name for line in trace.lines] == ["azimuth", "level"] and trace.steady == ("size",)
    assert trace.lines[0].values.tolist() == [350.0, 370.0]
    assert trace.lines[1].values.tolist() == [0.0, -2.0] and trace.lines[1].unit == " st"
    assert trace.starts == ((0, "a"), (1, "b"))
    assert trace.said(1) == "b/2; azimuth 10°, master 350°; level −2 st, master 0 st"


def test_what_a_shot_lacks_is_a_gap() -> None:
    trace = film_trace(Traced("lights.sun", (), (stop("1", azimuth=350.0), stop("2", level=4.0)), {}))
    assert math.isnan(trace.lines[0].values[1]) and trace.lines[0].said(1) == "azimuth none, master 350"
    assert trace.lines[1].values.tolist()[1] == pytest.approx(1.0)


def test_of_a_light_that_is_one_over_all_of_it_a_curve_is_drawn_all_the_same() -> None:
    trace = film_trace(Traced("lights.sun", (), (stop("1", azimuth=350.0, level=2.0, size=1.0),), {}))
    assert [line.name for line in trace.lines] == ["azimuth"]
    assert trace.steady == ("azimuth", "level", "size")
