"""Looking only at shots of which something is known to have changed finds what looking at everything finds."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from film_files import LONG_AGO, SHOTS, sheet_text, shot_file, write, write_film
from samelight.drift.policy import Policy
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sheets.errors import SheetError
from samelight.sheets.sequence import Published


def as_said(read: Contents) -> list[object]:
    return [read.shots, repr(read.sheets), read.versions, read.troubles, read.master_version]


def check(store: SheetStore, *touched: str) -> Contents:
    some = read_contents(store, only=touched)
    assert as_said(some) == as_said(read_contents(SheetStore(store.folder)))
    return some


def test_a_sheet_that_changed(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    before = read_contents(store)
    write(shot_file(film, 3), sheet_text("F_003", 128))
    after = check(store, "F_003")
    assert after != before
    assert after.sheets["F_004"] is before.sheets["F_004"]


def test_what_nobody_said_had_changed_is_not_seen(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    before = read_contents(store)
    write(shot_file(film, 3), sheet_text("F_003", 128))
    assert read_contents(store, only=["F_004"]) == before
    assert read_contents(store) != before


def test_a_new_version_a_lost_sheet_and_one_at_fault(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    read_contents(store)
    write(film / "shots/F_002/F_002.v002.yaml", sheet_text("F_002", 8).replace("version: 1", "version: 2"))
    shot_file(film, 5).unlink()
    write(shot_file(film, 6), "samelight: 2\nlighst: {}\n", LONG_AGO + 1)
    check(store, "F_002", "F_005", "F_006")
    write(shot_file(film, 6), sheet_text("F_006", 8), LONG_AGO + 2)
    check(store, "F_006")


def test_the_master_the_cut_and_the_policy_are_always_looked_at(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    read_contents(store)
    write(film / "master/master.v002.yaml", sheet_text("", 96).replace("version: 1", "version: 2"))
    check(store)
    write(film / "sequence.yaml", (film / "sequence.yaml").read_text().replace("  - F_001\n", ""))
    check(store)
    write(film / "policy.yaml", "samelight_policy: 2\nkinds: {environments.*.odd: count}\n")
    check(store)


def test_a_store_that_was_never_used_looks_at_everything(tmp_path: Path) -> None:
    check(SheetStore(write_film(tmp_path / "film")))


def test_files_that_the_sequence_names_come_and_go(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    read_contents(store)
    write(film / "policy.yaml", "samelight_policy: 2\ntolerances: {lights.sun.samples: 5 x}\n")
    assert check(store).own_policy.tolerances
    write(film / "policy.yaml", "samelight_policy: 2\nlocks: [lights.sun.samples]\n", LONG_AGO + 1)
    assert check(store).own_policy.locks
    (film / "policy.yaml").unlink()
    assert check(store).own_policy == Policy()
    (film / "master/master.v001.yaml").unlink()
    assert check(store).master is None


def test_what_sequence_yaml_states_of_all_shots_and_of_one(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    write(film / "shots/F_002/F_002.v002.yaml", sheet_text("F_002", 8).replace("version: 1", "version: 2"))
    read_contents(store)
    plain = (film / "sequence.yaml").read_text()
    stated = ["pinned: {F_002: 1}", "pinned: {F_002: 9, F_003: 1}", "north: [1, 0, 0]", "key_shot: F_0", ""]
    for times, line in enumerate(stated, 1):
        write(film / "sequence.yaml", f"{plain}{line}\n", LONG_AGO + times)
        check(store)


def test_a_cut_file_that_goes_and_comes_back(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    cut = "TITLE: A FILM\n\n001  F_002  V  C  01:00:00:00 01:00:01:00 00:00:00:00 00:00:01:00\n"
    write(film / "sequence.yaml", "title: A film\ncut: film.edl\n")
    write(film / "film.edl", cut)
    assert read_contents(store).shots == ("F_002",)
    write(film / "film.edl", cut.replace("F_002", "F_004"), LONG_AGO + 1)
    assert check(store).shots == ("F_004",)
    (film / "film.edl").unlink()
    gone = read_contents(store, only=())
    assert "The cut cannot be read" in gone.troubles[0].says
    assert len(gone.shots) == SHOTS
    write(film / "film.edl", cut)
    assert check(store).shots == ("F_002",)


@pytest.mark.parametrize("line", ["policy: strict.yaml", "cut: film.edl"])
def test_a_file_that_is_missing_is_seen_when_it_comes(tmp_path: Path, line: str) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    write(film / "sequence.yaml", f"title: A film\n{line}\n")
    for _ in range(2):
        with pytest.raises(SheetError, match="there"):
            read_contents(store, only=())
    write(film / line.partition(" ")[2], "samelight_policy: 2\n" if "policy" in line else "TITLE: A FILM\n")
    check(store)


class Asked:
    """The folders that were listed and the files whose times were asked for."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, below: Path) -> None:
        self.listed: list[Path] = []
        self.times: list[Path] = []
        for name, found in (("listdir", self.listed), ("stat", self.times)):
            monkeypatch.setattr(os, name, self._noting(getattr(os, name), found, below))

    @staticmethod
    def _noting(ask: Callable[..., Any], found: list[Path], below: Path) -> Callable[..., Any]:
        def noting(path: Any, *given: Any, **named: Any) -> Any:
            if below in Path(path).parents:
                found.append(Path(path))
            return ask(path, *given, **named)

        return noting


