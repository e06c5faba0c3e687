"""The list of findings: read whole at any width, gone to from elsewhere, and never blank without a word."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from samelight.gui import theme
from samelight.gui.findings_panel import FindingsPanel
from samelight.gui.yielding_bar import YieldingBar
from samelight.session import Session


def panel(qtbot: QtBot, session: Session | None, width: int = 380) -> FindingsPanel:
    made = FindingsPanel()
    qtbot.addWidget(made)
    made.resize(width, 900)
    if session is not None:
        made.model.set_findings(session.findings)
    made.show()
    for _ in range(4):
        QApplication.processEvents()
    return made


@pytest.mark.parametrize("width", [320, 333, 380, 381, 440])
def test_every_finding_has_the_height_that_its_text_needs(
    qtbot: QtBot, harbour_session: Session, width: int
) -> None:
    made = panel(qtbot, harbour_session, width)
    assert made.model.rowCount() > 10
    wrapped = Qt.TextFlag.TextWordWrap
    for row in range(made.model.rowCount()):
        finding = made.model.findings[row]
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
    assert made.width() == 160
    assert bar.stacked
    for button in made.buttons.values():
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
    made.model.set_findings(harbour_session.findings)
    made.model.set_findings([])
    QApplication.processEvents()
    assert inked() > 20


def test_choosing_a_finding_from_elsewhere_is_a_click_on_it(qtbot: QtBot, harbour_session: Session) -> None:
    made = panel(qtbot, harbour_session)
    third = harbour_session.findings[2]
    with qtbot.waitSignal(made.chosen, timeout=2000) as chosen:
        made.choose(third)
    assert chosen.args == [third] and made.current() == third
    with qtbot.waitSignal(made.chosen, timeout=2000):  # again, although it is chosen already
        made.choose(third)
    made.model.set_findings(harbour_session.findings[:1])
    with qtbot.assertNotEmitted(made.chosen):
        made.choose(third)  # one that is gone


def test_what_to_do_is_read_aloud_after_the_sentence(qtbot: QtBot, harbour_session: Session) -> None:
    made = panel(qtbot, harbour_session)
    index = made.model.index(0)
    assert index.data(Qt.ItemDataRole.DisplayRole) == harbour_session.findings[0].says
    assert index.data(Qt.ItemDataRole.AccessibleDescriptionRole) == harbour_session.findings[0].do
