"""Sequences shared out to processes and to a farm: the same words as here, whoever ends meanwhile."""

from __future__ import annotations

import os
import pickle
import shutil
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from samelight.cli import sharing
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


@contextmanager
def in_this_process(jobs: int, scheduler: str | None) -> Iterator[Any]:
    """A share that does the first task, and has lost whoever had the second."""

    def share(work: Callable[[Any], Any], tasks: Sequence[Any]) -> Iterator[Any]:
        for index, task in enumerate(tasks):
            yield None if index == 1 else work(pickle.loads(pickle.dumps(task)))

    yield share


@pytest.mark.parametrize("form", ["text", "json", "junit"])
def test_what_others_say_is_what_is_said_here(
    town: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch, form: str
) -> None:
    words = ["check", str(town), "--format", form]
    alone = said(capsys, *words)
    monkeypatch.setattr(sharing, "shared_out", in_this_process)
    assert said(capsys, *words, "--jobs", "2") == alone
    assert alone[0] == 2 and "samelight: broken: town/broken/sequence.yaml:1:" in alone[2]


def test_processes_say_the_same(town: Path, capsys: Streams) -> None:
    words = ["check", str(town), "--format", "json"]
    assert said(capsys, *words, "--jobs", "2") == said(capsys, *words)


def test_one_sequence_is_not_shared_out(town: Path, capsys: Streams) -> None:
    for command in ("check", "plan", "measure"):
        status, _, err = said(capsys, command, str(town / "mole"), "--scheduler", "tcp://127.0.0.1:1")
        assert status == 2 and "--scheduler goes with a production" in err


def test_a_farm_says_the_same_though_its_workers_end(
    town: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both workers are ended by the system once they have work; who comes after them, or this machine, does it. Workers that have
    another version of the program get none."""
    distributed = pytest.importorskip("distributed", reason="the extra 'farm' is not installed")
    words = ["check", str(town), "--format", "json"]
    alone = said(capsys, *words)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, protocol="tcp", host="127.0.0.1"
    ) as cluster:  # fmt: skip
        farm = ["--scheduler", cluster.scheduler_address]
        with monkeypatch.context() as patch:
            sharing.program_here.cache_clear()
            patch.setattr(sharing, "__version__", "another")
            status, _, err = said(capsys, *words, *farm)
        sharing.program_here.cache_clear()
        assert status == 2
        assert err.count("has another version of the program: nothing is given to it") == 2
        assert "expected workers, found none that has this version" in err

        waiting = [nanny.process.pid for nanny in cluster.workers.values()]
        ended: list[int] = []
        send = sharing.Farm.send

        def ending(farm: sharing.Farm, work: Any, task: Any, able: Any) -> Any:
            sent = send(farm, work, task, able)
            if waiting:
                ended.append(waiting.pop())
                os.kill(ended[-1], signal.SIGKILL)
            return sent

        monkeypatch.setattr(sharing.Farm, "send", ending)
        assert said(capsys, *words, *farm) == alone
        assert len(ended) == 2


def test_without_the_extra(town: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    status, _, err = said(capsys, "check", str(town), "--scheduler", "tcp://127.0.0.1:1")
    assert status == 2 and "samelight[farm]" in err
