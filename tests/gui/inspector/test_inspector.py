"""The inspector: a cell from every side, as a lighter reads it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QGuiApplication, QMouseEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.drift.words import number_text
from samelight.gui.inspector.inspector import Inspector
from samelight.gui.inspector.places import GoButton
from samelight.gui.inspector.version_plot import VersionPlot
from samelight.gui.paint import theme
from samelight.gui.state.cell_words import measured
from samelight.gui.state.rows import GridState, Line
from samelight.gui.widgets.page_parts import FittedLabel, TextBlock
from samelight.sequence.contents import Contents
from samelight.sequence.references import MASTER, Against, Reference
from samelight.sequence.saved_views import View
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Level

MakeSequence = Callable[..., Path]


@pytest.fixture
def inspector(qtbot: QtBot) -> Iterator[Inspector]:
    made = Inspector()
    qtbot.addWidget(made)
    made.resize(380, 700)
    made.show()
    yield made
    made.close()


def place(session: Session, shot: str, parameter: str) -> tuple[int, int]:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return row, column


def show(qtbot: QtBot, inspector: Inspector, session: Session, shot: str, parameter: str) -> str:
    """Show a cell, wait until its versions are there, and return all that is said."""
    state = GridState(session)
    row, column = place(session, shot, parameter)
    inspector.show_cell(state, Line(state.groups.of_row[row], row), column)
    qtbot.waitUntil(lambda: not inspector.versions.waiting)
    return inspector.page.toPlainText()


def shown(section: QWidget) -> bool:
    return not section.isHidden()


# One cell


def test_everything_is_said_of_a_sun_that_moved(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    said = show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    for part in (
        "HB_060\nlights.sun.direction",
        "11.0°",
        "break, undecided",
        "master v003  HB_060 v002",
        "compared  az 131.0° el 24.0°  az 143.0° el 24.0°",
        "azimuth: 131, elevation: 24  azimuth: 143 deg, elevation: 24 deg",
        "great-circle angle between the two unit vectors",
        "The sun stands 11° further south in HB_050 to HB_080",
        "0.5°",
        "The program's default for pattern lights.<distant>.direction; Harbour sets none",
        "Locked. One sun",
        "before: HB_050  11.0°",
        "after: HB_070  11.0°",
        "the same on both sides of this cut",
        "Versions of HB_060, compared with master v003",
        "v001: az 131.0° el 24.0°",
        "v002: az 143.0° el 24.0°, 11.0°",
        "published 2026-09-14, by lead, from HB_040 v003",
    ):
        assert part in said, part


def test_who_set_the_tolerance(qtbot: QtBot, inspector: Inspector, harbour_session: Session) -> None:
    own = show(qtbot, inspector, harbour_session, "HB_020", "lights.boat_lamp.level")
    assert "0.15 st" in own
    assert "Set by this sequence: pattern lights.boat_lamp.level in policy.yaml" in own
    by_kind = show(qtbot, inspector, harbour_session, "HB_110", "lights.rim.colour")
    assert "The program's default for every colour; Harbour sets none" in by_kind
    nobody = show(qtbot, inspector, harbour_session, "HB_130", "environments.dawn_sky.seen_by")
    assert "none: equal or not" in nobody


def test_a_level_is_shown_as_the_product_it_is(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    said = show(qtbot, inspector, harbour_session, "HB_190", "lights.sun.level")
    assert "master v003: 3.2 × 2^0 = 3.2" in said
    assert "HB_190 v001: 6.4 × 2^−1 = 3.2" in said


def test_a_jump_at_the_cut_is_said(qtbot: QtBot, inspector: Inspector, harbour_session: Session) -> None:
    said = show(qtbot, inspector, harbour_session, "HB_040", "lights.sun.direction")
    assert "jumps at this cut, 11.0°: more than the tolerance" in said
    # What is computed at a mark depends on where the mark is: from shot to shot it is no jump.
    assert "this cut" not in show(qtbot, inspector, harbour_session, "HB_180", "marks.face.level")


def test_the_ends_of_the_cut_have_one_neighbour(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    show(qtbot, inspector, harbour_session, "HB_010", "lights.sun.level")
    assert [button.text() for button in inspector.neighbours.buttons if shown(button)] == ["after: HB_020"]
    show(qtbot, inspector, harbour_session, "HB_240", "lights.sun.level")
    assert [button.text() for button in inspector.neighbours.buttons if shown(button)] == ["before: HB_230"]


def test_a_click_on_a_neighbour_asks_for_its_cell(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    row, column = place(harbour_session, "HB_070", "lights.sun.direction")
    with qtbot.waitSignal(inspector.picked) as picked:
        qtbot.mouseClick(inspector.neighbours.buttons[1], Qt.MouseButton.LeftButton)
    assert picked.args == [row, column]


def test_the_keyboard_alone_goes_to_a_neighbour_and_to_the_finding(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    inspector.activateWindow()
    inspector.page.setFocus()
    reached: list[QWidget] = []
    for _ in range(30):
        widget = QApplication.focusWidget()
        if widget is None or widget in reached:
            break
        reached.append(widget)
        qtbot.keyClick(widget, Qt.Key.Key_Tab)
    for control in (
        inspector.copy_button,
        inspector.findings.buttons[0],
        *inspector.neighbours.buttons,
        inspector.versions.plot,
        inspector.masters.plot,
    ):
        assert control in reached
    with qtbot.waitSignal(inspector.finding_asked) as asked:
        qtbot.keyClick(inspector.findings.buttons[0], Qt.Key.Key_Space)
    assert asked.args == [next(one for one in harbour_session.cases.findings if one.finding == "one-cause")]


def test_what_gets_the_focus_by_key_is_scrolled_into_view(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    inspector.resize(320, 240)
    show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    inspector.activateWindow()
    plot = inspector.masters.plot
    viewport = inspector.page.viewport()
    assert not viewport.rect().contains(plot.mapTo(viewport, plot.rect().center()))
    plot.setFocus(Qt.FocusReason.TabFocusReason)
    assert viewport.rect().contains(plot.mapTo(viewport, plot.rect().center()))


def test_decisions_say_whether_they_hold(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    cell = place(harbour_session, "HB_110", "lights.rim.colour")
    harbour_session.decide(Verb.RETURN, [cell], "ada", "too warm")
    harbour_session.decide(Verb.INTEND, [cell], "lead", "asked for in dailies")
    said = show(qtbot, inspector, harbour_session, "HB_110", "lights.rim.colour")
    first, second = said.index("lead  intended: asked for in dailies"), said.index("ada  sent back: too warm")
    assert first < second  # the newest first
    assert said.index("Holds.") < said.index("A later decision replaces it.")
    assert "drift, intended" in said
    harbour_session.decide(Verb.WITHDRAW, [cell], "lead")
    said = show(qtbot, inspector, harbour_session, "HB_110", "lights.rim.colour")
    assert said.count("Taken back.") == 2


def test_a_lapsed_decision_says_what_moved(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session, harbour_folder: Path
) -> None:
    cell = place(harbour_session, "HB_110", "lights.rim.colour")
    harbour_session.decide(Verb.INTEND, [cell], "lead", "asked for in dailies")
    path = harbour_folder / "shots" / "HB_110" / "HB_110.v002.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("4770 K", "4600 K"), encoding="utf-8")
    said = show(qtbot, inspector, open_session(harbour_folder), "HB_110", "lights.rim.colour")
    assert "Asks again: the shot had u′ 0.2139 v′ 0.4882." in said


def test_what_is_decided_meanwhile_does_not_move_the_page(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    inspector.resize(380, 300)
    show(qtbot, inspector, harbour_session, "HB_110", "lights.rim.colour")
    QApplication.processEvents()
    bar = inspector.page.verticalScrollBar()
    bar.setValue(60)
    cell = place(harbour_session, "HB_110", "lights.rim.colour")
    harbour_session.decide(Verb.INTEND, [cell], "lead", "asked for in dailies")
    assert "asked for in dailies" in show(qtbot, inspector, harbour_session, "HB_110", "lights.rim.colour")
    assert bar.value() == 60
    show(qtbot, inspector, harbour_session, "HB_120", "lights.rim.colour")
    assert bar.value() == 0  # another cell begins at its top


def test_the_whole_is_copied_as_text(qtbot: QtBot, inspector: Inspector, harbour_session: Session) -> None:
    said = show(qtbot, inspector, harbour_session, "HB_120", "render.gi.range")
    qtbot.mouseClick(inspector.copy_button, Qt.MouseButton.LeftButton)
    assert QGuiApplication.clipboard().text() == said
    assert "render.gi.range" in said and "+9900 %" in said


def test_a_target_is_shown_with_the_place_it_is_looked_at_from(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    said = show(qtbot, inspector, harbour_session, "HB_070", "lights.bounce.direction")
    assert "target: [0.3, 1.3, 0.1], position: [-2.1, 0.4, 1.6]" in said


# Computed rows


@pytest.mark.parametrize(
    "reference",
    [
        MASTER,
        Reference(Against.OLDER_MASTER, 2),
        Reference(Against.SHOT, shot="HB_090"),
        Reference(Against.BEFORE),
    ],
    ids=lambda reference: reference.text,
)
def test_the_inputs_of_a_computed_cell_lead_to_its_figure_whatever_it_is_compared_with(
    harbour_session: Session, reference: Reference
) -> None:
    harbour_session.hold_against(reference)
    table = harbour_session.table
    led = 0
    for index, row in enumerate(table.rows):
        if row.section != "marks" or not row.leaf.startswith("level"):
            continue
        for column in range(0, len(table.shots), 2):
            cell = table.cell(index, column)
            if not (isinstance(cell.master, Level) and isinstance(cell.value, Level)):
                continue
            if cell.grade is Grade.NONE:  # shown and not graded
                continue
            lines = measured(harbour_session, cell, row)
            own = next(line for line in lines if line.startswith("shot: "))
            held = next(line for line in lines if line.startswith("reference"))
            if not (own[-1].isdigit() and held[-1].isdigit()):
                continue  # one that is dark says so in words
            assert own.split()[-1] == number_text(cell.value.value), (cell.shot, row.parameter)
            assert held.split()[-1] == number_text(cell.master.value), (cell.shot, row.parameter)
            led += 1
    assert led > 30


def test_the_values_of_a_computed_row_name_the_sheets_of_that_shot(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    harbour_session.hold_against(Reference(Against.BEFORE))
    said = show(qtbot, inspector, harbour_session, "HB_180", "marks.face.level.window_fill")
    assert "HB_170 v001  HB_180 v002" in said
    assert "Versions of HB_180, compared with HB_170 v001" in said
    assert "as typed" not in said


# Versions


def hover(widget: QWidget, place: QPoint) -> None:
    """Move the mouse as the widget is told of it: where the pointer really is, others may decide meanwhile."""
    at = QPointF(place)
    QApplication.sendEvent(
        widget,
        QMouseEvent(
            QEvent.Type.MouseMove,
            at,
            QPointF(widget.mapToGlobal(place)),
            Qt.MouseButton.NoButton,
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
        ),
    )


def test_the_versions_are_plotted_and_read_out(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    part = inspector.versions
    inspector.page.ensureWidgetVisible(part.plot)
    assert part.said.text().startswith("v002: az 143.0° el 24.0°, 11.0°")
    axes = part.plot.axes_now()
    over = QPoint(round(axes.x(0)), part.plot.height() // 2)
    hover(part.plot, over)
    assert part.said.text().startswith("v001: az 131.0° el 24.0°; built on master v002")
    QApplication.sendEvent(part.plot, _leave())
    assert part.said.text().startswith("v002")
    qtbot.mouseClick(part.plot, Qt.MouseButton.LeftButton, pos=over)
    QApplication.sendEvent(part.plot, _leave())
    assert part.plot.marked == 0
    assert "who published it, and when, is not stated" in part.said.text()


def _leave() -> QEvent:
    return QEvent(QEvent.Type.Leave)


def test_a_click_on_a_master_says_who_published_it_and_when(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    show(qtbot, inspector, harbour_session, "HB_060", "lights.bounce.level")
    plot = inspector.masters.plot
    qtbot.mouseClick(plot, Qt.MouseButton.LeftButton, pos=QPoint(round(plot.axes_now().x(0)), 20))
    assert "published 2026-08-31, by lead, from HB_040 v001" in inspector.masters.said.text()
    qtbot.keyClick(plot, Qt.Key.Key_Right)
    assert "v002" in inspector.masters.said.text() and "−0.35 st" in inspector.masters.said.text()
    qtbot.keyClick(plot, Qt.Key.Key_Left)
    qtbot.keyClick(plot, Qt.Key.Key_Left)  # there is none before the first
    assert plot.marked == 0


def test_the_plot_has_the_master_in_its_band_and_the_drift_outside(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    show(qtbot, inspector, harbour_session, "HB_150", "lights.bounce.level")
    plot = inspector.masters.plot
    trace, axes = plot.trace, plot.axes_now()
    assert trace is not None
    assert axes.y(trace.high) < axes.y(trace.master) < axes.y(trace.low)
    assert axes.y(float(trace.values[0])) > axes.y(trace.low)  # half a stop under the master of today
    assert axes.room.top() <= axes.y(0.0) and axes.y(-0.5) <= axes.room.bottom()
    for version, value in zip(plot.versions, trace.values, strict=True):
        assert version.line in plot.accessibleDescription()
        colour = (
            plot.grab().toImage().pixelColor(round(axes.x(version.number - 1)), round(axes.y(float(value))))
        )
        drifts = version.grade >= Grade.DRIFT
        assert (colour.red() != colour.blue()) == drifts  # grey where it is the same


class Gate:
    """Holds up the reading of older sheets, as a share does that does not answer."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.open = threading.Event()
        self.asked = threading.Event()
        read = Contents.read_sheet

        def slow(contents: Contents, path: Path, shot: str, version: int) -> Sheet:
            self.asked.set()
            self.open.wait(240)
            return read(contents, path, shot, version)

        monkeypatch.setattr(Contents, "read_sheet", slow)


