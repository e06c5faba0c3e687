"""The list of findings: read whole at any width, gone to from elsewhere, and never blank without a word."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFontMetrics, QTextLayout, QTextOption
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from gui_help import answer_reason, opened, press
from known import there
from samelight.findings.finding import Finding
from samelight.gui.findings.panel import (
    NOT_THE_MASTER,
    NOTHING_FOUND,
    NOTHING_OPEN,
    STILL_LOOKING,
    FindingsPanel,
)
from samelight.gui.paint import theme
from samelight.gui.paint.whole_paths import with_whole_paths
from samelight.gui.widgets.yielding_bar import YieldingBar
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import Session


def panel(qtbot: QtBot, session: Session | None, width: int = 380) -> FindingsPanel:
    made = FindingsPanel()
    qtbot.addWidget(made)
    made.resize(width, 900)
    if session is not None:
        made.model.set_findings(session.cases.findings)
    made.show()
    for _ in range(4):
        QApplication.processEvents()
    return made


@pytest.mark.parametrize("width", [320, 333, 380, 381, 440])
def test_the_chosen_finding_has_the_height_that_its_text_needs_and_the_others_one_line_each(
    qtbot: QtBot, harbour_session: Session, width: int
) -> None:
    made = panel(qtbot, harbour_session, width)
    assert made.model.rowCount() > 10
    wrapped = Qt.TextFlag.TextWordWrap
    for row in range(made.model.rowCount()):
        finding = made.model.findings[row]
        made.list.setCurrentIndex(made.model.index(row))
        QApplication.processEvents()
        heights = {made.list.visualRect(made.model.index(other)).height() for other in range(row)}
        assert len(heights) <= 1
        item = made.list.visualRect(made.model.index(row))
        room = QRect(0, 0, item.width() - 5 - 12, 10_000)
        says = QFontMetrics(theme.font(10.0)).boundingRect(room, wrapped, finding.says).height()
        do = QFontMetrics(theme.font(9.0)).boundingRect(room, wrapped, finding.do).height()
        assert item.height() >= says + do + 4, finding.says


def test_the_panel_can_be_narrow_and_its_buttons_then_stand_one_under_the_other(
    qtbot: QtBot, harbour_session: Session
) -> None:
    made = panel(qtbot, harbour_session)
    bar = made.findChildren(YieldingBar)[0]
    assert not bar.stacked
    made.resize(160, 500)
    QApplication.processEvents()
    assert (made.width(), bar.stacked) == (160, True)
    shown = [button for button in made.buttons.values() if not button.isHidden()]
    assert len(shown) == 2  # closing stands in the place of marking as intended
    for button in shown:
        text = button.fontMetrics().horizontalAdvance(button.text())
        assert button.width() > text
        assert bar.rect().contains(button.geometry())
    made.resize(420, 500)
    QApplication.processEvents()
    assert not bar.stacked


def test_an_empty_list_says_so(qtbot: QtBot, harbour_session: Session) -> None:
    made = panel(qtbot, None)
    ground = theme.FIELD.name()

    def inked() -> int:
        image = made.list.viewport().grab().toImage()
        return sum(
            image.pixelColor(x, y).name() != ground for x in range(10, 200, 2) for y in range(8, 40, 2)
        )

    assert inked() > 20
    made.model.set_findings(harbour_session.cases.findings)
    made.model.set_findings([])
    QApplication.processEvents()
    assert inked() > 20


def test_choosing_a_finding_from_elsewhere_is_a_click_on_it(qtbot: QtBot, harbour_session: Session) -> None:
    made = panel(qtbot, harbour_session)
    third = harbour_session.cases.findings[2]
    with qtbot.waitSignal(made.chosen) as chosen:
        made.choose(third)
    assert chosen.args == [third] and made.current() == third
    with qtbot.waitSignal(made.chosen):  # again, although it is chosen already
        made.choose(third)
    made.model.set_findings(harbour_session.cases.findings[:1])
    with qtbot.assertNotEmitted(made.chosen):
        made.choose(third)  # one that is gone


def test_what_to_do_is_read_aloud_after_the_sentence(qtbot: QtBot, harbour_session: Session) -> None:
    made = panel(qtbot, harbour_session)
    index = made.model.index(0)
    assert index.data(Qt.ItemDataRole.DisplayRole) == harbour_session.cases.findings[0].says
    assert index.data(Qt.ItemDataRole.AccessibleDescriptionRole) == harbour_session.cases.findings[0].do


def test_nothing_is_said_to_be_found_while_nothing_is_open(qtbot: QtBot) -> None:
    made = panel(qtbot, None)
    assert made.list.said_empty() == NOTHING_OPEN
    assert made.list.accessibleDescription() == NOTHING_OPEN


def test_an_empty_list_says_what_it_is_empty_of(qtbot: QtBot, harbour_session: Session) -> None:
    made = panel(qtbot, None)
    made.show_session(harbour_session)
    assert made.list.said_empty() == "" == made.list.accessibleDescription()
    harbour_session.hold_against(Reference(Against.BEFORE))
    made.show_session(harbour_session)
    assert made.model.rowCount() == 0
    assert made.list.said_empty() == NOT_THE_MASTER == made.list.accessibleDescription()
    made.show_searching(True)
    assert made.list.said_empty() == NOT_THE_MASTER  # what is looked for then is nothing
    made.show_searching(False)
    harbour_session.hold_against(Reference())
    made.show_session(harbour_session)
    assert made.model.rowCount() > 10 and made.list.said_empty() == ""


def test_none_yet_is_not_none(qtbot: QtBot, harbour_session: Session) -> None:
    made = panel(qtbot, None)
    harbour_session.cases.take_findings([])
    made.show_session(harbour_session)
    made.show_searching(True)
    assert made.list.said_empty() == STILL_LOOKING
    made.show_searching(False)
    assert made.list.said_empty() == NOTHING_FOUND


def lines_of(text: str, width: float, points: float = 10.0) -> list[str]:
    """A text as it is broken into lines."""
    layout = QTextLayout(text, theme.font(points))
    option = QTextOption()
    option.setWrapMode(QTextOption.WrapMode.WordWrap)
    layout.setTextOption(option)
    layout.beginLayout()
    lines = []
    while (line := layout.createLine()).isValid():
        line.setLineWidth(width)
        lines.append(text[line.textStart() : line.textStart() + line.textLength()].strip())
    layout.endLayout()
    return lines


@pytest.mark.parametrize("width", range(110, 400, 7))
def test_a_path_stays_on_one_line_where_it_fits(width: int) -> None:
    text = "The links of nets in HB_130 differ from the master: -/set/nets, +/set/long-quay/nets and no more."
    face = theme.font(10.0)
    for path in ("-/set/nets,", "+/set/long-quay/nets"):
        assert QFontMetrics(face).horizontalAdvance(path) < 128
    shown = with_whole_paths(text, face, width)
    assert shown.replace("\u2060", "") == text
    lines = [line.replace("\u2060", "") for line in lines_of(shown, width)]
    assert any("-/set/nets," in line for line in lines)
    if width >= 128:
        assert any("+/set/long-quay/nets" in line for line in lines)


def test_a_path_that_fits_no_line_is_broken_and_not_cut() -> None:
    text = "hidden: /set/quay/nets/of/the/old/boat/that/lies/at/the/end"
    face = theme.font(10.0)
    assert all(QFontMetrics(face).horizontalAdvance(line) <= 120 for line in lines_of(text, 120))
    assert with_whole_paths(text, face, 120) == text
    assert with_whole_paths("no path at all", face, 120) == "no path at all"


@pytest.mark.parametrize("width", [160, 240, 333, 380])
def test_what_is_painted_holds_paths_together_and_what_is_copied_is_plain(
    qtbot: QtBot, harbour_session: Session, width: int
) -> None:
    path = "/set/quay/nets"
    finding: Finding = replace(
        harbour_session.cases.findings[0],
        says=f"It hides what the master lights, which is {path} here.",
        do=f"Link {path}.",
    )
    made = FindingsPanel()
    qtbot.addWidget(made)
    made.resize(width, 500)
    made.model.set_findings([finding])
    made.show()
    index = made.model.index(0)
    made.list.setCurrentIndex(index)
    QApplication.processEvents()
    roles = Qt.ItemDataRole
    for role in (roles.DisplayRole, roles.AccessibleDescriptionRole, roles.ToolTipRole):
        assert "\u2060" not in index.data(role)
    room = made.list.visualRect(index)
    text_width = room.width() - 5 - 12
    needed = sum(
        QFontMetrics(theme.font(points))
        .boundingRect(
            0,
            0,
            text_width,
            10_000,
            Qt.TextFlag.TextWordWrap,
            with_whole_paths(text, theme.font(points), text_width),
        )
        .height()
        for text, points in ((finding.says, 10.0), (finding.do, 9.0))
    )
    assert room.height() >= needed + 4


def without_cells(window: MainWindow, shot: str, parameter: str = "camera.moves") -> Finding:
    """A finding about something in a shot that is no cell, in the window's list."""
    assert window.session is not None
    finding = replace(
        window.session.cases.findings[0],
        says=f"The camera of {shot} moves.",
        shots=(shot,),
        parameters=(parameter,),
        cells=(),
        explained=(),
        rests_on=(),
        cases=(),
    )
    window.session.cases.take_findings([finding, *window.session.cases.findings], looked=True)
    window.findings.show_session(window.session)
    return next(one for one in window.session.cases.findings if one.says == finding.says)


