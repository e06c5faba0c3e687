"""What is believed without reading it again: the user's own cache, and parts that are sealed or hold what files say."""

from __future__ import annotations

import hashlib
import json
import os
import stat
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.sequence import disk, parts, stored, stored_table
from samelight.sequence.session import open_session
from samelight.sheets.sheet import read_sheet

POSIX = pytest.mark.skipif(os.name != "posix", reason="modes and owners are those of POSIX")
KEY = b"sixteen bytes or more of a key"


def sun(azimuth: int) -> dict[str, Any]:
    return {"lights": {"sun": {"type": "distant", "azimuth": azimuth, "elevation": 24, "intensity": 3}}}


@pytest.fixture
def folder(make_sequence: MakeSequence) -> Path:
    """A sequence of twenty shots whose third drifts."""
    shots = {f"A_{number:03d}": sun(143 if number == 3 else 131) for number in range(1, 21)}
    return make_sequence(master=sun(131), shots=shots)


@pytest.fixture
def key(tmp_path: Path) -> Path:
    path = tmp_path / "key"
    path.write_bytes(KEY)
    path.chmod(0o600)
    return path


def forge(part: Path) -> None:
    """Make a part say that every shot is like the master, with a digest that fits."""
    start, _, body = part.read_bytes().partition(b"\n")
    data = json.loads(body)
    for box in (data["packed"]["typed"], data["packed"]["canonical"]):
        kept_rows = {
            row: box["rows"][0] for row in box["rows"] if row.count(" ") == box["rows"][0].count(" ")
        }
        box["rows"] = [kept_rows.get(row, row) for row in box["rows"]]
    body = json.dumps(data).encode()
    marks = start.split(b" ")
    marks[3] = hashlib.sha256(body).hexdigest().encode()
    part.write_bytes(b" ".join(marks) + b"\n" + body)


