"""A sequence opened, decided on, and read anew when its files change."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from conftest import MakeSequence
from known import about
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import DecisionError, open_ledger
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.sequence.contents import SheetStore
from samelight.sequence.evidence import evidence_of
from samelight.sequence.references import MASTER as MASTER_REFERENCE
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import CancelledError, Session, account_name, open_session
from samelight.sheets.errors import SheetError
from samelight.sheets.sheet import read_sheet
from samelight.sheets.writing import write_sheet

SUN: dict[str, Any] = {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 3.2}
RIM: dict[str, Any] = {
    "type": "disk",
    "position": [0, 2, 0],
    "target": [0, 0, 0],
    "intensity": 1.0,
    "normalize": True,
}
MASTER: dict[str, Any] = {"lights": {"sun": SUN, "rim": RIM}}
DIMMED: dict[str, Any] = {"lights": {"sun": SUN, "rim": {**RIM, "intensity": 0.5}}}


def cell(session: Session, shot: str, parameter: str) -> tuple[int, int]:
    row, column = session.table.row(parameter), session.table.column(shot)
    assert row is not None and column is not None
    return row, column


def says(session: Session) -> str:
    return "\n".join(trouble.says for trouble in session.troubles)


def grade(session: Session, shot: str, parameter: str) -> Grade:
    return Grade(session.table.grade[cell(session, shot, parameter)])


class TestOpening:
    def test_harbour(self, harbour: Path) -> None:
        session = open_session(harbour)
        assert session.contents.folder == harbour
        assert session.contents.sequence.title == "Harbour"
        assert len(session.contents.shots) == 24
        assert sorted(session.contents.masters) == [1, 2, 3]
        assert session.contents.master_version == 3
        assert session.contents.master is session.contents.masters[3]
        assert session.troubles == []
        assert session.unreadable() == {}
        assert {shot: sheet.version for shot, sheet in session.contents.sheets.items()}["HB_040"] == 3

    def test_one_bad_sheet_stops_no_other(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=MASTER, shots={"A": MASTER, "B": DIMMED, "C": DIMMED})
        (folder / "shots/B/B.v001.yaml").write_text("samelight: 2\nlighst: {}\nframes: 3\n", encoding="utf-8")
        session = open_session(folder)
        assert sorted(session.contents.sheets) == ["A", "C"]
        assert list(session.unreadable()) == ["B"]
        trouble = session.unreadable()["B"]
        assert "B.v001.yaml:2:1: lighst: expected a key of a sheet" in trouble.says
        assert "(and 1 more)" in trouble.says
        assert [fault.line for fault in trouble.faults] == [2, 3]
        assert grade(session, "C", "lights.rim.level") is Grade.DRIFT
        assert grade(session, "B", "lights.rim.level") is Grade.NONE

    def test_a_shot_without_a_sheet(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=MASTER, shots={"A": MASTER}, sequence={"cut": ["A", "B"]})
        session = open_session(folder)
        assert session.contents.shots == ("A", "B")
        assert session.unreadable()["B"].says == "B has no published sheet."

    def test_the_newest_sheet_counts_unless_one_is_pinned(self, make_sequence: MakeSequence) -> None:
        shots = {"A": [MASTER, DIMMED], "B": [MASTER, DIMMED], "C": [MASTER]}
        folder = make_sequence(master=MASTER, shots=shots, sequence={"pinned": {"B": 1, "C": 7}})
        session = open_session(folder)
        assert {shot: sheet.version for shot, sheet in session.contents.sheets.items()} == {"A": 2, "B": 1}
        assert grade(session, "A", "lights.rim.level") is Grade.DRIFT
        assert grade(session, "B", "lights.rim.level") is Grade.SAME
        assert session.unreadable()["C"].says == "C is pinned to version 7, which is not there."

    def test_names_in_sequence_yaml_that_are_no_shot(self, make_sequence: MakeSequence) -> None:
        stated = {"pinned": {"AB_01": 1}, "key_shot": "AB_20"}
        session = open_session(make_sequence(master=MASTER, shots={"AB_010": MASTER}, sequence=stated))
        assert "sequence.yaml pins AB_01, which is not in the cut (did you mean AB_010?)." in says(session)
        assert "sequence.yaml calls the key shot AB_20, which is not in the cut" in says(session)

    def test_a_pinned_master(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=[MASTER, DIMMED], shots={"A": MASTER}, sequence={"master": 1})
        session = open_session(folder)
        assert session.contents.master_version == 1
        assert grade(session, "A", "lights.rim.level") is Grade.SAME
        (folder / "sequence.yaml").write_text("cut: [A]\nmaster: latest\n", encoding="utf-8")
        assert open_session(folder).contents.master_version == 2

    def test_a_master_that_cannot_be_read_is_said_loudly(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=[MASTER, MASTER], shots={"A": DIMMED})
        (folder / "master/master.v002.yaml").write_text("samelight: 2\nlights: 3\n", encoding="utf-8")
        session = open_session(folder)
        assert (session.contents.master, session.contents.master_version, session.table.rows) == (
            None,
            None,
            (),
        )
        assert "Master version 2 is unreadable" in says(session)
        assert "Nothing is compared: master version 2 cannot be read." in says(session)
        assert session.cases.findings == []
        assert session.cases.unsettled_cells() == []

    def test_an_older_master_that_cannot_be_read_stops_nothing(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=[MASTER, MASTER], shots={"A": DIMMED})
        (folder / "master/master.v001.yaml").write_text("lights: 3\n", encoding="utf-8")
        session = open_session(folder)
        assert session.contents.master_version == 2
        assert "Master version 1 is unreadable" in says(session)
        assert grade(session, "A", "lights.rim.level") is Grade.DRIFT

    def test_no_master_and_a_master_that_is_not_there(self, make_sequence: MakeSequence) -> None:
        session = open_session(make_sequence("none", shots={"A": MASTER}))
        assert "No master setup is published yet" in says(session)
        assert session.table.rows == ()
        folder = make_sequence("gone", master=MASTER, shots={"A": MASTER}, sequence={"master": 4})
        assert "Nothing is compared: master version 4 is asked for and not there." in says(
            open_session(folder)
        )

    def test_shots_that_are_not_in_the_cut(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=MASTER, shots={"B": MASTER, "A": MASTER}, sequence={"cut": ["B"]})
        session = open_session(folder)
        assert session.contents.shots == ("B",)
        assert says(session) == "Not in the cut, and so not shown: A."
        (folder / "sequence.yaml").write_text("title: No cut\n", encoding="utf-8")
        assert open_session(folder).contents.shots == ("A", "B")

    def test_remarks_of_a_sheet_are_troubles_of_its_shot(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=MASTER, shots={"A": {**MASTER, "remarks": ["Two suns found."]}})
        (trouble,) = open_session(folder).troubles
        assert (trouble.says, trouble.shot) == ("A: Two suns found.", "A")
        assert open_session(folder).unreadable() == {}

    def test_a_policy_that_names_what_is_not_there(self, make_sequence: MakeSequence) -> None:
        policy = {
            "tolerances": {"lights.rmi.level": "0.2 st", "lights.rim.level": "0.3 st", "level": "0.1 st"},
            "locks": ["lights.<distant>.level", "lights.<spot>.level"],
            "defaults": {"render.voluem.samples": 8, "lights.rim.level": 1},
        }
        session = open_session(make_sequence(master=MASTER, shots={"A": MASTER}, policy=policy))
        names, locks = (trouble.says for trouble in session.troubles)
        assert names == (
            "The policy names parameters that no sheet has: lights.rmi.level (did you mean lights.rim.level?), "
            "render.voluem.samples."
        )
        assert locks.startswith(
            "The policy locks parameters that no sheet has, so that the lock holds nothing: "
        )
        assert "lights.<spot>.level" in locks and "<distant>" not in locks
        assert session.whole and not session.locked

    @pytest.mark.parametrize(
        ("name", "text", "message"),
        [
            ("sequence.yaml", "ttle: Quay\n", r"sequence\.yaml:1:1: ttle: expected a key of a sequence"),
            ("policy.yaml", "locks: 3\n", r"policy\.yaml:1:1: locks: expected a list of patterns"),
        ],
    )
    def test_a_sequence_or_policy_at_fault_is_not_opened(
        self, make_sequence: MakeSequence, name: str, text: str, message: str
    ) -> None:
        folder = make_sequence(master=MASTER, shots={"A": MASTER})
        (folder / name).write_text(text, encoding="utf-8")
        with pytest.raises(SheetError, match=message):
            open_session(folder)

    def test_progress_and_cancel(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=[MASTER, MASTER], shots={"A": MASTER, "B": MASTER})
        steps: list[tuple[int, int, str]] = []
        open_session(folder, progress=lambda done, total, name: steps.append((done, total, name)))
        assert steps == [
            (0, 4, "master.v001.yaml"),
            (1, 4, "master.v002.yaml"),
            (2, 4, "A"),
            (3, 4, "B"),
            (4, 4, ""),
        ]
        seen: list[str] = []
        with pytest.raises(CancelledError):
            open_session(
                folder, progress=lambda done, total, name: seen.append(name), cancelled=lambda: len(seen) == 3
            )
        assert seen == ["master.v001.yaml", "master.v002.yaml", "A"]


class TestDeciding:
    def test_decide_undo_redo(self, make_sequence: MakeSequence) -> None:
        session = open_session(make_sequence(master=MASTER, shots={"A": DIMMED, "B": DIMMED}))
        cells = [cell(session, shot, "lights.rim.level") for shot in "AB"]
        assert set(cells) <= set(session.cases.unsettled_cells())
        before = session.cases.unsettled_cells()
        made = session.decide(Verb.INTEND, cells, "lead", "as it should be")
        assert [decision.shot for decision in made] == ["A", "B"]
        assert [session.cases.state(*found) for found in cells] == [State.INTENDED] * 2
        assert session.cases.judged().states == dict.fromkeys(cells, State.INTENDED)
        assert set(session.cases.unsettled_cells()) == set(before) - set(cells)
        assert cells[0] not in session.cases.unsettled_cells()
        assert session.cases.judgement(*cells[0]).decisions == (made[0],)
        assert evidence_of(session.cases).judgements[cells[1]].state is State.INTENDED
        session.history.undo("lead")
        assert session.cases.unsettled_cells() == before
        assert cells[0] in session.cases.unsettled_cells()
        session.history.redo("lead")
        assert session.cases.state(*cells[1]) is State.INTENDED
        assert open_session(session.contents.folder).cases.judged().states == session.cases.judged().states

    def test_a_decision_that_is_refused_changes_nothing(self, make_sequence: MakeSequence) -> None:
        session = open_session(make_sequence(master=MASTER, shots={"A": DIMMED}))
        with pytest.raises(DecisionError):
            session.decide(Verb.INTEND, [cell(session, "A", "lights.rim.level")], "lead")
        assert session.history.done == []
        assert not (session.contents.folder / "decisions").exists()

    def test_a_new_sheet_lapses_what_was_decided_on_the_old(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=MASTER, shots={"A": DIMMED})
        session = open_session(folder)
        session.decide(Verb.INTEND, [cell(session, "A", "lights.rim.level")], "lead", "meant")
        darker = {"lights": {"sun": SUN, "rim": {**RIM, "intensity": 0.25}}}
        write_sheet(folder / "shots/A/A.v002.yaml", {"samelight": 2, "shot": "A", **darker})
        again = open_session(folder)
        assert again.cases.state(*cell(again, "A", "lights.rim.level")) is State.ASKS_AGAIN
        assert cell(again, "A", "lights.rim.level") in again.cases.unsettled_cells()

    def test_cells_with_nothing_in_them_are_passed_over(self, make_sequence: MakeSequence) -> None:
        session = open_session(
            make_sequence(master=MASTER, shots={"A": DIMMED}, sequence={"cut": ["A", "B"]})
        )
        empty = cell(session, "B", "lights.rim.level")
        assert session.cases.subjects([empty]) == []
        assert session.cases.state(*empty) is State.UNDECIDED

    def test_a_decision_on_what_is_no_longer_there(self, make_sequence: MakeSequence) -> None:
        folder = make_sequence(master=MASTER, shots={"A": {"lights": {**MASTER["lights"], "kick": RIM}}})
        session = open_session(folder)
        session.decide(Verb.INTEND, [cell(session, "A", "lights.kick")], "lead", "for the glint")
        write_sheet(folder / "shots/A/A.v002.yaml", {"samelight": 2, "shot": "A", **MASTER})
        assert open_session(folder).cases.judged().states == {}


class TestWhatWasDecidedOnce:
    """What views ask again and again is worked out once for a table and a ledger, and is as if asked cell by cell."""

    @pytest.fixture
    def session(self, undecided_harbour: Path) -> Session:
        session = open_session(undecided_harbour)
        cells = session.cases.unsettled_cells()
        session.decide(Verb.INTEND, cells[::3], "lead", "meant")
        session.decide(Verb.RETURN, cells[1::3], "lead")
        session.decide(Verb.INTEND, cells[2::6], "lead", "for now", until=3)
        session.decide(Verb.WITHDRAW, cells[::9], "lead")
        session.note("HB_010", "a note", "lead")
        return session

    def test_it_is_the_same_until_something_changes(self, session: Session) -> None:
        before = session.cases.judged().states
        assert session.cases.judged().states is before
        assert evidence_of(session.cases).judgements is evidence_of(session.cases).judgements
        session.decide(Verb.RETURN, session.cases.unsettled_cells()[:1], "lead")
        after = session.cases.judged().states
        assert after is not before
        session.history.undo("lead")
        assert dict(session.cases.judged().states) == dict(before)
        other = open_ledger(session.contents.folder)
        other.decide(Verb.RETURN, session.cases.subjects([(0, 0)]), "lighter")
        session.ledger.refresh()
        assert session.cases.state(0, 0) is State.SENT_BACK

    def test_every_case_is_as_the_ledger_says_of_it_alone(self, session: Session) -> None:
        table, opened = session.table, []
        for row, column in np.ndindex(table.grade.shape):
            if session.cases.following().parameters(row, column):
                assert session.cases.judgement(row, column).decisions == ()
                continue
            entry = table.entry(row, column)
            value, master = table.bound(row, column)
            alone = session.ledger.judgement(
                table.shots[column], table.rows[row].parameter, value, master, session.contents.master_version
            )
            assert session.cases.judgement(row, column) == alone
            assert session.cases.judged().states.get((row, column), State.UNDECIDED) is alone.state
            assert ((row, column) in session.cases.judged().states) is (
                row in session.cases.judged().rows.get(column, ())
            )
            if entry is not None and entry.grade >= Grade.DRIFT and alone.state is not State.INTENDED:
                opened.append((row, column))
        assert session.cases.unsettled_cells() == opened
        assert np.argwhere(session.cases.unsettled_mask()).tolist() == [list(cell) for cell in opened]
        for column in range(len(table.shots)):
            assert session.cases.unsettled_rows(column) == [row for row, of in opened if of == column]

    def test_nothing_is_decided_against_another_base(self, session: Session) -> None:
        decided = dict(session.cases.judged().states)
        session.hold_against(Reference(Against.BEFORE))
        assert not session.cases.judged().states
        assert not evidence_of(session.cases).judgements
        assert not any(
            session.cases.judged().rows.get(column, ()) for column in range(len(session.table.shots))
        )
        drifting = np.argwhere(session.table.grade >= Grade.DRIFT).tolist()
        assert session.cases.unsettled_cells() == [
            tuple(cell) for cell in drifting if not session.cases.following().parameters(*cell)
        ]
        assert all(session.cases.state(*cell) is State.UNDECIDED for cell in decided)
        session.hold_against(MASTER_REFERENCE)
        assert dict(session.cases.judged().states) == decided


class TestReloading:
    @pytest.fixture
    def folder(self, make_sequence: MakeSequence) -> Path:
        return make_sequence(
            master=MASTER, shots={"A": DIMMED, "B": MASTER}, policy={"locks": ["lights.rim.level"]}
        )

    @pytest.fixture
    def reads(self, monkeypatch: pytest.MonkeyPatch) -> list[str]:
        """The names of the sheets that are read from disk."""
        names: list[str] = []

        def noting(path: Path, **more: Any) -> Any:
            names.append(path.name)
            return read_sheet(path, **more)

        monkeypatch.setattr("samelight.sequence.stored.read_sheet", noting)
        return names

    def test_nothing_changed(self, folder: Path, reads: list[str]) -> None:
        session = open_session(folder)
        table, findings = session.table, session.cases.findings
        reads.clear()
        assert not session.reload()
        assert reads == []
        assert session.table is table
        assert session.cases.findings is findings

    def test_a_sheet_written_anew(self, folder: Path, reads: list[str]) -> None:
        session = open_session(folder)
        session.decide(Verb.RETURN, [cell(session, "A", "lights.rim.level")], "lead")
        reads.clear()
        write_sheet(folder / "shots/A/A.v001.yaml", {"samelight": 2, "shot": "A", **MASTER})
        assert session.reload()
        assert reads == ["A.v001.yaml"]
        assert grade(session, "A", "lights.rim.level") is Grade.SAME
        assert session.cases.state(*cell(session, "A", "lights.rim.level")) is State.MENDED
        assert len(session.history.done) == 1
        session.history.undo("lead")
        assert session.cases.state(*cell(session, "A", "lights.rim.level")) is State.UNDECIDED

    def test_a_sheet_of_the_same_length_at_the_same_time(self, folder: Path) -> None:
        """A program that keeps time stamps: the file is another one all the same."""
        session = open_session(folder)
        path = folder / "shots/A/A.v001.yaml"
        stat = path.stat()
        write_sheet(
            path,
            {
                "samelight": 2,
                "shot": "A",
                "version": 1,
                "lights": {"sun": SUN, "rim": {**RIM, "intensity": 0.7}},
            },
        )
        os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))
        assert path.stat().st_size == stat.st_size
        assert session.reload()

    def test_a_sheet_that_was_only_touched(self, folder: Path, reads: list[str]) -> None:
        session = open_session(folder)
        table = session.table
        reads.clear()
        os.utime(folder / "shots/A/A.v001.yaml", ns=(1, 1))
        assert not session.reload()
        assert reads == ["A.v001.yaml"]
        assert session.table is table

    def test_a_new_version_of_a_sheet(self, folder: Path, reads: list[str]) -> None:
        session = open_session(folder)
        reads.clear()
        write_sheet(folder / "shots/A/A.v002.yaml", {"samelight": 2, "shot": "A", **MASTER})
        assert session.reload()
        assert reads == ["A.v002.yaml"]
        assert session.contents.sheets["A"].version == 2

    def test_a_new_master(self, folder: Path, reads: list[str]) -> None:
        session = open_session(folder)
        reads.clear()
        write_sheet(folder / "master/master.v002.yaml", {"samelight": 2, **DIMMED})
        assert session.reload()
        assert reads == ["master.v002.yaml"]
        assert session.contents.master_version == 2
        assert grade(session, "A", "lights.rim.level") is Grade.SAME
        assert grade(session, "B", "lights.rim.level") is Grade.BREAK

    def test_a_policy_changed(self, folder: Path) -> None:
        session = open_session(folder)
        assert grade(session, "A", "lights.rim.level") is Grade.BREAK
        (folder / "policy.yaml").write_text("tolerances: {lights.rim.level: 2 st}\n", encoding="utf-8")
        assert session.reload()
        assert grade(session, "A", "lights.rim.level") is Grade.WITHIN
        (folder / "policy.yaml").unlink()
        assert session.reload()
        assert grade(session, "A", "lights.rim.level") is Grade.DRIFT

    def test_the_cut_changed(self, folder: Path, reads: list[str]) -> None:
        session = open_session(folder)
        reads.clear()
        (folder / "sequence.yaml").write_text("title: Quay\ncut: [B, A]\n", encoding="utf-8")
        assert session.reload()
        assert session.contents.shots == session.table.shots == ("B", "A")
        assert session.contents.sequence.title == "Quay"
        assert reads == []

    def test_conventions_changed(self, folder: Path) -> None:
        """Nothing of the sheets changed, and everything they mean did."""
        session = open_session(folder)
        before = session.contents.sheets["A"].value("lights", "rim", "position")
        (folder / "sequence.yaml").write_text("cut: [A, B]\nunits: {length: cm}\n", encoding="utf-8")
        assert session.reload()
        assert before == (0.0, 2.0, 0.0)
        assert session.contents.sheets["A"].value("lights", "rim", "position") == (0.0, about(0.02), 0.0)

    def test_a_sheet_that_goes_bad_and_good_again(self, folder: Path) -> None:
        session = open_session(folder)
        path = folder / "shots/A/A.v001.yaml"
        good = path.read_text(encoding="utf-8")
        path.write_text("samelight: 2\nlights: [", encoding="utf-8")
        assert session.reload()
        assert list(session.unreadable()) == ["A"]
        assert not session.reload()
        path.write_text(good, encoding="utf-8")
        assert session.reload()
        assert session.unreadable() == {}
        assert session.troubles == []

    def test_a_shot_that_comes_and_goes(self, folder: Path) -> None:
        (folder / "sequence.yaml").write_text("title: Quay\n", encoding="utf-8")
        session = open_session(folder)
        write_sheet(folder / "shots/C/C.v001.yaml", {"samelight": 2, "shot": "C", **MASTER})
        assert session.reload()
        assert list(session.contents.shots) == ["A", "B", "C"]
        shutil.rmtree(folder / "shots/C")
        assert session.reload()
        assert list(session.contents.shots) == ["A", "B"]

    @pytest.mark.parametrize("name", ["sequence.yaml", "policy.yaml"])
    def test_a_file_saved_half_way_leaves_the_session_as_it_was(self, folder: Path, name: str) -> None:
        session = open_session(folder)
        table = session.table
        good = (folder / name).read_text(encoding="utf-8")
        (folder / name).write_text("locks: [", encoding="utf-8")
        for _ in range(2):
            with pytest.raises(SheetError):
                session.reload()
        assert session.table is table
        assert session.contents.shots == ("A", "B")
        (folder / name).write_text(good, encoding="utf-8")
        assert not session.reload()

    def test_decisions_of_others(self, folder: Path) -> None:
        session, other = open_session(folder), open_session(folder)
        spot = cell(session, "A", "lights.rim.level")
        other.decide(Verb.INTEND, [spot], "lead", "meant")
        table = session.table
        assert session.cases.state(*spot) is State.UNDECIDED
        assert session.reload()
        assert session.cases.state(*spot) is State.INTENDED
        assert session.table is table
        for path in (folder / "decisions").iterdir():
            path.unlink()
        assert session.reload()
        assert session.cases.state(*spot) is State.UNDECIDED
        assert not session.reload()

    def test_findings_are_drawn_anew(self, harbour: Path) -> None:
        session = open_session(harbour)
        before = [finding.says for finding in session.cases.findings]
        shutil.copy(harbour / "shots/HB_120/HB_120.v001.yaml", harbour / "shots/HB_120/HB_120.v003.yaml")
        assert session.reload()
        after = [finding.says for finding in session.cases.findings]
        assert any("GI range" in said for said in before)
        assert not any("GI range" in said for said in after)

    def test_cancelled(self, folder: Path) -> None:
        session = open_session(folder)
        write_sheet(folder / "shots/A/A.v002.yaml", {"samelight": 2, "shot": "A", **MASTER})
        with pytest.raises(CancelledError):
            session.reload(cancelled=lambda: True)
        assert session.contents.sheets["A"].version == 1
        assert session.reload()

    def test_the_same_as_opening(self, harbour: Path) -> None:
        """Whatever changed, a session that is reloaded shows what a fresh one does."""
        session = open_session(harbour)
        changes: list[Callable[[], object]] = [
            lambda: shutil.rmtree(harbour / "shots/HB_010"),
            (harbour / "policy.yaml").unlink,
            (harbour / "master/master.v003.yaml").unlink,
            lambda: (harbour / "shots/HB_030/HB_030.v001.yaml").write_text("x", encoding="utf-8"),
        ]
        for change in changes:
            text = (
                (harbour / "sequence.yaml").read_text(encoding="utf-8").replace("policy: policy.yaml\n", "")
            )
            (harbour / "sequence.yaml").write_text(text, encoding="utf-8")
            change()
            assert session.reload()
            fresh = open_session(harbour)
            assert session.contents == fresh.contents
            assert session.troubles == fresh.troubles
            assert _said_of(session) == _said_of(fresh)
            for mine, theirs in (
                (session.table.drift, fresh.table.drift),
                (session.table.severity, fresh.table.severity),
            ):
                assert np.array_equal(np.asarray(mine), np.asarray(theirs), equal_nan=True)
            assert session.cases.findings == fresh.cases.findings


def test_a_file_is_read_once_until_it_changes(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("one", encoding="utf-8")
    store, count = SheetStore(tmp_path), 0

    def read() -> str:
        nonlocal count
        count += 1
        return path.read_text(encoding="utf-8")

    assert [store.get(path, "way", read).value for _ in range(3)] == ["one"] * 3
    assert count == 1
    assert store.get(path, "another way", read).value == "one"
    assert count == 2
    path.write_text("three", encoding="utf-8")
    assert store.get(path, "another way", read).value == "three"


def test_the_accounts_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("getpass.getuser", lambda: "lighter")
    assert account_name() == "lighter"

    def nobody() -> str:
        raise KeyError("uid not found")

    monkeypatch.setattr("getpass.getuser", nobody)
    assert account_name() == "unknown"


def test_a_ledger_with_faults_is_no_reason_to_stop(make_sequence: MakeSequence) -> None:
    folder = make_sequence(master=MASTER, shots={"A": DIMMED})
    (folder / "decisions").mkdir()
    (folder / "decisions/a.yaml").write_text("half a dec", encoding="utf-8")
    session = open_session(folder)
    assert len(session.ledger.faults) == 1
    assert open_ledger(folder).faults == session.ledger.faults
    assert not session.reload()


def _said_of(session: Session) -> list[list[object]]:
    """The table's entries apart from their figures, of which some are no number and so equal nothing."""
    return [
        [
            entry and (entry.master, entry.value, entry.grade, entry.remark)
            for entry in session.table.line(row)
        ]
        for row in range(len(session.table.rows))
    ]


def test_two_files_of_one_version_are_a_trouble(undecided_harbour: Path) -> None:
    for name in ("master/master.v003", "shots/HB_010/HB_010.v002"):
        shutil.copy(undecided_harbour / f"{name}.yaml", undecided_harbour / f"{name}.yml")
    says = [(trouble.shot, trouble.says) for trouble in open_session(undecided_harbour).troubles]
    same = "{0}.yaml and {0}.yml are the same version: {0}.yaml is read."
    assert (None, same.format("master.v003")) in says
    assert ("HB_010", same.format("HB_010.v002")) in says
    assert sum("are the same version" in text for _, text in says) == 2
