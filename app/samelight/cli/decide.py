"""`samelight decide`: write a decision from the command line."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from samelight.cli.reading import tell_troubles, watched
from samelight.cli.shots import chosen_shots
from samelight.cli.terminal import print_line
from samelight.decisions.decision import VERDICTS, Verb
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.session import Session, account_name, open_session
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.patterns import matches

EXAMPLES = """examples:
  samelight decide harbour intend HB_090 lights.lantern_spot.position --reason "follows the boatman"
  samelight decide harbour return HB_180 "lights.window_fill.*" --reason "nudged by accident"
  samelight decide harbour intend HB_050-HB_080 "lights.<distant>.*" --reason "they sail round the point"
  samelight decide harbour withdraw HB_090 lights.lantern_spot.position
"""


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the program's parser."""
    parser = commands.add_parser(
        "decide",
        help="say that a drift is meant, send it back, or withdraw that",
        description="Write one decision for each cell of the shots that drifts and matches the parameter. withdraw takes "
        "back all decisions on the cells that match. Exit status: 0 written, 2 nothing written.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument(
        "verb", choices=[str(verb) for verb in (*VERDICTS, Verb.WITHDRAW)], help="what to say"
    )
    parser.add_argument("shots", help="the shot, a list such as A,B or a run of the cut such as A-C")
    parser.add_argument("parameter", help='the parameter, or a pattern such as "lights.lantern_spot.*"')
    parser.add_argument("--reason", default="", help="why; needed for intend")
    parser.add_argument("--who", default=None, help="who decides (default: the user's account)")
    parser.add_argument(
        "--until-master",
        type=int,
        metavar="N",
        help="the last master version on which it holds (default: no end)",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the decisions."""
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    verb, shots = Verb(arguments.verb), chosen_shots(arguments.shots, session.shots)
    tell_troubles(session, shots)
    cells = _cells(session, verb, shots, arguments.parameter)
    for decision in session.decide(
        verb, cells, arguments.who or account_name(), arguments.reason, arguments.until_master
    ):
        print_line(f"{decision.verb} {decision.shot} {decision.parameter}")
    return 0


def _cells(session: Session, verb: Verb, shots: Sequence[str], pattern: str) -> list[tuple[int, int]]:
    table = session.table
    rows = [index for index, row in enumerate(table.rows) if matches(pattern, row.parameter, row.light_type)]
    if not rows:
        near = nearest_name(pattern, [row.parameter for row in table.rows])
        raise SamelightError(f"no parameter {pattern}" + (f"; did you mean {near}?" if near else ""))
    columns = [column for shot in shots if (column := table.column(shot)) is not None]
    cells = [(row, column) for row in rows for column in columns]
    if verb is Verb.WITHDRAW:
        decided = session.decided_cells()
        cells = [cell for cell in cells if decided.get(cell, State.OPEN) is not State.OPEN]
    else:
        # A pattern means what someone has to look at; a parameter named in full may be within its tolerance.
        named = any(table.rows[row].parameter == pattern for row in rows)
        lowest = Grade.WITHIN if named else Grade.DRIFT
        cells = [cell for cell in cells if table.grade[cell] >= lowest]
    if not cells:
        what = "no decision on" if verb is Verb.WITHDRAW else "no drift in"
        raise SamelightError(f"{what} {pattern} of {', '.join(shots)}: there is nothing to {verb}")
    return cells
