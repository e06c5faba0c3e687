from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from samelight.decisions.decision import Verb
from samelight.findings.finding import Finding
from samelight.gui.dialogs.deciding import ReasonDialog
from samelight.gui.findings.panel import FINDING_ROLE, FindingsModel
from samelight.gui.grid.model import GridModel, Role, Shown
from samelight.gui.state.grid_words import line_title
from samelight.gui.state.rows import GridState, Show
from samelight.sequence.session import Session


def test_the_grid_is_a_sound_model(harbour_session: Session, qtmodeltester: ModelTester) -> None:
    model = GridModel(GridState(harbour_session))
    qtmodeltester.check(model)
    model.set_expanded({group.name for group in model.state.groups})
    qtmodeltester.check(model)


@pytest.mark.parametrize("show", list(Show))
def test_the_grid_stays_sound_under_filters(
    harbour_session: Session, qtmodeltester: ModelTester, show: Show
) -> None:
    model = GridModel(GridState(harbour_session))
    model.set_filter(show, "sun")
    qtmodeltester.check(model)
    model.set_filter(show, "no row is called this")
    qtmodeltester.check(model)
    assert model.rowCount() == 0


def test_the_findings_are_a_sound_model(qtmodeltester: ModelTester) -> None:
    model = FindingsModel()
    qtmodeltester.check(model)
    model.set_findings([Finding("old-master", "HB_150 holds master 2.", ("HB_150",), ())])
    qtmodeltester.check(model)
    index = model.index(0)
    assert model.data(index) == "HB_150 holds master 2."
    assert model.data(index, FINDING_ROLE).shots == ("HB_150",)


def line_of(model: GridModel, title: str) -> int:
    return next(
        i for i, line in enumerate(model.state.listing.lines) if line_title(model.state, line) == title
    )


def test_a_group_shows_the_worst_drift_of_its_light(harbour_session: Session) -> None:
    model = GridModel(GridState(harbour_session))
    column = model.state.table.column("HB_060")
    assert column is not None
    index = model.index(line_of(model, "sun"), column)
    assert model.data(index) == "11.0°"
    row, _ = model.data(index, Role.CELL)
    assert model.state.table.rows[row].parameter == "lights.sun.direction"
    assert model.data(index, Role.SEVERITY) == pytest.approx(10.96 / 0.5, rel=1e-3)


def test_cells_say_drift_or_value_or_both(harbour_session: Session) -> None:
    model = GridModel(GridState(harbour_session))
    model.set_filter(Show.ALL, "gi.range")
    column = model.state.table.column("HB_120")
    assert column is not None
    index = model.index(1, column)
    said = []
    for shown in Shown:
        model.set_shown(shown)
        said.append(model.data(index))
    assert said == ["+9900 %", "350 m", "350 m  +9900 %"]


def test_the_shots_head_the_columns_in_cut_order(harbour_session: Session) -> None:
    model = GridModel(GridState(harbour_session))
    heads = [model.headerData(i, Qt.Orientation.Horizontal) for i in range(model.columnCount())]
    assert heads == list(harbour_session.contents.sequence.cut)


def test_a_decision_ends_with_no_master_that_is_past(qtbot: QtBot, harbour_session: Session) -> None:
    dialog = ReasonDialog(harbour_session, Verb.INTEND, [], "lead")
    qtbot.addWidget(dialog)
    assert harbour_session.contents.master_version == 3
    assert dialog.until() is None and dialog.until_box.text() == "no end"
    dialog.until_box.stepUp()
    assert dialog.until() == 3
    dialog.until_box.setValue(1)
    assert dialog.until() is None
