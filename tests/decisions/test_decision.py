"""A decision as a file has it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.decisions import acts
from samelight.decisions.acts import compose
from samelight.decisions.decision import Decision, Grabbed, Verb, from_tree, new_id, to_tree
from samelight.sequence import stored_ledger
from samelight.sequence.stored_ledger import decision_of, line_of
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.trees import parse_document
from samelight.sheets.values import Level, alike, encoded
from samelight.sheets.writing import yaml_text
from strategies import values
from thoroughness import examples

texts = st.text(min_size=1, max_size=30).filter(str.strip)
names = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12)
moments = st.datetimes(timezones=st.just(UTC)).map(lambda moment: moment.replace(year=max(moment.year, 1000)))


@st.composite
def decisions(draw: st.DrawFn) -> Decision:
    verb = draw(st.sampled_from(list(Verb)))
    reason = texts if verb in (Verb.INTEND, Verb.NOTE) else st.one_of(st.just(""), texts)
    return Decision(
        id=draw(names),
        verb=verb,
        shot=draw(names),
        parameter=draw(names),
        value=draw(st.none() | values),
        master=draw(st.none() | values),
        reason=draw(reason),
        who=draw(texts),
        when=draw(moments),
        follows=tuple(draw(st.lists(names, max_size=2))),
        withdraws=draw(names) if verb is Verb.WITHDRAW else None,
        batch=draw(st.just("") | names),
        seen=Grabbed(draw(st.none() | st.integers(-10, 9999)), draw(st.just("") | names)),
    )


def read(text: str) -> tuple[Decision | None, list[str]]:
    document = parse_document(Path("decision.yaml"), text)
    decision = from_tree(document.data, document.faults)
    try:
        document.faults.raise_if_any()
    except SheetError as error:
        return decision, str(error).splitlines()
    return decision, []


@settings(max_examples=examples(15))
@given(st.lists(decisions(), min_size=1, max_size=2), st.floats(-9, 9), st.data())
def test_an_act_writes_each_decision_as_it_is_written_alone(
    made: list[Decision], number: float, data: st.DataObject
) -> None:
    said = data.draw(st.sampled_from((f"a {number}, b", f"{number}", f"see {new_id()}", f"[{number}]", "x")))
    act = compose(
        [
            replace(one, id=new_id(), value=value, reason=reason)
            for one in made
            for value, reason in ((one.value, said), (Level(number), said), (Level(0.25), one.reason))
        ],
        (f"{new_id()}:0123456789abcdef",),
    )
    whole = [yaml_text(to_tree(decision)) for decision in act.decisions]
    assert [*act.texts.values()] == whole


def test_texts_that_look_alike_but_are_quoted_otherwise_are_written_as_each_alone() -> None:
    an_id, digits = new_id(), "\U0001d7cf.\U0001d7d3"
    said = ("see ({})\n", "it's ({})", "~ {}", "({})")
    of = ("1.5", digits, an_id, f"{an_id}:0123456789abcdef", "1.25")
    when = datetime.now(UTC)
    made = [
        Decision(
            new_id(), Verb.INTEND, "A", "", frozenset({text.format(one)}), None, text.format(one), "m", when
        )
        for text in said
        for one in of
    ]
    act = compose(made, (an_id, f"{an_id}:0123456789abcdef"))
    assert [*act.texts.values()] == [yaml_text(to_tree(decision)) for decision in act.decisions]


def test_what_alike_decisions_have_in_common_is_put_into_words_once(monkeypatch: pytest.MonkeyPatch) -> None:
    lines: list[str] = []

    def put(tree: Mapping[str, Any]) -> str:
        lines.extend(tree)
        return yaml_text(tree)

    monkeypatch.setattr(acts, "yaml_text", put)
    one = Decision(
        "", Verb.INTEND, "A", "lights.rim.level", Level(1.5), 2.5, "meant", "mira", datetime.now(UTC)
    )

    def puts(number: int) -> int:
        lines.clear()
        compose([replace(one, id=new_id(), value=Level(0.5 + each)) for each in range(number)], ())
        return len(lines)

    assert puts(60) == puts(6)


@given(decisions())
def test_a_file_gives_back_what_was_written(decision: Decision) -> None:
    """Of every kind of value, and of whatever people type as a reason: quotes, newlines, `yes`, emoji, control characters."""
    again, faults = read(yaml_text(to_tree(decision)))
    assert faults == []
    assert again == decision
    assert again is not None and decision_of(decision.id, line_of(decision)) == decision
    assert alike(again.value, decision.value)


@given(st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1)), st.integers(-12, 12))
def test_the_moment_is_written_in_utc(moment: datetime, hours: int) -> None:
    moment = moment.replace(tzinfo=timezone(timedelta(hours=hours)))
    decision = Decision("a", Verb.RETURN, "A", "x", None, None, "", "lead", moment)
    written = to_tree(decision)["when"]
    assert written.endswith("Z")
    again, _ = read(yaml_text(to_tree(decision)))
    assert again is not None and again.when == moment


def test_what_a_file_looks_like() -> None:
    decision = Decision(
        id="2026-09-14T081530.000000Z-0123456789ab",
        verb=Verb.INTEND,
        shot="HB_090",
        parameter="lights.lantern_spot.position",
        value=(1.72, 2.4, 1.83),
        master=(1.2, 2.4, 2.0),
        reason="follows the boatman",
        who="lead",
        when=datetime(2026, 9, 14, 8, 15, 30, tzinfo=UTC),
        follows=("2026-09-13T081530.000000Z-0123456789ab",),
    )
    assert yaml_text(to_tree(decision)) == (
        "samelight_decision: 2\n"
        "id: 2026-09-14T081530.000000Z-0123456789ab\n"
        "verb: intend\n"
        "shot: HB_090\n"
        "parameter: lights.lantern_spot.position\n"
        "value: [1.72, 2.4, 1.83]\n"
        "master: [1.2, 2.4, 2.0]\n"
        "reason: follows the boatman\n"
        "who: lead\n"
        "when: '2026-09-14T08:15:30Z'\n"
        "follows: [2026-09-13T081530.000000Z-0123456789ab]\n"
    )


GOOD: dict[str, Any] = {
    "samelight_decision": 2,
    "id": "a",
    "verb": "intend",
    "shot": "A",
    "parameter": "x.y",
    "value": 1.0,
    "master": 2.0,
    "reason": "meant",
    "who": "lead",
    "when": "2026-09-14T08:15:30Z",
}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"samelight_decision": 3}, "expected format version 2, found version 3, of a newer program"),
        ({"samelight_decision": None}, "samelight_decision: expected the format version, samelight_decision: 2, found nothing"),
        ({"samelight_decision": "one"}, "expected the format version, samelight_decision: 2, found 'one'"),
        ({"verb": "intent"}, "verb: expected one of intend, return, take-up, close, withdraw, note, found 'intent' (did you mean intend?)"),
        ({"verb": ""}, "verb: expected text, found "),
        ({"id": None}, "id: expected text, found nothing"),
        ({"parameter": ["x"]}, "parameter: expected text, found ['x']"),
        ({"reason": "  "}, "reason: expected a reason for what is intended, found none"),
        ({"reason": None}, "reason: expected a reason for what is intended, found none"),
        ({"verb": "withdraw"}, "withdraws: expected the id of the decision taken back, found none"),
        ({"when": "yesterday"}, "when: expected a date and time with its zone"),
        ({"when": "2026-09-14T08:15:30"}, "when: expected a date and time with its zone"),
        ({"value": {"wat": 1}}, "value: expected a canonical value, found not an encoded value: a mapping of wat"),
        ({"master": [1, "x"]}, "master: expected a canonical value, found not an encoded value: a list of other"),
        ({"follows": "b"}, "follows: expected a list of ids, found 'b'"),
        ({"frame": "1025"}, "frame: expected the number of a frame, found '1025'"),
        ({"picture": 3}, "picture: expected text, found 3"),
        ({"follows": [1]}, "follows: expected a list of ids, found [1]"),
        ({"reasons": "meant"}, "reasons: expected a key of a decision, found the key reasons (did you mean reason?)"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_file(change: dict[str, Any], message: str) -> None:
    decision, faults = read(yaml_text({**GOOD, **change}))
    assert decision is None
    assert len(faults) == 1
    assert faults[0].startswith("decision.yaml:")
    assert message in faults[0]


def test_a_file_of_something_else() -> None:
    faults = Faults(Path("decision.yaml"), lambda place: None)
    assert from_tree(["not", "a", "decision"], faults) is None
    assert len(faults) == 1


def test_a_shot_or_name_that_is_a_number() -> None:
    decision, faults = read(yaml_text({**GOOD, "shot": 10, "who": 7, "reason": 3.5}))
    assert faults == []
    assert decision is not None
    assert (decision.shot, decision.who, decision.reason) == ("10", "7", "3.5")


def test_ids_sort_by_time_and_are_unique() -> None:
    start = datetime(2026, 9, 14, 23, 59, 59, 999_999, tzinfo=UTC)
    made = [new_id(start + timedelta(microseconds=index)) for index in range(50)]
    assert made == sorted(made)
    assert len({new_id(start) for _ in range(200)}) == 200
    elsewhere = start.astimezone(timezone(timedelta(hours=-9)))
    assert new_id(elsewhere)[:24] == new_id(start)[:24]
    assert new_id() > new_id(start - timedelta(days=20_000))


@given(decisions())
def test_what_is_kept_of_a_decision_is_the_decision(kept: Decision) -> None:
    line = stored_ledger.line_of(kept)
    again = stored_ledger.decision_of(kept.id, line)
    assert again == kept and "\n" not in line
    for one, other in ((again.value, kept.value), (again.master, kept.master)):
        assert json.dumps(encoded(one)) == json.dumps(encoded(other)), "also a whole number and a true one"
