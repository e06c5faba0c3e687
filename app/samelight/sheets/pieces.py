"""A plain YAML sheet read piece by piece, so that what many sheets of a film have in common is read once.

A piece is an entry of the whole file, or one of a section, such as one light. Every piece is a document of its own for
the reader in `building`, or is of a spelling so simple that it means the same in JSON. Wherever that is not certain
there is no result, and the file is read as a whole.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import yaml

from samelight.sheets.building import LARGEST_TREE, build
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.events import yaml_events

_NUMBER = r"-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,17})?(?:[eE][-+]?[0-9]{1,2})?"
# What `scalars` reads as no text, or might in another case, is left to it.
_RESOLVED = r"(?i:true|yes|on|false|no|off|null|inf|infinity|nan)(?![A-Za-z0-9_/.-])"
_WORD = rf"(?:(?=[^tyofniTYOFNI])|(?!{_RESOLVED}))[A-Za-z_/][A-Za-z0-9_/.-]*+"
_MEASURED = rf"{_NUMBER} [A-Za-z]{{1,3}}"
_INSIDE = r"[ !#-&(-\[\]-~]*"  # what stands for itself in quotes of either kind, in YAML and in JSON
_TEXT = rf"(?:'{_INSIDE}'|\"{_INSIDE}\"|{_MEASURED}|{_WORD})"
_SCALAR = rf"(?:{_TEXT}|{_NUMBER}|true|false)"
_LIST = rf"\[(?:{_SCALAR}(?:, {_SCALAR})*)?\]"
_INNER = rf"(?:{_SCALAR}|{_LIST})"
_KEY = rf"(?:'{_INSIDE}'|{_WORD})"
_MAPPING = rf"\{{(?:{_KEY}: {_INNER}(?:, {_KEY}: {_INNER})*)?\}}"
_VALUE = rf"(?:{_INNER}|{_MAPPING})"
_SIMPLE = re.compile(rf"(?:{_INNER}|\{{(?:{_KEY}: {_VALUE}(?:, {_KEY}: {_VALUE})*)?\}})")
_BARE = re.compile(r"([A-Za-z_/][A-Za-z0-9_/.-]*)")
_ANY_TEXT = re.compile(rf"(?<![^ \[{{])(?:'({_INSIDE})'|\"({_INSIDE})\"|({_MEASURED}|{_WORD}))")

_ENTRY = re.compile(r"\n(?=[^\s#])")
_DEEPEST_INDENT = 8
_GROUPS = [re.compile(rf"\n(?= {{{indent}}}[^\s#])") for indent in range(_DEEPEST_INDENT + 1)]
_NAME = re.compile(r"([A-Za-z_][A-Za-z0-9_-]*):(?=[ \n]|\Z)")
_NOTHING = re.compile(r"(?:(?:#[ -~\xa0-\ud7ff]*)?\n)*")  # control characters are a fault in comments too
_LARGEST = LARGEST_TREE // 2
"""Characters. Without aliases no text of that size is a tree beyond the limit."""

_ONE_LINE = re.compile(r"[^\n]*\n*")


class _UnsureError(Exception):
    """A piece that may mean something else in its place."""


def read_pieces(text: str) -> dict[str, Any] | None:
    """The tree of YAML text, equal to what `build` makes of it; None where that is not certain.

    What is read once is shared between trees: treat them as read only.
    """
    text = text.replace("\r\n", "\n")
    if len(text) > _LARGEST or "&" in text or "\t" in text or "\r" in text:
        return None
    if not text.isascii() and any(line_break in text for line_break in "\x85\u2028\u2029"):
        return None
    try:
        return dict(_entries(text))
    except _UnsureError:
        return None


def _entries(text: str) -> Iterator[tuple[str, Any]]:
    head, *pieces = _parted(text, _ENTRY)
    if _NAME.match(head):
        pieces.insert(0, head)
    elif not pieces or not _NOTHING.fullmatch(head):
        raise _UnsureError
    seen = set()
    for piece in pieces:
        name = _NAME.match(piece)
        if name is None or name[1] in seen:
            raise _UnsureError
        seen.add(name[1])
        yield name[1], _section(name[1], piece, piece[name.end() :])


def _parted(text: str, starts: re.Pattern[str]) -> list[str]:
    """The text in parts, each from a start to the next."""
    places = [0, *(start.end() for start in starts.finditer(text)), len(text)]
    return [text[start:end] for start, end in pairwise(places)]


def _section(name: str, piece: str, below: str) -> Any:
    """The value of one entry of a file: its groups one by one, where it has any."""
    indent = len(below) - len(below.lstrip("\n").lstrip(" ")) - 1
    if not below.startswith("\n ") or indent > _DEEPEST_INDENT:
        return _entry(name, piece)
    groups: dict[str, Any] = {}
    for group in _parted(below[1:], _GROUPS[indent]):
        found = _NAME.match(group, indent)
        if found is None or found[1] in groups:
            return _entry(name, piece)
        groups[found[1]] = _group(found[1], group[:indent], group[indent:])
    return groups


@lru_cache(maxsize=4096)
def _group(name: str, indent: str, text: str) -> Any:
    value = _simple(text)
    return value if value is not None else _built(f"_:\n{indent}{text}", "_", name)


def _entry(name: str, text: str) -> Any:
    value = _simple(text)
    return value if value is not None else _built(text, name)


def _simple(text: str) -> Any:
    """The value of an entry on one line, where it means the same in JSON."""
    name = _NAME.match(text)
    if name is None or not _ONE_LINE.fullmatch(text):
        return None
    value = text[name.end() :].rstrip("\n").lstrip(" ")
    if not _SIMPLE.fullmatch(value):
        return None
    if "'" not in value and '"' not in value:
        quoted = '"'.join(_BARE.split(value))  # every other part is a text, a switch or an exponent
        try:
            return _json(quoted.replace('"true"', "true").replace('"false"', "false"))
        except ValueError:
            pass
    return _json(_ANY_TEXT.sub(r'"\1\2\3"', value))


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) != len(pairs) or "" in result or "<<" in result:
        raise _UnsureError
    return result


_json = json.JSONDecoder(object_pairs_hook=_once).decode


def _built(text: str, *way: str) -> Any:
    """The value at the end of a way of single keys, as `build` reads it."""
    faults = Faults(Path(), lambda place: None)
    try:
        tree = build(yaml_events(text), faults)
    except (yaml.YAMLError, UnicodeEncodeError, SheetError):
        raise _UnsureError from None
    for key in way:
        if not isinstance(tree, dict) or tree.keys() != {key}:
            raise _UnsureError
        tree = tree[key]
    if len(faults):
        raise _UnsureError
    return tree
