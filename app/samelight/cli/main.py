"""The command `samelight`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from samelight import __version__
from samelight.cli import (
    adopt,
    capture,
    check,
    compare,
    completion,
    decide,
    fix,
    open_window,
    plan,
    publish,
    report,
    schema,
)
from samelight.cli.terminal import COULD_NOT_RUN, complain, drop_stdout, prepare_streams
from samelight.reports.as_text import clean
from samelight.sheets.errors import SamelightError
from samelight.sheets.unforeseen import what_failed

_DESCRIPTION = "Keeps every shot of a sequence lit by one sun in one room."
_EPILOG = """With a folder, or with nothing, the window opens.

examples:
  samelight
  samelight harbour
  samelight check harbour
"""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the words typed, which a shell may have taken from the names of files."""
        self.print_usage(sys.stderr)
        self.exit(COULD_NOT_RUN, f"{self.prog}: error: {clean(message)}\n")


def build_parser() -> argparse.ArgumentParser:
    """The parser of the whole command line."""
    parser: argparse.ArgumentParser = _Parser(
        prog="samelight",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"samelight {__version__}")
    commands = parser.add_subparsers(metavar="COMMAND", dest="command", required=True)
    check.add_parser(commands)
    compare.add_parser(commands)
    report.add_parser(commands)
    fix.add_parser(commands)
    plan.add_parser(commands)
    capture.add_parser(commands)
    decide.add_parser(commands)
    publish.add_parser(commands)
    adopt.add_parser(commands)
    schema.add_parser(commands)
    open_window.add_picture_parser(commands)
    completion.add_parser(commands, build_parser)
    return parser


def _opens_window(words: Sequence[str], parser: argparse.ArgumentParser) -> bool:
    if not words:
        return True
    known = next(
        action.choices for action in parser._actions if isinstance(action, argparse._SubParsersAction)
    )
    return not words[0].startswith("-") and words[0] not in known


def main(words: Sequence[str] | None = None) -> int:
    """Run the command; the exit status. No traceback reaches the user: that of an error which nobody foresaw is kept in a
    file that the message names."""
    prepare_streams()
    try:
        status = _run(sys.argv[1:] if words is None else list(words))
        sys.stdout.flush()
        return status
    except SamelightError as error:
        complain(str(error))
    except BrokenPipeError:
        drop_stdout()  # whoever read the output has gone; there is no one left to tell
    except OSError as error:
        drop_stdout()
        complain(f"{error.filename}: {error.strerror}" if error.filename else str(error.strerror or error))
    except KeyboardInterrupt:
        complain("stopped")
        return 130
    except Exception as error:
        complain(f"an error of the program itself stopped this: {what_failed(error)}")
    return COULD_NOT_RUN


def _run(words: Sequence[str]) -> int:
    parser = build_parser()
    if not _opens_window(words, parser):
        arguments = parser.parse_args(words)
        status: int = arguments.run(arguments)
        return status
    if len(words) > 1:
        parser.error(f"no command {words[0]!r}; a window opens one folder")
    if words and not Path(words[0]).exists():
        raise SamelightError(f"{words[0]}: no such folder, and no such command (see samelight --help)")
    return open_window.run_window(Path(words[0]) if words else None)
