"""`samelight adopt`: carry the current master into shots that stand on an older one."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.changes.adopting import Adoption, adopt, adoptions
from samelight.cli.adopt_layer import write_adopted_layers
from samelight.cli.reading import check_decided, status_of, tell_troubles, watched
from samelight.cli.shots import add_lighter, add_shots, asked_shots
from samelight.cli.terminal import print_line
from samelight.sequence.session import open_session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.errors import SamelightError

EXAMPLES = """examples:
  samelight adopt harbour
  samelight adopt harbour --shots HB_150 --write
  samelight adopt quay --usd quay/layers
"""


DESCRIPTION = (
    "Each such shot gets a next version in which what followed the old master follows the new one. It keeps "
    "every intended value, and every value that is the shot's own. Nothing is written without --write. Exit status: 0 done; 2 not done, or not for every "
    "shot that was asked for: one is missing or unreadable, or decisions cannot be read, in which case nothing is written."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder")
    add_shots(parser)
    add_lighter(parser)
    parser.add_argument("--write", action="store_true", help="write the new versions")
    parser.add_argument(
        "--usd",
        type=Path,
        metavar="FOLDER",
        help="write a USD layer SHOT.usda for each such shot into FOLDER, to lay over its scene: it brings the layer of the new "
        "master, and keeps by overs what is the shot's",
    )


def run(arguments: argparse.Namespace) -> int:
    """Say what would be done, and do it when asked to."""
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    shots = asked_shots(arguments, session)
    tell_troubles(session, shots)
    if not session.contents.has_master:
        raise SamelightError("there is no master setup to adopt")
    if arguments.write or arguments.usd:
        check_decided(session)
    failed: list[Trouble] = []
    found = adoptions(session, shots, failed)
    if not found and not failed:
        than = (
            "the current one"
            if session.contents.master is None
            else f"v{session.contents.master.version:03d}"
        )
        print_line(f"No shot stands on a master older than {than}.")
    for adoption in found:
        for line in _lines(adoption):
            print_line(line)
        if arguments.write:
            written = None
            with apart(adoption.shot, failed):
                written = adopt(adoption)
            print_line(f"  written {written}" if written else "  not written")
    if found and arguments.usd:
        write_adopted_layers(session, found, arguments.usd, failed)
    if found and not (arguments.write or arguments.usd):
        print_line("Nothing was written; --write and --usd do.")
    return status_of(arguments, session, shots, failed)


def _lines(adoption: Adoption) -> list[str]:
    lines = [f"{adoption.shot} stands on master v{adoption.base:03d}"]
    for title, names in (
        ("takes over", adoption.taken),
        ("keeps, as intended", adoption.kept),
        ("holds its own", adoption.held),
        ("cannot be written for it, set by hand", adoption.left),
    ):
        if names:
            lines.append(f"  {title}: {', '.join(names)}")
    return lines
