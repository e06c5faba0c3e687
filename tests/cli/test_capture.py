"""`samelight capture` as it is run: one scene, all scenes of a sequence, processes that die, a farm."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

from dying_scenes import capture_or_die
from samelight.cli import capture_sequence, workers
from samelight.cli.main import main
from samelight.sheets.trees import read_document
from samelight.sources.batch import Job
from samelight.sources.pools import processors

APP = Path(__file__).parents[2] / "app"
SCENE = """#usda 1.0
(
    metersPerUnit = 1
)
def SphereLight "lamp"
{{
    float inputs:intensity = {intensity}
}}
"""


@pytest.fixture
def quay(tmp_path: Path) -> Path:
    folder = tmp_path / "quay"
    (folder / "scenes").mkdir(parents=True)
    (folder / "sequence.yaml").write_text("title: Quay\nscenes: scenes/*.usda\n")
    for shot in ("QU_010", "QU_020", "QU_030"):
        (folder / "scenes" / f"{shot}.usda").write_text(SCENE.format(intensity=3))
    return folder


Streams = pytest.CaptureFixture[str]


@pytest.mark.usefixtures("readers_stay")
class TestOneScene:
    def test_it_tells_its_lights_and_remarks(self, quay: Path, tmp_path: Path, capsys: Streams) -> None:
        scene = quay / "scenes/QU_010.usda"
        scene.write_text(scene.read_text().replace("metersPerUnit = 1", 'doc = "none"'))
        sheet = tmp_path / "QU_010.v004.yaml"
        assert main(["capture", str(scene), "-o", str(sheet), "--master", "3"]) == 0
        streams = capsys.readouterr()
        assert streams.out == f"{sheet}: 1 light, 1 remark\n"
        assert "metersPerUnit" in streams.err
        tree = read_document(sheet).data
        assert (tree["version"], tree["master"]) == (4, 3)

    def test_printed_it_tells_them_on_stderr(self, quay: Path, capsys: Streams) -> None:
        scene = quay / "scenes/QU_010.usda"
        assert main(["capture", str(scene)]) == 0
        assert capsys.readouterr().err == ""
        scene.write_text(scene.read_text().replace("metersPerUnit = 1", 'doc = "none"'))
        assert main(["capture", str(scene)]) == 0
        streams = capsys.readouterr()
        assert streams.err.endswith("samelight: 1 light, 1 remark\n")
        assert streams.out.startswith("samelight: 2\n")

    @pytest.mark.parametrize(
        ("words", "says"),
        [
            ([], "capture what?"),
            (["a.usda", "--jobs", "2"], "--jobs needs --sequence"),
            (["a.usda", "--again"], "--again needs --sequence"),
            (["a.usda", "--sequence", "quay"], "a scene does not go with --sequence"),
            (["--sequence", "quay", "--shot", "A"], "--shot does not go with --sequence"),
            (["a.fbx"], "expected a scene in"),
            (["gone.usda"], "no such file"),
            (["a.usda", "-o", "sheet.txt"], "ends in .yaml or .json"),
        ],
    )
    def test_what_does_not_go(self, words: list[str], says: str, capsys: Streams) -> None:
        assert main(["capture", *words]) == 2
        assert says in capsys.readouterr().err

    @pytest.mark.parametrize(
        "words", [["--frames", "9-1"], ["--jobs", "0"], ["--master", "-1"], ["--frame-rate", "none"]]
    )
    def test_numbers_that_cannot_be(self, words: list[str], capsys: Streams) -> None:
        with pytest.raises(SystemExit) as end:
            main(["capture", "a.usda", *words])
        assert end.value.code == 2
        assert "expected" in capsys.readouterr().err


@pytest.mark.usefixtures("readers_stay")
class TestASequence:
    def test_in_processes(self, quay: Path, capsys: Streams) -> None:
        (quay / "scenes/QU_020.usda").write_text("#usda 1.0\ndef {")
        assert main(["capture", "--sequence", str(quay), "--jobs", "2"]) == 1
        streams = capsys.readouterr()
        lines = streams.out.splitlines()
        assert sorted(lines[:-1]) == [
            "QU_010: shots/QU_010/QU_010.v001.yaml (1 light)",
            "QU_030: shots/QU_030/QU_030.v001.yaml (1 light)",
        ]
        assert lines[-1] == "3 scenes: 2 new, 1 failed"
        assert "samelight: QU_020 failed:" in streams.err
        assert "QU_020.usda:2" in streams.err

    def test_the_next_run_goes_on(self, quay: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(capture_sequence, "children", _threads)
        assert main(["capture", "--sequence", str(quay)]) == 0
        said = capsys.readouterr().err  # no bar where there is no terminal
        assert said == "samelight: scenes/*.usda: 3 of 3 files and folders looked at are scenes\n"
        (quay / "scenes/QU_030.usda").write_text(SCENE.format(intensity=4))
        assert main(["capture", "--sequence", str(quay)]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert sorted(lines[:-1]) == [
            "QU_010: shots/QU_010/QU_010.v001.yaml unchanged",
            "QU_020: shots/QU_020/QU_020.v001.yaml unchanged",
            "QU_030: shots/QU_030/QU_030.v002.yaml (1 light)",
        ]
        assert lines[-1] == "3 scenes: 1 new, 2 unchanged"

    def test_from_another_folder_and_with_other_scenes(
        self, quay: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(capture_sequence, "children", _threads)
        monkeypatch.chdir(quay.parent)
        assert main(["capture", "--sequence", "quay", "--scenes", "scenes/QU_01*"]) == 0
        assert capsys.readouterr().out.endswith("1 scene: 1 new\n")
        assert read_document(quay / "shots/QU_010/QU_010.v001.yaml").data["source"]["scene"] == (
            "scenes/QU_010.usda"
        )

    def test_what_is_no_sequence(self, tmp_path: Path, capsys: Streams) -> None:
        assert main(["capture", "--sequence", str(tmp_path)]) == 2
        assert "no sequence.yaml" in capsys.readouterr().err

    @pytest.mark.skipif(os.name != "posix", reason="terminals are opened another way there")
    def test_the_bar_itself(self, quay: Path) -> None:
        import pty

        ours, theirs = pty.openpty()
        drawn: list[bytes] = []
        reader = threading.Thread(target=_read_all, args=(ours, drawn))
        reader.start()  # a terminal takes only so much that nobody reads
        run = subprocess.run(
            [sys.executable, "-m", "samelight", "capture", "--sequence", str(quay)],
            env={**os.environ, "PYTHONPATH": str(APP), "TERM": "xterm"},
            stdout=subprocess.PIPE,
            stderr=theirs,
            check=True,
            timeout=600,
        )
        os.close(theirs)
        reader.join()
        os.close(ours)
        assert b"capturing" in b"".join(drawn)
        assert b"capturing" not in run.stdout
        assert run.stdout.endswith(b"3 scenes: 3 new\n")


def _read_all(terminal: int, into: list[bytes]) -> None:
    with contextlib.suppress(OSError):  # which says that its other end is closed
        while piece := os.read(terminal, 4096):
            into.append(piece)


def _threads(count: int) -> Any:
    from concurrent.futures import ThreadPoolExecutor

    return ThreadPoolExecutor(count)


@pytest.mark.skipif(os.name != "posix", reason="there is no such signal")
def test_a_process_that_dies_takes_no_other_scene_with_it(
    quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from samelight.sources import batch

    monkeypatch.setattr(batch, "capture_job", capture_or_die)
    jobs = [Job(quay, shot, quay / f"scenes/{shot}.usda") for shot in ("QU_010", "QU_020", "QU_030")]
    outcomes = {outcome.shot: outcome for outcome in batch.capture_all(jobs, workers.children, 2)}
    assert {shot: str(outcome.result) for shot, outcome in outcomes.items()} == {
        "QU_010": "new",
        "QU_020": "failed",
        "QU_030": "new",
    }
    said = outcomes["QU_020"].error
    assert said.startswith(str(quay / "scenes/QU_020.usda"))
    assert "SIGKILL" in said


class TestAFarm:
    def test_two_workers(self, quay: Path, capsys: Streams) -> None:
        distributed = pytest.importorskip("distributed", reason="the extra 'farm' is not installed")
        with distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, protocol="tcp", host="127.0.0.1"
        ) as cluster:  # fmt: skip
            (quay / "scenes/QU_020.usda").write_text("")
            words = ["capture", "--sequence", str(quay), "--scheduler", cluster.scheduler_address]
            assert main(words) == 1
        streams = capsys.readouterr()
        assert streams.out.endswith("3 scenes: 2 new, 1 failed\n")
        assert "an empty file" in streams.err
        assert (quay / "shots/QU_030/QU_030.v001.yaml").exists()

    def test_without_the_extra(self, quay: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setitem(sys.modules, "distributed", None)
        assert main(["capture", "--sequence", str(quay), "--scheduler", "tcp://127.0.0.1:1"]) == 2
        assert "samelight[farm]" in capsys.readouterr().err

    def test_nobody_answers(self, quay: Path, capsys: Streams, monkeypatch: pytest.MonkeyPatch) -> None:
        distributed = pytest.importorskip("distributed", reason="the extra 'farm' is not installed")
        client = distributed.Client
        monkeypatch.setattr(distributed, "Client", lambda address, **_: client(address, timeout=0.5))
        assert main(["capture", "--sequence", str(quay), "--scheduler", "tcp://127.0.0.1:1"]) == 2
        assert "no scheduler answers" in capsys.readouterr().err


def test_there_is_at_least_one_processor() -> None:
    assert 1 <= processors() <= 61


@pytest.mark.parametrize(
    "words",
    [
        ["x.usda", "--frames", f"{5000 * '9'}-{5000 * '9'}"],
        ["x.usda", "-o", f"y.v{5000 * '9'}.yaml"],
    ],
)
def test_numbers_of_thousands_of_digits_are_no_numbers(
    tmp_path: Path, words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    try:
        status: object = main(["capture", *words])
    except SystemExit as end:
        status = end.code
    assert status == 2
    told = capsys.readouterr().err
    assert "program itself" not in told and "invalid _frames" not in told


@pytest.mark.skipif(sys.platform != "linux", reason="names of any bytes are of Linux")
@pytest.mark.parametrize("ending", [".usda", ".gltf"])
def test_a_name_that_is_no_text_is_refused_in_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str
) -> None:
    path = tmp_path / os.fsdecode(b"bad\xff" + ending.encode())
    path.write_text(SCENE.format(intensity=3) if ending == ".usda" else '{"asset": {"version": "2.0"}}')
    assert main(["capture", str(path)]) == 2
    said = capsys.readouterr().err
    assert "expected a path in UTF-8, which a sheet can hold, found one of other bytes" in said
    assert "traceback" not in said
