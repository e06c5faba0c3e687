"""What the window says of a sequence of several set-ups."""

from __future__ import annotations

from pathlib import Path

import pytest

from samelight.gui.grid.model import GridModel
from samelight.gui.review.review_state import Other, ReviewState
from samelight.gui.state.cell_words import tolerance_lines
from samelight.gui.state.grid_words import line_tip, shot_tip
from samelight.gui.state.rows import GridState, Line
from samelight.gui.state.sky_data import sky_of
from samelight.gui.widgets.reference_box import held_text
from samelight.sequence.session import Session, open_session

MOLE = Path(__file__).parents[2] / "sample_sequences" / "mole"


@pytest.fixture(scope="module")
def session() -> Session:
    """The sample, which only is looked at."""
    return open_session(MOLE)


def test_the_review_names_the_master_and_the_key_shot_of_each_setup(session: Session) -> None:
    state = ReviewState(session)
    said = {}
    for shot in ("ML_030", "ML_070", "ML_080"):
        state.shot = shot
        said[shot] = state.place_text(), state.other(Other.KEY)
    assert said == {
        "ML_030": ("3 of 8, against dawn master 1, Ines", "ML_020"),
        "ML_070": ("7 of 8, against night master 2, Tomas", "ML_060"),
        "ML_080": ("8 of 8, against ML_060, Tomas", "ML_060"),
    }
    assert held_text(session) == "masters of 2 set-ups"


def test_the_inspector_names_who_set_the_tolerance_of_a_setup(session: Session) -> None:
    table = session.table
    row = table.row("lights.lantern.level")
    assert row is not None
    lines = {
        shot: tolerance_lines(session, table.cell(row, column), table.row_in(row, column))
        for shot, column in (("ML_040", 3), ("ML_050", 4))
    }
    assert "Set by this sequence: pattern lights.lantern.level in night_policy.yaml" in lines["ML_050"]
    assert not any("night_policy" in line for line in lines["ML_040"])


def test_the_grid_tells_setups_tolerances_and_locks(session: Session) -> None:
    model = GridModel(GridState(session))
    assert [shot_tip(model.state, shot) for shot in ("ML_010", "ML_080")] == [
        "ML_010: Ines, dawn",
        "ML_080: Tomas, night, compared with ML_060",
    ]
    row = session.table.row("lights.lantern.level")
    tip = line_tip(model.state, Line(0, row))
    assert "Tolerance 0.1 " in tip
    assert "Tolerance 0.2 " in tip
    assert "A flame in the wind." in tip
    moon = session.table.row("lights.moon.direction")
    assert moon is not None
    assert any(way.lock for way in session.table.variants(moon))


def test_the_sky_has_each_shots_own_tolerance(session: Session) -> None:
    track = sky_of(session.table, session.contents.sheets).track_of("lights.moon")
    assert track is not None
    assert track.allowed(5) == 0.5
