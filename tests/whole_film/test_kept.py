"""Kept sheets: used while they hold, made anew when they do not, never believed when damaged."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from film_files import LONG_AGO, SHOTS, sheet_text, shot_file, write
from samelight.decisions.ledger import open_ledger
from samelight.drift.table import Entry, Table
from samelight.sequence import disk, session, stored
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sequence.keeping import first_comparison, keeping
from samelight.sequence.references import compare
from samelight.sequence.stored_ledger import KeptDecisions
from samelight.sheets.sheet import Sheet, read_sheet


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The files that were read as sheets."""
    found: list[Path] = []

    def noting(path: Path, **asked: object) -> Sheet:
        found.append(path)
        return read_sheet(path, **asked)  # type: ignore[arg-type] # whatever the caller asks

    monkeypatch.setattr(stored, "read_sheet", noting)
    return found


def opened(film: Path) -> Contents:
    found = read_contents(SheetStore(film))
    keep = keeping(first_comparison(found), open_ledger(film), KeptDecisions())
    if keep is not None:
        keep()
    return found


def as_said(read: Contents) -> list[object]:
    sheets = [*read.masters.values(), *read.sheets.values()]
    return [repr(sheets), [repr(dict(sheet.typed)) for sheet in sheets], read.troubles]


def lines(table: Table) -> list[list[Entry | None]]:
    return [table.line(row) for row in range(len(table.rows))]


def the_file(cache: Path) -> Path:
    (file,) = cache.glob("*.json")
    return file


def test_what_is_kept_is_what_was_read(film: Path, cache: Path, reads: list[Path]) -> None:
    first = opened(film)
    assert len(reads) == SHOTS + 1
    reads.clear()
    second = opened(film)
    assert reads == []
    assert as_said(second) == as_said(first)
    one, other = compare(first).table, compare(second).table
    assert (one.rows, repr(lines(one))) == (other.rows, repr(lines(other)))
    sun = second.sheets["F_001"].as_typed("lights", "sun", "samples")
    assert sun == first.sheets["F_001"].as_typed("lights", "sun", "samples") == {"samples": 65}


def test_nothing_is_written_into_the_sequence(film: Path, cache: Path) -> None:
    before = sorted(film.rglob("*"))
    opened(film)
    assert sorted(film.rglob("*")) == before
    assert the_file(cache).stat().st_size > 0


def test_a_file_that_was_only_touched_is_not_read(film: Path, cache: Path, reads: list[Path]) -> None:
    opened(film)
    os.utime(shot_file(film, 3), (LONG_AGO + 50, LONG_AGO + 50))
    reads.clear()
    opened(film)
    assert reads == []


@pytest.mark.parametrize("when", [LONG_AGO, LONG_AGO + 9])
def test_a_file_that_changed_is_read(film: Path, cache: Path, reads: list[Path], when: int) -> None:
    opened(film)
    reads.clear()
    write(shot_file(film, 3), sheet_text("F_003", 128), when)
    assert opened(film).sheets["F_003"].value("lights", "sun", "samples") == 128.0
    assert reads == [shot_file(film, 3)]


def test_a_file_of_the_same_size_whose_time_was_set_back_is_read(film: Path, cache: Path) -> None:
    """As a copy that keeps times does it, over a sheet with the same time."""
    path = shot_file(film, 3)
    before = path.stat()
    opened(film)
    other = path.with_name("other")
    write(other, sheet_text("F_003", 65))
    other.replace(path)
    assert (path.stat().st_size, path.stat().st_mtime_ns) == (before.st_size, before.st_mtime_ns)
    if path.stat().st_ctime_ns == before.st_ctime_ns:
        pytest.skip("this system does not tell when a file was touched")
    assert opened(film).sheets["F_003"].value("lights", "sun", "samples") == 65.0


def test_a_file_written_in_the_moment_of_keeping_is_looked_into(
    film: Path, cache: Path, reads: list[Path]
) -> None:
    """Its size and time may be what they were, though it is not."""
    path = shot_file(film, 3)
    write(path, sheet_text("F_003", 64), 4_000_000_000)
    opened(film)
    write(path, sheet_text("F_003", 65), 4_000_000_000)
    assert opened(film).sheets["F_003"].value("lights", "sun", "samples") == 65.0


