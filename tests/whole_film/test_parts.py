"""A check with parts is the check of the whole, whatever the parts hold."""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
from collections.abc import Callable, Mapping
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conftest import MakeSequence, write_sequence
from samelight.cli.main import main
from samelight.sequence import parts, store
from samelight.sequence.stored import SheetFile, Stored, read_stored
from samelight.sheets.writing import write_sheet
from thoroughness import examples

Tree = dict[str, Any]

SHOTS = tuple(f"A_{number:03d}" for number in range(10, 80, 10))
BROKEN: Tree = {"lighst": {}}
suns = st.fixed_dictionaries(
    {"type": st.just("distant"), "azimuth": st.sampled_from((131, 143)), "elevation": st.just(24)},
    optional={"intensity": st.sampled_from((3.2, 1.6)), "samples": st.sampled_from((8, 64))},
)
lights = st.fixed_dictionaries(
    {"sun": suns},
    optional={"lamp": st.just({"type": "spot", "position": [0, 2, 0], "direction": [0, -1, 0]})},
)
trees = st.fixed_dictionaries(
    {"lights": lights},
    optional={
        "master": st.sampled_from((1, 2)),
        "remarks": st.just(["à revoir"]),
        "marks": st.just({"face": {"position": [0, 1.6, 0], "normal": [0, 0, 1]}}),
        "render": st.just({"gi": {"on": True, "range": "3.5 m"}}),
    },
)
maybe_broken = st.one_of(trees, trees, trees, st.just(BROKEN))
sequences = st.fixed_dictionaries(
    {}, optional={"key_shot": st.sampled_from(SHOTS), "title": st.just("quai\x1b")}
)
policies = st.sampled_from(
    (None, {"locks": ["lights.lamp.level", "lights.sun.*"]}, {"locks": ["lights.no.level"]})
)


@st.composite
def runs(draw: st.DrawFn) -> str:
    first, last = sorted(draw(st.tuples(*[st.integers(0, len(SHOTS) - 1)] * 2)))
    return f"{SHOTS[first]}-{SHOTS[last]}" if draw(st.booleans()) else f"{SHOTS[last]},{SHOTS[first]}"


def check(*words: str | Path) -> tuple[int, bytes, str]:
    """Exit status, what is printed, and what is said."""
    raw, err = io.BytesIO(), io.StringIO()
    out = io.TextIOWrapper(raw, encoding="utf-8")
    with redirect_stdout(out), redirect_stderr(err):
        status = main(["check", *map(str, words)])
    out.flush()
    return status, raw.getvalue(), err.getvalue()


def write_again(folder: Path, shot: str, tree: Mapping[str, Any], version: int) -> None:
    path = folder / f"shots/{shot}/{shot}.v{version:03d}.yaml"
    write_sheet(path, {"samelight": 2, "shot": shot, "version": version, **tree})


