"""`samelight plan`: what the sequence costs to render, and what other samples would do to that."""

from __future__ import annotations

import argparse
import copy
import json
import re
from pathlib import Path
from typing import Any

from samelight.cli.counts import number
from samelight.cli.production import each_sequence, production_of
from samelight.cli.reading import (
    add_jobs,
    add_scheduler,
    only_for_productions,
    opened,
    status_of,
    tell_troubles,
)
from samelight.cli.shots import add_lighter, add_shots, asked_shots
from samelight.cli.terminal import print_json, print_line, print_text
from samelight.drift.words import number_text
from samelight.findings.noise import buys_noise
from samelight.reports.as_csv import csv_text
from samelight.reports.as_markdown import plan_markdown, production_markdown
from samelight.reports.budget_chart import budget_chart
from samelight.reports.plan_text import SHOT_COLUMNS, plan_data, plan_text, shot_rows, supposed_text
from samelight.reports.production_plan import (
    PLAN_COLUMNS,
    SequencePlan,
    plan_rows,
    production_data,
    production_text,
    sequence_plan,
)
from samelight.reports.render_plan import Supposed, render_plan, suppose
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.production import is_production
from samelight.sheets.vocabulary import FORMAT_VERSION

EXAMPLES = """examples:
  samelight plan harbour
  samelight plan harbour --samples render.volume.samples=48
  samelight plan harbour --samples render.volume.samples=48 --share 0.4
  samelight plan harbour --format json
  samelight plan town --format csv > hours.csv
  samelight plan town --format svg > budget.svg
"""
_SAMPLES = re.compile(r"(?P<name>.+)=(?P<value>\d+(?:\.\d+)?)\Z", re.DOTALL)


DESCRIPTION = (
    "Project machine time by shot and pass from each shot's test frame: what one-frame passes save and where they "
    "are wrong, which shots are out of their family, and what another number of samples would do. All of it is an estimate. "
    "Exit status: 0 projected; 2 not, or not of every shot that was asked for: one is missing or unreadable, or decisions "
    "cannot be read."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder, or a production: a folder of these")
    add_shots(parser)
    add_lighter(parser)
    parser.add_argument(
        "--samples", type=_samples, metavar="PARAMETER=N", help="what if this many samples were taken"
    )
    parser.add_argument(
        "--share",
        type=number("a share from 0 to 1", lambda share: 0 <= share <= 1),
        default=1.0,
        metavar="0..1",
        help="with --samples: the share of a frame's time that goes with them (default: 1, which overstates it)",
    )
    parser.add_argument(
        "--format",
        choices=("text", "json", "markdown", "csv", "svg"),
        default="text",
        help="how to print (default: text); svg is a chart of a production against its budget",
    )
    add_jobs(parser)
    add_scheduler(parser)


def _samples(text: str) -> tuple[str, float]:
    match = _SAMPLES.match(text)
    if match is None or not 0 < float(match["value"]) <= 1e9:
        raise argparse.ArgumentTypeError(
            f"expected a parameter and a number such as render.volume.samples=48, found {text!r}"
        )
    return match["name"], float(match["value"])


def run(arguments: argparse.Namespace) -> int:
    """Print the plan, over a production that of each of its sequences."""
    if is_production(arguments.folder):
        return _over_production(arguments)
    only_for_productions(arguments)
    if arguments.format == "svg":
        raise SamelightError("--format svg draws a production against its budget; this is one sequence")
    return _run(arguments)


def _over_production(arguments: argparse.Namespace) -> int:
    """Print what all sequences cost together, against the budget that production.yaml states."""
    production = production_of(arguments)
    if arguments.format == "svg" and production.budget is None:
        raise SamelightError(
            "--format svg draws a budget: production.yaml states none (budget: from, hours_a_day)"
        )
    each = copy.copy(arguments)
    each.format, each.skips_strange_samples = "json", True
    worst, plans, parts = 0, list[SequencePlan](), list[dict[str, Any]]()
    for ran in each_sequence(each, production, _run, kept=True):
        worst = max(worst, ran.status)
        result = json.loads(ran.said) if ran.said.strip() else None
        if result is not None:
            plans.append(sequence_plan(ran.name, result))
        error = {"error": ran.error} if ran.error else {}
        parts.append(
            {"name": ran.name, "status": ran.status, **error, **({"result": result} if result else {})}
        )
    samples = ""
    if arguments.samples:
        name, number = arguments.samples
        samples = f"{name} at {number_text(number)}"
        if all(plan.supposed is None for plan in plans):
            raise SamelightError(f"{name} counts no samples or rays of any sequence of {production.title}")
    match arguments.format:
        case "json":
            data = {"samelight": FORMAT_VERSION, "production": production.title, "status": worst}
            print_json({**data, "plan": production_data(plans, production.budget), "sequences": parts})
        case "csv":
            print_text(csv_text(PLAN_COLUMNS, plan_rows(plans, production.budget)))
        case "svg":
            assert production.budget is not None
            print_text(budget_chart(production.title, plans, production.budget))
        case "markdown":
            print_text("\n".join(production_markdown(plans, production.budget)) + "\n")
        case _:
            print_text(production_text(plans, production.budget, samples))
    return worst


def _run(arguments: argparse.Namespace) -> int:
    """Print the plan of one sequence."""
    session = opened(arguments)
    shots = asked_shots(arguments, session)
    tell_troubles(session, shots)
    sheets = {shot: session.contents.sheets[shot] for shot in shots if shot in session.contents.sheets}
    failed: list[Trouble] = []
    plan = render_plan(sheets, session.cases.findings, failed)
    supposed: list[Supposed] = []
    place = _place(session, arguments) if arguments.samples else None
    if place is not None:
        supposed = suppose(plan, sheets, place, arguments.samples[1], arguments.share)
    if arguments.format == "json":
        data: dict[str, Any] = plan_data(session.contents.sequence.title, plan)
        if place is not None:
            name, samples = arguments.samples
            data["supposed"] = {
                "parameter": name,
                "samples": samples,
                "share": arguments.share,
                "shots": [
                    {
                        "shot": one.shot,
                        "before": one.before,
                        "noise": one.noise,
                        "time": one.time,
                        "seconds": one.seconds,
                    }
                    for one in supposed
                ],
            }
        print_json(data)
        return status_of(arguments, session, shots, failed)
    if arguments.format == "csv":
        print_text(csv_text(SHOT_COLUMNS, shot_rows(plan)))
        return status_of(arguments, session, shots, failed)
    if arguments.format == "markdown":
        print_text("\n".join(plan_markdown(plan)))
    else:
        print_text(plan_text(plan))
    if arguments.samples:
        name, samples = arguments.samples
        print_line("")
        print_text(supposed_text(f"{name} at {number_text(samples)}", plan, supposed))
    return status_of(arguments, session, shots, failed)


def _place(session: Session, arguments: argparse.Namespace) -> tuple[str, str, str] | None:
    """Where the samples that are asked for stand. Raises `SamelightError` where the sequence counts none by that name; of a
    production that may be so in some sequences, and is None."""
    name = arguments.samples[0]
    rows = [row for row in session.table.rows if buys_noise(row)]
    found = next((row for row in rows if row.parameter == name), None)
    if found is None:
        if getattr(arguments, "skips_strange_samples", False):
            return None
        known = [row.parameter for row in rows]
        near = nearest_name(name, known)
        hint = f"; did you mean {near}?" if near else f"; there are {', '.join(known)}" if known else ""
        raise SamelightError(f"{name} counts no samples or rays of this sequence{hint}")
    return found.section, found.group, found.leaf
