"""One view for all frames: what the config offers, what is chosen and remembered, and a config that cannot be used."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from gui_help import open_window
from ocio_configs import write_config
from samelight.gui.background.live import Live
from samelight.gui.review.review_window import ReviewWindow
from samelight.gui.widgets.view_box import ViewBox
from samelight.gui.window.colour_link import SRGB
from samelight.gui.window.main_window import MainWindow


@pytest.fixture(params=["!<ExponentTransform> {value: 2.2, direction: inverse}"])
def config(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A config that the environment names before a window is opened."""
    path = tmp_path / "colour/show.ocio"
    if request.param:
        write_config(path, request.param)
    monkeypatch.setenv("OCIO", str(path))
    return str(path)


@pytest.fixture
def opened(config: str, own_window: MainWindow, qtbot: QtBot) -> MainWindow:
    qtbot.waitUntil(lambda: own_window.colours.offered is not None or bool(own_window.colours.problem))
    return own_window


def contact_box(window: MainWindow) -> ViewBox:
    assert window.opened is not None
    return window.opened.work.contact.view_box


def test_the_views_of_the_config_are_offered_and_its_own_is_chosen(opened: MainWindow) -> None:
    box = contact_box(opened)
    assert box.texts == (SRGB, "Film, Desk", "Plain, Desk", "Film, Wall")
    assert [action.isChecked() for action in box.menu().actions()] == [False, True, False, False]
    assert (box.current, box.text(), box.isHidden()) == ("Film, Desk", "View: Film, Desk", False)


def test_what_is_chosen_holds_for_all_frames_and_is_remembered(opened: MainWindow, qtbot: QtBot) -> None:
    assert opened.session is not None and opened.opened is not None
    contact_box(opened).menu().actions()[3].trigger()
    through = opened.opened.work.contact.cache.through
    assert str(through.view) == "Film, Wall"
    assert opened.opened.views.grid.shots.strip.frames.through == through
    opened.review.open(opened.session)
    review = opened.review.window
    assert isinstance(review, ReviewWindow)
    qtbot.addWidget(review)
    assert review.pictures.frames.through == through
    assert review.bar.view_box.current == "Film, Wall"
    review.bar.view_box.chosen.emit(0)
    assert opened.opened.work.contact.cache.through.view is None
    assert contact_box(opened).current == SRGB
    opened.colours.show_session(opened.session)  # as on another day
    assert opened.colours.through.view is None
    review.bar.view_box.chosen.emit(2)
    opened.colours.show_session(opened.session)
    assert str(opened.colours.through.view) == "Plain, Desk"


@pytest.mark.parametrize("config", [""], indirect=True)
def test_a_config_that_is_not_there_is_said(opened: MainWindow, qtbot: QtBot) -> None:
    box = contact_box(opened)
    assert box.texts[0] == f"{SRGB}: the config cannot be used"
    assert "environment: OCIO: expected an OpenColorIO config that can be read, found show.ocio" in (
        opened.colours.problem
    )
    assert box.toolTip() and not box.isHidden()
    assert opened.colours.through.view is None
    shown, said = list[str](), "The colour config cannot be used: show.ocio: it is not there"
    opened.statusBar().clearMessage()
    opened.statusBar().messageChanged.connect(shown.append)
    opened.colours.look_again()
    qtbot.waitUntil(lambda: said in shown)
    assert opened.statusBar().fontMetrics().horizontalAdvance(said) < 1280 / 2


def test_without_a_config_there_is_nothing_to_choose(own_window: MainWindow) -> None:
    assert contact_box(own_window).isHidden()


def test_a_config_that_the_sequence_names_is_told_with_its_line(
    harbour_folder: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (harbour_folder / "sequence.yaml").read_text()
    (harbour_folder / "sequence.yaml").write_text(f"ocio: colour/gone.ocio\n{text}")
    window = open_window(qtbot, harbour_folder)
    qtbot.waitUntil(lambda: bool(window.colours.problem))
    assert "sequence.yaml:1:1: ocio: expected" in window.colours.problem
    window.close()


def test_a_config_that_is_edited_meanwhile_is_read_anew(
    opened: MainWindow, config: str, qtbot: QtBot
) -> None:
    assert opened.session is not None
    before = opened.colours.through
    live, told = Live(opened.session), list[bool]()
    live.recoloured.connect(lambda: told.append(True))
    live.look(None)
    assert not told
    write_config(Path(config), "!<ExponentTransform> {value: 1.8, direction: inverse}")
    live.look(None)
    live.look(None)
    assert told == [True]
    opened.colours.look_again()
    qtbot.waitUntil(lambda: opened.colours.through != before)
    assert str(opened.colours.through.view) == str(before.view)
    Path(config).unlink()
    opened.colours.look_again()
    qtbot.waitUntil(lambda: bool(opened.colours.problem))
    assert opened.colours.through.view is None
    write_config(Path(config))
    opened.colours.look_again()
    qtbot.waitUntil(lambda: not opened.colours.problem)
    assert str(opened.colours.through.view) == str(before.view)
