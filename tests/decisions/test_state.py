"""The state of a cell is a pure function of its values and of the decisions on it."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.state import UNDECIDED, State, judge, live, standing
from samelight.sheets.values import Colour, Level, Value

NOON = datetime(2026, 9, 14, 12, tzinfo=UTC)
VALUE, MASTER = Level(2.0), Level(1.0)


def decision(
    name: str,
    verb: Verb = Verb.INTEND,
    *,
    follows: Sequence[str] = (),
    withdraws: str | None = None,
    value: Value | None = VALUE,
    master: Value | None = MASTER,
    minutes: float = 0,
) -> Decision:
    when = NOON + timedelta(minutes=minutes)
    return Decision(name, verb, "A", "x.y", value, master, "because", "lead", when, tuple(follows), withdraws)


def state(decisions: Sequence[Decision], value: Value | None = VALUE, master: Value | None = MASTER) -> State:
    return judge(value, master, decisions).state


def test_nothing_said() -> None:
    assert judge(VALUE, MASTER, []) is UNDECIDED
    assert UNDECIDED.state is State.UNDECIDED


def test_each_verb() -> None:
    meant, back = decision("a"), decision("b", Verb.RETURN)
    assert judge(VALUE, MASTER, [meant]).decisions == (meant,)
    assert state([meant]) is State.INTENDED
    assert state([back]) is State.SENT_BACK
    assert state([meant, decision("c", Verb.WITHDRAW, withdraws="a")]) is State.UNDECIDED


@pytest.mark.parametrize("verb", [Verb.INTEND, Verb.RETURN])
@pytest.mark.parametrize(
    ("value", "master"),
    [
        (Level(2.1), MASTER),
        (VALUE, Level(1.1)),
        (None, MASTER),
        (VALUE, None),
        (Level(2.0, "intensity"), MASTER),
    ],
)
def test_a_decision_lapses_when_a_value_moves(verb: Verb, value: Value | None, master: Value | None) -> None:
    lapsed = judge(value, master, [decision("a", verb)])
    # Another value of the shot is an answer to what was sent back; another master is none.
    mended = verb is Verb.RETURN and value != VALUE
    assert lapsed.state is (State.MENDED if mended else State.ASKS_AGAIN)
    assert [d.id for d in lapsed.decisions] == ["a"]


def test_intended_covers_exactly_the_values_it_was_made_on() -> None:
    same: tuple[tuple[Value, Value], ...] = (
        (Level(2.0), Level(2.0 + 1e-12)),
        (Colour(0.2, 0.4), Colour(0.2, 0.4 + 1e-13)),
        (3.5, 3.5),
    )
    for value, near in same:
        assert (
            state([decision("a", value=value)], near) is State.INTENDED
        )  # the last digits of another machine
    others: tuple[tuple[Value, Value], ...] = (
        (Level(2.0), Level(2.0001)),
        (1.0, True),
        (frozenset("ab"), frozenset("a")),
        ("a", "b"),
    )
    for value, other in others:
        assert state([decision("a", value=value)], other) is State.ASKS_AGAIN


def test_presence() -> None:
    extra = decision("a", value="present", master=None)
    assert state([extra], "present", None) is State.INTENDED
    assert state([extra], None, "present") is State.ASKS_AGAIN
    assert state([extra], "present", "present") is State.ASKS_AGAIN


def test_who_saw_the_other_overtakes_it_whatever_the_clocks_say() -> None:
    first = decision("z", minutes=60)
    later = decision("a", Verb.RETURN, follows=["z"], minutes=-60)
    assert standing([first, later]) == [later]
    assert state([first, later]) is State.SENT_BACK


def test_two_who_did_not_see_each_other_and_disagree() -> None:
    meant, back = decision("a"), decision("b", Verb.RETURN)
    contested = judge(VALUE, MASTER, [meant, back])
    assert contested.state is State.TWO_OPINIONS
    assert contested.decisions == (meant, back)
    settled = decision("c", Verb.RETURN, follows=["a", "b"])
    assert state([meant, back, settled]) is State.SENT_BACK
    assert state([meant, back, decision("d", Verb.WITHDRAW, withdraws="b")]) is State.INTENDED


def test_two_who_did_not_see_each_other_and_agree() -> None:
    agreed = judge(VALUE, MASTER, [decision("a"), decision("b")])
    assert agreed.state is State.INTENDED
    assert [d.id for d in agreed.decisions] == ["a", "b"]


def test_of_two_only_the_one_on_these_values_counts() -> None:
    old = decision("a", Verb.RETURN, value=Level(9.0))
    assert state([old, decision("b")]) is State.INTENDED
    assert state([old, decision("b")], Level(9.0)) is State.SENT_BACK
    assert state([old, decision("b")], Level(5.0)) is State.ASKS_AGAIN


def test_a_withdrawal_can_be_withdrawn_again_and_again() -> None:
    chain = [decision("d0")]
    for depth in range(1, 3000):  # undo and redo, pressed for a while
        chain.append(decision(f"d{depth}", Verb.WITHDRAW, withdraws=f"d{depth - 1}"))
        if depth < 6 or depth > 2996:
            assert state(chain) is (State.UNDECIDED if depth % 2 else State.INTENDED), depth


def test_two_withdrawals_of_one_decision() -> None:
    """Two people take the same back; when one of them takes that back, the other's still holds."""
    first = decision("w", Verb.WITHDRAW, withdraws="a")
    second = decision("x", Verb.WITHDRAW, withdraws="a")
    undone = decision("y", Verb.WITHDRAW, withdraws="x")
    assert state([decision("a"), first, second]) is State.UNDECIDED
    assert state([decision("a"), first, second, undone]) is State.UNDECIDED
    assert state([decision("a"), second, undone]) is State.INTENDED


