"""What a production costs to render, against a budget of machine hours by day."""

from __future__ import annotations

import csv
import json
import shutil
from datetime import date, timedelta
from itertools import permutations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.cli.main import main
from samelight.reports.budget_chart import budget_chart
from samelight.reports.production_plan import Due, SequencePlan, budget_lines, production_text, schedule
from samelight.sheets.budget import Budget
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import read_production

SAMPLES = Path(__file__).parents[2] / "sample_sequences"
START = date(2026, 12, 1)  # a Tuesday


def plan(name: str, hours: float) -> SequencePlan:
    return SequencePlan(name, hours * 3600.0, 0.0, 0.0, 1, 0)


def done(*plans: SequencePlan, budget: Budget) -> dict[str, Due]:
    return {one.name: one for one in schedule(plans, budget)}


def test_what_has_to_be_there_first_is_rendered_first() -> None:
    budget = Budget(START, ((START, 10.0),), until={"b": date(2026, 12, 2)})
    found = done(plan("a", 25.0), plan("b", 20.0), budget=budget)
    assert found["b"].done == date(2026, 12, 2) and found["b"].late == 0 and not found["b"].is_late
    assert found["a"].done == date(2026, 12, 5) and found["a"].late is None
    found = done(plan("a", 25.0), plan("b", 20.5), budget=budget)
    assert found["b"].late == 1 and found["b"].is_late


def test_a_name_turns_no_line_of_the_budget_around() -> None:
    budget = Budget(START, ((START, 1.0),), until={"a\u202e": START})
    late = schedule([plan("a\u202e", 1.5)], budget)
    never = schedule([plan("b\x1b", 1e6)], budget)
    assert budget_lines(late)[1:] == ["a� is 1 day late."]
    assert budget_lines(never) == ["The budget does not reach b�."]


def test_days_off_and_other_hours_from_a_day_on() -> None:
    budget = Budget(START, ((START, 8.0), (date(2026, 12, 7), 16.0)), frozenset({5, 6, date(2026, 12, 3)}))
    # 8 on Tuesday, Wednesday and Friday, none on Thursday and at the weekend, 16 from Monday on.
    assert [budget.on(START + timedelta(days=n)) for n in (-1, 0, 1, 2, 3, 4, 5, 6)] == [
        0,
        8,
        8,
        0,
        8,
        0,
        0,
        16,
    ]
    assert done(plan("a", 24.0), budget=budget)["a"].done == date(2026, 12, 4)
    assert done(plan("a", 25.0), budget=budget)["a"].done == date(2026, 12, 7)


def test_what_the_budget_does_not_reach_is_never_rendered() -> None:
    budget = Budget(START, ((START, 8.0), (date(2026, 12, 3), 0.0)), until={"a": START})
    found = done(plan("a", 17.0), plan("b", 1.0), budget=budget)
    assert [found[name].done for name in "ab"] == [None, None] and found["a"].is_late
    text = production_text([plan("a", 17.0)], budget)
    assert "never" in text and "The budget does not reach a." in text


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 40), st.integers(0, 12)), min_size=1, max_size=5),
    st.integers(1, 20),
)
def test_no_other_order_is_less_late(needs: list[tuple[int, int]], hours: int) -> None:
    """The most that anything is late, compared with every order there is."""
    until = {str(n): START + timedelta(days=day) for n, (_, day) in enumerate(needs)}
    budget = Budget(START, ((START, float(hours)),), until=until)
    plans = [plan(str(n), float(need)) for n, (need, _) in enumerate(needs)]
    worst = max(one.late for one in schedule(plans, budget) if one.late is not None)
    least = min(_worst(order, needs, hours) for order in permutations(range(len(needs))))
    assert worst == least


