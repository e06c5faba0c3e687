"""Only my shots: what is listed, counted and travelled, and whose shots they are."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QInputDialog
from pytestqt.qtbot import QtBot

from gui_help import open_window, opened, press
from samelight.drift.words import counted
from samelight.gui.state.remaining import left_text, next_unsettled
from samelight.gui.state.rows import GridState, Order, Show
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.saved_views import View
from samelight.sequence.session import Session, open_session

MINE = frozenset({"HB_010", "HB_060", "HB_110"})


def listed(state: GridState) -> list[str]:
    return [state.table.shots[column] for column in state.listing.columns]


# The state, without a window


def test_columns_and_counts_are_of_my_shots(harbour_session: Session) -> None:
    state = GridState(harbour_session)
    everything = state.counts()
    state.show_only(MINE)
    assert listed(state) == sorted(MINE)
    columns = state.listing.columns
    opened = [cell for cell in harbour_session.cases.unsettled_cells() if cell[1] in columns]
    opened_cases = harbour_session.cases.unsettled_cases(MINE)
    assert state.counts()["unsettled"] == len(opened) + len(opened_cases) < everything["unsettled"]
    assert state.counts()["within"] < everything["within"]
    assert state.counts()["hidden shots"] == 0
    said = f"{len(opened)} cells" + (f" and {counted(len(opened_cases), 'finding')}" if opened_cases else "")
    assert left_text(state).startswith(f"{said} undecided")
    state.show_only(None)
    assert state.counts() == everything


def test_the_next_open_cell_stays_within_my_shots(harbour_session: Session) -> None:
    state = GridState(harbour_session, mine=MINE)
    here, seen = (-1, 0), set()
    for _ in range(2 * state.counts()["unsettled"]):
        found = next_unsettled(state, *here)
        assert found is not None
        seen.add(found)
        here = found
    assert {harbour_session.table.shots[column] for _, column in seen} <= MINE
    assert len(seen) == int(state.my_cases.unsettled_mask().sum())


def test_rows_are_listed_by_what_is_open_in_my_shots(harbour_session: Session) -> None:
    for show in (Show.UNDECIDED, Show.DRIFTING):
        state = GridState(harbour_session, View(rows=show), mine=frozenset({"HB_110"}))
        rows = [line.row for line in state.listing.lines if line.row is not None]
        column = harbour_session.table.column("HB_110")
        assert rows and all(state.my_cases.unsettled_mask()[row, column] for row in rows)


def test_it_combines_with_hidden_shots(harbour_session: Session) -> None:
    state = GridState(harbour_session, mine=MINE)
    column = harbour_session.table.column("HB_060")
    assert column is not None
    state.hide_shots([column])
    assert listed(state) == ["HB_010", "HB_110"] and state.counts()["hidden shots"] == 1
    state.hide_shots(list(state.listing.columns))
    assert listed(state) == ["HB_010", "HB_110"]  # the last ones stay
    state.show_only(frozenset({"HB_060"}))
    assert listed(state) == ["HB_060"]  # rather than nothing at all
    state.show_only(MINE)
    state.show_hidden()
    assert listed(state) == sorted(MINE)


def test_a_shot_of_somebody_else_can_be_visited_and_is_not_counted(harbour_session: Session) -> None:
    state = GridState(harbour_session, mine=MINE)
    before = state.counts()
    row, column = harbour_session.table.row("render.gi.range"), harbour_session.table.column("HB_120")
    assert row is not None and column is not None
    state.reveal(row, column)
    assert listed(state) == ["HB_010", "HB_060", "HB_110", "HB_120"]
    assert {**state.counts(), "hidden rows": 0} == {**before, "hidden rows": 0}
    state.hide_shots([column])
    assert listed(state) == sorted(MINE)


def test_what_is_worst_does_not_hang_on_whose_shots_were_listed(harbour_session: Session) -> None:
    state = GridState(harbour_session, View(order=Order.WORST), mine=frozenset({"HB_010"}))
    state.refresh()
    state.show_only(None)
    fresh = GridState(harbour_session, View(order=Order.WORST))
    assert state.listing.lines == fresh.listing.lines and (state.listing.worst == fresh.listing.worst).all()


def test_names_that_are_no_column_hide_nothing(harbour_session: Session) -> None:
    assert len(GridState(harbour_session, mine=frozenset({"v001"})).listing.columns) == 24


# The window


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the next questions are answered with, first one first; the questions are put behind."""
    answers: list[str] = []

    def answer(parent: object, title: str, question: str, *more: object) -> tuple[str, bool]:
        text = answers.pop(0)
        answers.append(f"? {question}")
        return text, bool(text)

    monkeypatch.setattr(QInputDialog, "getText", answer)
    return answers


def test_the_sequence_says_which_are_mine(window: MainWindow, qtbot: QtBot) -> None:
    assert window.session is not None
    window.settings.keep("who", "ines")
    press(qtbot, window, "only_mine")
    state = opened(window).views.model.state
    assert listed(state) == [*window.session.contents.shots[:10], "HB_240"]
    assert window.actions_by_name["only_mine"].isChecked()
    assert window.statusBar().currentMessage() == "Only my shots: 11 shots"
    assert window.bar.left_label.text().startswith(f"{state.counts()['left']} undecided")
    press(qtbot, window, "only_mine")
    assert len(opened(window).views.model.state.listing.columns) == 24
    assert not window.actions_by_name["only_mine"].isChecked()


