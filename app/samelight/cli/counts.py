"""How many, as a command line says it."""

from __future__ import annotations

import argparse


def count(text: str) -> int:
    """A whole number above 0. Raises `ArgumentTypeError`."""
    if not text.isdecimal() or len(text) > 6 or int(text) == 0:
        raise argparse.ArgumentTypeError(f"expected a whole number above 0, found {text!r}")
    return int(text)
