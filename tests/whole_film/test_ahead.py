"""Sheets read by several processes are those that one reads, with the same faults."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Generator, Iterator, Mapping
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from film_files import LONG_AGO, sheet_text, shot_file, write, write_film
from samelight.cli.main import main
from samelight.cli.workers import processes
from samelight.sequence import ahead, disk, prefetch, store
from samelight.sequence.contents import CancelledError, Contents, SheetStore, read_contents
from samelight.sequence.prefetch import Prefetch
from samelight.sequence.stored import SheetFile, Stored, read_stored

APP = Path(__file__).parents[2] / "app"
PATIENCE = 600
"""Seconds to wait for what ends by itself unless something is wrong."""


@pytest.fixture(autouse=True)
def few_are_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(prefetch, "FEWEST", 20)
    monkeypatch.setattr(ahead, "CHUNK", 4)


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "cache_folder", lambda: tmp_path / "cache")


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """A film in which some sheets are at fault and one is missing."""
    film = write_film(tmp_path / "film")
    write(shot_file(film, 3), sheet_text("F_003", 64).replace("lights:", "lighst:").replace("cm}", "cn}"))
    write(shot_file(film, 4), sheet_text("F_004", 64).replace("{texture", "[texture"))
    write(shot_file(film, 5), sheet_text("F_999", 64))
    write(shot_file(film, 6), "")
    shot_file(film, 7).unlink()
    shot_file(film, 8).write_bytes(b"notes: \xff\n")
    return film


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The files that were read here as sheets."""
    found: list[Path] = []

    def noting(path: Path, way: Any, read: Callable[[], Any]) -> Stored[Any]:
        if isinstance(way, SheetFile):
            found.append(path)
        return read_stored(path, way, read)

    monkeypatch.setattr(store, "read_stored", noting)
    return found


def threads(count: int) -> Executor:
    return ThreadPoolExecutor(count)


def plain(tree: Any) -> Any:
    return {name: plain(below) for name, below in tree.items()} if isinstance(tree, Mapping) else tree


def as_said(read: Contents) -> list[object]:
    sheets = [*read.masters.values(), *read.sheets.values()]
    said = [(repr(sheet), repr(plain(sheet.sections)), repr(plain(sheet.typed))) for sheet in sheets]
    return [said, read.troubles, list(read.masters), list(read.sheets), read.versions]


@pytest.mark.parametrize("jobs", [2, 3, 1000])
def test_what_is_read_ahead_is_what_is_read(film: Path, reads: list[Path], jobs: int) -> None:
    wanted = as_said(read_contents(SheetStore(film)))
    reads.clear()
    assert as_said(read_contents(SheetStore(film), prefetch=Prefetch(pool=threads, jobs=jobs))) == wanted
    assert reads == []


def test_what_others_read_is_whole_and_alike_groups_are_one(film: Path) -> None:
    found = read_contents(SheetStore(film), prefetch=Prefetch(pool=threads, jobs=3))
    trees = [tree for sheet in found.sheets.values() for tree in (sheet.typed, sheet.sections)]
    assert {type(tree) for tree in trees} == {dict}
    groups = [sheet.sections["lights"]["sun"] for sheet in found.sheets.values()]
    assert len({id(group) for group in groups}) < len(groups)


def test_processes_read_what_is_read(film: Path, reads: list[Path]) -> None:
    wanted = as_said(read_contents(SheetStore(film)))
    reads.clear()
    assert as_said(read_contents(SheetStore(film), prefetch=Prefetch(pool=processes, jobs=2))) == wanted
    assert reads == []


def test_a_check_says_the_same(film: Path, capfd: pytest.CaptureFixture[str]) -> None:
    said = []
    for jobs in ("1", "2"):
        status = main(["check", str(film), "--format", "json", "--all", "--jobs", jobs])
        said.append((status, *capfd.readouterr()))
        for file in disk.cache_folder().iterdir():
            file.unlink()
    assert said[0] == said[1]
    assert "film/shots/F_003/F_003.v001.yaml:8" in said[0][2]


