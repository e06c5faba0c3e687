"""Set-ups and shots that are compared with others, as many and as tangled as a file can state them."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path

import pytest

from growth_help import ABOUT_LINEAR, growth
from samelight.cli.main import main
from samelight.sequence.members import members_of
from samelight.sequence.session import open_session
from samelight.sheets import shot_lists
from samelight.sheets.errors import SheetError, nearest_name
from samelight.sheets.sequence import published_masters, read_sequence
from samelight.sheets.setups import MOST_SETUPS
from samelight.sheets.shot_lists import NamedShots

SUN = "lights: {sun: {type: distant, direction: [0, -1, 0], intensity: 1}}\n"


def named(shots: int) -> list[str]:
    return [f"S{number:05}" for number in range(shots)]


def stated(folder: Path, shots: list[str], rest: str) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "sequence.yaml").write_text(f"cut: [{', '.join(shots)}]\n{rest}", encoding="utf-8")
    return folder


def following(pairs: dict[str, str]) -> str:
    return "follows: {" + ", ".join(f"{shot}: {other}" for shot, other in pairs.items()) + "}\n"


def coming(setups: list[str], bases: dict[str, str]) -> str:
    lines = []
    for name in setups:
        base = f", from: {bases[name]}, except: [lights.*]" if name in bases else ""
        lines.append(f"  {name}: {{shots: [{name}], key_shot: {name}{base}}}\n")
    return "setups:\n" + "".join(lines)


@pytest.mark.parametrize("last", ["the first", "itself", "none"])
def test_a_long_chain_of_shots_takes_as_long_as_it_is(tmp_path: Path, last: str) -> None:
    def read(shots: int) -> None:
        names = named(shots)
        ends = {"the first": {names[-1]: names[0]}, "itself": {names[-1]: names[-1]}, "none": {}}
        folder = stated(tmp_path, names, following(dict(pairwise(names)) | ends[last]))
        if last != "none":
            with pytest.raises(SheetError, match="no circle") as caught:
                read_sequence(folder)
            assert len(caught.value.faults) == 1
            assert len(str(caught.value)) < 500
        else:
            members = members_of(read_sequence(folder), names, NamedShots(names))
            assert len(members.follows) == shots - 1
            assert members.shots == {"": tuple(names)}

    assert growth(read, 60) < ABOUT_LINEAR


def test_a_chain_of_set_ups_has_any_length(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = named(MOST_SETUPS)
    folder = stated(tmp_path / "chain", names, coming(names, dict(pairwise(names))))
    (folder / "master").mkdir()
    for name in (names[0], names[-1]):
        (folder / f"master/{name}.v001.yaml").write_text(f"samelight: 2\nversion: 1\n{SUN}", encoding="utf-8")
        (folder / "shots" / name).mkdir(parents=True)
        sheet = f"samelight: 2\nshot: {name}\nversion: 1\n{SUN}"
        (folder / "shots" / name / f"{name}.v001.yaml").write_text(sheet, encoding="utf-8")
    assert main(["check", str(folder)]) == 2
    said = capsys.readouterr().err
    assert "an error of the program" not in said
    assert f"{names[1]} has no published sheet" in said
    session = open_session(folder)
    assert [part.name for part in session.contents.setups if part.shots] == names


def test_set_ups_that_come_from_each_other_are_told_once_and_in_short(tmp_path: Path) -> None:
    names = named(MOST_SETUPS)
    circle = dict(zip(names, [*names[1:], names[0]], strict=True))
    with pytest.raises(SheetError, match=r"found S00000 from S00001 from .* in all") as caught:
        read_sequence(stated(tmp_path, names, coming(names, circle)))
    assert len(caught.value.faults) == 1
    assert len(str(caught.value)) < 500


def test_more_set_ups_than_a_sequence_can_have_are_refused(tmp_path: Path) -> None:
    names = named(MOST_SETUPS + 1)
    with pytest.raises(SheetError, match=r"expected at most 1,000 set-ups, found 1,001"):
        read_sequence(stated(tmp_path, names, coming(names, {})))


def test_set_ups_that_all_claim_all_shots_are_told_in_short(tmp_path: Path) -> None:
    names = named(300)
    claims = "setups:\n" + "".join(f"  {name}: {{shots: ['*'], key_shot: {name}}}\n" for name in names)
    members = members_of(read_sequence(stated(tmp_path, names, claims)), names, NamedShots(names))
    assert members.left == frozenset(names)
    assert "S00000 and to S00001 and to S00002 and to 297 more" in str(members.troubles[0])
    assert all(len(str(trouble)) < 500 for trouble in members.troubles)


def test_the_masters_of_all_set_ups_are_listed_at_once(tmp_path: Path) -> None:
    (tmp_path / "master").mkdir()

    def listed(setups: int) -> None:
        for name in named(setups):
            (tmp_path / f"master/{name}.v001.yaml").touch()
        found = published_masters(tmp_path, named(setups))
        assert [list(one.versions) for one in found.values()] == [[1]] * setups

    assert growth(listed, 50) < ABOUT_LINEAR


def test_of_many_misspelt_names_a_few_are_told_what_is_like_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = named(100)
    lighters = "lighters:\n" + "".join(f"  L{name}: [X{name}]\n" for name in names)
    folder = stated(
        tmp_path, names, lighters + "pinned: {" + ", ".join(f"X{name}: 1" for name in names) + "}\n"
    )
    (folder / "master").mkdir()
    (folder / "master/master.v001.yaml").write_text(f"samelight: 2\nversion: 1\n{SUN}", encoding="utf-8")
    looked: list[str] = []

    def counting(name: str, known: Iterable[str]) -> str | None:
        looked.append(name)
        return nearest_name(name, known)

    monkeypatch.setattr(shot_lists, "nearest_name", counting)
    session = open_session(folder)
    assert list(session.cases.findings) == []
    assert sum("did you mean S000" in str(trouble) for trouble in session.troubles) == 5
    assert sum("not in the cut" in str(trouble) for trouble in session.troubles) == len(names)
    assert len(looked) < len(names)
