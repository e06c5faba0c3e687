"""A tolerance from selected cells: what is proposed for them, what it does, and the policy that says so with its comments kept."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from samelight.changes.tolerating import (
    ToleranceError,
    amount_for,
    amount_text,
    effect_of,
    patterns_for,
    policy_texts,
    tolerance_in,
    write_policy,
)
from samelight.drift.cells import Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SheetError

POSITION = "lights.lantern_spot.position"

SAMPLES = Path(__file__).parents[2] / "sample_sequences"


@pytest.fixture
def session(undecided_harbour: Path) -> Session:
    return open_session(undecided_harbour)


def cells(session: Session, *names: tuple[str, str]) -> list[tuple[int, int]]:
    return session.table.places(list(names))


def test_patterns_go_from_the_parameter_to_its_kind_and_the_amount_is_the_least_round_one(
    session: Session,
) -> None:
    both = cells(session, ("HB_090", POSITION), ("HB_100", POSITION))
    assert patterns_for(session, both) == [
        POSITION,
        "lights.<spot>.position",
        "lights.*.position",
        "position",
    ]
    assert amount_for(session, both) == 0.81  # 80.5 cm
    two = cells(session, ("HB_100", POSITION), ("HB_180", "lights.window_fill.position"))
    assert patterns_for(session, two) == ["lights.*.position", "position"]


@pytest.mark.parametrize(
    ("names", "says"),
    [
        ([], "Select the cells"),
        ([("HB_100", POSITION), ("HB_150", "lights.bounce.level")], "of several kinds"),
        ([("HB_130", "environments.dawn_sky.seen_by")], "equal or not"),
        ([("HB_200", "lights.boat_lamp")], "equal or not"),
    ],
)
def test_for_some_cells_there_is_no_tolerance(
    session: Session, names: list[tuple[str, str]], says: str
) -> None:
    with pytest.raises(ToleranceError, match=says):
        patterns_for(session, cells(session, *names))


def test_what_falls_silent_is_what_does_once_it_is_written(session: Session) -> None:
    asked = cells(session, ("HB_090", POSITION), ("HB_100", POSITION))
    before, after = policy_texts(session, "lights.*.position", "0.81 m", "It follows the boatman", "mira")
    effect = effect_of(session, tolerance_in(after, "lights.*.position"), asked)
    assert effect.left == effect.louder == ()
    assert ("HB_180", "lights.window_fill.position") in effect.others
    was = {
        (session.table.shots[c], session.table.rows[r].parameter) for r, c in session.cases.unsettled_cells()
    }
    path = write_policy(session, before, after)
    kept = [line for line in before.splitlines() if line not in after.splitlines()]
    assert kept == [] and len(after.splitlines()) == len(before.splitlines()) + 1
    assert session.reload()
    now = {
        (session.table.shots[c], session.table.rows[r].parameter) for r, c in session.cases.unsettled_cells()
    }
    gone = {name for name in was - now if name[1].endswith(".position")}
    assert gone == set(effect.silent)
    cell = session.table.cell(*cells(session, ("HB_100", POSITION))[0])
    assert cell.grade is Grade.WITHIN
    assert "It follows the boatman (mira, " in path.read_text("utf-8")


def test_a_tolerance_that_is_too_small_leaves_some_and_one_that_is_smaller_wakes_others(
    session: Session,
) -> None:
    asked = cells(session, ("HB_090", POSITION), ("HB_100", POSITION))
    text = policy_texts(session, POSITION, "0.6 m", "near enough", "mira")[1]
    assert effect_of(session, tolerance_in(text, POSITION), asked).left == (("HB_100", POSITION),)
    text = policy_texts(session, "level", "0.01 st", "no", "mira")[1]
    assert ("HB_230", "lights.window_fill.level") in effect_of(
        session, tolerance_in(text, "level"), ()
    ).louder


def test_what_a_policy_cannot_have_is_refused(session: Session) -> None:
    with pytest.raises(ToleranceError, match="reason"):
        policy_texts(session, POSITION, "1 m", " ", "mira")
    text = policy_texts(session, POSITION, "much", "so", "mira")[1]
    with pytest.raises(SheetError, match="much"):
        tolerance_in(text, POSITION)
    before, after = policy_texts(session, POSITION, "1 m", "so", "mira")
    path = session.contents.folder / "policy.yaml"
    path.write_text(before + "# meanwhile\n", "utf-8")
    with pytest.raises(ToleranceError, match="changed on disk"):
        write_policy(session, before, after)
    assert path.read_text("utf-8").endswith("# meanwhile\n")


def test_a_sequence_without_a_policy_gets_one(session: Session) -> None:
    assert amount_text("level", 0.2) == "0.2 st"
    (session.contents.folder / "policy.yaml").unlink()
    sequence = session.contents.folder / "sequence.yaml"
    sequence.write_text(sequence.read_text("utf-8").replace("policy: policy.yaml\n", ""), "utf-8")
    session.reload()
    before, after = policy_texts(session, "lights.bounce.level", "0.4 st", "a soft one", "mira")
    assert before == "" and after.startswith("samelight_policy: 2\ntolerances:\n  lights.bounce.level: {")
    write_policy(session, before, after)
    session.reload()
    (cell,) = cells(session, ("HB_150", "lights.bounce.level"))
    assert session.table.grade[cell] == Grade.WITHIN


def test_a_pattern_that_the_policy_has_counts_from_its_end(session: Session) -> None:
    """As it is said to do: of several tolerances that mean a cell the last one counts."""
    name = "lights.bounce.level"
    path = session.contents.folder / "policy.yaml"
    text = path.read_text("utf-8")
    path.write_text(
        text.replace("tolerances:\n", f"tolerances:\n  {name}: 0.001 st  # mine\n  level: 0.01 st\n"), "utf-8"
    )
    session.reload()
    (cell,) = asked = cells(session, ("HB_150", name))
    before, after = policy_texts(session, name, "0.4 st", "a soft one", "mira")
    assert effect_of(session, tolerance_in(after, name), asked).left == ()
    kept = [line for line in before.splitlines() if line not in after.splitlines()]
    assert kept == [f"  {name}: 0.001 st  # mine"]
    write_policy(session, before, after)
    session.reload()
    assert session.table.grade[cell] == Grade.WITHIN


def test_what_a_set_up_states_itself_counts_above_the_sequences_tolerance(tmp_path: Path) -> None:
    folder = shutil.copytree(SAMPLES / "mole", tmp_path / "mole")
    session = open_session(folder)
    lantern = ("ML_050", "lights.lantern.level")
    asked = cells(session, lantern)
    before, after = policy_texts(session, "level", "5 st", "all of it", "mira")
    assert effect_of(session, tolerance_in(after, "level"), asked).left == (lantern,)
    write_policy(session, before, after)
    session.reload()
    assert session.table.grade[asked[0]] >= Grade.DRIFT
