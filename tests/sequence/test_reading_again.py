"""What changed in a sequence folder is read again, however small the change, and whatever stood in the way before."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from samelight.sequence.contents import SheetStore, read_contents
from samelight.sheets.errors import SheetError
from samelight.sheets.trees import read_text


def sheet_with(odd: object) -> dict[str, Any]:
    return {"lights": {"rim": {"type": "rect", "intensity": 2}}, "render": {"gi": {"odd": odd}}}


@pytest.fixture
def folder(make_sequence: MakeSequence) -> Path:
    return make_sequence(master=sheet_with(1), shots={"A": sheet_with(1), "B": sheet_with(1)})


@pytest.mark.parametrize("now", ["1.0", "true"])
@pytest.mark.parametrize("name", ["shots/A/A.v001.yaml", "master/master.v001.yaml"])
def test_a_value_that_is_equal_and_of_another_type_is_a_change(folder: Path, name: str, now: str) -> None:
    store = SheetStore(folder)
    was = read_contents(store)
    path = folder / name
    path.write_text(path.read_text(encoding="utf-8").replace("odd: 1", f"odd: {now}"), encoding="utf-8")
    assert read_contents(store) != was


def test_a_sheet_that_was_only_touched_is_none(folder: Path) -> None:
    store = SheetStore(folder)
    was = read_contents(store)
    path = was.sheets["A"].path
    path.write_bytes(path.read_bytes())
    os.utime(path, (1, 1))
    now = read_contents(store)
    assert now.sheets["A"] is not was.sheets["A"]
    assert now == was and hash(now) == hash(was)


def test_what_the_system_could_not_read_is_tried_again_though_the_file_is_the_same(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain, broken = os.open, folder / "shots/A/A.v001.yaml"

    def opened(path: Any, *how: Any, **more: Any) -> Any:
        if path == broken:
            raise OSError(5, "Input/output error")
        return plain(path, *how, **more)

    store = SheetStore(folder)
    with monkeypatch.context() as share:
        share.setattr(os, "open", opened)
        for _ in range(2):
            was = read_contents(store)
            assert set(was.sheets) == {"B"}
            assert ["Input/output error" in trouble.says for trouble in was.troubles] == [True]
    now = read_contents(store)
    assert set(now.sheets) == {"A", "B"} and not now.troubles
    assert read_contents(store).sheets["A"] is now.sheets["A"]


def test_a_file_that_somebody_may_read_now_is_read_again(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: 1\n", encoding="utf-8")
    store, said = SheetStore(tmp_path), ["no permission to read it"]

    def read() -> str:
        if said:
            raise SheetError([])  # as another process tells it, in which the system's own error stays behind
        return read_text(path)

    with pytest.raises(SheetError):
        _ = store.get(path, None, read).value
    said.clear()
    path.chmod(0o644 if path.stat().st_mode & 0o777 != 0o644 else 0o600)
    assert store.get(path, None, read).value == "a: 1\n"
