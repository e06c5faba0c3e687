"""`samelight propose`: which shots seem to be lit alike, as a start for the set-ups of a sequence."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from samelight.changes.proposing import Proposal, propose
from samelight.cli.reading import add_jobs, opened, status_of, tell_troubles
from samelight.cli.terminal import print_json, print_line
from samelight.drift.words import counted
from samelight.sequence.troubles import Trouble
from samelight.sheets.vocabulary import FORMAT_VERSION
from samelight.sheets.writing import yaml_text

EXAMPLES = """examples:
  samelight propose harbour
  samelight propose harbour --format json
"""


DESCRIPTION = (
    "Group the shots that agree in most of sun, sky and key, say why, and print what sequence.yaml would have of it. "
    "Nothing is written: it is a guess, for whoever takes over a sequence that has no set-ups yet. "
    "Exit status: 0 told; 2 not, or not of every shot: one is missing or unreadable."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument(
        "--format", choices=("text", "json"), default="text", help="how to print (default: text)"
    )
    add_jobs(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the proposal."""
    session = opened(arguments)
    tell_troubles(session)
    failed: list[Trouble] = []
    found = propose(session, failed)
    if arguments.format == "json":
        print_json(_data(session.contents.sequence.title, found))
    else:
        for line in _lines(session.contents.sequence.title, found):
            print_line(line)
    return status_of(arguments, session, session.contents.shots, failed)


def _lines(title: str, found: Proposal) -> Iterator[str]:
    if not found.setups:
        yield f"{title}: no two shots are lit alike, so that there is nothing to propose."
    elif len(found.setups) == 1:
        yield f"{title}: one set-up is enough for what there is. Nothing was written."
    else:
        yield f"{title}: {counted(len(found.setups), 'set-up')}, as far as sun, sky and key tell. Nothing was written."
    for setup in found.setups:
        yield ""
        yield f"{setup.name}: {', '.join(setup.runs)} ({counted(len(setup.shots), 'shot')}), key shot {setup.key_shot}"
        for why in setup.why:
            yield f"  {why}"
    if found.left:
        yield ""
        for shot, why in found.left.items():
            yield f"{shot} {why}."
    if len(found.setups) > 1:
        stated = {
            setup.name: {"key_shot": setup.key_shot, "shots": list(setup.runs)} for setup in found.setups
        }
        yield ""
        yield "# for sequence.yaml, in the place of key_shot:"
        yield from yaml_text({"setups": stated}).rstrip("\n").splitlines()


def _data(title: str, found: Proposal) -> dict[str, Any]:
    return {
        "samelight": FORMAT_VERSION,
        "sequence": title,
        "setups": [
            {
                "setup": setup.name,
                "key_shot": setup.key_shot,
                "shots": list(setup.shots),
                "runs": list(setup.runs),
                "why": list(setup.why),
            }
            for setup in found.setups
        ],
        "left": dict(found.left),
    }
