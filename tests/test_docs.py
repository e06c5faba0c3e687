"""The pages that are made from the program are what it makes now, and every command explains itself."""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree

import pytest
import yaml

from samelight import __version__
from samelight.cli.completion import SHELLS
from samelight.cli.main import main
from samelight.cli.parser import build_parser
from samelight.sheets.resources import resource, sample_sequence
from samelight.sheets.sequence import read_sequence

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"


def load(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def commands() -> Mapping[str, argparse.ArgumentParser]:
    found = next(
        action for action in build_parser()._actions if isinstance(action, argparse._SubParsersAction)
    )
    return dict(found.choices)


def test_made_pages_are_up_to_date() -> None:
    pages: dict[str, str] = load(DOCS / "make.py").pages()
    for name, text in pages.items():
        assert (DOCS / name).read_text(encoding="utf-8") == text, (
            f"run python docs/make.py: {name} is out of date"
        )
    json.loads(pages["check.schema.json"])


def test_every_word_has_a_meaning() -> None:
    text = load(DOCS / "make.py").pages()["words.md"]
    rows = [line.strip("|").split(" | ") for line in text.splitlines() if line.startswith("| ")]
    assert all(all(cell.strip() for cell in row) for row in rows)
    names = {row[0].strip(" `") for row in rows}
    assert names > {"undecided", "contested", "marks.NAME.key_size", "count.NAME", "seen_by", "light_links"}


@pytest.mark.parametrize("name", commands())
def test_every_command_has_examples(name: str) -> None:
    command = commands()[name]
    assert command.description
    assert f"  samelight {name}" in (command.epilog or "")
    for action in command._actions:
        assert action.help, (name, action.dest)


@pytest.mark.parametrize("words", [["--help"], *([name, "--help"] for name in commands())])
def test_help_is_printed(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 0
    assert "samelight" in capsys.readouterr().out


def test_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--version"])
    assert capsys.readouterr().out == f"samelight {__version__}\n"
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == __version__


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_can_complete_every_command(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    for name in commands():
        assert name in script
    program = shutil.which(shell)
    if program is not None:
        done = subprocess.run([program, "-n"], input=script, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr


def test_the_hook_runs_the_check() -> None:
    [hook] = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    assert hook["id"] == "samelight-check"
    assert hook["entry"].split() == ["samelight", "check"]
    assert hook["pass_filenames"] is False
    pattern = re.compile(hook["files"])
    for path in (
        "harbour/shots/HB_010/HB_010.v002.yaml",
        "master/master.v001.json",
        "a/sequence.yaml",
        "policy.yaml",
    ):
        assert pattern.search(path), path
    for path in ("README.md", "shots/HB_010/notes.txt", "my_sequence.yaml"):
        assert not pattern.search(path), path


def test_the_icon_and_the_desktop_entry() -> None:
    icon = ElementTree.fromstring(resource("samelight.svg").read_text(encoding="utf-8"))
    colours = {element.get("fill") for element in icon.iter()} - {None}
    neutral = {colour for colour in colours if colour and colour[1:3] == colour[3:5] == colour[5:7]}
    assert len(colours - neutral) == 1  # one warm tone over greys
    bars = [float(bar.get("width", 0)) for bar in icon.iter("{http://www.w3.org/2000/svg}rect")][1:]
    assert len(bars) > 3 and len(set(bars)) == 1
    entry = resource("samelight.desktop").read_text(encoding="utf-8")
    assert "Exec=samelight %f" in entry and "Icon=samelight" in entry


def test_what_a_folder_is_built_from_is_there() -> None:
    build = load(ROOT / "resources" / "package" / "build_folder.py")
    words = build.words()
    for word in words:
        if word.startswith("--add-data="):
            assert Path(word.removeprefix("--add-data=").rpartition(os.pathsep)[0]).is_dir()
    assert Path(words[-1]).is_file()
    assert all(Path(part).exists() for trial in build.trials() for part in trial if os.sep in part)


_TYPED = re.compile(r"^ *(samelight .+)$|`(samelight [^ `]+ [^`…]+)`", re.MULTILINE)
_SAMPLES = {"harbour": "harbour", "landing": "landing", "mole": "mole", "quay": "quay_usd"}


def typed_in(page: Path) -> list[list[str]]:
    """The commands of a page, without what a shell makes of it: where the output goes, and what stands after it."""
    lines = (block or inline for block, inline in _TYPED.findall(page.read_text(encoding="utf-8")))
    lines = (re.split(r" > | >&|; | \[", line)[0] for line in lines)
    return [
        words for line in lines if (words := shlex.split(line, comments=True)[1:]) and words[0] in commands()
    ]


@pytest.mark.parametrize("page", [ROOT / "README.md", *sorted(DOCS.glob("*.md"))], ids=lambda page: page.name)
def test_the_program_takes_every_command_of_the_docs(page: Path) -> None:
    """And a set-up that one names is there in the sample that it names."""
    parser = build_parser()
    for words in typed_in(page):
        arguments = vars(parser.parse_args(words))
        if setup := arguments.get("setup"):
            assert setup in read_sequence(sample_sequence(_SAMPLES[arguments["folder"].name])).setups, words


def test_commands_are_found_in_the_docs() -> None:
    found = {
        page.name: {words[0] for words in typed_in(page)} for page in (ROOT / "README.md", *DOCS.glob("*.md"))
    }
    assert found["commands.md"] == set(commands())
    assert (
        found["README.md"] > {"check", "capture", "publish", "watch"}
        and "measure" in found["measured_frames.md"]
    )


def test_the_program_starts_as_a_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "samelight", "--version"],
        env={"PYTHONPATH": str(ROOT / "app"), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (0, f"samelight {__version__}\n")
