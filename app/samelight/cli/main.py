"""The command `samelight`."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager, redirect_stdout
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

from samelight import __version__
from samelight.cli.terminal import COULD_NOT_RUN, complain, drop_stdout, prepare_streams
from samelight.reports.shown import clean
from samelight.sheets.errors import SamelightError, nearest_name, shown

_DESCRIPTION = "Keeps every shot of a sequence lit by one sun in one room."
_EPILOG = """With a folder, or with nothing, the window opens.

examples:
  samelight
  samelight harbour
  samelight check harbour
"""


COMMANDS: Mapping[str, tuple[str, str]] = {
    "start": ("start", "make a sequence of a folder of sheets or scenes"),
    "check": ("check", "say what differs from the master"),
    "compare": ("compare", "say what changed between two saved checks"),
    "report": ("report", "write the state of the sequence as a document"),
    "fix": ("fix", "say what to set in each shot"),
    "match": ("match", "bring a face to the key shot's, light by light, from measured frames"),
    "plan": ("plan", "project what the sequence costs to render"),
    "capture": ("capture", "make a sheet of a scene, or of all scenes of a sequence"),
    "measure": ("measure", "measure the marks of shots in their frames"),
    "decide": ("decide", "say that a drift is meant, send it back, take it up, close it, or withdraw that"),
    "publish": ("publish", "make the next master setup of a key shot's sheet"),
    "adopt": ("adopt", "carry the current master into shots that stand on an older one"),
    "across": ("across", "say what goes through all sequences of a production"),
    "propose": ("propose", "say which shots seem to share a set-up"),
    "watch": ("watch", "print what happens in a sequence as JSON lines"),
    "schema": ("schema", "print the format of a file, or of what a check prints"),
    "picture": ("open_window", "save pictures of the program's screens"),
    "completion": ("completion", "print what a shell needs to complete these commands"),
}
"""Each command's module, and what it does. The module loads with all that it needs only when somebody asks for the command."""


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
    parser.add_argument("--version", action="version", version=f"samelight {__version__}")
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


@contextmanager
def _said(arguments: argparse.Namespace) -> Iterator[None]:
    """Where results are printed, or nothing is where nobody wants them."""
    if not arguments.quiet:
        yield
        return
    with open(os.devnull, "w", encoding="utf-8") as nowhere, redirect_stdout(nowhere):  # noqa: PTH123 - a device
        yield


def _opens_window(words: Sequence[str]) -> bool:
    return not words or (not words[0].startswith("-") and words[0] not in COMMANDS)


def main(words: Sequence[str] | None = None) -> int:
    """Run the command; the exit status. No traceback reaches the user: that of an error which nobody foresaw is kept in a
    file that the message names."""
    prepare_streams()
    try:
        status = _run(sys.argv[1:], keeps=True) if words is None else _run(list(words))
        sys.stdout.flush()
        return status
    except SamelightError as error:
        complain(str(error))
    except BrokenPipeError:
        drop_stdout()  # whoever read the output has gone; there is no one left to tell
    except KeyboardInterrupt:
        complain("stopped")
        return 130
    except Exception as error:  # noqa: BLE001 - no traceback reaches a user
        from samelight.sheets.unforeseen import sentence_of

        if isinstance(error, OSError):
            drop_stdout()
        complain(sentence_of(error))
    return COULD_NOT_RUN


def _run(words: Sequence[str], *, keeps: bool = False) -> int:
    """Run the words; with `keeps` an answer may be one that was kept, and is kept."""
    odd = next((word for word in words if "\0" in word), None)
    if odd is not None:  # no shell can write it, and no file, shot or reason has it
        raise SamelightError(f"expected words without a NUL, which ends them, found {shown(odd)}")
    keeps = keeps and words[:1] == ["check"]
    if keeps:
        from samelight.cli import answers  # of which nothing else has any

        known = answers.kept(words)
        if known is not None:
            return known
    first = COMMANDS.keys() & words[:1]  # who begins with a command is told of no other
    parser = build_parser(first or COMMANDS.keys() & words, first or COMMANDS)
    if not _opens_window(words):
        arguments = parser.parse_args(words)
        if keeps:
            return answers.answered(words, arguments)
        with _said(arguments):
            status: int = arguments.run(arguments)
        return status
    if len(words) > 1:
        parser.error(f"no command {words[0]!r}; a window opens one folder")
    if words and not Path(words[0]).exists():
        raise SamelightError(f"{words[0]}: no such folder, and no such command (see samelight --help)")
    from samelight.cli import open_window

    return open_window.run_window(Path(words[0]) if words else None)
