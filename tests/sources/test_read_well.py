"""Cuts are read in a child process once, and in place while they are the same; a cut that was the end of the program is not."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from samelight.sequence.session import open_session
from samelight.sheets.resources import sample_sequence
from samelight.sources import read_well
from samelight.sources.cut.cuts import read_cut
from samelight.sources.errors import CaptureError
from samelight.sources.limits import CUT
from samelight.sources.read_well import note_file, read_guarded
from samelight.sources.trial import tried

QUAY = sample_sequence("quay_usd") / "edit/quay.otio"


@pytest.fixture
def children(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[Path]:
    """The files that a child process was asked to read; what was noted before counts as nothing."""
    asked: list[Path] = []

    def counted(file: Path, *how: Any) -> Any:
        asked.append(file)
        return tried(file, *how)

    monkeypatch.setattr(read_well, "tried", counted)
    monkeypatch.setattr(read_well, "note_file", lambda: tmp_path / "cache/read_well.json")
    return asked


def read(path: Path) -> Any:
    return read_guarded(path, CUT, read_cut, path, 24.0)


def test_a_child_is_asked_once(children: list[Path], tmp_path: Path) -> None:
    path = tmp_path / "quay.otio"
    path.write_bytes(QUAY.read_bytes())
    assert read(path) == read(path) == read_cut(path)
    assert children == [path]
    path.write_bytes(QUAY.read_bytes() + b"\n")
    read(path)
    assert children == [path, path]


@pytest.mark.parametrize("note", [b"", b"[]", b"{", b'{"0.1.0": 3}', b'{"0.1.0": [3]}', b"[" * 100_000])
def test_a_note_that_makes_no_sense_is_none(children: list[Path], tmp_path: Path, note: bytes) -> None:
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache/read_well.json").write_bytes(note)
    read(QUAY)
    assert children == [QUAY]


def test_it_stays_short(children: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(read_well, "MOST", 2)
    for number in range(4):
        path = tmp_path / f"{number}.otio"
        path.write_bytes(QUAY.read_bytes() + b"\n" * number)
        read(path)
    (noted,) = json.loads((tmp_path / "cache/read_well.json").read_bytes()).values()
    assert len(noted) == 2


def test_the_note_lies_in_the_users_cache() -> None:
    assert note_file().name == "read_well.json"


def twice(text: str) -> str:
    return text.replace('"name"', '"name": "x", "name"', 1)


def nothing(text: str) -> str:
    return text.replace('"OTIO_SCHEMA": "Timeline.1"', '"OTIO_SCHEMA": "Timeline.1", "OTIO_SCHEMA": null', 1)


@pytest.mark.parametrize("damage", [twice, nothing])
def test_an_equal_key_twice(tmp_path: Path, damage: Callable[[str], str]) -> None:
    path = tmp_path / "quay.otio"
    path.write_text(damage(QUAY.read_text()))
    assert path.read_text() != QUAY.read_text()
    with pytest.raises(CaptureError, match="each key of an object once"):
        read_cut(path)


def test_a_sequence_with_such_a_cut_says_so(make_sequence: MakeSequence) -> None:
    folder = make_sequence(shots={"QU_010": {}}, sequence={"cut": "quay.otio"})
    (folder / "quay.otio").write_text(twice(QUAY.read_text()))
    says = [trouble.says for trouble in open_session(folder).troubles]
    assert any("quay.otio" in one and "each key of an object once" in one for one in says)
