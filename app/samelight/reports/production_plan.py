"""What a production costs to render, sequence by sequence, against a budget of machine hours by day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from samelight.drift.words import counted
from samelight.reports.plan_text import aligned
from samelight.reports.render_plan import ESTIMATE, WHAT_IF_ESTIMATE
from samelight.reports.shown import hours_text, shown
from samelight.sheets.budget import Budget

LONGEST = 3660
"""Days that are looked at: what is not rendered in ten years is never."""

_NAME, _BAR = 40, 30


@dataclass(frozen=True, slots=True)
class SequencePlan:
    """One sequence: machine time in seconds, what one-frame passes save of it and what of that is not to be had; how many shots it
    counts and how many it leaves out as not timed. `supposed` is the machine time under other samples, where that is asked."""

    name: str
    seconds: float
    saved: float
    saved_wrongly: float
    shots: int
    left_out: int
    supposed: float | None = None

    @property
    def needed(self) -> float:
        """Seconds that are to be rendered: under the samples that are asked for, where they are."""
        return self.seconds if self.supposed is None else self.supposed


def sequence_plan(name: str, data: Mapping[str, Any]) -> SequencePlan:
    """The plan of one sequence, of what `samelight plan --format json` prints of it."""
    supposed = None
    if "supposed" in data:
        before = {shot["shot"]: shot["seconds"] for shot in data["shots"]}
        gains = [shot["seconds"] - before[shot["shot"]] for shot in data["supposed"]["shots"]]
        supposed = data["seconds"] + sum(gains)
    return SequencePlan(
        name,
        data["seconds"],
        data["seconds_saved"],
        data["seconds_saved_wrongly"],
        len(data["shots"]) - len(data["left_out"]),
        len(data["left_out"]),
        supposed,
    )


@dataclass(frozen=True, slots=True)
class Due:
    """When a sequence is rendered: `done` is the day (None: never), `until` the last day that it may be."""

    name: str
    hours: float
    until: date | None
    done: date | None

    @property
    def late(self) -> int | None:
        """Days after its last day; negative before it. None without one, or where it is never done."""
        return None if self.until is None or self.done is None else (self.done - self.until).days

    @property
    def is_late(self) -> bool:
        """Whether it is not done in time."""
        return self.until is not None and (self.done is None or self.done > self.until)


def schedule(plans: Sequence[SequencePlan], budget: Budget) -> list[Due]:
    """Render one sequence after another, what has to be there first at first, and in story order what has no last day or one
    with others. (No other order meets last days that this one misses: Jackson 1955, earliest due date first.)"""
    order = sorted(plans, key=lambda plan: budget.until.get(plan.name, date.max))
    found = []
    day, left = budget.start, budget.on(budget.start)
    end = budget.start + timedelta(days=LONGEST)
    for plan in order:
        hours = plan.needed / 3600.0
        while hours > left and day < end:
            hours -= left
            day += timedelta(days=1)
            left = budget.on(day)
        done = hours <= left
        left -= hours if done else 0.0
        found.append(Due(plan.name, plan.needed / 3600.0, budget.until.get(plan.name), day if done else None))
    return found


def production_text(plans: Sequence[SequencePlan], budget: Budget | None, samples: str = "") -> str:
    """The plan in words: hours by sequence with a bar each, and when each is rendered."""
    total = sum(plan.seconds for plan in plans)
    saved, wrongly = sum(plan.saved for plan in plans), sum(plan.saved_wrongly for plan in plans)
    wrong = f", of which {hours_text(wrongly)} are not to be had" if wrongly else ""
    lines = [
        f"About {hours_text(total)} of machine time for {counted(sum(plan.shots for plan in plans), 'shot')} of "
        f"{counted(len(plans), 'sequence')}. Passes of one frame save about {hours_text(saved)}{wrong}.",
        ESTIMATE,
    ]
    if samples:
        needed = sum(plan.needed for plan in plans)
        lines += [
            f"With {shown(samples)}: about {hours_text(needed)} for {hours_text(total)}.",
            WHAT_IF_ESTIMATE,
        ]
    due = {} if budget is None else {one.name: one for one in schedule(plans, budget)}
    most = max((plan.needed for plan in plans), default=0.0)
    head = [
        "sequence",
        "shots",
        "not timed",
        "machine time",
        "saved",
        *([f"with {shown(samples, _NAME)}"] if samples else []),
    ]
    head += [*(["rendered", "until", "days late"] if due else []), ""]
    rows = []
    for plan in plans:
        row = [shown(plan.name, _NAME), str(plan.shots), str(plan.left_out or "")]
        row += [hours_text(plan.seconds), hours_text(plan.saved)]
        row += [hours_text(plan.needed)] if samples else []
        row += _due_cells(due[plan.name]) if due else []
        rows.append([*row, "█" * round(_BAR * plan.needed / most) if most else ""])
    lines += ["", *aligned(head, rows)]
    if budget is not None:
        lines += ["", *budget_lines(list(due.values()))]
    return "\n".join(lines) + "\n"


def _due_cells(due: Due) -> list[str]:
    late = "" if due.late is None else str(max(due.late, 0) or "")
    done = "never" if due.done is None else due.done.isoformat()
    return [done, "" if due.until is None else due.until.isoformat(), late]


def budget_lines(due: Sequence[Due]) -> list[str]:
    """What a budget comes to, in sentences."""
    never = [shown(one.name, _NAME) for one in due if one.done is None]
    late = [one for one in due if one.is_late and one.done is not None]
    last = max((one.done for one in due if one.done is not None), default=None)
    said = []
    if never:
        said.append(f"The budget does not reach {', '.join(never)}.")
    elif last is not None:
        said.append(f"All is rendered by {last.isoformat()}, with nothing rendered twice.")
    said += [f"{shown(one.name, _NAME)} is {counted(one.late or 0, 'day')} late." for one in late]
    return said


def production_data(plans: Sequence[SequencePlan], budget: Budget | None) -> dict[str, Any]:
    """The plan as plain data; times in seconds of one machine, `hours` in machine hours."""
    due = [] if budget is None else schedule(plans, budget)
    return {
        "seconds": sum(plan.seconds for plan in plans),
        "seconds_saved": sum(plan.saved for plan in plans),
        "seconds_saved_wrongly": sum(plan.saved_wrongly for plan in plans),
        "seconds_supposed": sum(plan.needed for plan in plans),
        "sequences": [
            {
                "name": plan.name,
                "seconds": plan.seconds,
                "seconds_saved": plan.saved,
                "seconds_saved_wrongly": plan.saved_wrongly,
                "seconds_supposed": plan.needed,
                "shots": plan.shots,
                "left_out": plan.left_out,
            }
            for plan in plans
        ],
        "rendered": [
            {
                "name": one.name,
                "hours": one.hours,
                "until": None if one.until is None else one.until.isoformat(),
                "done": None if one.done is None else one.done.isoformat(),
                "days_late": one.late,
            }
            for one in due
        ],
    }


PLAN_COLUMNS = (
    *(
        "sequence",
        "shots",
        "shots_not_timed",
        "hours",
        "hours_saved",
        "hours_saved_wrongly",
        "hours_supposed",
    ),
    *("rendered", "until", "days_late"),
)


def plan_rows(plans: Sequence[SequencePlan], budget: Budget | None) -> list[list[str | int | float | None]]:
    """A row a sequence of `PLAN_COLUMNS`, for a table."""
    due = {} if budget is None else {one.name: one for one in schedule(plans, budget)}
    rows: list[list[str | int | float | None]] = []
    for plan in plans:
        one = due.get(plan.name)
        hours = [seconds / 3600.0 for seconds in (plan.seconds, plan.saved, plan.saved_wrongly, plan.needed)]
        dates = [None, None, None]
        if one is not None:
            dates = [one.done and one.done.isoformat(), one.until and one.until.isoformat(), one.late]  # type: ignore[list-item]
        rows.append([plan.name, plan.shots, plan.left_out, *(round(each, 6) for each in hours), *dates])
    return rows
