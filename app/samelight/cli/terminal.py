"""Output for people: results on stdout, everything else on stderr."""

from __future__ import annotations

import sys

from rich.console import Console

from samelight.reports.as_text import clean

COULD_NOT_RUN = 2
OPEN_DRIFT = 1
NOTHING_OPEN = 0


def results() -> Console:
    """Where results go. Colour only on a terminal, and never when NO_COLOR is set."""
    wide = None if sys.stdout.isatty() else 160
    return Console(file=sys.stdout, highlight=False, markup=False, emoji=False, width=wide)


def complain(message: str) -> None:
    """Say what went wrong, on stderr."""
    for line in message.splitlines():
        print(f"samelight: {clean(line)}", file=sys.stderr)
