"""Trims that bring a face to the key shot's, from the layers of both frames."""

from __future__ import annotations

import json
import math
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from known import there
from measured_sequence import LIGHTS, measure, publish, sequence, shoot, shoot_layers, tree
from samelight.changes.matching import FURTHEST, LEFT, Match, matches, trims_of, wanted_text
from samelight.changes.trims import trimmed_cells, trims_text, typed_trims
from samelight.cli.main import main
from samelight.decisions.state import State
from samelight.light.framing import Region
from samelight.light.region_figures import BLACK, Figures
from samelight.reports.lighter_pages import lighter_pages
from samelight.sequence.session import open_session
from samelight.sheets.measured import MeasuredMark
from samelight.sheets.vocabulary import LEVEL

DIMMED: dict[str, Any] = {
    "key": {**LIGHTS["key"], "exposure": -1.1},
    "rim": {**LIGHTS["rim"], "intensity": 4.04},
}


def mark(**lights: float) -> MeasuredMark:
    total = math.fsum(2.0**stops for stops in lights.values())
    return MeasuredMark(
        Region(0, 0, 9, 9, True), Figures(0, 0, 0, 0, 0, 0, 81), lights, round(math.log2(total), 3)
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The key of B is dimmed by 1.1 stops in sheet and frame, and its rim as good as untouched; C has no layers; the layers of
    D lack light."""
    shots = {"A": tree(), "B": tree(lights=DIMMED), "C": tree(), "D": tree(lights=DIMMED)}
    place = sequence(tmp_path_factory.mktemp("match") / "quay", shots)
    for shot in "ABD":
        shoot_layers(place, shot, shots[shot], lost=0.3 if shot == "D" else 0.0)
    shoot(place, "C", shots["C"])
    measure(place, *"ABCD")
    return place


def test_a_planted_trim_is_found_alone(folder: Path) -> None:
    (match,) = matches(open_session(folder), {"B"})
    assert isinstance(match, Match)
    (trim,) = match.trims
    assert trim.light == "key" and trim.stops == pytest.approx(1.1, abs=0.01)
    (edit,) = trim.edits
    assert edit.name == "exposure" and edit.value == pytest.approx(0.0, abs=0.011) and edit.was == -1.1
    assert match.before < -0.3 and abs(match.after) < 0.02 and match.notes == ()


def test_why_there_is_none_is_said(folder: Path) -> None:
    session = open_session(folder)
    no_layers, lacking = matches(session, {"A", "C", "D"})
    assert no_layers == "C: there is no mark whose light was measured by layers both there and in A"
    assert isinstance(lacking, Match)
    (note,) = [note for note in lacking.notes if "add up" in note]
    assert (
        note.startswith("in the frame of D the layers add up to 0.") and "stops less than the picture" in note
    )
    assert matches(session, {"B"}, "hand") == ["B: hand was not measured in B, its sheet has no such mark"]


def test_a_mark_that_no_frame_has_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["match", str(folder), "--mark", "fase"]) == 2
    assert capsys.readouterr().err == (
        "samelight: --mark fase: no frame was measured that has this mark; did you mean face?\n"
    )
    assert main(["match", str(folder), "--mark", "face", "--shots", "A"]) == 0
    assert "the key shot's aside: samelight measure does that" in capsys.readouterr().out


def test_a_face_that_holds_is_left_alone(tmp_path: Path) -> None:
    place = sequence(tmp_path / "quay", {"A": tree(), "B": tree()})
    for shot in "AB":
        shoot_layers(place, shot, tree())
    measure(place, "A", "B")
    (file,) = (place / "measured").glob("B.*")
    data = json.loads(file.read_text("utf-8"))
    lights = data["marks"]["face"]["lights"]
    lost = 2.0 ** lights["key"] * (1.0 - 2.0**-0.4)
    lights["key"] -= 0.4
    lights["rim"] = math.log2(2.0 ** lights["rim"] + lost)
    file.write_text(json.dumps(data), "utf-8")
    said = "B: face is as in A as it is; trims of its lights would only cancel each other"
    assert matches(open_session(place), {"B"}) == [said]


def test_a_measured_light_that_no_sheet_has_is_told(folder: Path, tmp_path: Path) -> None:
    place = shutil.copytree(folder, tmp_path / "quay")
    for file in (place / "measured").iterdir():
        file.write_text(file.read_text("utf-8").replace('"key":', '"ghost":'), "utf-8")
    (match,) = matches(open_session(place), {"B"})
    assert isinstance(match, Match)
    assert match.trims == () and "ghost has a layer, and is no light of its sheet" in match.notes


def test_a_light_of_which_no_level_is_known_is_trimmed_by_hand(tmp_path: Path) -> None:
    lights = {"key": {**LIGHTS["key"]}, "rim": {**LIGHTS["rim"]}}
    shots = {"A": tree(lights=lights), "B": tree(lights=DIMMED)}
    place = sequence(tmp_path / "quay", shots)
    for shot, stated in shots.items():
        shoot_layers(place, shot, stated)
    measure(place, *shots)
    session = open_session(place)
    key = dict(session.contents.sheets["B"].sections["lights"]["key"])
    del key[LEVEL]
    lit = {**session.contents.sheets["B"].sections["lights"], "key": key}
    sheet = replace(
        session.contents.sheets["B"], sections={**session.contents.sheets["B"].sections, "lights": lit}
    )
    session.contents = replace(session.contents, sheets={**session.contents.sheets, "B": sheet})
    (match,) = matches(session, {"B"})
    assert isinstance(match, Match)
    (trim,) = match.trims
    assert trim.light == "key" and trim.edits == ()


def test_a_next_version_is_written_and_lights_it_as_the_key_shot(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = sequence(tmp_path / "quay", {"A": tree(), "B": tree(lights=DIMMED)})
    for shot, sheet in (("A", tree()), ("B", tree(lights=DIMMED))):
        shoot_layers(place, shot, sheet)
    measure(place, "A", "B")
    assert main(["match", str(place)]) == 0
    said = capsys.readouterr().out
    assert "B, sheet v001: face as in A" in said and "lights.key +1.10 st: exposure: " in said
    assert "Nothing was written" in said
    assert main(["match", str(place), "--shots", "B", "--write"]) == 0
    assert "B: written " in capsys.readouterr().out
    again = open_session(place)
    assert again.contents.sheets["B"].version == 2
    row, column = again.table.row("lights.key.level"), again.table.column("B")
    assert row is not None and column is not None and abs(again.table.drift[row, column]) < 0.011
    # Its frame shows the earlier version now, and proves nothing.
    assert main(["match", str(place), "--shots", "B"]) == 0
    assert (
        "the frame was measured by version 1 of the sheet, which was changed since" in capsys.readouterr().out
    )


def test_what_to_set_is_sent_back_to_the_lighter(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = shutil.copytree(folder, tmp_path / "quay")
    sheets = {path: path.read_bytes() for path in (place / "shots").rglob("*") if path.is_file()}
    assert main(["match", str(place), "--shots", "B", "--send-back", "--who", "Mara"]) == 0
    assert "return B lights.key.level" in capsys.readouterr().out
    session = open_session(place)
    (match,) = matches(session, {"B"})
    assert isinstance(match, Match)
    row, column = there(session.table.row("lights.key.level")), there(session.table.column("B"))
    judged = session.cases.judgement(row, column)
    assert judged.state is State.SENT_BACK
    (decision,) = judged.decisions
    assert decision.who == "Mara" and decision.reason == wanted_text(match)
    assert decision.reason.startswith("face as in A: lights.key +1.1") and "st: exposure: " in decision.reason
    assert "(now -1.1)" in decision.reason
    # The lighter's page has it as the reason.
    (page,) = lighter_pages(session, ["B"])
    tasks = [task for part in page.shots for task in part.tasks if task.parameter == "lights.key.level"]
    assert [[why.endswith(f": {decision.reason}") for why in task.why] for task in tasks] == [[True]]
    assert {path: path.read_bytes() for path in sheets} == sheets


def test_given_trims_are_spelt_as_those_of_a_match(folder: Path) -> None:
    session = open_session(folder)
    (match,) = matches(session, {"B"})
    assert isinstance(match, Match)
    asked = {trim.light: trim.stops for trim in match.trims}
    trims, typed = typed_trims(session, match.sheet, {**asked, "ghost": 1.0}, {"rim": 30.0})
    assert trims[:-1] == match.trims and typed == match.tree
    assert wanted_text(match) == f"face as in A: {trims_text(match.trims)}"
    assert trims_text(trims[-1:]) == "lights.rim gel +30 MK⁻¹"
    cells = [session.table.rows[row].parameter for row, _ in trimmed_cells(session, "B", trims)]
    assert cells == ["lights.key.level", "lights.rim.colour"]


def test_an_animated_level_is_trimmed_by_hand(tmp_path: Path) -> None:
    fades = {
        "key": {**LIGHTS["key"], "exposure": {"keys": [[1001, -1.0], [1010, -1.1]]}},
        "rim": LIGHTS["rim"],
    }
    still = {**fades, "key": {**LIGHTS["key"], "exposure": -1.0}}
    place = sequence(tmp_path / "quay", {"A": tree(), "B": tree(lights=still)})
    shoot_layers(place, "A", tree())
    shoot_layers(place, "B", tree(lights=still), version=2)
    publish(place, "B", tree(lights=fades, frames=[1001, 1010]), 2)
    measure(place, "A", "B")
    (match,) = matches(open_session(place), {"B"})
    assert isinstance(match, Match)
    assert [(trim.light, trim.edits) for trim in match.trims] == [("key", ())]


def test_bounds_and_what_no_trim_changes() -> None:
    trims, notes = trims_of(mark(key=-6.0, rim=-3.0), mark(key=0.0, rim=-3.0))
    assert trims == {"key": FURTHEST}
    assert notes == ["key would take +6.0 stops; no more than 3 are offered"]
    trims, notes = trims_of(mark(key=-1.0, sky=BLACK, lamp=-2.0), mark(key=-1.0, sky=-1.0))
    assert not trims
    assert notes == [
        "lamp has no layer in the frame that it is brought to, and stays as it is",
        "sky gives it no light here, which no trim changes",
    ]


@given(st.lists(st.tuples(st.floats(-6, 2), st.floats(-2.5, 2.5)), min_size=1, max_size=6))
def test_the_fewest_lights_leave_next_to_nothing(lights: list[tuple[float, float]]) -> None:
    own = mark(**{f"l{at}": round(level, 3) for at, (level, _) in enumerate(lights)})
    held = mark(**{f"l{at}": round(level + off, 3) for at, (level, off) in enumerate(lights)})
    trims, notes = trims_of(own, held)
    assert not notes
    total = math.fsum(2.0**level for level in held.lights.values())
    off = {name: abs(2.0 ** held.lights[name] - 2.0 ** own.lights[name]) for name in own.lights}
    left = math.fsum(size for name, size in off.items() if name not in trims)
    share = 2.0**LEFT - 1.0
    assert left <= share * total * (1.0 + 1e-9)
    for name, stops in trims.items():
        assert stops == pytest.approx(held.lights[name] - own.lights[name], abs=0.0051)
        # Without the least of them too much would be left.
    if trims:
        least = min(off[name] for name in trims)
        assert left + least > share * total
