"""What the window remembers."""

from __future__ import annotations

from gui_help import LEFT_BEHIND
from samelight.gui.widgets.settings import Settings


def test_tests_begin_with_what_a_lighter_left() -> None:
    settings = Settings()
    assert {key: settings.text(key) for key in LEFT_BEHIND} == LEFT_BEHIND


def test_a_user_who_left_nothing_begins_with_nothing(first_start: None) -> None:
    settings = Settings()
    assert {settings.text(key) for key in LEFT_BEHIND} == {""}
