"""Shots as people name them on a command line: one, several, or a run of the cut."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from samelight.sheets.errors import SamelightError, nearest_name


def add_shots(parser: argparse.ArgumentParser) -> None:
    """Add `--shots`, which `chosen_shots` reads, to a command's parser."""
    parser.add_argument(
        "--shots",
        metavar="SHOTS",
        help="only these shots: a list such as A,B or a run of the cut such as A-C",
    )


def chosen_shots(text: str, cut: Sequence[str]) -> list[str]:
    """The shots that a text such as "HB_010,HB_050-HB_080" names, in cut order, each once.

    Raises `SamelightError` for a shot that is not in the cut and for a run that ends before it starts.

    >>> chosen_shots("c,a-b", ["a", "b", "c", "d"])
    ['a', 'b', 'c']
    """
    chosen: set[str] = set()
    for part in text.split(","):
        name = part.strip()
        chosen.update([name] if name in cut else _run(name, cut))
    return [shot for shot in cut if shot in chosen]


def _run(text: str, cut: Sequence[str]) -> Sequence[str]:
    # A shot's own name may hold a dash, so every dash is tried.
    for index, character in enumerate(text):
        if character == "-":
            first, last = text[:index].strip(), text[index + 1 :].strip()
            if first in cut and last in cut:
                start, end = cut.index(first), cut.index(last)
                if end < start:
                    raise SamelightError(f"{first} comes after {last} in the cut")
                return cut[start : end + 1]
    unknown = next((name for name in _ends(text) if name not in cut), text)
    near = nearest_name(unknown, cut)
    raise SamelightError(f"no shot {unknown} in the cut" + (f"; did you mean {near}?" if near else ""))


def _ends(text: str) -> list[str]:
    return [name.strip() for name in text.split("-")] if text.count("-") == 1 else [text]
