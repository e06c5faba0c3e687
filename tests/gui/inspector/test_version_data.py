"""A parameter over the versions of a shot and of the master: what is plotted, and what is said."""

from __future__ import annotations

import doctest
import importlib
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from samelight.drift.cells import Grade
from samelight.gui.inspector.version_data import Past, VersionHistory, master_history, shot_history
from samelight.gui.state.cell_words import key_of, published_text
from samelight.sequence.session import Session, open_session
from samelight.sheets.sheet import Sheet

MakeSequence = Callable[..., Path]


def past(session: Session, shot: str) -> Past:
    paths = session.contents.versions[shot]
    sheets = {v: session.contents.read_sheet(path, shot, v) for v, path in paths.items()}
    return Past(sheets, {})


def of_shot(session: Session, shot: str, parameter: str) -> VersionHistory:
    row = session.table.row(parameter)
    assert row is not None
    reference = session.comparison.reference_sheets[shot]
    north = session.contents.sequence.conventions.north
    key = key_of(session, shot, reference)
    return shot_history(session.table.rows[row], past(session, shot), reference, key, north)


def of_master(session: Session, shot: str, parameter: str) -> VersionHistory:
    row = session.table.row(parameter)
    assert row is not None and session.contents.master is not None
    contents = session.contents
    return master_history(
        session.table.rows[row],
        contents.masters,
        session.contents.master,
        session.contents.sheets[shot],
        contents.sequence.key_shot,
        contents.sheets,
        session.contents.sequence.conventions.north,
    )


def test_the_sun_that_moved_in_its_second_version(harbour_session: Session) -> None:
    history = of_shot(harbour_session, "HB_060", "lights.sun.direction")
    assert [version.name for version in history.versions] == ["v001", "v002"]
    assert [version.grade for version in history.versions] == [Grade.SAME, Grade.BREAK]
    assert history.trace is not None
    assert history.trace.values == pytest.approx([0.0, 10.9592], abs=1e-3)
    assert (history.trace.low, history.trace.high) == (0.0, 0.5)
    assert history.versions[1].line == "v002: az 143.0° el 24.0°, 11.0°"
    assert history.versions[0].built_on == 2
    assert history.held == "master v003"


def test_a_level_is_plotted_in_stops_and_a_length_as_it_is(harbour_session: Session) -> None:
    level = of_master(harbour_session, "HB_060", "lights.bounce.level").trace
    assert level is not None
    # Master 1 to 2: +0.15 st; 2 to 3: +0.35 st.
    assert level.values == pytest.approx([-0.5, -0.35, 0.0], abs=1e-3)
    assert (level.master, level.low, level.high) == pytest.approx((0.0, -0.1, 0.1), abs=1e-9)
    assert level.unit == " st"
    length = of_shot(harbour_session, "HB_120", "render.gi.range").trace
    assert length is not None
    assert length.values.tolist() == [3.5, 350.0]
    assert (length.master, length.unit) == (3.5, " m")


def test_what_is_no_quantity_is_plotted_as_steps(make_sequence: MakeSequence) -> None:
    def sheet(on: bool) -> dict[str, object]:
        return {"render": {"gi": {"on": on}}}

    folder = make_sequence(master=sheet(True), shots={"QU_010": [sheet(True), sheet(False), sheet(True)]})
    trace = of_shot(open_session(folder), "QU_010", "render.gi.on").trace
    assert trace is not None
    assert trace.words == ("on", "off")
    assert trace.values.tolist() == [0.0, 1.0, 0.0]
    assert trace.master == 0.0


def test_more_texts_than_anyone_reads_make_no_plot_but_a_list(make_sequence: MakeSequence) -> None:
    versions = [{"render": {"gi": {"mode": f"mode {letter}"}}} for letter in "abcdefgh"]
    folder = make_sequence(master=versions[0], shots={"QU_010": versions})
    history = of_shot(open_session(folder), "QU_010", "render.gi.mode")
    assert history.trace is None
    assert [version.value for version in history.versions] == [f"mode {letter}" for letter in "abcdefgh"]


