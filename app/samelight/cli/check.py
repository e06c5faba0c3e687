"""`samelight check`: what differs from the master, and whether anything of it is open."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.cli.shots import chosen_shots
from samelight.cli.terminal import (
    COULD_NOT_RUN,
    NOTHING_OPEN,
    OPEN_DRIFT,
    complain,
    print_json,
    results,
)
from samelight.decisions.state import State
from samelight.drift.cells import GRADES, Cell, Grade
from samelight.findings.registry import FINDING_NAMES
from samelight.reports.as_data import check_data
from samelight.reports.as_text import print_check
from samelight.session import Session, open_session
from samelight.sheets.errors import SamelightError, nearest_name

EXAMPLES = """examples:
  samelight check harbour
  samelight check harbour --fail-on break
  samelight check harbour --only behind
  samelight check harbour --shots HB_050-HB_080,HB_120
  samelight check harbour --format json > drift.json
"""


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the program's parser."""
    parser = commands.add_parser(
        "check",
        help="say what differs from the master",
        description="Compare every shot with the master setup. Exit status: 0 nothing open; 1 open drift at or above "
        "--fail-on; 2 the check could not run, or not on every shot: one is missing or unreadable.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument(
        "--fail-on",
        choices=("within", "drift", "break"),
        default="drift",
        help="the lowest level that counts as open (default: drift)",
    )
    parser.add_argument(
        "--format", choices=("text", "json"), default="text", help="how to print (default: text)"
    )
    parser.add_argument("--all", action="store_true", help="list every cell, also those that are the same")
    parser.add_argument(
        "--only",
        metavar="FINDING",
        help=f"list only the findings of this name and their cells: {', '.join(FINDING_NAMES)}",
    )
    parser.add_argument(
        "--shots",
        metavar="SHOTS",
        help="only these shots: a list such as A,B or a run of the cut such as A-C",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Run the check. Raises `SamelightError` when `--only` names no finding."""
    _check_name(arguments.only)
    session = open_session(arguments.folder)
    fail_on = GRADES[arguments.fail_on]
    findings = [f for f in session.findings if arguments.only in (None, f.finding)]
    lowest = Grade.NONE if arguments.all else Grade.SAME
    listed = listed_cells(session, lowest)
    if arguments.only is not None:
        explained = {
            (session.table.shots[column], session.table.rows[row].parameter)
            for finding in findings
            for row, column in finding.cells
        }
        listed = [(cell, state) for cell, state in listed if (cell.shot, cell.parameter) in explained]
    shots = session.shots if arguments.shots is None else chosen_shots(arguments.shots, session.shots)
    if arguments.shots is not None:
        listed = [(cell, state) for cell, state in listed if cell.shot in shots]
        findings = [finding for finding in findings if set(finding.shots) & set(shots)]
    north = session.sequence.conventions.north
    title, counts = session.sequence.title, session.table.counts(shots)
    troubles = [trouble for trouble in session.troubles if trouble.shot is None or trouble.shot in shots]
    for trouble in troubles:
        complain(trouble.says)
    for fault in session.ledger.faults:
        complain(f"decision skipped: {fault}")
    if arguments.format == "json":
        says = [trouble.says for trouble in troubles]
        data = check_data(title, session.master_version, listed, findings, counts, troubles=says, north=north)
        print_json(data)
    else:
        print_check(results(), title, session.master_version, listed, findings, counts, north=north)
    if session.master is None or session.unreadable().keys() & set(shots):
        return COULD_NOT_RUN
    is_open = any(cell.grade >= fail_on and state is not State.INTENDED for cell, state in listed)
    return OPEN_DRIFT if is_open else NOTHING_OPEN


def _check_name(name: str | None) -> None:
    if name is not None and name not in FINDING_NAMES:
        near = nearest_name(name, FINDING_NAMES)
        hint = f"; did you mean {near}?" if near else f"; there are {', '.join(FINDING_NAMES)}"
        raise SamelightError(f"no finding {name}{hint}")


def listed_cells(session: Session, above: Grade) -> list[tuple[Cell, State]]:
    """Cells above a grade with their state, in the table's order."""
    decided = session.decided_cells()
    table = session.table
    found = []
    for cell in table.cells(above):
        row, column = table.row(cell.parameter), table.column(cell.shot)
        state = (
            decided.get((row, column), State.OPEN) if row is not None and column is not None else State.OPEN
        )
        found.append((cell, state))
    return found
