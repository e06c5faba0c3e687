"""app/start.py: what it decides, without installing anything or asking any network."""

import ast
import importlib.util
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType
from typing import IO, NamedTuple

import pytest

SCRIPT = Path(__file__).resolve().parent.parent / "app" / "start.py"
RUNNER = SCRIPT.parents[1] / "tests" / "run.py"
CURRENT = f"cpython-{sys.version_info[0]}{sys.version_info[1]}"


def load(script: Path = SCRIPT) -> ModuleType:
    """The script as a module of its own, so that a test may change its names."""
    spec = importlib.util.spec_from_file_location(f"{script.stem}_under_test", script)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class Running(NamedTuple):
    """A program that runs beside others."""

    code: int

    def wait(self) -> int:
        return self.code


class Programs:
    """Stands where the script would run programs; keeps what was asked for and answers with set exit codes."""

    def __init__(self) -> None:
        self.commands: list[list[str]] = []
        self.environments: list[dict[str, str] | None] = []
        self.exit_codes: dict[str, int] = {}
        self.beside: list[tuple[list[str], dict[str, str]]] = []

    def call(self, command: list[object], cwd: Path | None = None, env: dict[str, str] | None = None) -> int:
        words = [str(word) for word in command]
        self.commands.append(words)
        self.environments.append(env)
        return next((code for word, code in self.exit_codes.items() if word in words), 0)

    @contextmanager
    def popen(
        self, command: list[object], env: dict[str, str], stdout: IO[bytes] | int, **_: object
    ) -> Iterator[Running]:
        words = [str(word) for word in command]
        self.beside.append((words, env))
        code = next((code for word, code in self.exit_codes.items() if word in words), 0)
        if not isinstance(stdout, int):
            stdout.write(b"what it says")
        yield Running(code)


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script in a project folder of its own, with no display."""
    module = load()
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'x'\n", encoding="utf-8")
    for name, path in {
        "ROOT": tmp_path,
        "VENV": tmp_path / ".venv",
        "STATE": tmp_path / ".venv" / "samelight-setup.txt",
        "BUILD": tmp_path / "build",
    }.items():
        monkeypatch.setattr(module, name, path)
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    return module


@pytest.fixture
def programs(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> Programs:
    stand_in = Programs()
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(start.subprocess, "call", stand_in.call)
    return stand_in


@pytest.fixture
def commands(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Every command that set-up would run; making .venv leaves a .venv that works."""
    ran: list[list[str]] = []
    works = []

    def run(command: list[str], what: str, extra_environment: dict[str, str] | None = None) -> None:
        ran.append(command)
        if "venv" in command:
            works.append(True)

    monkeypatch.setattr(start, "run", run)
    monkeypatch.setattr(
        start, "python_in_venv", lambda: CURRENT if works or (start.VENV / "works").exists() else None
    )
    return ran


def working_venv(start: ModuleType, state: str) -> None:
    """A .venv with a Python that works, in the given state."""
    start.VENV.mkdir()
    (start.VENV / "works").touch()
    if state:
        start.write_state(state)


def stamp_now(start: ModuleType, extras: str) -> str:
    return str(start.stamp((start.ROOT / "pyproject.toml").read_bytes(), extras, CURRENT, start.ROOT))


# The Python it is started with


@pytest.mark.parametrize("version", [(3, 11), (3, 11, 0), (3, 13, 2), (4, 0, 0)])
def test_new_enough_pythons_are_taken(start: ModuleType, version: tuple[int, ...]) -> None:
    assert start.refusal(version, "CPython") is None


@pytest.mark.parametrize(
    ("version", "implementation", "found"),
    [
        ((3, 10, 12), "CPython", "CPython 3.10.12"),
        ((3, 6, 8), "CPython", "CPython 3.6.8"),
        ((3, 11, 9), "PyPy", "PyPy 3.11.9"),
    ],
)
def test_other_pythons_are_refused_with_what_was_found(
    start: ModuleType, version: tuple[int, ...], implementation: str, found: str
) -> None:
    said = start.refusal(version, implementation)
    assert "needs CPython 3.11 or newer" in said
    assert f"this is {found}." in said


def test_an_older_python_can_parse_the_script() -> None:
    ast.parse(SCRIPT.read_text(encoding="utf-8"), feature_version=(3, 6))


