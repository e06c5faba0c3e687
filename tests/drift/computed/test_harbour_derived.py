"""The computed rows of the sample sequence: the figures its README states, and silence where nothing is wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from known import about
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.computed import derived_explanations
from samelight.drift.computed.derived import key_sheet
from samelight.drift.computed.derived_explanations import derived_formula
from samelight.drift.computed.rig import Rig, rig_of
from samelight.drift.derived_names import SECTIONS
from samelight.sequence.session import Session, open_session
from samelight.sheets.resources import sample_sequence
from samelight.sheets.values import Level

SUN_MOVED = ("HB_050", "HB_060", "HB_070", "HB_080")
DRIFTING = {*SUN_MOVED, "HB_030", "HB_130", "HB_150", "HB_180"}
"""Shots in which something reaches a mark, a ray or the eye otherwise than in the master; in HB_030 than in the key shot."""


@pytest.fixture(scope="module")
def session() -> Session:
    return open_session(sample_sequence("harbour"))


def cell_of(session: Session, shot: str, parameter: str) -> ComparedCell:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None, parameter
    assert column is not None
    return session.table.cell(row, column)


def computed(session: Session) -> Iterator[ComparedCell]:
    for row, what in enumerate(session.table.rows):
        if what.section in SECTIONS:
            for column in range(len(session.table.shots)):
                yield session.table.cell(row, column)


def test_computed_rows_stand_after_the_typed_ones_in_their_order(session: Session) -> None:
    sections = list(dict.fromkeys(row.section for row in session.table.rows))
    assert sections[-5:] == ["marks", "subject", "rays", "sky", "count"]


@pytest.mark.parametrize("shot", ["HB_090", "HB_100"])
def test_the_lantern_goes_with_the_boatman(session: Session, shot: str) -> None:
    """README 4: its position drifts, its level at the face stays (0.00 st)."""
    assert cell_of(session, shot, "lights.lantern_spot.position").grade is Grade.DRIFT
    at_face = cell_of(session, shot, "marks.face.level.lantern_spot")
    assert abs(at_face.drift) < 0.005
    assert at_face.grade <= Grade.WITHIN
    assert "follows its mark" in at_face.remark


def test_the_knocked_window_fill_shows_the_stops_lost(session: Session) -> None:
    """README 5: -0.72 st at the face over the whole window."""
    cell = cell_of(session, "HB_180", "marks.face.level.window_fill")
    assert cell.drift == pytest.approx(-0.72, abs=0.005)
    assert cell.grade is Grade.DRIFT


@pytest.mark.parametrize(("shot", "stops"), list(zip(SUN_MOVED, (0.19, 0.21, 0.35, 0.43), strict=True)))
def test_the_moved_sun(session: Session, shot: str, stops: float) -> None:
    """README 1: stops at the face, 12 degrees from the sky map, and 10.96 along a great circle."""
    assert cell_of(session, shot, "marks.face.level.sun").drift == pytest.approx(stops, abs=0.005)
    against_sky = cell_of(session, shot, "sky.dawn_sky.sun_angle")
    assert (against_sky.drift, against_sky.grade) == (about(12.0, abs=0.02), Grade.BREAK)
    assert cell_of(session, shot, "marks.face.key").value == "sun"
    assert cell_of(session, shot, "marks.face.key_angle").drift == pytest.approx(-10.96, abs=0.005)


def test_gi_rays_that_lost_the_sky(session: Session) -> None:
    """README 6: HB_130 is dark to them, and the face loses the sky; HB_140 sees 0.8 throughout."""
    dark = cell_of(session, "HB_130", "rays.indirect.level")
    assert (dark.value, dark.drift, dark.grade) == (Level(0.0), -math.inf, Grade.BREAK)
    lost = 1 - math.pi * 0.8 / level_of(cell_of(session, "HB_130", "marks.face.level").master)
    assert cell_of(session, "HB_130", "marks.face.level").drift == pytest.approx(math.log2(lost))
    for kind in ("camera", "reflection"):
        assert cell_of(session, "HB_130", f"rays.{kind}.level").grade is Grade.SAME
    for kind in ("camera", "indirect", "reflection"):
        cell = cell_of(session, "HB_140", f"rays.{kind}.level")
        assert (cell.value, cell.grade) == (Level(0.8), Grade.SAME)


def level_of(value: Any) -> float:
    assert isinstance(value, Level)
    return value.value


def test_the_shot_on_the_old_master(session: Session) -> None:
    """README 3: the bounce 0.35 st and the sky 0.19 st down, the sky turned by 6 degrees."""
    assert cell_of(session, "HB_150", "marks.face.level.bounce").drift == pytest.approx(-0.35, abs=0.005)
    assert cell_of(session, "HB_150", "rays.indirect.level").drift == pytest.approx(-0.193, abs=0.001)
    assert cell_of(session, "HB_150", "sky.dawn_sky.sun_angle").drift == pytest.approx(6.0)


def test_everything_else_is_quiet(session: Session) -> None:
    loud = {cell.shot for cell in computed(session) if cell.grade >= Grade.DRIFT}
    assert loud == DRIFTING


def test_the_boatman_turns_away_from_the_sun(session: Session) -> None:
    """README 15: his key is more than a stop weaker against the fill than in the key shot, and every light holds."""
    cell = cell_of(session, "HB_030", "subject.face.key_to_fill")
    assert cell.drift == pytest.approx(-1.05, abs=0.005)
    assert cell.grade is Grade.DRIFT
    assert cell_of(session, "HB_030", "marks.face.key_to_fill").grade is Grade.SAME


def test_a_flickering_lamp_is_met_at_its_keys(session: Session) -> None:
    """README: 0.07 st at most, inside the tolerance."""
    cell = cell_of(session, "HB_020", "marks.face.level")
    assert cell.grade is Grade.WITHIN
    assert "largest at frame" in cell.remark


def test_the_cells_of_a_shot_are_explained_from_what_is_worked_out_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rigs: list[str] = []

    def noted(shots: Sequence[str], *sheets: Any) -> Rig:
        rigs.extend(shots)
        return rig_of(shots, *sheets)

    monkeypatch.setattr(derived_explanations, "rig_of", noted)
    session = open_session(sample_sequence("harbour"))  # of which nothing was explained yet
    held, shots = session.contents.master, session.contents.sheets
    assert held is not None
    for shot in ("HB_060", "HB_180", "HB_060"):
        for parameter in ("marks.face.level.sun", "marks.face.key", "marks.face.level.sun"):
            assert derived_formula(cell_of(session, shot, parameter), held, shots[shot])
    assert rigs == ["HB_060", "HB_180"]
    assert derived_formula(
        cell_of(session, "HB_060", "marks.face.key"), held, shots["HB_060"], shots["HB_180"]
    )
    assert rigs == ["HB_060", "HB_180", "HB_060"]


def test_every_figure_has_its_formula(session: Session) -> None:
    """Both sides with their inputs, ending in the figures of the cell."""
    assert session.contents.master is not None
    seen = set()
    for cell in computed(session):
        if cell.grade is Grade.NONE:
            continue
        lines = derived_formula(
            cell,
            session.contents.master,
            session.contents.sheets[cell.shot],
            key_sheet(session.contents.sequence.key_shot, session.contents.master, session.contents.sheets),
        )
        said = "\n".join(lines)
        assert "shot: " in said, cell
        assert "reference" in said or "master: " in said, cell
        seen.add(cell.parameter.rpartition(".")[2])
    assert {
        "level",
        "sun",
        "key",
        "fill",
        "key_to_fill",
        "key_side",
        "key_angle",
        "sun_angle",
        "lights",
    } <= seen


def test_a_formula_leads_to_its_figure(session: Session) -> None:
    """The distant sun of HB_060 by its own line: 3.2 cos 38.5 degrees."""
    assert session.contents.master is not None
    cell = cell_of(session, "HB_060", "marks.face.level.sun")
    lines = derived_formula(
        cell,
        session.contents.master,
        session.contents.sheets["HB_060"],
        key_sheet(session.contents.sequence.key_shot, session.contents.master, session.contents.sheets),
    )
    (own,) = (line for line in lines if line.startswith("shot: "))
    assert own == "shot: E = level × cos θ: level 3.2, θ = 38.5° → 2.503"
    assert level_of(cell.value) == pytest.approx(3.2 * math.cos(math.radians(38.54)), abs=1e-3)


def test_reloading_computes_anew(harbour: Path) -> None:
    session = open_session(harbour)
    path = harbour / "shots" / "HB_240" / "HB_240.v001.yaml"
    text = path.read_text(encoding="utf-8")
    assert "seen_by: [camera, indirect, reflection]" in text
    changed = text.replace("seen_by: [camera, indirect, reflection]", "seen_by: [camera, reflection]")
    path.write_text(changed, encoding="utf-8")
    assert cell_of(session, "HB_240", "rays.indirect.level").grade is Grade.SAME
    session.reload()
    assert cell_of(session, "HB_240", "rays.indirect.level").grade is Grade.BREAK