@pytest.mark.parametrize("words", [["report", "--format", "csv"], ["plan"], ["fix"]])
def test_other_commands_take_jobs(film: Path, capfd: pytest.CaptureFixture[str], words: list[str]) -> None:
    command, *more = words
    said = [
        (main([command, str(film), *more, "--jobs", jobs]), capfd.readouterr().out) for jobs in ("1", "2")
    ]
    assert said[0] == said[1]


def test_what_was_kept_is_not_read_ahead(film: Path) -> None:
    found = read_contents(SheetStore(film))
    assert found.store.save(found.disk, found.all_sheets)

    def never(count: int) -> Executor:
        raise AssertionError("a few files are no reason to start processes")

    read_contents(SheetStore(film), prefetch=Prefetch(pool=never, jobs=2))


def test_a_file_that_changed_after_it_was_read_ahead_is_read_again(film: Path, reads: list[Path]) -> None:
    changed = shot_file(film, 30)

    class Late(ThreadPoolExecutor):
        def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
            super().shutdown(wait, cancel_futures=cancel_futures)
            write(changed, sheet_text("F_030", 128), LONG_AGO)

    found = read_contents(SheetStore(film), prefetch=Prefetch(pool=Late, jobs=2))
    assert reads == [changed]
    assert found.sheets["F_030"].value("lights", "sun", "samples") == 128.0


def test_progress_counts_every_file_once(film: Path) -> None:
    told: list[tuple[int, int]] = []
    read_contents(
        SheetStore(film),
        progress=lambda done, total, name: told.append((done, total)),
        prefetch=Prefetch(pool=threads, jobs=2),
    )
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert {total for _, total in told} == {71}
    assert told[-1] == (71, 71)
    assert len(told) <= 71 // ahead.CHUNK + 3


def test_it_can_be_stopped(film: Path) -> None:
    with pytest.raises(CancelledError):
        read_contents(SheetStore(film), cancelled=lambda: True, prefetch=Prefetch(pool=threads, jobs=2))


def test_where_it_is_stopped_its_processes_have_ended(film: Path) -> None:
    before = set(threading.enumerate())
    rules = read_contents(SheetStore(film)).rules
    files = [SheetFile(shot_file(film, number), f"F_{number:03d}", 1, rules) for number in range(40)]
    reading = ahead.read_ahead(files, pool=processes, jobs=2)
    next(reading)
    assert isinstance(reading, Generator)
    reading.close()
    assert set(threading.enumerate()) == before


