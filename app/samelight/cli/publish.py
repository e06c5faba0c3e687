"""`samelight publish`: a key shot's sheet becomes the next master setup."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from samelight.changes.publish_words import changes_of, counted_text, findings_of
from samelight.changes.publishing import (
    Candidate,
    Follows,
    NeedsDespiteError,
    Preview,
    candidate_from,
    preview,
    publish,
)
from samelight.cli.reading import tell_troubles, watched
from samelight.cli.terminal import COULD_NOT_RUN, print_line
from samelight.drift.words import counted
from samelight.sequence.session import Session, account_name, open_session
from samelight.sheets.errors import SamelightError

EXAMPLES = """examples:
  samelight publish harbour --preview
  samelight publish harbour --from HB_040
  samelight publish mole --setup night
"""


DESCRIPTION = (
    "Lights, environments, render settings, surfaces and passes become the master, with their animation "
    "as so many frames after the shot's first; camera, marks and cost stay the shot's own. What it would do to every shot is printed first. "
    "Exit status: 0 done; 2 not done, or not tried on every shot: one is unreadable."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument(
        "--from",
        dest="shot",
        metavar="SHOT",
        help="the shot (default: the key shot of the sequence or set-up)",
    )
    parser.add_argument(
        "--setup",
        metavar="NAME",
        help="the set-up whose next master it becomes (default: that of the shot), where the sequence states several",
    )
    parser.add_argument("--preview", action="store_true", help="only say what it would do; write nothing")
    parser.add_argument(
        "--despite-breaks",
        action="store_true",
        help="also when the shot itself breaks a lock, states a master that is not here, or cannot be tried against one that cannot be read",
    )
    parser.add_argument(
        "--usd",
        action="store_true",
        help="write the lights, environments and render settings of the shot's scene as a USD layer beside the master",
    )
    parser.add_argument("--who", help="who publishes (default: the user's account)")


def run(arguments: argparse.Namespace) -> int:
    """Preview, and publish unless only the preview is asked for."""
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    tell_troubles(session, of_first=False)
    shot = _key_shot(session, arguments.setup) if arguments.shot is None else arguments.shot
    who = arguments.who or account_name()
    try:
        candidate = candidate_from(
            session, shot, who, despite_breaks=arguments.despite_breaks, setup=arguments.setup
        )
    except NeedsDespiteError as error:
        raise SamelightError(f"{error} (--despite-breaks)") from None
    stated = session.contents.sheets[shot].master or 0
    if candidate.version == 1 < stated and not arguments.despite_breaks:
        raise SamelightError(
            f"{shot} says that it is built on master {stated}, which is not here: once there is a master 1, its sheet and all that say so "
            "cannot be read; put that master into the folder master, take `master` out of these sheets, or publish despite it (--despite-breaks)"
        )
    _print(session, shot, candidate, preview(session, candidate.sheet, candidate.setup))
    if not arguments.preview:
        scene = _scene(session, shot) if arguments.usd else None
        layer = candidate.path.with_suffix(".usda")
        if scene is not None and os.path.lexists(layer):
            raise SamelightError(f"{layer}: is there already, so that nothing was published")
        path = publish(candidate)
        print_line(f"published {path}")
        if scene is not None:
            _write_layer(session, candidate, shot, scene, path.with_suffix(".usda"))
    return COULD_NOT_RUN if any(trouble.faults for trouble in session.unreadable().values()) else 0


def _scene(session: Session, shot: str) -> Path:
    """The scene of a shot as it was captured. Raises `SamelightError` where there is none, before anything is published."""
    from samelight.cli.usd_layer import captured_scene

    return captured_scene(session, shot)


def _write_layer(session: Session, candidate: Candidate, shot: str, scene: Path, out: Path) -> None:
    from samelight.sources.limits import SCENE
    from samelight.sources.trial import tried
    from samelight.sources.usd.master_layer import write_master

    source = session.contents.sheets[shot].typed["source"]
    why = f"Master {candidate.version} of {session.contents.sequence.title}, from {shot}."
    count = tried(scene, SCENE, write_master, out, scene, source, candidate.version, why)
    print_line(f"written {out}: {counted(count, 'light')}")


def _key_shot(session: Session, setup: str | None) -> str:
    """The key shot of a set-up, or of the whole sequence."""
    if setup is None and session.contents.sequence.setups:
        names = ", ".join(session.contents.sequence.setups)
        raise SamelightError(f"the sequence has several set-ups: say which with --setup ({names})")
    shot = session.contents.setup_asked_for(setup or "").sequence.key_shot
    if shot is None:
        of = f" of {setup}" if setup else ""
        raise SamelightError(f"sequence.yaml names no key_shot{of}: say which shot with --from")
    return shot


def _print(session: Session, shot: str, candidate: Candidate, effects: Preview) -> None:
    made_of = candidate.tree["published"]["from"]
    print_line(f"{candidate.text} from {made_of}, {candidate.tried_text}")
    for finding in findings_of(session, shot):
        print_line(f"  look at {shot} first: {finding.says}")
    if not effects.changed:
        print_line("It changes nothing.")
        return
    if effects.heirs:
        print_line(effects.heirs_text)
    for change in changes_of(session, candidate, effects):
        print_line(f"  {change.line}")
        parts = [counted_text(kind, len(own)) for kind in Follows if (own := change.shots.get(kind))]
        if parts and candidate.tried is not None:
            print_line(f"    {', '.join(parts)}")
        if (held := change.shots.get(Follows.HOLDS)) and candidate.tried is not None:
            print_line(f"    holding their own: {', '.join(held)}")
    lapsing = effects.lapsing()
    if lapsing:
        listed = ", ".join(f"{effect.shot} {effect.parameter}" for effect in lapsing)
        print_line(f"decisions that would ask again: {listed}")
