"""Pairs that are graded together, against each by itself."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.drift.grading import Compared, entries_of, plain_entry
from samelight.drift.policy import Lock, Policy, Tolerance
from samelight.drift.rows import Entry, Row
from samelight.drift.table import build_table
from samelight.light.noise import figure, figures
from samelight.sheets import vocabulary as kinds
from samelight.sheets.canonical import Sections
from samelight.sheets.sheet import Sheet
from samelight.sheets.unstated import unstated
from samelight.sheets.values import Colour, Level, Static, Value, strictly_equal
from strategies import colours, finite, levels, positions, positive, sets, unit_vectors, values, words

# Zeros of both signs, what noise apart is and what overflows, besides numbers of every size.
numbers = st.one_of(
    finite, positive, st.sampled_from([0.0, -0.0, 1.0, 1.0 + 1e-9, 1.0 + 1e-13, 1e100, -1e100, 2.0])
)
OF_KIND: dict[str, st.SearchStrategy[Static]] = {
    **dict.fromkeys(
        [
            kinds.TEMPERATURE,
            kinds.LENGTH,
            kinds.NUMBER,
            kinds.DURATION,
            kinds.ANGLE,
            kinds.COUNT,
            kinds.FRACTION,
        ],
        numbers,
    ),
    kinds.LEVEL: st.one_of(levels, st.builds(Level, numbers, st.sampled_from(["relative", "illuminance"]))),
    kinds.COLOUR: st.one_of(colours, st.just(Colour(0.2, 0.5)), st.just(Colour(0.2 + 1e-12, 0.5))),
    kinds.DIRECTION: st.one_of(
        unit_vectors, st.sampled_from([(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1e-8, 1.0)])
    ),
    kinds.POSITION: st.one_of(positions, st.tuples(finite, finite), st.just((1.0, 2.0, 3.0))),
    kinds.SET: sets,
    kinds.SWITCH: st.booleans(),
    kinds.CHOICE: words,
    kinds.TEXT: words,
    kinds.FILE: words,
}
tolerances = st.sampled_from([-1.0, 0.0, 1e-9, 0.05, 0.1, 1.0, 2.0, 50.0])
locks = st.sampled_from([None, Lock("*", "One for all", "")])
leaves = st.sampled_from(["level", "samples", "gi.rays", "roll"])


def row(kind: str, leaf: str, tolerance: float, lock: Lock | None) -> Row:
    return Row(f"lights.sun.{leaf}", "lights", "sun", leaf, kind, Tolerance(tolerance, "", kind, ""), lock)


def told(entry: Entry | None) -> Any:
    """All of an entry, its numbers to the last bit and with their signs."""
    if entry is None:
        return None
    return entry.master, entry.value, repr(entry.drift), repr(entry.severity), entry.grade, entry.remark


@st.composite
def places(draw: st.DrawFn) -> tuple[Row, Value | None, Value | None]:
    kind = draw(st.sampled_from(sorted(OF_KIND)))
    one = draw(st.one_of(OF_KIND[kind], OF_KIND[kind], OF_KIND[kind], values, st.none()))
    other = draw(st.one_of(OF_KIND[kind], OF_KIND[kind], values, *([] if one is None else [st.none()])))
    return row(kind, draw(leaves), draw(tolerances), draw(locks)), one, other


@given(st.lists(places(), max_size=40))
def test_together_they_are_as_each_by_itself(
    all_places: list[tuple[Row, Value | None, Value | None]],
) -> None:
    held = [Compared(what, one, [other]) for what, one, other in all_places]
    assert [told(entry) for entry in entries_of(held)] == [told(plain_entry(*one)) for one in all_places]


@pytest.mark.parametrize("kind", sorted(OF_KIND))
@given(data=st.data())
def test_every_kind(kind: str, data: st.DataObject) -> None:
    pairs = data.draw(st.lists(st.tuples(OF_KIND[kind], OF_KIND[kind]), min_size=1, max_size=20))
    of_kind = row(kind, data.draw(leaves), data.draw(tolerances), data.draw(locks))
    others = [other for _, other in pairs]
    entries = entries_of([Compared(of_kind, one, others) for one, _ in pairs])
    assert [told(entry) for entry in entries] == [
        told(plain_entry(of_kind, one, other)) for one, _ in pairs for other in others
    ]


def test_numbers_of_the_usual_type_are_not_measured_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> Entry:
        raise AssertionError("measured by itself")

    monkeypatch.setattr("samelight.drift.grading.plain_entry", never)
    for kind, one, other in (
        (kinds.LEVEL, Level(1.0), Level(2.0)),
        (kinds.COLOUR, Colour(0.2, 0.5), Colour(0.21, 0.5)),
        (kinds.DIRECTION, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
        (kinds.POSITION, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
        (kinds.LENGTH, 1.0, 2.0),
        (kinds.COUNT, 16.0, 32.0),
        (kinds.SET, frozenset("a"), frozenset("b")),
        (kinds.TEXT, "a", "b"),
    ):
        (entry,) = entries_of([Compared(row(kind, "level", 0.1, None), one, [other])])
        assert entry.severity > 0.0


decimals = st.builds(
    lambda digits, power, beside: digits * 10.0**power * (1.0 + beside),
    st.integers(-(10**12), 10**12),
    st.integers(-26, 24),
    st.sampled_from([0.0, 1e-12, 5e-13, -5e-13, 1e-15]),
)
"""Numbers beside those of twelve digits, halfway between two of them too."""


@given(st.lists(st.one_of(finite, decimals, st.sampled_from([math.inf, -math.inf, 0.0, -0.0]))))
def test_figures_are_those_of_each(some: list[float]) -> None:
    assert [repr(one) for one in figures(some).tolist()] == [repr(float(f"{one:.12g}")) for one in some]
    assert [repr(figure(one)) for one in some] == [repr(float(f"{one:.12g}")) for one in some]


POLICY = Policy(
    tolerances=(
        Tolerance(0.1, "", "level", ""),
        Tolerance(2.0, "", "direction", ""),
        Tolerance(2.0, "", "lights.*.samples", ""),
    ),
    locks=(Lock("lights.sun.*", "One sun", ""),),
)
lights = st.fixed_dictionaries(
    {},
    optional={
        "type": words,
        "direction": OF_KIND[kinds.DIRECTION],
        "position": OF_KIND[kinds.POSITION],
        "level": OF_KIND[kinds.LEVEL],
        "colour": OF_KIND[kinds.COLOUR],
        "cone": numbers,
        "radius": numbers,
        "softness": numbers,
        "samples": numbers,
        "seen_by": sets,
        "visible": st.booleans(),
        "more": values,
    },
)
sections = st.fixed_dictionaries(
    {"lights": st.dictionaries(st.sampled_from(["sun", "rim", "kick"]), lights)},
    optional={"render": st.dictionaries(st.sampled_from(["", "gi"]), lights)},
)


@given(sections, st.lists(sections, min_size=1, max_size=4))
def test_a_table_is_as_cell_by_cell(master: Sections, shots: list[Sections]) -> None:
    names = [f"S{number}" for number in range(len(shots))]
    sheets: dict[str, Sheet] = {name: _sheet(name, held) for name, held in zip(names, shots, strict=True)}
    made = build_table(names, sheets, _sheet("", master), POLICY)
    for index, what in enumerate(made.rows):
        for column, name in enumerate(names):
            mine = master.get(what.section, {}).get(what.group)
            theirs = sheets[name].sections.get(what.section, {}).get(what.group)
            if mine is None or theirs is None or not what.leaf:
                continue
            reference, value = mine.get(what.leaf), theirs.get(what.leaf)
            # What one leaves out that another states is what that means.
            every = [
                held.get(what.section, {}).get(what.group, {}).get(what.leaf) for held in (master, *shots)
            ]
            beside = next((one for one in every if one is not None), None)
            meant = unstated(what.section, what.leaf, beside)
            reference, value = (meant if one is None else one for one in (reference, value))
            entry = made.entry(index, column)
            if reference is None and value is None:
                assert entry is None
            elif strictly_equal(reference, value) and entry is not None and entry.master is entry.value:
                assert told(entry)[3:5] == ("0.0", 1)
            else:
                assert told(entry) == told(plain_entry(what, reference, value))


def test_a_row_is_graded_once_for_all_shots(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    of = Row.of

    def noting(asked_row: Row, reference: Value | None, away: float = 0.0) -> Row:
        asked.append(asked_row.parameter)
        return of(asked_row, reference, away)

    monkeypatch.setattr(Row, "of", noting)
    master: Sections = {"lights": {"sun": {"level": Level(1.0), "samples": 8.0}}}
    counts = []
    for number in (3, 30):
        sheets = {
            f"S{shot}": _sheet(
                f"S{shot}", {"lights": {"sun": {"level": Level(2.0 + shot), "samples": 9.0 + shot}}}
            )
            for shot in range(number)
        }
        asked.clear()
        made = build_table(list(sheets), sheets, _sheet("", master), POLICY)
        assert made.counts()["break"] == number  # the levels: more samples break no lock
        counts.append(len(asked))
    assert counts[0] == counts[1]


def _sheet(shot: str, held: Sections) -> Sheet:
    return Sheet(Path(f"{shot}.yaml"), shot, 1, None, None, {}, held)
