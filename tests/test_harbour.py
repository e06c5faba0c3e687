"""The sample sequences hold exactly the mistakes that their READMEs list, and the tool finds each, with its figure.

Only what a sheet states is looked at here; rows that are computed from it (`marks`, `rays`, `sky`) and findings are
tested where they are made.
"""

from __future__ import annotations

import math
from collections import Counter
from pathlib import Path
from statistics import median

import pytest

from known import about
from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import ComparedCell, Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.resources import sample_sequence
from samelight.sheets.vocabulary import COMPARED_SECTIONS

GREAT_CIRCLE = 10.96  # 12 degrees of azimuth at 24 of elevation: 2 asin(cos 24 sin 6)

OUTSIDE: dict[str, dict[str, tuple[float | str, str]]] = {
    # 1. The sun was moved, and alike in all four.
    "HB_050": {"lights.sun.direction": (GREAT_CIRCLE, "break")},
    "HB_060": {"lights.sun.direction": (GREAT_CIRCLE, "break")},
    "HB_070": {"lights.sun.direction": (GREAT_CIRCLE, "break")},
    "HB_080": {"lights.sun.direction": (GREAT_CIRCLE, "break")},
    # 2. GI range 350 for 3.5 m.
    "HB_120": {"render.gi.range": (9900.0, "break")},
    # 3. Still on master 2.
    "HB_150": {
        "lights.bounce.level": (-0.35, "drift"),
        "lights.lantern_spot.colour": (9.4, "drift"),
        "environments.dawn_sky.level": (-0.19, "break"),
        "environments.dawn_sky.rotation": (-6.0, "break"),
        "render.volume.samples": (0.667, "drift"),
    },
    # 4. The lantern spot follows the boatman.
    "HB_090": {"lights.lantern_spot.position": (0.55, "drift")},
    "HB_100": {"lights.lantern_spot.position": (0.81, "drift")},
    # 5. Window fill knocked.
    "HB_180": {
        "lights.window_fill.position": (0.60, "drift"),
        "lights.window_fill.direction": (4.52, "drift"),
    },
    # 6. GI rays lost the sky, and the sound way round it.
    "HB_130": {"environments.dawn_sky.seen_by": (1.0, "break")},
    "HB_140": {
        "environments.dawn_sky.seen_by": (1.0, "break"),
        "environments.dawn_sky_indirect": ("extra", "drift"),
    },
    # 7. boat_lamp is called boat_lamp1.
    "HB_200": {"lights.boat_lamp": ("absent", "drift"), "lights.boat_lamp1": ("extra", "drift")},
    # 8. Volume samples fell back to the default: a twelfth.
    "HB_160": {"render.volume.samples": (1 / 12, "drift")},
    # 9. A surface link that points at nothing: one lost, one added.
    "HB_210": {"surfaces.nets.assigned_to": (2.0, "drift")},
    # 12. Rim a shade warmer.
    "HB_110": {"lights.rim.colour": (4.0, "drift")},
    # Beside these: an animated light rules out a one-frame pass.
    "HB_020": {"passes.background.frames": ("all", "drift")},
}
"""Shot and parameter of all that is outside its tolerance: the figure of the README, and the level."""

INSIDE: dict[tuple[str, str], float] = {
    ("HB_020", "lights.boat_lamp.level"): 0.07,
    ("HB_070", "lights.bounce.position"): 0.03,
    ("HB_070", "lights.bounce.direction"): 0.34,
    ("HB_220", "lights.boat_lamp.radius"): 1.7,
    ("HB_230", "lights.window_fill.level"): -0.06,
}
"""What differs inside its tolerance."""

STATES: dict[tuple[str, str], State] = {
    ("HB_090", "lights.lantern_spot.position"): State.INTENDED,
    ("HB_100", "lights.lantern_spot.position"): State.INTENDED,
    ("HB_110", "lights.rim.colour"): State.INTENDED,
    ("HB_020", "passes.background.frames"): State.INTENDED,
    ("HB_140", "environments.dawn_sky.seen_by"): State.INTENDED,
    ("HB_140", "environments.dawn_sky_indirect"): State.INTENDED,
    ("HB_180", "lights.window_fill.position"): State.SENT_BACK,
}

SAME_LIGHT = ["HB_010", "HB_030", "HB_040", "HB_170", "HB_190", "HB_240"]
"""Shots that are the master's in other words: other units, axes, orders and spellings."""


@pytest.fixture(scope="module")
def session() -> Session:
    return open_session(sample_sequence("harbour"))


def typed(session: Session) -> list[tuple[ComparedCell, State]]:
    """The cells above `same` of what sheets state, with their state."""
    found = []
    for cell in session.table.cells():
        row, column = session.table.row(cell.parameter), session.table.column(cell.shot)
        assert row is not None and column is not None
        if session.table.rows[row].section in COMPARED_SECTIONS:
            found.append((cell, session.cases.state(row, column)))
    return found


def test_it_opens_without_a_word(session: Session) -> None:
    assert session.troubles == []
    assert session.ledger.faults == ()
    assert len(session.contents.sheets) == 24


@pytest.mark.parametrize(
    ("shot", "parameter"), [(shot, parameter) for shot, cells in OUTSIDE.items() for parameter in cells]
)
def test_what_a_careful_person_finds(session: Session, shot: str, parameter: str) -> None:
    figure, level = OUTSIDE[shot][parameter]
    (cell,) = [cell for cell, _ in typed(session) if (cell.shot, cell.parameter) == (shot, parameter)]
    assert cell.grade.word == level
    if isinstance(figure, str):
        assert math.isnan(cell.drift)
        assert figure in (cell.remark, cell.value)
    else:
        digits = 0.05 if cell.kind == "colour" else 0.006  # as many as the README states
        assert cell.drift == pytest.approx(figure, abs=digits)


