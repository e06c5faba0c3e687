"""The words that the command `samelight` takes."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Collection
from importlib import import_module
from typing import Any, NoReturn

from samelight.cli.commands import COMMANDS, VERSION
from samelight.cli.terminal import COULD_NOT_RUN
from samelight.reports.shown import clean
from samelight.sheets.errors import nearest_name

_DESCRIPTION = "Keeps every shot of a sequence lit by one sun in one room."
_EPILOG = """With a folder, or with nothing, the window opens.

examples:
  samelight
  samelight harbour
  samelight check harbour
"""


class _Parser(argparse.ArgumentParser):
    def _check_value(self, action: argparse.Action, value: Any) -> None:
        """Say which words may stand there and which was probably meant, under the name that whoever typed it knows."""
        if action.choices is None or value in action.choices:
            return
        words = [str(word) for word in action.choices]
        near = nearest_name(str(value), words)
        where = f"{action.option_strings[0]}: " if action.option_strings else ""
        meant = f"; did you mean {near}?" if near else ""
        raise argparse.ArgumentError(
            None, f"{where}expected {', '.join(words[:-1])} or {words[-1]}, found {str(value)!r}{meant}"
        )

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Say of a word that the command does not know which of its own was probably meant, under the command's usage."""
        found, unknown = super().parse_known_args(args, namespace)
        if unknown:
            options = [word.partition("=")[0] for word in unknown if word.startswith("-")]
            near = nearest_name(options[0], self._option_string_actions) if options else None
            meant = f"; did you mean {near}?" if near else ""
            self.error(f"unrecognized arguments: {' '.join(unknown)}{meant}")
        return found, unknown

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the words typed, which a shell may have taken from the names of files."""
        self.print_usage(sys.stderr)
        self.exit(COULD_NOT_RUN, f"{self.prog}: error: {clean(message)}\n")


def build_parser(
    asked: Collection[str] = COMMANDS, listed: Collection[str] = COMMANDS
) -> argparse.ArgumentParser:
    """The parser of the whole command line, of which only the commands that are asked for know their own words; of the others
    those that are not `listed` are left out."""
    parser: argparse.ArgumentParser = _Parser(
        prog="samelight",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=VERSION)
    commands = parser.add_subparsers(metavar="COMMAND", dest="command", required=True)
    for name, (place, says) in COMMANDS.items():
        if name not in asked:
            if name in listed:
                commands.add_parser(name, help=says)
            continue
        module = import_module(f"samelight.cli.{place}")
        command = commands.add_parser(
            name,
            help=says,
            description=module.DESCRIPTION,
            epilog=module.EXAMPLES,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        module.add_arguments(command)
        if "--quiet" not in command._option_string_actions:
            command.add_argument(
                "--quiet", action="store_true", help="print nothing; the exit status says it"
            )
        command.set_defaults(run=module.run)
    return parser
