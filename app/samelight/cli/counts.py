"""Numbers, as a command line says them."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable


def count(text: str) -> int:
    """A whole number above 0. Raises `ArgumentTypeError`."""
    if not text.isdecimal() or len(text) > 6 or int(text) == 0:
        raise argparse.ArgumentTypeError(f"expected a whole number above 0, found {text!r}")
    return int(text)


def number(expected: str, is_one: Callable[[float], bool]) -> Callable[[str], float]:
    """What reads a number such as is expected, in words and by what it is. It raises `ArgumentTypeError` for another."""

    def read(text: str) -> float:
        try:
            found = float(text)
        except ValueError:
            found = math.nan
        if not is_one(found):
            raise argparse.ArgumentTypeError(f"expected {expected}, found {text!r}")
        return found

    return read
