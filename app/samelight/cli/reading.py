"""The progress of reading a sequence, where somebody watches, and what could not be read of it."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterator
from contextlib import contextmanager

from samelight.cli.terminal import complain
from samelight.session import Progress, Session


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


def tell_troubles(session: Session, shots: Collection[str] | None = None) -> list[str]:
    """Say on stderr, and return, what is wrong with the sequence, with these shots (None: all) and with its decisions."""
    troubles = [
        trouble.says
        for trouble in session.troubles
        if shots is None or trouble.shot is None or trouble.shot in shots
    ]
    for trouble in troubles:
        complain(trouble)
    for fault in session.ledger.faults:
        complain(f"decision skipped: {fault}")
    return troubles
