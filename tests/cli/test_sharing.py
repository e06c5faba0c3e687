"""Sequences shared out to processes: the same words as here, whoever ends meanwhile."""

from __future__ import annotations

import pickle
import shutil
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from samelight.cli import workers
from samelight.cli.main import main

SAMPLES = Path(__file__).parents[2] / "sample_sequences"

Streams = pytest.CaptureFixture[str]


@pytest.fixture
def town(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Three small sequences, of which one cannot be opened; the production is named by a path that is not whole."""
    for name in ("first_steps", "mole"):
        shutil.copytree(SAMPLES / name, tmp_path / "town" / name)
    shutil.copytree(SAMPLES / "first_steps", tmp_path / "town/broken")
    (tmp_path / "town/broken/sequence.yaml").write_text("cutt: []\n")
    monkeypatch.chdir(tmp_path)
    return Path("town")


def said(capsys: Streams, *words: str) -> tuple[int, str, str]:
    status = main(list(words))
    streams = capsys.readouterr()
    return status, streams.out, streams.err


def in_this_process(jobs: int, work: Callable[[Any], Any], tasks: Sequence[Any]) -> Iterator[Any]:
    """What the first task comes to; whoever had the second was lost."""
    for index, task in enumerate(tasks):
        yield None if index == 1 else work(pickle.loads(pickle.dumps(task)))


@pytest.mark.parametrize("form", ["text", "json", "junit"])
def test_what_others_say_is_what_is_said_here(
    town: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch, form: str
) -> None:
    words = ["check", str(town), "--format", form]
    alone = said(capsys, *words)
    monkeypatch.setattr(workers, "shared_out", in_this_process)
    assert said(capsys, *words, "--jobs", "2") == alone
    assert alone[0] == 2 and "samelight: broken: town/broken/sequence.yaml:1:" in alone[2]


def test_processes_say_the_same(town: Path, capsys: Streams) -> None:
    words = ["check", str(town), "--format", "json"]
    assert said(capsys, *words, "--jobs", "2") == said(capsys, *words)
