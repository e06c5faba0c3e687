"""Whatever a sheet holds that can be read, every finder looks at it; one that fails keeps no other from it."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from conftest import MakeSequence
from findings.drafts import as_sheet, draft, master_tree
from samelight.cli.main import main
from samelight.findings import registry
from samelight.findings.board import Board
from samelight.findings.finding import Finding
from samelight.findings.registry import FINDERS, find_all
from samelight.sequence.evidence import evidence_of
from samelight.sequence.session import open_session
from samelight.sheets import unforeseen
from samelight.sheets.errors import SheetError

ODD: dict[str, Any] = {
    "an empty group": {},
    "an empty list": [],
    "an empty text": "",
    "a text": "x",
    "yes": True,
    "zero": 0,
    "below zero": -1,
    "very large": 1e308,
    "very small": 1e-320,
    "infinite": "1e999",
    "one key": {"keys": [[1001, 1]]},
    "one key of three": {"keys": [[1001, [0, 0, 0]]]},
    "no keys": {"keys": []},
    "keys far apart": {"keys": [[1001, 1], [1002, 1e300]]},
    "three zeros": [0, 0, 0],
    "three very large": [1e300, 1e300, 1e300],
    "three below zero": [-1, -1, -1],
    "a unit": "900 K",
}


def with_a_mark() -> dict[str, Any]:
    tree = master_tree()
    tree["marks"] = {"face": {"position": [0.3, 1.62, 0.1], "normal": [0, 0, 1]}}
    tree["lights"]["lamp"]["intensity"] = {"keys": [[1001, 0.3], [1010, 0.4]]}
    return tree


def places(tree: dict[str, Any], above: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for key, value in tree.items():
        if above or key not in ("samelight", "version"):
            yield (*above, key)
            if isinstance(value, dict):
                yield from places(value, (*above, key))


def damaged(tree: dict[str, Any], place: tuple[str, ...], value: Any) -> dict[str, Any] | None:
    """A tree with another value in a place; None where that is no sheet that can be read."""
    tree = dict(tree)
    below = tree
    for key in place[:-1]:
        below[key] = dict(below[key])
        below = below[key]
    below[place[-1]] = value
    try:
        as_sheet(tree, "S_010")
    except SheetError:
        return None
    return tree


@pytest.mark.parametrize("odd", ODD)
def test_every_finder_looks_at_every_damaged_shot(odd: str) -> None:
    tree = with_a_mark()
    trees = [damaged(tree, place, ODD[odd]) for place in places(tree)]
    made = replace(draft(0, tree), derived=None)
    made.shots = {f"S_{number:03d}": found for number, found in enumerate(trees) if found is not None}
    assert len(made.shots) >= 1
    assert made.drawn().failures == ()


@pytest.mark.parametrize("odd", ["an empty group", "zero", "very large", "one key"])
def test_every_finder_looks_at_shots_of_a_damaged_master(odd: str) -> None:
    tree = with_a_mark()
    for place in places(tree):
        master = damaged(tree, place, ODD[odd]) if len(place) < 3 or place[1] in ("sun", "rim") else None
        if master is not None:
            made = replace(draft(3, tree), master={**master, "version": 3}, derived=None)
            assert made.drawn().failures == ()


@pytest.mark.parametrize("name", [name for name, _ in FINDERS])
def test_a_finder_that_fails_is_named_and_the_others_find_on(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = draft(6)
    made.shots["S_020"]["lights"]["rim"]["exposure"] = 9.5
    made.shots["S_030"]["render"]["gi"]["range"] = "350 m"
    whole = made.drawn()
    assert whole.failures == () and whole.findings

    def fails(board: Board) -> list[Finding]:
        raise RuntimeError("made to fail")

    monkeypatch.setattr(
        registry, "FINDERS", [(one, fails if one == name else finder) for one, finder in FINDERS]
    )
    rest = made.drawn()
    assert [failure.finding for failure in rest.failures] == [name]
    explained = {cell for finding in rest.findings for cell in finding.explained}
    if name != "unexplained":  # which tells what is left over
        assert explained == {cell for finding in whole.findings for cell in finding.explained}


def test_computed_cells_that_find_no_cause_leave_the_findings(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(board: Board, found: list[Finding]) -> list[Finding]:
        raise RecursionError

    made = draft(6)
    made.shots["S_020"]["lights"]["rim"]["exposure"] = 9.5
    whole = made.findings()
    monkeypatch.setattr(registry, "attach", fails)
    rest = made.drawn()
    assert rest.findings == whole
    assert [failure.finding for failure in rest.failures] == [registry.CONSEQUENCES]


def broken(board: Board) -> list[Finding]:
    raise ValueError("made to fail\nin two lines \x1b[31m")


@pytest.fixture
def _unit_slip_fails(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(unforeseen, "kept_errors", lambda: tmp_path / "log")
    finders = [(name, broken if name == "unit-slip" else finder) for name, finder in FINDERS]
    monkeypatch.setattr(registry, "FINDERS", finders)


@pytest.mark.usefixtures("_unit_slip_fails")
def test_check_tells_what_could_not_be_drawn_and_ends_with_2(
    harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(harbour), "--format", "json"]) == 2
    told = capsys.readouterr()
    (said,) = told.err.splitlines()
    assert said.startswith(
        "samelight: The finding 'unit-slip' could not be drawn: ValueError: made to fail in two lines "
    )
    assert "\x1b" not in said and "Traceback" not in told.out
    assert "could not be drawn" in told.out and "one-cause" in told.out
    (kept,) = (tmp_path / "log").iterdir()
    assert str(kept) in said
    assert "in broken" in kept.read_text(encoding="utf-8")
    if os.name == "posix":
        assert stat.S_IMODE(kept.stat().st_mode) == 0o600
        assert stat.S_IMODE(kept.parent.stat().st_mode) == 0o700


@pytest.mark.usefixtures("_unit_slip_fails")
def test_what_failed_is_told_once_and_no_longer_once_it_works(
    harbour: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = open_session(harbour)
    session.refresh_findings()
    assert [trouble.failed for trouble in session.troubles] == [True] and not session.whole
    assert len(list((tmp_path / "log").iterdir())) == 1
    monkeypatch.setattr(registry, "FINDERS", FINDERS)
    session.refresh_findings()
    assert session.troubles == [] and session.whole


def test_a_light_with_nothing_behind_its_name_stops_no_command(
    make_sequence: MakeSequence, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As a file that was cut off there has."""
    master = {"lights": {"sun": {"type": "distant", "intensity": 2, "color": [1, 0.5, 0.2]}}}
    folder = make_sequence(master=master, shots={"A": master, "B": master})
    sheet = "samelight: 2\nshot: B\nversion: 1\nlights:\n  sun:\n"
    (folder / "shots/B/B.v001.yaml").write_text(sheet, encoding="utf-8")
    assert main(["check", str(folder)]) == 2
    assert main(["check", str(folder), "--shots", "A"]) == 0
    for words in (
        ["plan", "--shots", "A"],
        ["report", "-o", str(tmp_path / "r.html"), "--shots", "A"],
        ["fix", "--shots", "A"],
    ):
        assert main([words[0], str(folder), *words[1:]]) == 0
    for command in (
        ["plan"],
        ["fix"],
        ["report", "--format", "csv"],
    ):  # what is said of all shots leaves B out
        capsys.readouterr()
        assert main([command[0], str(folder), *command[1:]]) == 2
        told = capsys.readouterr()
        assert "B is unreadable" in told.err
        assert told.out


def test_every_finder_looks_at_a_table_whose_sheets_have_gone(harbour: Path) -> None:
    evidence = evidence_of(open_session(harbour).cases)
    assert find_all(replace(evidence, sheets={})).failures == ()
