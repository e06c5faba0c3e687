"""A master keeps the animation of its lights as so many frames after the shot's start, and shots are compared with it there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from conftest import write_sequence
from samelight.changes.adopting import adoptions
from samelight.changes.fix_list import fix_list
from samelight.changes.fixing import fixed_version
from samelight.changes.publishing import candidate_from, publish
from samelight.drift.cells import Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.names import parameter_name
from samelight.sheets.writing import write_sheet

Tree = dict[str, Any]


def keys(first: int, *levels: float, step: int = 10) -> Tree:
    return {
        "keys": [[first + step * place, level] for place, level in enumerate(levels)],
        "interpolation": "linear",
    }


def shot(first: int, *levels: float, last: int | None = None, **more: Any) -> Tree:
    """A shot whose lamp flickers from its first frame on, and whose spot turns."""
    turned = {"keys": [[first, 10.0], [first + 20, 70.0]], "interpolation": "linear"}
    return {
        "frames": [first, last or first + 40],
        "lights": {
            "lamp": {
                "type": "sphere",
                "radius": 0.1,
                "intensity": keys(first, *levels),
                "position": [0, 2, 0],
            },
            "spot": {"type": "spot", "intensity": 2, "cone": 30, "azimuth": turned, "elevation": 30},
        },
        **more,
    }


LEVELS = (2.0, 4.0, 3.0, 4.0, 2.0)


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    folder = write_sequence(
        tmp_path / "quay",
        shots={
            "S_010": shot(1001, *LEVELS),
            "S_020": shot(1, *LEVELS, master=1),
            "S_030": shot(501, *LEVELS, last=520, master=1),
            "S_040": shot(1001, 2.0, 4.0, 6.0, 4.0, 2.0, master=1),
        },
        sequence={"key_shot": "S_010"},
    )
    assert publish(candidate_from(open_session(folder), "S_010", "Ada"))
    return folder


def differing(session: Session, name: str) -> list[str]:
    return sorted(cell.parameter for cell in session.table.cells(Grade.SAME) if cell.shot == name)


def test_a_master_is_its_own_key_shot_and_whatever_moves_as_it_does(quay: Path) -> None:
    """At other frames too, and in a shot that is over sooner."""
    session = open_session(quay)
    for name in ("S_010", "S_020", "S_030"):
        assert differing(session, name) == []
    (cell,) = (cell for cell in session.table.cells(Grade.SAME) if cell.shot == "S_040")
    assert cell.parameter == "lights.lamp.level"
    assert cell.drift == pytest.approx(1.0)
    assert cell.remark.endswith("at frame 1021")


def test_the_figures_are_told_at_the_frames_of_the_shot(quay: Path) -> None:
    late = shot(2001, 2.0, 4.0, 6.0, 4.0, 2.0)
    write_sheet(quay / "shots/S_040/S_040.v002.yaml", {"samelight": 2, "shot": "S_040", "version": 2, **late})
    (cell,) = (cell for cell in open_session(quay).table.cells(Grade.SAME) if cell.shot == "S_040")
    assert cell.remark.endswith("at frame 2021")


def test_a_frame_of_ones_own_is_where_it_starts(quay: Path) -> None:
    early = shot(1, *LEVELS)
    early |= {"frames": [-20, 41], "sync_frame": 1}
    write_sheet(
        quay / "shots/S_020/S_020.v002.yaml", {"samelight": 2, "shot": "S_020", "version": 2, **early}
    )
    assert differing(open_session(quay), "S_020") == []


def test_a_fix_writes_the_masters_keys_at_the_shots_frames(quay: Path) -> None:
    late = shot(2001, 2.0, 4.0, 6.0, 4.0, 2.0)
    write_sheet(quay / "shots/S_040/S_040.v002.yaml", {"samelight": 2, "shot": "S_040", "version": 2, **late})
    session = open_session(quay)
    (part,) = fix_list(session, shots={"S_040"})
    assert part.tree["lights"]["lamp"]["intensity"]["keys"] == keys(2001, *LEVELS)["keys"]
    assert fixed_version(session, part).remaining == ()


def test_what_follows_a_new_master_takes_its_keys_at_its_own_frames(quay: Path) -> None:
    new = shot(1001, 2.0, 5.0, 3.0, 5.0, 2.0)
    write_sheet(quay / "shots/S_010/S_010.v002.yaml", {"samelight": 2, "shot": "S_010", "version": 2, **new})
    publish(candidate_from(open_session(quay), "S_010", "Ada", despite_breaks=True))
    (found,) = (one for one in adoptions(open_session(quay)) if one.shot == "S_020")
    assert found.taken == (parameter_name("lights", "lamp", "level"),)
    assert found.tree["lights"]["lamp"]["intensity"]["keys"] == keys(1, 2.0, 5.0, 3.0, 5.0, 2.0)["keys"]


def test_a_master_without_frames_is_compared_with_the_same_frames(tmp_path: Path) -> None:
    tree = shot(1001, *LEVELS)
    master = {key: value for key, value in tree.items() if key != "frames"}
    folder = write_sequence(
        tmp_path / "quay", master=master, shots={"S_010": tree, "S_020": shot(1, *LEVELS)}
    )
    session = open_session(folder)
    assert differing(session, "S_010") == []
    assert differing(session, "S_020") == ["lights.lamp.level", "lights.spot.direction"]


def test_a_still_master_says_no_frames(tmp_path: Path) -> None:
    still = {"frames": [1, 9], "lights": {"lamp": {"type": "sphere", "radius": 1, "intensity": 2}}}
    folder = write_sequence(tmp_path / "quay", shots={"S_010": still})
    assert "frames" not in candidate_from(open_session(folder), "S_010", "Ada").tree


def test_each_shot_has_the_frames_that_are_its_own_in_what_it_is_compared_with(tmp_path: Path) -> None:
    """Also those that start and end alike, of which one begins earlier."""
    first, other = shot(1001, *LEVELS, sync_frame=1001), shot(1001, *LEVELS, sync_frame=1001)
    first["frames"], other["frames"] = [991, 1041], [981, 1041]
    folder = write_sequence(
        tmp_path / "pier", master=shot(1001, *LEVELS), shots={"P_010": first, "P_020": other}
    )
    compared = open_session(folder).comparison.reference_sheets
    assert [compared[name].frames for name in ("P_010", "P_020")] == [(991, 1041), (981, 1041)]
