"""The overview of a production: a row a sequence, and the way in and back."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from samelight.cli.main import main
from samelight.gui.state import production_rows
from samelight.gui.state.production_rows import RowReader, SequenceRow
from samelight.gui.window import production_reading, production_window
from samelight.gui.window.production_model import ROW_ROLE, Column, ProductionModel
from samelight.gui.window.production_window import ProductionWindow
from samelight.sequence.session import open_session
from samelight.sheets.production import Production, read_production

SAMPLES = Path(__file__).parents[2] / "sample_sequences"


@pytest.fixture
def town(tmp_path: Path) -> Production:
    """Two small sequences and one that cannot be opened, listed in story order."""
    for name in ("first_steps", "mole"):
        shutil.copytree(SAMPLES / name, tmp_path / name)
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "sequence.yaml").write_text("cutt: []\n")
    (tmp_path / "production.yaml").write_text("title: A town\nsequences: [mole, broken, first_steps]\n")
    return read_production(tmp_path)


@pytest.fixture
def window(town: Production, qtbot: QtBot) -> ProductionWindow:
    overview = ProductionWindow(town)
    qtbot.addWidget(overview)
    overview.show()
    all_read(overview, qtbot)
    return overview


def all_read(overview: ProductionWindow, qtbot: QtBot) -> None:
    def is_done() -> bool:
        return not (overview.background.busy or overview.reading.left())

    qtbot.waitUntil(is_done, timeout=300_000)


def listed(overview: ProductionWindow) -> list[str]:
    proxy = overview.listed
    return [proxy.index(row, 0).data(ROW_ROLE).name for row in range(proxy.rowCount())]


def row_named(overview: ProductionWindow, name: str) -> SequenceRow:
    return next(row for row in overview.model.rows if row.name == name)


def test_each_row_says_what_the_sequence_alone_says(town: Production) -> None:
    row, session = RowReader(town).read("mole"), open_session(town.folder / "mole")
    assert row.tally == session.cases.tally()
    assert row.held == "dawn v001, night v002"
    assert row.lighters == ("Ines", "Tomas")
    assert [bool(worst) for worst in row.strip] == [False, False, True, False, True, False, True, True]
    assert row.strip[2] == pytest.approx(5.926 / 0.5, rel=1e-3)
    assert row.hours is not None
    assert RowReader(town).read("first_steps").held == "v001"


def test_one_that_cannot_be_read_holds_up_no_other(window: ProductionWindow) -> None:
    assert listed(window) == ["mole", "broken", "first_steps"]
    broken = row_named(window, "broken")
    assert broken.tally is None
    assert "did you mean cut?" in broken.trouble
    place = window.listed.index(1, Column.HELD)
    assert "did you mean cut?" in place.data()
    assert "did you mean cut?" in place.data(Qt.ItemDataRole.ToolTipRole)
    whole = [row_named(window, name).tally for name in ("mole", "first_steps")]
    assert all(whole)
    undecided = sum(tally.undecided for tally in whole if tally is not None)
    assert f"2 sequences: {undecided} undecided" in window.said.text()
    assert "1 cannot be read" in window.said.text()


def test_rows_are_sorted_and_filtered(window: ProductionWindow) -> None:
    window.table.sortByColumn(Column.UNDECIDED, Qt.SortOrder.DescendingOrder)
    assert listed(window) == ["mole", "first_steps", "broken"]
    window.table.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
    assert listed(window) == ["mole", "broken", "first_steps"]
    window.filter_edit.setText("tomas")
    assert listed(window) == ["mole"]
    window.filter_edit.setText("nothing of that")
    assert listed(window) == []


def test_one_steps_in_and_comes_back_to_the_same_place(window: ProductionWindow, qtbot: QtBot) -> None:
    window.table.selectRow(2)
    window.open_action.trigger()
    inside = window.sequence_window
    assert inside is not None
    qtbot.waitUntil(lambda: inside.session is not None, timeout=300_000)
    assert inside.session is not None
    assert inside.session.contents.folder == window.production.sequences["first_steps"]
    before = row_named(window, "first_steps")
    window.come_back()
    all_read(window, qtbot)
    assert row_named(window, "first_steps") is not before
    assert window.table.currentIndex().data(ROW_ROLE).name == "first_steps"
    window.step_in("mole")
    assert window.sequence_window is inside
    qtbot.waitUntil(
        lambda: inside.session is not None and inside.session.contents.folder.name == "mole", timeout=300_000
    )
    assert window.close()
    assert not inside.isVisible()


def test_the_common_policy_goes_along_inside(town: Production, qtbot: QtBot) -> None:
    (town.folder / "production.yaml").write_text("sequences: [mole]\npolicy: common.yaml\n")
    (town.folder / "common.yaml").write_text("tolerances: {level: 9 st}\n")
    overview = ProductionWindow(read_production(town.folder))
    qtbot.addWidget(overview)
    all_read(overview, qtbot)
    overview.step_in("mole")
    inside = overview.sequence_window
    assert inside is not None
    qtbot.waitUntil(lambda: inside.session is not None, timeout=300_000)
    assert inside.session is not None
    assert inside.session.cases.tally() == row_named(overview, "mole").tally
    assert not row_named(overview, "mole").strip[7]  # whose fill is inside the common tolerance
    overview.close()


def test_it_reads_again_when_asked(window: ProductionWindow, qtbot: QtBot) -> None:
    sheet = window.production.folder / "mole/shots/ML_030/ML_030.v001.yaml"
    sheet.write_text(sheet.read_text().replace("azimuth: 118", "azimuth: 112"))
    window.read_action.trigger()
    all_read(window, qtbot)
    assert not row_named(window, "mole").strip[2]


def test_what_changed_since_a_saved_check(
    window: ProductionWindow,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = window.production.folder
    main(["check", str(folder), "--format", "json"])
    saved = tmp_path / "saved.json"
    saved.write_text(capsys.readouterr().out, encoding="utf-8")

    def said() -> list[str]:
        return [window.model.index(row, Column.SINCE).data() for row in range(3)]

    window.compare_with(saved)
    assert said() == ["as it was", "", "as it was"]
    data = json.loads(saved.read_text(encoding="utf-8"))
    cells = data["sequences"][0]["result"]["cells"]
    gone = next(cell for cell in cells if cell["parameter"] == "lights.sun.direction")
    cells.remove(gone)
    saved.write_text(json.dumps(data), encoding="utf-8")
    window.compare_with(saved)
    assert said() == ["1 new", "", "as it was"]
    tip = window.model.index(0, Column.SINCE).data(Qt.ItemDataRole.ToolTipRole)
    assert tip == "mole, since saved.json: 1 new"
    told: list[str] = []
    monkeypatch.setattr(production_window, "warn", lambda *words: told.append(words[-1]))
    saved.write_text("[]", encoding="utf-8")
    window.compare_with(saved)
    assert "expected a check of a production" in told[0]
    assert said() == ["1 new", "", "as it was"]


def test_another_process_opens_some_where_many_are_to_be_opened(
    town: Production, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(production_reading, "AT_ONCE", 0)
    monkeypatch.setattr(production_rows, "kept_summary", lambda *_: None)
    elsewhere: list[str] = []
    real = RowReader.read_elsewhere

    def noting(reader: RowReader, name: str) -> SequenceRow:
        elsewhere.append(name)
        return real(reader, name)

    monkeypatch.setattr(RowReader, "read_elsewhere", noting)
    overview = ProductionWindow(town)
    overview.watcher.stop()  # it would have them read again on a machine that is slow enough
    qtbot.addWidget(overview)
    all_read(overview, qtbot)
    assert elsewhere == ["broken"]
    assert "did you mean cut?" in row_named(overview, "broken").trouble
    mole = row_named(overview, "mole").tally
    assert mole == open_session(town.folder / "mole").cases.tally()
    assert RowReader(town).read_elsewhere("mole").tally == mole
    assert overview.close()


def test_mended_cases_wait_for_a_look(town: Production) -> None:
    folder = town.sequences["mole"]
    words = [str(folder), "return", "ML_030", "lights.sun.direction"]
    assert main(["decide", *words, "--who", "ada", "--reason", "off the master"]) == 0
    sheet = folder / "shots/ML_030/ML_030.v001.yaml"
    sheet.write_text(sheet.read_text().replace("azimuth: 118", "azimuth: 112"))
    row = RowReader(town).read("mole")
    assert row.mended == 1
    assert ProductionModel([row]).index(0, Column.MENDED).data() == "1"


def test_what_goes_through_all_sequences_stands_below(window: ProductionWindow) -> None:
    said = [window.over_film.lines.item(row).text() for row in range(window.over_film.lines.count())]
    assert said[0].startswith("lights.sun is not one over mole/dawn, first_steps: direction, level")
    assert window.over_film.isVisible()
    assert window.over_film.head.text().startswith(
        f"Over the film: {len(said)} things to look at. Suns are for"
    )
    window.over_film.show_lines([])
    assert not window.over_film.isVisible()


def test_a_change_in_any_folder_reads_that_sequence_again(window: ProductionWindow, qtbot: QtBot) -> None:
    folders = window.production.sequences
    sheet = folders["mole"] / "shots/ML_030/ML_030.v001.yaml"
    assert window.watcher.names([str(sheet.resolve()), "/elsewhere/shots/a.yaml"]) == {"mole"}
    read: list[str] = []
    window.watcher.touched.connect(lambda names: read.extend(sorted(names)))
    other = row_named(window, "first_steps")
    sheet.write_text(sheet.read_text().replace("azimuth: 118", "azimuth: 112"))
    qtbot.waitUntil(lambda: not row_named(window, "mole").strip[2], timeout=300_000)
    assert "mole" in read
    if "first_steps" not in read:
        assert row_named(window, "first_steps") is other


def test_a_share_that_goes_is_told_in_its_rows_and_comes_back(
    window: ProductionWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    folder, away = window.production.folder, tmp_path.with_name(f"{tmp_path.name}-away")
    before = [row.tally for row in window.model.rows]
    folder.rename(away)
    window.read_action.trigger()

    def all_gone() -> bool:
        return all(row.trouble.startswith("cannot be read: ") for row in window.model.rows)

    qtbot.waitUntil(lambda: all_gone() and "3 cannot be read" in window.said.text(), timeout=300_000)
    assert not folder.exists()
    away.rename(folder)
    window.read_action.trigger()
    qtbot.waitUntil(lambda: [row.tally for row in window.model.rows] == before, timeout=300_000)


def test_the_rows_are_a_sound_model(town: Production, qtmodeltester: ModelTester) -> None:
    model = ProductionModel([RowReader(town).read("mole")])
    qtmodeltester.check(model)
    index = model.index(0, Column.CUT)
    assert index.data(Qt.ItemDataRole.AccessibleTextRole) == "mole: 4 of 8 shots have something unsettled"


def test_the_title_of_the_window_is_one_line_that_ends_as_it_is_meant_to(
    town: Production, qtbot: QtBot
) -> None:
    overview = ProductionWindow(replace(town, title="[*]\u202enwot\n<b>" + "x" * 10_000, sequences={}))
    qtbot.addWidget(overview)
    overview.show()
    title = overview.windowHandle().title()
    assert title.startswith("[*]\ufffdnwot\ufffd<b>x")
    assert title.endswith("x… — Samelight")
    assert len(title) < 500


def test_a_sequence_in_which_something_happens_all_the_time_is_told(
    window: ProductionWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is being read when something happens again is shown, and then read once more."""
    put: list[str] = []
    take = window.model.put

    def noted(row: SequenceRow) -> None:
        put.append(row.name)
        take(row)

    monkeypatch.setattr(window.model, "put", noted)
    for _ in range(3):
        window.reading.touched(frozenset({"mole"}))
    all_read(window, qtbot)
    assert put == ["mole", "mole"]


