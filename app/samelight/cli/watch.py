"""`samelight watch`: what happens in a sequence, as JSON lines for whatever a studio hooks on."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Collection, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from samelight.cli.reading import watched
from samelight.cli.shots import add_lighter, add_shots, asked_shots
from samelight.cli.state_file import StateFile
from samelight.cli.terminal import COULD_NOT_RUN, complain, print_json_line
from samelight.sequence.case_events import CaseNow, Event, Snapshot, as_rows, events, from_rows, snapshot
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import is_production
from samelight.sheets.unforeseen import sentence_of
from samelight.sheets.vocabulary import FORMAT_VERSION

EXAMPLES = """examples:
  samelight watch harbour
  samelight watch harbour --lighter Ines
  samelight watch harbour --state harbour.state --once
  samelight watch town --state town.state
"""
_EVERY = 2.0
_DAY = 86400.0


DESCRIPTION = (
    "Follow the folder of a sequence or a production and print a JSON object a line for each thing that happens to a case: "
    f"{', '.join(Event)}; and trouble, where something cannot be read. It ends with Ctrl+C, or with --once. "
    "Exit status: 0 looked once; 2 could not look, or not at everything."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder, or a production: a folder of these")
    add_shots(parser)
    add_lighter(parser)
    parser.add_argument(
        "--state",
        type=Path,
        metavar="FILE",
        help="keep in FILE how cases stood, so that what happens between two runs is told by the next; without a file "
        "nothing is told of what was there at the start",
    )
    parser.add_argument(
        "--once", action="store_true", help="look once, tell what happened since --state, and end"
    )
    parser.add_argument(
        "--every",
        type=float,
        default=_EVERY,
        metavar="SECONDS",
        help="look at least so often, for shares that tell nothing of what others write (default: 2)",
    )


def run(arguments: argparse.Namespace) -> int:
    """Print what happens until it is stopped."""
    if arguments.once and arguments.state is None:
        raise SamelightError("--once tells what happened since the last look: it goes with --state")
    if not 0.0 < arguments.every <= _DAY:
        raise SamelightError(f"--every takes seconds, more than 0 and at most {_DAY:.0f}, which is a day")
    if is_production(arguments.folder):
        from samelight.cli.watch_production import watch_production

        return watch_production(arguments)
    with watched() as progress:
        session = open_session(arguments.folder, progress=progress)
    shots = frozenset(asked_shots(arguments, session))
    state = StateFile(arguments.state, lambda said: print_trouble(session.contents.sequence.title, said))
    known = state.read(lambda data: from_rows(data["told"]))
    before, troubles = tell(session, shots, known if known is not None else snapshot(session), frozenset())
    state.keep(state_of(before))
    if not arguments.once:
        for _ in ticks(arguments.folder, arguments.every):
            try:
                session.reload()
                shots = frozenset(asked_shots(arguments, session))  # one may have come into the cut
            except Exception as error:  # noqa: BLE001 - it is looked at again, and what can be read then is told
                if (said := sentence_of(error)) not in troubles:
                    print_trouble(session.contents.sequence.title, said)
                troubles = frozenset({*troubles, said})
                continue
            before, troubles = tell(session, shots, before, troubles)
            state.keep(state_of(before))
    left = [*sorted(troubles), *([state.trouble] if state.trouble else [])]
    for trouble in left:
        complain(trouble)
    return COULD_NOT_RUN if left or not session.whole else 0


def ticks(folder: Path, every: float) -> Iterator[None]:
    """One after each change in a folder, and one at least every so many seconds."""
    from watchfiles import watch  # which no other command needs

    for _ in watch(folder, watch_filter=None, yield_on_timeout=True, rust_timeout=milliseconds(every)):
        yield


def milliseconds(seconds: float) -> int:
    """Whole milliseconds, one at least: none would mean for ever."""
    return max(1, round(seconds * 1000))


def tell(
    session: Session, shots: Collection[str], before: Snapshot, told: Collection[str], name: str = ""
) -> tuple[Snapshot, frozenset[str]]:
    """Print what happened since a look, of a production with the `name` of the sequence; how cases stand now, and what cannot be
    read."""
    troubles = frozenset(
        [
            *(one.says for one in session.troubles if one.shot is None or one.shot in shots),
            *session.ledger.troubles(),
        ]
    )
    for said in sorted(troubles - frozenset(told)):
        print_trouble(session.contents.sequence.title, said, name)
    after = snapshot(session)
    for event, (shot, parameter), now in events(before, after):
        if shot in shots:
            print_json_line(_data(session, event, shot, parameter, now, name))
    sys.stdout.flush()
    return after, troubles


def _data(
    session: Session, event: Event, shot: str, parameter: str, now: CaseNow, name: str
) -> dict[str, Any]:
    return {
        "samelight": FORMAT_VERSION,
        "event": str(event),
        "when": _moment(),
        **({"name": name} if name else {}),
        "sequence": session.contents.sequence.title,
        "shot": shot,
        "lighters": list(session.crew.names(shot)),
        "parameter": parameter,
        "level": now.level,
        "state": str(now.state),
        "off": now.off,
        "who": now.who,
        "reason": now.reason,
    }


def print_trouble(title: str, said: str, name: str = "") -> None:
    """Print what cannot be read of a sequence, of a production with its name there."""
    print_json_line(
        {
            "samelight": FORMAT_VERSION,
            "event": "trouble",
            "when": _moment(),
            **({"name": name} if name else {}),
            "sequence": title,
            "says": said,
        }
    )
    sys.stdout.flush()


def _moment() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def state_of(cases: Snapshot) -> dict[str, Any]:
    """How cases stand, as plain data."""
    return {"samelight": FORMAT_VERSION, "told": as_rows(cases)}
