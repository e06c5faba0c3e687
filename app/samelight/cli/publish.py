"""`samelight publish`: a key shot's sheet becomes the next master setup."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.changes.publishing import Candidate, Follows, Preview, candidate_from, preview, publish
from samelight.cli.reading import tell_troubles, watched
from samelight.cli.terminal import print_line
from samelight.sequence.session import account_name, open_session
from samelight.sheets.errors import SamelightError

EXAMPLES = """examples:
  samelight publish harbour --preview
  samelight publish harbour --from HB_040
"""


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser], says: str) -> None:
    """Add the command to the program's parser; `says` is what it does, in the list of commands."""
    parser = commands.add_parser(
        "publish",
        help=says,
        description="Lights, environments, render settings, surfaces and passes become the master; camera, marks, cost and "
        "animation stay the shot's own. What it would do to every shot is printed first.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument(
        "--from", dest="shot", metavar="SHOT", help="the shot (default: the sequence's key shot)"
    )
    parser.add_argument("--preview", action="store_true", help="only say what it would do; write nothing")
    parser.add_argument(
        "--despite-breaks",
        action="store_true",
        help="also when the shot itself breaks a lock, or cannot be tried against a master that cannot be read",
    )
    parser.add_argument("--who", help="who publishes (default: the user's account)")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Preview, and publish unless only the preview is asked for."""
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    tell_troubles(session)
    shot = session.sequence.key_shot if arguments.shot is None else arguments.shot
    if shot is None:
        raise SamelightError("sequence.yaml names no key_shot: say which shot with --from")
    who = arguments.who or account_name()
    candidate = candidate_from(session, shot, who, despite_breaks=arguments.despite_breaks)
    _print(candidate, preview(session, candidate.sheet))
    if not arguments.preview:
        print_line(f"published {publish(candidate)}")
    return 0


def _print(candidate: Candidate, effects: Preview) -> None:
    made_of = candidate.tree["published"]["from"]
    print_line(f"master v{candidate.version:03d} from {made_of}, tried against {candidate.tried_text}")
    if not effects.changed:
        print_line("It changes nothing.")
        return
    for parameter in effects.changed:
        found = [effect for effect in effects.effects if effect.parameter == parameter]
        counts = {kind: [e.shot for e in found if e.follows is kind] for kind in Follows}
        parts = [f"{len(shots)} {kind}" for kind, shots in counts.items() if shots]
        print_line(f"  {parameter}: {', '.join(parts)}")
        if counts[Follows.HOLDS]:
            print_line(f"    holding their own: {', '.join(counts[Follows.HOLDS])}")
    lapsing = effects.lapsing()
    if lapsing:
        listed = ", ".join(f"{effect.shot} {effect.parameter}" for effect in lapsing)
        print_line(f"decisions that would ask again: {listed}")
