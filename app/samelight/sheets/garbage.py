"""What Python's search for circles need not look through: a film's millions of values are in none, and it takes its time."""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collection() -> Iterator[None]:
    """Trees being read are no garbage, and looking for some among a film's millions of values takes a third of the time.

    Afterwards they count as what has been there for long: the next search would go through all of them once more.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            if not _is_aside:
                gc.freeze()
                gc.unfreeze()
            gc.enable()


_is_aside = False
"""Whether something is set aside, which `gc.unfreeze` would take back."""


def set_aside() -> None:
    """Search no more through what there is now: that holds up the window."""
    global _is_aside  # noqa: PLW0603 - there is one search in a process
    _is_aside = True
    gc.freeze()


def take_back() -> None:
    """Search once through what was set aside: it may be of another film, which may be let go by now.

    Beside the window it is left to the window's own search: no other thread may let go of what is Qt's.
    """
    global _is_aside  # noqa: PLW0603
    _is_aside = False
    if gc.get_freeze_count():
        gc.unfreeze()
        if threading.current_thread() is threading.main_thread():
            gc.collect()
