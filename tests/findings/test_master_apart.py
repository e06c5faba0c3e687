"""The master as the odd one, or the key shot that is to become it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conftest import MakeSequence
from findings.drafts import FEW, Draft, draft, only
from samelight.changes.publish_words import findings_of
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.findings.finding import Evidence, Finding, Sureness
from samelight.findings.registry import find_all
from samelight.sequence.session import open_session


def all_but(made: Draft, shots: set[str], **light: object) -> Draft:
    """The sequence with these values of the rim in all shots but some."""
    for shot, tree in made.shots.items():
        if shot not in shots:
            tree["lights"]["rim"].update(light)
    return made


def of(made: Draft, key_shot: str = "S_010") -> list[Finding]:
    return find_all(replace(made.evidence(), key_shot=key_shot)).findings


def without_master(made: Draft, key_shot: str = "S_010") -> Evidence:
    evidence = made.evidence()
    table = replace(evidence.table, rows=(), codes=evidence.table.codes[:0], grade=evidence.table.grade[:0])
    return replace(evidence, master=None, masters={}, table=table, key_shot=key_shot)


@pytest.mark.parametrize(
    ("alike", "other", "says"),
    [
        ({"S_010"}, {}, "7 of 8 shots agree on the rim's level; master 3 and the key shot S_010 do not."),
        ({"S_040"}, {}, "7 of 8 shots agree on the rim's level; master 3 and S_040 do not."),
        (set(), {}, "All 8 shots agree on the rim's level; master 3 does not."),
        (
            {"S_010"},
            {"S_050": 2.5},
            "6 of 8 shots agree on the rim's level; master 3 and the key shot S_010 do not.",
        ),
    ],
)
def test_what_all_others_agree_on_is_one_finding_about_the_master(
    alike: set[str], other: dict[str, float], says: str
) -> None:
    made = all_but(draft(8), alike, exposure=-0.7)
    for shot, exposure in other.items():
        made.shots[shot]["lights"]["rim"]["exposure"] = exposure
    found = only(of(made), "master-apart")
    assert found.says == says
    assert set(found.shots) == set(made.shots) - alike - set(other)
    assert found.sureness is Sureness.LIKELY


def test_a_slip_in_the_key_shot_is_no_slip_in_all_the_others() -> None:
    """The master was made of a key shot whose exposure lost its sign, whose sun was turned round and whose lamp went blue."""
    made = draft(14)
    master, shots = made.master["lights"], made.shots
    for lights in (master, shots["S_010"]["lights"]):
        lights["window_fill"]["exposure"] = -1
        lights["sun"]["azimuth"] = 311
        lights["bounce"]["color"] = [0.33, 0.61, 0.92]
    found = of(made)
    assert [one.finding for one in found if one.finding != "sun-sky"] == ["master-apart"]
    assert found[0].says == (
        "13 of 14 shots agree on the sun's direction, the bounce's level, the bounce's colour and window_fill's level; "
        "master 3 and the key shot S_010 do not."
    )


@pytest.mark.parametrize("alike", [{"S_010", "S_020"}, {"S_010", "S_020", "S_030", "S_040"}])
def test_two_shots_as_the_master_has_it_make_the_others_the_odd_ones(alike: set[str]) -> None:
    made = all_but(draft(8), alike, exposure=-0.7)
    assert [one.finding for one in of(made)] == ["one-cause"]


@pytest.mark.parametrize(("returned", "finding"), [(2, "master-apart"), (3, "one-cause"), (8, "one-cause")])
def test_a_master_that_somebody_said_is_right_is_not_asked_for_again(returned: int, finding: str) -> None:
    made = all_but(draft(8), set(), exposure=-0.7)
    made.decisions = [
        (shot, "lights.rim.level", Verb.RETURN, "Ines", True) for shot in list(made.shots)[:returned]
    ]
    found = only(of(made), finding)
    assert ("master 3 does not" in found.says) == (finding == "master-apart")
    assert "out of date" not in found.says


def test_shots_that_stand_on_the_last_master_are_told_as_such() -> None:
    made = draft(8)
    made.older[2] = {**made.master, "lights": {**made.master["lights"]}}
    made.older[2]["lights"]["rim"] = {**made.master["lights"]["rim"], "exposure": -0.7, "temperature": 5600}
    all_but(made, {"S_010"}, exposure=-0.7, temperature=5600)
    assert [one.finding for one in of(made)] == ["old-master"]


def test_a_light_that_only_the_key_shot_lacks_asks_for_the_master() -> None:
    made = draft(8)
    for shot, tree in made.shots.items():
        if shot != "S_010":
            tree["lights"]["kicker"] = {**tree["lights"]["lamp"], "position": [3, 2, 1]}
    found = only(of(made), "one-cause")
    assert found.says.endswith("7 of 8 shots have it: is the master out of date?")


def test_before_a_master_the_key_shot_is_the_odd_one() -> None:
    made = all_but(draft(14), {"S_010"}, exposure=-0.7, temperature=4000)
    found = find_all(without_master(made)).findings
    assert [(one.finding, one.shots, one.cells) for one in found] == [("master-apart", ("S_010",), ())]
    said = "13 of 14 shots agree on the rim's level and the rim's colour; the key shot S_010 does not."
    assert found[0].says == said
    assert find_all(without_master(made, "S_020")).findings == []
    assert find_all(without_master(made, "S_990")).findings == []
    unreadable = replace(without_master(made), newest_master=3)
    assert find_all(unreadable).findings == [], "there is a master already"
    made.shots["S_020"]["lights"]["rim"].update(exposure=0, temperature=5000)
    assert find_all(without_master(made)).findings == []


@FEW
@given(st.integers(2, 9), st.sets(st.integers(0, 8)), st.sampled_from([-1.5, 0.4, 2.0]))
def test_it_is_told_exactly_when_one_shot_at_most_is_as_the_master(
    count: int, kept: set[int], exposure: float
) -> None:
    made = draft(count)
    alike = {shot for number, shot in enumerate(made.shots) if number in kept}
    found = [one for one in of(all_but(made, alike, exposure=exposure)) if one.finding == "master-apart"]
    others = count - len(alike)
    assert bool(found) == (len(alike) <= 1 and others >= 3)


def test_starting_opening_and_publishing_say_it_before_there_is_a_master(
    make_sequence: MakeSequence, capsys: pytest.CaptureFixture[str]
) -> None:
    lit = {"lights": {"key": {"type": "distant", "azimuth": 40, "elevation": 30, "intensity": 2}}}
    odd = {"lights": {"key": {**lit["lights"]["key"], "azimuth": 75}}}
    damaged = {"lights": {"key": {**lit["lights"]["key"], "intensity": "2.0.1"}}}
    shots = {"A_010": odd, "A_020": lit, "A_030": lit, "A_040": lit, "A_050": damaged}
    folder = make_sequence(shots=shots, sequence={"key_shot": "A_010"})
    (folder / "sequence.yaml").unlink()
    said = "3 of 4 shots agree on the key's direction; the key shot A_010 does not."
    assert main(["start", str(folder), "--key-shot", "A_010"]) == 0
    printed = capsys.readouterr()
    assert f"sequence.yaml.\n{said}\n  Mend A_010 before it becomes the master" in printed.out
    assert "A_050 is unreadable" in printed.err
    assert "No master" not in printed.err
    session = open_session(folder)
    assert [one.says for one in session.cases.findings] == [said]
    assert [one.says for one in findings_of(session, "A_010")] == [said]
    assert findings_of(session, "A_020") == []
    (folder / "sequence.yaml").unlink()
    (folder / "edit.csv").write_text("A_010\nA_020\nA_030\nA_050\nA_060\n")
    assert main(["start", str(folder), "--key-shot", "A_050"]) == 0
    printed = capsys.readouterr()
    assert "A_060" in printed.out
    assert "A_060" not in printed.err
    assert "Mend the sheet of A_050 first: the master is made of it.\nNext, publish" in printed.out
    (folder / "master").mkdir()
    (folder / "master" / "master.v001.yaml").write_text("lights: [")
    assert open_session(folder).cases.findings == []
