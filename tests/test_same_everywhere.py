"""One answer on every machine: the same bytes with NumPy's fast loops and without them, and decisions that hold in both."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from samelight.sheets.resources import sample_sequence

APP = Path(__file__).parents[1] / "app"

FAST_LOOPS = "X86_V3 X86_V4 AVX512_ICL AVX512_SPR AVX2 FMA3 AVX512F AVX512_SKX"
"""What NumPy may choose by processor, under the names of several of its versions. It warns of those that it does not know or
that the processor lacks, and switches off the others."""

PROCESSORS: tuple[dict[str, str], ...] = ({}, {"NPY_DISABLE_CPU_FEATURES": FAST_LOOPS})

FLICKER = """
samelight: 2
shot: S_010
master: 1
frames: [1, 40]
camera: {position: [0, 1.6, 7]}
marks:
  face: {position: {keys: [[1, [0.3, 1.62, 0.1]], [20, [-0.9, 1.58, 1.3]], [40, [0.3, 1.62, 0.1]]]}, normal: [0, 0.1, 0.9]}
lights:
  sun: {type: distant, azimuth: 131, elevation: 24, intensity: 3.2, angle: 0.53}
  lamp: {type: spot, position: [1.2, 2.4, 2.0], target: [0.3, 1.62, 0.1], cone: 32, softness: 0.2, focus: 1.7,
         intensity: {keys: [[1, 2.4], [5, 4.8], [9, 1.2], [13, 4.8], [17, 1.2], [40, 2.4]]}}
  panel: {type: rect, position: [-1.2, 1.9, 1.5], target: [0.3, 1.62, 0.1], width: 1.2, height: 0.9, intensity: 1.1,
          exposure: {keys: [[1, 0.1], [10, 1.1], [20, -0.9], [30, 1.1], [40, 0.1]]}, temperature: 6200 K}
  tube: {type: cylinder, position: [0, 3, 1], radius: 3 cm, length: 1.4, intensity: 8, color: [1, 0.9, 0.7]}
  bowl: {type: disk, position: [2, 1, 1], target: [0, 1.6, 0], radius: 0.4, intensity: 2, temperature: 3100 K}
environments:
  sky: {intensity: 0.7, rotation: {keys: [[1, 34], [40, 37]]}}
"""


_ANSWER = """
import io, json, sys
from samelight.cli.main import main
told = sys.stdout
for line in sys.stdin:
    streams = sys.stdout, sys.stderr = [io.TextIOWrapper(io.BytesIO(), "utf-8") for _ in range(2)]
    status = main(json.loads(line))
    for stream in streams:
        stream.flush()
    print(json.dumps([status, *(stream.buffer.getvalue().decode() for stream in streams)]), file=told, flush=True)