def _worst(order: tuple[int, ...], needs: list[tuple[int, int]], hours: int) -> int:
    total, found = 0, []
    for number in order:
        total += needs[number][0]
        found.append(-(-total // hours) - 1 - needs[number][1])
    return max(found)


@pytest.fixture
def town(tmp_path: Path) -> Path:
    folder = tmp_path / "town"
    for name in ("first_steps", "mole"):
        shutil.copytree(SAMPLES / name, folder / name)
    (folder / "production.yaml").write_text(
        "title: A town\nsequences: [mole, first_steps]\nbudget: {from: 2026-12-01, hours_a_day: 40, days_off: [sat, sun],\n"
        "  until: {first_steps: 2026-12-01}}\n"
    )
    return folder


def test_the_command_sums_what_each_sequence_says(town: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(town), "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    alone = []
    for name in ("mole", "first_steps"):
        main(["plan", str(town / name), "--format", "json"])
        alone.append(json.loads(capsys.readouterr().out))
    assert [one["result"] for one in data["sequences"]] == alone
    assert data["plan"]["seconds"] == sum(one["seconds"] for one in alone)
    assert [one["name"] for one in data["plan"]["rendered"]] == ["first_steps", "mole"]
    assert main(["plan", str(town), "--format", "csv"]) == 0
    rows = list(csv.DictReader(capsys.readouterr().out.splitlines()))
    assert [row["sequence"] for row in rows] == ["mole", "first_steps"]
    assert [float(row["hours"]) for row in rows] == pytest.approx([one["seconds"] / 3600 for one in alone])
    assert main(["plan", str(town)]) == 0
    text = capsys.readouterr().out
    assert "of machine time for" in text and "█" in text and "All is rendered by 2026-12-0" in text
    assert main(["plan", str(town), "--format", "markdown"]) == 0
    assert "| mole |" in capsys.readouterr().out


def test_other_samples_count_where_a_sequence_has_them(
    town: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["plan", str(town), "--samples", "environments.dawn_sky.samples=32"]
    assert main(words) == 2
    assert "counts no samples or rays of any sequence of A town" in capsys.readouterr().err
    words = ["plan", str(town), "--samples", "lights.lantern.samples=64", "--format", "json"]
    assert main(words) == 0
    data = json.loads(capsys.readouterr().out)
    mole, first = data["plan"]["sequences"]
    assert mole["seconds_supposed"] > mole["seconds"] and first["seconds_supposed"] == first["seconds"]


def test_one_sequence_as_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(SAMPLES / "mole"), "--format", "csv"]) == 0
    rows = list(csv.DictReader(capsys.readouterr().out.splitlines()))
    assert {row["shot"] for row in rows} == {f"ML_0{n}0" for n in range(1, 9)}
    assert main(["plan", str(SAMPLES / "mole"), "--format", "svg"]) == 2
    assert "this is one sequence" in capsys.readouterr().err


def test_the_chart_shows_what_is_late(town: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(town), "--format", "svg"]) == 0
    root = ElementTree.fromstring(capsys.readouterr().out)
    dots = [one for one in root.iter() if one.tag.endswith("circle")]
    assert len(dots) == 2
    budget = Budget(START, ((START, 8.0),), until={"<b>&": START})
    chart = budget_chart("A <town>", [plan("<b>&", 20.0), plan("a", 4.0)], budget)
    words = [one.text or "" for one in ElementTree.fromstring(chart).iter() if one.tag.endswith("text")]
    assert "<b>&, 2026-12-03 late" in words and "a, 2026-12-03" in words
    (town / "production.yaml").unlink()
    assert main(["plan", str(town), "--format", "svg"]) == 2
    assert "production.yaml states none" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("budget", "says"),
    [
        ("{hours_a_day: 8}", "a date such as"),
        ("{from: 9999-12-30, hours_a_day: 8}", "a date such as"),
        ("{from: 2026-12-01}", "machine hours of a day"),
        ("{from: 2026-12-01, hours_a_day: -1}", "machine hours of a day"),
        ("{from: 2026-12-01, hours_a_day: {soon: 4}}", "a date such as"),
        ("{from: 2026-12-01, hours_a_day: 4, until: {mule: 2026-12-09}}", "did you mean mole?"),
        ("{from: 2026-12-01, hours_a_day: 4, days_off: [never]}", "a date such as"),
        ("{from: 2026-12-01, hours: 4}", "did you mean hours_a_day?"),
        ("4", "from and hours_a_day"),
    ],
)
def test_what_is_wrong_in_a_budget_is_told(town: Path, budget: str, says: str) -> None:
    (town / "production.yaml").write_text(f"sequences: [mole, first_steps]\nbudget: {budget}\n")
    with pytest.raises(SamelightError) as caught:
        read_production(town)
    assert says in str(caught.value) and "production.yaml:2" in str(caught.value)
