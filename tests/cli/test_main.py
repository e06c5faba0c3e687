"""The program as a whole: help, versions, streams, and what it imports."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from samelight import __version__
from samelight.__main__ import run
from samelight.cli.main import main
from samelight.cli.parser import build_parser
from samelight.sheets.resources import sample_sequence

APP = Path(__file__).parents[2] / "app"
COMMANDS = sorted(
    next(action.choices for action in build_parser()._actions if isinstance(action.choices, dict))
)


def samelight(*words: str | Path, code: str = "", **more: str) -> subprocess.CompletedProcess[bytes]:
    """Run the program, or code that uses it, in a process of its own."""
    environment = {**os.environ, "PYTHONPATH": str(APP), **more}
    start = ["-c", code] if code else ["-m", "samelight"]
    command = [sys.executable, *start, *map(str, words)]
    return subprocess.run(command, env=environment, capture_output=True, check=False, timeout=600)


def status_of(*words: str) -> int:
    with pytest.raises(SystemExit) as end:
        main(words)
    return int(end.value.code or 0)


class TestHelp:
    def test_of_the_program(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert status_of("--help") == 0
        said = capsys.readouterr().out
        assert all(f"\n    {command}" in said for command in COMMANDS)
        assert {"check", "decide", "capture", "picture"} <= set(COMMANDS)

    @pytest.mark.parametrize("command", COMMANDS)
    def test_of_each_command(self, capsys: pytest.CaptureFixture[str], command: str) -> None:
        assert status_of(command, "--help") == 0
        said = capsys.readouterr().out
        assert said.startswith(f"usage: samelight {command}")
        assert "example" in said
        assert f"samelight {command}" in said.split("example")[1]

    def test_of_the_exit_status(self, capsys: pytest.CaptureFixture[str]) -> None:
        status_of("check", "--help")
        said = " ".join(capsys.readouterr().out.split())
        assert "2 the check could not run, or not on every shot" in said

    def test_the_version(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert status_of("--version") == 0
        assert capsys.readouterr().out == f"samelight {__version__}\n"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--nonsense"], "error:"),
        (["--"], "the following arguments are required: COMMAND"),
        (["check"], "the following arguments are required: folder"),
        (
            ["check", "a", "--fail-on", "same"],
            "error: --fail-on: expected within, drift or break, found 'same'\n",
        ),
        (["check", "a", "--format", "xml"], "error: --format: expected text, json or junit, found 'xml'\n"),
        (["chekc", "a"], "no command 'chekc'; did you mean check?\n"),
        (["zzz", "a"], "no command 'zzz'; a window opens one folder\n"),
        (
            ["check", "a", "--formt", "json"],
            "samelight check: error: unrecognized arguments: --formt json; did you mean --format?\n",
        ),
        (["check", "a", "b"], "unrecognized arguments: b\n"),
        (["decide", "a"], "the following arguments are required: verb, shots, parameter"),
    ],
)
def test_words_that_make_no_command(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert status_of(*words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert message in err


def test_neither_a_folder_nor_a_command(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main([str(tmp_path / "chekc")]) == 2
    assert "no such folder, and no such command; samelight --help lists them" in capsys.readouterr().err
    assert main(["chekc"]) == 2
    assert capsys.readouterr().err.endswith("no such folder, and no such command; did you mean check?\n")


@pytest.mark.parametrize(("words", "folder"), [([], None), (["."], Path())])
def test_the_window_opens_with_a_folder_or_nothing(
    monkeypatch: pytest.MonkeyPatch, words: list[str], folder: Path | None
) -> None:
    opened: list[Path | None] = []

    def window(which: Path | None) -> int:
        opened.append(which)
        return 0

    monkeypatch.setattr("samelight.cli.open_window.run_window", window)
    assert main(words) == 0
    assert opened == [folder]


class _Stopped:
    """Finds no module, since somebody pressed Ctrl+C."""

    def find_spec(self, name: str, path: object, target: object = None) -> None:
        if name == "samelight.cli.main":
            raise KeyboardInterrupt


def test_stopped_while_it_starts_there_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delitem(sys.modules, "samelight.cli.main")
    monkeypatch.setattr(sys, "meta_path", [_Stopped(), *sys.meta_path])
    assert run() == 130
    said = capsys.readouterr()
    assert said.err == "samelight: stopped\n" and not said.out


def test_stopped_by_the_user(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(folder: Path, **options: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("samelight.cli.reading.open_store", interrupted)
    assert main(["check", "somewhere"]) == 130
    assert capsys.readouterr() == ("", "samelight: stopped\n")


class TestStreams:
    """What a shell, a farm or a pipe makes of the output."""

    def test_results_and_complaints_go_apart(
        self, harbour: Path, capfdbinary: pytest.CaptureFixture[bytes]
    ) -> None:
        (harbour / "shots/HB_010/HB_010.v003.yaml").write_text("samelight: [", encoding="utf-8")
        assert main(["check", str(harbour)]) == 2
        done = capfdbinary.readouterr()
        assert b"HB_050  lights.sun.direction" in done.out
        assert b"unreadable" not in done.out
        assert done.err.startswith(b"samelight: HB_010 is unreadable")
        assert len(done.err.splitlines()) == 1

    def test_the_reader_of_a_pipe_goes_away(self, harbour: Path) -> None:
        for form in ("text", "json"):
            environment = {**os.environ, "PYTHONPATH": str(APP)}
            words = [sys.executable, "-m", "samelight", "check", str(harbour), "--all", "--format", form]
            with subprocess.Popen(
                words, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE
            ) as program:
                assert program.stdout is not None and program.stderr is not None
                program.stdout.read(1)
                program.stdout.close()
                assert program.stderr.read() == b""
                assert program.wait() == 2

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
    def test_a_full_disk(self, harbour: Path) -> None:
        with Path("/dev/full").open("wb") as full:
            done = subprocess.run(
                [sys.executable, "-m", "samelight", "check", str(harbour)],
                env={**os.environ, "PYTHONPATH": str(APP)},
                stdout=full,
                stderr=subprocess.PIPE,
                check=False,
            )
        assert done.returncode == 2
        assert done.stderr == b"samelight: No space left on device\n"

    @pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX shell")
    def test_a_closed_stdout(self, harbour: Path) -> None:
        done = subprocess.run(
            f'"{sys.executable}" -m samelight check "{harbour}" >&-',
            shell=True,
            env={**os.environ, "PYTHONPATH": str(APP)},
            capture_output=True,
            check=False,
        )
        assert (done.returncode, done.stderr) == (1, b"")

    @pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
    def test_a_terminal_of_another_encoding(
        self, encoding: str, harbour: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding) for _ in range(2))
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", err)
        assert main(["check", str(harbour)]) == 1
        print("\f", end="", file=out)
        assert main(["check", str(harbour), "--format", "json"]) == 1
        out.flush()
        err.flush()
        assert err.buffer.getvalue() == b""
        text, _, data = out.buffer.getvalue().decode(encoding).partition("\f")
        assert "HB_150  lights.bounce.level" in text
        values = {cell["value"] for cell in json.loads(data)["cells"]}
        assert "az 143.0° el 24.0°" in values

    def test_the_module_is_the_program(self) -> None:
        assert samelight("--version").stdout.decode().strip() == f"samelight {__version__}"


class TestImports:
    def test_a_check_needs_no_window_and_no_scene_format(self) -> None:
        code = (
            "import sys\n"
            "from samelight.cli.main import main\n"
            f"status = main(['check', {str(sample_sequence())!r}])\n"
            "heavy = {'PySide6', 'pyqtgraph', 'pxr', 'opentimelineio', 'scipy'} & set(sys.modules)\n"
            "sys.exit(f'{heavy}' if heavy or status != 1 else 0)\n"
        )
        done = samelight(code=code)
        assert done.returncode == 0, done.stderr

    def test_what_cannot_be_there_is_not_missed(self, tmp_path: Path) -> None:
        """A farm machine without Qt checks all the same."""
        for name in ("PySide6", "pyqtgraph", "pxr", "opentimelineio"):
            (tmp_path / f"{name}.py").write_text("raise ImportError('not on this machine')", encoding="utf-8")
        done = samelight("check", sample_sequence(), PYTHONPATH=f"{tmp_path}{os.pathsep}{APP}")
        assert done.returncode == 1
        assert done.stderr == b""


@pytest.mark.parametrize(
    "words", [["fix"], ["report", "--format", "csv"], ["publish", "--preview"], ["adopt"], ["plan"]]
)
def test_any_command_is_quiet_where_it_is_told_to_be(
    harbour: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([words[0], str(harbour), *words[1:], "--quiet"]) == 0
    assert capsys.readouterr().out == ""
