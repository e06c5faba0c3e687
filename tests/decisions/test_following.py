"""Computed cells follow from the typed ones they come from, and are decided on with them."""

from __future__ import annotations

import random
from collections.abc import Collection
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from conftest import MakeSequence
from decisions.rigs import a_sequence, decided_at_random
from samelight.decisions.decision import Verb
from samelight.decisions.judged import judge_all
from samelight.decisions.ledger import DecisionError, open_ledger
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.computed.derived import derived_rows, key_sheet
from samelight.drift.follows import Following, following
from samelight.drift.table import Table, build_table
from samelight.sequence.evidence import evidence_of
from samelight.sequence.session import Session, open_session
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import COMPARED_SECTIONS

SEEDS = range(8)
FACE: dict[str, Any] = {"face": {"position": [0, 1.6, 0], "normal": [0, 0, 1]}}
KEY: dict[str, Any] = {
    "type": "spot",
    "position": [1.2, 2.4, 2.0],
    "target": [0, 1.6, 0],
    "intensity": 2.4,
    "cone": 32,
}
FILL: dict[str, Any] = {**KEY, "position": [-1.8, 1.9, 1.5], "intensity": 1.0}
SKY: dict[str, Any] = {"texture": "a.exr", "rotation": 40, "intensity": 0.1, "seen_by": ["camera"]}
MASTER: dict[str, Any] = {"lights": {"key": KEY, "fill": FILL}, "environments": {"sky": SKY}}


def shot(key: float = 1.0, fill: float = 1.0, sky: float = 1.0) -> dict[str, Any]:
    """A shot with its lights and sky so many times as strong as the master's."""
    return {
        "marks": FACE,
        "lights": {
            "key": {**KEY, "intensity": KEY["intensity"] * key},
            "fill": {**FILL, "intensity": FILL["intensity"] * fill},
        },
        "environments": {"sky": {**SKY, "intensity": SKY["intensity"] * sky}},
    }


@pytest.fixture
def sequence(make_sequence: MakeSequence) -> Path:
    return make_sequence(
        master=MASTER, shots={"A": shot(), "B": shot(key=0.5), "C": shot(key=0.5, fill=2.0), "D": shot(sky=9)}
    )


def at(session: Session, parameter: str, shot: str) -> tuple[int, int]:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return row, column


def states(session: Session, shot: str, parameters: Collection[str]) -> list[State]:
    return [session.cases.state(*at(session, parameter, shot)) for parameter in parameters]


AT_THE_FACE = ("marks.face.level.key", "marks.face.level", "marks.face.key_to_fill")


