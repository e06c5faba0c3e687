"""`samelight check`: what differs from the master, and whether anything of it is unsettled."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from samelight.cli.check_scenes import run_on_scenes
from samelight.cli.listed import Listed, listed_cells, named_cells
from samelight.cli.production import run_in_each
from samelight.cli.reading import (
    add_jobs,
    add_scheduler,
    only_for_productions,
    opened,
    status_of,
    tell_troubles,
)
from samelight.cli.shots import add_lighter, add_shots, asked_shots, shots_of
from samelight.cli.terminal import (
    ALL_SETTLED,
    COULD_NOT_RUN,
    UNSETTLED,
    complain,
    print_json,
    print_text,
    results,
)
from samelight.cli.told import (
    asked_findings,
    case_key,
    cases_of,
    known_cases,
    unknown_to,
    unsettled_cases,
)
from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import GRADES, CellName, ComparedCell, Grade
from samelight.findings.finding import Finding
from samelight.findings.registry import FINDING_NAMES
from samelight.light.directions import Vector
from samelight.reports.as_data import cell_data, check_data
from samelight.reports.as_junit import junit_of_shots
from samelight.reports.as_text import print_check, print_line
from samelight.reports.compare import is_known, read_check
from samelight.reports.held import held_shots
from samelight.reports.report import shot_parts, shot_tallies
from samelight.reports.shown import clean
from samelight.sequence.keeping import is_of_its_folder
from samelight.sequence.parts import read_key, save_part
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.garbage import without_collection
from samelight.sheets.production import is_production
from samelight.sheets.upgrades import FINDINGS as FORMER_FINDINGS

EXAMPLES = """examples:
  samelight check harbour
  samelight check harbour --fail-on break
  samelight check harbour --only old-master
  samelight check harbour --shots HB_050-HB_080,HB_120
  samelight check harbour --lighter Ines
  samelight check harbour --format json > drift.json
  samelight check harbour --since drift.json
  samelight check harbour --baseline accepted.json --quiet
  samelight check harbour --shots HB_010-HB_120 --save-part first.part
  samelight check harbour --parts first.part second.part
  samelight check --scene quay_020.usda --against quay_010.usda
  samelight check town --scheduler tcp://farm:8786 --format json
"""


_OF_OTHER_FILES = ("save_part", "parts", "seal_key_file", "since", "baseline", "policy")
"""What an answer hangs on beside the sequence, or does beside answering, so that it is not kept for the next time."""


DESCRIPTION = (
    "Compare every shot with the master setup. Exit status: 0 nothing left to decide or mend; 1 drift at or "
    "above --fail-on is undecided or sent back; 2 the check could not run, or not on every shot: one or the cut is missing or unreadable, something could not be worked out, or a lock of the policy holds nothing."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "folder", type=Path, nargs="?", help="the sequence folder, or a production: a folder of these"
    )
    _add_scene(parser)
    parser.add_argument(
        "--fail-on",
        choices=("within", "drift", "break"),
        default="drift",
        help="the lowest level that fails the check (default: drift)",
    )
    parser.add_argument(
        "--format", choices=("text", "json", "junit"), default="text", help="how to print (default: text)"
    )
    parser.add_argument("--all", action="store_true", help="list every cell, also those that are the same")
    parser.add_argument(
        "--only",
        metavar="FINDING",
        help="list only the findings of this name and their cells, and let the exit status speak of these alone: "
        + ", ".join(FINDING_NAMES),
    )
    add_shots(parser)
    add_lighter(parser)
    _add_parts(parser)
    add_jobs(parser)
    add_scheduler(parser)
    _add_saved(parser)
    parser.add_argument("--quiet", action="store_true", help="print nothing; the exit status says it")
    parser.add_argument(
        "--no-colour", action="store_true", help="no colour, as when NO_COLOR is set in the environment"
    )
    parser.set_defaults(refuse=parser.error)


def _add_scene(parser: argparse.ArgumentParser) -> None:
    """Scenes: one in the place of a folder, and those that a folder's sheets come from."""
    parser.add_argument("--scene", type=Path, help="in the place of a folder: one scene, with --against")
    parser.add_argument(
        "--against",
        type=Path,
        metavar="MASTER",
        help="with --scene: a scene, or a sheet, that it is compared with",
    )
    parser.add_argument(
        "--as-captured",
        action="store_true",
        help="take the sheets as they are: do not capture scenes that sequence.yaml names and that have changed since",
    )


