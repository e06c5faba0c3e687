"""One truth for a team: what one writes reaches the window of another, and nothing that is shown is lost."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from functools import partial
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import watchfiles
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from shiboken6 import isValid

from gui_help import answer_reason, open_window, opened, press
from known import there
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import Subject, open_ledger
from samelight.decisions.state import State
from samelight.gui.background import live
from samelight.gui.background.watching import Watching
from samelight.gui.window.main_window import MainWindow
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import open_session
from samelight.sheets.resources import sample_sequence


def state_of(window: MainWindow, shot: str, parameter: str) -> State:
    assert window.session is not None
    row, column = window.session.table.row(parameter), window.session.table.column(shot)
    assert row is not None and column is not None
    return window.session.cases.state(row, column)


def drift_of(window: MainWindow, shot: str, parameter: str) -> float:
    assert window.session is not None
    row, column = window.session.table.row(parameter), window.session.table.column(shot)
    assert row is not None and column is not None
    return float(window.session.table.drift[row, column])


def sheet_of(folder: Path, shot: str) -> Path:
    return max((folder / "shots" / shot).glob("*.yaml"))


def test_two_windows_follow_each_others_decisions(qtbot: QtBot, harbour_folder: Path) -> None:
    ada, ben = open_window(qtbot, harbour_folder), open_window(qtbot, harbour_folder)
    ada.select("HB_110", "lights.rim.colour")
    answer_reason("asked for in dailies", "ada")
    press(qtbot, ada, "intend")
    qtbot.waitUntil(lambda: state_of(ben, "HB_110", "lights.rim.colour") is State.INTENDED)
    ben.select("HB_180", "lights.window_fill.position")
    answer_reason("put it back", "ben")
    press(qtbot, ben, "return")
    qtbot.waitUntil(lambda: state_of(ada, "HB_180", "lights.window_fill.position") is State.SENT_BACK)
    # An undo in one window is seen in the other, too.
    press(qtbot, ada, "undo")
    qtbot.waitUntil(lambda: state_of(ben, "HB_110", "lights.rim.colour") is State.UNDECIDED)
    ada.close()
    ben.close()


def test_a_folder_is_watched_no_more_once_what_watches_it_is_deleted(
    qapp: QApplication, harbour_folder: Path
) -> None:
    watching = Watching()
    watching.follow(open_session(harbour_folder))
    watcher = watching.live
    assert watcher is not None and watcher.isRunning()
    watching.deleteLater()
    QCoreApplication.sendPostedEvents(watching, QEvent.Type.DeferredDelete)  # Qt aborts where it runs on
    assert not isValid(watcher)


def test_a_new_version_of_a_shot_comes_up_where_the_eye_is(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    window.select("HB_120", "render.gi.range")
    opened(window).views.grid.horizontalScrollBar().setValue(200)
    expanded = opened(window).views.model.state.view.expanded
    assert drift_of(window, "HB_120", "render.gi.range") == pytest.approx(9900.0)
    old = sheet_of(harbour_folder, "HB_120")
    version = int(old.stem.rpartition(".v")[2])
    text = (
        old.read_text(encoding="utf-8")
        .replace("range: 350", "range: 3.5")
        .replace(f"version: {version}", f"version: {version + 1}")
    )
    new = old.with_name(f"HB_120.v{version + 1:03d}.yaml")
    new.write_text(text, encoding="utf-8")
    qtbot.waitUntil(lambda: drift_of(window, "HB_120", "render.gi.range") == 0.0)
    assert opened(window).views.model.state.view.expanded == expanded
    assert opened(window).views.grid.horizontalScrollBar().value() == 200
    current = opened(window).views.grid.current_line()
    assert current is not None
    assert (
        opened(window)
        .views.model.state.table.rows[opened(window).views.model.state.listing.row_at(*current)]
        .parameter
        == "render.gi.range"
    )
    assert ("HB_120", "render.gi.range") in window.watching.changed
    assert "HB_120" in window.statusBar().currentMessage()


@pytest.mark.usefixtures("patient")
def test_a_sheet_that_is_being_written_is_not_called_damaged(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    path = sheet_of(harbour_folder, "HB_120")
    whole = path.read_text(encoding="utf-8")
    seen: list[set[str]] = []
    assert window.watching.live is not None
    window.watching.live.changed.connect(
        lambda contents, _: seen.append(set(contents.versions) - set(contents.sheets))
    )
    path.write_text(whole[: len(whole) // 2] + "\n  [", encoding="utf-8")
    qtbot.wait(250)
    path.write_text(whole.replace("range: 350", "range: 3.5"), encoding="utf-8")
    qtbot.waitUntil(lambda: drift_of(window, "HB_120", "render.gi.range") == 0.0)
    assert all(not unreadable for unreadable in seen)


@pytest.fixture
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """However slow the machine is, a file is not given up before the test has written all of it."""
    monkeypatch.setattr(live, "_RETRIES", 1000)
    monkeypatch.setattr(live, "_FRESH", 600.0)


@pytest.mark.usefixtures("patient")
def test_a_master_that_is_being_written_takes_nothing_from_the_screen(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    session, newest = window.session, harbour_folder / "master/master.v004.yaml"
    assert session is not None and window.watching.live is not None
    text = (harbour_folder / "master/master.v003.yaml").read_text(encoding="utf-8")
    seen: list[int | None] = []
    window.watching.live.changed.connect(lambda contents, _: seen.append(contents.master_version))
    newest.write_text(text[: len(text) // 2] + "\n  [", encoding="utf-8")
    qtbot.wait(250)
    newest.write_text(text.replace("version: 3", "version: 4"), encoding="utf-8")
    qtbot.waitUntil(lambda: session.contents.master_version == 4 and bool(seen))
    assert set(seen) == {4}


@pytest.mark.usefixtures("patient")
def test_a_cut_that_is_being_written_moves_no_shot(qtbot: QtBot, tmp_path: Path) -> None:
    folder = tmp_path / "quay"
    shutil.copytree(sample_sequence("quay_usd"), folder)
    cut = folder / "edit/quay.otio"
    tree = json.loads(cut.read_text(encoding="utf-8"))
    tree["tracks"]["children"][0]["children"].reverse()
    cut.write_text(json.dumps(tree), encoding="utf-8")  # else in the order of names, as without a cut
    window = open_window(qtbot, folder)
    session = window.session
    assert session is not None and session.contents.cut is not None and window.watching.live is not None
    shots, text = session.contents.shots, cut.read_text(encoding="utf-8")
    assert shots != tuple(sorted(shots))
    seen: list[tuple[str, ...]] = []
    window.watching.live.changed.connect(lambda contents, _: seen.append(contents.shots))
    cut.write_text(text[: len(text) // 2], encoding="utf-8")
    qtbot.wait(250)
    tree["tracks"]["children"][0]["children"].pop()
    cut.write_text(json.dumps(tree), encoding="utf-8")
    qtbot.waitUntil(lambda: session.contents.shots == shots[:-1] and bool(seen))
    assert set(seen) == {shots[:-1]}
    window.close()


def test_a_folder_that_vanishes_and_comes_back(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    away = harbour_folder.with_name("away")
    harbour_folder.rename(away)
    qtbot.waitUntil(lambda: window.notice.text().startswith("Not up to date"))
    # What was read last stays on the screen.
    assert window.session is not None and len(window.session.contents.sheets) == 24
    shutil.move(str(away), str(harbour_folder))
    qtbot.waitUntil(lambda: not window.notice.text().startswith("Not up to date"))
    other = open_session(harbour_folder)
    row, column = other.table.row("lights.rim.colour"), other.table.column("HB_110")
    assert row is not None and column is not None
    other.decide(Verb.INTEND, [(row, column)], "ben", "meant")
    qtbot.waitUntil(lambda: state_of(window, "HB_110", "lights.rim.colour") is State.INTENDED)


def test_closing_the_window_ends_the_watching(qtbot: QtBot, harbour_folder: Path) -> None:
    window = open_window(qtbot, harbour_folder)
    live = window.watching.live
    assert live is not None and live.isRunning()
    window.close()
    assert not live.isRunning()


def test_where_events_tell_of_decisions_alone_nothing_else_is_read(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session, read = window.session, list[object]()
    assert session is not None

    def noting(store: SheetStore, *, only: frozenset[str] | None = None) -> Contents:
        read.append(only)
        return read_contents(store, only=only)

    monkeypatch.setattr(live, "read_contents", noting)
    known = len(session.ledger.all())
    others = open_ledger(harbour_folder)

    def come(count: int) -> bool:
        return len(session.ledger.all()) == known + count

    for number in range(3):
        others.decide(Verb.RETURN, [Subject("HB_060", "lights.sun.level", 1.0, 2.0)], "ben", f"no {number}")
        qtbot.waitUntil(partial(come, number + 1))
        if not number:
            read.clear()  # the folder of decisions was made
    assert frozenset() not in read  # all of it is, now and then


def test_events_are_of_the_ledger_where_they_are_of_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path)

    def of_ledger(*places: str, folder: Path = tmp_path) -> bool:
        return live.is_of_ledger(
            folder, {(watchfiles.Change.added, str(tmp_path / place)) for place in places}
        )

    assert of_ledger("decisions/a.yaml", "decisions/.b.tmp")
    assert of_ledger("decisions/a.yaml", folder=tmp_path / "link")
    for other in (
        "decisions",
        "decisions/in/a.yaml",
        "master/decisions",
        "sequence.yaml",
        "shots/decisions/a.yaml",
    ):
        assert not of_ledger("decisions/a.yaml", other)
    assert not of_ledger()


def test_events_name_the_shots_that_were_touched(tmp_path: Path) -> None:
    (tmp_path / "shots/HB_010").mkdir(parents=True)
    inside, beside = tmp_path / "shots/HB_010/HB_010.v001.yaml", tmp_path / "sequence.yaml"

    def touched(*paths: Path) -> AbstractSet[str] | None:
        return live.touched(tmp_path, {(watchfiles.Change.modified, str(path)) for path in paths})

    assert touched(inside) == {"HB_010"}
    assert touched(inside, tmp_path / "shots/HB_020") == {"HB_010", "HB_020"}
    assert touched(inside, beside) == {"HB_010"}
    for name in ("policy.yaml", "cut.edl", "master/master.v002.yaml", "decisions/2026.yaml", "frames/HB.exr"):
        assert touched(tmp_path / name) == frozenset()
    assert touched(tmp_path / "master") == touched(beside) == frozenset()
    assert touched(tmp_path / "shots") is touched(tmp_path) is touched() is None
    # Nobody can tell what lies in other folders, and in none of this one.
    (tmp_path / "library").mkdir()
    assert touched(tmp_path / "library") is touched(tmp_path / "library/HB_010.yaml") is None
    assert touched(inside, tmp_path.parent / "sequence.yaml") is None


@pytest.mark.parametrize(("rest", "looks"), [(0.0, 6), (10.0**6, 3)])
def test_where_no_event_comes_a_look_is_rested_from(
    harbour_folder: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, rest: float, looks: int
) -> None:
    watching = live.Live(open_session(harbour_folder))
    found: list[object] = []

    def watch(*given: object, **more: object) -> Iterator[set[tuple[watchfiles.Change, str]]]:
        event = (watchfiles.Change.modified, str(harbour_folder / "sequence.yaml"))
        yield from (set(), set(), {event}, set(), {event}, set())
        watching.stop()

    monkeypatch.setattr(watchfiles, "watch", watch)
    monkeypatch.setattr(live, "rest_after", lambda look: rest)
    monkeypatch.setattr(watching, "look", found.append)
    watching.run()
    assert len(found) == looks


def test_a_look_that_costs_much_is_rested_from_for_long() -> None:
    assert [live.rest_after(seconds) for seconds in (0.0, 0.03, 9.0)] == [0.0, 18.0, live.LONGEST_REST]


class Clock:
    """A clock that goes on only as it is told, in the place of the module `time`."""

    def __init__(self) -> None:
        self.now = self.worked = 0.0

    def monotonic(self) -> float:
        return self.now

    def thread_time(self) -> float:
        return self.worked


HOUR = 3600.0


@pytest.mark.parametrize("gives_watches", [True, False])
@pytest.mark.parametrize(("look", "of_ledger"), [(0.002, 0.0005), (0.03, 0.002), (0.3, 0.02)])
def test_a_film_that_nobody_works_on_costs_less_than_half_a_per_cent_of_a_processor(
    harbour_folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
    look: float,
    of_ledger: float,
    gives_watches: bool,
) -> None:
    clock, looks = Clock(), list[float]()
    monkeypatch.setattr(live, "time", clock)
    watching = live.Live(open_session(harbour_folder))

    def waited(seconds: float) -> bool:
        clock.now += seconds
        if clock.now > HOUR:
            watching._stop.set()  # noqa: SLF001 - the hour is over
        return watching._stop.is_set()  # noqa: SLF001

    def watch(*given: object, **more: object) -> Iterator[set[tuple[watchfiles.Change, str]]]:
        if not gives_watches:
            raise OSError
        while not waited(live.LOOK_EVERY / 1000):
            yield set()

    def looked(touched: object = None) -> None:
        looks.append(clock.now)
        clock.worked += look

    def asked(*, thoroughly: bool, touched: object) -> bool:
        clock.worked += of_ledger
        return False

    monkeypatch.setattr(watchfiles, "watch", watch)
    monkeypatch.setattr(watching, "look", looked)
    monkeypatch.setattr(watching, "_ledger", SimpleNamespace(look=asked, folder=harbour_folder / "decisions"))
    monkeypatch.setattr(watching._stop, "wait", waited)  # noqa: SLF001 - nothing here takes any time
    watching.run()
    assert clock.worked < 0.005 * HOUR
    rests = [after - before for before, after in pairwise(looks)]
    assert max(rests) <= max(live.LOOK_EVERY / 1000, live.rest_after(look)) + 2 * live.LOOK_EVERY / 1000


def test_what_events_tell_of_is_looked_at_before_everything_is(
    harbour_folder: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    """However long ago that was."""
    clock, found = Clock(), list[object]()
    monkeypatch.setattr(live, "time", clock)
    watching = live.Live(open_session(harbour_folder))
    path = sheet_of(harbour_folder, "HB_120")

    def watch(*given: object, **more: object) -> Iterator[set[tuple[watchfiles.Change, str]]]:
        yield set()
        clock.now += HOUR
        yield {(watchfiles.Change.modified, str(path))}
        watching.stop()

    monkeypatch.setattr(watchfiles, "watch", watch)
    monkeypatch.setattr(watching, "look", lambda touched=None: found.append(touched))
    watching.run()
    assert found == [None, {"HB_120"}, None]


def test_of_many_decisions_the_file_system_is_asked_little(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a share that takes 2 ms for an answer, asking for every step of every way would hold up what was decided."""
    (tmp_path / "decisions").mkdir()
    asked: list[object] = []
    plainly = os.lstat

    def counting(path: Any, **more: Any) -> os.stat_result:
        asked.append(path)
        return plainly(path, **more)

    monkeypatch.setattr(os, "lstat", counting)
    counts = []
    for number in (2, 400):
        asked.clear()
        names = [tmp_path / f"decisions/{name}.yaml" for name in range(number)]
        assert live.touched(tmp_path, {(watchfiles.Change.added, str(name)) for name in names}) == frozenset()
        counts.append(len(asked))
    assert 0 < counts[0] == counts[1]


