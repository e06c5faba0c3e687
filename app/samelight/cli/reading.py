"""Opening a sequence for a command: its progress, where somebody watches, and what could not be read of it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from samelight.cli.counts import count
from samelight.cli.terminal import COULD_NOT_RUN, complain
from samelight.cli.workers import processes
from samelight.sequence.capturing import bring_up_to_date
from samelight.sequence.contents import ShotFilter
from samelight.sequence.prefetch import Prefetch
from samelight.sequence.session import Progress, Session, open_store
from samelight.sequence.store import SheetStore
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import SamelightError
from samelight.sheets.shot_lists import UnorderedShots

if TYPE_CHECKING:
    from samelight.sources.batch import Job, Outcome


def add_jobs(parser: argparse.ArgumentParser) -> None:
    """Add `--jobs` and `--policy` to the parser of a command that opens its sequence with `opened`."""
    parser.add_argument(
        "--jobs",
        type=count,
        default=1,
        metavar="N",
        help="read sheets in N processes at a time (default: 1): for a film that was not read before; where another process "
        "would take longer to start than it saves, there is none. Of a production N sequences are worked on at a time",
    )
    parser.add_argument(
        "--policy",
        type=Path,
        metavar="FILE",
        help="a policy in the place of the sequence's own, which has to lie in its folder: this one may lie anywhere",
    )


def add_scheduler(parser: argparse.ArgumentParser) -> None:
    """Add `--scheduler` to the parser of a command that a production is shared out by."""
    parser.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="share the sequences of a production out to the farm of this scheduler, whose machines have this version of the program "
        "and the production under the same path (extra: farm)",
    )


def only_for_productions(arguments: argparse.Namespace) -> None:
    """Raises `SamelightError` where one sequence is to be shared out."""
    if arguments.scheduler is not None:
        raise SamelightError("--scheduler goes with a production; one sequence is read with --jobs")


def opened(
    arguments: argparse.Namespace,
    shots: ShotFilter | None = None,
    parts: Sequence[Path] = (),
    seal_key: bytes | None = None,
    *,
    looks_at_scenes: bool = False,
) -> Session:
    """The sequence that a command was given, read as `--jobs` and `--policy` say. With `looks_at_scenes` those that have changed
    since they were captured are captured first. Raises as `open_session`."""
    unused: list[str] = []
    prefetch = Prefetch(parts, seal_key, unused.append, processes, arguments.jobs)
    with watched() as progress:
        store = SheetStore(arguments.folder, arguments.policy, getattr(arguments, "common", None))
        if looks_at_scenes:
            bring_up_to_date(store, _captured, _tell_captured)
        session = open_store(store, progress=progress, shots=shots, prefetch=prefetch)
    for said in unused:
        complain(said)
    return session


def _captured(jobs: Sequence[Job]) -> Iterable[Outcome]:
    from samelight.cli.workers import children
    from samelight.sources.batch import capture_all
    from samelight.sources.pools import processors

    return capture_all(jobs, children, processors())


def _tell_captured(outcome: Outcome) -> None:
    from samelight.sources.batch import Result

    if outcome.result is Result.NEW and outcome.sheet is not None:
        complain(f"{outcome.shot}: captured from its scene as that is now: {outcome.sheet.name}")


@contextmanager
def watched() -> Iterator[Progress | None]:
    """What `open_session` takes as progress: a bar on stderr when that is a terminal, nothing otherwise."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("reading"), BarColumn(), MofNCompleteColumn())
    with Bar(*columns, console=Console(file=sys.stderr), transient=True) as bar:
        task = bar.add_task("reading", total=None)
        yield lambda done, total, name: bar.update(task, completed=done, total=total)


def tell_troubles(
    session: Session, shots: Collection[str] | None = None, *, of_first: bool = True
) -> list[str]:
    """Say on stderr, and return, what is wrong with the sequence, with these shots (None: all) and with its decisions; but that the
    first master is still to be published, only with `of_first`."""
    troubles = [
        trouble.says
        for trouble in session.troubles
        if (shots is None or trouble.shot is None or trouble.shot in shots)
        and (of_first or not trouble.asks_for_first)
    ]
    troubles += [*session.ledger.troubles(), *session.ledger.remarks()]
    for trouble in troubles:
        complain(trouble)
    return troubles


def check_decided(session: Session) -> None:
    """Raises `SamelightError` where sheets are to be written that keep what was intended, and that is not known whole."""
    if session.ledger.faults or session.ledger.gone:
        raise SamelightError(
            "nothing is written: Samelight cannot read every decision, and might put intended values back"
        )


def lacks_its_cut(arguments: argparse.Namespace, session: Session) -> bool:
    """Whether all shots are asked for, and which those are stands in a file that cannot be read: one of them may be missing."""
    named = (getattr(arguments, "shots", None), getattr(arguments, "lighter", None))
    return named == (None, None) and isinstance(session.contents.shots, UnorderedShots)


def status_of(
    arguments: argparse.Namespace, session: Session, shots: Collection[str], failed: Sequence[Trouble] = ()
) -> int:
    """The exit status of a command that did its work on these shots: 2 where it could not look at all of them, or failed in one,
    which is said."""
    for one in failed:
        complain(one.says)
    left_out = session.unreadable().keys() & set(shots)
    is_whole = session.whole and not left_out and not failed and not lacks_its_cut(arguments, session)
    return 0 if is_whole else COULD_NOT_RUN
