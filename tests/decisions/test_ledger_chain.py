"""What a shared ledger promises: whole acts, nothing missing or altered unheard, and one receipt for one ledger."""

from __future__ import annotations

import os
import random
import shutil
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from samelight.decisions import folder as folders
from samelight.decisions.decision import Verb
from samelight.decisions.entries import digest_of, entry_in, fetch
from samelight.decisions.folder import OfflineError
from samelight.decisions.ledger import DecisionError, Ledger, Subject, open_ledger
from samelight.decisions.state import State
from samelight.sheets.trees import read_text
from samelight.sheets.values import Level
from samelight.sheets.writing import WriteError

MASTER = Level(1.0)


def cell(number: int = 0) -> Subject:
    return Subject(f"S{number}", "lights.rim.level", Level(2.0 + number), MASTER)


def state(ledger: Ledger, of: Subject) -> State:
    return ledger.judgement(of.shot, of.parameter, of.value, of.master).state


def files(folder: Path) -> list[Path]:
    return sorted((folder / "decisions").glob("*.yaml"))


def said(ledger: Ledger) -> str:
    return "\n".join(ledger.troubles())


class TestActs:
    @pytest.mark.parametrize("missing", [0, 1, 4])
    def test_a_part_of_an_act_stands_for_nothing_and_is_named(self, tmp_path: Path, missing: int) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [cell(9)], "lead")
        made = ledger.decide(Verb.INTEND, [cell(number) for number in range(5)], "lead", "meant")
        (tmp_path / "decisions" / f"{made[missing].id}.yaml").rename(tmp_path / "kept.yaml")
        anew = open_ledger(tmp_path)
        assert [one.shot for one in anew.all()] == ["S9"]
        assert "expected all 5 decisions of one act of lead" in said(anew)
        assert "found 4: whoever wrote them was stopped" in said(anew)
        (tmp_path / "kept.yaml").rename(tmp_path / "decisions" / f"{made[missing].id}.yaml")
        assert anew.refresh()
        assert len(anew.all()) == 6 and anew.faults == ()

    def test_acts_of_before_there_was_a_count_stand_as_they_are(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [cell(0), cell(1)], "lead", "meant")
        for path in files(tmp_path):
            lines = path.read_text("utf-8").splitlines(keepends=True)
            path.write_text(
                "".join(x for x in lines if x.split(":")[0] not in ("saw", "of", "whole")), "utf-8"
            )
        files(tmp_path)[0].unlink()
        anew = open_ledger(tmp_path)
        assert len(anew.all()) == 1 and anew.faults == ()

    def test_the_same_act_again_is_the_same_act(self, tmp_path: Path) -> None:
        subjects = [cell(number) for number in range(4)]
        first = open_ledger(tmp_path).decide(Verb.INTEND, subjects, "lead", "meant", act="job-7")
        for ledger in (open_ledger(tmp_path), open_ledger(tmp_path)):
            again = ledger.decide(Verb.INTEND, subjects[::-1], "lead", "said otherwise", act="job-7")
            assert again == first[::-1]
        assert len(files(tmp_path)) == 4

    def test_an_act_that_was_stopped_halfway_is_completed(self, tmp_path: Path) -> None:
        subjects = [cell(number) for number in range(6)]
        made = open_ledger(tmp_path).decide(Verb.INTEND, subjects, "lead", "meant", act="job-7")
        for one in made[3:]:  # as a writer leaves them who was killed after three
            (tmp_path / "decisions" / f"{one.id}.yaml").unlink()
        ledger = open_ledger(tmp_path)
        assert ledger.all() == [] and ledger.faults
        assert len(ledger.decide(Verb.INTEND, subjects, "lead", "meant", act="job-7")) == 6
        anew = open_ledger(tmp_path)
        assert len(anew.all()) == 6 and anew.faults == ()

    def test_what_a_stopped_writer_left_can_be_removed_whatever_was_decided_since(
        self, tmp_path: Path
    ) -> None:
        first = open_ledger(tmp_path).decide(Verb.RETURN, [cell(9)], "lead")
        made = open_ledger(tmp_path).decide(
            Verb.INTEND, [cell(number) for number in range(5)], "ben", "meant"
        )
        for one in made[2:]:
            (tmp_path / "decisions" / f"{one.id}.yaml").unlink()
        (since,) = open_ledger(tmp_path).decide(Verb.RETURN, [cell(7)], "cy")
        assert f"each of their files says batch: {made[0].batch}" in said(open_ledger(tmp_path))
        for path in files(tmp_path):
            if f"batch: {made[0].batch}\n" in path.read_text("utf-8"):
                path.unlink()
        anew = open_ledger(tmp_path)
        assert anew.all() == [*first, since] and anew.faults == ()

    def test_an_entry_that_another_was_copied_over_is_missed(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        made = [ledger.decide(Verb.RETURN, [cell(number)], "lead")[0] for number in range(3)]
        first, last = (tmp_path / "decisions" / f"{one.id}.yaml" for one in (made[0], made[2]))
        first.write_bytes(last.read_bytes())
        anew = open_ledger(tmp_path)
        assert f"expected the decision {made[0].id} (lead had seen it" in said(anew)
        assert said(anew).endswith("found another decision there")

    def test_an_act_has_one_meaning_and_a_name_that_a_file_can_have(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [cell(0)], "lead", "meant", act="job-7")
        with pytest.raises(DecisionError, match="under the name job-7 other decisions were made"):
            ledger.decide(Verb.INTEND, [cell(1)], "lead", "meant", act="job-7")
        for name in ("../job", "", " ", "a/b", "x" * 81, ".hidden", "é"):
            if name:
                with pytest.raises(DecisionError, match="the name of an act has letters"):
                    ledger.decide(Verb.INTEND, [cell(2)], "lead", "meant", act=name)
        assert len(files(tmp_path)) == 1

    def test_two_at_once_make_one_act(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """The other writes it all between the look of this one and its first file."""
        mine, theirs = open_ledger(tmp_path), open_ledger(tmp_path)
        subjects = [cell(0), cell(1)]
        theirs.decide(Verb.INTEND, subjects, "lead", "meant", act="job-7")
        made = mine.decide(Verb.INTEND, subjects, "lead", "meant", act="job-7")
        assert len(made) == len(files(tmp_path)) == 2
        assert mine.all() == theirs.all()

    def test_an_answer_that_a_share_lost_is_no_second_decision(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The system asks the share once more by itself, and is then told that the file is there."""
        real = os.link

        def twice(source: Any, target: Any) -> None:
            real(source, target)
            real(source, target)

        ledger = open_ledger(tmp_path)
        monkeypatch.setattr(os, "link", twice)
        assert len(ledger.decide(Verb.RETURN, [cell(0), cell(1)], "lead")) == 2
        assert len(open_ledger(tmp_path).all()) == 2

    def test_what_is_too_long_to_be_read_back_is_not_written(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        with pytest.raises(DecisionError, match="at most 16 MiB"):
            ledger.note("S0", "a" * 17_000_000, "lead")
        assert not files(tmp_path)
        ledger.note("S0", "a" * 1_000_000, "lead")
        assert open_ledger(tmp_path).faults == ()


class TestChain:
    def test_each_names_the_latest_that_its_maker_had_seen(self, tmp_path: Path) -> None:
        ada, ben = open_ledger(tmp_path), open_ledger(tmp_path)
        first = ada.decide(Verb.RETURN, [cell(0)], "ada")[0]
        other = ben.decide(Verb.RETURN, [cell(1)], "ben")[0]
        assert first.saw == other.saw == ()
        ada.refresh()
        batch = ada.decide(Verb.RETURN, [cell(2), cell(3)], "ada")
        assert batch[0].saw is not None and batch[1].saw is not None
        assert sorted(name.rpartition(":")[0] for name in batch[0].saw) == sorted((first.id, other.id))
        text = (tmp_path / "decisions" / f"{batch[0].id}.yaml").read_text("utf-8")
        assert batch[1].saw == (f"{batch[0].id}:{digest_of(text)}",)
        ben.refresh()
        assert [
            name.rpartition(":")[0] for name in ben.decide(Verb.RETURN, [cell(4)], "ben")[0].saw or ()
        ] == [batch[1].id]

    def test_entries_of_before_count_as_one_line(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        for number in range(3):
            ledger.decide(Verb.RETURN, [cell(number)], "lead")
        for path in files(tmp_path):
            lines = path.read_text("utf-8").splitlines(keepends=True)
            path.write_text("".join(x for x in lines if x.split(":")[0] not in ("saw", "whole")), "utf-8")
        anew = open_ledger(tmp_path)
        assert anew.faults == () and len(anew.all()) == 3
        made = anew.decide(Verb.RETURN, [cell(3)], "lead")[0]
        assert made.saw is not None and len(made.saw) == 1
        assert open_ledger(tmp_path).faults == ()

    def test_one_that_is_missing_is_named(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        first = ledger.decide(Verb.INTEND, [cell(0)], "lead", "meant")[0]
        second = ledger.decide(Verb.RETURN, [cell(1)], "ben")[0]
        (tmp_path / "decisions" / f"{first.id}.yaml").unlink()
        ledger.refresh()
        for reader in (ledger, open_ledger(tmp_path)):
            assert f"expected the decision {first.id} (ben had seen it, in {second.id})" in said(reader)
            assert "found nothing there" in said(reader)
            assert reader.all() == [second]
        assert ledger.gone == [first.id]

    def test_one_that_was_edited_is_named(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        first = ledger.decide(Verb.RETURN, [cell(0)], "lead")[0]
        second = ledger.decide(Verb.RETURN, [cell(1)], "ben")[0]
        path = tmp_path / "decisions" / f"{first.id}.yaml"
        whole = path.read_text("utf-8")
        path.write_text(whole.replace("who: lead", "who: dale"), "utf-8")
        ledger.refresh()
        for reader in (ledger, open_ledger(tmp_path)):
            assert f"(ben had seen it, in {second.id}), found another text" in said(reader)
        path.write_text(whole, "utf-8")
        ledger.refresh()
        assert ledger.faults == ()

    def test_one_that_cannot_be_read_is_told_once(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        first = ledger.decide(Verb.RETURN, [cell(0)], "lead")[0]
        ledger.decide(Verb.RETURN, [cell(1)], "ben")
        (tmp_path / "decisions" / f"{first.id}.yaml").write_text("samelight_decision: 2\n", "utf-8")
        ledger.refresh()
        assert {Path(fault.file).stem for fault in ledger.faults} == {first.id}
        assert "nothing there" not in said(ledger)

    def test_a_clock_that_is_wrong_changes_nothing(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from datetime import UTC, datetime, timedelta

        from samelight.decisions import ledger as ledgers

        class Skewed(datetime):
            off = timedelta()

            @classmethod
            def now(cls, tz: Any = None) -> Any:
                return datetime.now(UTC) + cls.off

        monkeypatch.setattr(ledgers, "datetime", Skewed)
        people = [open_ledger(tmp_path) for _ in range(4)]
        for number, ledger in enumerate(people * 3):
            Skewed.off = timedelta(hours=random.Random(number).uniform(-9000, 9000))
            ledger.refresh()
            ledger.decide((Verb.INTEND, Verb.RETURN)[number % 2], [cell(0)], "lead", "meant")
        anew = open_ledger(tmp_path)
        assert anew.faults == () and len(anew.all()) == 12
        assert state(anew, cell(0)) is State.SENT_BACK


class TestReceipt:
    def test_it_is_one_for_one_ledger_however_its_files_came(self, tmp_path: Path) -> None:
        for name in ("one", "two"):
            (tmp_path / name / "decisions").mkdir(parents=True)
        ledger = open_ledger(tmp_path / "one")
        receipts = {ledger.receipt}
        for number in range(5):
            ledger.decide(Verb.RETURN, [cell(number), cell(number + 10)], "lead")
            receipts.add(ledger.receipt)
        assert len(receipts) == 6
        for path in random.Random(1).sample(files(tmp_path / "one"), 10):
            copy = tmp_path / "two/decisions" / path.name
            copy.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
        shutil.copy(copy, copy.with_name("copy.yaml"))
        other = open_ledger(tmp_path / "two")
        assert other.receipt == ledger.receipt and ledger.receipt.startswith("10-")
        other.decide(Verb.RETURN, [cell(7)], "lead")
        assert other.receipt != ledger.receipt

    def test_it_tells_of_a_single_letter(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [cell(0)], "lead", "to be mended")
        before = ledger.receipt
        (path,) = files(tmp_path)
        path.write_text(path.read_text("utf-8").replace("mended", "minded"), "utf-8")
        assert open_ledger(tmp_path).receipt != before


class TestWhole:
    def test_no_part_of_a_file_is_taken_for_all_of_it(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [cell(0)], "lead", "meant", until=4)
        (path,) = files(tmp_path)
        whole = path.read_bytes()
        for length in range(len(whole) - 1):
            path.write_bytes(whole[:length])
            reader = open_ledger(tmp_path)
            assert reader.all() == [] and reader.faults, whole[:length]
        path.write_bytes(whole)
        assert open_ledger(tmp_path).all() == ledger.all()

    def test_a_file_that_changes_while_it_is_read_is_read_again(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from samelight.decisions import entries

        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [cell(0)], "lead")
        (path,) = files(tmp_path)
        text = path.read_text("utf-8")
        path.write_text(text.replace("verb: return", "verb: intend"), "utf-8")
        reads: list[Path] = []

        def read(at: Path) -> str:
            found = read_text(at)
            if not reads:
                path.write_text(text + "\n", "utf-8")
            reads.append(at)
            return found

        monkeypatch.setattr(entries, "read_text", read)
        assert [one.verb for one in open_ledger(tmp_path).all()] == [Verb.RETURN]
        assert len(reads) == 2

    def test_one_that_was_completed_in_its_place_is_read_again_without_a_thorough_look(
        self, tmp_path: Path
    ) -> None:
        theirs, mine = open_ledger(tmp_path), open_ledger(tmp_path)
        theirs.decide(Verb.INTEND, [cell(0)], "lead", "meant", until=4)
        (path,) = files(tmp_path)
        whole = path.read_text("utf-8").replace("saw: []\n", "").replace("whole: true\n", "")
        path.write_text(whole.replace("until: 4\n", ""), "utf-8")
        assert mine.look(thoroughly=False) and mine.take_in()
        assert [one.until for one in mine.all()] == [None]
        with path.open("a", encoding="utf-8") as file:
            file.write("until: 4\n")
        assert mine.look(thoroughly=False) and mine.take_in()
        assert [one.until for one in mine.all()] == [4]


class TestLeftovers:
    def left(self, folder: Path, minutes: float) -> Path:
        path = folder / "decisions" / f".a.yaml.{int(minutes)}.0123abcd.tmp"
        path.write_text("half a dec", "utf-8")
        then = path.stat().st_mtime - 60 * minutes
        os.utime(path, (then, then))
        return path

    def test_the_next_writer_removes_what_a_killed_one_left_and_nothing_that_is_being_written(
        self, tmp_path: Path
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [cell(0)], "lead")
        old, new = self.left(tmp_path, 30), self.left(tmp_path, 2)
        ledger.refresh()
        assert len(ledger.remarks()) == 1 and old.name in ledger.remarks()[0]
        assert ledger.faults == ()
        ledger.decide(Verb.RETURN, [cell(1)], "lead")
        assert not old.exists() and new.exists() and ledger.remarks() == []

    def test_a_clock_that_is_ahead_removes_nothing_that_is_being_written(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [cell(0)], "lead")
        new = self.left(tmp_path, 1)
        real = time.time_ns
        monkeypatch.setattr(time, "time_ns", lambda: real() + 3600 * 10**9)
        ledger.refresh()
        ledger.decide(Verb.RETURN, [cell(1)], "lead")
        assert new.exists()


class TestOffline:
    @pytest.fixture
    def share(self, tmp_path: Path) -> Path:
        folder = tmp_path / "share" / "harbour"
        folder.mkdir(parents=True)
        (folder / "sequence.yaml").write_text("samelight_sequence: 2\n", "utf-8")
        return folder

    def test_nothing_is_made_where_the_sequence_is_gone_and_nothing_is_forgotten(self, share: Path) -> None:
        ledger = open_ledger(share)
        ledger.decide(Verb.INTEND, [cell(0)], "lead", "meant")
        away = share.rename(share.parent.with_name("away"))
        for there in (False, True):  # nothing, and a mount point that another program made a folder in
            if there:
                (share / "decisions").mkdir(parents=True)
            assert not ledger.refresh()
            assert state(ledger, cell(0)) is State.INTENDED
            assert "the sequence's folder" in said(ledger)
            with pytest.raises(OfflineError, match="cannot be reached, so nothing can be decided"):
                ledger.decide(Verb.RETURN, [cell(1)], "lead")
            assert not share.exists() or not list((share / "decisions").iterdir())
        shutil.rmtree(share)
        open_ledger(away).decide(Verb.RETURN, [cell(1)], "ben")
        away.rename(share)
        assert ledger.refresh() and ledger.faults == () and ledger.gone == []
        assert [state(ledger, cell(0)), state(ledger, cell(1))] == [State.INTENDED, State.SENT_BACK]
        ledger.decide(Verb.RETURN, [cell(2)], "lead")
        assert open_ledger(share).faults == ()

    def test_where_only_the_folder_of_decisions_has_gone_nothing_is_forgotten_and_none_is_made(
        self, share: Path
    ) -> None:
        ledger = open_ledger(share)
        ledger.decide(Verb.INTEND, [cell(0)], "lead", "meant")
        away = (share / "decisions").rename(share / "away")
        assert not ledger.refresh()
        assert state(ledger, cell(0)) is State.INTENDED and ledger.gone == []
        assert "the folder with the 1 decision known here" in said(ledger) and {ledger.unlisted} <= {
            *ledger.faults
        }
        with pytest.raises(OfflineError, match="decisions has gone with the decisions that are known here"):
            ledger.decide(Verb.RETURN, [cell(1)], "lead")
        assert not (share / "decisions").exists()
        away.rename(share / "decisions")
        ledger.refresh()
        assert ledger.faults == ()
        assert not ledger.unlisted
        ledger.decide(Verb.RETURN, [cell(1)], "lead")
        assert [state(ledger, cell(0)), state(ledger, cell(1))] == [State.INTENDED, State.SENT_BACK]

    def test_a_link_to_a_folder_that_is_not_there_is_no_empty_ledger(self, share: Path) -> None:
        """As where the share that decisions lie on is not mounted."""
        elsewhere = share.parent / "elsewhere"
        (share / "decisions").symlink_to(elsewhere)
        ledger = open_ledger(share)
        assert "found a link to nothing" in said(ledger) and list(ledger.faults) == [ledger.unlisted]
        with pytest.raises(WriteError):
            ledger.decide(Verb.RETURN, [cell(1)], "lead")
        assert not elsewhere.exists()
        elsewhere.mkdir()
        ledger.refresh()
        assert ledger.faults == ()
        ledger.decide(Verb.RETURN, [cell(1)], "lead")
        assert len(list(elsewhere.iterdir())) == 1

    def test_a_folder_of_decisions_that_was_emptied_is_told_by_name(self, share: Path) -> None:
        ledger = open_ledger(share)
        made = [ledger.decide(Verb.RETURN, [cell(number)], "lead")[0] for number in range(6)]
        for path in (share / "decisions").iterdir():
            path.unlink()
        assert ledger.refresh()
        assert ledger.all() == [] and ledger.gone == sorted(one.id for one in made)
        assert "Decisions have gone" in said(ledger) and "and 2 more" in said(ledger)


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Callable[[], int]:
    """Counts what the file system is asked by the ledger."""
    count = 0

    def counting(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **more: Any) -> Any:
            nonlocal count
            count += 1
            return real(*args, **more)

        return call

    for name in ("stat", "scandir", "open", "listdir"):
        monkeypatch.setattr(os, name, counting(getattr(os, name)))

    def since() -> int:
        nonlocal count
        counted, count = count, 0
        return counted

    return since


class TestLooking:
    def many(self, folder: Path, count: int) -> Ledger:
        ledger = open_ledger(folder)
        ledger.decide(Verb.RETURN, [cell(number) for number in range(count)], "lead")
        return ledger

    def test_a_look_costs_one_listing_whatever_is_known(
        self, tmp_path: Path, calls: Callable[[], int]
    ) -> None:
        """However lately it was read: each of these files says that it is whole."""
        self.many(tmp_path, 150)
        mine, theirs = open_ledger(tmp_path), open_ledger(tmp_path)
        calls()
        assert not mine.look(thoroughly=False)
        assert calls() <= 2
        theirs.decide(Verb.RETURN, [cell(500)], "ben")
        calls()
        assert mine.look(thoroughly=False) and mine.take_in()
        assert calls() < 12

    def test_a_decision_asks_for_none_of_the_known(self, tmp_path: Path, calls: Callable[[], int]) -> None:
        ledger = self.many(tmp_path, 150)
        calls()
        ledger.decide(Verb.RETURN, [cell(500)], "lead")
        assert calls() < 30

    def test_a_thorough_look_asks_for_each_once(self, tmp_path: Path, calls: Callable[[], int]) -> None:
        ledger = self.many(tmp_path, 150)
        calls()
        ledger.look()
        assert calls() < 170

    def test_a_slow_share_is_asked_many_questions_at_once(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        plain = self.many(tmp_path, 150)
        threads: set[int] = set()
        reading: set[int] = set()

        def noting(path: Path) -> Any:
            threads.add(threading.get_ident())
            return fetch(path)

        def understanding(*args: Any) -> Any:
            reading.add(threading.get_ident())
            return entry_in(*args)

        monkeypatch.setattr(folders, "fetch", noting)
        monkeypatch.setattr(folders, "entry_in", understanding)
        monkeypatch.setattr(folders, "_SLOW", -1.0)  # as if every answer took long
        anew = open_ledger(tmp_path)
        assert len(threads) > 1
        assert reading == {threading.get_ident()}  # which leaves the processor to the window
        assert anew.all() == plain.all() and anew.known() == plain.known() and anew.faults == ()

    @pytest.mark.parametrize(("slow", "many"), [((0,), False), ((0, 1, 2), False), (range(9), True)])
    def test_one_slow_answer_makes_no_slow_share(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, slow: Sequence[int], many: bool
    ) -> None:
        self.many(tmp_path, 20)
        now, asked = 0.0, 0
        threads: set[int] = set()

        def answering(path: Path) -> Any:
            nonlocal now, asked
            now += 1.0 if asked in slow else 0.0
            asked += 1
            threads.add(threading.get_ident())
            return fetch(path)

        monkeypatch.setattr(folders, "fetch", answering)
        monkeypatch.setattr(folders, "perf_counter", lambda: now)
        assert len(open_ledger(tmp_path).all()) == 20
        assert (threads != {threading.get_ident()}) == many

    def test_work_grows_with_the_decisions_and_not_with_their_square(self, tmp_path: Path) -> None:
        """On one cell, where each was once sorted in among all others."""
        from samelight.decisions import known_decisions

        compared = 0

        def counting(decision: Any) -> str:
            nonlocal compared
            compared += 1
            return str(decision.id)

        ledger = open_ledger(tmp_path)
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(known_decisions, "_id", counting)
            ledger.decide(Verb.RETURN, [cell(0)] * 300, "lead")
            open_ledger(tmp_path)
        assert compared <= 3 * 300


class TestBeside:
    """Decisions that are written beside the thread that decides."""

    @pytest.fixture
    def late(self, monkeypatch: pytest.MonkeyPatch) -> Any:
        from concurrent.futures import Future

        from samelight.decisions import ledger as ledgers

        monkeypatch.setattr(ledgers, "PATIENCE", 0.0)

        class Later:
            """Does what it is given when it is told to."""

            def __init__(self) -> None:
                self.due: list[tuple[Future[Any], Callable[[], Any]]] = []

            def submit(self, work: Callable[[], Any]) -> Future[Any]:
                future: Future[Any] = Future()
                self.due.append((future, work))
                return future

            def go_on(self) -> None:
                for future, work in self.due:
                    try:
                        future.set_result(work())
                    except Exception as error:  # noqa: BLE001 - as an executor does
                        future.set_exception(error)
                self.due.clear()

        return Later()

    def test_it_stands_at_once_and_is_on_disk_later(self, tmp_path: Path, late: Any) -> None:
        ledger = open_ledger(tmp_path)
        told: list[int] = []
        ledger.writer, ledger.told = late, lambda: told.append(len(files(tmp_path)))
        ledger.decide(Verb.INTEND, [cell(0)], "lead", "meant")
        ledger.decide(Verb.RETURN, [cell(1), cell(2)], "lead")
        assert state(ledger, cell(0)) is State.INTENDED and not (tmp_path / "decisions").exists()
        ledger.refresh()
        assert state(ledger, cell(0)) is State.INTENDED
        late.go_on()
        assert told in ([3, 3], [1, 3])
        assert not ledger.take_in() and ledger.take_failures() == []
        anew = open_ledger(tmp_path)
        assert anew.all() == ledger.all() and anew.receipt == ledger.receipt and anew.faults == ()
        assert not ledger.refresh() and len(ledger.known()) == 3

    def test_what_could_not_be_written_is_taken_back_with_all_that_rests_on_it(
        self, tmp_path: Path, late: Any, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [cell(9)], "lead")
        ledger.writer = late
        ledger.decide(Verb.INTEND, [cell(0)], "lead", "meant")
        ledger.decide(Verb.INTEND, [cell(1)], "lead", "meant")
        with monkeypatch.context() as patched:

            def refuse(handle: int) -> None:
                raise OSError(28, "No space left on device")

            patched.setattr(os, "fsync", refuse)
            late.due, rest = late.due[:1], late.due[1:]
            late.go_on()
        late.due = rest
        late.go_on()
        failures = ledger.take_failures()
        assert ["No space left" in why for _, why in failures] == [True, False]
        assert "before it could not be written" in failures[1][1]
        assert [state(ledger, cell(number)) for number in (0, 1, 9)] == [
            State.UNDECIDED,
            State.UNDECIDED,
            State.SENT_BACK,
        ]
        ledger.decide(Verb.RETURN, [cell(2)], "lead")
        late.go_on()
        anew = open_ledger(tmp_path)
        assert anew.faults == () and len(anew.all()) == 2

    def test_what_fails_at_once_is_refused_as_ever(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        from concurrent.futures import ThreadPoolExecutor

        from samelight.decisions import ledger as ledgers

        monkeypatch.setattr(ledgers, "PATIENCE", 60.0)

        def refuse(handle: int) -> None:
            raise OSError(28, "No space left on device")

        ledger = open_ledger(tmp_path)
        with ThreadPoolExecutor(1) as writer:
            ledger.writer = writer
            monkeypatch.setattr(os, "fsync", refuse)
            with pytest.raises(WriteError, match="No space left"):
                ledger.decide(Verb.RETURN, [cell(0)], "lead")
        assert ledger.all() == []
