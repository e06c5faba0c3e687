"""An error that nobody foresaw is a sentence and exit status 2, and its traceback a file of the user's own."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from samelight.cli import check
from samelight.cli.main import main
from samelight.sheets import private, unforeseen
from samelight.sheets.unforeseen import MOST_KEPT, what_failed

POSIX = pytest.mark.skipif(os.name != "posix", reason="modes and owners are those of POSIX")


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "log"
    monkeypatch.setattr(unforeseen, "kept_errors", lambda: folder)
    return folder


def failed(said: str = "made to fail") -> Exception:
    try:
        raise RuntimeError(said)
    except RuntimeError as error:
        return error


def path_in(said: str) -> Path:
    return Path(said.rpartition("the traceback is in ")[2].removesuffix(")"))


def test_a_command_ends_with_2_and_names_the_file(
    harbour: Path, log: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("of the program")

    monkeypatch.setattr(check, "opened", fails)
    assert main(["check", str(harbour)]) == 2
    out, err = capsys.readouterr()
    (line,) = err.splitlines()
    assert out == ""
    assert line.startswith(
        "samelight: an error of the program itself stopped this: ZeroDivisionError: of the"
    )
    kept = path_in(line)
    assert kept.parent == log
    text = kept.read_text(encoding="utf-8")
    assert text.startswith("Traceback") and "in fails" in text and text.endswith("of the program\n")


@pytest.mark.parametrize("error", [MemoryError(), RecursionError("too deep"), AssertionError()])
def test_whatever_its_kind(
    harbour: Path,
    log: Path,
    error: Exception,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(check, "opened", fails)
    assert main(["check", str(harbour)]) == 2
    assert type(error).__name__ in capsys.readouterr().err
    assert len(list(log.iterdir())) == 1


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (KeyboardInterrupt(), 130, "samelight: stopped\n"),
        (OSError(5, "Input/output error", "there"), 2, "samelight: there: Input/output error\n"),
    ],
)
def test_what_is_foreseen_leaves_no_file(
    harbour: Path,
    log: Path,
    error: BaseException,
    status: int,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise error

    complaints: list[str] = []
    monkeypatch.setattr(check, "opened", fails)
    monkeypatch.setattr("samelight.cli.main.drop_stdout", lambda: None)
    monkeypatch.setattr("samelight.cli.main.complain", lambda text: complaints.append(f"samelight: {text}\n"))
    assert main(["check", str(harbour)]) == status
    assert complaints == [said]
    assert not log.exists()


@POSIX
def test_nobody_else_reads_it(log: Path) -> None:
    old = os.umask(0)
    try:
        kept = path_in(what_failed(failed()))
    finally:
        os.umask(old)
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert stat.S_IMODE(log.stat().st_mode) == 0o700


def test_the_same_error_is_kept_once_and_old_ones_go(log: Path) -> None:
    first = path_in(what_failed(failed("number 0")))
    os.utime(first, ns=(1, 1))
    for number in range(1, MOST_KEPT + 5):
        kept = path_in(what_failed(failed(f"number {number}")))
        os.utime(kept, ns=(number * 10**9, number * 10**9))
    assert len(list(log.iterdir())) == MOST_KEPT
    assert not first.exists() and kept.exists()
    assert path_in(what_failed(failed(f"number {number}"))) == kept
    assert len(list(log.iterdir())) == MOST_KEPT


def test_a_clause_is_one_short_line_whatever_the_error_says(log: Path) -> None:
    said = what_failed(failed("two\nlines " + 5000 * "x" + " \udcff"))
    assert "\n" not in said and len(said.partition(" (")[0]) < 300
    assert "\\udcff" in path_in(said).read_text(encoding="utf-8")
    assert what_failed(failed("")).startswith("RuntimeError (the traceback is in ")


def test_an_error_is_told_also_where_nothing_can_be_written(log: Path) -> None:
    log.write_bytes(b"")
    said = what_failed(failed())
    assert said.startswith("RuntimeError: made to fail (its traceback could not be written: ")
    assert log.read_bytes() == b""


@POSIX
def test_no_link_is_followed(log: Path, tmp_path: Path) -> None:
    theirs = tmp_path / "theirs"
    theirs.mkdir()
    log.symlink_to(theirs)
    assert "could not be written" in what_failed(failed())
    assert list(theirs.iterdir()) == []


@POSIX
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
def test_a_folder_of_somebody_else_is_left_alone(log: Path) -> None:
    log.mkdir(mode=0o700)
    os.chown(log, 12345, 12345)
    assert "somebody else's" in what_failed(failed())
    assert list(log.iterdir()) == []


class TestOwnFiles:
    def test_read_back(self, tmp_path: Path) -> None:
        path = tmp_path / "own" / "file"
        private.write_own(path, b"one")
        private.write_own(path, b"two")
        assert private.read_own(path, 3) == b"two"
        assert [one.name for one in path.parent.iterdir()] == ["file"]

    def test_more_than_expected_is_not_read(self, tmp_path: Path) -> None:
        path = tmp_path / "own" / "file"
        private.write_own(path, b"four")
        with pytest.raises(ValueError, match="more than 3 bytes"):
            private.read_own(path, 3)

    @POSIX
    def test_a_pipe_is_not_opened(self, tmp_path: Path) -> None:
        private.make_folder(tmp_path / "own")
        os.mkfifo(tmp_path / "own" / "pipe", 0o600)
        with pytest.raises(PermissionError, match="no file"):
            private.read_own(tmp_path / "own" / "pipe", 100)

    @POSIX
    @pytest.mark.parametrize("mode", [0o620, 0o602, 0o644])
    def test_what_others_may_open_is_not_read(self, tmp_path: Path, mode: int) -> None:
        path = tmp_path / "own" / "file"
        private.write_own(path, b"one")
        path.chmod(mode)
        with pytest.raises(PermissionError, match="open to others"):
            private.read_own(path, 100)

    @POSIX
    def test_a_link_is_not_read(self, tmp_path: Path) -> None:
        path = tmp_path / "own" / "file"
        private.write_own(path, b"one")
        (tmp_path / "own" / "link").symlink_to(path)
        with pytest.raises(PermissionError, match="no file"):
            private.read_own(tmp_path / "own" / "link", 100)

    @POSIX
    def test_a_folder_that_lets_others_in_is_closed(self, tmp_path: Path) -> None:
        folder = tmp_path / "own"
        folder.mkdir(mode=0o755)
        private.write_own(folder / "file", b"one")
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_a_program_that_is_not_whole_says_so() -> None:
    code = "import sys; sys.modules['samelight.cli.main'] = None; from samelight.__main__ import run; sys.exit(run())"
    environment = {**os.environ, "PYTHONPATH": str(Path(private.__file__).parents[2])}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=False
    )
    assert done.returncode == 2
    assert done.stderr.startswith("samelight: the program is not whole, install it again: ")
    assert len(done.stderr.splitlines()) == 1
