"""Damaged files of every kind end in a sentence or are read; a few each time, many with `--damaged 300`, which prints a table."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("resource", reason="this system does not measure its processes")

from damaged_files import BY_QT, KINDS, read_and_measure, try_all
from samelight.sources.trial import tried

FEW = 8
MOST_MEGABYTES = 300


@pytest.fixture(autouse=True)
def qt_where_it_reads(kind: str) -> None:
    """What only the window reads is left out where there is no Qt."""
    if kind in BY_QT:
        pytest.importorskip("PySide6")


@pytest.mark.parametrize("kind", KINDS)
def test_the_sound_files_are_read(kind: str, tmp_path: Path) -> None:
    make, limits = KINDS[kind]
    for path in make(tmp_path):
        assert tried(path, limits, read_and_measure, kind, path).sentence == ""


@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_is_a_sentence(
    kind: str, tmp_path: Path, pytestconfig: pytest.Config, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = pytestconfig.getoption("--damaged")
    tally = try_all(kind, tmp_path, asked or FEW)
    if asked:
        with capsys.disabled():
            print("", tally, *sorted(set(tally.deaths))[:5], sep="\n")  # noqa: T201
    assert not tally.unforeseen
    assert not tally.without_words
    assert tally.largest < MOST_MEGABYTES
