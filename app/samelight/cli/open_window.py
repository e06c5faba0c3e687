"""The window, from the command line. The only place outside `gui` that knows it, and only when it is asked for."""

from __future__ import annotations

import argparse
from pathlib import Path

from samelight.cli.terminal import print_line
from samelight.gui.screenshots.screens import SCREENS
from samelight.sheets.errors import SamelightError, nearest_name

_FIRST, _LONGEST = next(iter(SCREENS)), max(map(len, SCREENS))

DESCRIPTION = "Open a sequence in a window that nobody sees and save what a screen shows as a PNG."
EXAMPLES = """examples:
  samelight picture harbour -o harbour.png --size 1600x950
  samelight picture harbour -o sky.png --screen sky --scale 200
  samelight picture harbour --all-screens pictures --size 1280x720

screens:
""" + "\n".join(f"  {name:<{_LONGEST}}  {screen.shows}" for name, screen in SCREENS.items())


def run_window(folder: Path | None) -> int:
    """Open the window on a folder, on the last sequence, or on the sample. Returns the exit status."""
    from samelight.gui.window import application

    return application.run(folder)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command `picture` takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder")
    where = parser.add_mutually_exclusive_group(required=True)
    where.add_argument("-o", "--output", type=Path, metavar="FILE", help="the PNG file to write")
    where.add_argument(
        "--all-screens", type=Path, metavar="FOLDER", help="write a picture of every screen into a folder"
    )
    parser.add_argument(
        "--screen", type=_screen, metavar="NAME", help=f"one of those listed below (default: {_FIRST})"
    )
    parser.add_argument(
        "--size",
        type=_size,
        default=(1600, 950),
        metavar="WxH",
        help="the window's size in pixels, before it is scaled (default: 1600x950)",
    )
    parser.add_argument(
        "--scale",
        type=_scale,
        default=100,
        metavar="PERCENT",
        help="how large it is drawn, 100 to 200: at 200 the picture has twice as many pixels each way (default: 100)",
    )
    parser.add_argument(
        "--select", nargs=2, metavar=("SHOT", "PARAMETER"), help="the cell that the cursor is on"
    )


def _screen(text: str) -> str:
    if text not in SCREENS:
        near = nearest_name(text, SCREENS)
        raise argparse.ArgumentTypeError(
            f"no screen is called {text!r}" + (f" (did you mean {near}?)" if near else "")
        )
    return text


def _size(text: str) -> tuple[int, int]:
    width, _, height = text.partition("x")
    if not (
        width.isdecimal()
        and height.isdecimal()
        and 200 <= int(width) <= 10_000
        and 200 <= int(height) <= 10_000
    ):
        raise argparse.ArgumentTypeError(f"expected a size such as 1600x950, found {text!r}")
    return int(width), int(height)


def _scale(text: str) -> int:
    number = text.removesuffix("%").strip()
    if not (number.isdecimal() and 100 <= int(number) <= 200):
        raise argparse.ArgumentTypeError(f"expected per cent from 100 to 200, found {text!r}")
    return int(number)


def run(arguments: argparse.Namespace) -> int:
    """Save the pictures that are asked for."""
    if arguments.all_screens is not None:
        if arguments.screen is not None:
            raise SamelightError("--all-screens writes every screen; --screen chooses one: give one of them")
        files = {name: arguments.all_screens / f"{name}.png" for name in SCREENS}
    elif arguments.output.suffix.lower() != ".png":
        raise SamelightError(f"{arguments.output}: expected a name that ends in .png")
    else:
        files = {arguments.screen or _FIRST: arguments.output}
    from samelight.gui.screenshots.screenshots import Look, save_pictures

    cell_name = tuple(arguments.select) if arguments.select else None
    look = Look(arguments.size, arguments.scale, cell_name)
    save_pictures(arguments.folder, files, look, lambda path: print_line(str(path)))
    return 0