class TestOneCause:
    def test_what_follows_is_intended_with_its_cause_and_open_again_without_it(self, sequence: Path) -> None:
        session = open_session(sequence)
        key = at(session, "lights.key.level", "B")
        assert session.cases.following().parameters(*at(session, "marks.face.level.key", "B")) == (
            "lights.key.level",
        )
        assert states(session, "B", AT_THE_FACE) == [State.UNDECIDED] * 3
        session.decide(Verb.INTEND, [key], "lead", "dimmer there")
        assert states(session, "B", AT_THE_FACE) == [State.INTENDED] * 3
        assert states(session, "C", AT_THE_FACE) == [State.UNDECIDED] * 3
        assert not session.cases.unsettled_rows(key[1])
        session.decide(Verb.WITHDRAW, [key], "lead")
        assert states(session, "B", AT_THE_FACE) == [State.UNDECIDED] * 3
        session.decide(Verb.RETURN, [key], "lead")
        assert states(session, "B", AT_THE_FACE) == [State.SENT_BACK] * 3

    def test_it_is_counted_once(self, sequence: Path) -> None:
        session = open_session(sequence)
        assert session.table.grade[at(session, "marks.face.level.key", "B")] >= Grade.DRIFT
        assert session.cases.unsettled_cells()[0] == at(session, "lights.key.level", "B")
        assert session.cases.tally(["B"]).undecided == 1
        assert session.cases.tally().undecided == len(session.cases.unsettled_cells()) == 4

    def test_of_several_causes_all_have_to_be_intended(self, sequence: Path) -> None:
        session = open_session(sequence)
        summed = at(session, "marks.face.level", "C")
        assert session.cases.following().parameters(*summed) == ("lights.key.level", "lights.fill.level")
        session.decide(Verb.INTEND, [at(session, "lights.key.level", "C")], "lead", "meant")
        assert session.cases.state(*at(session, "marks.face.level.key", "C")) is State.INTENDED
        assert session.cases.state(*summed) is State.UNDECIDED
        session.decide(Verb.RETURN, [at(session, "lights.fill.level", "C")], "lead")
        assert session.cases.state(*summed) is State.SENT_BACK
        session.decide(Verb.INTEND, [at(session, "lights.fill.level", "C")], "lead", "meant")
        assert session.cases.state(*summed) is State.INTENDED

    def test_the_breach_of_a_lock_counts_at_its_cause(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(
            master=MASTER,
            shots={"A": shot(), "B": shot(key=0.5)},
            policy={"locks": ["marks.face.level.key"]},
        )
        session = open_session(folder)
        key = at(session, "lights.key.level", "B")
        assert session.table.grade[at(session, "marks.face.level.key", "B")] == Grade.BREAK
        assert session.table.grade[key] == Grade.DRIFT
        assert session.cases.unsettled_cells(Grade.BREAK) == [key]
        assert session.cases.tally(at_least=Grade.BREAK).undecided == 1
        session.decide(Verb.INTEND, [key], "lead", "meant")
        assert not session.cases.unsettled_mask(Grade.BREAK).any()


class TestDeciding:
    def test_a_cell_that_follows_is_not_decided_on(self, sequence: Path) -> None:
        session = open_session(sequence)
        summed = at(session, "marks.face.level", "C")
        with pytest.raises(
            DecisionError, match=r"marks\.face\.level follows from lights\.key\.level, lights\.fill"
        ):
            session.decide(Verb.INTEND, [summed], "lead", "meant")
        assert not session.ledger.all()

    def test_it_is_left_out_beside_others(self, sequence: Path) -> None:
        session = open_session(sequence)
        cells = [at(session, parameter, "B") for parameter in ("lights.key.level", *AT_THE_FACE)]
        made = session.decide(Verb.INTEND, cells, "lead", "meant")
        assert [decision.parameter for decision in made] == ["lights.key.level"]
        assert states(session, "B", AT_THE_FACE) == [State.INTENDED] * 3

    def test_a_decision_on_it_from_before_rests(self, sequence: Path) -> None:
        session = open_session(sequence)
        row, column = at(session, "marks.face.level.key", "B")
        entry = session.table.entry(row, column)
        assert entry is not None
        subject = session.cases.subjects([at(session, "lights.key.level", "B")])[0]
        old = replace(subject, parameter="marks.face.level.key", value=entry.value, master=entry.master)
        session.ledger.decide(Verb.INTEND, [old], "lead", "as it was done once")
        assert session.cases.state(row, column) is State.UNDECIDED
        assert not open_session(sequence).ledger.faults


class TestACaseByItself:
    @pytest.fixture
    def session(self, make_sequence: MakeSequence) -> Session:
        """All lights a little stronger, each inside its tolerance, and their sum outside."""
        folder = make_sequence(
            master=MASTER,
            shots={"A": shot(), "B": shot(key=1.06, fill=1.06, sky=1.03)},
            policy={"tolerances": {"marks.*.level": 0.05}},
        )
        return open_session(folder)

    def test_causes_inside_their_tolerances(self, session: Session) -> None:
        summed = at(session, "marks.face.level", "B")
        assert session.table.grade[at(session, "lights.key.level", "B")] == Grade.WITHIN
        assert session.cases.following().parameters(*summed) == ()
        assert session.cases.unsettled_cells() == [summed]
        session.decide(Verb.INTEND, [summed], "lead", "brighter all over")
        assert not session.cases.unsettled_cells()
        assert session.cases.tally().intended == 1

    def test_it_follows_once_a_cause_drifts(self, session: Session) -> None:
        summed = at(session, "marks.face.level", "B")
        session.decide(Verb.INTEND, [summed], "lead", "brighter all over")
        folder = session.contents.folder / "shots/B/B.v001.yaml"
        folder.write_text(folder.read_text().replace("2.544", "3.9"))
        session.reload()
        assert session.cases.following().parameters(*summed)
        assert session.cases.state(*summed) is State.UNDECIDED

    def test_no_cause_at_all(self) -> None:
        made = following(build_table([], {}, None, _policy()))
        assert made.feeds == () and made.case.size == 0


def _policy() -> Any:
    from samelight.drift.policy import default_policy

    return default_policy()


def put_right(sheet: Sheet, master: Sheet, parameters: Collection[str]) -> Sheet:
    """The sheet with these parameters as the master has them."""
    sections = {
        section: {name: dict(group) for name, group in groups.items()}
        for section, groups in sheet.sections.items()
    }
    for parameter in parameters:
        section, group, *leaf = parameter.split(".", 2)
        theirs = master.sections[section].get(group)
        if not leaf:
            if theirs is None:
                del sections[section][group]
            else:
                sections[section][group] = dict(theirs)
        elif theirs is not None and leaf[0] in theirs:
            sections[section][group][leaf[0]] = theirs[leaf[0]]
        else:
            sections[section][group].pop(leaf[0], None)
    return replace(sheet, sections=sections)


class TestOfAnySequence:
    @pytest.mark.parametrize("seed", SEEDS)
    def test_without_its_causes_nothing_is_left_of_it(self, seed: int, tmp_path: Path) -> None:
        """That no cause is missed: once all causes are put right, the computed cell is the master's."""
        session = open_session(a_sequence(random.Random(seed), tmp_path / "any"))
        table, contents, follows = session.table, session.contents, session.cases.following()
        master = contents.master
        assert master is not None
        key = key_sheet(contents.sequence.key_shot, master, contents.sheets)

        @cache
        def without(name: str, causes: tuple[str, ...]) -> Table:
            sheet = put_right(contents.sheets[name], master, causes)
            derived = derived_rows([name], {name: sheet}, master, key)
            return build_table([name], {name: sheet}, master, contents.policy, derived)

        for row, column in np.argwhere(follows.mask).tolist():
            alone = without(table.shots[column], tuple(follows.parameters(row, column)))
            there = alone.row(table.rows[row].parameter)
            assert there is None or alone.grade[there, 0] <= Grade.SAME

    @pytest.mark.parametrize("seed", SEEDS)
    def test_every_state_is_as_its_causes_are(self, seed: int, tmp_path: Path) -> None:
        chance = random.Random(seed)
        session = decided_at_random(chance, a_sequence(chance, tmp_path / "any"))
        table, follows = session.table, session.cases.following()
        for row, column in np.ndindex(table.grade.shape):
            if not follows.mask[row, column]:
                continue
            causes = [session.table.row(name) for name in session.cases.following().parameters(row, column)]
            off = [cause for cause in causes if table.grade[cause, column] >= Grade.DRIFT] or causes
            found = {session.cases.state(cause, column) for cause in off if cause is not None}
            if found == {State.INTENDED}:
                expected = State.INTENDED
            elif found <= {State.INTENDED, State.SENT_BACK}:
                expected = State.SENT_BACK
            else:
                expected = State.UNDECIDED
            assert session.cases.state(row, column) is expected
            assert table.rows[row].section not in COMPARED_SECTIONS
            assert all(
                table.rows[cause].section in COMPARED_SECTIONS for cause in causes if cause is not None
            )

    @pytest.mark.parametrize("seed", SEEDS)
    def test_what_is_carried_over_is_as_if_worked_out_anew(self, seed: int, tmp_path: Path) -> None:
        chance = random.Random(seed)
        folder = a_sequence(chance, tmp_path / "any")
        session = decided_at_random(chance, folder)
        changed = next(iter(sorted(folder.glob("shots/*/*.yaml"))))
        other = sorted(folder.glob("shots/*/*.yaml"))[-1]
        changed.write_text(other.read_text().replace(other.parent.name, changed.parent.name))
        session.reload()
        fresh = open_session(folder)
        assert dict(session.cases.judged().states) == dict(fresh.cases.judged().states)
        assert session.cases.findings == fresh.cases.findings
        of, again = session.cases.tallies(), fresh.cases.tallies()
        assert [of[column] for column in range(len(session.table.shots))] == [
            again[column] for column in range(len(session.table.shots))
        ]
        alone = judge_all(session.table, open_ledger(folder), session.contents.master_version)
        assert dict(alone.judgements) == dict(evidence_of(fresh.cases).judgements)


def test_it_costs_one_look_at_each_cause(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Rows that come from the same are looked at together: there are as many looks as lights and kinds, not as rows."""
    session = open_session(a_sequence(random.Random(3), tmp_path / "any"))
    made: Following = session.cases.following()
    computed = sum(row.section not in COMPARED_SECTIONS for row in session.table.rows)
    lights = sum(row.section == "lights" and not row.leaf for row in session.table.rows)
    skies = sum(row.section == "environments" and not row.leaf for row in session.table.rows)
    assert len(made.feeds) <= lights + skies + 4 < computed
