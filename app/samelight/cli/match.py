"""`samelight match`: trims that bring a face to the key shot's, from frames with a layer for each light."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.changes.fix_list import ShotFixes
from samelight.changes.fixing import fixed_version, write_fixed
from samelight.changes.matching import FURTHEST, LEFT, Match, check_mark, matches, send_back
from samelight.cli.reading import check_decided, status_of, tell_troubles, watched
from samelight.cli.shots import add_lighter, add_shots, asked_shots
from samelight.cli.terminal import print_line, print_text
from samelight.reports.match_text import matches_text
from samelight.sequence.session import account_name, open_session
from samelight.sequence.troubles import Trouble, apart

EXAMPLES = """examples:
  samelight match landing
  samelight match landing --shots LA_060 --write
  samelight match landing --shots LA_060 --send-back --who Ines
"""


DESCRIPTION = (
    "Say for every shot by how many stops to brighten or dim which lights, so that a mark gets of each what it gets in "
    f"the key shot's frame: the fewest lights that leave less than {LEFT:g} stops, each by at most {FURTHEST:g}, as exact values in the shot's own units and "
    "spelling. It needs frames with a layer for each light, measured before (samelight measure). Nothing is written without --write or --send-back. Exit status: 0 done; 2 not "
    "done, or not for every shot that was asked for: one is missing or unreadable, no frame has the mark of --mark, or decisions cannot be read, in which case "
    "nothing is written."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder")
    add_shots(parser)
    add_lighter(parser)
    parser.add_argument(
        "--mark", metavar="NAME", help="the mark to match (default: the first that was measured in both)"
    )
    does = parser.add_mutually_exclusive_group()
    does.add_argument("--write", action="store_true", help="write a next version of each sheet")
    does.add_argument(
        "--send-back",
        action="store_true",
        help="send the levels of these lights back to their lighters, with what to type as the reason",
    )
    parser.add_argument("--who", default=None, help="who sends them back (default: the user's account)")


def run(arguments: argparse.Namespace) -> int:
    """Say what would be set, and set it when asked to."""
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    shots = asked_shots(arguments, session)
    tell_troubles(session, shots)
    if arguments.mark is not None:
        check_mark(session, arguments.mark)
    if arguments.write:
        check_decided(session)
    failed: list[Trouble] = []
    found = matches(session, frozenset(shots), arguments.mark, failed)
    print_text(matches_text(found))
    typed = [one for one in found if isinstance(one, Match) and any(trim.edits for trim in one.trims)]
    for one in typed if arguments.write else ():
        part, written = ShotFixes(one.shot, one.sheet, (), dict(one.tree), lighter=one.lighter), None
        with apart(one.shot, failed):
            written = write_fixed(fixed_version(session, part))
        print_line(f"{one.shot}: written {written}" if written else f"{one.shot}: not written")
    trimmed = [one for one in found if isinstance(one, Match) and one.trims]
    for one in trimmed if arguments.send_back else ():
        with apart(one.shot, failed):
            for decision in send_back(session, one, arguments.who or account_name()):
                print_line(f"{decision.verb} {decision.shot} {decision.parameter}")
    if trimmed and not (arguments.write or arguments.send_back):
        print_line("Nothing was written; --write does, and --send-back asks for it.")
    return status_of(arguments, session, shots, failed)
