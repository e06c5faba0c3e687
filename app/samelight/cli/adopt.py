"""`samelight adopt`: carry the current master into shots that stand on an older one."""

from __future__ import annotations

import argparse
from pathlib import Path

from rich.text import Text

from samelight.adopting import Adoption, adopt, adoptions
from samelight.cli.shots import chosen_shots
from samelight.cli.terminal import results
from samelight.reports.as_text import clean
from samelight.session import open_session

EXAMPLES = """examples:
  samelight adopt harbour
  samelight adopt harbour --shots HB_150 --write
"""


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the program's parser."""
    parser = commands.add_parser(
        "adopt",
        help="carry the current master into shots that stand on an older one",
        description="Each such shot gets a next version in which what followed the old master follows the new one. What was "
        "decided to be intended is kept, and so is what the shot holds on its own. Nothing is written without --write.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument("--shots", help="only these: HB_010,HB_040 or a range of the cut HB_050-HB_080")
    parser.add_argument("--write", action="store_true", help="write the new versions")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Say what would be done, and do it when asked to."""
    session = open_session(arguments.folder)
    shots = chosen_shots(arguments.shots, session.shots) if arguments.shots else None
    found = adoptions(session, shots)
    console = results()
    if not found:
        console.print(Text(f"No shot stands on a master older than v{session.master_version or 0:03d}."))
        return 0
    for adoption in found:
        for line in _lines(adoption):
            console.print(Text(clean(line)), soft_wrap=True)
        if arguments.write:
            console.print(Text(f"  written {clean(str(adopt(adoption)))}"))
    if not arguments.write:
        console.print(Text("Nothing was written; --write does."), style="dim")
    return 0


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
