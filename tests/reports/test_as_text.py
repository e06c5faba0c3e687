"""The result of a check as lines for a terminal."""

from __future__ import annotations

import io
import math
import unicodedata
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from samelight.decisions.state import State
from samelight.drift.cells import ComparedCell, Grade
from samelight.findings.finding import Finding
from samelight.reports.as_text import print_check
from samelight.reports.shown import HIDDEN, clean
from samelight.sheets.values import Level

COUNTS = {"same": 7, "within": 1, "drift": 2, "break": 3}


def cell(shot: str = "A", parameter: str = "lights.rim.level", **more: Any) -> ComparedCell:
    given: dict[str, Any] = {
        "kind": "level",
        "value_kind": "level",
        "master": Level(1.0),
        "value": Level(2.0),
        "drift": 1.0,
        "unit": "stops",
        "tolerance": 0.1,
        "grade": Grade.DRIFT,
    }
    return ComparedCell(shot, parameter, **{**given, **more})


def printed(
    *cells: tuple[ComparedCell, State],
    findings: tuple[Finding, ...] = (),
    master: int | None = 3,
    **more: Any,
) -> str:
    file = io.StringIO()
    console = Console(file=file, highlight=False, markup=False, emoji=False, **more)
    print_check(console, "Quay", master, cells, findings, COUNTS)
    return file.getvalue()


def test_columns_stand_under_each_other() -> None:
    text = printed(
        (cell(), State.UNDECIDED),
        (cell("LONG_010", "x.y", grade=Grade.BREAK, drift=-12.5), State.INTENDED),
        (cell(drift=math.nan, value=None, remark="absent"), State.SENT_BACK),
    )
    assert text.splitlines() == [
        "Quay, against master 3",
        "shot      parameter         master  value     drift  level  state",
        "A         lights.rim.level  1       2      +1.00 st  drift  undecided",
        "LONG_010  x.y               1       2      −12.5 st  break  intended",
        "A         lights.rim.level  1       none     absent  drift  sent back",
        "7 same, 1 within, 2 drift, 3 break",
    ]


def test_nothing_to_list() -> None:
    assert printed().splitlines() == ["Quay, against master 3", "7 same, 1 within, 2 drift, 3 break"]
    assert printed(master=None).splitlines()[0] == "Quay, no master setup to compare with"


def test_findings_come_first_with_what_to_do() -> None:
    finding = Finding("old-master", "B stands on master 2.", ("B",), ("x.y",), do="Adopt master 3.")
    assert printed(findings=(finding,)).splitlines()[1:3] == ["• B stands on master 2.", "  Adopt master 3."]


def test_wide_characters_keep_the_columns() -> None:
    lines = printed((cell("港_010"), State.UNDECIDED), (cell("AB_0100"), State.UNDECIDED)).splitlines()
    assert lines[2].startswith("港_010   lights")
    assert lines[3].startswith("AB_0100  lights")


def test_a_line_is_never_folded() -> None:
    text = printed((cell(parameter="lights." + "x" * 300), State.UNDECIDED), width=40)
    assert len(text.splitlines()) == 4


def test_markup_in_a_name_is_text() -> None:
    assert "[bold red]rim[/]" in printed((cell(parameter="[bold red]rim[/]"), State.UNDECIDED))


def test_colours_on_a_terminal() -> None:
    shown: dict[str, Any] = {"force_terminal": True, "color_system": "standard", "no_color": False}
    text = printed((cell(grade=Grade.BREAK), State.UNDECIDED), **shown)
    assert "\x1b[1;31mbreak" in text


@given(st.text())
def test_clean_keeps_what_can_be_seen_and_nothing_that_steers(text: str) -> None:
    cleaned = clean(text)
    assert len(cleaned) == len(text)
    assert not any(unicodedata.category(character) in HIDDEN for character in cleaned)
    for before, after in zip(text, cleaned, strict=True):
        assert after == (before if unicodedata.category(before) not in HIDDEN else "�")


def test_what_steers_a_terminal() -> None:
    hostile = "\x1b[31m \x9b31m \x07 \r \n \t \u202e \u2066 \u200f \u200b \u2028 \ufeff \U000e0041"
    assert set(clean(hostile)) == set("�[31m ")