@pytest.mark.parametrize("command", ["intend", "return", "withdraw"])
def test_the_keys_for_deciding_act_on_no_other_shot_than_that_of_a_finding_without_cells(
    qtbot: QtBot, window: MainWindow, command: str
) -> None:
    assert window.session is not None
    window.select("HB_050", "lights.sun.direction")
    window.findings.choose(without_cells(window, "HB_110"))
    assert there(opened(window).views.cell_name())[0] == "HB_110"
    said: list[str] = []
    opened(window).decider.said.connect(said.append)
    press(qtbot, window, command)
    assert said == ["This finding has no cells to decide on: The camera of HB_110 moves."]
    opened(window).work.renew()  # what is new on disk changes nothing about what is chosen
    press(qtbot, window, command)
    assert len(said) == 2 and not window.session.cases.judged().states


def test_a_finding_without_cells_of_a_hidden_shot_brings_it_back(qtbot: QtBot, window: MainWindow) -> None:
    window.select("HB_110", "lights.sun.direction")
    press(qtbot, window, "hide_shots")
    window.select("HB_050", "lights.sun.direction")
    window.findings.choose(without_cells(window, "HB_110"))
    assert there(opened(window).views.cell_name())[0] == "HB_110"


def test_what_a_finding_without_cells_names_is_selected(qtbot: QtBot, window: MainWindow) -> None:
    window.findings.choose(without_cells(window, "HB_110", "render.gi.samples"))
    assert opened(window).views.cell_name() == ("HB_110", "render.gi.samples")