def test_a_light_that_came_later_is_not_there_before(harbour_session: Session) -> None:
    history = of_master(harbour_session, "HB_110", "lights.rim.colour")
    assert history.versions[0].value == "not there"
    assert history.trace is not None and np.isnan(history.trace.values[0])
    presence = of_master(harbour_session, "HB_110", "lights.rim").trace
    assert presence is not None
    assert [presence.words[int(place)] for place in presence.values] == ["not there", "present", "present"]


def test_the_version_that_the_grid_shows_is_what_the_grid_shows(harbour_session: Session) -> None:
    """Typed and computed rows alike: the newest version and the current master are the cell's two sides."""
    table, shot = harbour_session.table, "HB_180"
    column = table.column(shot)
    assert column is not None
    compared = 0
    for index, row in list(enumerate(table.rows))[::2]:
        cell = table.cell(index, column)
        if cell.grade is Grade.NONE:
            continue
        newest = of_shot(harbour_session, shot, row.parameter).versions[-1]
        assert newest.grade == cell.grade, row.parameter
        assert newest.severity == pytest.approx(table.severity[index, column], rel=1e-6), row.parameter
        master = of_master(harbour_session, shot, row.parameter).versions[-1]
        if cell.master is not None:
            assert master.grade in (Grade.SAME, Grade.NONE), row.parameter
        compared += 1
    assert compared > 50


def test_a_computed_row_says_what_each_master_would_give_this_shot(harbour_session: Session) -> None:
    """The bounce went from 0 to +0.15 to +0.5 stops, and the face gets that much more of it."""
    trace = of_master(harbour_session, "HB_060", "marks.face.level.bounce").trace
    assert trace is not None
    assert trace.values == pytest.approx([-0.5, -0.35, 0.0], abs=0.01)


def test_an_unreadable_version_keeps_its_place(harbour_session: Session) -> None:
    known = past(harbour_session, "HB_060")
    broken = Past({2: known.sheets[2]}, {1: "HB_060.v001.yaml:2: lighst"})
    row = harbour_session.table.row("lights.sun.direction")
    assert row is not None
    history = shot_history(
        harbour_session.table.rows[row],
        broken,
        harbour_session.contents.master,
        None,
        harbour_session.contents.sequence.conventions.north,
    )
    assert [version.number for version in history.versions] == [1, 2]
    assert history.versions[0].line == "v001: cannot be read: HB_060.v001.yaml:2: lighst"
    assert history.trace is not None and np.isnan(history.trace.values[0])


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        (
            {"by": "lead", "on": "2026-09-14", "from": "HB_040 v003"},
            "published 2026-09-14, by lead, from HB_040 v003",
        ),
        ("Friday, by lead", "published Friday, by lead"),
        ({"by": "lead", "ticket": 12}, "published by lead, ticket 12"),
        (None, ""),
    ],
)
def test_who_published_and_when_as_the_sheet_states_it(
    harbour_session: Session, stated: object, said: str
) -> None:
    sheet = harbour_session.contents.sheets["HB_060"]
    typed = {"published": stated} if stated is not None else {}
    assert published_text(Sheet(sheet.path, "HB_060", 2, 3, None, typed, {})) == said


@pytest.mark.parametrize("name", ["state.cell_words", "widgets.swatches", "plan.bars"])
def test_the_examples_in_docstrings(name: str) -> None:
    results = doctest.testmod(importlib.import_module(f"samelight.gui.{name}"))
    assert results.attempted > 0 and results.failed == 0


def test_what_is_said_and_plotted_needs_no_qt() -> None:
    """In a process of its own, since the tests have loaded Qt."""
    imports = "; ".join(
        f"import samelight.gui.{name}"
        for name in ("state.cell_words", "inspector.version_data", "inspector.many")
    )
    check = f"import sys; {imports}; sys.exit(any(name.startswith('PySide6') for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", check], check=False).returncode == 0
