"""`samelight decide`: write a decision from the command line."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from samelight.cli.counts import count
from samelight.cli.reading import tell_troubles, watched
from samelight.cli.shots import chosen_shots
from samelight.cli.terminal import complain, drop_stdout, print_line
from samelight.decisions.acts import DecisionError
from samelight.decisions.decision import STEPS, VERDICTS, Decision, Verb
from samelight.decisions.state import State
from samelight.drift.cells import Cell, Grade
from samelight.findings.finding import Case
from samelight.sequence.session import Session, account_name, open_session
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.patterns import matches

EXAMPLES = """examples:
  samelight decide harbour intend HB_090 lights.lantern_spot.position --reason "follows the boatman"
  samelight decide harbour return HB_180 "lights.window_fill.*" --reason "nudged by accident"
  samelight decide harbour intend HB_050-HB_080 "lights.<distant>.*" --reason "they sail round the point"
  samelight decide harbour intend HB_220 findings.one-frame.background --reason "the camera rests in this cut"
  samelight decide harbour take-up HB_180 "lights.window_fill.*" --who Tomas
  samelight decide harbour close HB_180 "lights.window_fill.*"
  samelight decide harbour withdraw HB_090 lights.lantern_spot.position
"""


DESCRIPTION = (
    "Write one decision for each cell of the shots that drifts and matches the parameter, and for each finding "
    "that is a case by itself, such as findings.one-frame.background. What is computed (marks, rays, sky, count) goes with "
    "what it follows from. What was sent back is taken up (take-up) by who mends it; with a new version of the shot it is mended by "
    "itself, and closed (close) by who looked at it, where it is inside its tolerance. withdraw takes back all decisions on what matches. Exit status: 0 written, also where that "
    "could not be printed; 2 nothing written."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument("verb", choices=[str(verb) for verb in (*STEPS, Verb.WITHDRAW)], help="what to say")
    parser.add_argument("shots", help="the shot, a list such as A,B or a run of the cut such as A-C")
    parser.add_argument(
        "parameter",
        help='the parameter, the case of a finding by its name, or a pattern such as "lights.lantern_spot.*"',
    )
    parser.add_argument("--reason", default="", help="why; needed for intend and return")
    parser.add_argument("--who", default=None, help="who decides (default: the user's account)")
    parser.add_argument(
        "--until-master",
        type=count,
        metavar="N",
        help="the last master version on which it holds (default: no end)",
    )
    parser.add_argument(
        "--act",
        default="",
        metavar="ID",
        help="a name for doing it once: again under the same name it is the same act, whatever came of the first try",
    )


def run(arguments: argparse.Namespace) -> int:
    """Write the decisions."""
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    verb, shots = Verb(arguments.verb), chosen_shots(arguments.shots, session.contents.shots)
    tell_troubles(session, shots)
    made = session.ledger.made_in(arguments.act) if verb not in VERDICTS and arguments.act else []
    if not made:  # else what was to be withdrawn, taken up or closed is so already
        cells = _cells(session, verb, shots, arguments.parameter)
        cases = _cases(session, verb, shots, arguments.parameter)
        if not cells and not cases:
            raise _nothing(session, verb, shots, arguments.parameter)
        if verb is Verb.RETURN and not arguments.reason.strip():
            raise DecisionError("a reason is needed: say what is to be mended")
        made = session.decide(
            verb,
            cells,
            arguments.who or account_name(),
            arguments.reason,
            arguments.until_master,
            cases,
            act=arguments.act,
        )
    _answer(made)
    return 0


def _answer(made: Sequence[Decision]) -> None:
    """Print what was decided. It stands whether that can be printed or not, and the exit status says so."""
    try:
        for decision in made:
            print_line(f"{decision.verb} {decision.shot} {decision.parameter}")
        sys.stdout.flush()
    except (OSError, ValueError) as error:
        drop_stdout()
        why = (error.strerror if isinstance(error, OSError) else None) or str(error)
        stand = f"{len(made)} decisions stand" if len(made) != 1 else "the decision stands"
        complain(f"{stand}, which could not be printed: {why}")


def _cells(session: Session, verb: Verb, shots: Sequence[str], pattern: str) -> list[Cell]:
    """The cells that are meant: those that go on by this verb, which for a verdict are those that drift.

    A pattern means what someone has to look at; a parameter named in full may be decided on within its tolerance.
    """
    table = session.table
    rows = [index for index, row in enumerate(table.rows) if matches(pattern, row.parameter, row.light_type)]
    columns = [column for shot in shots if (column := table.column(shot)) is not None]
    cells = [(row, column) for row in rows for column in columns]
    named = verb in VERDICTS and any(table.rows[row].parameter == pattern for row in rows)
    return [
        cell
        for cell in cells
        if session.cases.may(verb, *cell) or (named and table.grade[cell] == Grade.WITHIN)
    ]


def _cases(session: Session, verb: Verb, shots: Sequence[str], pattern: str) -> list[Case]:
    """The cases of findings that are meant, as `_cells` has it."""
    cases = [case for case in session.cases.finding_cases(shots) if matches(pattern, case.parameter)]
    named = verb in VERDICTS
    return [
        case
        for case in cases
        if case.may(verb) or (named and case.parameter == pattern and case.state is not State.MENDED)
    ]


def _nothing(session: Session, verb: Verb, shots: Sequence[str], pattern: str) -> SamelightError:
    """Why nothing is meant."""
    rows, cases = session.table.rows, session.cases.finding_cases()
    names = [row.parameter for row in rows] + [case.parameter for case in cases]
    if not any(matches(pattern, row.parameter, row.light_type) for row in rows) and not any(
        matches(pattern, case.parameter) for case in cases
    ):
        near = nearest_name(pattern, names)
        return SamelightError(f"no parameter {pattern}" + (f"; did you mean {near}?" if near else ""))
    what = {
        Verb.WITHDRAW: "no decision on",
        Verb.TAKE_UP: "nothing was sent back in",
        Verb.CLOSE: "nothing that was sent back is inside its tolerance in",
    }.get(verb, "no drift in")
    return SamelightError(
        f"{what} {pattern} of {', '.join(shots)}: there is nothing to {verb.replace('-', ' ')}"
    )
