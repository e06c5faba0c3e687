from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from samelight.decisions.decision import Verb
from samelight.decisions.ledger import DecisionError
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.computed.derived import derived_rows, key_sheet
from samelight.drift.table import build_table
from samelight.sequence.references import MASTER, Against, NoReferenceError, Reference
from samelight.sequence.session import Session, open_session
from samples import copy_of


@pytest.fixture
def session(tmp_path: Path) -> Session:
    return open_session(copy_of("harbour", tmp_path / "harbour", decided=False))


def drifting(session: Session, shot: str) -> set[str]:
    table = session.table
    column = table.column(shot)
    assert column is not None
    return {
        row.parameter
        for index, row in enumerate(table.rows)
        if table.grade[index, column] >= Grade.DRIFT and row.section in ("lights", "environments", "render")
    }


def test_a_shot_on_an_older_master_equals_that_master(session: Session) -> None:
    assert "lights.bounce.level" in drifting(session, "HB_150")
    session.hold_against(Reference(Against.OLDER_MASTER, 2))
    assert drifting(session, "HB_150") == set()
    assert "lights.bounce.level" in drifting(session, "HB_010")


def test_against_another_shot(session: Session) -> None:
    session.hold_against(Reference(Against.SHOT, shot="HB_060"))
    assert drifting(session, "HB_060") == set()
    assert drifting(session, "HB_070") == set()
    assert "lights.sun.direction" in drifting(session, "HB_010")


def test_against_the_shot_before_only_the_jumps_are_seen(session: Session) -> None:
    session.hold_against(Reference(Against.BEFORE))
    jumps = [shot for shot in session.contents.shots if "lights.sun.direction" in drifting(session, shot)]
    assert jumps == ["HB_050", "HB_090"]
    assert drifting(session, "HB_010") == set()
    assert session.table.shots == session.contents.shots


def test_each_shot_is_compared_with_the_one_before_as_if_there_were_no_others(session: Session) -> None:
    """Also in the groups and parameters that only some of them have."""
    path = session.contents.sheets["HB_060"].path
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace("lights:\n", "lights:\n  odd: {type: point, intensity: 3, tag: a}\n", 1),
        encoding="utf-8",
    )
    session.reload()
    session.hold_against(Reference(Against.BEFORE))
    table, contents = session.table, session.contents
    worked_out = derived_rows(
        session.contents.shots,
        contents.sheets,
        session.comparison.reference_sheets,
        key_sheet(session.contents.sequence.key_shot, session.contents.master, session.contents.sheets),
    )
    computed = {row.parameter for row in worked_out}
    for before, shot in itertools.pairwise(session.contents.shots):
        held = {shot: contents.sheets[shot]}
        alone = build_table((shot,), held, contents.sheets[before], contents.policy)
        column = table.column(shot)
        assert column is not None
        said = {
            row.parameter: repr(table.entry(index, column))
            for index, row in enumerate(table.rows)
            if row.parameter not in computed
        }
        lone = {row.parameter: repr(alone.entry(index, 0)) for index, row in enumerate(alone.rows)}
        assert {name: entry for name, entry in said.items() if name in lone} == lone
        assert {said[name] for name in said.keys() - lone.keys()} <= {"None"}
    assert table.row("lights.odd.tag") is not None


def test_versions_of_a_shot_stand_side_by_side(session: Session) -> None:
    session.hold_against(Reference(Against.VERSIONS, 2, "HB_060"))
    assert session.table.shots == ("v001", "v002")
    assert "lights.sun.direction" in drifting(session, "v001")
    assert drifting(session, "v002") == set()
    assert session.comparison.sheets["v001"].version == 1


def test_decisions_rest_while_another_reference_is_shown(session: Session) -> None:
    row, column = session.table.row("lights.rim.colour"), session.table.column("HB_110")
    assert row is not None and column is not None
    session.decide(Verb.INTEND, [(row, column)], "lead", "meant")
    session.hold_against(Reference(Against.BEFORE))
    assert session.cases.judged().states == {} and session.cases.findings == []
    with pytest.raises(DecisionError, match="the shot before"):
        session.decide(Verb.INTEND, [(0, 1)], "lead", "meant")
    session.hold_against(MASTER)
    assert session.cases.state(row, column) is State.INTENDED
    assert session.cases.findings


@pytest.mark.parametrize(
    "reference",
    [
        Reference(Against.OLDER_MASTER, 9),
        Reference(Against.SHOT, shot="HB_999"),
        Reference(Against.VERSIONS, 7, "HB_060"),
    ],
)
def test_a_reference_that_is_not_there_changes_nothing(session: Session, reference: Reference) -> None:
    before = session.table
    with pytest.raises(NoReferenceError):
        session.hold_against(reference)
    assert session.table is before and session.comparison.reference == MASTER


def test_an_old_version_that_cannot_be_read_is_left_out(session: Session) -> None:
    (session.contents.folder / "shots/HB_060/HB_060.v001.yaml").write_text("lights: 3", encoding="utf-8")
    session.hold_against(Reference(Against.VERSIONS, 2, "HB_060"))
    assert session.table.shots == ("v002",)
    with pytest.raises(NoReferenceError, match="HB_060 v001 is unreadable"):
        session.hold_against(Reference(Against.VERSIONS, 1, "HB_060"))
