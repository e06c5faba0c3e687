"""The sample of USD scenes: what was captured is what is committed, and what was planted is found."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from pxr import Usd

from samelight.changes.fix_list import fix_list
from samelight.cli.usd_layer import changes_of, scene_of
from samelight.decisions.state import State
from samelight.drift.cells import ComparedCell, Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sequence import read_sequence
from samelight.sheets.sheet import read_sheet
from samelight.sheets.trees import parse_document, read_document
from samelight.sheets.writing import write_sheet, yaml_text
from samelight.sources.batch import Job, Result, capture_job
from samelight.sources.request import CaptureRequest
from samelight.sources.scene_list import scenes_of
from samelight.sources.scenes import capture_scene
from samelight.sources.usd.override import write_override
from samples import copy_of

SHOTS = ("QU_010", "QU_020", "QU_040", "QU_030", "QU_050")


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    """A copy of the sample that a test may change."""
    return copy_of("quay_usd", tmp_path / "quay_usd")


@pytest.fixture(scope="module")
def session() -> Session:
    return open_session(sample_sequence("quay_usd"))


def drifting(session: Session, shot: str) -> dict[str, ComparedCell]:
    """What is typed and drifts in a shot; what is computed from it follows."""
    cells = session.table.cells(above=Grade.WITHIN)
    return {
        cell.parameter: cell
        for cell in cells
        if cell.shot == shot and cell.parameter.partition(".")[0] in ("lights", "environments", "render")
    }


class TestTheSheets:
    @pytest.mark.parametrize("shot", SHOTS)
    def test_capturing_again_gives_the_committed_sheet(self, quay: Path, shot: str) -> None:
        sheet = quay / f"shots/{shot}/{shot}.v001.yaml"
        scene = scenes_of(read_sequence(quay))[shot]
        tree = capture_scene(scene, CaptureRequest(shot=shot, master=1))
        tree["source"]["scene"] = f"scenes/{shot}.usda"
        assert parse_document(sheet, yaml_text(tree)).data == read_document(sheet).data

    def test_nothing_is_captured_in_vain(self, quay: Path) -> None:
        jobs = [Job(quay, shot, scene) for shot, scene in scenes_of(read_sequence(quay)).items()]
        assert [capture_job(job).result for job in jobs] == [Result.SKIPPED] * 5

    def test_no_path_of_a_machine_is_in_them(self, quay: Path) -> None:
        for path in quay.rglob("*"):
            assert path.is_dir() or str(sample_sequence("quay_usd").parent) not in path.read_text(
                encoding="utf-8"
            )

    def test_the_master_is_the_key_shot(self, quay: Path) -> None:
        master = read_document(quay / "master/master.v001.yaml").data
        key = read_document(quay / "shots/QU_010/QU_010.v001.yaml").data
        assert all(
            master[section] == key[section] for section in ("lights", "environments", "render", "units")
        )


class TestTheSequence:
    def test_the_cut_gives_order_and_ranges(self, session: Session) -> None:
        assert session.contents.shots == SHOTS
        cut = session.contents.cut
        assert cut is not None
        assert [(use.first, use.last) for use in cut.uses] == [
            (1009, 1040),
            (1013, 1036),
            (1009, 1036),
            (1011, 1032),
            (1009, 1040),
        ]
        assert [use.handles for use in cut.uses] == [(8, 8), (12, 12), (8, 12), (10, 16), (8, 8)]
        assert [use.fades for use in cut.uses] == [(0, 0), (0, 0), (0, 0), (0, 4), (4, 0)]

    def test_the_only_trouble_is_the_planted_one(self, session: Session) -> None:
        assert [(trouble.shot, "/set/skiff" in trouble.says) for trouble in session.troubles] == [
            ("QU_030", True)
        ]


class TestWhatWasPlanted:
    def test_nothing_in_the_key_shot(self, session: Session) -> None:
        assert drifting(session, "QU_010") == {}

    def test_the_sun(self, session: Session) -> None:
        (cell,) = drifting(session, "QU_020").values()
        turned = 2 * math.degrees(math.asin(math.cos(math.radians(24)) * math.sin(math.radians(6))))
        assert (cell.parameter, cell.grade) == ("lights.sun.direction", Grade.BREAK)
        assert cell.drift == pytest.approx(turned, abs=1e-5)

    def test_the_lantern_and_the_links(self, session: Session) -> None:
        cells = drifting(session, "QU_030")
        assert set(cells) == {
            "lights.lantern.level",
            "lights.shed_window.light_links",
            "lights.shed_window.missing_links",
        }
        assert cells["lights.lantern.level"].drift == pytest.approx(1.0)

    def test_the_sky_and_the_render_settings(self, session: Session) -> None:
        cells = drifting(session, "QU_040")
        assert set(cells) == {
            "environments.dawn_sky.rotation",
            "render.shot.gi.range",
            "render.shot.gi.bounces",
        }
        assert all(cell.grade is Grade.BREAK for cell in cells.values())
        assert cells["environments.dawn_sky.rotation"].drift == pytest.approx(15.0)
        says = [finding.says for finding in session.cases.findings if finding.finding == "unit-slip"]
        assert len(says) == 1
        assert "QU_040" in says[0]

    def test_the_window_and_the_moving_lantern_in_centimetres(self, session: Session) -> None:
        cells = drifting(session, "QU_050")
        assert set(cells) == {
            "lights.lantern.position",
            "lights.shed_window.width",
            "lights.shed_window.level",
        }
        assert cells["lights.shed_window.level"].drift == pytest.approx(math.log2(3.0))
        assert cells["lights.lantern.position"].drift == pytest.approx(math.hypot(0.7, 0.0, 0.6), abs=1e-3)
        row, column = session.table.row("lights.lantern.position"), session.table.column("QU_050")
        assert row is not None
        assert column is not None
        assert session.cases.state(row, column) is State.INTENDED


@pytest.mark.parametrize("shot", SHOTS[1:])
def test_a_layer_puts_each_shot_back(quay: Path, tmp_path: Path, shot: str) -> None:
    session = open_session(quay)
    (part,) = fix_list(session, shots={shot})
    source: Any = part.sheet.typed["source"]
    scene = scene_of(session.contents.folder, source, shot)
    layer = tmp_path / "fix.usda"
    done, left = write_override(layer, scene, source, changes_of(session, part), "put back")
    assert (done > 0, left) == (True, [])

    old = Usd.Stage.Open(str(scene))
    stage = Usd.Stage.CreateNew(str(tmp_path / f"{shot}.usda"))
    for name in ("upAxis", "metersPerUnit", "startTimeCode", "endTimeCode", "renderSettingsPrimPath"):
        stage.SetMetadata(name, old.GetMetadata(name))
    stage.GetRootLayer().subLayerPaths = [str(layer), str(scene)]
    stage.GetRootLayer().Save()
    tree = capture_scene(tmp_path / f"{shot}.usda", CaptureRequest(shot=shot, version=2, master=1))
    write_sheet(quay / f"shots/{shot}/{shot}.v002.yaml", tree)

    again = open_session(quay)
    assert set(drifting(again, shot)) <= {"lights.lantern.position"}
    assert read_sheet(quay / f"shots/{shot}/{shot}.v002.yaml", version=2).frames == (1001, 1048)