def test_nothing_before_the_refusal_needs_a_newer_python() -> None:
    tree = ast.parse(SCRIPT.read_text(encoding="utf-8"))
    gate = next(
        place
        for place, node in enumerate(tree.body)
        if isinstance(node, ast.If) and "refusal" in ast.unparse(node.test)
    )
    functions = [node for node in tree.body[:gate] if isinstance(node, ast.FunctionDef)]
    assert [function.name for function in functions] == ["refusal"]
    hints = [argument.annotation for argument in functions[0].args.args] + [functions[0].returns]
    evaluated = [
        hint
        for hint in hints
        if not isinstance(hint, ast.Name)
        and not (isinstance(hint, ast.Constant) and isinstance(hint.value, str))
    ]
    assert evaluated == []


# The command line


def test_no_argument_means_the_sample(start: ModuleType) -> None:
    wanted = start.read_arguments([])
    assert wanted.folder is None
    assert wanted.tests is None


def test_a_folder_is_opened(start: ModuleType, tmp_path: Path) -> None:
    assert start.read_arguments([str(tmp_path)]).folder == tmp_path


def test_a_folder_that_is_not_there_is_refused_before_any_set_up(
    start: ModuleType, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        start.read_arguments([str(tmp_path / "nowhere")])
    assert ended.value.code == 2
    assert "no such folder" in capsys.readouterr().err


@pytest.mark.parametrize("passed", [[], ["-x"], ["tests/light", "-k", "sun and not moon", "--lf"]])
def test_what_follows_tests_goes_to_pytest(start: ModuleType, passed: list[str]) -> None:
    assert start.read_arguments(["--tests", *passed]).tests == passed


def test_a_folder_and_tests_exclude_each_other(start: ModuleType, tmp_path: Path) -> None:
    with pytest.raises(SystemExit) as ended:
        start.read_arguments([str(tmp_path), "--tests"])
    assert ended.value.code == 2


# The stamp of an environment


def test_the_stamp_changes_with_all_that_an_environment_is_made_from(start: ModuleType) -> None:
    same = start.stamp(b"a", "", "cpython-311", Path("/p"))
    others = [
        start.stamp(b"b", "", "cpython-311", Path("/p")),
        start.stamp(b"a", "dev", "cpython-311", Path("/p")),
        start.stamp(b"a", "", "cpython-312", Path("/p")),
        start.stamp(b"a", "", "cpython-311", Path("/q")),
    ]
    assert same == start.stamp(b"a", "", "cpython-311", Path("/p"))
    assert len({same, *others}) == 5


def test_a_whole_environment_is_left_alone(start: ModuleType, commands: list[list[str]]) -> None:
    working_venv(start, stamp_now(start, ""))
    start.set_up("")
    assert commands == []


def test_an_environment_for_the_tests_opens_the_window_too(
    start: ModuleType, commands: list[list[str]]
) -> None:
    working_venv(start, stamp_now(start, "dev"))
    start.set_up("")
    assert commands == []


def test_the_tests_need_more_than_the_window(start: ModuleType, commands: list[list[str]]) -> None:
    working_venv(start, stamp_now(start, ""))
    start.set_up("dev")
    assert [command[-2:] for command in commands] == [["-e", ".[dev]"]]
    assert start.read_state() == stamp_now(start, "dev")


def test_a_first_start_makes_and_fills_the_environment(start: ModuleType, commands: list[list[str]]) -> None:
    start.set_up("")
    assert [command[1:3] for command in commands] == [["-m", "venv"], ["-m", "pip"]]
    assert commands[1][-2:] == ["-e", "."]
    assert start.read_state() == stamp_now(start, "")


def test_a_changed_project_file_is_installed_in_place(start: ModuleType, commands: list[list[str]]) -> None:
    working_venv(start, stamp_now(start, ""))
    (start.ROOT / "pyproject.toml").write_text("[project]\nname = 'y'\n", encoding="utf-8")
    start.set_up("")
    assert [command[1:3] for command in commands] == [["-m", "pip"]]
    assert (start.VENV / "works").exists()


def test_an_environment_made_by_hand_is_kept_and_filled(start: ModuleType, commands: list[list[str]]) -> None:
    working_venv(start, "")
    start.set_up("")
    assert [command[1:3] for command in commands] == [["-m", "pip"]]
    assert (start.VENV / "works").exists()


def test_an_interrupted_environment_is_made_anew(start: ModuleType, commands: list[list[str]]) -> None:
    working_venv(start, start.UNFINISHED)
    start.set_up("")
    assert [command[1:3] for command in commands] == [["-m", "venv"], ["-m", "pip"]]
    assert not (start.VENV / "works").exists()
    assert not (start.BUILD / "old-venv").exists()


def test_an_environment_whose_python_is_gone_is_made_anew(
    start: ModuleType, commands: list[list[str]]
) -> None:
    start.VENV.mkdir()
    start.write_state(stamp_now(start, ""))
    start.set_up("")
    assert [command[1:3] for command in commands] == [["-m", "venv"], ["-m", "pip"]]


def fails_with(error: BaseException, start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    def run(*_: object) -> None:
        raise error

    monkeypatch.setattr(start, "run", run)


@pytest.mark.usefixtures("commands")
def test_an_interrupted_installation_stays_marked(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    working_venv(start, stamp_now(start, ""))
    fails_with(KeyboardInterrupt(), start, monkeypatch)
    with pytest.raises(KeyboardInterrupt):
        start.set_up("dev")
    assert start.read_state() == start.UNFINISHED


@pytest.mark.usefixtures("commands")
def test_an_installation_that_gives_up_keeps_the_environment(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    working_venv(start, stamp_now(start, ""))
    fails_with(start.SetupError("no network"), start, monkeypatch)
    with pytest.raises(start.SetupError):
        start.set_up("dev")
    assert start.read_state() == stamp_now(start, "")


def test_the_environment_that_runs_the_tests_is_recognised(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "venv_python", lambda: Path(sys.executable))
    assert start.python_in_venv() == sys.implementation.cache_tag


def test_a_missing_environment_has_no_python(start: ModuleType) -> None:
    assert start.python_in_venv() is None


def test_a_second_start_is_kept_out_while_the_first_sets_up(start: ModuleType) -> None:
    with start.one_at_a_time(), (start.BUILD / "start.lock").open("a") as other:
        assert not start.lock_now(other.fileno())
    with (start.BUILD / "start.lock").open("a") as other:
        assert start.lock_now(other.fileno())


# Platforms


@pytest.mark.parametrize(
    ("system", "ending"),
    [
        ("linux", ("bin", "python")),
        ("darwin", ("bin", "python")),
        ("win32", ("Scripts", "python.exe")),
    ],
)
def test_where_an_environment_keeps_its_python(
    start: ModuleType, system: str, ending: tuple[str, str]
) -> None:
    assert start.venv_python(system) == start.VENV.joinpath(*ending)


@pytest.mark.parametrize(
    ("environment", "system", "expected"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ""}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({}, "win32", True),
        ({}, "darwin", True),
    ],
)
def test_where_a_window_can_be_shown(
    start: ModuleType, environment: dict[str, str], system: str, expected: bool
) -> None:
    assert start.has_display(environment, system) is expected


def test_the_libraries_asked_for_fit_what_is_drawn_on(start: ModuleType) -> None:
    drawing = start.libraries_needed({"DISPLAY": ":0"}, "linux", windowed=False)
    x11 = start.libraries_needed({"DISPLAY": ":0"}, "linux", windowed=True)
    wayland = start.libraries_needed({"WAYLAND_DISPLAY": "wayland-0"}, "linux", windowed=True)
    assert drawing["libEGL.so.1"] == "libegl1"
    assert set(x11) - set(drawing) >= {"libxcb-cursor.so.0", "libxkbcommon-x11.so.0"}
    assert "libwayland-client.so.0" in wayland
    assert not any("xcb" in name for name in {*drawing, *wayland})
    assert start.libraries_needed({}, "darwin", windowed=True) == {}
    assert start.libraries_needed({}, "win32", windowed=True) == {}


def test_a_library_that_cannot_be_loaded_is_named(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(start, "venv_python", lambda: Path(sys.executable))
    assert start.libraries_missing(["libnot-on-any-machine.so.7"]) == ["libnot-on-any-machine.so.7"]


# Missing system packages


@pytest.fixture
def lacking(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script on a Linux where some of Qt's libraries are missing until something is installed."""
    monkeypatch.setattr(sys, "platform", "linux")
    answers = [["libEGL.so.1", "libgthread-2.0.so.0", "libglib-2.0.so.0"], []]
    monkeypatch.setattr(start, "libraries_missing", lambda names: answers.pop(0))
    return start


@pytest.mark.usefixtures("commands")
def test_without_rights_the_exact_command_is_told(
    lacking: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lacking.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(lacking.os, "geteuid", lambda: 1000, raising=False)
    with pytest.raises(lacking.SetupError) as told:
        lacking.check_libraries(windowed=False)
    command = "sudo apt-get update && sudo apt-get install -y --no-install-recommends libegl1 libglib2.0-0"
    assert command in str(told.value).splitlines()[-1]
    assert "libEGL.so.1" in str(told.value)


def test_root_on_debian_gets_them_installed(
    lacking: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lacking.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(lacking.os, "geteuid", lambda: 0, raising=False)
    lacking.check_libraries(windowed=False)
    assert commands[0] == ["apt-get", "update"]
    assert commands[1][:2] == ["apt-get", "install"]
    assert commands[1][-2:] == ["libegl1", "libglib2.0-0"]


def at_a_terminal(start: ModuleType, monkeypatch: pytest.MonkeyPatch, answer: str) -> list[str]:
    """Somebody sits there, and gives this answer to each question; the questions."""
    asked: list[str] = []

    def answers(question: str) -> str:
        asked.append(question)
        return answer

    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", answers)
    monkeypatch.setattr(start.shutil, "which", lambda name: f"/usr/bin/{name}")
    return asked


@pytest.mark.parametrize("answer", ["", "y", "Yes "])
@pytest.mark.parametrize(("user", "sudo"), [(0, []), (1000, ["sudo"])])
def test_at_a_terminal_one_is_asked_before_system_packages_come(
    lacking: ModuleType,
    commands: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    answer: str,
    user: int,
    sudo: list[str],
) -> None:
    asked = at_a_terminal(lacking, monkeypatch, answer)
    monkeypatch.setattr(lacking.os, "geteuid", lambda: user, raising=False)
    lacking.check_libraries(windowed=False)
    assert len(asked) == 1
    assert "libegl1" in asked[0]
    assert commands[0] == [*sudo, "apt-get", "update"]
    assert commands[1][: len(sudo) + 2] == [*sudo, "apt-get", "install"]


def test_whoever_says_no_is_told_the_command(
    lacking: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    at_a_terminal(lacking, monkeypatch, "n")
    monkeypatch.setattr(lacking.os, "geteuid", lambda: 0, raising=False)
    with pytest.raises(lacking.SetupError, match="sudo apt-get install"):
        lacking.check_libraries(windowed=False)
    assert commands == []


def test_without_leave_nothing_of_the_system_is_touched(
    lacking: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = at_a_terminal(lacking, monkeypatch, "y")
    monkeypatch.setattr(lacking.os, "geteuid", lambda: 0, raising=False)
    with pytest.raises(lacking.SetupError, match="sudo apt-get install"):
        lacking.check_libraries(windowed=False, system=False)
    assert commands == []
    assert asked == []


def test_without_apt_the_libraries_are_named(
    lacking: ModuleType, commands: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lacking.shutil, "which", lambda name: None)
    with pytest.raises(lacking.SetupError, match=r"libEGL\.so\.1") as told:
        lacking.check_libraries(windowed=False)
    assert "apt-get" not in str(told.value)
    assert commands == []


def test_a_python_that_cannot_make_environments_says_which_package_helps(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start.importlib.util, "find_spec", lambda name: None)
    monkeypatch.setattr(start.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(start.os, "geteuid", lambda: 1000, raising=False)
    with pytest.raises(start.SetupError, match="ensurepip") as told:
        start.make_venv(system=True)
    assert f"python{sys.version_info[0]}.{sys.version_info[1]}-venv" in str(told.value)
    assert not start.VENV.exists()


# Programs that set-up runs


def test_a_program_shows_its_own_progress(start: ModuleType, capfd: pytest.CaptureFixture[str]) -> None:
    start.run([sys.executable, "-c", "print('Collecting a')"], "Installing")
    shown = capfd.readouterr().out.splitlines()
    assert {"Installing ...", "Collecting a"} <= set(shown)
    assert shown[-1].startswith("  done in ")


def test_a_program_that_fails_ends_in_what_to_do(start: ModuleType) -> None:
    with pytest.raises(start.SetupError) as told:
        start.run([sys.executable, "-c", "raise SystemExit(7)"], "Installing")
    said = str(told.value)
    assert "Installing failed" in said
    assert "exit code 7" in said
    assert "HTTPS_PROXY" in said


# Opening and testing


def test_without_a_display_the_sequence_is_checked_and_the_window_saved(
    start: ModuleType, programs: Programs, capsys: pytest.CaptureFixture[str]
) -> None:
    programs.exit_codes = {"check": 1}
    folder, picture = start.ROOT / "harbour", start.BUILD / "samelight-window.png"
    assert start.open_sequence(folder) == 0
    assert [command[1:] for command in programs.commands] == [
        ["-m", "samelight", "check", str(folder)],
        ["-m", "samelight", "picture", str(folder), "-o", str(picture)],
    ]
    assert (programs.environments[1] or {})["QT_QPA_PLATFORM"] == "offscreen"
    said = capsys.readouterr().out
    assert "no display" in said
    assert str(picture) in said


@pytest.mark.parametrize(("verb", "commands"), [("check", 1), ("picture", 2)])
def test_without_a_display_a_failure_is_handed_on(
    start: ModuleType, programs: Programs, verb: str, commands: int
) -> None:
    programs.exit_codes = {verb: 2}
    assert start.open_sequence(start.ROOT) == 2
    assert len(programs.commands) == commands


def test_with_a_display_the_window_opens(
    start: ModuleType, programs: Programs, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DISPLAY", ":0")
    assert start.open_sequence(start.ROOT) == 0
    assert [command[1:] for command in programs.commands] == [["-m", "samelight", str(start.ROOT)]]


def test_a_window_that_cannot_reach_its_display_is_explained(
    start: ModuleType,
    programs: Programs,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("DISPLAY", ":0")
    programs.exit_codes = {"samelight": -6}
    assert start.open_sequence(start.ROOT) == 1
    assert "display" in capsys.readouterr().out.splitlines()[-1]


def test_the_tests_are_run_by_the_environment(start: ModuleType, programs: Programs) -> None:
    programs.exit_codes = {"-x": 1}
    assert start.run_tests(["-x", "tests/light"]) == 1
    (command,) = programs.commands
    assert command == [
        str(start.venv_python()),
        str(start.ROOT / "tests" / "run.py"),
        "-x",
        "tests/light",
    ]


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (KeyboardInterrupt(), 130, "Stopped."),
        (PermissionError(13, "Permission denied", "/srv/x"), 1, "/srv/x"),
    ],
)
def test_what_stops_the_work_ends_in_a_message(
    start: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    error: BaseException,
    code: int,
    said: str,
) -> None:
    def set_up(extras: str, system: bool) -> None:
        raise error

    monkeypatch.setattr(start, "set_up", set_up)
    assert start.main([]) == code
    printed = capsys.readouterr()
    assert said in printed.out + printed.err
    assert "Traceback" not in printed.out + printed.err


def test_help_is_there_without_any_set_up() -> None:
    shown = subprocess.run([sys.executable, SCRIPT, "--help"], capture_output=True, text=True, check=True)
    assert "--tests" in shown.stdout
    assert "folder" in shown.stdout


# The whole test command


@pytest.fixture
def runner(monkeypatch: pytest.MonkeyPatch) -> tuple[ModuleType, Programs]:
    """The program that runs the tests, and what stands where it would run others."""
    module, stand_in = load(RUNNER), Programs()
    monkeypatch.setattr(module.subprocess, "call", stand_in.call)
    monkeypatch.setattr(module.subprocess, "Popen", stand_in.popen)
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    return module, stand_in


def test_every_step_of_the_tests_runs_even_after_a_failure(
    runner: tuple[ModuleType, Programs], capsys: pytest.CaptureFixture[str]
) -> None:
    run, programs = runner
    programs.exit_codes = {"mypy": 1, "format": 1}
    assert run.run_tests(["-x", "tests/light"]) == 1
    assert len(programs.commands) == 4
    assert programs.commands[-1][1:] == ["-m", "pytest", *run.IN_PARALLEL, "-x", "tests/light"]
    said = capsys.readouterr().out
    assert said.splitlines()[-1] == "Failed: ruff format --check, mypy"
    for name in ("ruff check", "ruff format --check", "lint-imports", "pytest"):
        assert f"--- {name}\n" in said
    assert said.index("--- pytest\n") < said.index("--- mypy\nwhat it says\n")


def test_nothing_is_printed_after_a_pytest_that_passed(
    runner: tuple[ModuleType, Programs], capsys: pytest.CaptureFixture[str]
) -> None:
    run, programs = runner
    assert run.run_tests([]) == 0
    assert len(programs.commands) == 4
    said = capsys.readouterr().out.splitlines()
    assert said[0] == "mypy runs beside all other steps." and said[-1] == "--- pytest"


def test_types_are_checked_and_tests_compiled_once_beside_other_steps(
    runner: tuple[ModuleType, Programs],
) -> None:
    run, programs = runner
    run.run_tests(["-n", "3", "tests/light"])
    (types, first), (beside, second) = programs.beside
    assert types[1:] == ["-m", "mypy"]
    assert beside[-4:] == ["3", "tests/light", "-n", "0"]
    assert "--collect-only" in beside
    for one in (first, second, *programs.environments):
        assert one is not None and "PATH" in one and "PYTHONDONTWRITEBYTECODE" not in one
