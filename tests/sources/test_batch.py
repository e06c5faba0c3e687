"""Many scenes into sheets: versions, what is skipped, what fails alone, and pools that break."""

import os
import shutil
import time
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from conftest import write_sequence
from samelight.cli.capture_sequence import Running
from samelight.sheets.errors import SamelightError
from samelight.sheets.sequence import read_sequence
from samelight.sheets.trees import read_document
from samelight.sources import batch, captured
from samelight.sources.batch import Job, Outcome, Result, capture_all, capture_job
from samelight.sources.captured import MOST_LISTED, stamp_of
from samelight.sources.limits import Limits
from samelight.sources.request import CaptureRequest
from samelight.sources.scene_list import scenes_of
from samelight.sources.trial import ReaderEndedError

SCENE = """#usda 1.0
(
    metersPerUnit = 1
    subLayers = [@./lighting.usda@]
)
"""
LIGHTING = """#usda 1.0
def SphereLight "lamp"
{
    float inputs:intensity = 3
    double3 xformOp:translate = (1, 2, 3)
    uniform token[] xformOpOrder = ["xformOp:translate"]
}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sequence of three scenes over one lighting layer."""
    scenes = tmp_path / "quay" / "scenes"
    scenes.mkdir(parents=True)
    (tmp_path / "quay" / "sequence.yaml").write_text("title: Quay\nscenes: scenes/QU_*.usda\n")
    (scenes / "lighting.usda").write_text(LIGHTING)
    for shot in ("QU_010", "QU_020", "QU_030"):
        (scenes / f"{shot}.usda").write_text(SCENE)
    return tmp_path / "quay"


def jobs_of(folder: Path, again: bool = False, **asked: Any) -> list[Job]:
    request = CaptureRequest(**asked)
    return [
        Job(folder, shot, scene, request, again) for shot, scene in scenes_of(read_sequence(folder)).items()
    ]


def results(folder: Path, **options: Any) -> list[str]:
    outcomes = [capture_job(job) for job in jobs_of(folder, **options)]
    assert not [outcome.error for outcome in outcomes if outcome.error]
    return [str(outcome.result) for outcome in outcomes]


def sheets(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / "shots").rglob("*.yaml"))


