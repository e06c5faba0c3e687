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
from samelight.drift.rows import ExtraRow
from samelight.sequence.contents import SheetStore, read_contents
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Level

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


def with_group(sheet: Sheet, section: str, name: str, group: Mapping[str, Any] | None) -> Sheet:
    """The sheet with a group of its own, or without that group."""
    groups = {other: of for other, of in sheet.sections[section].items() if other != name}
    return replace(
        sheet, sections={**sheet.sections, section: groups if group is None else {**groups, name: group}}
    )


def test_of_a_sequence_in_which_a_sheet_is_another_one_its_rows_alone_are_worked_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    contents = read_contents(SheetStore(sample_sequence("harbour")))
    shots, sheets, master = contents.shots[8:12], contents.sheets, there(contents.master)
    key, other = sheets["HB_040"], sheets[shots[2]]
    computed_once.derived_rows(shots, sheets, master, key)
    lights, marks = other.sections["lights"], other.sections["marks"]
    light, mark = next(iter(lights)), next(iter(marks))
    changes = {
        "a light away": with_group(other, "lights", light, None),
        "a light more": with_group(other, "lights", "one_more", lights[light]),
        "all lights away": replace(other, sections={**other.sections, "lights": {}}),
        "all marks away": replace(other, sections={**other.sections, "marks": {}}),
        "dark": with_group(other, "lights", light, {**lights[light], "level": Level(0.0)}),
        "a mark elsewhere": with_group(other, "marks", mark, {**marks[mark], "position": (9.0, 1.0, 3.0)}),
        "a mark more": with_group(other, "marks", "one_more", marks[mark]),
    }
    asked: dict[str, list[int]] = {what: [] for what in changes}
    all_of_them = derived.derived_rows

    for what, sheet in changes.items():

        def noting(shots: Sequence[str], *rest: Any, what: str = what) -> list[ExtraRow]:
            asked[what].append(len(shots))
            return all_of_them(shots, *rest)

        now = shots, {**sheets, shots[2]: sheet}, master, key
        anew = all_of_them(*now)
        with monkeypatch.context() as patch:
            patch.setattr(derived, "derived_rows", noting)
            patch.setitem(computed_once.AS_WRITTEN, "derived_rows", noting)
            assert computed_once.derived_rows(*now) == anew, what
    assert asked == {what: [1, len(shots)] if what == "a mark more" else [1] for what in changes}
