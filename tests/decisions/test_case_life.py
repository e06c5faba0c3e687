"""The life of a case: sent back, taken up, mended, closed. Its state follows from values, versions and entries alone."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.ledger import Subject, open_ledger
from samelight.decisions.state import NO_SHEET, Judgement, State, judge, may
from samelight.decisions.tally import Tally
from samelight.sheets.values import Level, Value

OFF, NEARER, MASTER = Level(2.0), Level(1.2), Level(1.0)
NOON = datetime(2026, 9, 14, 12, tzinfo=UTC)


def entry(
    name: str, verb: Verb, follows: str = "", value: Value | None = OFF, version: int | None = 2
) -> Decision:
    reason = "as in the master" if verb is Verb.RETURN else ""
    made = Decision(name, verb, "A", "x.y", value, MASTER, reason, name, NOON, tuple(follows.split()))
    return replace(made, version=version)


BACK = entry("a", Verb.RETURN)
TAKEN = entry("b", Verb.TAKE_UP, "a")
CLOSED = entry("c", Verb.CLOSE, "b", MASTER, 3)
AGAIN = entry("c", Verb.RETURN, "b", NEARER, 3)


@pytest.mark.parametrize(
    ("entries", "value", "version", "inside", "expected"),
    [
        ([BACK], OFF, 2, False, State.SENT_BACK),
        ([BACK, TAKEN], OFF, 2, False, State.TAKEN_UP),
        ([BACK], MASTER, 3, True, State.MENDED),  # nobody said that it was taken up
        ([BACK, TAKEN], MASTER, 3, True, State.MENDED),
        ([BACK, TAKEN], NEARER, 3, False, State.MENDED),
        ([BACK, TAKEN], OFF, 3, False, State.MENDED),  # a newer version, and the value as it was
        ([BACK, TAKEN], NEARER, 2, False, State.MENDED),  # somebody wrote over the version
        ([BACK, TAKEN], None, 3, True, State.MENDED),  # it is not there any more
        ([BACK, TAKEN], None, NO_SHEET, True, State.TAKEN_UP),  # nobody knows what it holds
        ([BACK], OFF, None, False, State.SENT_BACK),
        ([replace(BACK, version=None)], OFF, 9, False, State.SENT_BACK),  # of before versions were kept
        ([BACK, TAKEN, AGAIN], NEARER, 3, False, State.SENT_BACK),
        ([BACK, TAKEN, AGAIN], MASTER, 4, True, State.MENDED),
        ([BACK, TAKEN, CLOSED], MASTER, 3, True, State.CLOSED),
        ([BACK, TAKEN, CLOSED], MASTER, 7, True, State.CLOSED),
        ([BACK, TAKEN, CLOSED], OFF, 7, False, State.ASKS_AGAIN),
    ],
)
def test_each_step(
    entries: list[Decision], value: Value | None, version: int | None, inside: bool, expected: State
) -> None:
    for order in itertools.permutations(entries):
        judged = judge(value, MASTER, order, 3, shot_version=version, inside=inside)
        assert judged.state is expected


def test_another_master_alone_asks_again_unless_it_brings_the_cell_inside() -> None:
    assert judge(OFF, NEARER, [BACK], shot_version=2).state is State.ASKS_AGAIN
    assert judge(OFF, OFF, [BACK], shot_version=2, inside=True).state is State.MENDED


def test_who_takes_it_up_has_no_opinion_and_the_reason_stays_in_sight() -> None:
    again, meant = entry("z", Verb.RETURN, "a"), entry("z", Verb.INTEND, "a")
    assert judge(OFF, MASTER, [BACK, TAKEN, again]).state is State.TAKEN_UP
    assert judge(OFF, MASTER, [BACK, TAKEN, meant]).state is State.INTENDED
    closed = entry("z", Verb.CLOSE, "a")
    assert judge(OFF, MASTER, [BACK, closed, entry("y", Verb.RETURN, "a")], inside=True).state is (
        State.TWO_OPINIONS
    )
    assert judge(OFF, MASTER, [BACK, TAKEN]).decisions == (BACK, TAKEN)
    by_another = entry("d", Verb.TAKE_UP, "b")
    assert judge(NEARER, MASTER, [BACK, TAKEN, by_another]).decisions == (BACK, TAKEN, by_another)


def test_withdrawing_the_last_step_is_the_step_before() -> None:
    def without(*entries: Decision) -> list[Decision]:
        return [*entries, replace(entries[-1], id="w", verb=Verb.WITHDRAW, withdraws=entries[-1].id)]

    assert judge(OFF, MASTER, without(BACK, TAKEN), shot_version=2).state is State.SENT_BACK
    assert judge(MASTER, MASTER, without(BACK, TAKEN, CLOSED), shot_version=3, inside=True).state is (
        State.MENDED
    )


def test_a_case_goes_on_only_from_where_it_stands() -> None:
    def verbs(state: State, *, inside: bool) -> set[str]:
        judged = Judgement(state, (BACK,))
        return {str(verb) for verb in Verb if verb is not Verb.NOTE and may(verb, judged, inside=inside)}

    assert verbs(State.SENT_BACK, inside=False) == {"intend", "return", "take-up", "withdraw"}
    assert verbs(State.MENDED, inside=False) == {"intend", "return", "withdraw"}
    assert verbs(State.MENDED, inside=True) == {"return", "close", "withdraw"}
    assert verbs(State.CLOSED, inside=True) == {"withdraw"}


def test_what_is_taken_up_counts_as_sent_back_and_what_is_mended_waits() -> None:
    assert Tally.of([State.TAKEN_UP, State.SENT_BACK, State.MENDED]) == Tally(1, 2, 0)


def test_each_step_is_one_file_that_is_read_again(tmp_path: Path) -> None:
    ledger = open_ledger(tmp_path)
    off, mended = Subject("A", "x.y", OFF, MASTER, 2), Subject("A", "x.y", MASTER, MASTER, 3)
    (back,) = ledger.decide(Verb.RETURN, [off], "mira", "as in the master")
    (taken,) = ledger.decide(Verb.TAKE_UP, [off], "tomas")
    (closed,) = ledger.decide(Verb.CLOSE, [mended], "mira")
    again = open_ledger(tmp_path)
    assert again.all() == [back, taken, closed] and not again.faults
    assert (taken.follows, closed.follows) == ((back.id,), (taken.id,))
    assert [one.version for one in again.all()] == [2, 2, 3]
