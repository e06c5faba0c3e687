"""What stands behind another panel is made when somebody looks at it, and then shows what the others show."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from gui_help import opened, press
from samelight.gui.window.main_window import MainWindow
from samelight.gui.window.panels import Panels

BEHIND = ("sky", "cloud", "plan")
SHOT = "HB_120"


def made(panels: Panels) -> list[str]:
    return [name for name, dock in panels.docks.items() if dock.widget() is not None]


def shot_in(panels: Panels, name: str) -> str:
    """The shot that a panel shows the cursor in; of the plan, that it has one for it."""
    if name == "sky":
        assert panels.sky.state is not None and panels.sky.sky is not None
        return panels.sky.state.table.shots[panels.sky.column]
    if name == "cloud":
        assert panels.cloud.clouds
        return panels.cloud.plot.shot
    return next(shot.shot for shot in panels.plan.plan.shots if shot.shot == SHOT)


def test_an_opening_makes_no_panel_that_nobody_sees(own_window: MainWindow) -> None:
    assert made(own_window.panels) == ["findings", "inspector"]


@pytest.mark.parametrize("name", BEHIND)
def test_a_panel_that_comes_up_shows_what_is_open_and_where_the_cursor_is(
    qtbot: QtBot, own_window: MainWindow, name: str
) -> None:
    opened(own_window).views.go_to_shot(SHOT)
    press(qtbot, own_window, name)
    panels = own_window.panels
    qtbot.waitUntil(lambda: name in made(panels))
    assert made(panels) == [each for each in panels.docks if each in ("findings", "inspector", name)]
    assert shot_in(panels, name) == SHOT