def test_nothing_else_is_outside_its_tolerance(session: Session) -> None:
    found = {(cell.shot, cell.parameter) for cell, _ in typed(session) if cell.grade > Grade.WITHIN}
    assert found == {(shot, parameter) for shot, cells in OUTSIDE.items() for parameter in cells}


def test_what_differs_inside_its_tolerance(session: Session) -> None:
    found = {(c.shot, c.parameter): c.drift for c, _ in typed(session) if c.grade is Grade.WITHIN}
    assert found.keys() == INSIDE.keys()
    for place, figure in INSIDE.items():
        assert found[place] == pytest.approx(figure, rel=0.03), place


def test_the_great_circle(session: Session) -> None:
    exactly = math.degrees(2 * math.asin(math.cos(math.radians(24)) * math.sin(math.radians(6))))
    assert round(exactly, 2) == GREAT_CIRCLE
    drifts = [cell.drift for cell, _ in typed(session) if cell.parameter == "lights.sun.direction"]
    assert drifts == pytest.approx([exactly] * 4)


def test_other_words_for_the_same_light(session: Session) -> None:
    assert not [cell for cell, _ in typed(session) if cell.shot in SAME_LIGHT]


def test_what_only_the_sheets_say(session: Session) -> None:
    """10 and 11 of the README differ from no master: a camera that moves, and a shot that took too long."""
    moving = [shot for shot, sheet in session.contents.sheets.items() if sheet.value("camera", "", "moves")]
    one_frame = [
        s
        for s, sheet in session.contents.sheets.items()
        if sheet.value("passes", "background", "frames") == "held"
    ]
    assert [shot for shot in moving if shot in one_frame] == ["HB_220"]
    times = {shot: sheet.value("cost", "", "test_frame") for shot, sheet in session.contents.sheets.items()}
    seconds = {shot: time for shot, time in times.items() if isinstance(time, float)}
    middle = median(seconds.values())
    assert middle == pytest.approx(18 * 60 + 18, abs=0.5)
    assert seconds.pop("HB_170") / middle == pytest.approx(3.02, abs=0.005)
    assert (min(seconds.values()), max(seconds.values())) == (16 * 60 + 45, 19 * 60 + 40)


@pytest.mark.parametrize(
    ("shot", "parameter", "since"),
    [
        ("HB_120", ("render", "gi", "range"), 2),
        ("HB_180", ("lights", "window_fill", "position"), 2),
        ("HB_200", ("lights", "boat_lamp1", "level"), 2),
        ("HB_230", ("lights", "window_fill", "level"), 2),
        ("HB_050", ("lights", "sun", "direction"), 2),
        ("HB_080", ("lights", "sun", "direction"), 2),
    ],
)
def test_since_which_version(
    session: Session, shot: str, parameter: tuple[str, str, str], since: int
) -> None:
    values = {
        version: session.contents.read_sheet(path, shot, version).value(*parameter)
        for version, path in session.contents.versions[shot].items()
    }
    now = values[max(values)]
    assert now is not None
    assert min(version for version, value in values.items() if value == now) == since
    assert len(values) == since


def test_the_states_of_what_was_decided(session: Session) -> None:
    decided = {
        (cell.shot, cell.parameter): state for cell, state in typed(session) if state is not State.UNDECIDED
    }
    assert decided == STATES
    assert session.cases.tally() == Tally(undecided=23, sent_back=1, intended=6)
    assert len(session.ledger.all()) == len(STATES)
    assert all(decision.who == "lead" and decision.reason for decision in session.ledger.all())


def test_what_is_left_to_do(session: Session) -> None:
    left = Counter(cell.shot for cell, state in typed(session) if cell.drifts and state is not State.INTENDED)
    assert left == {
        "HB_050": 1, "HB_060": 1, "HB_070": 1, "HB_080": 1, "HB_120": 1, "HB_130": 1,
        "HB_150": 5, "HB_160": 1, "HB_180": 2, "HB_200": 2, "HB_210": 1,
    }  # fmt: skip


def test_first_steps() -> None:
    session = open_session(sample_sequence("first_steps"))
    assert session.troubles == []
    found = {(cell.shot, cell.parameter): cell for cell, _ in typed(session)}
    assert found.keys() == {("FS_020", "lights.fill.level"), ("FS_040", "lights.sun.direction")}
    fill, sun = found["FS_020", "lights.fill.level"], found["FS_040", "lights.sun.direction"]
    assert (fill.drift, fill.tolerance, fill.grade) == (about(-0.5), 0.1, Grade.DRIFT)
    exactly = math.degrees(2 * math.asin(math.cos(math.radians(30)) * math.sin(math.radians(2.5))))
    assert round(exactly, 2) == 4.33
    assert (sun.drift, sun.tolerance, sun.grade) == (about(exactly), 0.5, Grade.BREAK)


@pytest.mark.parametrize("name", ["harbour", "first_steps"])
def test_every_figure_of_this_page_stands_in_the_readme(name: str) -> None:
    """The README is what people are told; when it changes, so must this page."""
    readme = Path(sample_sequence(name), "README.md").read_text(encoding="utf-8")
    if name == "first_steps":
        assert all(text in readme for text in ("4.33", "0.50 st", "FS_020", "FS_040"))
        return
    for shot in (*OUTSIDE, *SAME_LIGHT):
        assert shot in readme
    for figure in (
        "10.96",
        "9900",
        "0.35 st",
        "0.19 st",
        "9.4 u'v'",
        "0.55 m",
        "0.81 m",
        "0.60 m",
        "4.52",
        "4.0 u'v'",
    ):
        assert figure in readme
