"""Two saved checks against each other, and saved checks that are none."""

from __future__ import annotations

import copy
import json
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.reports.compare import SavedCheck, compared, comparison_lines, read_check, same_values
from samelight.sheets.errors import SheetError

SUN = {
    "shot": "HB_050",
    "parameter": "lights.sun.direction",
    "kind": "direction",
    "master": "az 131.0° el 24.0°",
    "value": "az 143.0° el 24.0°",
    "drift": 10.96,
    "unit": "deg",
    "tolerance": 0.5,
    "level": "break",
    "state": "undecided",
}


def cell(**changes: Any) -> dict[str, Any]:
    return {**SUN, **changes}


def saved(
    *cells: dict[str, Any], shots: tuple[str, ...] | None = ("HB_050", "HB_060"), master: int = 3
) -> SavedCheck:
    return SavedCheck("Harbour", master, shots, {(one["shot"], one["parameter"]): one for one in cells})


def test_what_is_gone_or_inside_its_tolerance_was_mended() -> None:
    for after in (saved(), saved(cell(level="within", drift=0.3))):
        found = compared(saved(SUN), after)
        assert (found.mended, found.new, found.moved, found.unchanged) == ((SUN,), (), (), 0)
        assert not found.is_worse


def test_what_was_not_there_is_new() -> None:
    for before in (saved(), saved(cell(level="within", drift=0.3))):
        found = compared(before, saved(SUN))
        assert (found.new, found.mended) == ((SUN,), ())
        assert found.is_worse
    assert not compared(saved(), saved(cell(state="intended"))).is_worse


@pytest.mark.parametrize(
    ("drift", "unit", "way"),
    [
        (5.0, "deg", "nearer"),
        (20.0, "deg", "further off"),
        (-10.96, "deg", "otherwise"),
        (None, "deg", "otherwise"),
    ],
)
def test_what_drifts_otherwise_has_moved(drift: float | None, unit: str, way: str) -> None:
    after = cell(drift=drift, unit=unit, value="elsewhere")
    found = compared(saved(SUN), saved(after))
    assert found.moved == ((SUN, after),)
    assert f"{way} than before" in comparison_lines(saved(SUN), saved(after), found)[1]


def test_a_count_is_nearer_when_its_ratio_is_nearer_to_one() -> None:
    before, after = cell(unit="x", drift=0.25, value="24"), cell(unit="x", drift=2.0, value="192")
    found = compared(saved(before), saved(after))
    assert "nearer than before" in comparison_lines(saved(before), saved(after), found)[1]


def test_what_was_decided() -> None:
    after = cell(state="intended")
    found = compared(saved(SUN), saved(after))
    assert (found.decided, found.unchanged) == (((SUN, after),), 0)
    assert not found.is_worse


def test_shots_that_only_one_looked_at_are_not_compared() -> None:
    old = saved(SUN, shots=("HB_050",))
    new = saved(cell(shot="HB_060"), shots=("HB_060",))
    found = compared(old, new)
    assert (found.mended, found.new) == ((), ())
    assert (found.only_old, found.only_new) == (("HB_050",), ("HB_060",))
    # A file that does not say which shots it looked at is taken to have looked at all.
    assert compared(saved(SUN, shots=None), saved(shots=None)).mended == (SUN,)


def test_another_master_is_said() -> None:
    lines = comparison_lines(saved(master=2), saved(), compared(saved(master=2), saved()))
    assert "The master was version 2 and is version 3." in lines


def test_the_last_digits_do_not_count() -> None:
    assert same_values(SUN, cell(drift=10.96 * (1 + 1e-12)))
    assert not same_values(SUN, cell(drift=10.97))
    assert not same_values(SUN, cell(level="drift"))
    assert not same_values(SUN, cell(drift=None))


levels = st.sampled_from(["within", "drift", "break"])
cells = st.builds(
    cell,
    shot=st.sampled_from(["HB_050", "HB_060"]),
    parameter=st.sampled_from(["a.b.c", "d.e.f", "g.h.i"]),
    level=levels,
    drift=st.sampled_from([1.0, 2.0, None]),
    state=st.sampled_from(["undecided", "intended"]),
)
checks = st.lists(cells, max_size=6).map(lambda found: saved(*found))


