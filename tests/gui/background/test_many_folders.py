"""One watcher over many sequences: what it tells, also where events never pause."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import watchfiles
from pytestqt.qtbot import QtBot

from samelight.gui.background import many_folders
from samelight.gui.background.many_folders import ManyFolders


def test_all_are_looked_at_now_and_then_and_what_came_back_is_watched(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, away = tmp_path / "here", tmp_path / "away"
    here.mkdir()
    watcher = ManyFolders({"here": here, "away": away})
    told: list[frozenset[str]] = []
    watched: list[list[str]] = []
    watcher.touched.connect(told.append)

    def busy(*folders: str, stop_event: Any, **_: object) -> Iterator[set[tuple[watchfiles.Change, str]]]:
        watched.append([Path(folder).name for folder in folders])
        yield {(watchfiles.Change.added, str(here.resolve() / "frame.exr"))}
        monkeypatch.setattr(many_folders, "LOOK_EVERY", 0)
        away.mkdir(exist_ok=True)
        if len(watched) > 1:
            stop_event.set()
        yield {(watchfiles.Change.added, str(here.resolve() / "frame.exr"))}
        stop_event.set()
        yield set()

    monkeypatch.setattr(watchfiles, "watch", busy)
    watcher.run()
    assert told[:2] == [{"here"}, {"here", "away"}]
    assert watched == [["here"], ["here", "away"]]
