"""`samelight fix`: what to set in each shot, and on request a sheet in which it is set."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Sequence
from pathlib import Path

from samelight.changes.fix_list import ShotFixes, fix_list
from samelight.changes.fixing import fixed_version, write_fixed
from samelight.cli.reading import add_jobs, check_decided, opened, status_of, tell_troubles
from samelight.cli.shots import add_lighter, add_shots, asked_shots
from samelight.cli.terminal import print_line, print_text
from samelight.cli.usd_layer import write_usd_layer, write_usd_layers
from samelight.drift.cells import GRADES
from samelight.reports.as_csv import fixes_csv
from samelight.reports.as_markdown import fixes_markdown
from samelight.reports.fix_text import fixes_text
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.documents import write_document
from samelight.sheets.errors import SamelightError
from samelight.sheets.trees import BYTE_ORDER_MARK

EXAMPLES = """examples:
  samelight fix harbour
  samelight fix harbour --shots HB_150,HB_180
  samelight fix harbour --lighter Tomas
  samelight fix harbour -o fixes.md
  samelight fix harbour --shots HB_180 --sheet
  samelight fix harbour --shots HB_180 --sheet --write
  samelight fix quay --shots QU_030 --usd-layer quay_030_fix.usda
"""
_BY_ENDING = {".md": "markdown", ".markdown": "markdown", ".csv": "csv", ".txt": "text"}


DESCRIPTION = (
    "List for every shot the exact values that put it back to the master, in the shot's own units and spelling, "
    "what is seen most first. It leaves intended values out. Exit status: 0 listed; 2 not listed, or not "
    "of every shot that was asked for: one is missing or unreadable, or decisions cannot be read."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder")
    add_shots(parser)
    add_lighter(parser)
    parser.add_argument("--all", action="store_true", help="also the intended values")
    parser.add_argument(
        "--at-least",
        choices=("within", "drift", "break"),
        default="drift",
        help="the lowest level that is listed (default: drift)",
    )
    parser.add_argument(
        "--format",
        choices=("text", "markdown", "csv"),
        help="how to write it (default: by the file's ending)",
    )
    parser.add_argument(
        "-o", "--output", type=Path, metavar="FILE", help="the file to write (default: print it)"
    )
    parser.add_argument("--sheet", action="store_true", help="say what a next version of each sheet would be")
    parser.add_argument("--write", action="store_true", help="with --sheet: write those versions")
    parser.add_argument(
        "--usd-layer",
        type=Path,
        metavar="LAYER",
        help="write a USD layer of overs to lay over the shot's scene, with --shots and one shot; where LAYER is a folder, "
        "one of each shot",
    )
    parser.add_argument(
        "--scene", type=Path, help="with --usd-layer: the scene, where it is not where it was captured from"
    )
    add_jobs(parser)


def run(arguments: argparse.Namespace) -> int:
    """List the fixes, or make sheets of them."""
    if arguments.write and not arguments.sheet:
        raise SamelightError("--write goes with --sheet")
    if arguments.scene and not arguments.usd_layer:
        raise SamelightError("--scene goes with --usd-layer")
    session = opened(arguments)
    if not session.contents.has_master:
        raise SamelightError("there is no master setup to put anything back to")
    shots = asked_shots(arguments, session)
    tell_troubles(session, shots)
    if (arguments.write or arguments.usd_layer) and not arguments.all:
        check_decided(session)
    failed: list[Trouble] = []
    fixes = fix_list(
        session,
        shots=frozenset(shots),
        at_least=GRADES[arguments.at_least],
        every=arguments.all,
        failed=failed,
    )
    if arguments.usd_layer:
        if not arguments.usd_layer.suffix or arguments.usd_layer.is_dir():
            if arguments.scene:
                raise SamelightError("--scene goes with one layer, not with a folder of them")
            whole = arguments.at_least != "break"
            mended = _without(session, shots, fixes, failed) if whole else set()
            write_usd_layers(session, fixes, arguments.usd_layer, failed, mended)
            return status_of(arguments, session, shots, failed)
        if len(shots) != 1:
            raise SamelightError(
                "--usd-layer makes a layer for one shot: say which with --shots, or name a folder for all"
            )
        write_usd_layer(session, fixes, arguments.usd_layer, arguments.scene)
        return status_of(arguments, session, shots, failed)
    if arguments.sheet:
        _sheets(session, [part for part in fixes if part.fixes], arguments.write, failed)
        return status_of(arguments, session, shots, failed)
    form = arguments.format or _BY_ENDING.get(
        arguments.output.suffix.lower() if arguments.output else "", "text"
    )
    text = _text(form, session, fixes)
    if arguments.output is None:
        print_text(text)
    else:
        write_document(arguments.output, BYTE_ORDER_MARK + text if form == "csv" else text)
        print_line(str(arguments.output))
    return status_of(arguments, session, shots, failed)


def _without(
    session: Session, shots: Collection[str], fixes: Sequence[ShotFixes], failed: Sequence[Trouble]
) -> set[str]:
    """The shots that were compared, and have nothing to be set."""
    held = {
        shot
        for shot in shots
        if shot in session.contents.sheets and session.contents.setup_of(shot).master is not None
    }
    return held - {part.shot for part in fixes if part.fixes} - {one.shot for one in failed if one.shot}


def _text(form: str, session: Session, fixes: Sequence[ShotFixes]) -> str:
    if form == "csv":
        return fixes_csv(fixes)
    if form == "markdown":
        return fixes_markdown(session.contents.sequence.title, session.contents.master_version, fixes)
    return fixes_text(fixes)


def _sheets(session: Session, parts: Sequence[ShotFixes], write: bool, failed: list[Trouble]) -> None:
    for part in parts:
        fixed = written = None
        with apart(part.shot, failed):
            fixed = fixed_version(session, part)
        if fixed is None:
            continue
        print_line(f"{fixed.shot}: version {fixed.version}, {fixed.path.name}")
        for fix in part.fixes:
            print_line(f"  {fix.cell.parameter}: {fix.do}")
        if fixed.remaining:
            print_line(f"  still drifting: {', '.join(fixed.remaining)}")
        if write:
            with apart(part.shot, failed):
                written = write_fixed(fixed)
            print_line(f"  written {written}" if written else "  not written")
    if not parts and not failed:
        print_line("Nothing to set.")
    elif not write:
        print_line("Nothing was written; --write does.")
