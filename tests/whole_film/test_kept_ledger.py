"""Decisions kept from another day: what is known is what reading every file would give, whatever changed since."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from film_files import LONG_AGO
from samelight.decisions import entries
from samelight.decisions import folder as folders
from samelight.decisions.decision import Decision, Verb
from samelight.decisions.entries import fetch
from samelight.decisions.judged import judge_all
from samelight.decisions.ledger import Ledger, open_ledger
from samelight.sequence import stored_ledger
from samelight.sequence.session import Session, open_session


@pytest.fixture(autouse=True)
def a_few_are_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stored_ledger, "FEWEST", 4)


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files of the ledger that were read."""
    found: list[str] = []

    def noting(path: Path) -> object:
        found.append(path.name)
        return fetch(path)

    monkeypatch.setattr(folders, "fetch", noting)
    return found


def decided(film: Path, count: int = 8) -> Session:
    """A session that decided on so many cells, all written long ago."""
    session = open_session(film)
    cells = [(row, column) for row in range(4) for column in range(count)][:count]
    session.decide(Verb.RETURN, cells, "lead", "to be mended")
    for path in files(film):
        os.utime(path, (LONG_AGO, LONG_AGO))
    return session


def files(film: Path) -> list[Path]:
    return sorted((film / "decisions").glob("*.yaml"))


def conclusions(ledger: Ledger) -> object:
    """The latest entries, and those that stand on each cell; None where something is at fault."""
    found = ledger.sound()
    stand = {cell: [one.id for one in held.stand()] for cell, held in found.cells.items()} if found else {}
    return found and (found.latest, found.old, stand)


def check(film: Path) -> Session:
    """Open it, and hold what is known against a ledger that reads all there is."""
    session = open_session(film)
    plain = open_ledger(film)
    assert session.ledger.receipt == plain.receipt and conclusions(session.ledger) == conclusions(plain)
    judged = judge_all(session.table, plain, session.contents.versions_held)
    assert session.cases.judged().states == judged.states
    assert session.ledger.all() == plain.all()
    assert session.ledger.by_cell() == plain.by_cell() and session.ledger.faults == plain.faults
    return session


def test_what_is_as_it_was_is_not_read_again(cache: Path, film: Path, read: list[str]) -> None:
    decided(film)
    open_session(film)
    read.clear()
    session = open_session(film)
    assert read == [] and len(session.ledger.all()) == 8
    check(film)


def test_only_what_is_new_is_read(cache: Path, film: Path, read: list[str]) -> None:
    decided(film)
    session = open_session(film)
    (made,) = session.decide(Verb.RETURN, [(1, 20)], "lead", "one more")
    read.clear()
    open_session(film)
    assert read == [f"{made.id}.yaml"]
    check(film)


def test_a_file_that_went_is_forgotten_and_the_others_are_not(
    cache: Path, film: Path, read: list[str]
) -> None:
    made = decided(film).ledger.all()
    open_session(film)
    named = {name.rpartition(":")[0] for one in made for name in one.saw or ()}
    next(path for path in files(film) if path.stem in named).unlink()
    read.clear()
    session = open_session(film)
    assert session.ledger.all() == [] and read == []  # the eight were one act, and stand together
    assert len(session.ledger.faults) == 2
    check(film)


def test_a_file_that_changed_is_read_though_its_time_and_size_are_as_before(cache: Path, film: Path) -> None:
    decided(film)
    open_session(film)
    path = files(film)[2]
    with path.open("r+b") as file:  # the same file, so that only the time of the change tells
        text = file.read()
        file.seek(0)
        file.write(text.replace(b"who: lead", b"who: dale"))
    os.utime(path, (LONG_AGO, LONG_AGO))
    assert "dale" in {decision.who for decision in check(film).ledger.all()}


def test_what_was_written_a_moment_before_is_read_again(
    cache: Path, film: Path, read: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stored_ledger, "SAME_MOMENT", 600 * 10**9)  # however slow the machine is
    decided(film)
    os.utime(files(film)[5])
    open_session(film)
    read.clear()
    open_session(film)
    assert read == [files(film)[5].name]