"""


@dataclass(frozen=True)
class Answered:
    """What came of a command."""

    status: int
    out: str
    err: str


class Machine:
    """The program on another processor: one process that runs one command after another, and keeps no answers."""

    def __init__(self, surroundings: Mapping[str, str], folder: Path) -> None:
        self._said = folder / "said"
        self._file = self._said.open("wb")
        self._process = subprocess.Popen(
            [sys.executable, "-W", "ignore", "-c", _ANSWER],
            env={**os.environ, "PYTHONPATH": str(APP), "PYTHONIOENCODING": "utf-8", **surroundings},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._file,
            text=True,
            encoding="utf-8",
        )

    def run(self, *words: str | Path) -> Answered:
        """Run a command; nothing is said past the streams that it is given."""
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.write(json.dumps([str(word) for word in words]) + "\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline()
        assert self._said.read_text("utf-8") == ""
        return Answered(*json.loads(answer))

    def end(self) -> None:
        """Let the process end."""
        self._process.communicate()
        self._file.close()
        assert self._process.returncode == 0


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Machine, Machine]]:
    """The program on each of `PROCESSORS`."""
    here, there = (Machine(processor, tmp_path_factory.mktemp("machine")) for processor in PROCESSORS)
    yield here, there
    for machine in (here, there):
        machine.end()


def flicker(folder: Path) -> Path:
    """A shot whose lights flicker by one stop up and one down while its mark walks, and a master that stands still."""
    (folder / "master").mkdir(parents=True)
    (folder / "shots/S_010").mkdir(parents=True)
    (folder / "sequence.yaml").write_text("title: Flicker\nnorth: [0.3, 0, -1]\ncut: [S_010]\n", "utf-8")
    (folder / "shots/S_010/S_010.v001.yaml").write_text(FLICKER, "utf-8")
    still = "\n".join(
        line
        for line in FLICKER.replace("keys: ", "").splitlines()
        if not line.startswith(("shot", "marks", "  face", "frames"))
    )
    still = still.replace("{[[1, 2.4], [5, 4.8], [9, 1.2], [13, 4.8], [17, 1.2], [40, 2.4]]}", "2.4")
    still = still.replace("{[[1, 0.1], [10, 1.1], [20, -0.9], [30, 1.1], [40, 0.1]]}", "0.1")
    still = still.replace("{[[1, 34], [40, 37]]}", "34").replace("master: 1", "version: 1")
    (folder / "master/master.v001.yaml").write_text(still, "utf-8")
    return folder


def sequence_called(name: str, folder: Path) -> Path:
    if name == "flicker":
        return flicker(folder / name)
    return Path(
        shutil.copytree(sample_sequence(name), folder / name, ignore=shutil.ignore_patterns("frames"))
    )


@pytest.fixture(params=["harbour", "flicker"])
def sequence(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """One to decide on."""
    return sequence_called(request.param, tmp_path)


@dataclass(frozen=True)
class Checked:
    """A sequence and what was said of it and written of it on each of `PROCESSORS`."""

    sequence: Path
    said: list[Answered]
    parts: list[Path]


@pytest.fixture(scope="module", params=["harbour", "flicker"])
def checked(
    request: pytest.FixtureRequest,
    tmp_path_factory: pytest.TempPathFactory,
    machines: tuple[Machine, Machine],
) -> Checked:
    folder = tmp_path_factory.mktemp("checked")
    found = Checked(sequence_called(request.param, folder), [], [])
    for name, machine in zip(("here", "there"), machines, strict=True):
        found.said.append(machine.run("check", found.sequence, "--format", "json", "--all"))
        found.parts.append(folder / f"{name}.part")
        machine.run("check", found.sequence, "--save-part", found.parts[-1])
    return found


def test_the_switch_reaches_numpy() -> None:
    asked = "import numpy._core._multiarray_umath as m; print(any(map(m.__cpu_features__.get, m.__cpu_dispatch__)))"
    found = [
        subprocess.run(
            [sys.executable, "-W", "ignore", "-c", asked],
            env={**os.environ, **on},
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for on in PROCESSORS
    ]
    if found[0] == "False" or int(np.__version__.split(".")[0]) < 2:
        pytest.skip("a processor, or a NumPy, without the loops that are to be switched off")
    assert found == ["True", "False"]


def test_a_check_is_the_same_to_the_byte(checked: Checked) -> None:
    on, off = checked.said
    assert (on.status, off.status, on.err, off.err) == (1, 1, "", "")
    assert json.loads(on.out)["cells"]
    assert on.out == off.out


def test_a_decision_holds_on_the_other_processor(sequence: Path, machines: tuple[Machine, Machine]) -> None:
    here, there = machines
    data = json.loads(here.run("check", sequence, "--format", "json").out)
    for made, read in ((here, there), (there, here)):
        cell = next(
            c
            for c in data["cells"]
            if c["parameter"].startswith("lights")
            and c["level"] in ("drift", "break")
            and c["state"] == "undecided"
        )
        names = cell["shot"], cell["parameter"]
        decided = made.run("decide", sequence, "intend", *names, "--reason", "meant")
        assert decided.status == 0, decided.err
        data = json.loads(read.run("check", sequence, "--format", "json").out)
        states = {(c["shot"], c["parameter"]): c["state"] for c in data["cells"]}
        assert states[names] == "intended"


def test_a_part_that_one_processor_wrote_is_taken_by_the_other(
    checked: Checked, machines: tuple[Machine, Machine]
) -> None:
    _, there = machines
    _, plain = checked.said
    here_part, there_part = checked.parts
    assert here_part.read_bytes() == there_part.read_bytes()
    words = ("check", checked.sequence, "--parts", here_part, "--format", "json", "--all")
    assert there.run(*words).out == plain.out


def numbers(data: Any) -> Iterator[float]:
    if isinstance(data, dict):
        data = list(data.values())
    if isinstance(data, list):
        for item in data:
            yield from numbers(item)
    elif isinstance(data, float):
        yield data


def test_numbers_have_twelve_digits_at_most(checked: Checked) -> None:
    told = [json.loads(checked.said[0].out)]
    part = json.loads(checked.parts[0].read_bytes().partition(b"\n")[2])
    told.append(part["packed"]["canonical"]["values"])
    long = [number for number in numbers(told) if float(f"{number:.12g}") != number]
    assert long == []
    assert len(list(numbers(told))) > 20
