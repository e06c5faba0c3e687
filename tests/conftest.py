"""What all tests share: no window on a machine without a display, none of the user's own settings, sequences to open."""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable, Generator, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

import computed_once
from samelight.sheets.garbage import set_aside, without_collection
from samelight.sheets.writing import write_sheet, write_whole, yaml_text
from samples import copy_of
from thoroughness import HYPOTHESIS_OWN

# Qt reads these once, when it is first imported, so they are set before any test module is.
if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
    os.environ["QT_QPA_PLATFORM"] = os.environ.get("QT_QPA_PLATFORM") or "offscreen"
os.environ.pop("OCIO", None)  # frames are seen by the sRGB curve
_HOME = Path(tempfile.mkdtemp(prefix="samelight-tests-"))
for _name in (
    "HOME",
    "USERPROFILE",
    "APPDATA",
    "LOCALAPPDATA",
    "XDG_CONFIG_HOME",
    "XDG_CACHE_HOME",
    "XDG_DATA_HOME",
    "XDG_STATE_HOME",
):
    _folder = _HOME if _name in ("HOME", "USERPROFILE") else _HOME / _name.lower()
    _folder.mkdir(exist_ok=True)
    os.environ[_name] = str(_folder)

# A run in the background ignores Ctrl+C, and every program that it starts would too.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# A machine shared with others is slow at times, and that fails no test. What one machine tries with the ordinary profile
# each other tries too; `--hypothesis-profile=thorough` tries other and more examples at each run.
settings.register_profile("thorough", deadline=None, max_examples=HYPOTHESIS_OWN)
settings.register_profile("ordinary", deadline=None, max_examples=15, derandomize=True, database=None)
settings.load_profile("ordinary")

Tree = Mapping[str, Any]
MakeSequence = Callable[..., Path]


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add what tests are asked for beside their names."""
    parser.addoption(
        "--planted",
        type=int,
        default=0,
        metavar="N",
        help="plant every kind of cause N times, and print how each was told",
    )
    parser.addoption(
        "--damaged",
        type=int,
        default=0,
        metavar="N",
        help="read so many damaged files of each kind, and tell of it",
    )


TAKE_LONGEST = (
    "gui/screenshots",
    "gui/widgets/test_plain_text.py",
    "gui/traces/test_alignment.py",
    "gui/review",
    "test_same_everywhere.py",
    "whole_film",
    "gui",
    "cli",
    "sources",
    "findings",
)
"""What is begun first, so that no process works on alone at the end; the others follow as they stand."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put first what takes longest; the order within a file stays."""
    here = Path(__file__).parent
    places = [here / each for each in TAKE_LONGEST]

    def rank(path: Path) -> int:
        return next((n for n, place in enumerate(places) if path.is_relative_to(place)), len(places))

    ranks = {path: rank(path) for path in {item.path for item in items}}
    items.sort(key=lambda item: ranks[item.path])


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Search for no garbage in thousands of tests, neither while they are collected nor after: a search takes a tenth of a second."""
    with without_collection():
        done = yield
    set_aside()
    return done


@pytest.fixture(scope="session", autouse=True)
def _what_was_collected_stays_aside() -> Iterator[None]:
    """A film that is opened would take it back. Tests of that hand the session functions of their own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("samelight.sequence.session.set_aside", lambda: None)
        patch.setattr("samelight.sequence.session.take_back", lambda: None)
        yield


@pytest.fixture(scope="session", autouse=True)
def _equal_sheets_are_computed_once() -> Iterator[None]:
    """Tests of computed rows call `derived` themselves."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("samelight.sequence.references.derived_rows", computed_once.derived_rows)
        yield


@pytest.fixture(scope="session", autouse=True)
def _home_of_the_tests() -> Iterator[None]:
    yield
    shutil.rmtree(_HOME, ignore_errors=True)


@pytest.fixture(scope="session", autouse=True)
def _no_test_waits_for_a_disk() -> Iterator[None]:
    """That files are flushed to it is seen by tests that put something of their own in this place."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda handle: None)
        yield


@pytest.fixture
def readers_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    """The child process that reads scenes for a command goes on to those of the next one, as it does to the next scene. For
    tests of what is read; those of processes leave it alone."""
    monkeypatch.setattr("samelight.cli.workers.end_children", lambda: None)


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """A copy of the sample sequence that a test may change."""
    return copy_of("harbour", tmp_path / "harbour")


@pytest.fixture
def undecided_harbour(tmp_path: Path) -> Path:
    """The same before anyone decided anything."""
    return copy_of("harbour", tmp_path / "harbour", decided=False)


@pytest.fixture
def make_sequence(tmp_path: Path) -> MakeSequence:
    """Writes a small sequence and returns its folder; see `write_sequence`."""

    def make(name: str = "quay", **parts: Any) -> Path:
        return write_sequence(tmp_path / name, **parts)

    return make


def write_sequence(
    folder: Path,
    *,
    master: Tree | list[Tree] | None = None,
    shots: Mapping[str, Tree | list[Tree]] | None = None,
    policy: Tree | None = None,
    sequence: Tree | None = None,
) -> Path:
    """Write a sequence folder of plain trees and return it.

    `master` and each of `shots` is a sheet's tree, or a list of them as versions 1, 2 and so on; `samelight`, `shot`
    and `version` are filled in. `sequence` adds to sequence.yaml, whose cut is the shots in the given order.
    """
    shots = shots or {}
    stated = {"samelight_sequence": 2, "title": folder.name, "cut": list(shots), **(sequence or {})}
    write_whole(folder / "sequence.yaml", yaml_text(stated))
    if policy is not None:
        write_whole(folder / "policy.yaml", yaml_text({"samelight_policy": 2, **policy}))
    for version, tree in _versions(master):
        write_sheet(
            folder / f"master/master.v{version:03d}.yaml", {"samelight": 2, "version": version, **tree}
        )
    for shot, trees in shots.items():
        for version, tree in _versions(trees):
            path = folder / f"shots/{shot}/{shot}.v{version:03d}.yaml"
            write_sheet(path, {"samelight": 2, "shot": shot, "version": version, **tree})
    return folder


def _versions(trees: Tree | list[Tree] | None) -> list[tuple[int, Tree]]:
    if trees is None:
        return []
    return list(enumerate(trees if isinstance(trees, list) else [trees], 1))
