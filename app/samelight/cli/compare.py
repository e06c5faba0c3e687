"""`samelight compare`: what changed from one saved check to the next."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.cli.terminal import ALL_SETTLED, UNSETTLED, print_json, print_line
from samelight.reports.compare import compared, comparison_data, comparison_lines, read_check

EXAMPLES = """examples:
  samelight check harbour --format json > monday.json
  samelight check harbour --format json > friday.json
  samelight compare monday.json friday.json
"""


DESCRIPTION = (
    "Compare two files that `check --format json` wrote: what was mended, what is new, what moved, what was "
    "decided. Exit status: 0 nothing new to decide or mend, 1 something new, 2 a file could not be used."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("old", type=Path, help="the older check")
    parser.add_argument("new", type=Path, help="the newer check")
    parser.add_argument(
        "--format", choices=("text", "json"), default="text", help="how to print (default: text)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Compare them."""
    old, new = read_check(arguments.old), read_check(arguments.new)
    found = compared(old, new)
    if arguments.format == "json":
        print_json(comparison_data(old, new, found))
    else:
        for line in comparison_lines(old, new, found):
            print_line(line)
    return UNSETTLED if found.is_worse else ALL_SETTLED
