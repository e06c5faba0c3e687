"""Canonical values of every kind, for property tests."""

from __future__ import annotations

import math

from hypothesis import strategies as st

from samelight.sheets.values import Amount, Colour, Curve, FileRef, Level, Static, Value

finite = st.floats(-1e6, 1e6)
positive = st.floats(1e-3, 1e6)
positions = st.tuples(*[st.floats(-1e3, 1e3)] * 3)


def _unit(angles: tuple[float, float]) -> tuple[float, float, float]:
    turn, rise = angles
    return (math.cos(rise) * math.cos(turn), math.sin(rise), math.cos(rise) * math.sin(turn))


unit_vectors = st.tuples(st.floats(-math.pi, math.pi), st.floats(-math.pi / 2, math.pi / 2)).map(_unit)
levels = st.builds(Level, st.one_of(st.just(0.0), st.floats(1e-6, 1e6)))
colours = st.builds(Colour, st.floats(0.05, 0.6), st.floats(0.05, 0.6))
amounts = st.builds(Amount, finite, st.just("length"))
words = st.text("abc_/*", min_size=1, max_size=4)
sets = st.frozensets(words, max_size=4)
files = st.builds(FileRef, words, st.sampled_from(["", "a" * 64, "b" * 64]))


def curves_of(values: st.SearchStrategy[Static]) -> st.SearchStrategy[Curve]:
    """Linear curves of one to five keys."""
    frames = st.lists(st.integers(-50, 50), min_size=1, max_size=5, unique=True).map(sorted)
    return frames.flatmap(
        lambda found: st.tuples(*[values] * len(found)).map(
            lambda keys: Curve(tuple(zip(map(float, found), keys, strict=True)))
        )
    )


statics: st.SearchStrategy[Static] = st.one_of(
    st.booleans(),
    finite,
    st.sampled_from([0.0, 1.0]),
    st.text(max_size=8),
    positions,
    st.tuples(finite, finite),
    sets,
    st.builds(Level, finite, st.sampled_from(["relative", "illuminance"])),
    colours,
    files,
    st.builds(Amount, finite, st.sampled_from(["length", "angle"])),
)
values: st.SearchStrategy[Value] = st.one_of(statics, curves_of(statics))
