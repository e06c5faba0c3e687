"""The render plan as text and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.cells import cell_len

from samelight.drift.words import counted, number_text
from samelight.reports.render_plan import ESTIMATE, WHAT_IF_ESTIMATE, RenderPlan, Supposed
from samelight.reports.shown import hours_text, shown
from samelight.sheets.units import clock_text
from samelight.sheets.vocabulary import FORMAT_VERSION

_NAME = 40


def aligned(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table as lines; the first and the last column stand to the left, the others to the right."""
    lines = [tuple(head), *(tuple(row) for row in rows)]
    widths = [max(map(cell_len, column)) for column in zip(*lines, strict=True)]
    last = len(widths) - 1
    found = []
    for line in lines:
        parts = []
        for index, (part, width) in enumerate(zip(line, widths, strict=True)):
            blank = " " * (width - cell_len(part))
            parts.append(part + blank if index in (0, last) else blank + part)
        found.append("  ".join(parts).rstrip())
    return found


def plan_text(plan: RenderPlan) -> str:
    """The plan: totals, passes, shots."""
    if not plan.timed:
        return "No shot states its frames and a test frame: nothing can be projected.\n"
    wrong = f", of which {hours_text(plan.saved_wrongly)} are not to be had" if plan.saved_wrongly else ""
    lines = [
        f"About {hours_text(plan.seconds)} of machine time for {counted(len(plan.timed), 'shot')}. "
        f"Passes of one frame save about {hours_text(plan.saved)}{wrong}.",
        ESTIMATE,
        "",
        *aligned(
            ("pass", "frames", "machine time", "saved"),
            [
                (shown(one.name, _NAME), str(one.frames), hours_text(one.seconds), hours_text(one.saved))
                for one in plan.by_pass()
            ],
        ),
        "",
        *aligned(
            ("shot", "frames", "test frame", "x median", "machine time", "saved", "to look at"),
            [
                (
                    shown(shot.shot, _NAME),
                    str(shot.length),
                    clock_text(round(shot.test_frame or 0.0)),
                    number_text(shot.times_median, 3) if shot.times_median is not None else "",
                    hours_text(shot.seconds),
                    hours_text(shot.saved),
                    "; ".join(
                        [
                            *(["out of its family"] if shot.outlier else []),
                            *(
                                f"{shown(one.name, _NAME)}: {shown(one.wrong, 200)}"
                                for one in shot.passes
                                if one.wrong
                            ),
                        ]
                    ),
                )
                for shot in plan.timed
            ],
        ),
    ]
    if plan.left_out:
        lines += ["", f"Not counted, as not timed: {shown(', '.join(plan.left_out), 1000)}."]
    return "\n".join(lines) + "\n"


def supposed_text(what: str, plan: RenderPlan, supposed: Sequence[Supposed]) -> str:
    """What other samples would do, shot by shot and in all."""
    if not supposed:
        return f"{shown(what)}: no timed shot states it.\n"
    before = {shot.shot: shot.seconds for shot in plan.timed}
    was, is_ = sum(before[one.shot] for one in supposed), sum(one.seconds for one in supposed)
    lines = [
        f"With {shown(what)}: about {hours_text(is_)} for {hours_text(was)} in {counted(len(supposed), 'shot')}.",
        WHAT_IF_ESTIMATE,
        "",
        *aligned(
            ("shot", "now", "noise", "time", "machine time", ""),
            [
                (
                    shown(one.shot, _NAME),
                    number_text(one.before),
                    f"×{number_text(one.noise, 3)}",
                    f"×{number_text(one.time, 3)}",
                    hours_text(one.seconds),
                    "",
                )
                for one in supposed
            ],
        ),
    ]
    return "\n".join(lines) + "\n"


def plan_data(title: str, plan: RenderPlan) -> dict[str, Any]:
    """The plan as plain data; times in seconds of one machine."""
    return {
        "samelight": FORMAT_VERSION,
        "sequence": title,
        "estimate": ESTIMATE,
        "seconds": plan.seconds,
        "seconds_saved": plan.saved,
        "seconds_saved_wrongly": plan.saved_wrongly,
        "median_test_frame": plan.median,
        "passes": [
            {"pass": one.name, "frames": one.frames, "seconds": one.seconds, "seconds_saved": one.saved}
            for one in plan.by_pass()
        ],
        "shots": [
            {
                "shot": shot.shot,
                "frames": shot.length,
                "test_frame": shot.test_frame,
                "times_median": shot.times_median,
                "robust_sigmas": shot.score,
                "out_of_family": shot.outlier,
                "seconds": shot.seconds,
                "passes": [
                    {
                        "pass": one.name,
                        "frames": one.frames,
                        "seconds": one.seconds,
                        "seconds_saved": one.saved,
                        "one_frame": one.one_frame,
                        **({"wrong": one.wrong} if one.wrong else {}),
                    }
                    for one in shot.passes
                ],
            }
            for shot in plan.shots
        ],
        "left_out": list(plan.left_out),
    }


SHOT_COLUMNS = (
    *("shot", "pass", "frames", "test_frame_seconds", "times_median", "out_of_family"),
    *("hours", "hours_saved", "held", "wrong"),
)


def shot_rows(plan: RenderPlan) -> list[list[str | int | float | None]]:
    """A row a pass of each shot of `SHOT_COLUMNS`, for a table; one without a pass for a shot that is not timed."""
    rows: list[list[str | int | float | None]] = []
    for shot in plan.shots:
        of_shot = [shot.test_frame, shot.times_median, "yes" if shot.outlier else ""]
        rows += [
            [
                *(shot.shot, one.name, one.frames, *of_shot),
                *(one.seconds / 3600.0, one.saved / 3600.0, "yes" if one.one_frame else "", one.wrong),
            ]
            for one in shot.passes
        ]
        if not shot.passes:
            rows.append([shot.shot, "", shot.length, *of_shot, None, None, "", "not timed"])
    return rows
