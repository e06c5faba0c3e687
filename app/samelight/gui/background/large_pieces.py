"""Large pieces of memory that nobody holds any more go back to the system at once.

The C library keeps them for later once one was let go of, and what it keeps lies scattered between what is held: a window on a
film would take half as much again.
"""

from __future__ import annotations

import ctypes
from functools import cache

LARGE = 4 * 2**20
"""Bytes. To ask the system for so many takes a small part of the time that it takes to fill them."""

_MMAP_THRESHOLD = -3
"""The name of what is set, in malloc.h of glibc."""


@cache
def let_large_pieces_go() -> bool:
    """Set it for the whole process, where the C library is one that can be told so (glibc); whether it is."""
    try:
        tell = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):
        return False
    return bool(tell(_MMAP_THRESHOLD, LARGE))
