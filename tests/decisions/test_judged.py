"""What was decided on a table's cells, worked out once, is what is worked out for each cell alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from samelight.decisions import judged as judging
from samelight.decisions.decision import Verb
from samelight.decisions.judged import Judged, judge_all
from samelight.decisions.ledger import Ledger, Subject, open_ledger
from samelight.decisions.state import Judgement, State, judge
from samelight.drift.cells import Grade
from samelight.drift.policy import Tolerance
from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table

SHOTS, ROWS = ("A", "B", "C", "D"), ("lights.sun.level", "lights.rim.level", "lights.fill.level")


def row(name: str) -> Row:
    _, group, leaf = name.split(".")
    return Row(name, "lights", group, leaf, "number", Tolerance(1.0, "", "*", "policy.yaml"), None)


def entry(value: float) -> Entry:
    return Entry(1.0, value, value - 1.0, value - 1.0, Grade.DRIFT if value > 2 else Grade.SAME)


def table(values: Any, pool: Sequence[Entry | None] | None = None) -> Table:
    made: Sequence[Entry | None] = pool or [None, *(entry(1.0 + number) for number in range(9))]
    return Table.coded(SHOTS, [row(name) for name in ROWS], made, np.array(values, dtype=np.int32))


VALUES = [[1, 2, 3, 0], [4, 5, 6, 7], [8, 9, 1, 2]]


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    return open_ledger(tmp_path)


def on(table: Table, *cells: tuple[int, int]) -> list[Subject]:
    subjects = []
    for place in cells:
        held = table.entry(*place)
        assert held is not None
        subjects.append(Subject(table.shots[place[1]], ROWS[place[0]], held.value, held.master))
    return subjects


def plainly(table: Table, ledger: Ledger, version: int | None) -> Mapping[tuple[int, int], Judgement]:
    found = {}
    for shot, parameter in ledger.by_cell():
        at, column = table.row(parameter), table.column(shot)
        if at is not None and column is not None:
            held = table.entry(at, column)
            value, master = (held.value, held.master) if held is not None else (None, None)
            found[at, column] = ledger.judgement(shot, parameter, value, master, version)
    return found


def assert_plain(made: Judged, table: Table, ledger: Ledger, version: int | None) -> None:
    plain = plainly(table, ledger, version)
    assert dict(made.judgements) == plain
    assert dict(made.states) == {cell: judgement.state for cell, judgement in plain.items()}
    assert {(row, column) for column, rows in made.rows.items() for row in rows} == plain.keys()
    assert all(list(rows) == sorted(rows) for rows in made.rows.values())
    intended = {cell for cell, judgement in plain.items() if judgement.state is State.INTENDED}
    assert set(zip(*(places.tolist() for places in made.intended), strict=True)) == intended


def decided(ledger: Ledger, first: Table) -> None:
    ledger.decide(Verb.INTEND, on(first, (0, 0), (1, 1), (2, 1), (1, 3)), "lead", "meant")
    ledger.decide(Verb.RETURN, on(first, (1, 1), (0, 2)), "lead")
    ledger.decide(Verb.INTEND, on(first, (2, 2)), "lead", "until then", until=3)
    ledger.note("A", "a note is no decision", "lead")
    ledger.decide(Verb.INTEND, [Subject("Z", ROWS[0], 1.0, 1.0)], "lead", "not in this cut")


def test_every_cell_is_judged_as_it_is_alone(ledger: Ledger) -> None:
    first = table(VALUES)
    assert_plain(judge_all(first, ledger, 3), first, ledger, 3)
    decided(ledger, first)
    made = judge_all(first, ledger, 3)
    assert_plain(made, first, ledger, 3)
    assert set(made.states.values()) == {State.INTENDED, State.SENT_BACK}


def test_after_any_change_it_is_as_if_made_anew(ledger: Ledger) -> None:
    first = table(VALUES)
    decided(ledger, first)
    made = judge_all(first, ledger, 3)
    changed = table([[1, 2, 4, 0], [4, 5, 6, 0], [8, 9, 1, 2]], first.pool)
    for other, version in ((changed, 3), (changed, 4), (table(VALUES), None), (first, 3)):
        made = judge_all(other, ledger, version, made)
        assert_plain(made, other, ledger, version)
    ledger.decide(Verb.WITHDRAW, on(first, (1, 1)), "lead")
    made = judge_all(first, ledger, 3, made)
    assert_plain(made, first, ledger, 3)
    assert made.states[1, 1] is State.UNDECIDED


def test_only_what_changed_is_judged_again(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    first = table(VALUES)
    decided(ledger, first)
    made = judge_all(first, ledger, 3)
    asked: list[Any] = []

    def noting(*args: Any, **known: Any) -> Judgement:
        asked.append(args)
        return judge(*args, **known)

    monkeypatch.setattr(judging, "judge", noting)
    ledger.decide(Verb.RETURN, on(first, (2, 1)), "lead")
    made = judge_all(first, ledger, 3, made)
    assert len(asked) == 1
    moved = first.codes.copy()
    moved[0, 0] = 5
    made = judge_all(table(moved, first.pool), ledger, 3, made)
    assert len(asked) == 2
    judge_all(table(moved, first.pool), ledger, 4, made)
    assert len(asked) == 2 + len(made.states)


def test_what_is_decided_meanwhile_counts_the_next_time(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = table(VALUES)
    decided(ledger, first)
    others = iter([on(first, (1, 0))])

    def interrupted(*args: Any, **known: Any) -> Judgement:
        for subjects in others:
            ledger.decide(Verb.RETURN, subjects, "somebody else")
        return judge(*args, **known)

    monkeypatch.setattr(judging, "judge", interrupted)
    made = judge_all(first, ledger, 3)
    assert (1, 0) not in made.states and not made.is_of(first, ledger, 3)
    assert_plain(judge_all(first, ledger, 3, made), first, ledger, 3)


def test_it_knows_what_it_is_of(ledger: Ledger, tmp_path: Path) -> None:
    first = table(VALUES)
    made = judge_all(first, ledger, 3)
    assert made.is_of(first, ledger, 3)
    assert not made.is_of(table(VALUES), ledger, 3)
    assert not made.is_of(first, open_ledger(tmp_path / "another"), 3)
    assert not made.is_of(first, ledger, 4)
    ledger.note("A", "something new", "lead")
    assert not made.is_of(first, ledger, 3)


def test_nobody_can_change_it(ledger: Ledger) -> None:
    first = table(VALUES)
    decided(ledger, first)
    made: Any = judge_all(first, ledger, 3)
    for mapping in (made.states, made.judgements, made.rows):
        with pytest.raises(TypeError):
            mapping[0, 0] = None