class _Fake(Executor):
    """Does the work at once or, from some chunk on, as if its process had died."""

    def __init__(self, dies_at: int = 10**9) -> None:
        self.dies_at = dies_at
        self.sent = 0
        self.out: list[Future[Any]] = []
        self.most = 0

    def submit(self, work: Callable[..., Any], /, *args: Any, **more: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.sent += 1
        self.out.append(future)
        self.most = max(self.most, sum(not one.done() for one in self.out))
        if self.sent >= self.dies_at:
            future.set_exception(BrokenProcessPool("gone"))
        else:
            self.late(future, work, args)
        return future

    def late(self, future: Future[Any], work: Callable[..., Any], args: tuple[Any, ...]) -> None:
        future.set_result(work(*args))


class _Slow(_Fake):
    """Does one thing at a time, when it is waited for."""

    def late(self, future: Future[Any], work: Callable[..., Any], args: tuple[Any, ...]) -> None:
        self.waiting = [*getattr(self, "waiting", []), (future, work, args)]

    def work(self) -> None:
        if self.waiting:
            future, work, args = self.waiting.pop(0)
            future.set_result(work(*args))


@pytest.mark.parametrize("dies_at", [1, 2, 9])
def test_what_a_process_that_died_did_not_read_is_read_here(
    film: Path, reads: list[Path], dies_at: int
) -> None:
    wanted = as_said(read_contents(SheetStore(film)))
    reads.clear()
    fake = _Fake(dies_at)

    @contextmanager
    def pool(count: int) -> Iterator[Executor]:
        yield fake

    assert as_said(read_contents(SheetStore(film), prefetch=Prefetch(pool=pool, jobs=2))) == wanted
    assert 0 < len(reads) <= 71 - ahead.CHUNK * (dies_at - 4)


@pytest.mark.parametrize("why", [OSError("No space left on device"), ImportError("no semaphores")])
def test_where_there_can_be_no_processes_all_is_read_here(film: Path, why: Exception) -> None:
    def pool(count: int) -> AbstractContextManager[Executor]:
        raise why

    wanted = as_said(read_contents(SheetStore(film)))
    assert as_said(read_contents(SheetStore(film), prefetch=Prefetch(pool=pool, jobs=2))) == wanted


def test_only_a_few_chunks_are_on_their_way(film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    slow = _Slow()

    @contextmanager
    def pool(count: int) -> Iterator[Executor]:
        yield slow

    monkeypatch.setattr(ahead, "_LOOK", 0.0)
    rules = read_contents(SheetStore(film)).rules
    files = [SheetFile(shot_file(film, number), f"F_{number:03d}", 1, rules) for number in range(40)]
    for _ in ahead.read_ahead(files, pool=pool, jobs=3, look=slow.work):
        pass
    assert 4 <= slow.sent < 40 // ahead.CHUNK
    assert slow.most == 4


def test_nothing_waits_for_a_process_that_has_not_started(film: Path) -> None:
    """What no other process has taken is read here meanwhile, and each file once."""
    rules = read_contents(SheetStore(film)).rules
    files = [SheetFile(shot_file(film, number), f"F_{number:03d}", 1, rules) for number in range(40)]
    starting = _Slow()
    asked: list[int] = []

    @contextmanager
    def pool(count: int) -> Iterator[Executor]:
        asked.append(count)
        yield starting

    came: list[Path] = []
    through = 0

    def start_late() -> None:
        if through >= 40 - 2 * ahead.CHUNK:  # all but what the process that is still starting has taken
            starting.work()

    for count, sheets in ahead.read_ahead(files, pool=pool, jobs=2, look=start_late):
        through += count
        came += [sheet.path for sheet in sheets]
    assert through == 40
    assert asked == [1]
    assert starting.sent == 2
    assert sorted(came) == [file.path for file in files if file.path.exists()]


STOPPED = """
import sys, time
from samelight.sequence import prefetch, ahead
from samelight.cli.main import main
prefetch.FEWEST, ahead.CHUNK = 20, 1
read_ahead = ahead.read_ahead
def telling(*asked, look, **more):
    for chunk in read_ahead(*asked, look=told if at == "starting" else look, **more):
        told()
        yield chunk
def told():
    time.sleep(0.15)  # processes are then in the midst of their imports
    print(at, flush=True)
    time.sleep(600)
prefetch.read_ahead = telling
if __name__ == "__main__":
    at = sys.argv.pop(1)
    sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(os.name != "posix", reason="interrupts a group of processes as a POSIX terminal does")
@pytest.mark.parametrize("at", ["starting", "reading"])
@pytest.mark.parametrize("by", ["Ctrl+C", "kill"])
def test_whatever_ends_it_leaves_nothing_behind(film: Path, tmp_path: Path, at: str, by: str) -> None:
    script = tmp_path / "stopped.py"
    script.write_text(STOPPED, encoding="utf-8")
    with subprocess.Popen(
        [sys.executable, str(script), at, "check", str(film), "--jobs", "2"],
        env={**os.environ, "PYTHONPATH": str(APP)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    ) as program:
        assert program.stdout is not None
        try:
            assert program.stdout.readline() == f"{at}\n".encode()
            if by == "kill":
                program.kill()
            else:
                os.killpg(program.pid, signal.SIGINT)
            # All of its processes have its stderr, which ends with the last of them. One that ended and that nobody
            # has asked for yet may stay in the table of processes for long.
            _, said = program.communicate(timeout=PATIENCE)
        finally:
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(program.pid, signal.SIGKILL)
    if by == "Ctrl+C":
        assert program.returncode == 130
        assert said == b"samelight: stopped\n"
