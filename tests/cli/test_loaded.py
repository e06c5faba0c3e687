"""What each command loads: a gate that runs once a shot on a farm waits for nothing that it does not use."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from samelight.cli.commands import COMMANDS
from samelight.cli.parser import build_parser
from samelight.sheets.resources import sample_sequence

APP = Path(__file__).parents[2] / "app"

_CODE = """
import contextlib, io, json, sys
from samelight.__main__ import run
from samelight.cli import answers
answers.SAME_MOMENT = -(10**18)  # however new the sample is
found = {}
for words in json.loads(sys.argv[1]):
    sys.argv = ["samelight", *words]
    with contextlib.redirect_stdout(io.StringIO()) as said, contextlib.suppress(SystemExit):
        run()
    found[" ".join(words[:2])] = sorted(sys.modules), len(said.getvalue())
print(json.dumps(found))
"""

HEAVY = frozenset(
    {
        *(
            "OpenEXR",
            "PySide6",
            "argparse",
            "asyncio",
            "cachebox",
            "deepdiff",
            "difflib",
            "inspect",
            "jinja2",
            "multiprocessing",
            "numpy",
        ),
        *(
            "opentimelineio",
            "platformdirs",
            "pxr",
            "pyqtgraph",
            "rich",
            "scipy",
            "shtab",
            "subprocess",
            "watchfiles",
            "yaml",
        ),
    }
)
"""What takes a while to load, or draws in much that does."""

LOADS: dict[str, frozenset[str]] = {
    "--version": frozenset(),
    "--help": frozenset({"argparse"}),
    "schema": frozenset(
        {"argparse", "inspect", "numpy", "yaml", "platformdirs"}
    ),  # dataclasses come with inspect
    "check --help": frozenset({"argparse", "inspect", "difflib", "numpy", "yaml", "platformdirs"}),
    "check SAMPLE": frozenset(
        {
            *("argparse", "inspect", "numpy", "yaml", "platformdirs", "subprocess"),
            *("deepdiff", "cachebox", "difflib", "asyncio"),  # says what is absent, extra and of another type
            "rich",  # its table of how wide a character is
        }
    ),
}
"""Of these the most that each command may load, the later ones what the earlier ones did too."""


KEPT = "check SAMPLE, answered before"
CAPTURE = "capture SCENE"


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> dict[str, frozenset[str]]:
    """The modules that are there after each command, in one process, the lightest first; and after a check that is
    answered by what that process kept, in another."""
    cache = str(tmp_path_factory.mktemp("cache"))
    return {
        **_loaded(list(LOADS), cache),
        KEPT: _loaded(["check SAMPLE"], cache)["check SAMPLE"],
        CAPTURE: next(iter(_loaded([CAPTURE], cache).values())),
    }


def _loaded(commands: list[str], cache: str) -> dict[str, frozenset[str]]:
    sample = str(sample_sequence())
    scene = min((sample_sequence("quay_usd") / "scenes").glob("*.usda"))
    stand_for = {"SAMPLE": sample, "SCENE": str(scene)}
    words = [[stand_for.get(word, word) for word in command.split()] for command in commands]
    environment = {**os.environ, "PYTHONPATH": str(APP), "XDG_CACHE_HOME": cache}
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE"):
        environment.pop(name, None)
    done = subprocess.run(
        [sys.executable, "-c", _CODE, json.dumps(words)], env=environment, capture_output=True, check=True
    )
    found = json.loads(done.stdout)
    assert all(printed for _, printed in found.values()), "every one of them did something"
    return {name.replace(sample, "SAMPLE"): frozenset(modules) for name, (modules, _) in found.items()}


@pytest.mark.parametrize("command", LOADS)
def test_a_command_loads_what_it_needs(loaded: dict[str, frozenset[str]], command: str) -> None:
    there = {name.partition(".")[0] for name in loaded[command]} & HEAVY
    assert there <= LOADS[command]


def test_a_check_that_was_answered_before_computes_nothing(loaded: dict[str, frozenset[str]]) -> None:
    there = {name.partition(".")[0] for name in loaded[KEPT]} & HEAVY
    assert there <= {"inspect", "platformdirs"}
    rooms = {name.split(".")[1] for name in loaded[KEPT] if name.startswith("samelight.")}
    assert rooms.isdisjoint({"drift", "decisions", "findings", "sequence", "sources", "gui"})


def test_one_scene_is_captured_without_what_compares_shots(loaded: dict[str, frozenset[str]]) -> None:
    """Reading it is the work of another process."""
    there = {name.partition(".")[0] for name in loaded[CAPTURE]} & HEAVY
    assert there <= {"argparse", "subprocess"}
    rooms = {name.split(".")[1] for name in loaded[CAPTURE] if name.startswith("samelight.")}
    assert rooms.isdisjoint({"findings", "sequence", "decisions", "changes", "gui"})


@pytest.mark.parametrize("command", ["--version", "--help"])
def test_what_needs_no_sequence_loads_no_room_but_the_command_line(
    loaded: dict[str, frozenset[str]], command: str
) -> None:
    ours = {name for name in loaded[command] if name.startswith("samelight.")}
    assert {name for name in ours if name.startswith("samelight.cli.")} <= {
        "samelight.cli.answers",
        "samelight.cli.commands",
        "samelight.cli.main",
        "samelight.cli.parser",
        "samelight.cli.terminal",
    }
    assert not {name for name in ours if name.split(".")[1] in ("drift", "findings", "sequence", "gui")}


def test_colours_are_not_loaded_where_there_is_no_terminal(loaded: dict[str, frozenset[str]]) -> None:
    assert not {"rich.console", "rich.text"} & loaded["check SAMPLE"]


def test_a_parser_of_one_command_says_what_the_parser_of_all_says(capsys: pytest.CaptureFixture[str]) -> None:
    whole = build_parser()
    assert build_parser(()).format_help() == whole.format_help()
    for command in COMMANDS:
        asked = build_parser({command})
        assert asked.format_help() == whole.format_help()
        said = []
        for parser in (whole, asked, build_parser({command}, {command})):
            with pytest.raises(SystemExit, match="0"):
                parser.parse_args([command, "--help"])
            with pytest.raises(SystemExit, match="2"):
                parser.parse_args([command, "a", "b", "c", "d", "--no-such-option"])
            said.append(capsys.readouterr())
        assert said == [said[0]] * 3 and all(said[0])
