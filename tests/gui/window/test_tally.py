"""Every view says the same three figures, and they are those of the gate: undecided, sent back, intended."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from conftest import MakeSequence
from decisions.rigs import a_sequence, decided_at_random
from gui_help import answer_reason, open_window, opened, press
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import Grade
from samelight.drift.words import counted
from samelight.findings.finding import Finding
from samelight.gui.findings.panel import below_text, is_handled
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.shot_said import ShotSaid
from samelight.gui.state.grid_words import cell_tip
from samelight.gui.state.remaining import ALL_WELL, NOT_ALL_READ, counts_text, left_text, undecided_findings
from samelight.gui.state.rows import GridState
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.session import Session, open_session
from samelight.sheets.resources import sample_sequence


def of_the_gate(folder: Path, capsys: pytest.CaptureFixture[str]) -> Tally:
    """What `check --format json` counts."""
    main(["check", str(folder), "--format", "json"])
    return Tally(**json.loads(capsys.readouterr().out)["cases"])


def left_of(session: Session) -> str:
    """How many cells and findings are undecided, counted one by one."""
    states = [session.cases.state(*cell) for cell in session.cases.unsettled_cells()]
    cells = len(states) - states.count(State.SENT_BACK)
    findings = session.cases.tally().undecided - cells
    parts = [counted(number, word) for number, word in ((cells, "cell"), (findings, "finding")) if number]
    return f"{' and '.join(parts)} undecided"


def holds(session: Session) -> None:
    """Bar, tool tip, rows and review say what the session counts, in all and shot by shot."""
    whole, state, review = session.cases.tally(), GridState(session), ReviewState(session)
    assert state.my_cases.tally() == whole
    assert left_text(state).startswith(left_of(session) if whole.undecided else ("Nothing", "All well"))
    for figure in (f"{whole.sent_back} sent back", f"{whole.intended} intended"):
        assert figure in counts_text(state)
    for column, shot in enumerate(session.table.shots):
        tally = session.cases.tally([shot])
        assert state.my_cases.in_shot(column) == tally
        said = ShotSaid(session, shot).count_text()
        if shot in session.contents.sheets and session.contents.master is not None:
            words = [part for part in tally.says.split(", ") if not part.startswith("0 ")]
            assert said == (", ".join(words) or "matches the master")
    wanted = {
        shot
        for shot in session.contents.shots
        if shot in session.table.shots and session.cases.tally([shot]).unsettled
    }
    assert review.unsettled_shots() == wanted
    left = {finding.says for _, finding in undecided_findings(state)}
    assert left == {
        finding.says
        for finding in session.cases.findings
        if any(
            case.level >= Grade.DRIFT and case.state not in (State.INTENDED, State.SENT_BACK)
            for case in finding.cases
        )
    }


@pytest.mark.parametrize("name", ["harbour", "quay_usd", "first_steps"])
def test_one_tally_in_every_view(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    folder = tmp_path / name
    shutil.copytree(sample_sequence(name), folder)
    session = open_session(folder)
    holds(session)
    assert session.cases.tally() == of_the_gate(folder, capsys)
    chance = random.Random(4)
    cells = session.cases.unsettled_cells()
    for verb in (Verb.INTEND, Verb.RETURN):
        session.decide(
            verb,
            chance.sample(cells, min(3, len(cells))),
            "lead",
            "meant",
            cases=session.cases.unsettled_cases()[:1],
        )
        session.refresh_findings()
        holds(session)
        assert session.cases.tally() == of_the_gate(folder, capsys)


@pytest.mark.parametrize("seed", range(4))
def test_one_tally_in_sequences_made_at_random(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], seed: int
) -> None:
    chance = random.Random(seed)
    folder = a_sequence(chance, tmp_path / "random")
    session = decided_at_random(chance, folder)
    holds(session)
    assert session.cases.tally() == of_the_gate(folder, capsys)


def case_of(window: MainWindow) -> Finding:
    """A finding that is decided on beside cells."""
    assert window.session is not None
    return next(one for one in window.session.cases.findings if one.cases and one.level >= Grade.DRIFT)


def test_a_finding_beside_cells_is_intended_sent_back_and_withdrawn(qtbot: QtBot, window: MainWindow) -> None:
    finding = case_of(window)
    before = opened(window).session.cases.tally()
    for command, figures in (("intend", (-1, 0, 1)), ("return", (-1, 1, 0)), ("withdraw", (0, 0, 0))):
        window.findings.choose(
            next(one for one in window.findings.model.findings if one.says == finding.says)
        )
        if command != "withdraw":
            answer_reason("as asked for")
        press(qtbot, window, command)
        after = opened(window).session.cases.tally()
        changed = (
            after.undecided - before.undecided,
            after.sent_back - before.sent_back,
            after.intended - before.intended,
        )
        assert changed == tuple(len(finding.cases) * figure for figure in figures)
        holds(opened(window).session)
        shown = window.findings.model.findings
        now = next(one for one in shown if one.says == finding.says)
        assert is_handled(now) == (command != "withdraw")
        assert [is_handled(one) for one in shown] == sorted(is_handled(one) for one in shown)
        below = below_text(now, opened(window).session.crew)
        assert now.do in below
        assert {"intend": "intended", "return": "sent back", "withdraw": "undecided"}[command] in below


def test_a_cell_that_follows_is_refused_in_words_and_its_cause_is_selected(
    qtbot: QtBot, window: MainWindow
) -> None:
    session = window.session
    assert session is not None
    mask = session.cases.following().mask & (session.table.grade >= Grade.DRIFT)
    row, column = (int(index[0]) for index in mask.nonzero())
    shot, parameter = session.table.shots[column], session.table.rows[row].parameter
    causes = session.cases.following().deciding(row, column)
    window.select(shot, parameter)
    said: list[str] = []
    opened(window).decider.said.connect(said.append)
    for command in ("intend", "return"):
        window.select(shot, parameter)
        press(qtbot, window, command)
        assert said[-1] == session.cases.following().text(row, column)
        assert session.table.rows[causes[0]].parameter in said[-1]
        assert set(opened(window).views.grid.chosen.cells()) == {(cause, column) for cause in causes}
    assert not session.cases.judged().states


def test_in_a_mixed_selection_what_follows_is_left_out(qtbot: QtBot, window: MainWindow) -> None:
    session = window.session
    assert session is not None
    mask = session.cases.following().mask & (session.table.grade >= Grade.DRIFT)
    row, column = (int(index[0]) for index in mask.nonzero())
    cause = session.cases.following().deciding(row, column)[0]
    opened(window).views.select_cells([(cause, column), (row, column)])
    answer_reason("meant")
    press(qtbot, window, "intend")
    made = [decision.parameter for decision in session.ledger.all()]
    assert made == [session.table.rows[cause].parameter]


def test_a_cell_that_follows_says_so(qtbot: QtBot, window: MainWindow) -> None:
    session = window.session
    assert session is not None
    mask = session.cases.following().mask & (session.table.grade >= Grade.DRIFT)
    row, column = (int(index[0]) for index in mask.nonzero())
    shot, parameter = session.table.shots[column], session.table.rows[row].parameter
    cause = session.table.rows[session.cases.following().deciding(row, column)[0]].parameter
    window.select(shot, parameter)
    QApplication.processEvents()
    assert f"Follows from {cause}" in window.inspector.page.toPlainText()
    assert f"Follows from {cause}" in cell_tip(opened(window).views.state, row, column)
    own = session.cases.unsettled_cells()[0]
    assert "Follows from" not in cell_tip(opened(window).views.state, *own)


def test_all_is_well_only_where_all_was_read(qtbot: QtBot, make_sequence: MakeSequence) -> None:
    sun = {"lights": {"sun": {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 3.2}}}
    folder = make_sequence(master=sun, shots={"QU_010": sun, "QU_020": sun})
    assert left_text(GridState(open_session(folder))) == ALL_WELL
    (folder / "decisions").mkdir()
    (folder / "decisions" / "2026-01-01T000000.000000Z-000000000001.yaml").write_text(
        "verb: int", encoding="utf-8"
    )
    assert left_text(GridState(open_session(folder))) == NOT_ALL_READ
    shutil.rmtree(folder / "decisions")
    shutil.rmtree(folder / "shots" / "QU_020")
    assert left_text(GridState(open_session(folder))) == NOT_ALL_READ


def test_the_bar_and_its_tool_tip_say_all_three(qtbot: QtBot, harbour_folder: Path) -> None:
    window = open_window(qtbot, harbour_folder)
    assert window.session is not None
    tally = window.session.cases.tally()
    assert window.bar.left_label.text().startswith(f"{tally.undecided} undecided")
    assert left_of(window.session) in window.bar.left_label.toolTip()
    assert tally.says in window.bar.left_label.toolTip()
    window.close()
