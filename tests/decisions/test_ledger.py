"""The folder of decisions: only added to, read by many, and never left half written."""

from __future__ import annotations

import errno
import multiprocessing
import os
import shutil
import stat
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger_writer import write_many
from samelight.decisions import entries
from samelight.decisions import folder as folders
from samelight.decisions.decision import Decision, Verb, new_id, to_tree
from samelight.decisions.history import History
from samelight.decisions.ledger import DecisionError, Ledger, Subject, open_ledger
from samelight.decisions.state import State
from samelight.sheets.trees import read_text
from samelight.sheets.values import Colour, Curve, FileRef, Level
from samelight.sheets.writing import WriteError, yaml_text
from thoroughness import examples

VALUE, MASTER = Level(2.0), Level(1.0)
CELL = Subject("A", "lights.rim.level", VALUE, MASTER)
OTHER = Subject("B", "lights.rim.level", Level(3.0), MASTER)


MANY = [
    Subject(f"S{number % 7}", f"lights.l{number}.level", Level(1.0 + number), MASTER) for number in range(40)
]
"""More than are written one after the other."""


def state(ledger: Ledger, subject: Subject = CELL) -> State:
    return ledger.judgement(subject.shot, subject.parameter, subject.value, subject.master).state


def files(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / "decisions").iterdir())


def written(decision: Decision) -> str:
    return yaml_text(to_tree(decision))


def by_hand(verb: Verb = Verb.INTEND, **more: Any) -> Decision:
    moment = datetime(2026, 9, 14, 8, 15, tzinfo=UTC)
    made = Decision(new_id(), verb, CELL.shot, CELL.parameter, VALUE, MASTER, "by hand", "lead", moment)
    return replace(made, **more)