def test_a_damaged_file_is_made_anew(film: Path, cache: Path, reads: list[Path]) -> None:
    wanted = as_said(opened(film))
    whole = the_file(cache).read_bytes()
    for place in range(0, len(whole), len(whole) // 23):
        damaged = bytearray(whole)
        damaged[place] ^= 0x15
        the_file(cache).write_bytes(damaged)
        reads.clear()
        assert as_said(opened(film)) == wanted
        assert len(reads) == SHOTS + 1
    for part in (whole[:0], whole[:70], whole[: len(whole) // 2], b"\n" + whole):
        the_file(cache).write_bytes(part)
        assert as_said(opened(film)) == wanted


@pytest.mark.parametrize("broken", ["{}", "[]", "null", '{"head": 1}', "[" * 100_000])
def test_what_is_whole_and_is_no_cache_counts_as_nothing(film: Path, cache: Path, broken: str) -> None:
    wanted = as_said(opened(film))
    digest = hashlib.sha256(broken.encode()).hexdigest()
    the_file(cache).write_text(f"{digest}\n{broken}")
    assert as_said(opened(film)) == wanted


@pytest.mark.parametrize("name", ["format", "program", "folder", "conventions", "kinds"])
def test_a_cache_of_another_kind_is_not_used(film: Path, cache: Path, reads: list[Path], name: str) -> None:
    opened(film)
    data = json.loads(the_file(cache).read_text().partition("\n")[2])
    data["head"][name] = "another"
    body = json.dumps(data)
    the_file(cache).write_text(f"{hashlib.sha256(body.encode()).hexdigest()}\n{body}")
    reads.clear()
    opened(film)
    assert len(reads) == SHOTS + 1


def test_other_kinds_read_every_sheet_again(film: Path, cache: Path, reads: list[Path]) -> None:
    opened(film)
    reads.clear()
    write(film / "policy.yaml", "samelight_policy: 2\nkinds: {environments.*.odd: count}\n")
    opened(film)
    assert len(reads) == SHOTS + 1


def test_a_file_that_has_a_path_gets_no_other(film: Path, cache: Path) -> None:
    opened(film)
    found = opened(film)
    for shot, sheet in found.sheets.items():
        assert sheet.path is found.versions[shot][1]


def test_a_file_that_is_gone_since_is_no_reason_to_read_others(
    film: Path, cache: Path, reads: list[Path]
) -> None:
    opened(film)
    shot_file(film, 7).unlink()
    reads.clear()
    assert len(opened(film).sheets) == SHOTS - 1
    assert reads == []


def test_a_cache_that_was_deleted_in_use(film: Path, cache: Path) -> None:
    opened(film)
    read = opened(film)
    for path in cache.iterdir():
        path.unlink()
    cache.rmdir()
    assert read.sheets["F_002"].typed["lights"]["sun"]["samples"] == 66


def test_a_folder_that_cannot_be_written_is_no_error(
    film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a_file").write_text("in the way")
    monkeypatch.setattr(disk, "cache_folder", lambda: tmp_path / "a_file" / "below")
    assert len(opened(film).sheets) == SHOTS


def test_a_sheet_at_fault_is_told_each_time(film: Path, cache: Path, reads: list[Path]) -> None:
    write(shot_file(film, 5), "samelight: 2\nlighst: {}\n")
    first = opened(film)
    reads.clear()
    second = opened(film)
    assert reads == [shot_file(film, 5)]
    assert [t.says for t in second.troubles] == [t.says for t in first.troubles]
    assert any("did you mean lights" in trouble.says for trouble in second.troubles)


def test_what_was_not_used_for_longest_goes(film: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache.mkdir()
    for number in range(3):
        write(cache / f"{number}.json", "x" * 1000, LONG_AGO + number)
    monkeypatch.setattr(disk, "LARGEST", 200_000)
    opened(film)
    size = sum(path.stat().st_size for path in cache.iterdir() if path.stat().st_size > 1000)
    for path in cache.iterdir():
        if path.stat().st_size > 1000:
            path.unlink()
    monkeypatch.setattr(disk, "LARGEST", size + 2_050)
    opened(film)
    assert sorted(path.name for path in cache.iterdir())[0:2] != ["0.json", "1.json"]
    assert (cache / "2.json").exists()
    assert not (cache / "0.json").exists()


def test_a_small_sequence_is_not_kept(harbour: Path, cache: Path) -> None:
    opened(harbour)
    assert not cache.exists()


def test_a_film_is_set_aside_and_the_one_before_taken_back(
    film: Path, harbour: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    monkeypatch.setattr(session, "take_back", lambda: done.append("taken back"))
    monkeypatch.setattr(session, "set_aside", lambda: done.append("set aside"))
    session.open_session(film)
    session.open_session(harbour)
    assert done == ["taken back", "set aside", "taken back"]


def test_two_at_once(film: Path, tmp_path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from samelight.sequence.session import open_session;"
        "print(len(open_session(Path(sys.argv[1])).contents.sheets))"
    )
    environment = {
        **os.environ,
        "XDG_CACHE_HOME": str(tmp_path / "shared"),
        "PYTHONPATH": str(Path(disk.__file__).parents[2]),
    }
    both = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(film)], env=environment, stdout=subprocess.PIPE, text=True
        )
        for _ in range(2)
    ]
    assert [process.communicate()[0].strip() for process in both] == [str(SHOTS)] * 2
    assert [process.returncode for process in both] == [0, 0]
