"""What tests take for computed rows is what the program computes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn

import pytest

import computed_once
from conftest import MakeSequence
from known import there
from samelight.drift.computed import derived
from samelight.drift.computed.attempts import NotComputed
from samelight.sequence.contents import SheetStore, read_contents
from samelight.sheets.sheet import Sheet

LIGHT: dict[str, Any] = {"type": "point", "position": [0, 3, 1], "intensity": 2}
TREE = {"lights": {"key": LIGHT}, "marks": {"face": {"position": [0, 1.6, 0], "normal": [0, 0, 1]}}}


def test_equal_sheets_have_the_rows_that_were_worked_out_and_others_their_own(
    make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch
) -> None:
    def asked(folder: Path) -> tuple[Sequence[str], Mapping[str, Sheet], Sheet | None, None]:
        contents = read_contents(SheetStore(folder))
        return contents.shots, contents.sheets, contents.master, None

    first = asked(make_sequence("a", master=TREE, shots={"A": TREE}))
    rows = computed_once.derived_rows(*first)
    assert rows == derived.derived_rows(*first) and rows
    again = asked(make_sequence("b", master=TREE, shots={"A": TREE}))
    known = computed_once.derived_rows(*again)
    assert list(map(id, known)) == list(map(id, rows))
    brighter = {**TREE, "lights": {"key": {**LIGHT, "intensity": 4}}}
    for other in (
        asked(make_sequence("c", master=TREE, shots={"A": brighter})),
        asked(make_sequence("d", master=brighter, shots={"A": TREE})),
        (*first[:3], replace(there(first[2]), shot="A")),
    ):
        assert computed_once.derived_rows(*other) == derived.derived_rows(*other)

    def fails(*_: object) -> NoReturn:
        raise ZeroDivisionError

    failed: list[NotComputed] = []
    monkeypatch.setattr(derived, "_count_row", fails)
    assert computed_once.derived_rows(*first, failed=failed) != rows
    assert len(failed) == 1
