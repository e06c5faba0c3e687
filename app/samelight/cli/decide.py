"""`samelight decide`: write a decision from the command line."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.cli.terminal import results
from samelight.decisions.decision import Verb
from samelight.session import Session, account_name, open_session
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.patterns import matches

EXAMPLES = """examples:
  samelight decide harbour intend HB_090 lights.lantern_spot.position --reason "follows the boatman"
  samelight decide harbour return HB_180 "lights.window_fill.*" --reason "nudged by accident"
  samelight decide harbour withdraw HB_090 lights.lantern_spot.position
"""


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the program's parser."""
    parser = commands.add_parser(
        "decide",
        help="say that a drift is meant, send it back, or withdraw that",
        description="Write one decision for each cell of a shot that drifts and matches the parameter.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument("verb", choices=[str(verb) for verb in Verb], help="what to say")
    parser.add_argument("shot", help="the shot")
    parser.add_argument("parameter", help='the parameter, or a pattern such as "lights.lantern_spot.*"')
    parser.add_argument("--reason", default="", help="why; needed for intend")
    parser.add_argument("--who", default=None, help="who decides (default: the user's account)")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the decisions."""
    session = open_session(arguments.folder)
    verb = Verb(arguments.verb)
    cells = _cells(session, verb, arguments.shot, arguments.parameter)
    made = session.decide(verb, cells, arguments.who or account_name(), arguments.reason)
    for decision in made:
        results().print(f"{decision.verb} {decision.shot} {decision.parameter}", markup=False)
    return 0


def _cells(session: Session, verb: Verb, shot: str, pattern: str) -> list[tuple[int, int]]:
    table = session.table
    column = table.column(shot)
    if column is None:
        near = nearest_name(shot, table.shots)
        raise SamelightError(f"no shot {shot} in the cut" + (f"; did you mean {near}?" if near else ""))
    rows = [index for index, row in enumerate(table.rows) if matches(pattern, row.parameter)]
    if not rows:
        near = nearest_name(pattern, [row.parameter for row in table.rows])
        raise SamelightError(f"no parameter {pattern}" + (f"; did you mean {near}?" if near else ""))
    if verb is Verb.WITHDRAW:
        decided = session.decided_cells()
        cells = [(row, column) for row in rows if (row, column) in decided]
    else:
        cells = [(row, column) for row in rows if table.cell(row, column).open_worthy]
    if not cells:
        what = "no decision on" if verb is Verb.WITHDRAW else "no drift in"
        raise SamelightError(f"{what} {pattern} of {shot}: there is nothing to {verb}")
    return cells