class TestDeciding:
    def test_one_file_a_decision(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        assert not (tmp_path / "decisions").exists()
        (made,) = ledger.decide(Verb.INTEND, [CELL], " lead ", " follows the boatman ")
        assert files(tmp_path) == [f"{made.id}.yaml"]
        assert (made.who, made.reason, made.batch, made.follows) == ("lead", "follows the boatman", "", ())
        assert state(ledger) is State.INTENDED
        assert state(open_ledger(tmp_path)) is State.INTENDED
        assert open_ledger(tmp_path).all() == ledger.all() == [made]
        assert list(ledger.by_cell()) == [("A", "lights.rim.level")]

    def test_several_at_once_are_a_batch(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        made = ledger.decide(Verb.RETURN, [CELL, OTHER], "lead")
        assert len({decision.batch for decision in made}) == 1
        assert made[0].batch
        assert [state(ledger, CELL), state(ledger, OTHER)] == [State.SENT_BACK] * 2

    def test_the_next_follows_the_last(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        (first,) = ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        (second,) = ledger.decide(Verb.RETURN, [CELL], "lead")
        assert second.follows == (first.id,)
        assert ledger.of_cell("A", "lights.rim.level") == [first, second]
        assert state(ledger) is State.SENT_BACK

    def test_withdraw_opens_the_cell_whatever_came_before(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        ledger.decide(Verb.INTEND, [replace(CELL, value=Level(5.0))], "lead", "meant more")
        withdrawals = ledger.decide(Verb.WITHDRAW, [CELL], "lead")
        assert len(withdrawals) == 2
        assert state(ledger) is State.UNDECIDED
        assert state(open_ledger(tmp_path)) is State.UNDECIDED

    @pytest.mark.parametrize(
        ("verb", "who", "reason", "message"),
        [
            (Verb.INTEND, "lead", "  ", "a reason is needed"),
            (Verb.RETURN, "  ", "", "the name of who"),
            (Verb.WITHDRAW, "lead", "", "no decision here to withdraw"),
            (Verb.RETURN, "lead", "half a \udce4 letter", "no whole character"),
            (Verb.RETURN, "\ud83d", "", "no whole character"),
        ],
    )
    def test_what_cannot_be_decided(
        self, tmp_path: Path, verb: Verb, who: str, reason: str, message: str
    ) -> None:
        ledger = open_ledger(tmp_path)
        with pytest.raises(DecisionError, match=message):
            ledger.decide(verb, [CELL], who, reason)
        assert ledger.all() == []
        assert not (tmp_path / "decisions").exists()

    def test_an_id_is_never_used_twice(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        (made,) = ledger.write([by_hand()])
        with pytest.raises(WriteError, match="exists"):
            ledger.write([replace(made, reason="another")])
        assert open_ledger(tmp_path).all() == [made]


class TestReading:
    def test_only_new_files_are_read(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        mine, theirs = open_ledger(tmp_path), open_ledger(tmp_path)
        theirs.decide(Verb.INTEND, [CELL], "lead", "meant")
        read: list[str] = []

        def noting(path: Path) -> Any:
            read.append(path.name)
            return read_text(path)

        monkeypatch.setattr(entries, "read_text", noting)
        assert mine.refresh()
        assert state(mine) is State.INTENDED
        assert not mine.refresh()
        theirs.decide(Verb.RETURN, [OTHER], "lead")
        assert mine.refresh()
        mine.decide(Verb.RETURN, [CELL], "lighter")
        assert not mine.refresh()
        assert len(read) == len(set(read)) == 2

    def test_a_file_that_is_gone_is_forgotten(self, tmp_path: Path) -> None:
        """As when another branch of the sequence is checked out."""
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        ledger.decide(Verb.RETURN, [OTHER], "lead")
        shutil.copytree(tmp_path / "decisions", tmp_path / "elsewhere")
        for path in (tmp_path / "decisions").iterdir():
            path.unlink()
        assert ledger.refresh()
        assert ledger.all() == []
        assert list(ledger.by_cell()) == []
        assert state(ledger) is State.UNDECIDED
        shutil.copytree(tmp_path / "elsewhere", tmp_path / "decisions", dirs_exist_ok=True)
        assert ledger.refresh()
        assert [state(ledger, CELL), state(ledger, OTHER)] == [State.INTENDED, State.SENT_BACK]

    def test_a_file_that_changed_is_read_anew(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        (made,) = ledger.write([by_hand()])
        path = tmp_path / "decisions" / f"{made.id}.yaml"
        path.write_text(written(replace(made, reason="by another hand")), encoding="utf-8")
        assert ledger.refresh()
        assert not ledger.faults
        assert [decision.reason for decision in ledger.all()] == ["by another hand"]

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            (written(by_hand())[:60], "expected"),
            ("samelight_decision: 2\nid: a\nverb: [int", "expected"),
            ("", "empty"),
            ("title: a shopping list\n", "format version 2"),
            (written(by_hand()).replace("samelight_decision: 2", "samelight_decision: 3"), "newer program"),
            ("\0\x01\x02", "expected"),
        ],
        ids=["cut short", "cut inside a list", "empty", "foreign", "newer", "binary"],
    )
    def test_a_file_that_is_none_is_named_and_left_alone(
        self, tmp_path: Path, text: str, message: str
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        bad = tmp_path / "decisions" / "2026-01-01T000000.000000Z-000000000000.yaml"
        bad.write_text(text, encoding="utf-8")
        for reader in (ledger, open_ledger(tmp_path)):
            reader.refresh()
            assert reader.faults
            assert all(fault.file == str(bad) for fault in reader.faults)
            assert message in "\n".join(map(str, reader.faults))
            assert state(reader) is State.INTENDED
        assert bad.read_text(encoding="utf-8") == text
        bad.unlink()
        assert ledger.refresh()
        assert ledger.faults == ()

    def test_what_is_no_decision_file_is_passed_over(self, tmp_path: Path) -> None:
        folder = tmp_path / "decisions"
        folder.mkdir()
        for name in ("README.md", ".2026.yaml.123.tmp", ".hidden.yaml", "notes.yaml~"):
            (folder / name).write_text("half a dec", encoding="utf-8")
        ledger = open_ledger(tmp_path)
        assert (ledger.all(), ledger.faults) == ([], ())

    def test_a_folder_or_a_dead_link_by_the_name_of_a_decision(self, tmp_path: Path) -> None:
        (tmp_path / "decisions" / "a.yaml").mkdir(parents=True)
        (tmp_path / "decisions" / "b.yaml").symlink_to(tmp_path / "nowhere")
        ledger = open_ledger(tmp_path)
        assert [Path(fault.file).name for fault in ledger.faults] == ["a.yaml", "b.yaml"]

    def test_a_link_to_itself_keeps_none_of_the_others_from_being_read(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        (made,) = ledger.write([by_hand()])
        (tmp_path / "decisions" / "a.yaml").symlink_to("a.yaml")
        for one in (ledger, open_ledger(tmp_path)):
            one.refresh()
            assert one.all() == [made]
            assert [Path(fault.file).name for fault in one.faults] == ["a.yaml"]

    def test_of_a_link_to_a_file_elsewhere_nothing_is_quoted(self, tmp_path: Path) -> None:
        theirs = tmp_path / "theirs.txt"
        theirs.write_text("samelight_decision: hunter2\n", encoding="utf-8")
        (tmp_path / "decisions").mkdir()
        (tmp_path / "decisions" / "a.yaml").symlink_to(theirs)
        (fault,) = open_ledger(tmp_path).faults
        assert "a link to another file outside the ledger" in str(fault)
        assert "hunter2" not in str(fault)

    def test_a_copy_under_another_name_is_the_same_decision(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        (made,) = ledger.write([by_hand()])
        folder = tmp_path / "decisions"
        shutil.copy(folder / f"{made.id}.yaml", folder / f"{made.id} (copy).yaml")
        ledger.refresh()
        assert (ledger.all(), ledger.faults) == ([made], ())
        (folder / f"{made.id}.yaml").unlink()
        ledger.refresh()
        assert ledger.all() == [made]

    def test_of_two_with_one_id_the_one_named_after_it_is_believed(self, tmp_path: Path) -> None:
        made = by_hand()
        folder = tmp_path / "decisions"
        folder.mkdir()
        (folder / "000 forged.yaml").write_text(written(replace(made, reason="forged")), encoding="utf-8")
        (folder / f"{made.id}.yaml").write_text(written(made), encoding="utf-8")
        ledger = open_ledger(tmp_path)
        assert ledger.all() == [made]
        (fault,) = ledger.faults
        assert Path(fault.file).name == "000 forged.yaml"
        assert fault.found == f"another decision with the id {made.id}"
        assert files(tmp_path) == ["000 forged.yaml", f"{made.id}.yaml"]

    def test_two_ledgers_merge_by_copying_files(self, tmp_path: Path) -> None:
        for name, verb in (("one", Verb.INTEND), ("two", Verb.RETURN)):
            open_ledger(tmp_path / name).decide(verb, [CELL], name, "meant")
        for path in (tmp_path / "two" / "decisions").iterdir():
            shutil.copy(path, tmp_path / "one" / "decisions")
        assert state(open_ledger(tmp_path / "one")) is State.TWO_OPINIONS

    def test_a_folder_that_cannot_be_listed_is_named_and_nothing_is_forgotten(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [CELL], "lead", "meant")

        def refuse(folder: Path) -> Any:
            raise PermissionError(errno.EACCES, "Permission denied", str(folder))

        with monkeypatch.context() as patched:
            patched.setattr(os, "scandir", refuse)
            assert not ledger.refresh()
            assert "expected a readable folder, found Permission denied" in str(ledger.faults[0])
            assert state(ledger) is State.INTENDED
        ledger.refresh()
        assert ledger.faults == ()

    def test_what_one_wrote_oneself_is_known_after_one_look_at_the_folder(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, MANY, "lead", "meant")
        before, looks, real = ledger.revision, [], os.scandir

        def looking(folder: Path) -> Any:
            looks.append(folder)
            return real(folder)

        monkeypatch.setattr(os, "scandir", looking)
        monkeypatch.setattr(folders, "fetch", None)
        monkeypatch.setattr(Ledger, "_index", None)
        assert not ledger.refresh()
        assert looks == [tmp_path / "decisions"]
        assert ledger.revision == before

    def test_the_revision_tells_of_every_change(self, tmp_path: Path) -> None:
        mine, theirs = open_ledger(tmp_path), open_ledger(tmp_path)
        seen = [mine.revision]

        def told() -> bool:
            seen.append(mine.revision)
            return seen[-1] > seen[-2]

        (made,) = mine.decide(Verb.RETURN, [CELL], "lead")
        assert told()
        mine.refresh()
        assert not told()
        theirs.decide(Verb.INTEND, [OTHER], "lead", "meant")
        mine.refresh()
        assert told()
        (tmp_path / "decisions" / f"{made.id}.yaml").unlink()
        mine.refresh()
        assert told()

    @settings(max_examples=examples(30), suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(st.lists(st.tuples(st.sampled_from(range(7)), st.integers(0, 5)), min_size=1, max_size=12))
    def test_after_any_changes_a_ledger_is_as_if_opened_anew(
        self, tmp_path_factory: pytest.TempPathFactory, acts: list[tuple[int, int]]
    ) -> None:
        folder = tmp_path_factory.mktemp("ledger")
        ledger, other = open_ledger(folder), open_ledger(folder)
        (folder / "decisions").mkdir()
        for act, number in acts:
            known = sorted((folder / "decisions").iterdir())
            some = known[number % len(known)] if known else None
            if act == 0:
                ledger.decide(Verb.INTEND, MANY[: number + 1], "lead", "meant")
            elif act == 1:
                other.refresh()
                other.decide(Verb.RETURN, MANY[number : number + 2], "lighter")
            elif act == 2 and some is not None:
                some.unlink()
            elif act == 3 and some is not None:
                shutil.copy(some, some.with_name(f"0 copy of {some.name}"))
            elif act == 4 and some is not None:
                some.write_text(some.read_text("utf-8").replace("lead", f"lead {number}"), "utf-8")
            elif act == 5:
                (folder / "decisions" / f"{number}.yaml").write_text("half a dec", encoding="utf-8")
            else:
                ledger.refresh()
        ledger.refresh()
        anew = open_ledger(folder)
        assert ledger.all() == anew.all()
        assert ledger.faults == anew.faults
        assert dict(ledger.by_cell()) == dict(anew.by_cell())
        assert not ledger.refresh()


class TestWriting:
    def test_the_files_of_one_act_are_as_if_each_were_written_alone(self, tmp_path: Path) -> None:
        """Though what they have in common is put into words once: 1, 1.0, True and -0.0 are not in common."""
        values: list[Any] = [
            1,
            1.0,
            True,
            False,
            0.0,
            -0.0,
            "1",
            "true",
            None,
            (0.0, 1.0, 2.0),
            (-0.0, 1.0, 2.0),
        ]
        values += [Level(1.0), Colour(0.2, 0.5), frozenset({"a", "b"}), FileRef("a.exr"), "a\nb", "é 😀", ""]
        values += [Curve(((1.0, 0.5), (2.0, 1.0)), "linear")]
        subjects = [Subject("A", "p", value, master) for value in values for master in values[::-1]]
        ledger = open_ledger(tmp_path)
        made = ledger.decide(Verb.INTEND, subjects, "lead: é", "meant\n# so", until=3)
        made += ledger.take_back(made, "010")
        for decision in made:
            path = tmp_path / "decisions" / f"{decision.id}.yaml"
            assert path.read_bytes() == written(decision).encode()
        assert open_ledger(tmp_path).all() == ledger.all()

    def test_one_act_syncs_the_folder_once(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        (tmp_path / "decisions").mkdir()
        ledger = open_ledger(tmp_path)
        history, synced, real = History(ledger), [], os.fsync

        def noting(handle: int) -> None:
            if stat.S_ISDIR(os.fstat(handle).st_mode):
                synced.append(len(files(tmp_path)))
            real(handle)

        monkeypatch.setattr(os, "fsync", noting)
        history.did(ledger.decide(Verb.INTEND, MANY, "lead", "meant"))
        assert len(synced) == 1
        history.undo("lead")
        assert len(synced) == 2

    def test_what_cannot_be_removed_again_is_read_later(
        self, tmp_path: Path, disk_full: Callable[[int], None], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [OTHER], "lead")
        disk_full(3)

        def refuse(self: Path, missing_ok: bool = False) -> None:
            raise OSError(errno.EIO, "Input/output error")

        monkeypatch.setattr(Path, "unlink", refuse)
        with pytest.raises(WriteError, match=r"No space left|Input/output error"):
            ledger.decide(Verb.INTEND, MANY, "lead", "meant")
        assert len(ledger.all()) == 1
        named = [name for name in files(tmp_path) if not name.startswith(".")]
        assert ledger.refresh() is (len(named) > 1)
        assert len(ledger.all()) == 1  # a part of an act stands for nothing
        assert len(ledger.faults) == (len(named) > 1)

    @pytest.fixture(params=["fsync", "open", "link"])
    def disk_full(
        self, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
    ) -> Callable[[int], None]:
        """Makes the disk full after so many more files."""
        what = request.param

        def fill(after: int) -> None:
            left = after

            def limited(real: Callable[..., Any]) -> Callable[..., Any]:
                def call(*args: Any, **more: Any) -> Any:
                    nonlocal left
                    creates = what != "open" or "x" in str(args[1:]) + str(more)
                    if creates and left <= 0:
                        raise OSError(errno.ENOSPC, "No space left on device")
                    if creates:
                        left -= 1
                    return real(*args, **more)

                return call

            if what == "open":
                monkeypatch.setattr(Path, "open", limited(Path.open))
            else:
                monkeypatch.setattr(os, what, limited(getattr(os, what)))
                if what == "link":  # and the way round it, for shares without hard links
                    monkeypatch.setattr(Path, "rename", limited(Path.rename))

        return fill

    def test_a_full_disk_leaves_nothing_half_made(
        self, tmp_path: Path, disk_full: Callable[[int], None], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.RETURN, [CELL], "lead")
        before = files(tmp_path)
        disk_full(0)
        with pytest.raises(WriteError, match="No space left"):
            ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        assert files(tmp_path) == before
        assert state(ledger) is State.SENT_BACK
        monkeypatch.undo()
        ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        assert state(ledger) is State.INTENDED

    @pytest.mark.parametrize("count", [7, 60])
    def test_a_batch_stands_whole_or_not_at_all(
        self, tmp_path: Path, disk_full: Callable[[int], None], count: int
    ) -> None:
        ledger = open_ledger(tmp_path)
        (kept,) = ledger.decide(Verb.RETURN, [OTHER], "lead")
        subjects = [Subject("A", f"lights.l{index}.level", VALUE, MASTER) for index in range(count)]
        disk_full(5)
        with pytest.raises(WriteError, match="No space left"):
            ledger.decide(Verb.INTEND, subjects, "lead", "meant")
        assert files(tmp_path) == [f"{kept.id}.yaml"]
        assert ledger.all() == [kept]
        assert not ledger.refresh()
        assert all(state(ledger, subject) is State.UNDECIDED for subject in subjects)

    def test_undo_on_a_full_disk_can_be_tried_again(
        self, tmp_path: Path, disk_full: Callable[[int], None], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        ledger = open_ledger(tmp_path)
        history = History(ledger)
        history.did(ledger.decide(Verb.INTEND, [CELL, OTHER], "lead", "meant"))
        disk_full(1)
        with pytest.raises(WriteError):
            history.undo("lead")
        assert [state(ledger, CELL), state(ledger, OTHER)] == [State.INTENDED] * 2
        monkeypatch.undo()
        assert len(history.undo("lead")) == 2
        assert [state(ledger, CELL), state(ledger, OTHER)] == [State.UNDECIDED] * 2

    def test_decisions_is_a_file(self, tmp_path: Path) -> None:
        (tmp_path / "decisions").write_text("not a folder", encoding="utf-8")
        ledger = open_ledger(tmp_path)
        assert "expected a readable folder" in str(ledger.faults[0])
        with pytest.raises(WriteError, match="could not be written"):
            ledger.decide(Verb.RETURN, [CELL], "lead")
        assert (tmp_path / "decisions").read_text(encoding="utf-8") == "not a folder"

    def test_a_folder_that_may_only_be_read(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        (tmp_path / "decisions").chmod(0o500)
        if os.access(tmp_path / "decisions", os.W_OK):
            pytest.skip("the superuser may write everywhere")
        try:
            with pytest.raises(WriteError, match="Permission denied"):
                ledger.decide(Verb.RETURN, [CELL], "lead")
            assert state(ledger) is State.INTENDED
            assert len(files(tmp_path)) == 1
        finally:
            (tmp_path / "decisions").chmod(0o700)

    def test_a_read_only_file_system(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        ledger = open_ledger(tmp_path)

        def refuse(self: Path, *args: Any, **more: Any) -> None:
            raise OSError(errno.EROFS, "Read-only file system", str(self))

        monkeypatch.setattr(Path, "mkdir", refuse)
        with pytest.raises(WriteError, match="Read-only file system"):
            ledger.decide(Verb.RETURN, [CELL], "lead")
        assert ledger.all() == []

    def test_several_processes_at_once_lose_nothing(self, tmp_path: Path) -> None:
        context = multiprocessing.get_context("spawn")
        people = [f"lighter {number}" for number in range(4)]
        processes = [context.Process(target=write_many, args=(tmp_path, who, 50)) for who in people]
        for process in processes:
            process.start()
        for process in processes:
            process.join()
        assert [process.exitcode for process in processes] == [0] * 4
        ledger = open_ledger(tmp_path)
        assert ledger.faults == ()
        assert len(ledger.all()) == 200
        for who in people:
            reasons = {decision.reason for decision in ledger.all() if decision.who == who}
            assert reasons == {f"reason {index}" for index in range(50)}
        assert len(ledger.of_cell("A", "shared")) == 100
        assert ledger.judgement("A", "shared", Level(1.0), Level(2.0)).state is State.INTENDED
        assert not [name for name in files(tmp_path) if name.startswith(".")]


class TestUndo:
    def test_undo_and_redo(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        history = History(ledger)
        history.did(ledger.decide(Verb.RETURN, [CELL], "lead"))
        history.did(ledger.decide(Verb.INTEND, [CELL, OTHER], "lead", "meant"))
        states = []
        for step in (history.undo, history.undo, history.redo, history.redo, history.undo, history.redo):
            assert step("lead")
            states.append((str(state(ledger, CELL)), str(state(ledger, OTHER))))
            assert [str(state(open_ledger(tmp_path), CELL)), str(state(ledger, OTHER))] == list(states[-1])
        assert states == [
            ("sent back", "undecided"),
            ("undecided", "undecided"),
            ("sent back", "undecided"),
            ("intended", "intended"),
            ("sent back", "undecided"),
            ("intended", "intended"),
        ]

    def test_nothing_is_erased(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        history = History(ledger)
        history.did(ledger.decide(Verb.RETURN, [CELL], "lead"))
        for count in range(2, 8):
            (history.undo if count % 2 == 0 else history.redo)("lead")
            assert len(files(tmp_path)) == count

    def test_a_withdrawal_is_undone_too(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        history = History(ledger)
        ledger.decide(Verb.INTEND, [CELL], "lead", "meant")
        history.did(ledger.decide(Verb.WITHDRAW, [CELL], "lead"))
        assert state(ledger) is State.UNDECIDED
        history.undo("lead")
        assert state(ledger) is State.INTENDED

    def test_what_was_done_since_cannot_be_redone_over(self, tmp_path: Path) -> None:
        ledger = open_ledger(tmp_path)
        history = History(ledger)
        history.did(ledger.decide(Verb.INTEND, [CELL], "lead", "meant"))
        history.undo("lead")
        history.did(ledger.decide(Verb.RETURN, [CELL], "lead"))
        assert history.redo("lead") == []
        assert state(ledger) is State.SENT_BACK

    def test_nothing_to_undo(self, tmp_path: Path) -> None:
        history = History(open_ledger(tmp_path))
        history.did([])
        assert (history.undo("lead"), history.redo("lead")) == ([], [])
        assert not (tmp_path / "decisions").exists()

    def test_anothers_word_stays_when_mine_is_undone(self, tmp_path: Path) -> None:
        mine, theirs = open_ledger(tmp_path), open_ledger(tmp_path)
        history = History(mine)
        history.did(mine.decide(Verb.INTEND, [CELL], "lead", "meant"))
        theirs.refresh()
        theirs.decide(Verb.RETURN, [CELL], "lighter")
        mine.refresh()
        history.undo("lead")
        assert state(mine) is State.SENT_BACK
