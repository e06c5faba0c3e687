"""PySide6 reads no source of what is loaded after it, and a dialog is loaded when it is asked for."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType

import pytest

from samelight.gui.background.sources_unread import leave_sources_unread
from samelight.gui.dialogs import saving
from samelight.gui.window import handing_over


@pytest.mark.parametrize("unread", [False, True])
def test_a_module_is_loaded_without_its_source(
    unread: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []

    def reading(module: ModuleType) -> bool:
        read.append(module.__name__)
        return True

    switching = vars(sys.modules["shibokensupport.feature"])
    assert "_mod_uses_pyside" in switching
    monkeypatch.setitem(switching, "_mod_uses_pyside", reading)
    if unread:
        leave_sources_unread()
    path = tmp_path / f"loaded_after_qt_{unread}.py"
    path.write_text("from PySide6.QtCore import QObject\n", encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    module = __import__(path.stem)
    try:
        assert (path.stem in read) is not unread
        assert module.QObject().objectName() == ""
    finally:
        del sys.modules[path.stem]


def test_what_is_handed_over_is_loaded_when_it_is_asked_for() -> None:
    loaded = {
        getattr(value, "__module__", "")
        for module in (handing_over, saving)
        for value in vars(module).values()
    }
    assert "samelight.gui.widgets.settings" in loaded
    assert not {name for name in loaded if name.endswith(("_dialog", "_notes"))}
    assert not {name for name in loaded if name.startswith("samelight.reports.as_")}
