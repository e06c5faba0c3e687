"""How a light is rolled, and what its files hold, go through publish and adopt as what they are."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from conftest import MakeSequence
from samelight.changes.adopting import adopt, adoptions
from samelight.changes.publishing import Follows, candidate_from, preview, publish
from samelight.drift.cells import Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.pixels import pixels_text
from samelight.sheets.values import FileRef, Level, Roll

Tree = dict[str, Any]

STRIP: Tree = {"type": "rect", "width": 2.4, "height": 0.3, "intensity": 5.0, "position": [0, 2, 1]}
FACE: Tree = {"face": {"position": [0, 1.6, 0], "normal": [0, 0, 1]}}


def turned(roll: float, about: float = 0.0) -> Tree:
    """A strip that points down and forwards, rolled about that by an angle or, with `about`, by a matrix of the same turn."""
    if not about:
        return {**STRIP, "direction": [0, -0.6, -0.8], "roll": roll}
    c, s = math.cos(math.radians(roll)), math.sin(math.radians(roll))
    x, y, back = (1.0, 0.0, 0.0), (0.0, 0.8, -0.6), (0.0, 0.6, 0.8)
    across = [c * a - s * b for a, b in zip(x, y, strict=True)]
    up = [s * a + c * b for a, b in zip(x, y, strict=True)]
    return {
        **{key: value for key, value in STRIP.items() if key != "position"},
        "matrix": [*across, 0, *up, 0, *back, 0, *STRIP["position"], 1],
    }


def rolled(session: Session, shot: str) -> float:
    value = session.contents.sheets[shot].sections["lights"]["strip"]["roll"]
    assert isinstance(value, Roll)
    return value.degrees


def grade(session: Session, parameter: str, shot: str) -> Grade:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return session.table.cell(row, column).grade


@pytest.mark.parametrize("by_matrix", [False, True])
def test_a_rolled_strip_is_published_and_adopted(make_sequence: MakeSequence, by_matrix: bool) -> None:
    lying, standing = {"strip": turned(0.0)}, {"strip": turned(90.0, about=float(by_matrix))}
    folder = make_sequence(
        master={"lights": lying},
        shots={
            "KEY": {"master": 1, "marks": FACE, "lights": standing},
            "OLD": {"master": 1, "marks": FACE, "lights": lying},
        },
    )
    session = open_session(folder)
    assert grade(session, "lights.strip.roll", "KEY") >= Grade.DRIFT
    assert grade(session, "marks.face.level", "KEY") >= Grade.WITHIN
    candidate = candidate_from(session, "KEY", "lead", despite_breaks=True)
    effects = preview(session, candidate.sheet)
    assert "lights.strip.roll" in effects.changed
    assert effects.shots(Follows.FOLLOWS) == ("OLD",)
    publish(candidate)
    # The key shot says that it stands on the old one; it has the new roll already, and nothing else is another.
    first, second = adoptions(open_session(folder))
    assert (first.shot, first.taken, first.held) == ("KEY", (), ())
    assert (second.shot, second.taken, second.left) == ("OLD", ("lights.strip.roll",), ())
    adopt(second)
    again = open_session(folder)
    assert rolled(again, "OLD") == pytest.approx(90.0)
    for parameter in ("lights.strip.roll", "lights.strip.direction", "marks.face.level"):
        row = again.table.row(parameter)
        assert row is None or grade(again, parameter, "OLD") is Grade.SAME


def test_a_shot_that_is_rolled_its_own_way_keeps_that(make_sequence: MakeSequence) -> None:
    folder = make_sequence(
        master=[{"lights": {"strip": turned(0.0)}}, {"lights": {"strip": turned(90.0)}}],
        shots={"OWN": {"master": 1, "lights": {"strip": turned(45.0)}}},
    )
    (adoption,) = adoptions(open_session(folder))
    assert (adoption.taken, adoption.held) == ((), ("lights.strip.roll",))


def sky(bright: int) -> Tree:
    rgb = np.full((32, 64, 3), 0.1)
    rgb[:, bright : bright + 8] = 4.0
    return {"sky": {"texture": f"{bright}.exr", "sha256": f"{bright:02x}" * 32, "pixels": pixels_text(rgb)}}


def test_what_a_sheet_holds_of_a_sky_goes_along(make_sequence: MakeSequence) -> None:
    """Published and adopted, a sky gives the same light where nobody has its file."""
    lamp: Tree = {"lamp": {"type": "distant", "intensity": 1.0, "direction": [0, 0, -1]}}
    folder = make_sequence(
        master={"lights": lamp, "environments": sky(4)},
        shots={
            "KEY": {"master": 1, "marks": FACE, "lights": lamp, "environments": sky(28)},
            "OLD": {"master": 1, "marks": FACE, "lights": lamp, "environments": sky(4)},
        },
    )
    session = open_session(folder)
    publish(candidate_from(session, "KEY", "lead", despite_breaks=True))
    old = next(one for one in adoptions(open_session(folder)) if one.shot == "OLD")
    assert old.taken == ("environments.sky.texture",)
    adopt(old)
    again = open_session(folder)
    texture = again.contents.sheets["OLD"].sections["environments"]["sky"]["texture"]
    assert isinstance(texture, FileRef) and texture.holds == sky(28)["sky"]["pixels"]
    assert grade(again, "marks.face.level.sky", "OLD") is Grade.SAME
    row, column = again.table.row("marks.face.level.sky"), again.table.column("OLD")
    assert row is not None and column is not None
    level = again.table.cell(row, column)
    assert isinstance(level.value, Level) and not level.remark