def test_of_very_many_events_the_shots_are_not_looked_for(tmp_path: Path) -> None:
    (tmp_path / "shots/HB_010").mkdir(parents=True)
    events = {(watchfiles.Change.added, str(tmp_path / f"shots/HB_010/{name}")) for name in range(5000)}
    assert live.touched(tmp_path, events) is None


def test_a_folder_that_is_opened_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "film/shots/HB_010").mkdir(parents=True)
    (tmp_path / "link").symlink_to(tmp_path / "film")
    for place in ("link", "film"):
        event = (watchfiles.Change.added, str(tmp_path / place / "shots/HB_010/HB_010.v001.yaml"))
        assert there(live.touched(tmp_path / "link", {event})) == {"HB_010"}


def test_a_link_within_the_folder_is_looked_for_everywhere(tmp_path: Path) -> None:
    (tmp_path / "shots").mkdir()
    (tmp_path / "frames").mkdir()
    (tmp_path / "shots/HB_010").symlink_to(tmp_path / "frames")
    (tmp_path / "sequence.yaml").symlink_to(tmp_path / "shots/HB_020.yaml")
    for place in ("shots/HB_010/HB_010.v001.yaml", "sequence.yaml"):
        assert live.touched(tmp_path, {(watchfiles.Change.added, str(tmp_path / place))}) is None


