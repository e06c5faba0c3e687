"""What may be opened: plain files of a sane size, and nothing that waits, acts or never ends."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from samelight.cli.main import main
from samelight.drift.policy import default_policy
from samelight.reports.compare import read_check
from samelight.sequence.disk import Disk
from samelight.sequence.parts import read_key, read_part
from samelight.sequence.samples import own_copy
from samelight.sequence.session import open_session
from samelight.sequence.stored import Rules
from samelight.sheets import plain_files
from samelight.sheets.conventions import Conventions
from samelight.sheets.documents import write_document
from samelight.sheets.errors import SamelightError, SheetError
from samelight.sheets.plain_files import UnfitFileError, check_plain, open_plain, read_plain
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sequence import read_sequence
from samelight.sheets.stamps import stamp_if_there
from samelight.sheets.trees import read_document
from samelight.sheets.writing import write_new, write_whole
from samelight.sources.cut.cuts import read_cut
from samelight.sources.gltf.capture import capture_gltf
from samelight.sources.pictures.pictures import read_exr
from samelight.sources.provenance import digest_of
from samelight.sources.scenes import capture_scene
from samelight.sources.usd.capture import capture_usd

PIPES = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")


def pipe(path: Path) -> Path:
    os.mkfifo(path)
    return path


def sparse(path: Path) -> Path:
    """A file of 40 GiB that takes no room."""
    with path.open("wb") as file:
        file.truncate(40 * 2**30)
    return path


def test_a_file_is_read(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"light")
    assert read_plain(tmp_path / "a", 5) == b"light"
    with open_plain(tmp_path / "a", 5) as file:
        assert file.read() == b"light"


@PIPES
@pytest.mark.parametrize("look", [check_plain, open_plain, read_plain])
def test_what_is_refused(tmp_path: Path, look: Callable[[Path, int], Any]) -> None:
    for path, says in (
        (pipe(tmp_path / "pipe"), "a pipe or a device"),
        (Path("/dev/zero"), "a pipe or a device"),
        (tmp_path, "a folder"),
        (sparse(tmp_path / "sparse"), "expected at most 1 MiB, found 40.0 GiB"),
    ):
        with pytest.raises(UnfitFileError, match=says):
            look(path, 2**20)
    with pytest.raises(FileNotFoundError):
        look(tmp_path / "gone", 1)


RULES = Rules(Conventions(), default_policy().kinds)

NO_NAMES = (Path("a\0b"), Path("a\ud83c"))
"""What no file can be called: a NUL ends a name, and half of a character cannot be written."""


@pytest.mark.parametrize("name", NO_NAMES, ids=repr)
def test_a_name_that_no_file_can_have_is_a_sentence_wherever_a_path_is_used(
    name: Path, tmp_path: Path
) -> None:
    path = tmp_path / name
    for read in (
        lambda: read_plain(path, 1),
        lambda: open_session(path),
        lambda: open_session(sample_sequence("harbour"), policy=path),
        lambda: read_document(path),
        lambda: read_check(path),
        lambda: read_key(path),
        lambda: read_part(path, Disk(tmp_path, RULES)),
        lambda: capture_scene(path.with_suffix(".usda")),
        lambda: capture_scene(path.with_suffix(".gltf")),
        lambda: read_cut(path.with_suffix(".edl")),
        lambda: write_whole(path, "a"),
        lambda: write_document(path, "a"),
        lambda: write_new({path: "a"}),
    ):
        with pytest.raises(SamelightError, match=r"name|no such folder|path in UTF-8"):
            read()
    assert stamp_if_there(path) is None
    assert digest_of(path) is None
    assert own_copy(path) == path


@pytest.mark.parametrize("words", [["check", "\0"], ["check", "harbour", "--policy", "a\0b"], ["a\0"]])
def test_a_word_with_a_nul_is_a_sentence(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert "expected words without a NUL" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("stated", "says"),
    [
        ('policy: "a\\0b.yaml"', "policy: expected a policy file in the sequence folder"),
        ('cut: "a\\0b.otio"', "cut: expected a cut file in the sequence folder"),
        ('scenes: "a\\0b/*.usda"', "scenes: expected a scene for each shot"),
        ('scenes: {A: "a\\0b.usda"}', "scenes.A: expected the file of a scene"),
        ('allow_roots: ["a\\0b"]', r"allow_roots\[0\]: expected a folder"),
    ],
)
def test_such_a_name_in_a_sequence_is_told_with_its_place(tmp_path: Path, stated: str, says: str) -> None:
    (tmp_path / "sequence.yaml").write_text(f"samelight_sequence: 2\n{stated}\n", encoding="utf-8")
    with pytest.raises(SheetError, match=rf"sequence\.yaml:2:\d+: {says}.*, found .*a.x00b"):
        read_sequence(tmp_path)


@PIPES
def test_a_pipe_that_comes_into_the_place_of_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pipe(tmp_path / "a")
    monkeypatch.setattr(plain_files, "check_plain", lambda *_: None)  # as it was a moment before
    with pytest.raises(UnfitFileError, match="a pipe"):
        open_plain(tmp_path / "a", 10)


@PIPES
@pytest.mark.parametrize(
    ("ending", "read"),
    [
        (".usda", capture_usd),
        (".usdc", capture_usd),
        (".usdz", capture_usd),
        (".gltf", capture_gltf),
        (".glb", capture_gltf),
        (".otio", read_cut),
        (".edl", read_cut),
        (".exr", lambda path: read_exr(path, 640)),
    ],
)
def test_every_reader_refuses_them(tmp_path: Path, ending: str, read: Callable[[Path], Any]) -> None:
    with pytest.raises(Exception, match="a pipe or a device"):
        read(pipe(tmp_path / f"pipe{ending}"))
    with pytest.raises(Exception, match=r"40\.0 GiB"):
        read(sparse(tmp_path / f"sparse{ending}"))


@pytest.mark.parametrize("size", [0, 5, 2**20, 2**21 + 7])
def test_a_file_of_any_size_is_read_whole(tmp_path: Path, size: int) -> None:
    path, holds = tmp_path / "file.exr", bytes(range(256)) * (size // 256 + 1)
    path.write_bytes(holds[:size])
    assert read_plain(path, size) == holds[:size]
    assert plain_files.digest_of(path, size) == hashlib.sha256(holds[:size]).hexdigest()


@PIPES
def test_a_texture_of_that_kind_has_no_digest(tmp_path: Path) -> None:
    assert digest_of(pipe(tmp_path / "pipe.exr")) is None
    assert digest_of(sparse(tmp_path / "sparse.exr")) is None


@PIPES
@pytest.mark.parametrize("make", [pipe, sparse])
@pytest.mark.parametrize("words", [[], ["--jobs", "2"], ["--parts", "all.part"]])
def test_a_sheet_of_that_kind_ends_no_check(
    harbour: Path,
    tmp_path: Path,
    make: Callable[[Path], Path],
    words: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(
        "samelight.sequence.contents.FEWEST", 2
    )  # so that few sheets are read by other processes
    part = tmp_path / "all.part"
    assert main(["check", str(harbour), "--save-part", str(part), "--quiet"]) in (0, 1)
    sheet = max((harbour / "shots/HB_040").iterdir())
    sheet.unlink()
    make(sheet)
    capsys.readouterr()
    assert main(["check", str(harbour), *[str(part) if word == "all.part" else word for word in words]]) == 2
    streams = capsys.readouterr()
    assert "HB_040 is unreadable" in streams.err
    assert "HB_050" in streams.out
