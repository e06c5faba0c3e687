from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from samelight.changes.fix_list import ShotFixes
from samelight.changes.fixing import fixed_version
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import DecisionError, Subject, open_ledger
from samelight.decisions.state import State
from samelight.sequence.session import open_session

SUBJECT = Subject("HB_010", "lights.rim.level", 2.0, 1.0)


def test_a_decision_with_an_end_lapses_with_the_master_after_it(tmp_path: Path) -> None:
    ledger = open_ledger(tmp_path)
    (made,) = ledger.decide(Verb.INTEND, [SUBJECT], "lead", "until the sky is repainted", until=4)
    assert made.until == 4
    again = open_ledger(tmp_path)
    assert again.faults == () and again.all() == [made]
    states = [again.judgement("HB_010", "lights.rim.level", 2.0, 1.0, version).state for version in (3, 4, 5)]
    assert states == [State.INTENDED, State.INTENDED, State.ASKS_AGAIN]


@given(version=st.integers(1, 999))
def test_a_decision_without_an_end_holds_on_every_master(
    version: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    ledger = open_ledger(tmp_path_factory.mktemp("ledger"))
    ledger.decide(Verb.INTEND, [SUBJECT], "lead", "meant")
    assert ledger.judgement("HB_010", "lights.rim.level", 2.0, 1.0, version).state is State.INTENDED


@pytest.mark.parametrize("until", ["four", 0, -1, "true", "4.5"])
def test_an_end_that_is_no_version_is_a_fault(tmp_path: Path, until: object) -> None:
    ledger = open_ledger(tmp_path)
    ledger.decide(Verb.INTEND, [SUBJECT], "lead", "meant", until=4)
    path = next((tmp_path / "decisions").glob("*.yaml"))
    path.write_text(path.read_text(encoding="utf-8").replace("until: 4", f"until: {until}"), encoding="utf-8")
    (fault,) = open_ledger(tmp_path).faults
    assert fault.path == "until"


def test_a_withdrawal_has_no_end(tmp_path: Path) -> None:
    ledger = open_ledger(tmp_path)
    ledger.decide(Verb.INTEND, [SUBJECT], "lead", "meant", until=4)
    (withdrawal,) = ledger.decide(Verb.WITHDRAW, [SUBJECT], "lead")
    assert withdrawal.until is None


@pytest.mark.parametrize("until", [0, -1])
def test_no_decision_holds_until_a_version_that_cannot_be(tmp_path: Path, until: int) -> None:
    ledger = open_ledger(tmp_path)
    with pytest.raises(DecisionError, match="1 or above"):
        ledger.decide(Verb.INTEND, [SUBJECT], "lead", "meant", until=until)
    assert ledger.all() == [] and open_ledger(tmp_path).all() == []


def test_no_decision_ends_before_the_master_it_is_made_on(undecided_harbour: Path) -> None:
    session = open_session(undecided_harbour)
    row, column = session.table.row("lights.rim.colour"), session.table.column("HB_110")
    assert row is not None and column is not None and session.contents.master_version == 3
    with pytest.raises(DecisionError, match="version 3 is current"):
        session.decide(Verb.INTEND, [(row, column)], "lead", "meant", until=2)
    session.decide(Verb.INTEND, [(row, column)], "lead", "meant", until=3)
    assert session.cases.state(row, column) is State.INTENDED


def test_a_fixed_sheet_still_has_open_what_a_decision_no_longer_holds(undecided_harbour: Path) -> None:
    """Made while version 2 was the master, and until that one; today's is 3."""
    session = open_session(undecided_harbour)
    row, column = session.table.row("lights.rim.colour"), session.table.column("HB_110")
    assert row is not None and column is not None
    sheet = session.contents.sheets["HB_110"]
    unchanged = ShotFixes("HB_110", sheet, (), dict(sheet.typed))
    for until, still_open in ((3, False), (2, True)):
        session.ledger.decide(
            Verb.INTEND, session.cases.subjects([(row, column)]), "lead", "meant", until=until
        )
        assert ("lights.rim.colour" in fixed_version(session, unchanged).remaining) is still_open