def _add_parts(parser: argparse.ArgumentParser) -> None:
    """What one check reads for another, and takes from it."""
    parser.add_argument(
        "--save-part",
        type=Path,
        metavar="FILE",
        help="read only the shots that are asked for, beside the master setups and the key shot, and write what was read "
        "to FILE, for --parts; findings then know of no other shots",
    )
    parser.add_argument(
        "--parts",
        type=Path,
        nargs="+",
        default=[],
        metavar="FILE",
        help="after the folder: take sheets from files that --save-part wrote, where they did not change since, and read "
        "only the others; the result is the same as without",
    )
    parser.add_argument(
        "--seal-key-file",
        type=Path,
        metavar="FILE",
        help="a key of the studio's own: --save-part seals with it, and --parts believes no part without its seal",
    )


def _add_saved(parser: argparse.ArgumentParser) -> None:
    """What an earlier check said, and is compared with."""
    parser.add_argument(
        "--since",
        type=Path,
        metavar="FILE",
        help="only what differs from this check, saved with --format json: what is new, has moved or was decided; the exit "
        "status speaks of that alone",
    )
    parser.add_argument(
        "--baseline",
        type=Path,
        metavar="FILE",
        help="a saved check that is accepted as it stands: a cell that still has the values in it does not fail",
    )
    parser.add_argument(
        "--ledger",
        metavar="RECEIPT",
        help="judge only by these decisions: end with 2 where the ledger is not the one that an earlier check printed this of",
    )


_OF_ONE_SEQUENCE = ("save_part", "parts", "seal_key_file", "since", "baseline", "ledger")


def run(arguments: argparse.Namespace) -> int:
    """Run the check, over a production in each of its sequences. Raises `SamelightError` when `--only` names no finding, or a
    saved check cannot be used."""
    refuse = vars(arguments).pop("refuse")  # the parser's, which goes to no other process
    if arguments.scene is not None or arguments.against is not None:
        if arguments.folder is not None:
            raise SamelightError("--scene is checked without a folder: name the one or the other")
        only_for_productions(arguments)
        return run_on_scenes(arguments, _run)
    if arguments.folder is None:
        refuse("the following arguments are required: folder, or --scene and --against")
    if is_production(arguments.folder):
        _check_name(FORMER_FINDINGS.get(arguments.only, arguments.only))
        form = "" if arguments.quiet else arguments.format
        return run_in_each(arguments, _run, form, _OF_ONE_SEQUENCE)
    only_for_productions(arguments)
    return _run(arguments)


@without_collection()
def _run(arguments: argparse.Namespace) -> int:
    """Run the check of one sequence."""
    only = FORMER_FINDINGS.get(arguments.only, arguments.only)
    _check_name(only)
    since = read_check(arguments.since) if arguments.since else None
    baseline = read_check(arguments.baseline) if arguments.baseline else None
    session, shots = _opened(arguments)
    _check_ledger(arguments.ledger, session)
    findings = asked_findings(session.cases.findings, only, shots)
    listed = listed_cells(session, Grade.NONE if arguments.all else Grade.SAME, shots)
    if only is not None:
        explained = named_cells(session, {names for finding in findings for names in finding.explained})
        listed = Listed(session, listed.mask & explained)
    if since is not None:
        listed = listed.only(
            not is_known(since, _data(session, cell, state), by_state=True) for cell, state in listed
        )
        findings = unknown_to(since, findings, listed)
    accepted, accepted_cases = listed.none(), set[CellName]()
    if baseline is not None:
        accepted = listed.only(is_known(baseline, _data(session, cell, state)) for cell, state in listed)
        accepted_cases = known_cases(baseline, findings)
    troubles = tell_troubles(session, shots)
    fail_on = GRADES[arguments.fail_on]
    failing = Listed(session, listed.mask & ~accepted.mask).unsettled_at(fail_on)
    failing_cases = unsettled_cases(findings, fail_on, accepted_cases)
    failed: list[Trouble] = []
    if not arguments.quiet:
        checked = _Checked(shots, findings, listed, accepted, accepted_cases, troubles)
        _print(session, arguments, checked, failed)
    status = status_of(arguments, session, shots, failed)
    if not session.contents.shots:
        complain("there are no shots to check")
        return COULD_NOT_RUN
    if status or not session.contents.has_master or not session.locked:
        return COULD_NOT_RUN
    others = any(map(vars(arguments).get, _OF_OTHER_FILES))
    arguments.keeps = not troubles and not others and is_of_its_folder(session.contents)
    return UNSETTLED if failing or failing_cases else ALL_SETTLED


@dataclass(frozen=True, slots=True)
class _Checked:
    """What a check has to say: of these shots these findings and cells, of which a baseline accepts some."""

    shots: Sequence[str]
    findings: Sequence[Finding]
    listed: Listed
    accepted: Listed
    accepted_cases: Collection[CellName]
    troubles: Sequence[str]


