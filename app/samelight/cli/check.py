"""`samelight check`: what differs from the master, and whether anything of it is open."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Sequence
from datetime import datetime
from pathlib import Path

from rich.text import Text

from samelight.cli.reading import tell_troubles, watched
from samelight.cli.shots import add_shots, chosen_shots
from samelight.cli.terminal import (
    COULD_NOT_RUN,
    NOTHING_OPEN,
    OPEN_DRIFT,
    print_json,
    print_text,
    results,
)
from samelight.decisions.state import State
from samelight.drift.cells import GRADES, Cell, Grade
from samelight.findings.finding import Finding
from samelight.findings.registry import FINDING_NAMES
from samelight.reports.as_data import cell_data, check_data
from samelight.reports.as_junit import junit_text
from samelight.reports.as_text import clean, print_check
from samelight.reports.compare import Saved, read_check, same_values
from samelight.reports.report import make_report
from samelight.session import Session, open_session
from samelight.sheets.errors import SamelightError, nearest_name

EXAMPLES = """examples:
  samelight check harbour
  samelight check harbour --fail-on break
  samelight check harbour --only behind
  samelight check harbour --shots HB_050-HB_080,HB_120
  samelight check harbour --format json > drift.json
  samelight check harbour --since drift.json
  samelight check harbour --baseline accepted.json --quiet
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
        "--format", choices=("text", "json", "junit"), default="text", help="how to print (default: text)"
    )
    parser.add_argument("--all", action="store_true", help="list every cell, also those that are the same")
    parser.add_argument(
        "--only",
        metavar="FINDING",
        help=f"list only the findings of this name and their cells: {', '.join(FINDING_NAMES)}",
    )
    add_shots(parser)
    parser.add_argument(
        "--since",
        type=Path,
        metavar="FILE",
        help="only what differs from this check, saved with --format json: what is new, has moved or was decided",
    )
    parser.add_argument(
        "--baseline",
        type=Path,
        metavar="FILE",
        help="a saved check that is accepted as it stands: a cell that still has the values in it does not fail",
    )
    parser.add_argument("--quiet", action="store_true", help="print nothing; the exit status says it")
    parser.add_argument(
        "--no-colour", action="store_true", help="no colour, as when NO_COLOR is set in the environment"
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Run the check. Raises `SamelightError` when `--only` names no finding, or a saved check cannot be used."""
    _check_name(arguments.only)
    since = read_check(arguments.since) if arguments.since else None
    baseline = read_check(arguments.baseline) if arguments.baseline else None
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    shots = session.shots if arguments.shots is None else chosen_shots(arguments.shots, session.shots)
    findings = [
        f for f in session.findings if arguments.only in (None, f.finding) and set(f.shots) & set(shots)
    ]
    listed = _listed(session, arguments, shots, findings)
    if since is not None:
        listed = [(cell, state) for cell, state in listed if not _is_known(since, session, cell, state)]
        findings = _about(findings, listed)
    accepted = {
        (cell.shot, cell.parameter)
        for cell, _ in listed
        if baseline is not None and _is_known(baseline, session, cell)
    }
    troubles = tell_troubles(session, shots)
    fail_on = GRADES[arguments.fail_on]
    if not arguments.quiet:
        _print(session, arguments, shots, findings, listed, accepted, troubles)
    if session.master is None or session.unreadable().keys() & set(shots):
        return COULD_NOT_RUN
    is_open = any(
        cell.grade >= fail_on and state is not State.INTENDED and (cell.shot, cell.parameter) not in accepted
        for cell, state in listed
    )
    return OPEN_DRIFT if is_open else NOTHING_OPEN


Listed = Sequence[tuple[Cell, State]]


def _listed(
    session: Session, arguments: argparse.Namespace, shots: Sequence[str], findings: Sequence[Finding]
) -> Listed:
    """The cells of these shots that are asked for."""
    chosen = set(shots)
    listed = listed_cells(session, Grade.NONE if arguments.all else Grade.SAME)
    if arguments.only is None:
        return [(cell, state) for cell, state in listed if cell.shot in chosen]
    explained = {names for finding in findings for names in finding.explained}
    return [
        (cell, state)
        for cell, state in listed
        if cell.shot in chosen and (cell.shot, cell.parameter) in explained
    ]


def _is_known(saved: Saved, session: Session, cell: Cell, state: State | None = None) -> bool:
    """Whether a saved check has this cell as it is, and where a state is given, with that state."""
    data = cell_data(cell, state or State.OPEN, session.sequence.conventions.north)
    before = saved.cells.get((cell.shot, cell.parameter))
    return (
        before is not None and same_values(before, data) and (state is None or before["state"] == str(state))
    )


def _about(findings: Sequence[Finding], listed: Listed) -> list[Finding]:
    """The findings that explain any of these cells."""
    names = {(cell.shot, cell.parameter) for cell, _ in listed}
    return [finding for finding in findings if names.intersection(finding.explained)]


def _print(
    session: Session,
    arguments: argparse.Namespace,
    shots: Sequence[str],
    findings: Sequence[Finding],
    listed: Listed,
    accepted: Collection[tuple[str, str]],
    troubles: Sequence[str],
) -> None:
    title, north = session.sequence.title, session.sequence.conventions.north
    counts = session.table.counts(shots)
    if arguments.format == "junit":
        report = make_report(session, shots=frozenset(shots), made=datetime.now())
        names = {(cell.shot, cell.parameter) for cell, _ in listed} - set(accepted)
        fail_on = GRADES[arguments.fail_on]
        print_text(
            junit_text(
                report,
                fail_on=fail_on,
                accepted=lambda line: (line.cell.shot, line.cell.parameter) not in names,
            )
        )
    elif arguments.format == "json":
        data = check_data(
            title,
            session.master_version,
            listed,
            findings,
            counts,
            troubles=troubles,
            north=north,
            shots=shots,
        )
        for cell in data["cells"]:
            if (cell["shot"], cell["parameter"]) in accepted:
                cell["baseline"] = True
        print_json(data)
    else:
        console = results(colour=not arguments.no_colour)
        print_check(console, title, session.master_version, listed, findings, counts, north=north)
        if accepted:
            said = f"{len(accepted)} of them accepted by {clean(str(arguments.baseline))}"
            console.print(Text(said, style="dim"), soft_wrap=True)


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