def test_what_a_withdrawn_decision_had_overtaken_holds_again() -> None:
    first = decision("a")
    second = decision("b", Verb.RETURN, follows=["a"])
    assert state([first, second, decision("c", Verb.WITHDRAW, withdraws="b")]) is State.INTENDED


def test_who_saw_a_decision_saw_what_that_had_overtaken() -> None:
    """The one between is withdrawn later; the first does not come back to quarrel with the last."""
    first = decision("a")
    second = decision("b", Verb.RETURN, follows=["a"])
    third = decision("c", Verb.RETURN, follows=["b"])
    undone = decision("d", Verb.WITHDRAW, withdraws="b")
    assert standing([first, second, third, undone]) == [third]


def test_a_withdrawal_of_what_is_not_there() -> None:
    stray = decision("w", Verb.WITHDRAW, withdraws="gone")
    assert state([stray]) is State.UNDECIDED
    assert state([decision("a"), stray]) is State.INTENDED


def test_forged_rings_hold_nothing_up() -> None:
    ring = [decision("u", Verb.WITHDRAW, withdraws="v"), decision("v", Verb.WITHDRAW, withdraws="u")]
    own = decision("s", Verb.WITHDRAW, withdraws="s")
    follows = [decision("f", follows=["g"]), decision("g", follows=["f"])]
    for order in (ring, ring[::-1]):
        assert state([*order, own, decision("a")]) is State.INTENDED
    assert state([*follows, decision("a")]) is State.INTENDED


@pytest.mark.parametrize("follows", [(), ("other",), ("1",)])
@pytest.mark.parametrize("verb", list(Verb))
def test_a_decision_alone_stands_as_beside_a_note(verb: Verb, follows: tuple[str, ...]) -> None:
    withdraws = "1" if verb is Verb.WITHDRAW else None
    alone = decision("1", verb, follows=follows, withdraws=withdraws)
    note = decision("2", Verb.NOTE)
    assert standing([alone]) == standing([alone, note])
    assert state([alone]) == state([alone, note])


