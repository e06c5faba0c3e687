"""The window, from the command line. The only place outside `gui` that knows it, and only when it is asked for."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.cli.terminal import print_line
from samelight.sheets.errors import SamelightError


def run_window(folder: Path | None) -> int:
    """Open the window on a folder, on the last sequence, or on the sample. Returns the exit status."""
    from samelight.gui.application import run

    return run(folder)


def add_picture_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command `picture` to the program's parser."""
    parser = commands.add_parser(
        "picture",
        help="save a picture of the window",
        description="Open a sequence in a window that nobody sees and save what it shows as a PNG.",
        epilog="example:\n  samelight picture harbour -o harbour.png --size 1600x950",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", type=Path, help="the sequence folder")
    parser.add_argument("-o", "--output", type=Path, required=True, help="the PNG file to write")
    parser.add_argument(
        "--size", type=_size, default=(1600, 950), metavar="WxH", help="in pixels (default: 1600x950)"
    )
    parser.add_argument(
        "--select", nargs=2, metavar=("SHOT", "PARAMETER"), help="the cell to show in the inspector"
    )
    parser.set_defaults(run=_picture)


def _size(text: str) -> tuple[int, int]:
    width, _, height = text.partition("x")
    if not (
        width.isdigit() and height.isdigit() and 200 <= int(width) <= 10_000 and 200 <= int(height) <= 10_000
    ):
        raise argparse.ArgumentTypeError(f"expected a size such as 1600x950, found {text!r}")
    return int(width), int(height)


def _picture(arguments: argparse.Namespace) -> int:
    if arguments.output.suffix.lower() != ".png":
        raise SamelightError(f"{arguments.output}: expected a name that ends in .png")
    from samelight.gui.pictures import save_picture

    select = tuple(arguments.select) if arguments.select else None
    save_picture(arguments.folder, arguments.output, arguments.size, select)
    print_line(str(arguments.output))
    return 0
