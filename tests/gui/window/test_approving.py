"""Approving from the keyboard alone: a key, a reason, Enter; then the next open cell is there and what is left is counted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMessageBox
from pytestqt.qtbot import QtBot

from gui_help import answer_reason, opened, press
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.drift.words import counted
from samelight.gui.dialogs.deciding import REASONS, ReasonDialog
from samelight.gui.paint import theme
from samelight.gui.state.remaining import ALL_WELL, Round, left_text, next_unsettled
from samelight.gui.state.rows import GridState, Line, Order, Show
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.saved_views import View
from samelight.sequence.session import Session

Cell = tuple[int, int]
KEY = Qt.Key


def name(window: MainWindow, cell: Cell) -> tuple[str, str]:
    assert window.session is not None
    table = window.session.table
    return table.shots[cell[1]], table.rows[cell[0]].parameter


def spot(window: MainWindow) -> tuple[str, str]:
    found = opened(window).views.cell_name()
    assert found is not None
    return found


def cell_of(session: Session, shot: str, parameter: str) -> Cell:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return row, column


def key(window: MainWindow, *keys: Qt.Key, shift: bool = False, control: bool = False) -> None:
    """Press keys as a keyboard does: where the focus is, so that shortcuts answer."""
    modifiers = Qt.KeyboardModifier.NoModifier
    modifiers |= Qt.KeyboardModifier.ShiftModifier if shift else Qt.KeyboardModifier.NoModifier
    modifiers |= Qt.KeyboardModifier.ControlModifier if control else Qt.KeyboardModifier.NoModifier
    while QApplication.activeWindow() is not window:
        window.activateWindow()
        QTest.qWait(5)
    for one in keys:
        QTest.keyClick(window.focusWidget() or window, one, modifiers)
    QApplication.processEvents()


def answer(*strokes: str | Qt.Key, then_on: bool | None = None) -> list[ReasonDialog]:
    """Type into the next dialog for a reason, as soon as it is there; text and keys as they are given.

    `then_on` is what the box says in the end; None leaves it as it is remembered.
    """
    seen: list[ReasonDialog] = []

    def type_into() -> None:
        dialog = QApplication.activeModalWidget()
        field = dialog.focusWidget() if dialog is not None else None
        if not isinstance(dialog, ReasonDialog) or field is None:
            QTimer.singleShot(20, type_into)
            return
        seen.append(dialog)
        if then_on is not None and dialog.then_on.isChecked() is not then_on:
            dialog.then_on.click()
        for stroke in strokes:
            if isinstance(stroke, str):
                QTest.keyClicks(field, stroke)
            else:
                QTest.keyClick(field, stroke)

    QTimer.singleShot(0, type_into)
    return seen


def near_the_top(window: MainWindow, shot: str, parameter: str) -> tuple[int, int, int]:
    window.select(shot, parameter)
    QApplication.processEvents()
    rect = opened(window).views.grid.visualRect(opened(window).views.grid.currentIndex())
    colour = opened(window).views.grid.viewport().grab().toImage().pixelColor(rect.topLeft() + QPoint(30, 6))
    return colour.red(), colour.green(), colour.blue()


def go_to(window: MainWindow, shot: str, parameter: str) -> None:
    """With keys only: the filter for the row, Ctrl+G for the shot."""
    for command, field, text in (
        (KEY.Key_F, window.bar.filter_edit, parameter),
        (KEY.Key_G, window.bar.goto_edit, shot),
    ):
        key(window, command, control=True)
        assert window.focusWidget() is field
        QTest.keyClicks(field, text)
    key(window, KEY.Key_Return)


def test_a_lighter_approves_what_was_meant_with_two_strokes_and_a_reason(window: MainWindow) -> None:
    session, model = window.session, opened(window).views.model
    assert session is not None and model is not None
    colour = "lights.rim.colour"
    before = near_the_top(window, "HB_110", colour)
    go_to(window, "HB_110", colour)
    key(window, KEY.Key_Down)
    assert spot(window) == ("HB_110", colour)
    left = model.state.counts()["left"]

    asked = answer("Rim cooled on purpose", KEY.Key_Return)
    key(window, KEY.Key_I)

    assert len(asked) == 1
    (made,) = session.ledger.all()
    assert (made.verb, made.shot, made.parameter) == (Verb.INTEND, "HB_110", colour)
    assert made.reason == "Rim cooled on purpose"
    assert model.state.counts()["left"] == left - 1
    assert near_the_top(window, "HB_110", colour) != before
    grey = (theme.CELL.red(), theme.CELL.green(), theme.CELL.blue())
    assert near_the_top(window, "HB_110", colour) == grey

    # The filter goes with Escape, N brings up the next one; that one goes back, and is taken back again.
    key(window, KEY.Key_Escape, KEY.Key_N)
    cell = cell_of(session, *spot(window))
    answer("Bring it back", KEY.Key_Return)
    key(window, KEY.Key_S)
    assert session.cases.state(*cell) is State.SENT_BACK and cell_of(session, *spot(window)) != cell
    key(window, KEY.Key_Z, control=True)
    assert session.cases.state(*cell) is State.UNDECIDED
    assert [one.verb for one in session.ledger.all()] == [Verb.INTEND, Verb.RETURN, Verb.WITHDRAW]


def test_the_next_open_cell_comes_up_along_the_row_and_then_in_the_next(window: MainWindow) -> None:
    assert window.session is not None
    window.select("HB_050", "lights.sun.direction")
    opened(window).views.grid.setFocus()
    for shot, then in (("HB_050", "HB_060"), ("HB_060", "HB_070"), ("HB_070", "HB_080")):
        assert spot(window) == (shot, "lights.sun.direction")
        answer("The sun is later here", KEY.Key_Return)
        key(window, KEY.Key_I)
        assert spot(window) == (then, "lights.sun.direction")
    answer("The sun is later here", KEY.Key_Return)
    key(window, KEY.Key_I)
    # Nothing is open any more along the row: the next row that drifts, at its first shot in the cut.
    row = window.session.table.row("lights.sun.direction")
    found = cell_of(window.session, *spot(window))
    assert row is not None and found == min(
        cell for cell in window.session.cases.unsettled_cells() if cell[0] > row
    )
    assert window.focusWidget() is opened(window).views.grid


def test_the_cursor_stays_after_a_decision_where_the_box_says_so(window: MainWindow) -> None:
    """It is remembered, for what asks for no reason too."""
    assert window.session is not None
    sun = ("HB_050", "lights.sun.direction")
    window.select(*sun)
    opened(window).views.grid.setFocus()
    answer("Bring it back", KEY.Key_Return, then_on=False)
    key(window, KEY.Key_S)
    assert (
        window.session.cases.state(*cell_of(window.session, *sun)) is State.SENT_BACK and spot(window) == sun
    )
    key(window, KEY.Key_Y)
    assert (
        window.session.cases.state(*cell_of(window.session, *sun)) is State.TAKEN_UP and spot(window) == sun
    )
    window.select("HB_060", "lights.sun.direction")
    answer("The sun is later here", KEY.Key_Return)
    key(window, KEY.Key_I)
    assert spot(window)[0] == "HB_060"
    window.select("HB_070", "lights.sun.direction")
    answer("The sun is later here", KEY.Key_Return, then_on=True)
    key(window, KEY.Key_I)
    assert spot(window)[0] == "HB_080"


def test_what_is_left_is_counted_in_the_bar_and_in_the_status_line(window: MainWindow) -> None:
    assert window.session is not None
    window.select("HB_180", "lights.window_fill.position")
    left = int(opened(window).views.model.state.my_cases.undecided_mask().sum())
    findings = opened(window).views.model.state.counts()["left"] - left
    also = f" and {counted(findings, 'finding')}" if findings else ""
    assert window.bar.left_label.text() == f"{left + findings} undecided, 2 in HB_180"
    assert f"{left} cells{also} undecided, 2 of them in HB_180" in window.bar.left_label.toolTip()
    opened(window).views.grid.setFocus()
    answer("Put it back", KEY.Key_Return)
    key(window, KEY.Key_S)
    shot = spot(window)[0]
    column = window.session.table.column(shot)
    here = int(opened(window).views.model.state.my_cases.undecided_mask()[:, column].sum())
    said = f"{left - 1} cells{also} undecided, {here} of them in {shot}"
    assert window.bar.left_label.text() == f"{left - 1 + findings} undecided, {here} in {shot}"
    assert window.statusBar().currentMessage() == f"Sent back: 1 cell. {said}"
    assert window.bar.count_label.text().startswith("1 sent back")


def test_everything_is_decided_with_keys_and_then_all_is_well(window: MainWindow) -> None:
    session, model, grid = window.session, opened(window).views.model, opened(window).views.grid
    assert session is not None and model is not None and grid is not None
    *others, _, _, _, _ = session.cases.unsettled_cells()
    session.decide(Verb.INTEND, others, "ada", "Seen yesterday", cases=session.cases.unsettled_cases())
    opened(window).telling.take_decisions()
    grid.setFocus()
    key(window, KEY.Key_N)
    assert model.state.counts()["left"] == 4
    for _ in range(4):
        assert session.cases.state(*cell_of(session, *spot(window))) is State.UNDECIDED
        answer("Meant", KEY.Key_Return)
        key(window, KEY.Key_I)
    assert model.state.counts()["left"] == 0 and not session.cases.unsettled_cells()
    assert window.bar.left_label.text() == f"✓ {ALL_WELL}"
    assert window.statusBar().currentMessage().endswith(ALL_WELL)
    key(window, KEY.Key_N)
    assert window.statusBar().currentMessage() == ALL_WELL


def test_many_cells_take_one_reason(window: MainWindow) -> None:
    assert window.session is not None
    window.select("HB_050", "lights.sun.direction")
    opened(window).views.grid.setFocus()
    key(window, KEY.Key_Right, KEY.Key_Right, KEY.Key_Right, shift=True)
    asked = answer("One later sun for these four", KEY.Key_Return)
    key(window, KEY.Key_I)
    assert len(asked) == 1
    made = window.session.ledger.all()
    assert {one.shot for one in made} == {"HB_050", "HB_060", "HB_070", "HB_080"}
    assert len({one.batch for one in made}) == 1
    assert {one.reason for one in made} == {"One later sun for these four"}
    assert spot(window)[1] != "lights.sun.direction"
    key(window, KEY.Key_N)
    assert window.session.cases.state(*cell_of(window.session, *spot(window))) is State.UNDECIDED


def test_a_group_goes_on_from_shot_to_shot_and_stays_closed(window: MainWindow) -> None:
    assert window.session is not None
    window.run("collapse")
    state = opened(window).views.model.state
    line = next(
        i for i, one in enumerate(state.listing.lines) if state.groups[one.group].name == "lights.sun"
    )
    column = window.session.table.column("HB_050")
    assert column is not None
    opened(window).views.grid.setCurrentIndex(opened(window).views.model.cell_index(line, column))
    opened(window).views.grid.setFocus()
    answer("Later sun", KEY.Key_Return)
    key(window, KEY.Key_I)
    assert spot(window)[0] == "HB_060"
    assert opened(window).views.grid.currentIndex().row() == line
    assert not state.view.expanded


def test_earlier_reasons_are_offered_and_taken_with_the_arrows(window: MainWindow) -> None:
    assert window.session is not None
    window.settings.keep("reasons to intend", ["Rim cooled on purpose", "Asked for in dailies"])
    window.select("HB_110", "lights.rim.colour")
    opened(window).views.grid.setFocus()
    answer("purp", KEY.Key_Down, KEY.Key_Return)
    key(window, KEY.Key_I)
    (made,) = window.session.ledger.all()
    assert made.reason == "Rim cooled on purpose"
    # The reason that was given last is the first to be offered.
    assert window.settings.names("reasons to intend")[0] == "Rim cooled on purpose"


def test_the_arrows_go_back_to_what_was_typed(qtbot: QtBot, harbour_session: Session) -> None:
    dialog = ReasonDialog(harbour_session, Verb.INTEND, [], "lead", ["one", "two", "Asked for in dailies"])
    qtbot.addWidget(dialog)
    assert dialog.reason.offers.count() == 2 + len(REASONS[Verb.INTEND])
    offers = dialog.reason.offers
    QTest.keyClicks(dialog.reason, "one")
    assert [offers.item(i).text() for i in range(offers.count())] == ["one"]
    for _ in range(2):
        QTest.keyClick(dialog.reason, KEY.Key_Backspace)
    QTest.keyClick(dialog.reason, KEY.Key_Down)
    assert dialog.reason_text() == "one"
    QTest.keyClick(dialog.reason, KEY.Key_Down)
    assert dialog.reason_text() == "two"
    for _ in range(2):
        QTest.keyClick(dialog.reason, KEY.Key_Up)
    assert dialog.reason_text() == "o"
    QTest.keyClick(dialog.reason, KEY.Key_Up)
    assert dialog.reason_text() == "o"
    QTest.keyClicks(dialog.reason, "zz")
    assert dialog.reason.offers.count() == 0
    QTest.keyClick(dialog.reason, KEY.Key_Down)
    assert dialog.reason_text() == "ozz"


def test_without_a_reason_enter_intends_nothing_and_escape_leaves_all_as_it_was(window: MainWindow) -> None:
    assert window.session is not None
    window.select("HB_110", "lights.rim.colour")
    opened(window).views.grid.setFocus()
    answer(KEY.Key_Return, "  ", KEY.Key_Return, KEY.Key_Escape)
    key(window, KEY.Key_I)
    assert not window.session.ledger.all()
    assert spot(window) == ("HB_110", "lights.rim.colour")


def test_a_decision_that_cannot_be_written_leaves_the_cursor(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert window.session is not None
    (window.session.contents.folder / "decisions").write_text("in the way", encoding="utf-8")
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    window.select("HB_110", "lights.rim.colour")
    opened(window).views.grid.setFocus()
    answer("meant", KEY.Key_Return)
    key(window, KEY.Key_I)
    assert len(said) == 1
    assert spot(window) == ("HB_110", "lights.rim.colour")


# The order in which cells come up, without a window


def walk(state: GridState, start: Cell, decide: Callable[[Cell], None]) -> list[Cell]:
    """The cells that come up one after the other while each is decided."""
    seen: list[Cell] = []
    here = start
    while True:
        in_turn = Round.of(state, by_line=False)
        decide(here)
        state.refresh()
        found = in_turn.next(state, here, [here])
        if found is None:
            return seen
        seen.append(found)
        here = found


@pytest.mark.parametrize(
    ("order", "show"),
    [*((order, Show.ALL) for order in Order), (Order.WORST, Show.UNDECIDED), (Order.SHEET, Show.DRIFTING)],
)
def test_every_open_cell_comes_up_once_whatever_is_listed(
    harbour_session: Session, order: Order, show: Show
) -> None:
    state = GridState(harbour_session, View(order=order, rows=show))
    state.hide_shots([3])
    open_before = {cell for cell in harbour_session.cases.unsettled_cells() if cell[1] != 3}
    start = min(open_before)

    def decide(cell: Cell) -> None:
        verb = Verb.INTEND if sum(cell) % 2 else Verb.RETURN
        harbour_session.decide(verb, [cell], "ada", "seen")

    seen = walk(state, start, decide)
    assert len(seen) == len(set(seen))
    assert {start, *seen} == open_before


def test_cells_come_up_in_cut_order_along_a_row(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    cells = sorted(harbour_session.cases.unsettled_cells())
    in_turn = Round.of(state, by_line=False)
    for here, then in zip(cells, [*cells[1:], cells[0]], strict=True):
        assert in_turn.next(state, here, [here]) == then


def test_what_is_not_listed_does_not_come_up(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(filter="rim"))
    cell = cell_of(harbour_session, "HB_110", "lights.rim.colour")
    rims = [
        c
        for c in harbour_session.cases.unsettled_cells()
        if "rim" in harbour_session.table.rows[c[0]].parameter
    ]
    assert Round.of(state, by_line=False).next(state, cell, rims) is None
    hidden = GridState(harbour_session)
    hidden.hide([Line(hidden.groups.of_row[cell[0]])])
    assert Round.of(hidden, by_line=False).rank[cell[0]] == -1


def test_what_was_sent_back_is_not_left_and_not_well(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    cells, cases = harbour_session.cases.unsettled_cells(), harbour_session.cases.unsettled_cases()
    harbour_session.decide(Verb.RETURN, cells, "ada", cases=cases)
    state.refresh()
    returned = len(cells) + len(cases)
    assert left_text(state) == f"Nothing left to decide, {returned} sent back"
    # What is open is the same for the gate, and what was sent back can still be travelled.
    assert state.counts()["unsettled"] == returned and next_unsettled(state, -1, 0) is not None
    harbour_session.decide(Verb.INTEND, cells, "ada", "so be it", cases=cases)
    state.refresh()
    assert left_text(state) == ALL_WELL and next_unsettled(state, -1, 0) is None


def test_what_changes_on_disk_while_the_reason_is_typed_is_not_decided_on(
    window: MainWindow, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = window.session
    assert session is not None and session.contents.folder == harbour_folder
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *words: said.append(words[2]))
    window.select("HB_110", "lights.rim.colour")
    opened(window).views.grid.setFocus()

    sheet = session.contents.versions["HB_110"][2]
    text = sheet.read_text(encoding="utf-8")
    assert text.count("temperature: 4770 K") == 1

    def published_meanwhile() -> None:
        if not isinstance(QApplication.activeModalWidget(), ReasonDialog):
            QTimer.singleShot(20, published_meanwhile)
            return
        sheet.write_text(text.replace("temperature: 4770 K", "temperature: 3000 K"), encoding="utf-8")
        session.reload()
        opened(window).work.renew()
        answer("Meant", KEY.Key_Return)

    QTimer.singleShot(0, published_meanwhile)
    key(window, KEY.Key_I)
    assert len(said) == 1 and "These values changed on disk while you were deciding" in said[0]
    assert not session.ledger.all()
    assert spot(window) == ("HB_110", "lights.rim.colour")


def test_choosing_a_finding_selects_all_its_cells_however_closed_their_groups_are(
    window: MainWindow, qtbot: QtBot
) -> None:
    press(qtbot, window, "collapse")
    assert window.session is not None
    finding = max(window.session.cases.findings, key=lambda one: len(one.cells))
    window.findings.choose(finding)
    assert set(opened(window).views.grid.chosen.cells()) == set(finding.cells)
    assert len(finding.cells) > 10


def test_what_is_sent_back_is_offered_other_reasons_than_what_is_meant(
    window: MainWindow, qtbot: QtBot
) -> None:
    press(qtbot, window, "next")
    answer_reason("Match the shot before")
    press(qtbot, window, "return")
    assert window.settings.names("reasons to return") == ["Match the shot before"]
    assert window.settings.names("reasons to intend") == []
