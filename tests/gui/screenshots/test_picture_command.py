"""`samelight picture`, run as a program: each run has a display and a scale of its own."""

from __future__ import annotations

import ctypes
import importlib.util
import os
import shutil
import struct
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import ModuleType

import pytest
from PySide6.QtWidgets import QApplication

from samelight.cli import open_window
from samelight.cli.main import main
from samelight.cli.parser import build_parser
from samelight.gui.screenshots.screens import SCREENS
from samelight.sheets.resources import sample_sequence

ROOT = Path(__file__).parents[3]
APP = ROOT / "app"
HARBOUR, FIRST = sample_sequence("harbour"), sample_sequence("first_steps")


def _start() -> ModuleType:
    """The set-up script, which lists the libraries of the system that a window needs."""
    spec = importlib.util.spec_from_file_location("samelight_start", APP / "start.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


start = _start()


def picture(
    *words: str | Path,
    platform: str = "",
    program: Sequence[str] = ("-m", "samelight", "picture"),
    **surroundings: str,
) -> subprocess.CompletedProcess[str]:
    """Run the command where there is no display, unless one is named."""
    env = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "QT_QPA_PLATFORM")}
    env |= {"PYTHONPATH": str(APP), **surroundings}
    if platform:
        env["QT_QPA_PLATFORM"] = platform
    return subprocess.run(
        [sys.executable, *program, *map(str, words)],
        env=env,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


FEW = """
import sys
from samelight.cli import main, open_window
chosen, *words = sys.argv[1:]
open_window.SCREENS = {name: open_window.SCREENS[name] for name in chosen.split()}
raise SystemExit(main.main(["picture", *words]))
"""
"""The same program with few screens to it, so that all of them are some."""


def size_of(path: Path) -> tuple[int, int]:
    """Width and height of a PNG in pixels, from its header (ISO/IEC 15948, clause 11.2.2)."""
    head = path.read_bytes()[:24]
    assert head.startswith(b"\x89PNG\r\n\x1a\n") and head[12:16] == b"IHDR"
    width, height = struct.unpack(">II", head[16:24])
    return width, height


def test_a_scale_multiplies_the_pixels(tmp_path: Path) -> None:
    output = tmp_path / "new" / "sky.png"
    done = picture(FIRST, "-o", output, "--screen", "sky", "--size", "1101x651", "--scale", "150%")
    assert (done.returncode, done.stderr, done.stdout.strip()) == (0, "", str(output))
    assert size_of(output) == (1652, 977)
    assert [path.name for path in output.parent.iterdir()] == ["sky.png"]


def test_a_picture_is_saved_whole_and_quietly(
    qapp: QApplication, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    output = tmp_path / "new" / "harbour.png"
    assert main(["picture", str(HARBOUR), "-o", str(output), "--size", "1100x650"]) == 0
    assert capfd.readouterr() == (f"{output}\n", "")
    assert size_of(output) == (1100, 650)
    assert [path.name for path in output.parent.iterdir()] == ["harbour.png"]


def test_all_screens_that_a_sequence_has(
    qapp: QApplication,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The others are named, each with the reason, and the status says that something is missing."""
    few = ("window", "older-master", "review", "about")
    monkeypatch.setattr(open_window, "SCREENS", {name: SCREENS[name] for name in few})
    into = tmp_path / "all"
    assert main(["picture", str(FIRST), "--all-screens", str(into), "--size", "1100x650"]) == 2
    said = capsys.readouterr()
    assert said.out.splitlines() == [str(into / f"{name}.png") for name in ("window", "review", "about")]
    assert said.err.startswith("samelight: older-master: ") and "there is no other master" in said.err
    assert {path.name: size_of(path) for path in into.iterdir()} == {
        f"{name}.png": (1100, 650) for name in ("window", "review", "about")
    }


def test_pictures_of_the_readme_are_made_as_it_says() -> None:
    lines = [line.split() for line in (ROOT / "README.md").read_text(encoding="utf-8").splitlines()]
    parser, pictures = build_parser(), {}
    for words in lines:
        if words[:2] == ["samelight", "picture"]:
            asked = parser.parse_args(words[1:])
            pictures[ROOT / asked.output] = asked.size
            assert (asked.screen or "window") == asked.output.stem
    assert set(pictures) == set((ROOT / "resources" / "pictures").iterdir())
    for path, size in pictures.items():
        assert size_of(path) == size, path.name


def test_names_are_listed_and_the_nearest_is_offered(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["picture", "--help"])
    said = capsys.readouterr().out
    for name, screen in SCREENS.items():
        assert any(line.split(None, 1) == [name, screen.shows] for line in said.splitlines()), name
    with pytest.raises(SystemExit) as ended:
        main(["picture", "harbour", "-o", "a.png", "--screen", "reveiw"])
    assert ended.value.code == 2
    assert "no screen is called 'reveiw' (did you mean review?)" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "a.png", "--scale", "90"], "expected per cent from 100 to 200, found '90'"),
        (["-o", "a.png", "--scale", "large"], "expected per cent from 100 to 200, found 'large'"),
        (["-o", "a.png", "--size", "1600"], "expected a size such as 1600x950, found '1600'"),
        (["-o", "a.png", "--size", "²00x300"], "expected a size such as 1600x950, found '²00x300'"),
        (["-o", "a.png", "--all-screens", "a"], "not allowed with argument"),
        ([], "one of the arguments -o/--output --all-screens is required"),
    ],
)
def test_what_cannot_be_meant(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["picture", str(HARBOUR), *words])
    assert ended.value.code == 2
    assert says in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "a.jpg"], "a.jpg: expected a name that ends in .png"),
        (["--all-screens", "a", "--screen", "sky"], "--all-screens writes every screen"),
    ],
)
def test_what_is_not_done(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["picture", str(HARBOUR), *words]) == 2
    assert says in capsys.readouterr().err


def test_there_is_no_such_sequence(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "sequences"
    folder.mkdir()
    assert main(["picture", str(folder / "quay"), "-o", str(folder / "quay.png")]) == 2
    said = capsys.readouterr().err
    assert str(folder / "quay") in said and "Traceback" not in said
    assert list(folder.iterdir()) == []


def test_a_path_is_taken_from_where_the_command_is_given(tmp_path: Path) -> None:
    """At a whole scale too, of a window as large as where no size is given."""
    words = ["first", "-o", "here.png", "--screen", "review", "--scale", "200"]
    done = subprocess.run(
        [sys.executable, "-m", "samelight", "picture", *words],
        cwd=shutil.copytree(FIRST, tmp_path / "in" / "first").parent,
        env={**os.environ, "PYTHONPATH": str(APP)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr, done.stdout) == (0, "", "here.png\n")
    assert size_of(tmp_path / "in" / "here.png") == (3200, 1900)


def is_here(library: str) -> bool:
    """Whether a library of the system can be loaded."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def not_here() -> list[str]:
    """What a window on an X display needs and this machine lacks."""
    needed = start.libraries_needed({"DISPLAY": ":0"}, sys.platform, True)
    return [*(["Xvfb"] if shutil.which("Xvfb") is None else []), *(n for n in needed if not is_here(n))]


def test_every_library_is_asked_for_before_a_window_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    needed = start.libraries_needed({"DISPLAY": ":0"}, "linux", True)
    assert {
        "libEGL.so.1",
        "libxcb-cursor.so.0",
        "libxkbcommon-x11.so.0",
        "libxcb-icccm.so.4",
    } <= needed.keys()
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(shutil, "which", lambda name: "/nowhere/Xvfb")
    for lacking in needed:
        monkeypatch.setattr(sys.modules[__name__], "is_here", lambda name, lacking=lacking: name != lacking)
        assert not_here() == [lacking]


@pytest.fixture(scope="module")
def display() -> Iterator[str]:
    """An X display that nobody sees."""
    if missing := not_here():
        pytest.skip(f"not on this machine: {', '.join(missing)}")
    read, write = os.pipe()
    process = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "1280x1024x24", "-nolisten", "tcp"],
        pass_fds=(write,),
        stderr=subprocess.DEVNULL,
    )
    os.close(write)
    try:
        with os.fdopen(read) as number:
            yield f":{number.readline().strip()}"
    finally:
        process.terminate()
        process.wait()


@pytest.mark.parametrize(("names", "scale"), [("window view-menu", 100), ("review-wipe intend", 200)])
def test_on_a_real_display(tmp_path: Path, display: str, names: str, scale: int) -> None:
    words = (HARBOUR, "--all-screens", tmp_path / "screens", "--size", "1200x700", "--scale", str(scale))
    done = picture(*words, platform="xcb", program=("-c", FEW, names), DISPLAY=display)
    assert (done.returncode, done.stderr) == (0, "")
    found = {path.stem: size_of(path) for path in (tmp_path / "screens").iterdir()}
    assert found == dict.fromkeys(names.split(), (1200 * scale // 100, 700 * scale // 100))