def test_a_cell_that_is_pressed_after_a_finding_is_what_the_keys_act_on(
    qtbot: QtBot, window: MainWindow
) -> None:
    assert window.session is not None
    window.select("HB_050", "lights.sun.direction")
    window.findings.choose(without_cells(window, "HB_060"))
    place = opened(window).views.grid.currentIndex()
    qtbot.mouseClick(
        opened(window).views.grid.viewport(),
        Qt.MouseButton.LeftButton,
        pos=opened(window).views.grid.visualRect(place).center(),
    )
    answer_reason("as in dailies")
    press(qtbot, window, "intend")
    assert {decision.shot for decision in window.session.ledger.all()} == {"HB_060"}


@pytest.mark.parametrize("command", ["intend", "return"])
def test_the_keys_act_on_all_cells_of_a_chosen_finding(
    qtbot: QtBot, window: MainWindow, command: str
) -> None:
    assert window.session is not None
    press(qtbot, window, "next_finding")
    finding = window.findings.current()
    assert finding is not None and len(finding.cells) > 3
    answer_reason("as in dailies")
    press(qtbot, window, command)
    assert set(finding.cells) <= set(window.session.cases.judged().states)
    follows = window.session.cases.following().mask
    decided = {(decision.shot, decision.parameter) for decision in window.session.ledger.all()}
    assert set(window.session.table.places(decided)) == {cell for cell in finding.cells if not follows[cell]}
