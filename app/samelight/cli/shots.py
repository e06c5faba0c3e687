"""Shots as people name them on a command line: one, several, a run of the cut, or those of a lighter."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from samelight.sequence.session import Session
from samelight.sheets.production import own_shots
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.shot_lists import chosen_shots, lighter_shots

__all__ = ["add_lighter", "add_shots", "asked_shots", "chosen_shots"]


def add_shots(parser: argparse.ArgumentParser) -> None:
    """Add `--shots`, which `chosen_shots` reads, to a command's parser."""
    parser.add_argument(
        "--shots",
        metavar="SHOTS",
        help="only these shots: a list such as A,B, a run of the cut such as A-C, or a pattern such as A*; in a production as "
        "SEQUENCE/SHOT",
    )


def add_lighter(parser: argparse.ArgumentParser) -> None:
    """Add `--lighter` to the parser of a command whose shots `asked_shots` finds."""
    parser.add_argument(
        "--lighter",
        metavar="NAME",
        help="only the shots that sequence.yaml gives to this lighter; with --shots, those of them",
    )


def asked_shots(arguments: argparse.Namespace, session: Session) -> list[str]:
    """The shots that `--shots` and `--lighter` ask for, in cut order; all of them without either.

    Raises `SamelightError` for a shot that is not in the cut, and for a lighter whom the sequence does not name.
    """
    return shots_of(arguments, session.contents.shots, session.contents.sequence)


def shots_of(arguments: argparse.Namespace, cut: Sequence[str], sequence: SequenceFile) -> list[str]:
    """The same before the sequence is read. Raises as `asked_shots`."""
    listed = cut if arguments.shots is None else chosen_shots(_own_shots(arguments, sequence), cut)
    lighter = getattr(arguments, "lighter", None)
    if lighter is None:
        return list(listed)
    theirs = set(lighter_shots(lighter, sequence.lighters, cut))
    return [shot for shot in listed if shot in theirs]


def _own_shots(arguments: argparse.Namespace, sequence: SequenceFile) -> str:
    """The shots that are asked for, which may be named with their sequence: SEQUENCE/SHOT."""
    name = getattr(arguments, "sequence_name", None) or sequence.folder.resolve().name
    return own_shots(arguments.shots, name)