def test_a_light_is_followed_over_the_film(window: ProductionWindow, qtbot: QtBot) -> None:
    """In story order, with the sequences marked; what it is said of the pointer's shot opens its sequence."""
    follower = window.follower
    qtbot.waitUntil(lambda: follower.box.findData("lights.sun") > 0)
    assert follower.isHidden()
    follower.box.setCurrentIndex(follower.box.findData("lights.sun"))
    follower.follow()
    qtbot.waitUntil(lambda: follower.plot.trace is not None)
    plot, trace = follower.plot, follower.plot.trace
    assert trace is not None and follower.isVisible()
    assert trace.starts == ((0, "mole"), (4, "first_steps"))
    azimuth = next(line for line in trace.lines if line.name == "azimuth")
    assert [round(value, 6) for value in azimuth.values.tolist()] == [112, 112, 118, 112, 95, 95, 95, 100]
    assert azimuth.said(2) == "azimuth 118°, master 112°" and azimuth.said(0) == "azimuth 112°"
    qtbot.mouseMove(plot, QPoint(round(plot.x_of(2)), 20))
    assert "mole/dawn/ML_030; azimuth 118°" in follower.said.text()
    qtbot.keyClick(plot, Qt.Key.Key_Right)
    assert plot.marked == 3 and "ML_040" in plot.accessibleDescription()
    picked: list[str] = []
    follower.picked.disconnect()
    follower.picked.connect(picked.append)
    qtbot.keyClick(plot, Qt.Key.Key_Return)
    qtbot.mouseClick(plot, Qt.MouseButton.RightButton, pos=QPoint(round(plot.x_of(0)), 20))
    qtbot.mouseClick(plot, Qt.MouseButton.LeftButton, pos=QPoint(round(plot.x_of(7)), 20))
    assert picked == ["mole", "first_steps"]
    follower.box.setCurrentIndex(0)
    follower.follow()
    assert follower.isHidden()


def test_what_is_followed_is_read_again_with_its_sequences(
    window: ProductionWindow, town: Production, qtbot: QtBot
) -> None:
    """The shot that was marked stays so; of a light that no shot has any more nothing is drawn."""
    follower = window.follower
    follower.box.setCurrentIndex(follower.box.findData("lights.sun"))
    follower.follow()
    qtbot.waitUntil(lambda: follower.plot.trace is not None)
    follower.plot.mark(2)
    path = max((town.sequences["mole"] / "shots/ML_030").glob("*.yaml"))
    path.write_text(path.read_text(encoding="utf-8").replace("118", "121"), encoding="utf-8")
    window.reading.read("mole")
    qtbot.waitUntil(lambda: "azimuth 121°" in follower.said.text())
    assert follower.plot.marked == 2 and "ML_030; azimuth 121°" in follower.plot.accessibleDescription()
    all_read(window, qtbot)
    follower.box.addItem("lights.none", "lights.none")
    follower.box.setCurrentIndex(follower.box.count() - 1)
    follower.follow()
    qtbot.waitUntil(lambda: "has lights.none" in follower.said.text())
    assert follower.plot.trace is None and "sun" not in follower.plot.accessibleName()
