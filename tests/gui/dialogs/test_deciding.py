"""What is asked before a decision is made: whom it goes to, why, and in whose name."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from samelight.decisions.decision import Verb
from samelight.drift.cells import Cell
from samelight.gui.dialogs.deciding import REASONS, ReasonDialog, advice, preview_text
from samelight.gui.findings.panel import BELOW_ROLE, FindingsPanel
from samelight.sequence.session import Session


def cells_of(session: Session, finding: str) -> list[Cell]:
    """The cells of the first finding of a name."""
    return list(next(one for one in session.cases.findings if one.finding == finding).cells)


def offers(dialog: ReasonDialog) -> list[str]:
    """The reasons that are offered, in order."""
    shown = dialog.reason.offers
    return [item.text() for item in map(shown.item, range(shown.count())) if item is not None]


def test_what_is_sent_back_says_to_whom_and_needs_a_reason(qtbot: QtBot, harbour_session: Session) -> None:
    dialog = ReasonDialog(
        harbour_session, Verb.RETURN, cells_of(harbour_session, "one-cause"), "mira", ["earlier"]
    )
    qtbot.addWidget(dialog)
    assert dialog.whom.text() == "Ines (HB_050 to HB_080)"
    assert dialog.who.text() == "mira"
    assert not dialog.ok.isEnabled()
    assert offers(dialog)[:2] == [
        "Find the publish or the file they share and mend it once, or say that it is meant.",
        "earlier",
    ]
    dialog.reason.setText("  ")
    assert not dialog.ok.isEnabled()
    dialog.reason.setText("Bring the sun back")
    assert dialog.ok.isEnabled()


def test_what_is_taken_back_leads_nowhere(qtbot: QtBot, harbour_session: Session) -> None:
    for verb in (Verb.WITHDRAW, Verb.RETURN):
        dialog = ReasonDialog(harbour_session, verb, cells_of(harbour_session, "one-cause"), "mira")
        qtbot.addWidget(dialog)
        assert dialog.then_on.isHidden() is (verb is Verb.WITHDRAW)


def test_what_is_meant_goes_to_nobody(qtbot: QtBot, harbour_session: Session) -> None:
    dialog = ReasonDialog(harbour_session, Verb.INTEND, cells_of(harbour_session, "one-cause"), "mira")
    qtbot.addWidget(dialog)
    assert dialog.whom.text() == ""
    assert offers(dialog) == list(REASONS[Verb.INTEND])


@pytest.mark.parametrize(
    ("finding", "says"),
    [("old-master", ["Adopt master 3; what was said to be intended is kept."]), ("unexplained", [])],
)
def test_advice_is_what_a_lighter_can_do(harbour_session: Session, finding: str, says: list[str]) -> None:
    assert advice(harbour_session, cells_of(harbour_session, finding)) == says


def test_a_finding_that_is_decided_on_is_said_in_its_own_words(harbour_session: Session) -> None:
    finding = next(one for one in harbour_session.cases.findings if one.cases)
    said = preview_text(harbour_session, [], finding.cases)
    assert said.splitlines()[1] == f"    {finding.cases[0].shot}  break: {finding.says}"
    many = preview_text(harbour_session, [(0, 0)] * 4, finding.cases * 4)
    assert len(many.splitlines()) == 8 and many.endswith("and 2 more")


def test_the_list_of_findings_says_whom_each_goes_to(qtbot: QtBot, harbour_session: Session) -> None:
    panel = FindingsPanel()
    qtbot.addWidget(panel)
    panel.show_session(harbour_session)
    model = panel.list.model()
    below = {
        finding.finding: model.data(model.index(row, 0), BELOW_ROLE)
        for row, finding in enumerate(panel.model.findings)
    }
    assert below["one-cause"].endswith("\nTo: Ines (HB_050 to HB_080)")
