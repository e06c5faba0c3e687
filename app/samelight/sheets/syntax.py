"""What is wrong with text that is not well formed, in words that help to mend it."""

from __future__ import annotations

import json
import re
from typing import NamedTuple

import yaml
from yaml.reader import ReaderError

from samelight.sheets.building import DEEPEST
from samelight.sheets.errors import Position, shown

_NOT_PRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class Problem(NamedTuple):
    """What was expected and found, and where."""

    expected: str
    found: str
    at: Position | None


_NO_START = "cannot start any token"
_YAML = (
    (
        "mapping values are not allowed",
        "one key: value on a line, or quotes",
        "a colon where no key can stand",
    ),
    ("could not find expected ':'", "a colon after the key", "none on this line"),
    ("expected ',' or ']'", "a comma, or the ] of the list", None),
    ("expected ',' or '}'", "a comma, or the } of the mapping", None),
    ("expected node content", "a value", None),
    ("expected key", "a key, indented as those above it", None),
    ("expected '-' indicator", "an item that starts with a dash, as those above it", None),
    (_NO_START, "quotes around text that starts so", None),
    ("unexpected end of stream", "a closing quote", "the end of the file"),
    ("unexpected document indicator", "a closing quote", "the end of the document"),
    ("expected <document start>", "the end of the file", None),
    ("Unicode character escape", "the code of a character after the backslash", None),
    ("unknown escape", "a backslash followed by n, t, u, a quote or a backslash", None),
    ("expected hexdecimal", "the code of a character after the backslash", None),
    ("incompatible YAML document", "YAML 1.1 or 1.2", "another version"),
    ("maximum nesting depth", f"at most {DEEPEST} levels of nesting", "more"),
    ("unknown directive", "a key or a value", "a line that starts with %"),
)
"""What libyaml says (a part of it), what was expected, and what was found (None: what stands there)."""

_FROM_THE_START = ("could not find expected ':'", "unexpected end of stream", "unexpected document indicator")
"""Problems that libyaml notices late: what has to be mended stands where its context began."""

_JSON = (
    ("Expecting value", "a value", None),
    ("Expecting property name", "a key in double quotes", None),
    ("Illegal trailing comma", "no comma before the closing bracket", None),
    ("Expecting ':'", "a colon after the key", None),
    ("Expecting ','", "a comma, or the closing bracket", None),
    ("Extra data", "the end of the file", None),
    ("Unterminated string", "a closing quote", "the end of the file"),
    ("Invalid control character", "text without line breaks and tabs", "one inside the quotes"),
    ("Invalid \\", "a backslash followed by n, t, u and four digits, a quote or a backslash", None),
)


def yaml_problem(error: yaml.YAMLError, text: str) -> Problem:
    """What is wrong by libyaml's word."""
    if isinstance(error, ReaderError):
        bad = _NOT_PRINTABLE.search(text)
        if bad:
            return Problem(
                "printable text", f"the control character U+{ord(bad[0]):04X}", _at(text, bad.start())
            )
    said, at = str(error).partition("\n")[0], None
    if isinstance(error, yaml.MarkedYAMLError):
        said = error.problem or error.context or said
        late = any(part in said for part in _FROM_THE_START)
        mark = (error.context_mark if late else None) or error.problem_mark or error.context_mark
        at = (mark.line + 1, mark.column + 1) if mark else None
    return _in_words(said, at, text, _YAML, "well-formed YAML")


def json_problem(error: json.JSONDecodeError, text: str) -> Problem:
    """What is wrong by the word of Python's reader of JSON."""
    at = (error.lineno, error.colno)
    return _in_words(error.msg, at, text, _JSON, "well-formed JSON")


def _in_words(
    said: str,
    at: Position | None,
    text: str,
    known: tuple[tuple[str, str, str | None], ...],
    otherwise: str,
) -> Problem:
    here = _standing_at(text, at)
    for part, expected, found in known:
        if part in said:
            is_tab = here == "a tab" and part == _NO_START
            return Problem("spaces to indent with" if is_tab else expected, found or here, at)
    return Problem(otherwise, said.removeprefix("found "), at)


def _standing_at(text: str, at: Position | None) -> str:
    lines = text.splitlines()
    if at is None or at[0] > len(lines):
        return "the end of the file"
    rest = lines[at[0] - 1][at[1] - 1 :]
    if rest.startswith("\t"):
        return "a tab"
    if not rest.strip():
        return "the end of the file" if at[0] == len(lines) else "the end of the line"
    return shown(re.split(r"[\s,]", rest.strip(), maxsplit=1)[0] or rest.strip()[0])


def _at(text: str, index: int) -> Position:
    return text.count("\n", 0, index) + 1, index - text.rfind("\n", 0, index)
