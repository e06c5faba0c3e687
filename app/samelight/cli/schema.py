"""`samelight schema`: the format of a sheet, of the other files of a sequence, or of what a check prints, as a JSON Schema."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from samelight.sheets.documents import write_document
from samelight.sheets.schema import sheet_schema
from samelight.sheets.writing import json_text

EXAMPLES = """examples:
  samelight schema
  samelight schema -o sheet.schema.json
  samelight schema policy -o policy.schema.json
  samelight schema check -o check.schema.json
"""


DESCRIPTION = (
    "Print the format of a sheet as a JSON Schema (draft 2020-12), by which an editor can complete and "
    "check what is typed; also that of sequence.yaml, of a policy, of a decision and of a saved view, and with check that of what "
    "check --format json prints. What must agree with what, such as an azimuth with its elevation, only `check` tells."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "of",
        nargs="?",
        choices=("sheet", "sequence", "policy", "decision", "view", "check"),
        default="sheet",
        help="whose format (default: sheet)",
    )
    parser.add_argument(
        "-o", "--output", type=Path, metavar="FILE", help="the file to write (default: print it)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Print the schema, or write it."""
    text = json_text(_schema(arguments.of))
    output: Path | None = arguments.output
    if output is None:
        print(text, end="")
    else:
        write_document(output, text)
    return 0


def _schema(of: str) -> Mapping[str, Any]:
    if of == "check":
        from samelight.reports.check_schema import (
            check_schema,
        )  # with every finding, which a sheet's needs none of

        return check_schema()
    if of != "sheet":
        from samelight.reports.file_schemas import FILE_SCHEMAS

        return FILE_SCHEMAS[of]()
    return sheet_schema()
