"""Output for people and for machines: results on stdout, everything else on stderr."""

from __future__ import annotations

import io
import json
import math
import os
import sys
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from json.encoder import encode_basestring, encode_basestring_ascii
from typing import IO, TYPE_CHECKING, Any, NamedTuple

from samelight.reports.shown import HIDDEN, clean

if TYPE_CHECKING:
    from samelight.reports.as_text import Printer

COULD_NOT_RUN = 2
UNSETTLED = 1
ALL_SETTLED = 0


class Uncoloured(NamedTuple):
    """Where results go that have no colours: a file, or the program that reads them."""

    file: IO[str]
    color_system: None = None

    def print(self, *objects: Any, soft_wrap: bool | None = None) -> None:
        """Print a line of these."""
        print(*objects, file=self.file)


def prepare_streams() -> None:
    """Make stdout and stderr take any text, whatever the terminal's encoding; a closed one swallows it."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8"))
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def drop_stdout() -> None:
    """Send what is still unwritten nowhere: whoever read stdout has gone, or its disk is full."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


_SAYS_TERMINAL = ("FORCE_COLOR", "TTY_COMPATIBLE")
"""What in the environment may say that there is a terminal where none is seen."""


def results(*, colour: bool = True) -> Printer:
    """Where results go. Colour only on a terminal, and never when NO_COLOR is set or `colour` is false."""
    if not sys.stdout.isatty() and not any(map(os.environ.get, _SAYS_TERMINAL)):
        return Uncoloured(sys.stdout)
    from rich.console import Console  # the only use of it, and a large one

    class Results(Console):
        def on_broken_pipe(self) -> None:
            """Leave it to `main`, which alone knows the exit status; rich would end the program with its own."""
            raise BrokenPipeError

    return Results(
        file=sys.stdout, highlight=False, markup=False, emoji=False, no_color=None if colour else True
    )


def print_line(text: str) -> None:
    """Print one line of a result, which may hold names out of files."""
    print(clean(text))


def print_text(text: str) -> None:
    """Print a whole file: as it is into a pipe or file, made safe on a terminal."""
    print("\n".join(map(clean, text.split("\n"))) if sys.stdout.isatty() else text, end="")


def print_json(data: Mapping[str, Any]) -> None:
    """Print data as JSON. Characters that steer a terminal are escaped, so that the file loses none of them.

    A value that is an iterator is a list whose items are printed as they come.
    """
    utf = (sys.stdout.encoding or "").lower().startswith("utf")
    for piece in _json_pieces(data, ascii_only=not utf):
        sys.stdout.write(_escaped(piece) if utf else piece)
    print()


def print_json_line(data: Mapping[str, Any]) -> None:
    """Print data as JSON on one line, escaped as `print_json` does it."""
    utf = (sys.stdout.encoding or "").lower().startswith("utf")
    text = json.dumps(data, ensure_ascii=not utf, allow_nan=False)
    print(_escaped(text) if utf else text)


def _json_pieces(data: Mapping[str, Any], *, ascii_only: bool) -> Iterator[str]:
    """The text of `json.dumps` with an indent of 1, in pieces."""
    quoted = encode_basestring_ascii if ascii_only else encode_basestring
    before, line = "{", "\n  "
    for key, value in data.items():
        yield f"{before}\n {quoted(key)}: "
        if isinstance(value, Iterator):
            start = "["
            for item in value:
                yield f"{start}{line}{_indented(item, line, quoted)}"
                start = ","
            yield "[]" if start == "[" else "\n ]"
        else:
            yield _indented(value, "\n ", quoted)
        before = ","
    yield "{}" if before == "{" else "\n}"


def _indented(value: Any, line: str, quoted: Callable[[str], str]) -> str:
    """A value as `json.dumps` with an indent of 1 writes it, which takes several times as long; `line` begins its lines."""
    if isinstance(value, str):
        return quoted(value)
    if type(value) in (float, int) and math.isfinite(value):
        return repr(value)
    if value is None or value == []:
        return "null" if value is None else "[]"
    inner = f"{line} "
    if isinstance(value, dict | Mapping) and value:  # a plain one is told at once
        pairs = [f"{quoted(key)}: {_indented(one, inner, quoted)}" for key, one in value.items()]
        return f"{{{inner}{f',{inner}'.join(pairs)}{line}}}"
    if isinstance(value, list | tuple) and value:
        return f"[{inner}{f',{inner}'.join([_indented(one, inner, quoted) for one in value])}{line}]"
    return json.dumps(value, allow_nan=False)


def _escaped(text: str) -> str:
    if text.replace("\n", "").isprintable():
        return text  # what is printable hides nothing, and that is said a hundred times faster
    return "".join(map(_escaped_character, text))


def _escaped_character(character: str) -> str:
    if character == "\n" or unicodedata.category(character) not in HIDDEN:
        return character
    return json.dumps(character).strip('"')


def complain(message: str) -> None:
    """Say what went wrong, on stderr."""
    for line in message.splitlines():
        print(f"samelight: {clean(line)}", file=sys.stderr)
