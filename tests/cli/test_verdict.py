"""`check` says yes when every case is intended, and no while one is not: cells and findings alike."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from conftest import MakeSequence
from decisions.rigs import a_sequence, all_cases, decided_at_random
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import GRADES, Grade
from samelight.sequence.session import Session, open_session
from samelight.sheets.vocabulary import COMPARED_SECTIONS

Check = Callable[..., tuple[int, str]]
Tree = dict[str, Any]
LEVELS = ("within", "drift", "break")
LAMP: Tree = {"type": "point", "position": [0, 1, 0], "intensity": 2}
ONE_FRAME = "findings.one-frame.background"


def sheet(*, moves: bool = False, level: float = 2.0, time: str = "600s") -> Tree:
    return {
        "frames": [1001, 1048],
        "camera": {"position": [0, 1.6, 4], "direction": [0, 0, -1], "moves": moves},
        "lights": {"key": {**LAMP, "intensity": level}},
        "passes": {"background": {"frames": "held"}, "crew": {"frames": "all"}},
        "cost": {"test_frame": time},
    }


@pytest.fixture
def check(capsys: pytest.CaptureFixture[str]) -> Check:
    def run(folder: Path, *words: str, command: str = "check") -> tuple[int, str]:
        status = main([command, str(folder), *words])
        return status, capsys.readouterr().out

    return run


@pytest.fixture
def moving(make_sequence: MakeSequence) -> Path:
    """A sequence that differs from its master in nothing, and in which the camera moves in one shot."""
    return make_sequence(master=sheet(), shots={"A": sheet(), "B": sheet(moves=True), "C": sheet()})


def publish(folder: Path, shot: str, tree: Tree, version: int = 2) -> None:
    path = folder / f"shots/{shot}/{shot}.v{version:03d}.json"
    path.write_text(json.dumps({"samelight": 2, "shot": shot, "version": version, **tree}))


def the_finding(text: str, name: str) -> Tree:
    return next(finding for finding in json.loads(text)["findings"] if finding["finding"] == name)


class TestAFindingIsACase:
    @pytest.mark.parametrize("level", LEVELS)
    def test_it_keeps_the_gate_shut_until_it_is_intended(
        self, check: Check, moving: Path, level: str
    ) -> None:
        assert check(moving, "--fail-on", level)[0] == 1
        decide = ("intend", "B", ONE_FRAME, "--reason", "a drift of a pixel", "--who", "lead")
        assert check(moving, *decide, command="decide") == (0, f"intend B {ONE_FRAME}\n")
        assert check(moving, "--fail-on", level)[0] == 0
        assert check(moving, "withdraw", "B", "findings.*", command="decide")[0] == 0
        assert check(moving, "--fail-on", level)[0] == 1

    def test_it_stays_listed_with_its_state(self, check: Check, moving: Path) -> None:
        told = the_finding(check(moving, "--format", "json")[1], "one-frame")
        assert (told["level"], told["state"]) == ("break", "undecided")
        assert [(case["shot"], case["parameter"], case["state"]) for case in told["cases"]] == [
            ("B", ONE_FRAME, "undecided")
        ]
        check(moving, "return", "B", ONE_FRAME, "--reason", "render all", command="decide")
        assert "0 undecided, 1 sent back, 0 intended" in check(moving)[1].splitlines()
        check(moving, "intend", "B", ONE_FRAME, "--reason", "meant", command="decide")
        status, out = check(moving, "--format", "json")
        data = json.loads(out)
        assert status == 0
        assert the_finding(out, "one-frame")["state"] == "intended"
        assert data["cases"] == {"undecided": 0, "sent_back": 0, "intended": 1}
        text = check(moving)[1]
        assert "but the camera moves. (break, intended)" in text
        assert "0 undecided, 0 sent back, 1 intended" in text.splitlines()

    def test_it_fails_the_testcase_of_its_shot(self, check: Check, moving: Path) -> None:
        def testcases() -> dict[str, ElementTree.Element]:
            suite = ElementTree.fromstring(check(moving, "--format", "junit")[1])
            return {str(case.get("name")): case for case in suite.iter("testcase")}

        failures = {name: case.find("failure") for name, case in testcases().items()}
        assert [name for name, failure in failures.items() if failure is not None] == ["B"]
        failure = failures["B"]
        assert failure is not None and "The background pass is one frame in B" in str(failure.get("message"))
        check(moving, "intend", "B", ONE_FRAME, "--reason", "meant", command="decide")
        told = testcases()["B"]
        assert told.find("failure") is None
        said = str(told.findtext("system-out")).splitlines()
        assert [line.startswith(f"intended: {ONE_FRAME}") for line in said] == [False, True]

    def test_it_counts_in_its_shot_alone(self, check: Check, moving: Path) -> None:
        assert check(moving, "--shots", "A,C")[0] == 0
        assert check(moving, "--shots", "B")[0] == 1

    def test_undo_and_redo(self, moving: Path) -> None:
        session = open_session(moving)
        session.decide(Verb.INTEND, [], "lead", "meant", cases=session.cases.unsettled_cases())
        assert session.cases.tally() == Tally(intended=1) and not session.cases.unsettled_cases()
        session.history.undo("lead")
        assert session.cases.tally() == Tally(undecided=1)
        session.history.redo("lead")
        assert session.cases.findings[0].state is State.INTENDED

    def test_a_sequence_may_set_its_level(self, check: Check, moving: Path) -> None:
        policy = moving / "policy.yaml"
        policy.write_text("samelight_policy: 2\nfindings: {one-frame: {level: within, why: a test}}\n")
        assert [check(moving, "--fail-on", level)[0] for level in LEVELS] == [1, 0, 0]
        policy.write_text("samelight_policy: 2\nfindings: {one-frame: same}\n")
        status, out = check(moving, "--fail-on", "within", "--format", "json")
        assert status == 0
        assert the_finding(out, "one-frame")["cases"] == []

    def test_an_unknown_finding_in_a_policy_is_a_fault(
        self, check: Check, moving: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        (moving / "policy.yaml").write_text(
            "samelight_policy: 2\nfindings: {one-fram: drift, cut-jump: {level: drft, whi: x}}\n"
        )
        assert main(["check", str(moving)]) == 2
        said = capsys.readouterr().err
        assert "one-frame" in said and "drift" in said and "why" in said

    def test_its_own_cell_is_its_case_where_that_drifts(
        self, check: Check, make_sequence: MakeSequence
    ) -> None:
        master = sheet()
        master["passes"]["background"]["frames"] = "all"
        folder = make_sequence(master=master, shots={"A": sheet(moves=True), "B": {**master}})
        told = the_finding(check(folder, "--format", "json")[1], "one-frame")
        assert (told["cells"], told["cases"]) == ([["A", "passes.background.frames"]], [])
        check(folder, "intend", "A", "passes.background.frames", "--reason", "meant", command="decide")
        status, out = check(folder, "--format", "json")
        assert (status, the_finding(out, "one-frame")["state"]) == (0, "intended")


class TestWhatADecisionIsBoundTo:
    @pytest.fixture
    def slow(self, make_sequence: MakeSequence) -> Path:
        """Six shots, one of which takes five times as long as the others."""
        shots = {f"S{number}": sheet(time=f"{600 + number}s") for number in range(6)}
        master = {name: part for name, part in sheet().items() if name != "cost"}
        return make_sequence(master=master, shots={**shots, "S9": sheet(time="3000s")})

    def state(self, folder: Path) -> State:
        return next(f for f in open_session(folder).cases.findings if f.finding == "render-time").state

    def test_it_lapses_with_the_shots_value_and_with_no_other(self, check: Check, slow: Path) -> None:
        assert check(slow)[0] == 1
        check(slow, "intend", "S9", "findings.render-time", "--reason", "a storm", command="decide")
        assert check(slow)[0] == 0
        publish(slow, "S0", sheet(time="700s"))
        publish(slow, "S9", sheet(time="3000s", level=2.02))
        assert self.state(slow) is State.INTENDED
        publish(slow, "S9", sheet(time="3100s"), 3)
        assert self.state(slow) is State.ASKS_AGAIN
        assert check(slow)[0] == 1

    def test_it_waits_while_there_is_nothing_to_decide(self, check: Check, slow: Path) -> None:
        check(slow, "intend", "S9", "findings.render-time", "--reason", "a storm", command="decide")
        publish(slow, "S9", sheet())
        assert not open_session(slow).cases.findings
        publish(slow, "S9", sheet(time="3000s"), 3)
        assert self.state(slow) is State.INTENDED

    def test_a_jump_is_bound_to_both_sides_of_the_cut(
        self, check: Check, make_sequence: MakeSequence
    ) -> None:
        levels = {"A": 2.0, "B": 2 * 2**0.08, "C": 2 * 2**-0.08, "D": 2.0}
        folder = make_sequence(
            master=sheet(), shots={shot: sheet(level=level) for shot, level in levels.items()}
        )
        told = the_finding(check(folder, "--format", "json")[1], "cut-jump")
        assert [(case["shot"], case["parameter"]) for case in told["cases"]] == [
            ("C", "findings.cut-jump.lights.key.level")
        ]
        check(folder, "intend", "C", "findings.cut-jump.*", "--reason", "a cloud", command="decide")
        assert check(folder)[0] == 0
        publish(folder, "B", sheet(level=2 * 2**0.09))
        assert check(folder)[0] == 1
        assert the_finding(check(folder, "--format", "json")[1], "cut-jump")["state"] == "asks again"


class TestSavedChecks:
    def saved(self, check: Check, folder: Path) -> str:
        path = folder.parent / "saved.json"
        path.write_text(check(folder, "--format", "json")[1], encoding="utf-8")
        return str(path)

    def test_a_baseline_holds_the_findings_that_it_has(self, check: Check, moving: Path) -> None:
        saved = self.saved(check, moving)
        status, out = check(moving, "--baseline", saved, "--format", "json")
        assert status == 0
        assert the_finding(out, "one-frame")["cases"][0]["baseline"] is True
        assert "1 of them accepted by" in check(moving, "--baseline", saved)[1]
        assert "<failure" not in check(moving, "--baseline", saved, "--format", "junit")[1]
        publish(moving, "C", sheet(moves=True))
        assert check(moving, "--baseline", saved)[0] == 1

    def test_since_tells_what_is_new_or_was_decided(self, check: Check, moving: Path) -> None:
        saved = self.saved(check, moving)
        status, out = check(moving, "--since", saved, "--format", "json")
        assert (status, json.loads(out)["findings"]) == (0, [])
        publish(moving, "C", sheet(moves=True))
        status, out = check(moving, "--since", saved, "--format", "json")
        assert status == 1
        assert [case["shot"] for case in the_finding(out, "one-frame")["cases"]] == ["C"]

    def test_compare_tells_of_findings_too(self, check: Check, moving: Path, tmp_path: Path) -> None:
        saved = self.saved(check, moving)
        publish(moving, "B", sheet())
        later = tmp_path / "later.json"
        later.write_text(check(moving, "--format", "json")[1], encoding="utf-8")
        out = check(Path(saved), str(later), command="compare")[1]
        assert "1 mended, 0 new" in out and ONE_FRAME in out


def passes(session: Session, at_least: Grade) -> bool:
    return not session.cases.unsettled_mask(at_least).any() and not session.cases.unsettled_cases(
        at_least=at_least
    )


class TestOfAnySequence:
    @pytest.mark.parametrize("seed", range(6))
    def test_the_gate_is_open_when_every_case_is_intended(
        self, check: Check, seed: int, tmp_path: Path
    ) -> None:
        chance = random.Random(seed)
        folder = a_sequence(chance, tmp_path / "any")
        session = decided_at_random(chance, folder)
        for level in LEVELS:
            cells, cases = all_cases(session, GRADES[level])
            states = [session.cases.state(*cell) for cell in cells] + [case.state for case in cases]
            intended = all(state is State.INTENDED for state in states)
            assert check(folder, "--fail-on", level)[0] == (0 if intended else 1)
            assert session.cases.tally(at_least=GRADES[level]) == Tally.of(states)

    @pytest.mark.parametrize("seed", range(6))
    def test_any_one_that_is_withdrawn_shuts_it_again(self, seed: int, tmp_path: Path) -> None:
        chance = random.Random(seed)
        session = open_session(a_sequence(chance, tmp_path / "any"))
        while not passes(session, Grade.WITHIN):
            opened = session.cases.unsettled_cells(Grade.WITHIN)
            session.decide(
                Verb.INTEND,
                opened,
                "lead",
                "meant",
                cases=session.cases.unsettled_cases(at_least=Grade.WITHIN),
            )
            session.refresh_findings()
        everything = session.table.grade > Grade.SAME
        for row, column in zip(*(places.tolist() for places in everything.nonzero()), strict=True):
            assert session.cases.state(row, column) is State.INTENDED, "also what follows from others"
        cells, cases = all_cases(session, Grade.WITHIN)
        for cell in chance.sample(cells, min(len(cells), 5)):
            session.decide(Verb.WITHDRAW, [cell], "lead")
            assert session.cases.unsettled_cells(Grade.WITHIN) == [cell]
            session.history.undo("lead")
            assert passes(session, Grade.WITHIN)
        for case in cases:
            session.decide(Verb.WITHDRAW, [], "lead", cases=[case])
            assert [one.parameter for one in session.cases.unsettled_cases(at_least=Grade.WITHIN)] == [
                case.parameter
            ]
            session.history.undo("lead")
            assert passes(session, Grade.WITHIN)

    @pytest.mark.parametrize("seed", range(6))
    def test_what_follows_is_counted_nowhere(self, check: Check, seed: int, tmp_path: Path) -> None:
        folder = a_sequence(random.Random(seed), tmp_path / "any")
        data = json.loads(check(folder, "--format", "json")[1])
        cells = [cell for cell in data["cells"] if cell["level"] in ("drift", "break")]
        cases = [
            case for finding in data["findings"] for case in finding["cases"] if case["level"] != "within"
        ]
        own = [cell for cell in cells if "follows" not in cell]
        assert data["cases"]["undecided"] == len(own) + len(cases)
        names = {(cell["shot"], cell["parameter"]) for cell in data["cells"]}
        for cell in cells:
            section = cell["parameter"].partition(".")[0]
            assert "follows" not in cell or section not in COMPARED_SECTIONS
            assert all((cell["shot"], cause) in names for cause in cell.get("follows", []))


class TestADecisionHoldsForWhatItWasMadeOn:
    def test_an_extra_light_is_intended_as_it_is(self, check: Check, make_sequence: MakeSequence) -> None:
        kick: Tree = {"type": "point", "position": [0, 3, 1], "intensity": 0.1}
        extra = {**sheet(), "lights": {**sheet()["lights"], "kick": kick}}
        folder = make_sequence(master=sheet(), shots={"A": sheet(), "B": extra, "C": sheet()})
        decide = ("intend", "B", "lights.kick", "--reason", "an edge", "--who", "lead")
        assert check(folder, *decide, command="decide")[0] == 0
        assert check(folder)[0] == 0
        publish(folder, "B", {**extra, "notes": "the same light"})
        assert check(folder)[0] == 0
        publish(folder, "B", {**extra, "lights": {**extra["lights"], "kick": {**kick, "intensity": 50}}}, 3)
        status, text = check(folder, "--format", "json")
        (cell,) = (one for one in json.loads(text)["cells"] if one["parameter"] == "lights.kick")
        assert (status, cell["state"]) == (1, "asks again")

    def test_a_decision_that_says_only_that_a_group_is_there_holds_on(
        self, check: Check, make_sequence: MakeSequence
    ) -> None:
        extra = {**sheet(), "lights": {**sheet()["lights"], "kick": LAMP}}
        folder = make_sequence(master=sheet(), shots={"A": sheet(), "B": extra, "C": sheet()})
        one = "2026-11-25T100617.147513Z-1f1fc53ea8f1"
        (folder / "decisions").mkdir(exist_ok=True)
        (folder / f"decisions/{one}.yaml").write_text(
            f"samelight_decision: 2\nid: {one}\nverb: intend\nshot: B\nparameter: lights.kick\nvalue: present\n"
            "master: null\nreason: an edge\nwho: lead\nwhen: '2026-11-25T10:06:17Z'\n"
        )
        assert check(folder)[0] == 0
