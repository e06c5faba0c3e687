"""Looking only at shots of which something is known to have changed finds what looking at everything finds."""

from __future__ import annotations

from pathlib import Path

from film_files import LONG_AGO, sheet_text, shot_file, write, write_film
from samelight.contents import Contents, Shelf, read_contents


def as_said(read: Contents) -> list[object]:
    return [read.shots, repr(read.sheets), read.versions, read.troubles, read.master_version]


def check(film: Path, shelf: Shelf, *touched: str) -> Contents:
    some = read_contents(film, shelf, only=touched)
    assert as_said(some) == as_said(read_contents(film, Shelf()))
    return some


def test_a_sheet_that_changed(tmp_path: Path) -> None:
    film, shelf = write_film(tmp_path / "film"), Shelf()
    before = read_contents(film, shelf)
    write(shot_file(film, 3), sheet_text("F_003", 128))
    after = check(film, shelf, "F_003")
    assert after != before
    assert after.sheets["F_004"] is before.sheets["F_004"]


def test_what_nobody_said_had_changed_is_not_seen(tmp_path: Path) -> None:
    film, shelf = write_film(tmp_path / "film"), Shelf()
    before = read_contents(film, shelf)
    write(shot_file(film, 3), sheet_text("F_003", 128))
    assert read_contents(film, shelf, only=["F_004"]) == before
    assert read_contents(film, shelf) != before


def test_a_new_version_a_lost_sheet_and_one_at_fault(tmp_path: Path) -> None:
    film, shelf = write_film(tmp_path / "film"), Shelf()
    read_contents(film, shelf)
    write(film / "shots/F_002/F_002.v002.yaml", sheet_text("F_002", 8).replace("version: 1", "version: 2"))
    shot_file(film, 5).unlink()
    write(shot_file(film, 6), "samelight: 1\nlighst: {}\n", LONG_AGO + 1)
    check(film, shelf, "F_002", "F_005", "F_006")
    write(shot_file(film, 6), sheet_text("F_006", 8), LONG_AGO + 2)
    check(film, shelf, "F_006")


def test_the_master_the_cut_and_the_policy_are_always_looked_at(tmp_path: Path) -> None:
    film, shelf = write_film(tmp_path / "film"), Shelf()
    read_contents(film, shelf)
    write(film / "master/master.v002.yaml", sheet_text("", 96).replace("version: 1", "version: 2"))
    check(film, shelf)
    write(film / "sequence.yaml", (film / "sequence.yaml").read_text().replace("  - F_001\n", ""))
    check(film, shelf)
    write(film / "policy.yaml", "samelight_policy: 1\nkinds: {environments.*.odd: count}\n")
    check(film, shelf)


def test_a_shelf_that_was_never_used_looks_at_everything(tmp_path: Path) -> None:
    check(write_film(tmp_path / "film"), Shelf())
