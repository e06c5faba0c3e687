"""A lead and two lighters, each at a window of their own on one folder, take cases from off to closed by keys alone."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from conftest import write_sequence
from gui_help import answer_reason, open_window, opened, press
from rim_light import LEVEL, publish, rig
from samelight.changes.mending import Way, mendings, write
from samelight.changes.mending import signed as signed_by
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import open_ledger
from samelight.decisions.state import State
from samelight.gui.state.handed_over import LISTS
from samelight.gui.window.main_window import MainWindow
from samelight.reports.lighter_pages import lighter_pages
from samelight.sequence.saved_views import Show
from samelight.sequence.session import open_session

CUT = [f"S_{number:03d}" for number in range(10, 90, 10)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shots = {shot: rig(1 if shot in ("S_020", "S_060") else 0) for shot in CUT}
    lighters = {"Ines": CUT[:4], "Tomas": CUT[4:]}
    return write_sequence(tmp_path / "quay", master=rig(), shots=shots, sequence={"lighters": lighters})


def select(window: MainWindow, shot: str) -> None:
    (cell,) = opened(window).views.session.table.places([(shot, LEVEL)])
    opened(window).work.views.grid.go_to(*cell)
    QApplication.processEvents()


def state_of(window: MainWindow, shot: str) -> State:
    (cell,) = opened(window).views.session.table.places([(shot, LEVEL)])
    return opened(window).views.session.cases.state(*cell)


def in_bar(window: MainWindow) -> list[int]:
    counts = opened(window).work.views.state.handed_over.counts
    said = [action.text().rpartition(": ")[2] for action in window.bar.handed_over.lists.values()]
    assert window.bar.handed_over.text() == f"Handed over: {sum(counts.values())}"
    assert said == [str(counts[show]) for show in LISTS]
    return [counts[show] for show in LISTS]


def all_see(qtbot: QtBot, windows: Sequence[MainWindow], shot: str, state: State) -> None:
    qtbot.waitUntil(lambda: all(state_of(window, shot) is state for window in windows))


def signed(window: MainWindow, who: str) -> MainWindow:
    window.settings.keep("who", who)
    return window


def test_from_off_to_closed_and_one_sent_back_again(qtbot: QtBot, folder: Path) -> None:
    lead, lighter = open_window(qtbot, folder), open_window(qtbot, folder)
    both = (lead, lighter)
    for shot in ("S_020", "S_060"):
        select(lead, shot)
        answer_reason("as in the master", "mira")
        press(qtbot, lead, "return")
        all_see(qtbot, both, shot, State.SENT_BACK)
    assert in_bar(lead) == in_bar(lighter) == [2, 0, 0, 0]

    signed(lighter, "Ines")
    width = lighter.bar.handed_over.width()
    lighter.bar.handed_over.lists[Show.SENT_BACK].trigger()
    QApplication.processEvents()
    assert opened(lighter).work.views.state.view.rows is Show.SENT_BACK
    assert lighter.bar.handed_over.width() == width
    select(lighter, "S_020")
    press(qtbot, lighter, "take_up")
    signed(lighter, "Tomas")
    select(lighter, "S_060")
    press(qtbot, lighter, "take_up")
    for shot in ("S_020", "S_060"):
        all_see(qtbot, both, shot, State.TAKEN_UP)

    publish(folder, "S_020", 2, rig(0))
    publish(folder, "S_060", 2, rig(0.5))
    for shot in ("S_020", "S_060"):
        all_see(qtbot, both, shot, State.MENDED)
    qtbot.waitUntil(lambda: in_bar(lead) == [0, 2, 0, 0])
    lead.bar.handed_over.lists[Show.WAITING].trigger()
    QApplication.processEvents()
    assert [
        opened(lead).work.views.state.listing.name_of(line)
        for line in opened(lead).work.views.state.listing.lines
    ] == [LEVEL]
    signed(lead, "mira")
    select(lead, "S_020")
    press(qtbot, lead, "close")
    all_see(qtbot, both, "S_020", State.CLOSED)
    select(lead, "S_060")
    press(qtbot, lead, "close")  # it is not inside its tolerance
    assert state_of(lead, "S_060") is State.MENDED
    answer_reason("all of the stop", "mira")
    press(qtbot, lead, "return")
    all_see(qtbot, both, "S_060", State.SENT_BACK)
    publish(folder, "S_060", 3, rig(0))
    all_see(qtbot, both, "S_060", State.MENDED)

    select(lead, "S_060")
    press(qtbot, lead, "close")
    all_see(qtbot, both, "S_060", State.CLOSED)
    press(qtbot, lead, "undo")
    all_see(qtbot, both, "S_060", State.MENDED)
    press(qtbot, lead, "redo")
    all_see(qtbot, both, "S_060", State.CLOSED)
    qtbot.waitUntil(lambda: in_bar(lead) == in_bar(lighter) == [0, 0, 0, 0])
    assert opened(lead).views.session.cases.tally().unsettled == 0
    verbs = [(one.verb, one.who) for one in open_ledger(folder).all() if one.shot == "S_060"]
    assert verbs == [
        (Verb.RETURN, "mira"),
        (Verb.TAKE_UP, "Tomas"),
        (Verb.RETURN, "mira"),
        (Verb.CLOSE, "mira"),
        (Verb.WITHDRAW, "mira"),
        (Verb.WITHDRAW, "mira"),
    ]


def test_two_days_of_a_sequence_to_all_closed_with_one_lighter_away(qtbot: QtBot, tmp_path: Path) -> None:
    cut = [f"S_{number:03d}" for number in range(10, 250, 10)]
    off = [cut[3], cut[9], cut[15], cut[20]]
    lighters = {"Ines": cut[:12], "Tomas": cut[12:]}
    shots = {shot: rig(1 if shot in off else 0) for shot in cut}
    folder = write_sequence(tmp_path / "pier", master=rig(), shots=shots, sequence={"lighters": lighters})
    lead, lighter = signed(open_window(qtbot, folder), "mira"), signed(open_window(qtbot, folder), "Ines")
    both = (lead, lighter)

    # The first day: all goes back; what Ines has is taken up and mended, while Tomas is away.
    opened(lead).work.views.select_cells(
        opened(lead).views.session.table.places([(shot, LEVEL) for shot in off])
    )
    answer_reason("as in the master", "mira")
    press(qtbot, lead, "return")
    for shot in off:
        all_see(qtbot, both, shot, State.SENT_BACK)
    away = open_session(folder)  # what Tomas saw before he left
    assert [page.lighter for page in lighter_pages(away)] == ["Ines", "Tomas"]
    opened(lighter).work.views.select_cells(
        opened(lighter).views.session.table.places([(shot, LEVEL) for shot in off[:2]])
    )
    press(qtbot, lighter, "take_up")
    for mending in mendings(open_session(folder), Way.SET, off[:2]):
        write(signed_by(mending, "Ines"))
    for shot in off[:2]:
        all_see(qtbot, both, shot, State.MENDED)
    select(lead, off[0])
    press(qtbot, lead, "close")
    all_see(qtbot, both, off[0], State.CLOSED)

    # Two at once, neither of whom sees the other: the lead takes back what a supervisor says is meant.
    other = open_session(folder)
    (cell,) = other.table.places([(off[2], LEVEL)])
    select(lead, off[2])
    lead.watching.stop()
    other.decide(Verb.INTEND, [cell], "ada", "the lamp swings here")
    press(qtbot, lead, "withdraw")
    lead.opening.reload()
    all_see(qtbot, both, off[2], State.INTENDED)
    assert {one.verb for one in open_ledger(folder).all() if one.shot == off[2]} == {
        Verb.RETURN,
        Verb.INTEND,
        Verb.WITHDRAW,
    }

    # The second day: Tomas is back, and sees all of it at once.
    assert away.reload()
    assert [away.cases.state(*place) for place in away.table.places([(shot, LEVEL) for shot in off])] == [
        State.CLOSED,
        State.MENDED,
        State.INTENDED,
        State.SENT_BACK,
    ]
    (mending,) = mendings(away, Way.SET, [off[3]])
    write(signed_by(mending, "Tomas"))
    all_see(qtbot, both, off[3], State.MENDED)
    qtbot.waitUntil(lambda: in_bar(lead) == in_bar(lighter) == [0, 2, 0, 0])
    for shot in (off[1], off[3]):
        select(lead, shot)
        press(qtbot, lead, "close")
        all_see(qtbot, both, shot, State.CLOSED)
    qtbot.waitUntil(lambda: in_bar(lead) == in_bar(lighter) == [0, 0, 0, 0])
    assert (
        opened(lead).views.session.cases.tally().unsettled == 0
        and list(lighter_pages(open_session(folder))) == []
    )