@given(checks, checks)
def test_every_cell_is_counted_once_and_swapping_swaps(old: SavedCheck, new: SavedCheck) -> None:
    there, back = compared(old, new), compared(new, old)
    off = [cell for cell in new.cells.values() if cell["level"] in ("drift", "break")]
    assert len(there.new) + len(there.moved) + len(there.decided) + there.unchanged == len(off)
    assert {id(one) for one in there.new} == {id(one) for one in back.mended}
    assert there.unchanged == back.unchanged
    assert compared(old, old).unchanged == len(
        [one for one in old.cells.values() if one["level"] in ("drift", "break")]
    )


@pytest.fixture
def monday(harbour: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    assert main(["check", str(harbour), "--format", "json"]) == 1
    path = tmp_path / "monday.json"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    return path


def test_the_command(harbour: Path, monday: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(monday), str(monday)]) == 0
    assert "0 mended, 0 new, 0 moved, 0 decided" in capsys.readouterr().out
    main(["fix", str(harbour), "--shots", "HB_120", "--sheet", "--write"])
    main(["report", str(harbour), "-o", str(harbour / "friday.json")])
    capsys.readouterr()
    assert main(["compare", str(monday), str(harbour / "friday.json")]) == 0
    out = capsys.readouterr().out
    assert out.splitlines()[0].startswith("Harbour: 1 mended, 0 new")
    assert "mended  HB_120  render.gi.range  350 m for 3.5 m (9900 %), break" in out
    assert main(["compare", str(harbour / "friday.json"), str(monday), "--format", "json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [one["parameter"] for one in data["new"]] == ["render.gi.range"]
    assert data["masters"] == [3, 3]


WHOLE: dict[str, Any] = {
    "samelight": 2,
    "sequence": "x",
    "master": 1,
    "cells": [SUN],
    "findings": [],
    "counts": {},
    "troubles": [],
}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (b"", "malformed JSON"),
        (b"[1, 2", "malformed JSON"),
        (b"\xff\xfe", "malformed JSON"),
        (b"[" * 100_000, "malformed JSON"),
        (b"[]", "expected what samelight check --format json prints"),
        ({"samelight": 3}, "expected format version 2, found version 3, of a newer program"),
        ({"cells": {}}, "cells: expected a list of cells"),
        ({"production": "town"}, "expected the check of one sequence, found that of a production"),
        ({"cells": [3]}, "cells[0]: expected a cell, found 3"),
        ({"cells": [SUN, {**SUN, "shot": 4}]}, "cells[1].shot: expected text, found 4"),
        ({"cells": [{**SUN, "drift": "far"}]}, "cells[0].drift: expected a number, or null"),
        ({"cells": [{**SUN, "drift": True}]}, "cells[0].drift"),
        ({"shots": "HB_050"}, "shots: expected a list of names"),
    ],
)
def test_files_that_are_no_check(tmp_path: Path, change: bytes | dict[str, Any], says: str) -> None:
    path = tmp_path / "old.json"
    path.write_bytes(change if isinstance(change, bytes) else json.dumps({**WHOLE, **change}).encode())
    with pytest.raises(SheetError) as caught:
        read_check(path)
    assert str(path) in str(caught.value) and says in str(caught.value)


def test_a_file_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(tmp_path / "a.json"), str(tmp_path / "b.json")]) == 2
    assert "No such file" in capsys.readouterr().err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are POSIX")
@pytest.mark.parametrize("word", ["--since", "--baseline"])
def test_a_pipe_or_a_device_is_no_saved_check(
    make_sequence: MakeSequence, tmp_path: Path, capsys: pytest.CaptureFixture[str], word: str
) -> None:
    folder, pipe, link = make_sequence(), tmp_path / "pipe.json", tmp_path / "link.json"
    os.mkfifo(pipe)
    link.symlink_to("/dev/zero")
    for path in (pipe, link):
        assert main(["check", str(folder), word, str(path)]) == 2
        assert f"{path}: expected what samelight check --format json prints, found a pipe or a device" in (
            capsys.readouterr().err
        )


def test_a_saved_check_has_a_largest_size(tmp_path: Path) -> None:
    path = tmp_path / "old.json"
    with path.open("wb") as file:
        file.truncate(40 * 2**30)
    with pytest.raises(SheetError, match=r"expected at most 512 MiB, found 40\.0 GiB"):
        read_check(path)


def test_what_is_read_is_what_was_written(tmp_path: Path) -> None:
    path = tmp_path / "old.json"
    path.write_text(json.dumps(WHOLE), encoding="utf-8")
    found = read_check(path)
    assert found == SavedCheck("x", 1, None, {("HB_050", "lights.sun.direction"): copy.deepcopy(SUN)})
