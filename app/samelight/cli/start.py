"""`samelight start`: a folder of sheets or scenes becomes a sequence."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from samelight.changes.starting import (
    Start,
    begin,
    found_lines,
    in_cut_order,
    look_at,
    next_lines,
    without_shots,
)
from samelight.cli.terminal import print_line
from samelight.drift.words import first_names
from samelight.sheets.errors import SamelightError

EXAMPLES = """examples:
  samelight start harbour
  samelight start harbour --key-shot HB_040 --cut edit/harbour.otio
"""
_NAMED = 6


DESCRIPTION = (
    "Say what a folder has of sheets, scenes, cuts and frames, and write its sequence.yaml, which names the key "
    "shot. Nothing that is there is written over. Exit status: 0 written, 2 not."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the folder")
    parser.add_argument(
        "--key-shot", metavar="SHOT", help="the shot that the others follow (asked for at a terminal)"
    )
    parser.add_argument(
        "--cut",
        metavar="FILE",
        help="the .otio or .edl file with the order of shots, in the folder; of a table (.csv) the order is written into sequence.yaml",
    )
    parser.add_argument(
        "--title", default="", help="what the sequence is called (default: the folder's name)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Say what is there, ask what is not known, and write."""
    start = in_cut_order(look_at(arguments.folder))
    for line in found_lines(start):
        print_line(line)
    if not start.shots:
        raise SamelightError(without_shots(start))
    key_shot = arguments.key_shot or _asked(start)
    path = begin(start, key_shot, title=arguments.title, cut=arguments.cut)
    print_line(f"Wrote {path}.")
    if start.sheets:
        _tell_read(start, key_shot)
    for line in next_lines(start):
        print_line(line)
    return 0


def _tell_read(start: Start, key_shot: str) -> None:
    """Say which of the sheets that are there already cannot be read, and what the others say of the key shot."""
    from samelight.cli.reading import tell_troubles  # only where there is something to read
    from samelight.sequence.session import open_session

    session = open_session(start.folder)
    tell_troubles(session, start.sheets, of_first=False)
    for finding in session.cases.findings:
        print_line(finding.says)
        print_line(f"  {finding.do}")
    if key_shot in start.sheets and key_shot in session.unreadable():
        print_line(f"Mend the sheet of {key_shot} first: the master is made of it.")


def _asked(start: Start) -> str:
    if not sys.stdin.isatty():
        raise SamelightError(f"{start.folder}: which shot is the key shot? Say it with --key-shot")
    print_line(f"Which shot is the key shot? ({first_names(start.shots, _NAMED)})")
    return sys.stdin.readline().strip()
