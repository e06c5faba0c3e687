"""The command `samelight`."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from samelight import __version__
from samelight.cli import capture, check, decide, open_window
from samelight.cli.terminal import COULD_NOT_RUN, complain
from samelight.sheets.errors import SamelightError

_DESCRIPTION = "Keeps every shot of a sequence lit by one sun in one room."
_EPILOG = """With a folder, or with nothing, the window opens.

examples:
  samelight
  samelight harbour
  samelight check harbour
"""


def build_parser() -> argparse.ArgumentParser:
    """The parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="samelight",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"samelight {__version__}")
    commands = parser.add_subparsers(metavar="COMMAND", dest="command")
    check.add_parser(commands)
    capture.add_parser(commands)
    decide.add_parser(commands)
    open_window.add_picture_parser(commands)
    return parser


def _opens_window(words: Sequence[str], parser: argparse.ArgumentParser) -> bool:
    if not words:
        return True
    known = next(
        action.choices for action in parser._actions if isinstance(action, argparse._SubParsersAction)
    )
    return not words[0].startswith("-") and words[0] not in known


def main(words: Sequence[str] | None = None) -> int:
    """Run the command; the exit status. No traceback reaches the user for what input can cause."""
    words = sys.argv[1:] if words is None else list(words)
    parser = build_parser()
    try:
        if _opens_window(words, parser):
            if len(words) > 1:
                parser.error(f"no command {words[0]!r}; a window opens one folder")
            if words and not Path(words[0]).exists():
                complain(f"{words[0]}: no such folder, and no such command (see samelight --help)")
                return COULD_NOT_RUN
            return open_window.run_window(Path(words[0]) if words else None)
        arguments = parser.parse_args(words)
        status: int = arguments.run(arguments)
        sys.stdout.flush()
        return status
    except SamelightError as error:
        complain(str(error))
        return COULD_NOT_RUN
    except BrokenPipeError:
        # Whoever read the output has gone; there is no one left to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return COULD_NOT_RUN
    except KeyboardInterrupt:
        complain("stopped")
        return 130
