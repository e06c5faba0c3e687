"""The command `samelight`."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, redirect_stdout
from pathlib import Path
from typing import TYPE_CHECKING

from samelight.cli.commands import COMMANDS, VERSION
from samelight.cli.terminal import COULD_NOT_RUN, complain, drop_stdout, prepare_streams, print_line
from samelight.sheets.errors import SamelightError, nearest_name, shown

if TYPE_CHECKING:
    import argparse


@contextmanager
def _said(arguments: argparse.Namespace) -> Iterator[None]:
    """Where results are printed, or nothing is where nobody wants them."""
    if not arguments.quiet:
        yield
        return
    with open(os.devnull, "w", encoding="utf-8") as nowhere, redirect_stdout(nowhere):  # noqa: PTH123 - a device
        yield


def _meant(word: str) -> str:
    """Which command was probably meant by a word that is none, as a question."""
    near = nearest_name(word, COMMANDS)
    return f"did you mean {near}?" if near else ""


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
    if list(words) == ["--version"]:  # what needs no parser starts in half the time
        print_line(VERSION)
        sys.exit(0)
    keeps = keeps and words[:1] == ["check"]
    if keeps:
        from samelight.cli import answers  # of which nothing else has any

        known = answers.kept(words)
        if known is not None:
            return known
    from samelight.cli.parser import build_parser  # an answer that was kept needs none

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
        parser.error(f"no command {words[0]!r}; {_meant(words[0]) or 'a window opens one folder'}")
    if words and not Path(words[0]).exists():
        way_out = _meant(words[0]) or "samelight --help lists them"
        raise SamelightError(f"{words[0]}: no such folder, and no such command; {way_out}")
    from samelight.cli import open_window

    return open_window.run_window(Path(words[0]) if words else None)