def mend(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


class TestVersions:
    def test_the_first_run_makes_version_one(self, folder: Path) -> None:
        assert results(folder) == ["new"] * 3
        assert sheets(folder) == ["QU_010.v001.yaml", "QU_020.v001.yaml", "QU_030.v001.yaml"]
        tree = read_document(folder / "shots/QU_010/QU_010.v001.yaml").data
        assert (tree["shot"], tree["version"]) == ("QU_010", 1)
        assert tree["source"]["scene"] == "scenes/QU_010.usda"  # no path of one machine
        assert list(tree["source"]["files"]) == ["lighting.usda"]

    def test_nothing_changed(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        results(folder)
        monkeypatch.setattr(batch, "capture_scene", None)  # no scene is so much as opened
        assert results(folder) == ["unchanged"] * 3

    def test_a_layer_changed(self, folder: Path) -> None:
        results(folder)
        mend(folder / "scenes/lighting.usda", "intensity = 3", "intensity = 4")
        assert results(folder) == ["new"] * 3
        assert "QU_020.v002.yaml" in sheets(folder)

    def test_one_scene_changed(self, folder: Path) -> None:
        results(folder)
        (folder / "scenes/QU_020.usda").write_text(
            SCENE + 'over "lamp"\n{\n    float inputs:intensity = 5\n}\n'
        )
        assert results(folder) == ["unchanged", "new", "unchanged"]

    def test_other_bytes_and_the_same_lighting(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        results(folder)
        mend(folder / "scenes/lighting.usda", "#usda 1.0\n", "#usda 1.0\n# a remark\n")
        assert results(folder) == ["same"] * 3
        assert all("v001" in name for name in sheets(folder))
        # It is remembered: the next run opens nothing.
        monkeypatch.setattr(batch, "capture_scene", None)
        assert results(folder) == ["unchanged"] * 3

    def test_what_is_remembered_holds_for_that_sheet_alone(self, folder: Path) -> None:
        results(folder)
        mend(folder / "scenes/lighting.usda", "#usda 1.0\n", "#usda 1.0\n# a remark\n")
        results(folder)
        sheet = folder / "shots/QU_010/QU_010.v001.yaml"
        mend(
            sheet, "intensity: 3.0", "intensity: 2.0"
        )  # mended by hand: what is there is not what a capture gives
        assert results(folder) == ["new", "unchanged", "unchanged"]

    def test_again(self, folder: Path) -> None:
        results(folder)
        assert results(folder, again=True) == ["same"] * 3

    def test_other_options(self, folder: Path) -> None:
        results(folder)
        assert results(folder, frames=(1001, 1010)) == ["new"] * 3
        assert results(folder, frames=(1001, 1010)) == ["unchanged"] * 3
        assert results(folder, frames=(1001, 1010), master=2) == ["new"] * 3
        assert results(folder, frames=(1001, 1010), master=2) == ["unchanged"] * 3
        assert read_document(folder / "shots/QU_010/QU_010.v003.yaml").data["master"] == 2

    def test_a_layer_that_was_missing_is_looked_for_again(self, folder: Path) -> None:
        (folder / "scenes/lighting.usda").unlink()
        assert results(folder) == ["new"] * 3
        assert results(folder) == ["unchanged"] * 3
        (folder / "scenes/lighting.usda").write_text(LIGHTING)
        assert results(folder) == ["new"] * 3

    def test_another_reader(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        results(folder)
        monkeypatch.setattr(batch, "READER", 99)
        assert results(folder) == ["same"] * 3

    def test_what_was_typed_goes_on(self, folder: Path) -> None:
        results(folder)
        sheet = folder / "shots/QU_010/QU_010.v001.yaml"
        sheet.write_text(sheet.read_text() + "notes: keep the lantern low\ncost: {test_frame: 18m20s}\n")
        mend(folder / "scenes/lighting.usda", "intensity = 3", "intensity = 4")
        results(folder)
        tree = read_document(folder / "shots/QU_010/QU_010.v002.yaml").data
        assert tree["notes"] == "keep the lantern low"
        assert tree["cost"] == {"test_frame": "18m20s"}
        assert results(folder) == ["unchanged"] * 3

    def test_after_a_sheet_that_cannot_be_read(self, folder: Path) -> None:
        results(folder)
        (folder / "shots/QU_010/QU_010.v001.yaml").write_text("lights: [")
        assert results(folder) == ["new", "unchanged", "unchanged"]

    def test_a_version_published_meanwhile_is_not_written_over(
        self, folder: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (job, *_) = jobs_of(folder)
        monkeypatch.setattr(batch, "shot_versions", lambda *_: {})
        capture_job(job)
        before = (folder / "shots/QU_010/QU_010.v001.yaml").read_bytes()
        assert "could not be written" in capture_job(job).error
        assert (folder / "shots/QU_010/QU_010.v001.yaml").read_bytes() == before


class TestFailures:
    @pytest.mark.parametrize("raw", [b"", b"#usda 1.0\ndef {", b"PXR-USDC", b"\0" * 100])
    def test_a_broken_scene(self, folder: Path, raw: bytes) -> None:
        (folder / "scenes/QU_020.usda").write_bytes(raw)
        outcomes = {outcome.shot: outcome for outcome in map(capture_job, jobs_of(folder))}
        assert outcomes["QU_020"].result is Result.FAILED
        assert "QU_020.usda" in outcomes["QU_020"].error
        assert outcomes["QU_030"].result is Result.NEW

    def test_a_value_that_no_sheet_may_have(self, folder: Path) -> None:
        mend(folder / "scenes/lighting.usda", "inputs:intensity = 3", "inputs:shaping:cone:angle = -4")
        error = capture_job(jobs_of(folder)[0]).error
        assert error.startswith(
            f"{folder / 'scenes/QU_010.usda'}: lights.lamp.cone: expected 0 to 180 degrees"
        )

    def test_a_fault_of_our_own(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def stumble(*_: CaptureRequest | Path, **__: Any) -> None:
            raise ZeroDivisionError("so it goes")

        monkeypatch.setattr(batch, "capture_scene", stumble)
        outcome = capture_job(jobs_of(folder)[0])
        assert outcome.result is Result.FAILED
        assert "ZeroDivisionError" in outcome.error

    def test_a_disk_that_says_no(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def full(*_: Path | dict[str, Any], **__: bool) -> None:
            raise OSError(28, "No space left on device", "quay")

        monkeypatch.setattr(captured, "write_sheet", full)
        assert capture_job(jobs_of(folder)[0]).error == "quay: No space left on device"


class Breaking(Executor):
    """An executor that dies at one shot, with all that it has not finished."""

    dead = False

    def submit(self, work: Callable[..., Any], /, *given: Any, **options: Any) -> Future[Any]:
        (job,) = given
        future: Future[Any] = Future()
        if self.dead or job.shot == "QU_020":
            self.dead = True
            future.set_exception(BrokenExecutor())
        else:
            future.set_result(work(job))
        return future


class TestPools:
    def test_any_executor_will_do(self, folder: Path) -> None:
        outcomes = list(capture_all(jobs_of(folder), ThreadPoolExecutor, 2))
        assert sorted(outcome.shot for outcome in outcomes) == ["QU_010", "QU_020", "QU_030"]

    def test_who_breaks_a_pool_fails_alone(self, folder: Path) -> None:
        made = []

        @contextmanager
        def pool(workers: int) -> Iterator[Breaking]:
            made.append(workers)
            yield Breaking()

        outcomes = {outcome.shot: outcome for outcome in capture_all(jobs_of(folder), pool, 8)}
        assert [str(outcomes[shot].result) for shot in sorted(outcomes)] == ["new", "failed", "new"]
        assert "ended without a word" in outcomes["QU_020"].error
        assert made == [3, 1, 1]

    def test_an_error_of_the_farm_concerns_one_scene(self, folder: Path) -> None:
        class Losing(ThreadPoolExecutor):
            def submit(self, work: Callable[..., Any], /, *given: Any, **options: Any) -> Future[Any]:
                (job,) = given
                if job.shot != "QU_010":
                    return super().submit(work, job, **options)
                future: Future[Any] = Future()
                future.set_exception(RuntimeError("a worker was lost"))
                return future

        outcomes = {outcome.shot: outcome for outcome in capture_all(jobs_of(folder), Losing, 2)}
        assert "a worker was lost" in outcomes["QU_010"].error
        assert outcomes["QU_030"].result is Result.NEW

    def test_closing_drops_what_has_not_begun(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        begun = []

        def slow(job: Any) -> Any:
            begun.append(job.shot)
            time.sleep(0.05)
            return batch.Outcome(job.shot, Result.NEW)

        monkeypatch.setattr(batch, "capture_job", slow)
        many = [Job(folder, f"QU_{number:03d}", folder / "scenes/QU_010.usda") for number in range(50)]
        running = capture_all(many, ThreadPoolExecutor, 1)
        next(running)
        assert isinstance(running, Generator)
        running.close()
        assert len(begun) < 10

    def test_nothing_to_do(self) -> None:
        assert list(capture_all([], ThreadPoolExecutor, 2)) == []


class TestSceneList:
    def test_by_name(self, folder: Path) -> None:
        (folder / "sequence.yaml").write_text("scenes: {QU_010: scenes/QU_020.usda, A_1: scenes/gone.usda}\n")
        scenes = scenes_of(read_sequence(folder))
        assert list(scenes) == ["QU_010", "A_1"]
        assert scenes["QU_010"] == folder / "scenes/QU_020.usda"
        assert list(scenes_of(read_sequence(folder), "scenes/QU_03?.usda")) == ["QU_030"]

    def test_the_latest_version_of_each(self, folder: Path) -> None:
        for name in ("HB_010.v001.usda", "HB_010.v012.usda", "HB_020_v2.usd", "notes.txt"):
            (folder / "scenes" / name).write_text(SCENE)
        scenes = scenes_of(read_sequence(folder), "scenes/HB_*")
        assert {shot: path.name for shot, path in scenes.items()} == {
            "HB_010": "HB_010.v012.usda",
            "HB_020": "HB_020_v2.usd",
        }

    def test_folders_below_and_absolute_patterns(self, folder: Path) -> None:
        (folder / "scenes/night").mkdir()
        shutil.move(folder / "scenes/QU_030.usda", folder / "scenes/night")
        sequence = read_sequence(folder)
        assert list(scenes_of(sequence, "**/QU_*.usda")) == ["QU_010", "QU_020", "QU_030"]
        assert list(scenes_of(sequence, f"{folder}/scenes/QU_010.usda")) == ["QU_010"]

    @pytest.mark.parametrize(
        ("stated", "says"),
        [
            ("title: Quay", "names no scenes"),
            ("scenes: {}", "found none"),
            ("scenes: other/*.usda", r"no scene is called other"),
            ("scenes: scenes/QU_010*", "two scenes"),
        ],
    )
    def test_what_cannot_be_told(self, folder: Path, stated: str, says: str) -> None:
        (folder / "scenes/QU_010.gltf").write_text("{}")
        (folder / "sequence.yaml").write_text(stated + "\n")
        with pytest.raises(SamelightError, match=says):
            scenes_of(read_sequence(folder))

    def test_a_shot_with_two_scenes_stops_no_other(self, folder: Path) -> None:
        for name in (
            "QU_010.gltf",
            "QU_030.glb",
            "QU_030.gltf",
            "QU_020.v001.usda",
            "QU_020.v001.gltf",
            "QU_020.v002.usda",
        ):
            (folder / "scenes" / name).write_text("{}")
        told: list[str] = []
        sequence = read_sequence(folder)
        found = scenes_of(sequence, "scenes/QU*", left_out=told.append)
        assert list(found) == ["QU_020"] and found["QU_020"].name == "QU_020.v002.usda"
        assert told == [
            "QU_010 has two scenes, scenes/QU_010.gltf and scenes/QU_010.usda: narrow the pattern",
            "QU_030 has 3 scenes, such as scenes/QU_030.glb and scenes/QU_030.gltf: narrow the pattern",
        ]

    @pytest.mark.parametrize("stated", ["[a, b]", "{QU_010: 3}", "{'../up': a.usda}", "7"])
    def test_what_sequence_yaml_may_not_say(self, folder: Path, stated: str) -> None:
        (folder / "sequence.yaml").write_text(f"scenes: {stated}\n")
        with pytest.raises(SamelightError, match=r"sequence\.yaml:1"):
            read_sequence(folder)


@pytest.mark.skipif(os.name != "posix", reason="only there may a file be a pipe")
def test_a_file_that_is_a_pipe_is_no_file(tmp_path: Path) -> None:
    from samelight.sources.provenance import digest_of

    os.mkfifo(tmp_path / "pipe")
    assert digest_of(tmp_path / "pipe") is None


def test_a_scene_of_very_many_layers_makes_no_long_sheet(tmp_path: Path) -> None:
    """They are listed beside the sheet, and where that list is lost the scene is captured again."""
    folder = write_sequence(tmp_path / "quay", shots={})
    names = [f"part_{number:03d}.usda" for number in range(MOST_LISTED + 1)]
    for name in names:
        (folder / name).write_text("#usda 1.0\n")
    layers = ", ".join(f"@./{name}@" for name in names)
    scene = folder / "shot.usda"
    scene.write_text(
        f'#usda 1.0\n(\nmetersPerUnit = 1\nsubLayers = [{layers}]\n)\ndef SphereLight "lamp"\n{{\n}}\n'
    )
    job = Job(folder, "S_010", scene)
    made = capture_job(job)
    assert made.result is Result.NEW and made.sheet is not None
    source = read_document(made.sheet).data["source"]
    assert "files" not in source
    assert source["assembly"]["files"] == len(names)
    assert capture_job(job).result is Result.SKIPPED
    stamp_of(made.sheet).unlink()
    assert capture_job(job).result is Result.SAME
    assert capture_job(job).result is Result.SKIPPED
    (folder / names[-1]).write_text('#usda 1.0\nover "lamp"\n{\n    float inputs:intensity = 3\n}\n')
    assert capture_job(job).result is Result.NEW


def test_a_scene_that_takes_longer_than_asked_is_given_up_and_told_meanwhile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is not tried again without its pictures: who waits no longer than so has waited so long."""
    asked: list[Limits] = []

    def late(file: Path, limits: Limits, *_: object) -> Outcome:
        asked.append(limits)
        told.append(running.text())
        raise ReaderEndedError(file, "a file that can be read to its end", "one that takes more than 3 s")

    told: list[str] = []
    running = Running()
    monkeypatch.setattr(batch, "tried", late)
    outcome = running.capture(Job(tmp_path, "S_010", tmp_path / "shot.usda", seconds=3.0))
    assert outcome.result is Result.FAILED
    assert "takes more than 3 s" in outcome.error
    assert [limits.clock for limits in asked] == [3.0]
    assert told[0].startswith("S_010 ")
    assert running.text() == ""