@st.composite
def histories(draw: st.DrawFn) -> list[Decision]:
    """What several people, each with a clock of their own, did to one cell; each saw only some of the others."""
    made: list[Decision] = []
    for index in range(draw(st.integers(0, 9))):
        verb = draw(st.sampled_from([Verb.INTEND, Verb.RETURN, Verb.WITHDRAW]))
        seen = [d for d in made if draw(st.booleans())]
        if verb is Verb.WITHDRAW and not seen:
            verb = Verb.INTEND
        made.append(
            decision(
                draw(st.sampled_from("abcdefgh")) + str(index),
                verb,
                follows=() if verb is Verb.WITHDRAW else [d.id for d in standing(seen)],
                withdraws=draw(st.sampled_from(seen)).id if verb is Verb.WITHDRAW else None,
                value=draw(st.sampled_from([VALUE, Level(5.0)])),
                minutes=draw(st.floats(-1e5, 1e5)),
            )
        )
    return made


def by_definition(decisions: Sequence[Decision]) -> set[str]:
    """`standing` by the words of its description, without a thought for speed."""
    by_id = {d.id: d for d in decisions}

    def holds(name: str) -> bool:
        against = [d.id for d in decisions if d.verb is Verb.WITHDRAW and d.withdraws == name]
        return not any(holds(other) for other in against)

    def saw(d: Decision) -> set[str]:
        return {name for f in d.follows for name in {f, *(saw(by_id[f]) if f in by_id else ())}}

    kept = [d for d in decisions if d.verb is not Verb.WITHDRAW and holds(d.id)]
    return {d.id for d in kept} - {name for d in kept for name in saw(d)}


@given(histories())
def test_standing_is_what_its_description_says(decisions: list[Decision]) -> None:
    assert {d.id for d in standing(decisions)} == by_definition(decisions)


@given(histories(), st.randoms(use_true_random=False))
def test_the_order_of_the_files_does_not_matter(decisions: list[Decision], dice: random.Random) -> None:
    shuffled = list(decisions)
    dice.shuffle(shuffled)
    assert judge(VALUE, MASTER, shuffled) == judge(VALUE, MASTER, decisions)


@given(histories(), st.data())
def test_clocks_do_not_matter(decisions: list[Decision], data: Any) -> None:
    skewed = [replace(d, when=d.when + timedelta(minutes=data.draw(st.floats(-1e5, 1e5)))) for d in decisions]
    before, after = judge(VALUE, MASTER, decisions), judge(VALUE, MASTER, skewed)
    assert after.state is before.state
    assert [d.id for d in after.decisions] == [d.id for d in before.decisions]


@given(histories())
def test_names_do_not_matter(decisions: list[Decision]) -> None:
    """Ids carry the clock of their maker, so the state must not hang on how they sort."""
    other: Callable[[str], str] = lambda name: name[::-1]  # noqa: E731 - shorter than a function
    renamed = [
        replace(
            d,
            id=other(d.id),
            follows=tuple(map(other, d.follows)),
            withdraws=other(d.withdraws) if d.withdraws else None,
        )
        for d in decisions
    ]
    assert state(renamed) is state(decisions)


@given(histories())
def test_one_who_saw_everything_has_the_last_word(decisions: list[Decision]) -> None:
    for verb, outcome in ((Verb.INTEND, State.INTENDED), (Verb.RETURN, State.SENT_BACK)):
        last = decision("last", verb, follows=[d.id for d in standing(decisions)])
        assert judge(VALUE, MASTER, [*decisions, last]).decisions == (last,)
        assert state([*decisions, last]) is outcome


@given(histories())
def test_withdrawing_all_that_lives_opens_the_cell(decisions: list[Decision]) -> None:
    withdrawals = [
        decision(f"w{index}", Verb.WITHDRAW, withdraws=d.id) for index, d in enumerate(live(decisions))
    ]
    assert state([*decisions, *withdrawals]) is State.UNDECIDED
    undone = [decision(f"u{index}", Verb.WITHDRAW, withdraws=d.id) for index, d in enumerate(withdrawals)]
    assert judge(VALUE, MASTER, [*decisions, *withdrawals, *undone]) == judge(VALUE, MASTER, decisions)