def _opened(arguments: argparse.Namespace) -> tuple[Session, list[str]]:
    """The sequence, and the shots that are asked for; these alone are read where they are saved as a part."""
    path, key = arguments.save_part, None
    if arguments.seal_key_file is not None:
        if not arguments.parts and path is None:
            raise SamelightError("--seal-key-file seals a part: it goes with --save-part or --parts")
        key = read_key(arguments.seal_key_file)
    only = None if path is None else partial(shots_of, arguments)
    looks = not (arguments.as_captured or arguments.parts or path is not None)
    session = opened(arguments, only, arguments.parts, key, looks_at_scenes=looks)
    shots = asked_shots(arguments, session)
    if path is not None:
        contents = session.contents
        save_part(path, contents.disk, contents.store.stored(contents.all_sheets), key)
    return session, shots


def _data(session: Session, cell: ComparedCell, state: State) -> dict[str, Any]:
    return cell_data(cell, state, session.contents.sequence.conventions.north)


def _print(session: Session, arguments: argparse.Namespace, checked: _Checked, failed: list[Trouble]) -> None:
    """Print what was asked for; what fails in one shot is added to `failed`."""
    if arguments.format == "junit":
        print_text(_as_junit(session, GRADES[arguments.fail_on], checked, failed))
    elif arguments.format == "json":
        print_json(_as_data(session, checked))
    else:
        _print_text(session, arguments, checked)


def _as_junit(session: Session, fail_on: Grade, checked: _Checked, failed: list[Trouble]) -> str:
    """A check as JUnit XML, in which what a baseline accepts does not fail."""
    let_through = ~checked.listed.mask | checked.accepted.mask
    told = {case_key(case) for case in cases_of(checked.findings)} - set(checked.accepted_cases)
    return junit_of_shots(
        shot_parts(session, checked.shots, failed),
        session.contents.sequence.title,
        session.contents.sequence.conventions.north,
        fail_on=fail_on,
        unread=session.ledger.troubles(),
        ledger=session.ledger.receipt,
        accepted=lambda line: bool(let_through[line.row, session.table.column(line.cell.shot)]),
        accepted_case=lambda case: case_key(case) not in told,
    )


def _as_data(session: Session, checked: _Checked) -> dict[str, Any]:
    """A check for JSON, in which cells and cases say where a baseline accepts them."""
    north = session.contents.sequence.conventions.north
    tallies = shot_tallies(session, checked.shots)
    data = check_data(
        session.contents.sequence.title,
        session.contents.master_version,
        (),
        checked.findings,
        session.table.counts(checked.shots),
        troubles=checked.troubles,
        north=north,
        shots=checked.shots,
        tally=sum(tallies.values(), Tally()),
        ledger=session.ledger.receipt,
        held=held_shots(session, checked.shots),
        crew=session.crew,
        tallies=tallies,
    )
    data["cells"] = _cells_data(checked.listed, checked.accepted, north)
    for finding in data["findings"]:
        for case in finding["cases"]:
            if (case["shot"], case["parameter"]) in checked.accepted_cases:
                case["baseline"] = True
    return data


def _print_text(session: Session, arguments: argparse.Namespace, checked: _Checked) -> None:
    """A check for people."""
    console = results(colour=not arguments.no_colour)
    tallies = shot_tallies(session, checked.shots)
    print_check(
        console,
        session.contents.sequence.title,
        session.contents.master_version,
        checked.listed,
        checked.findings,
        session.table.counts(checked.shots),
        north=session.contents.sequence.conventions.north,
        tally=sum(tallies.values(), Tally()),
        follows=() if arguments.all else checked.listed.follows(),
        held=held_shots(session, checked.shots),
        crew=session.crew,
        tallies=tallies,
    )
    print_line(console, f"ledger {session.ledger.receipt}", "dim")
    if accepted := len(checked.accepted) + len(checked.accepted_cases):
        said = f"{accepted} of them accepted by {clean(str(arguments.baseline))}"
        print_line(console, said, "dim")


def _cells_data(listed: Listed, accepted: Listed, north: Vector) -> Iterator[dict[str, Any]]:
    """The cells for JSON, one after another; those that a baseline lets through say so."""
    marked = zip(listed, listed.follows(), accepted.mask[listed.mask], strict=True)
    for (cell, state), follows, is_accepted in marked:
        data = cell_data(cell, state, north, follows)
        yield {**data, "baseline": True} if is_accepted else data


def _check_ledger(asked: str | None, session: Session) -> None:
    there = session.ledger.receipt
    if asked is not None and asked != there:
        tell_troubles(session)
        raise SamelightError(
            f"the decisions here are ledger {there}, and not ledger {asked}, which was asked for"
        )


def _check_name(name: str | None) -> None:
    if name is not None and name not in FINDING_NAMES:
        near = nearest_name(name, FINDING_NAMES)
        hint = f"; did you mean {near}?" if near else f"; there are {', '.join(FINDING_NAMES)}"
        raise SamelightError(f"no finding {name}{hint}")