def test_a_slow_share_does_not_hold_up_the_window(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = Gate(monkeypatch)
    state = GridState(harbour_session)
    row, column = place(harbour_session, "HB_060", "lights.sun.direction")
    inspector.show_cell(state, Line(state.groups.of_row[row], row), column)
    assert inspector.versions.waiting
    # All that needs no older version is there, and soon it says that it reads.
    said, masters = inspector.page.toPlainText().split("Versions of the master")
    assert "11.0°" in said and "v001" not in said
    assert "v001: az 131.0° el 24.0°" in masters  # every master setup is in memory
    qtbot.waitUntil(lambda: "Reading older versions" in inspector.versions.plot.toolTip())
    assert "Reading older versions" in inspector.page.toPlainText()
    # Going on while it reads: only the last that was asked for is shown.
    row, column = place(harbour_session, "HB_070", "lights.bounce.position")
    inspector.show_cell(state, Line(state.groups.of_row[row], row), column)
    gate.open.set()
    qtbot.waitUntil(lambda: not inspector.versions.waiting)
    said = inspector.page.toPlainText()
    assert "Versions of HB_070" in said and "Versions of HB_060" not in said
    assert "v002: −2.13, 0.4, 1.6 m, 3.0 cm" in said


def test_a_window_can_go_while_a_share_hangs(
    qtbot: QtBot, harbour_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = Gate(monkeypatch)
    state = GridState(harbour_session)
    row, column = place(harbour_session, "HB_060", "lights.sun.direction")
    inspector = Inspector()
    inspector.show_cell(state, Line(state.groups.of_row[row], row), column)
    assert gate.asked.wait(240)
    inspector.close()
    inspector.deleteLater()
    del inspector
    QApplication.processEvents()
    gate.open.set()  # what comes now has nobody to tell
    for thread in threading.enumerate():
        if thread.name == "background":
            thread.join(240)
    QApplication.processEvents()


def test_what_cannot_be_read_says_why_and_is_read_again(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session, harbour_folder: Path
) -> None:
    path = harbour_folder / "shots" / "HB_060" / "HB_060.v001.yaml"
    whole = path.read_text(encoding="utf-8")
    path.write_text("samelight: 2\nlighst: {}\n", encoding="utf-8")
    said = show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    assert "v001: cannot be read: " in said and "did you mean lights" in said
    assert "v002: az 143.0° el 24.0°, 11.0°" in said
    assert shown(inspector.versions.again)
    path.write_text(whole, encoding="utf-8")
    qtbot.mouseClick(inspector.versions.again, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "v001: az 131.0°" in inspector.page.toPlainText())
    assert not shown(inspector.versions.again)


def test_a_share_that_fails_is_said(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(*_: object) -> Sheet:
        raise SheetError([Fault("HB_060.v001.yaml", "", "a file", "no such share")])

    monkeypatch.setattr(Contents, "read_sheet", gone)
    said = show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    assert "no such share" in said
    assert shown(inspector.versions.again)


def test_versions_as_columns_have_their_own_words(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    harbour_session.hold_against(Reference(Against.VERSIONS, 2, "HB_060"))
    said = show(qtbot, inspector, harbour_session, "v001", "lights.sun.direction")
    assert "Versions beside it" in said
    assert "Versions of HB_060, compared with HB_060 v002" in said
    assert inspector.versions.plot.versions[inspector.versions.plot.marked].name == "v001"


# When there is no cell to show


def test_nothing_chosen_says_what_to_do(inspector: Inspector) -> None:
    inspector.clear()
    assert inspector.page.toPlainText().startswith("Choose a cell to see where its figure comes from.")
    assert inspector.copy_button.isHidden()


def test_a_groups_row_lists_what_differs_and_each_goes_there(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    state = GridState(harbour_session)
    row, column = place(harbour_session, "HB_180", "lights.window_fill.position")
    inspector.show_cell(state, Line(state.groups.of_row[row]), column)
    said = inspector.page.toPlainText()
    assert "2 of 11 rows differ from the reference." in said
    assert "position  60.0 cm" in said and "drift, undecided" in said
    button = next(b for b in inspector.places.buttons if b.text() == "position")
    with qtbot.waitSignal(inspector.picked) as picked:
        qtbot.keyClick(button, Qt.Key.Key_Space)
    assert picked.args == [row, column]
    inspector.show_cell(state, Line(state.groups.of_row[row]), 0)
    assert "Nothing drifts here: all 11 rows match the reference." in inspector.page.toPlainText()


def test_an_unreadable_shot_says_where_its_faults_are_and_what_older_versions_held(
    qtbot: QtBot, inspector: Inspector, harbour_folder: Path
) -> None:
    path = harbour_folder / "shots" / "HB_060" / "HB_060.v002.yaml"
    path.write_text("samelight: 2\nlighst: {}\n", encoding="utf-8")
    session = open_session(harbour_folder)
    said = show(qtbot, inspector, session, "HB_060", "lights.sun.direction")
    assert "This shot has no readable sheet." in said
    assert "HB_060.v002.yaml:2:1" in said and "did you mean lights" in said
    assert "before: HB_050" in said
    assert "v001: az 131.0° el 24.0°" in said
    neighbour = show(qtbot, inspector, session, "HB_050", "lights.sun.direction")
    assert "its sheet cannot be read" in neighbour
    state = GridState(session)
    row, column = place(session, "HB_060", "lights.sun.direction")
    inspector.show_cell(state, Line(state.groups.of_row[row]), column)
    assert "did you mean lights" in inspector.page.toPlainText()


def test_several_cells_say_how_many_their_range_and_what_they_share(
    inspector: Inspector, harbour_session: Session
) -> None:
    state = GridState(harbour_session, View(expanded=("lights.sun",)))
    row, column = place(harbour_session, "HB_050", "lights.sun.direction")
    line = state.listing.line_of(row)
    assert line is not None
    inspector.show_selection(state, state.listing.lines[line], column, [(line, line, column, column + 5)])
    said = inspector.page.toPlainText()
    assert "6 cells\n1 parameter in 6 shots" in said
    assert "4 break, 2 same" in said
    assert "lights.sun.direction  0.00° to 11.0°" in said
    assert "2 values: az 143.0° el 24.0° (4); az 131.0° el 24.0° (2)" in said
    inspector.show_selection(state, state.listing.lines[line], column, [(line, line, column, column + 3)])
    said = inspector.page.toPlainText()
    assert "4 break" in said and "all: az 143.0° el 24.0°" in said
    assert "The sun stands 11° further south in HB_050 to HB_080" in said


def test_several_cells_of_kinds_without_figures_count_what_differs(
    inspector: Inspector, harbour_session: Session
) -> None:
    state = GridState(harbour_session, View(expanded=("environments.dawn_sky",)))
    row, column = place(harbour_session, "HB_120", "environments.dawn_sky.seen_by")
    line = state.listing.line_of(row)
    assert line is not None
    inspector.show_selection(state, state.listing.lines[line], column, [(line, line, column, column + 2)])
    assert "environments.dawn_sky.seen_by  2 of 3 differ" in inspector.page.toPlainText()


def test_one_cell_chosen_is_the_cell_itself(inspector: Inspector, harbour_session: Session) -> None:
    state = GridState(harbour_session, View(expanded=("lights.sun",)))
    row, column = place(harbour_session, "HB_050", "lights.sun.direction")
    line = state.listing.line_of(row)
    assert line is not None
    inspector.show_selection(state, state.listing.lines[line], column, [(line, line, column, column)])
    assert "great-circle" in inspector.page.toPlainText()


# Room


def _texts(inspector: Inspector) -> list[QLabel | TextBlock | QAbstractButton | VersionPlot]:
    found: list[QLabel | TextBlock | QAbstractButton | VersionPlot] = [
        *inspector.findChildren(FittedLabel),
        *inspector.findChildren(TextBlock),
        *inspector.findChildren(GoButton),
        *inspector.findChildren(VersionPlot),
    ]
    return [part for part in found if part.isVisible()]


@pytest.mark.parametrize(
    "cell", [("HB_150", "lights.lantern_spot.colour"), ("HB_180", "marks.face.level.window_fill")]
)
@pytest.mark.parametrize("points", [1.0, 2.0])
def test_nothing_is_clipped_at_320_pixels(
    qtbot: QtBot,
    harbour_session: Session,
    monkeypatch: pytest.MonkeyPatch,
    cell: tuple[str, str],
    points: float,
) -> None:
    """Also with letters twice as large: everything lies in the page's width and has the height that it needs."""
    plain = theme.font
    monkeypatch.setattr(theme, "font", lambda size=10.0, *, bold=False: plain(size * points, bold=bold))
    inspector = Inspector()
    qtbot.addWidget(inspector)
    inspector.resize(320, 480)
    inspector.show()
    show(qtbot, inspector, harbour_session, *cell)
    for _ in range(5):
        QApplication.processEvents()
    page = inspector.page.widget()
    assert page is not None
    assert page.width() <= inspector.page.viewport().width()
    assert page.height() > inspector.page.viewport().height()  # it scrolls
    parts = _texts(inspector)
    assert len(parts) > 15
    rooms = [(part, QRect(part.mapTo(page, QPoint(0, 0)), part.size())) for part in parts]
    for index, (part, room) in enumerate(rooms):
        for other, taken in rooms[index + 1 :]:
            if part.isAncestorOf(other) or other.isAncestorOf(part):
                continue
            shared = room.intersected(taken)
            assert shared.width() < 2 or shared.height() < 2, (part, other)
    for part in parts:
        corner = part.mapTo(page, QPoint(0, 0))
        assert corner.x() >= 0 and corner.x() + part.width() <= page.width(), part
        if isinstance(part, TextBlock):
            assert part.height() >= part.document().size().height() - 1, part.toPlainText()
        elif part.hasHeightForWidth():
            assert part.height() >= part.heightForWidth(part.width()), part.accessibleName()


def test_what_is_too_long_is_elided_and_is_all_in_the_tooltip(
    qtbot: QtBot, inspector: Inspector, make_sequence: MakeSequence
) -> None:
    paths = [f"/set/quay/very_long_name_of_a_thing_{number:03d}" for number in range(60)]
    lamp = {"type": "sphere", "position": [0, 1, 0], "intensity": 1}
    session = open_session(
        make_sequence(
            master={"lights": {"lamp": {**lamp, "light_links": paths}}},
            shots={"QU_010": {"lights": {"lamp": {**lamp, "light_links": paths[:30]}}}},
        )
    )
    show(qtbot, inspector, session, "QU_010", "lights.lamp.light_links")
    label = inspector.values.cells[0][1]
    assert label.laid(label.width()).elided
    assert label.laid(label.width()).lines[-1].endswith("…")
    assert all(path in label.toolTip() for path in paths)
    assert label.text() == ", ".join(paths)  # what is read aloud and copied is whole


def test_every_control_has_a_tooltip_a_name_and_a_place_in_the_tab_order(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    show(qtbot, inspector, harbour_session, "HB_060", "lights.sun.direction")
    controls: list[QWidget] = [
        *inspector.findChildren(QAbstractButton),
        *inspector.findChildren(VersionPlot),
        *inspector.findChildren(TextBlock),
    ]
    assert len(controls) >= 12
    for control in controls:
        if control.isVisible():
            assert control.toolTip() and control.accessibleName(), control
            assert control.focusPolicy() & Qt.FocusPolicy.TabFocus, control


def test_the_face_as_it_is_lit_beside_the_masters(
    qtbot: QtBot, inspector: Inspector, harbour_session: Session
) -> None:
    said = show(qtbot, inspector, harbour_session, "HB_130", "subject.face.level")
    assert "face: left under the lights of master v003, right under those of HB_130" in said
    qtbot.waitUntil(lambda: len(inspector.figure.heads.pictures) == 2)
    left, right = inspector.figure.heads.pictures
    assert left.pixelColor(64, 64).lightness() > right.pixelColor(64, 64).lightness()
    kept = inspector.figure.heads.pictures
    show(qtbot, inspector, harbour_session, "HB_130", "lights.sun.level")
    assert inspector.figure.heads.pictures is kept  # the same head in the same shot is not made again
    assert "left under the lights" not in show(qtbot, inspector, harbour_session, "HB_130", "render.gi.range")
