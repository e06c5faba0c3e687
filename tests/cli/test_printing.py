"""Results that are printed as they come are what they were when they were built first."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from samelight.cli import terminal
from samelight.cli.listed import Listed, listed_cells, named_cells
from samelight.cli.main import main
from samelight.cli.terminal import print_json
from samelight.decisions.state import State
from samelight.drift.cells import ComparedCell, Grade
from samelight.reports.as_junit import junit_text
from samelight.reports.as_text import print_check
from samelight.reports.report import ReportLine, ShotPart, make_report, shot_parts
from samelight.sequence.session import Session, open_session

values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda below: st.lists(below, max_size=3) | st.dictionaries(st.text(max_size=3), below, max_size=3),
    max_leaves=8,
)


def printed(data: dict[str, Any], encoding: str) -> str:
    raw = io.BytesIO()
    out = io.TextIOWrapper(
        raw, encoding=encoding, errors="surrogatepass" if encoding == "utf-8" else "strict"
    )
    with redirect_stdout(out):
        print_json(data)
    out.flush()
    return raw.getvalue().decode(encoding, "surrogatepass" if encoding == "utf-8" else "strict")


@given(st.dictionaries(st.text(max_size=3), values, max_size=4), st.lists(values, max_size=4))
def test_json_in_pieces_is_json(data: dict[str, Any], items: list[Any]) -> None:
    whole = {**data, "cells": items, "last": 1}
    in_pieces = {**whole, "cells": iter(items)}
    assert printed(in_pieces, "ascii") == json.dumps(whole, indent=1) + "\n"
    assert printed(in_pieces | {"cells": iter(items)}, "utf-8") == printed(whole, "utf-8")
    assert json.loads(printed(whole, "utf-8")) == whole


@pytest.mark.parametrize("data", [{}, {"cells": iter(())}, {"cells": []}])
def test_json_of_nothing(data: dict[str, Any]) -> None:
    wanted: dict[str, list[object]] = {key: [] for key in data}
    assert printed(data, "utf-8") == json.dumps(wanted, indent=1) + "\n"


def test_text_that_hides_nothing_is_not_looked_at_character_by_character(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    looked: list[str] = []

    def looking(one: str) -> str:
        looked.append(one)
        return one

    monkeypatch.setattr(terminal, "_escaped_character", looking)
    told = {"says": "the key is 0.3 stops darker: −0.3 st, at az 90.0°", "cells": [], "more": {"none": None}}
    assert printed(told, "utf-8") == json.dumps(told, indent=1, ensure_ascii=False) + "\n"
    assert looked == []
    printed({"says": "a\u202eb"}, "utf-8")
    assert "\u202e" in looked


def test_json_says_what_would_steer_a_terminal_in_other_words() -> None:
    data = {"title": "a\x1b[31m\x7f\u202e\u2028é\U000e0001"}
    text = printed(data, "utf-8")
    assert text == '{\n "title": "a\\u001b[31m\\u007f\\u202e\\u2028é\\udb40\\udc01"\n}\n'
    assert json.loads(text) == data


@pytest.fixture
def session(harbour: Path) -> Session:
    return open_session(harbour)


def as_listed(session: Session, above: Grade) -> list[tuple[ComparedCell, State]]:
    """The plain way."""
    table, found = session.table, []
    for cell in table.cells(above):
        row, column = table.row(cell.parameter), table.column(cell.shot)
        assert row is not None and column is not None
        found.append((cell, session.cases.state(row, column)))
    return found


@pytest.mark.parametrize("above", [Grade.NONE, Grade.SAME, Grade.DRIFT])
def test_listed_cells(session: Session, above: Grade) -> None:
    wanted = as_listed(session, above)
    listed = listed_cells(session, above, session.contents.shots)
    assert repr(list(listed)) == repr(wanted)
    assert (len(listed), repr(listed[1]), repr(listed[-3:])) == (
        len(wanted),
        repr(wanted[1]),
        repr(wanted[-3:]),
    )
    some = listed_cells(session, above, ["HB_120", "HB_050"])
    assert repr(list(some)) == repr([(c, s) for c, s in wanted if c.shot in ("HB_050", "HB_120")])
    assert listed.unsettled_at(Grade.BREAK) and not listed.none().unsettled_at(Grade.WITHIN)
    intended = listed.only(state is State.INTENDED for _, state in listed)
    assert repr(list(intended)) == repr([(c, s) for c, s in wanted if s is State.INTENDED]) != "[]"
    assert list(listed.none()) == []
    names = [(cell.shot, cell.parameter) for cell, _ in wanted[::7]]
    named = Listed(session, named_cells(session, [*names, ("HB_999", "x"), ("HB_010", "x")]))
    assert [(cell.shot, cell.parameter) for cell, _ in named] == names


@pytest.mark.parametrize("form", ["text", "json", "junit"])
def test_a_check_makes_each_cell_when_it_prints_it(
    harbour: Path, monkeypatch: pytest.MonkeyPatch, form: str
) -> None:
    """No more of them are there at any time than a few, whatever is listed."""
    from samelight.drift import table

    alive: set[int] = set()
    most = 0

    class Counted(ComparedCell):
        def __new__(cls, *given: Any, **named: Any) -> Counted:
            nonlocal most
            made = super().__new__(cls, *given, **named)
            alive.add(id(made))
            most = max(most, len(alive))
            return made

        def __del__(self) -> None:
            alive.discard(id(self))

    monkeypatch.setattr(table, "ComparedCell", Counted)
    monkeypatch.setattr("samelight.cli.listed._AT_A_TIME", 8)
    with redirect_stdout(io.StringIO()):
        main(["check", str(harbour), "--all", "--format", form])
    assert 0 < most < 100


def test_text_without_colour_is_the_text_with_it(session: Session) -> None:
    said = []
    for colour in (None, "truecolor"):
        out = io.StringIO()
        console = Console(file=out, color_system=colour, force_terminal=colour is not None, width=40)
        cells = listed_cells(session, Grade.NONE, session.contents.shots[::3])
        print_check(console, "Harbour", 3, cells, session.cases.findings, session.table.counts())
        said.append(Console(file=io.StringIO(), width=10**6).render_str(out.getvalue()).plain)
    assert _without_styles(said[1]) == said[0]


def _without_styles(text: str) -> str:
    from rich.text import Text

    return "\n".join(Text.from_ansi(line).plain for line in text.split("\n"))


def test_a_report_is_of_the_shots_that_come_one_by_one(session: Session) -> None:
    from datetime import datetime

    report = make_report(session, made=datetime(2026, 1, 1))
    parts = shot_parts(session, session.contents.shots)
    assert isinstance(parts, Iterator)
    found: list[ShotPart] = list(parts)
    assert repr(found) == repr(list(report.shots))
    assert all(isinstance(line, ReportLine) for part in found for line in part.lines)
    assert junit_text(report).count("<testcase ") == len(found)
