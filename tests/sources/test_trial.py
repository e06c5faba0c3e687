"""Reading in a child process: results and errors come back, and whatever becomes of the child is a sentence."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace

import pytest

import trial_work
from samelight.sheets.errors import SheetError
from samelight.sources import trial
from samelight.sources.errors import CaptureError
from samelight.sources.limits import Limits
from samelight.sources.trial import TooLongError, tried

FILE = Path("quay.usdc")
MODEST = Limits(256 * 2**20, 60)
POSIX = pytest.mark.skipif(os.name != "posix", reason="this system has no such limits")


@pytest.fixture(scope="module", autouse=True)
def _children() -> Iterator[None]:
    trial.end_children()
    yield
    trial.end_children()


def refused(work: object, *args: object, limits: Limits = MODEST) -> str:
    with pytest.raises(CaptureError) as caught:
        tried(FILE, limits, work, *args)  # type: ignore[arg-type]
    assert caught.value.fault.file == str(FILE)
    return caught.value.fault.found


def test_it_is_done_elsewhere_and_one_child_does_one_file_after_another() -> None:
    first, second = (tried(FILE, MODEST, trial_work.which) for _ in range(2))
    assert first == second != os.getpid()


def test_a_child_goes_where_its_parent_went(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    first = tried(FILE, MODEST, trial_work.which)
    assert tried(FILE, MODEST, os.getcwd) == str(gone)
    monkeypatch.chdir(tmp_path)
    gone.rmdir()
    assert tried(FILE, MODEST, os.getcwd) == str(tmp_path)
    assert tried(FILE, MODEST, trial_work.which) == first


@POSIX
def test_where_the_folder_is_gone_no_child_looks_elsewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "gone"
    tried(FILE, MODEST, trial_work.which)
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    with pytest.raises(
        CaptureError, match="expected a folder to read it from, found that the current folder is no more"
    ):
        tried(FILE, MODEST, trial_work.which)


def test_several_at_a_time_have_a_child_each() -> None:
    with ThreadPoolExecutor(2) as pool:
        slow = [pool.submit(tried, FILE, MODEST, trial_work.which) for _ in range(8)]
        assert 1 <= len({one.result() for one in slow}) <= 2


@POSIX
def test_a_reader_that_dies() -> None:
    assert "takes its reader down (SIGSEGV)" in refused(trial_work.die)
    assert tried(FILE, MODEST, trial_work.speak) == "done"


def test_a_reader_that_ends_the_process() -> None:
    assert "takes its reader down" in refused(trial_work.leave)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="this system does not hold to it")
def test_a_reader_that_takes_all_memory() -> None:
    assert "more than 256 MiB of memory" in refused(trial_work.take, 2**31)
    assert tried(FILE, MODEST, trial_work.take, 2**20) == 2**20
    assert tried(FILE, Limits(2**30, 60), trial_work.take, 2**29) == 2**29


@POSIX
def test_a_reader_that_never_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trial, "_WAITING", 1000)
    with pytest.raises(TooLongError, match="more than 1 s of a processor"):
        tried(FILE, Limits(MODEST.memory, 1), trial_work.work_on)


def test_a_reader_that_waits_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    tried(FILE, MODEST, trial_work.which)
    monkeypatch.setattr(trial, "_STANDSTILL", 1)
    assert "nothing happens for 1 s" in refused(trial_work.wait_on)


def test_a_child_that_ended_meanwhile_is_replaced() -> None:
    first = tried(FILE, MODEST, trial_work.which)
    os.kill(first, signal.SIGTERM)
    assert tried(FILE, MODEST, trial_work.which) != first


def test_a_child_that_has_nothing_to_do_ends_and_nothing_of_it_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    trial.end_children()
    monkeypatch.setattr(trial, "KEPT", 0.0)
    held: list[set[str]] = []
    for _ in range(3):
        done = tried(FILE, MODEST, trial_work.which)
        if hasattr(os, "waitid"):
            ended = os.waitid(os.P_PID, done, os.WEXITED | os.WNOWAIT)
            assert ended is not None and ended.si_status == 0
        held.append(connections())
    first, second, third = held
    assert (second - first).isdisjoint(third)
    assert bool(second - first) is Path("/proc/self/fd").is_dir()


def connections() -> set[str]:
    """The pipes and sockets of this process, each by a name that no other has; none where the system does not tell."""
    found: set[str] = set()
    for path in Path("/proc/self/fd").glob("*"):
        with contextlib.suppress(OSError):  # that of the listing itself, and what others close meanwhile
            found.add(str(path.readlink()))
    return {name for name in found if name.startswith(("pipe:", "socket:"))}


def test_what_a_library_prints_goes_nowhere(capfd: pytest.CaptureFixture[str]) -> None:
    assert tried(FILE, MODEST, trial_work.speak) == "done"
    assert capfd.readouterr() == ("", "")


def test_errors_come_back_as_they_were() -> None:
    with pytest.raises(CaptureError) as one:
        tried(FILE, MODEST, trial_work.fail, "capture", FILE)
    assert str(one.value) == "quay.usdc:3:4: lights: expected a scene, found none (did you mean light?)"
    with pytest.raises(SheetError) as two:
        tried(FILE, MODEST, trial_work.fail, "sheet", FILE)
    assert [fault.line for fault in two.value.faults] == [7, None]
    with pytest.raises(ZeroDivisionError, match="so it goes"):
        tried(FILE, MODEST, trial_work.fail, "other", FILE)


def test_what_cannot_be_sent_is_an_error() -> None:
    with pytest.raises(RuntimeError, match="TypeError"):
        tried(FILE, MODEST, trial_work.something_that_cannot_be_sent)
    with pytest.raises(RuntimeError, match="OddError: this and that"):
        tried(FILE, MODEST, trial_work.odd)
    assert "more than 256 MiB of memory" in refused(trial_work.heavy)


def test_who_says_how_long_to_wait_waits_no_longer() -> None:
    assert "takes more than 0.2 s" in refused(trial_work.wait_on, limits=MODEST._replace(clock=0.2))


def test_a_child_that_ends_as_it_begins(monkeypatch: pytest.MonkeyPatch) -> None:
    trial.end_children()
    monkeypatch.setattr(trial, "_program", lambda: [sys.executable, "-S", "-c", "pass"])
    assert "ended as it began" in refused(trial_work.which)

    def none(*_: object, **__: object) -> None:
        raise BlockingIOError(11, "no more processes")

    monkeypatch.setattr("subprocess.Popen", none)
    assert refused(trial_work.which) == "that none can be started: no more processes"


def test_what_is_printed_before_a_child_is_ready_is_not_its_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    trial.end_children()
    *start, begin = trial._program()[: -len(sys.path)]  # noqa: SLF001 - there is no such site here
    noisy = [*start, f"print('set up\\nby the house', end='', flush=True); {begin}", *sys.path]
    monkeypatch.setattr(trial, "_program", lambda: noisy)
    assert tried(FILE, MODEST, trial_work.speak) == "done"
    trial.end_children()


def test_a_child_is_started_as_its_parent_was(monkeypatch: pytest.MonkeyPatch) -> None:
    flags = SimpleNamespace(ignore_environment=1, no_user_site=1, no_site=0, utf8_mode=1)
    held = SimpleNamespace(flags=flags, dont_write_bytecode=False, path=["here"], executable="python")
    monkeypatch.setattr(trial, "sys", held)
    program, *words = trial._program()  # noqa: SLF001 - what it does is the interpreter's
    assert (program, {*words} & {"-E", "-s", "-S", "-B", "-P", "-Xutf8"}, words[-1]) == (
        "python",
        {"-E", "-s", "-P", "-Xutf8"},
        "here",
    )


def test_a_packaged_program_is_its_own_child(monkeypatch: pytest.MonkeyPatch) -> None:
    trial.end_children()
    monkeypatch.setattr(sys, "frozen", True, raising=False)
    program, *words = trial._program()  # noqa: SLF001 - there is no such program here
    packaged = (
        "import runpy, sys; sys.frozen, sys.path[:], sys.argv[2:] = True, sys.argv[2:], []; "
        "runpy.run_module('samelight', run_name='__main__', alter_sys=True)"
    )
    started = [program, "-c", packaged, *words, *sys.path]
    monkeypatch.setattr(trial, "_program", lambda: started)
    assert tried(FILE, MODEST, trial_work.speak) == "done"
    trial.end_children()
