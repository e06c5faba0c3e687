"""Lists of shots, and who lights which, as sequence.yaml states it."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growth_help import ABOUT_LINEAR, growth
from samelight.sequence.crew import Crew
from samelight.sheets.errors import SamelightError, SheetError
from samelight.sheets.sequence import read_sequence
from samelight.sheets.shot_lists import NamedShots, chosen_shots, lighter_called, lighter_shots, unknown_shots

CUT = ["HB_010", "HB_020", "HB_030", "HB-031-B", "HB_040"]


def sequence(tmp_path: Path, stated: str) -> Path:
    (tmp_path / "sequence.yaml").write_text(f"cut: [{', '.join(CUT)}]\n{stated}", encoding="utf-8")
    return tmp_path


def test_lists_and_runs_and_text_name_the_same(tmp_path: Path) -> None:
    stated = "lighters:\n  Ines: [HB_010-HB_020, HB_040]\n  Tomas: HB_030, HB-031-B-HB_040\n"
    lighters = read_sequence(sequence(tmp_path, stated)).lighters
    assert lighter_shots("Ines", lighters, CUT) == ["HB_010", "HB_020", "HB_040"]
    assert lighter_shots("tomas", lighters, CUT) == ["HB_030", "HB-031-B", "HB_040"]
    assert unknown_shots(lighters, NamedShots(CUT)) == []


def test_a_sequence_need_not_name_lighters(tmp_path: Path) -> None:
    assert read_sequence(sequence(tmp_path, "")).lighters == {}
    assert lighter_called("Ines", {}) is None


@pytest.mark.parametrize(
    ("stated", "line", "says"),
    [
        ("lighters: Ines\n", 2, "names, and for each a list"),
        ("lighters:\n  Ines: 12\n", 3, "a list of shots or runs"),
        ("lighters:\n  Ines:\n    - HB_010\n    - [HB_020]\n", 5, "a shot, or a run such as"),
        ("lighters:\n  Ines: ''\n", 3, "a shot, or a run such as"),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path: Path, stated: str, line: int, says: str) -> None:
    with pytest.raises(SheetError) as caught:
        read_sequence(sequence(tmp_path, stated))
    assert f"sequence.yaml:{line}:" in str(caught.value) and says in str(caught.value)


def test_a_shot_that_is_not_in_the_cut_is_told_and_the_others_hold() -> None:
    lighters = {"Ines": ("HB_010", "HB_999", "HB_040-HB_010")}
    assert lighter_shots("Ines", lighters, CUT) == ["HB_010"]
    assert unknown_shots(lighters, NamedShots(CUT)) == [
        "sequence.yaml, lighters, Ines: no shot HB_999 in the cut",
        "sequence.yaml, lighters, Ines: HB_040 comes after HB_010 in the cut",
    ]


def test_a_shot_that_is_not_in_the_cut_is_told_at_its_line(tmp_path: Path) -> None:
    stated = "lighters:\n  Ines:\n    - HB_010\n    - HB_999\n  Tomas: HB_030, HB_888\n"
    found = read_sequence(sequence(tmp_path, stated))
    assert unknown_shots(found.lighters, NamedShots(CUT), found.where) == [
        "sequence.yaml:5:7: lighters, Ines: no shot HB_999 in the cut",
        "sequence.yaml:6:3: lighters, Tomas: no shot HB_888 in the cut",
    ]


def test_where_a_sequence_states_what_is_no_part_of_what_it_states(tmp_path: Path) -> None:
    stated = "lighters: {Ines: [HB_999]}\n"
    one = read_sequence(sequence(tmp_path, stated))
    other = read_sequence(sequence(tmp_path, f"# beside it\n{stated}"))
    assert one == other
    place = ("lighters", "Ines", 0)
    assert (one.where(place), other.where(place)) == ((2, 19), (3, 19))


def test_a_name_that_nobody_has_is_told_with_those_there_are() -> None:
    lighters = {"Ines": ("HB_010",), "Tomas": ("gone",)}
    with pytest.raises(SamelightError, match="no lighter Toma; did you mean Tomas"):
        lighter_shots("Toma", lighters, CUT)
    with pytest.raises(SamelightError, match="no lighter zzz: it names Ines, Tomas"):
        lighter_shots("zzz", lighters, CUT)
    with pytest.raises(SamelightError, match="it names nobody"):
        lighter_shots("Ines", {}, CUT)
    with pytest.raises(
        SamelightError, match=r"no shot of Tomas is in the cut: .*Tomas: no shot gone in the cut"
    ):
        lighter_shots("Tomas", lighters, CUT)


@pytest.mark.parametrize("text", ["-", "HB_010-", "-HB_010"])
def test_a_run_without_an_end_is_told_as_it_is_written(text: str) -> None:
    assert unknown_shots({"Ines": (text,)}, NamedShots(CUT))[0].startswith(
        f"sequence.yaml, lighters, Ines: no shot {text} in the cut"
    )


@given(st.lists(st.sampled_from(CUT), min_size=1, unique=True), st.data())
def test_any_way_to_write_a_list_names_its_shots_in_cut_order(shots: list[str], data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(CUT) - 1))
    end = data.draw(st.integers(start, len(CUT) - 1))
    text = " , ".join([*shots, f"{CUT[start]} - {CUT[end]}"])
    wanted = {*shots, *CUT[start : end + 1]}
    assert chosen_shots(text, CUT) == [shot for shot in CUT if shot in wanted]


def test_lists_take_as_long_as_they_are() -> None:
    def listed(shots: int) -> None:
        names = [f"S{number:06}" for number in range(shots)]
        lighters = {"Ines": tuple(names), **{f"L{name}": (name, f"{name}-{name}") for name in names}}
        crew = Crew.of(lighters, names)
        assert crew.names(names[-1]) == ("Ines", f"L{names[-1]}")
        assert len(unknown_shots({"Tomas": tuple(f"X{name}" for name in names)}, NamedShots(names))) == shots

    assert growth(listed, 200) < ABOUT_LINEAR


def test_what_is_too_long_for_a_run_is_told_in_short() -> None:
    said = unknown_shots({"Ines": ("-" * 10**6, "*-" * 10**6)}, NamedShots(CUT))
    assert len(said) == 2
    assert all("no shot" in one and len(one) < 200 for one in said)