def test_events_without_a_pause_hide_nothing(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "touched", lambda folder, events: frozenset() if events else None)
    monkeypatch.setattr(live, "rest_after", lambda look: 0.5)
    path = sheet_of(harbour_folder, "HB_120")
    text = path.read_text(encoding="utf-8")

    def drift_is(expected: float) -> bool:
        (harbour_folder / "render.log").write_text(str(time.monotonic()), encoding="utf-8")
        return drift_of(window, "HB_120", "render.gi.range") == pytest.approx(expected)

    for length, drift in (("3.5", 0.0), ("7", 100.0)):
        path.write_text(text.replace("range: 350", f"range: {length}"), encoding="utf-8")
        qtbot.waitUntil(partial(drift_is, drift))


def test_a_shot_behind_a_link_is_looked_for_everywhere(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "film/shots").mkdir(parents=True)
    (tmp_path / "film/shots/HB_010").symlink_to(tmp_path / "elsewhere")
    event = (watchfiles.Change.added, str(tmp_path / "film/shots/HB_010/HB_010.v001.yaml"))
    assert live.touched(tmp_path / "film", {event}) is None


def test_any_version_is_followed_while_a_shot_is_compared_with_its_own(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    first, session = min((harbour_folder / "shots/HB_120").glob("*.yaml")), window.session
    assert session is not None
    window.reference_link.hold_against(Reference(Against.VERSIONS, 2, "HB_120"))
    assert session.table.shots == ("v001", "v002")
    good = first.read_text(encoding="utf-8")

    def held_are(shots: tuple[str, ...]) -> bool:
        return session.table.shots == shots

    for text, shots in (("lights: [", ("v002",)), (good, ("v001", "v002"))):
        first.write_text(text, encoding="utf-8")
        qtbot.waitUntil(partial(held_are, shots))


def test_a_decision_that_was_read_while_it_was_being_copied_is_read_again(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path, tmp_path: Path
) -> None:
    assert window.session is not None
    row, column = window.session.table.row("lights.rim.colour"), window.session.table.column("HB_110")
    assert row is not None and column is not None
    subjects = window.session.cases.subjects([(row, column)])
    made = open_ledger(tmp_path / "elsewhere").decide(Verb.INTEND, subjects, "ben", "meant")[0]
    text = (tmp_path / f"elsewhere/decisions/{made.id}.yaml").read_text(encoding="utf-8")
    copy = harbour_folder / f"decisions/{made.id}.yaml"
    copy.parent.mkdir(exist_ok=True)
    copy.write_text(text[:20], encoding="utf-8")
    qtbot.waitUntil(lambda: "Decision skipped" in window.notice.toolTip())
    copy.write_text(text, encoding="utf-8")
    qtbot.waitUntil(lambda: state_of(window, "HB_110", "lights.rim.colour") is State.INTENDED)
    assert "Decision skipped" not in window.notice.toolTip()


def test_a_folder_of_decisions_that_cannot_be_read_is_said(
    window: MainWindow, qtbot: QtBot, harbour_folder: Path
) -> None:
    (harbour_folder / "decisions").write_text("no folder", encoding="utf-8")
    qtbot.waitUntil(lambda: "Decisions cannot be read" in window.notice.toolTip())
    (harbour_folder / "decisions").unlink()
    qtbot.waitUntil(lambda: "Decisions cannot be read" not in window.notice.toolTip())