class TestParts:
    @pytest.fixture
    def part(self, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
        path = tmp_path / "film.part"
        assert main(["check", str(folder), "--save-part", str(path), "--quiet"]) == 1
        capsys.readouterr()
        return path

    def test_a_forged_one_opens_no_gate(
        self, folder: Path, part: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        forge(part)
        monkeypatch.setattr(parts, "FEWEST_TRIED", 21)  # chance draws every sheet
        assert main(["check", str(folder), "--parts", str(part), "--quiet"]) == 1
        assert "film.part does not hold what" in capsys.readouterr().err
        monkeypatch.setattr(parts, "FEWEST_TRIED", 0)  # what it would do if nobody looked
        assert main(["check", str(folder), "--parts", str(part), "--quiet"]) == 0

    def test_a_sound_one_is_read_again_in_part(
        self, folder: Path, part: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        read: list[Path] = []

        def counted(path: Path, **how: Any) -> Any:
            read.append(path)
            return read_sheet(path, **how)

        monkeypatch.setattr(stored, "read_sheet", counted)
        assert main(["check", str(folder), "--parts", str(part), "--quiet"]) == 1
        assert len(set(read)) == len(read) == parts.FEWEST_TRIED
        assert capsys.readouterr().err == ""

    def test_a_sealed_one_is_believed_by_its_key_alone(
        self,
        folder: Path,
        tmp_path: Path,
        key: Path,
        monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        part, sealed = tmp_path / "sealed.part", ["--seal-key-file", str(key)]
        main(["check", str(folder), "--save-part", str(part), "--quiet", *sealed])
        monkeypatch.setattr(parts, "read_stored_sheet", None)  # nothing is read again
        assert main(["check", str(folder), "--parts", str(part), "--quiet", *sealed]) == 1
        assert capsys.readouterr().err == ""
        forge(part)
        assert main(["check", str(folder), "--parts", str(part), "--quiet", *sealed]) == 1
        assert "sealed.part has another seal" in capsys.readouterr().err

    def test_one_without_a_seal_is_not_believed_where_there_is_a_key(
        self, folder: Path, part: Path, key: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["check", str(folder), "--parts", str(part), "--quiet", "--seal-key-file", str(key)]) == 1
        assert "film.part has no seal" in capsys.readouterr().err

    @pytest.mark.parametrize(
        ("content", "mode", "said"),
        [
            (b"short", 0o600, "16 to 4,096 bytes, found 5"),
            (5000 * b"x", 0o600, "16 to 4,096 bytes, found more"),
            (KEY, 0o644, "only its owner and group may open"),
        ],
    )
    @POSIX
    def test_what_is_no_key(
        self,
        folder: Path,
        part: Path,
        key: Path,
        content: bytes,
        mode: int,
        said: str,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        key.write_bytes(content)
        key.chmod(mode)
        assert main(["check", str(folder), "--parts", str(part), "--seal-key-file", str(key)]) == 2
        assert said in capsys.readouterr().err

    @POSIX
    def test_a_pipe_is_no_key_and_is_not_opened(
        self, folder: Path, part: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        os.mkfifo(tmp_path / "pipe", 0o600)
        words = ["check", str(folder), "--parts", str(part), "--seal-key-file"]
        assert main([*words, str(tmp_path / "pipe")]) == 2
        assert main([*words, str(tmp_path / "nothing")]) == 2
        assert "a pipe or a device" in capsys.readouterr().err

    def test_a_key_for_nothing_is_a_slip(
        self, folder: Path, key: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["check", str(folder), "--seal-key-file", str(key)]) == 2
        assert "it goes with --save-part or --parts" in capsys.readouterr().err

    @pytest.mark.parametrize("name", ["/etc/hostname", "../secret", "shots/../../secret", "", "a//b"])
    def test_none_leads_out_of_the_folder(
        self, folder: Path, part: Path, name: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        _, _, body = part.read_bytes().partition(b"\n")
        data = json.loads(body)
        data["files"][0][0] = name
        body = json.dumps(data).encode()
        digest = hashlib.sha256(body).hexdigest().encode()
        part.write_bytes(b"samelight part 1 " + digest + b"\n" + body)
        assert main(["check", str(folder), "--parts", str(part), "--quiet"]) == 1
        assert "film.part is damaged" in capsys.readouterr().err


class TestCache:
    @pytest.fixture
    def film(self, make_sequence: MakeSequence, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
        """A sequence large enough to be kept, and one of its shots drifts."""
        monkeypatch.setattr(disk, "cache_folder", lambda: tmp_path / "cache")
        shots = {f"A_{number:03d}": sun(143 if number == 3 else 131) for number in range(1, 71)}
        return make_sequence(master=sun(131), shots=shots)

    @pytest.fixture
    def cache(self, film: Path, tmp_path: Path) -> Path:
        open_session(film)
        return tmp_path / "cache"

    def read(self, film: Path, monkeypatch: pytest.MonkeyPatch) -> int:
        """How many sheets are read from their files when it is opened."""
        times: list[Path] = []

        def noting(path: Path, **how: Any) -> Any:
            times.append(path)
            return read_sheet(path, **how)

        with monkeypatch.context() as noted:
            noted.setattr(stored, "read_sheet", noting)
            assert len(open_session(film).contents.sheets) == 70
        return len(times)

    @POSIX
    def test_nobody_else_is_let_in(self, film: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        assert stat.S_IMODE(cache.stat().st_mode) == 0o700
        assert {stat.S_IMODE(path.stat().st_mode) for path in cache.iterdir()} == {0o600}
        assert self.read(film, monkeypatch) == 0

    @POSIX
    @pytest.mark.parametrize("how", ["open to others", "a link", "a pipe", "a folder"])
    def test_what_others_could_have_written_is_not_believed(
        self, film: Path, cache: Path, tmp_path: Path, how: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (file,) = cache.glob("*.json")
        if how == "open to others":
            file.chmod(0o666)
        else:
            file.rename(tmp_path / "elsewhere")
            if how == "a link":
                file.symlink_to(tmp_path / "elsewhere")
            elif how == "a pipe":
                os.mkfifo(file, 0o600)
            else:
                file.mkdir()
        assert self.read(film, monkeypatch) == 71

    @POSIX
    @pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
    @pytest.mark.parametrize("which", ["folder", "file"])
    def test_nor_what_is_somebody_elses(
        self, film: Path, cache: Path, which: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (file,) = cache.glob("*.json")
        os.chown(cache if which == "folder" else file, 12345, 12345)
        assert self.read(film, monkeypatch) == 71
        if which == "folder":
            assert sorted(cache.glob("*.json")) == [file]

    def test_a_file_larger_than_any_is_not_read(
        self, film: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        (file,) = cache.glob("*.json")
        with file.open("r+b") as whole:
            whole.truncate(disk.LARGEST + 1)  # takes no room on the disk
        assert self.read(film, monkeypatch) == 71

    def test_an_array_that_says_it_is_larger_than_its_file_takes_no_memory(self) -> None:
        stream = BytesIO()
        np.lib.format.write_array_header_1_0(
            stream, {"descr": "<f8", "fortran_order": False, "shape": (10**12,)}
        )
        stream.write(b"few bytes")
        stream.seek(0)
        with pytest.raises(ValueError, match="cut off"):
            stored_table.read_array(stream)