def test_who_is_not_named_is_asked_once_and_it_is_kept(
    qtbot: QtBot, harbour_folder: Path, asked: list[str]
) -> None:
    window = open_window(qtbot, harbour_folder)
    window.settings.keep("who", "ada")
    asked += ["HB_999", "HB_050-HB_070"]
    press(qtbot, window, "only_mine")
    assert listed(opened(window).views.model.state) == ["HB_050", "HB_060", "HB_070"]
    assert "HB_010-HB_240" in asked[0] and "no shot HB_999 in the cut" in asked[1]
    press(qtbot, window, "only_mine")
    press(qtbot, window, "only_mine")
    assert len(asked) == 2  # nobody was asked again
    window.close()
    again = open_window(qtbot, harbour_folder)
    assert listed(opened(again).views.model.state) == ["HB_050", "HB_060", "HB_070"]
    assert again.actions_by_name["only_mine"].isChecked()
    again.close()


def test_where_the_sequence_names_none_that_is_in_the_cut_it_says_so(
    qtbot: QtBot, harbour_folder: Path, asked: list[str]
) -> None:
    file = harbour_folder / "sequence.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("[HB_110-HB_230]", "[HB_999]"), encoding="utf-8")
    window = open_window(qtbot, harbour_folder)
    window.settings.keep("who", "Tomas")
    press(qtbot, window, "only_mine")
    assert asked == [] and len(opened(window).views.model.state.listing.columns) == 24
    assert "Tomas" in window.statusBar().currentMessage()
    window.close()


def test_no_answer_lists_all(window: MainWindow, qtbot: QtBot, asked: list[str]) -> None:
    window.settings.keep("who", "ada")
    asked.append("")
    press(qtbot, window, "only_mine")
    assert len(opened(window).views.model.state.listing.columns) == 24
    assert not window.actions_by_name["only_mine"].isChecked()


def test_listing_them_for_once_keeps_the_switch_in_the_settings(
    window: MainWindow, qtbot: QtBot, asked: list[str]
) -> None:
    mine = opened(window).my_shots
    window.settings.keep("who", "ada")
    asked.append("")
    assert not mine.list_only(True)
    assert len(listed(opened(window).views.model.state)) == 24 and mine.list_only(False)
    asked.insert(0, "HB_050")
    assert mine.list_only(True) and listed(opened(window).views.model.state) == ["HB_050"]
    assert window.settings.text("only_mine") == "" and window.actions_by_name["only_mine"].isChecked()
    assert mine.list_only(True) and len(asked) == 2  # it stands so, and nobody is asked
    assert window.session is not None
    window.show_session(open_session(window.session.contents.folder))
    assert listed(opened(window).views.model.state) == ["HB_050"]  # the same shots when all is read anew
    press(qtbot, window, "only_mine")
    assert window.settings.text("only_mine") == "off" and len(listed(opened(window).views.model.state)) == 24
    press(qtbot, window, "only_mine")
    assert opened(window).my_shots.list_only(False) and len(listed(opened(window).views.model.state)) == 24
    assert window.settings.text("only_mine") == "on"


def test_whose_shots_are_listed_is_chosen_by_name_and_a_list_is_asked_for_anew(
    window: MainWindow, qtbot: QtBot, asked: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    offered: list[list[str]] = []
    answers: list[tuple[str, bool]] = []

    def choose(
        parent: object, title: str, label: str, names: list[str], *_: object, editable: bool
    ) -> tuple[str, bool]:
        assert not editable
        offered.append(names)
        return answers.pop(0)

    monkeypatch.setattr(QInputDialog, "getItem", choose)
    window.settings.keep("who", "Tomas")
    for whose, first, count in (("Ines", "HB_010", 11), ("Tomas", "HB_110", 13), ("everyone", "HB_010", 24)):
        answers.append((whose, True))
        press(qtbot, window, "my_shots")
        assert listed(opened(window).views.model.state)[0] == first
        assert len(listed(opened(window).views.model.state)) == count
    answers += [("nobody", True), ("Ines", False)]
    press(qtbot, window, "my_shots")  # there are none of nobody
    press(qtbot, window, "my_shots")
    assert len(listed(opened(window).views.model.state)) == 24
    assert offered == [["everyone", "Ines", "Tomas", "nobody"]] * 5
    window.settings.keep("who", "ada")
    answers += [("a list of my own…", True)] * 2
    for text, shots in (("HB_050", ["HB_050"]), ("HB_060, HB_070", ["HB_060", "HB_070"])):
        asked.insert(0, text)
        press(qtbot, window, "my_shots")
        assert listed(opened(window).views.model.state) == shots


def test_another_sequence_asks_nobody(window: MainWindow, qtbot: QtBot, make_quay: Session) -> None:
    window.settings.keep("who", "Ines")
    press(qtbot, window, "only_mine")
    window.show_session(make_quay)
    assert len(opened(window).views.model.state.listing.columns) == 1
    assert not window.actions_by_name["only_mine"].isChecked()


@pytest.fixture
def make_quay(tmp_path: Path) -> Session:
    folder = tmp_path / "quay"
    sheet = folder / "shots" / "QU_010" / "QU_010.v001.yaml"
    sheet.parent.mkdir(parents=True)
    sheet.write_text(
        "samelight: 2\nshot: QU_010\nversion: 1\nlights: {sun: {type: distant}}\n", encoding="utf-8"
    )
    (folder / "sequence.yaml").write_text("title: Quay\ncut: [QU_010]\n", encoding="utf-8")
    return open_session(folder)


def test_a_shot_that_is_in_no_cut_is_a_remark(qtbot: QtBot, harbour_folder: Path) -> None:
    file = harbour_folder / "sequence.yaml"
    text = file.read_text(encoding="utf-8").replace("[HB_110-HB_230]", "[HB_110-HB_230, HB_23]")
    file.write_text(text, encoding="utf-8")
    window = open_window(qtbot, harbour_folder)
    assert "lighters, Tomas: no shot HB_23 in the cut; did you mean HB_230?" in window.notice.toolTip()
    window.close()