@settings(max_examples=examples(20))
@given(
    st.lists(trees, min_size=0, max_size=2),
    st.lists(maybe_broken, min_size=len(SHOTS), max_size=len(SHOTS)),
    sequences,
    policies,
    st.lists(runs(), max_size=4),
    st.lists(st.tuples(st.sampled_from(SHOTS), maybe_broken, st.sampled_from((1, 2))), max_size=2),
    st.randoms(use_true_random=False),
)
def test_with_parts_it_is_the_check_of_the_whole(
    masters: list[Mapping[str, Any]],
    shots: list[Tree],
    sequence: Tree,
    policy: Tree | None,
    shards: list[str],
    changes: list[tuple[str, Tree, int]],
    dice: Any,
) -> None:
    with TemporaryDirectory() as place:
        folder = write_sequence(
            Path(place) / "quay",
            master=masters,
            shots=dict(zip(SHOTS, shots, strict=True)),
            sequence=sequence,
            policy=policy,
        )
        files = []
        for number, run in enumerate(shards):
            files.append(Path(place) / f"{number}.part")
            check(folder, "--shots", run, "--save-part", files[-1])
        dice.shuffle(files)
        with_parts: list[str | Path] = ["--parts", *files] if files else []
        for _ in range(2):
            for more in (["--format", "json", "--all"], ["--shots", SHOTS[2]]):
                assert check(folder, *more, *with_parts) == check(folder, *more)
            for shot, tree, version in changes:
                write_again(folder, shot, tree, version)


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the files that were read as sheets."""
    found: list[str] = []

    def noting(path: Path, way: Any, read: Callable[[], Any]) -> Stored[Any]:
        if isinstance(way, SheetFile):
            found.append(path.name)
        return read_stored(path, way, read)

    monkeypatch.setattr(store, "read_stored", noting)
    return found


SUN: Tree = {"lights": {"sun": {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 3.2}}}
MOVED: Tree = {"lights": {"sun": {"type": "distant", "azimuth": 143, "elevation": 24, "intensity": 3.2}}}


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    return make_sequence(
        master=SUN,
        shots={"A": SUN, "B": MOVED, "C": SUN, "D": MOVED},
        sequence={"key_shot": "C"},
        policy={"locks": ["lights.sun.direction"]},
    )


def test_a_part_reads_the_master_setups_the_key_shot_and_its_own_shots(quay: Path, reads: list[str]) -> None:
    status, out, said = check(quay, "--shots", "A-B", "--save-part", quay.parent / "1", "--format", "json")
    assert reads == ["master.v001.yaml", "A.v001.yaml", "B.v001.yaml", "C.v001.yaml"]
    data = json.loads(out)
    assert (status, said, data["shots"]) == (1, "", ["A", "B"])
    assert {cell["shot"] for cell in data["cells"]} == {"B"}
    assert data["cells"] == json.loads(check(quay, "--shots", "A-B", "--format", "json")[1])["cells"]


def test_what_a_part_has_is_not_read_again(quay: Path, reads: list[str]) -> None:
    part = quay.parent / "1"
    check(quay, "--shots", "A-B", "--save-part", part)
    reads.clear()
    check(quay, "--parts", part)
    assert reads == ["D.v001.yaml"]
    write_again(quay, "A", MOVED, 1)
    write_again(quay, "B", SUN, 2)
    reads.clear()
    check(quay, "--parts", part)
    assert reads == ["A.v001.yaml", "B.v002.yaml", "D.v001.yaml"]


def test_a_part_is_good_for_the_same_sheets_elsewhere(quay: Path, reads: list[str]) -> None:
    part = quay.parent / "1"
    check(quay, "--save-part", part)
    other = Path(shutil.copytree(quay, quay.parent / "mounted"))
    reads.clear()
    assert check(other, "--parts", part) == check(quay)
    assert reads == check_of_all(quay)


def check_of_all(folder: Path) -> list[str]:
    return ["master.v001.yaml", *(f"{shot}.v001.yaml" for shot in "ABCD")]


def test_parts_can_be_put_together(quay: Path, reads: list[str]) -> None:
    one, other, both = (quay.parent / name for name in ("1", "2", "3"))
    check(quay, "--shots", "A-B", "--save-part", one)
    check(quay, "--shots", "D", "--save-part", other)
    check(quay, "--parts", one, other, "--save-part", both)
    reads.clear()
    check(quay, "--parts", both)
    assert reads == []


def test_a_policy_that_names_what_is_in_other_shots_is_no_trouble(make_sequence: MakeSequence) -> None:
    lamp = {"lights": {**SUN["lights"], "lamp": {"type": "sphere", "position": [0, 1, 0], "intensity": 1}}}
    quay = make_sequence(master=SUN, shots={"A": SUN, "B": lamp}, policy={"locks": ["lights.lamp.level"]})
    assert check(quay, "--shots", "A", "--save-part", quay.parent / "1")[2] == ""


def test_a_part_is_written_over_a_part_and_over_nothing_else(quay: Path) -> None:
    part, sheet = quay.parent / "1", quay / "sequence.yaml"
    part.touch()
    for _ in range(2):
        assert check(quay, "--save-part", part)[2] == ""
    before = sheet.read_bytes()
    status, _, said = check(quay, "--save-part", sheet)
    assert (status, sheet.read_bytes()) == (2, before)
    assert "sequence.yaml" in said and "another file" in said


def test_a_damaged_part_is_told_and_its_shots_are_read(quay: Path, reads: list[str]) -> None:
    part = quay.parent / "1"
    check(quay, "--save-part", part)
    whole, (status, out, said) = part.read_bytes(), check(quay)
    assert said == ""
    damaged = [whole[:-1], whole[: len(whole) // 2], whole + b" ", whole[:17], whole.replace(b"A", b"B", 1)]
    damaged += [
        whole[:place] + bytes([whole[place] ^ 0x15]) + whole[place + 1 :]
        for place in range(len(parts.START) + 3, len(whole), len(whole) // 11)
    ]
    for body in damaged:
        part.write_bytes(body)
        reads.clear()
        assert check(quay, "--parts", part) == (
            status,
            out,
            f"samelight: {part} is damaged; its shots are read from their sheets\n",
        )
        assert len(reads) == 5


@pytest.mark.parametrize("body", ["{}", "[]", "null", '{"head": 1}', "[" * 100_000])
def test_what_is_whole_and_holds_nothing_counts_as_damaged(quay: Path, body: str) -> None:
    part = quay.parent / "1"
    digest = hashlib.sha256(body.encode()).hexdigest()
    part.write_bytes(parts.START + f"{digest}\n{body}".encode())
    status, out, said = check(quay, "--parts", part)
    assert (status, out) == check(quay)[:2]
    assert "is damaged" in said


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"units": {"length": "cm"}}, "was written under other conventions of the sequence"),
        ({"policy": "other.yaml"}, "was written under other kinds of the policy"),
    ],
)
def test_a_part_of_other_conventions_is_not_used(
    make_sequence: MakeSequence, change: Tree, told: str, reads: list[str]
) -> None:
    shots = {"A": SUN, "B": MOVED}
    part = make_sequence(master=SUN, shots=shots).parent / "1"
    check(part.parent / "quay", "--save-part", part)
    other = make_sequence("other", master=SUN, shots=shots, sequence=change)
    (other / "other.yaml").write_text("samelight_policy: 2\nkinds: {'*.odd': count}\n")
    reads.clear()
    status, out, said = check(other, "--parts", part)
    assert said == f"samelight: {part} {told}; its shots are read from their sheets\n"
    assert len(reads) == 3
    assert (status, out) == check(other)[:2]


def test_a_part_of_another_program_is_not_used(quay: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    part = quay.parent / "1"
    check(quay, "--save-part", part)
    monkeypatch.setattr(parts, "program", lambda state: "newer")
    assert "was written by another version of the program" in check(quay, "--parts", part)[2]


@pytest.mark.parametrize(
    ("content", "found"),
    [(None, "No such file"), (b"", "an empty file"), (b'{"samelight": 2}', "another file")],
)
def test_a_file_that_is_no_part_is_refused(quay: Path, content: bytes | None, found: str) -> None:
    part = quay.parent / "drift.json"
    if content is not None:
        part.write_bytes(content)
    status, out, said = check(quay, "--parts", part)
    assert (status, out) == (2, b"")
    assert said.startswith(f"samelight: {part}: expected a part, as samelight check --save-part writes it")
    assert found in said


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_waited_for(quay: Path) -> None:
    pipe = quay.parent / "pipe"
    os.mkfifo(pipe)
    status, out, said = check(quay, "--parts", pipe)
    assert (status, out) == (2, b"")
    assert said.endswith("found a pipe or a device\n")


def test_a_digest_that_is_none_is_of_no_sheet(quay: Path) -> None:
    part = quay.parent / "1"
    check(quay, "--save-part", part)
    data = json.loads(part.read_bytes().partition(b"\n")[2])
    data["files"] = [[name, [digest], *asked] for name, digest, *asked in data["files"]]
    body = json.dumps(data)
    part.write_bytes(parts.START + f"{hashlib.sha256(body.encode()).hexdigest()}\n{body}".encode())
    assert check(quay, "--parts", part)[:2] == check(quay)[:2]


def test_a_part_that_cannot_be_written_is_told(quay: Path) -> None:
    status, _, said = check(quay, "--save-part", quay)
    assert status == 2
    assert said.startswith(f"samelight: {quay}: could not be written")
    assert check(quay, "--shots", "Z", "--save-part", quay.parent / "1")[0] == 2
    assert not (quay.parent / "1").exists()
