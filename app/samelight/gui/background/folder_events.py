"""What happens in folders, as the system tells of it."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import watchfiles

_GATHER = 120
"""Milliseconds in which what happens is gathered."""
_STEP = 50

Events = set[tuple[watchfiles.Change, str]]
"""What happened to which paths."""


def folder_events(stop: threading.Event, every: int, *folders: str) -> Iterator[Events]:
    """What happens in some folders, until `stop` is set; nothing where none came in `every` milliseconds.

    Raises OSError or RuntimeError where a folder is gone, or the system gives no watches.
    """
    for events in watchfiles.watch(
        *folders,
        watch_filter=None,
        debounce=_GATHER,
        step=_STEP,
        stop_event=stop,
        rust_timeout=every,
        yield_on_timeout=True,
        raise_interrupt=False,
    ):
        if stop.is_set():
            return
        yield events