def test_of_shots_that_were_not_touched_nothing_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    before = read_contents(store)
    asked = Asked(monkeypatch, film / "shots")
    after = read_contents(store, only=())
    assert (asked.listed, asked.times) == ([], [])
    assert read_contents(store, only=["F_003"]) == after == before
    assert asked.listed == [film / "shots/F_003"]
    assert asked.times == [film / "shots/F_003", shot_file(film, 3)]  # and not the folder of all shots
    assert all(after.sheets[shot] is before.sheets[shot] for shot in before.shots)
    assert all(after.versions[shot] is before.versions[shot] for shot in before.shots)


def test_a_look_at_everything_lists_each_folder_and_asks_for_each_file_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    before = read_contents(store)
    asked = Asked(monkeypatch, film / "shots")
    after = read_contents(store)
    assert asked.listed == [film / "shots" / shot for shot in before.shots]
    assert asked.times == [sheet.path for sheet in before.sheets.values()]
    assert after == before
    assert all(after.versions[shot] is before.versions[shot] for shot in before.shots)


def test_a_shot_is_seen_to_change_by_its_folder_or_by_its_file(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    read_contents(store)
    twin = film / "shots/F_002/F_002.v1.json"
    changes: tuple[Callable[[], object], ...] = (
        lambda: write(twin, "{}"),
        twin.unlink,
        lambda: write(film / "shots/F_002/notes.txt", "beside it"),
        lambda: write(shot_file(film, 3), sheet_text("F_003", 99), LONG_AGO + 1),
        lambda: write(shot_file(film, 4), "samelight: 2\nlighst: {}\n", LONG_AGO + 1),
        lambda: write(shot_file(film, 4), sheet_text("F_004", 9), LONG_AGO + 2),
        lambda: shutil.rmtree(film / "shots/F_005"),
        lambda: write(film / "shots/F_005", "a file in its place"),
        lambda: write(film / "shots/G_001/G_001.v001.yaml", sheet_text("G_001", 9)),
    )
    for change in changes:
        change()
        assert as_said(read_contents(store)) == as_said(read_contents(SheetStore(film)))


def test_progress_counts_what_is_read(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    told: list[tuple[int, int, str]] = []

    def progress(*said: Any) -> None:
        told.append(said)

    read_contents(store, progress=progress)
    assert told[-1] == (SHOTS + 1, SHOTS + 1, "")
    told.clear()
    write(shot_file(film, 3), sheet_text("F_003", 99), LONG_AGO + 1)
    read_contents(store, progress=progress)
    assert told == [(0, 2, "master.v001.yaml"), (1, 2, "F_003"), (2, 2, "")]


def without_permission(monkeypatch: pytest.MonkeyPatch, name: str, place: Path) -> None:
    ask = getattr(os, name)

    def refused(path: Any) -> Any:
        if Path(path) == place:
            raise PermissionError(13, "Permission denied", str(path))
        return ask(path)

    monkeypatch.setattr(os, name, refused)


def test_a_folder_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    before = read_contents(store)
    with pytest.MonkeyPatch.context() as patch:
        without_permission(patch, "listdir", film / "shots/F_002")
        for _ in range(2):
            found = check(store, "F_002")
            says = "The folder of F_002 cannot be read: no permission to read it."
            assert [trouble.says for trouble in found.troubles if trouble.shot == "F_002"] == [says]
            assert "F_002" not in found.sheets
    assert check(store, "F_002") == before
    with pytest.MonkeyPatch.context() as patch:
        without_permission(patch, "listdir", film / "master")
        found = check(store)
        says = "Nothing is compared: the folder of master setups cannot be read: no permission to read it."
        assert [trouble.says for trouble in found.troubles if trouble.shot is None] == [says]
    assert check(store) == before


def test_a_folder_of_all_shots_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    write(film / "sequence.yaml", "title: A film\n")
    with pytest.MonkeyPatch.context() as patch:
        without_permission(patch, "scandir", film / "shots")
        found = check(store)
        says = "The folder of all shots cannot be read: no permission to read it."
        assert (found.troubles[0].says, found.shots) == (says, ())
    assert len(check(store).shots) == SHOTS


def test_a_fault_of_who_lights_what_is_told_at_its_line_now(tmp_path: Path) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    plain = (film / "sequence.yaml").read_text()
    for times in range(2):
        lines = plain + "# a line\n" * times + "lighters:\n  Ines:\n    - F_001\n    - F_99\n"
        write(film / "sequence.yaml", lines, LONG_AGO + times)
        line = lines.count("\n")
        found = read_contents(store, only=())
        assert found.troubles[0].says.startswith(f"sequence.yaml:{line}:7: lighters, Ines: no shot F_99 in")


def test_the_others_are_not_gone_through(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    read_contents(store)
    asked: list[str] = []
    published = SheetStore.published

    def counted(self: SheetStore, shot: str, *, look: bool = True) -> Published:
        asked.append(shot)
        return published(self, shot, look=look)

    monkeypatch.setattr(SheetStore, "published", counted)
    write(shot_file(film, 3), sheet_text("F_003", 128))
    assert read_contents(store, only=["F_003", "nowhere"]).sheets.keys() == read_contents(store).sheets.keys()
    assert store.shots_read is not None and asked == ["F_003", *store.shots_read.versions]


@pytest.mark.parametrize("name", ["F_000", "F_999"])
def test_a_folder_that_comes_and_goes(tmp_path: Path, name: str) -> None:
    store = SheetStore(film := write_film(tmp_path / "film"))
    read_contents(store)
    write(film / f"shots/{name}/{name}.v001.yaml", sheet_text(name, 8))
    check(store, name)
    shutil.rmtree(film / "shots" / name)
    check(store, name)
