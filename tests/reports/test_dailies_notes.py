"""What was said in dailies as Markdown and CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from samelight.decisions.decision import Decision, Grabbed, Verb
from samelight.reports.dailies_notes import COLUMNS, NoteLine, as_csv, as_markdown, lines_of
from samelight.sequence.crew import Crew

NOON = datetime(2026, 9, 14, 12, tzinfo=UTC)
CUT = ("B", "A", "C")


def decision(
    name: str,
    verb: Verb,
    shot: str,
    text: str,
    parameter: str = "",
    minutes: float = 0,
    batch: str = "",
    who: str = "lead",
) -> Decision:
    when = NOON + timedelta(minutes=minutes)
    return Decision(name, verb, shot, parameter, None, None, text, who, when, batch=batch)


SAID = [
    decision("1", Verb.NOTE, "A", "darker", minutes=-60),
    decision("2", Verb.RETURN, "A", "put it back", "lights.fill.position", batch="x"),
    decision("3", Verb.RETURN, "A", "put it back", "lights.fill.direction", batch="x"),
    decision("4", Verb.NOTE, "B", "good", minutes=1, who="ada"),
    decision("5", Verb.INTEND, "Z", "left the cut", "lights.rim.level", minutes=2),
]


def test_lines_are_in_cut_order_and_a_verdict_is_one() -> None:
    lines = lines_of(reversed(SAID), CUT)
    assert [(line.shot, line.what, line.parameters, line.text) for line in lines] == [
        ("B", "note", (), "good"),
        ("A", "note", (), "darker"),
        ("A", "sent back", ("lights.fill.position", "lights.fill.direction"), "put it back"),
        ("Z", "intended", ("lights.rim.level",), "left the cut"),
    ]


def test_only_what_was_said_since() -> None:
    # Decisions are timed to the second, so that what was said in the same second counts.
    lines = lines_of(SAID, CUT, NOON + timedelta(milliseconds=700))
    assert [line.text for line in lines] == ["good", "put it back", "left the cut"]


def test_markdown_as_it_reads() -> None:
    text = as_markdown("Dailies of Harbour", lines_of(SAID, CUT), timezone(timedelta(hours=2)))
    assert text == (
        "# Dailies of Harbour\n"
        "\n"
        "4 entries on 3 shots.\n"
        "\n"
        "## B\n"
        "\n"
        "- 2026-09-14 14:01, ada, **note**: good\n"
        "\n"
        "## A\n"
        "\n"
        "- 2026-09-14 13:00, lead, **note**: darker\n"
        "- 2026-09-14 14:00, lead, **sent back**: put it back\n"
        "  - lights.fill.position\n"
        "  - lights.fill.direction\n"
        "\n"
        "## Z\n"
        "\n"
        "- 2026-09-14 14:02, lead, **intended**: left the cut\n"
        "  - lights.rim.level\n"
    )
    assert as_markdown("T", []) == "# T\n\nNothing was said.\n"


def line(text: str, who: str = "lead") -> NoteLine:
    return NoteLine("A", NOON, who, "note", (), text)


def shown(markdown: str) -> list[str]:
    """The plain text of every block of a Markdown text; an HTML tag or a link in it would be another token."""
    blocks = []
    for token in MarkdownIt("commonmark").parse(markdown):
        assert token.type != "html_block"
        if token.type == "inline":
            assert {child.type for child in token.children or ()} <= {
                "text",
                "text_special",
                "strong_open",
                "strong_close",
            }
            blocks.append("".join(child.content for child in token.children or ()))
    return blocks


@given(st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=40))
@example("&amp; &lt; \\* *so* _so_ a_b __c__ `d` [e](f) <b> # 1. ~~g~~ ![h](i) <http://j>")
@example("1. first")
@example("- dash")
def test_what_was_typed_is_what_markdown_shows(text: str) -> None:
    typed = " ".join(text.split())
    if not typed:
        return
    said = shown(as_markdown("T", [line(text)], UTC))
    assert said[-1] == f"2026-09-14 12:00, lead, note: {typed}"


def rows(lines: Sequence[NoteLine]) -> list[list[str]]:
    return list(csv.reader(io.StringIO(as_csv(lines, UTC), newline="")))


def test_csv_as_a_spreadsheet_reads_it() -> None:
    assert rows(lines_of(SAID, CUT))[:4] == [
        list(COLUMNS),
        ["B", "2026-09-14T12:01:00+00:00", "ada", "note", "", "good", "", ""],
        ["A", "2026-09-14T11:00:00+00:00", "lead", "note", "", "darker", "", ""],
        [
            "A",
            "2026-09-14T12:00:00+00:00",
            "lead",
            "sent back",
            "lights.fill.position, lights.fill.direction",
            "put it back",
            "",
            "",
        ],
    ]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_no_field_is_a_formula(start: str) -> None:
    text = f'{start}HYPERLINK("http://x","y")'
    (row,) = rows([line(text, who=text)])[1:]
    # A tab or a line's end goes with the other space around a text, and what is left is looked at.
    safe = "'" + text if text == text.strip() else text.strip()
    assert (row[2], row[5]) == (safe, safe)


def test_a_formula_behind_a_tab_is_none_either_and_lines_become_one() -> None:
    texts = [row[5] for row in rows([line("\t=1+1"), line("first\nsecond")])[1:]]
    assert texts == ["'=1+1", "first second"]


@given(st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=30))
def test_every_field_comes_back_or_with_an_apostrophe_before_it(text: str) -> None:
    (row,) = rows([line(text)])[1:]
    typed = " ".join(text.split())
    assert row[5] in (typed, "'" + typed)
    assert not row[5].startswith(("=", "+", "-", "@"))


def test_what_was_said_stands_below_its_lighter() -> None:
    crew = Crew.of({"Ines": ("A",)}, CUT)
    lines = lines_of(SAID, CUT, crew=crew)
    headings = [said for said in as_markdown("T", lines, UTC).splitlines() if said.startswith("##")]
    assert headings == ["## Ines", "### A", "## Nobody", "### B", "### Z"]
    assert {line.lighter for line in lines if line.shot == "A"} == {"Ines"}


def test_the_frame_and_its_picture_stand_beside_what_was_said_as_plain_text() -> None:
    """Whatever the name of its file says."""
    seen = Grabbed(1025, "../../a|*b*\u202e<img src=x>.png")
    lines = lines_of([replace(decision("1", Verb.NOTE, "A", "darker"), seen=seen)], CUT)
    assert (
        rows(lines)[1][-1].startswith("frame 1025, picture ../../a|*b*")
        and "\u202e" not in rows(lines)[1][-1]
    )
    said = as_markdown("T", lines, UTC)
    assert "darker (frame 1025, picture " in said and "<img" not in said.replace("\\<img", "")
    assert "*b*" not in said.replace("\\*b\\*", "")