def test_a_fault_is_told_every_time(cache: Path, film: Path) -> None:
    decided(film)
    files(film)[0].write_text("verb: [", encoding="utf-8")
    assert check(film).ledger.faults
    assert check(film).ledger.faults


@pytest.mark.parametrize("harm", ["cut", "other", "empty", "gone"])
def test_what_is_damaged_counts_as_nothing(cache: Path, film: Path, read: list[str], harm: str) -> None:
    decided(film)
    open_session(film)
    (path,) = cache.glob("*.decisions")
    whole = path.read_bytes()
    match harm:
        case "cut":
            path.write_bytes(whole[:-9])
        case "other":
            path.write_bytes(whole.replace(b"lead", b"dale"))
        case "empty":
            path.write_bytes(b"")
        case _:
            path.unlink()
    read.clear()
    session = open_session(film)
    assert len(read) == 8 and {decision.who for decision in session.ledger.all()} == {"lead"}


def test_few_are_not_kept(cache: Path, film: Path) -> None:
    decided(film, 3)
    open_session(film)
    assert not list(cache.glob("*.decisions"))


def test_another_folder_knows_nothing_of_them(cache: Path, film: Path, tmp_path: Path) -> None:
    decided(film)
    open_session(film)
    (path,) = cache.glob("*.decisions")
    moved = film.rename(tmp_path / "another")
    assert len(check(moved).ledger.all()) == 8
    assert path.exists()


def test_of_what_is_kept_only_the_decisions_that_somebody_asks_for_are_made(
    cache: Path, film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = decided(film)
    for _ in range(3):  # what was said first on a cell is overtaken
        session.decide(Verb.RETURN, [(1, 2)], "lead", "to be mended")
    for path in files(film):
        os.utime(path, (LONG_AGO, LONG_AGO))
    open_session(film)
    made: list[str] = []
    plainly = stored_ledger.decision_of

    def making(name: str, line: str) -> Decision:
        made.append(name)
        return plainly(name, line)

    monkeypatch.setattr(stored_ledger, "decision_of", making)
    session = open_session(film)
    session.cases.state(1, 2)
    everything = session.ledger.by_cell()
    assert sorted(made) == sorted(one.id for held in everything.values() for one in held.stand())
    assert len(made) == len(everything) == len(files(film)) - 2
    session.ledger.all()
    assert len(set(made)) == len(made) == len(files(film))  # each once
    check(film)


def test_a_copy_of_the_files_is_read_and_what_came_of_them_stands(
    cache: Path, film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As after a checkout, which gives every file another time: its digest tells what it says."""
    decided(film)
    open_session(film)
    for path in files(film):
        os.utime(path, (LONG_AGO + 60, LONG_AGO + 60))
    with monkeypatch.context() as patched:
        patched.setattr(entries, "parse_document", pytest.fail)
        session = open_session(film)
    assert session.ledger.faults == () and len(session.ledger.all()) == 8
    check(film)


@pytest.mark.parametrize("harm", ["edited", "missing", "foreign", "more", "late"])
def test_what_happened_to_a_kept_ledger_is_told_as_by_reading_all_of_it(
    cache: Path, film: Path, harm: str
) -> None:
    session = decided(film)
    for number in range(4):
        session.decide(Verb.RETURN, [(1, number)], "lead", "to be mended")
    for path in files(film):
        os.utime(path, (LONG_AGO, LONG_AGO))
    away = files(film)[-2]
    text = away.read_bytes()
    if harm == "late":  # one that another had seen comes only now: nothing was sound before
        away.unlink()
    open_session(film)
    match harm:
        case "edited":
            away.write_bytes(text.replace(b"who: lead", b"who: dale"))
        case "missing":
            away.unlink()
        case "foreign":
            away.with_name("else.yaml").write_text("verb: [", encoding="utf-8")
        case "more":
            open_ledger(film).decide(Verb.RETURN, session.cases.subjects([(1, 9)]), "dale")
        case _:
            away.write_bytes(text)
    for _ in range(2):  # and once more where that was kept
        found = check(film)
        assert bool(found.ledger.faults) == (harm in ("edited", "missing", "foreign"))
