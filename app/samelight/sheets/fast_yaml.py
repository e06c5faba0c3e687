"""A plain YAML sheet read piece by piece, so that what many sheets of a film have in common is read once.

A piece is an entry of the whole file, or one of a section, such as one light. Every piece is a document of its own for
the reader in `building`, or is of a spelling so simple that it means the same in JSON. Wherever that is not certain
there is no result, and the file is read as a whole.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import yaml

from samelight.sheets.building import LARGEST_TREE, build
from samelight.sheets.errors import Faults, SheetError
from samelight.sheets.events import yaml_events

# Every choice and every repetition is atomic or possessive: what one part takes it never gives back, since no part of a
# text can be read in two ways. Without that, text that does not match would be tried in all of them.
_NUMBER = r"(?>-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,17})?(?:[eE][-+]?[0-9]{1,2})?)"
# What `scalars` reads as no text, or might in another case, is left to it.
_RESOLVED = r"(?i:true|yes|on|false|no|off|null|inf|infinity|nan)(?![A-Za-z0-9_/.-])"
_WORD = rf"(?>(?:(?=[^tyofniTYOFNI])|(?!{_RESOLVED}))[A-Za-z_/][A-Za-z0-9_/.-]*+)"
_MEASURED = rf"{_NUMBER} [A-Za-z]{{1,3}}+"
_ID = r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{6}\.[0-9]{6}Z-[0-9a-f]{12}"  # of a decision: no number, for its letters
_INSIDE = r"[ !#-&(-\[\]-~]*+"  # what stands for itself in quotes of either kind, in YAML and in JSON
_TEXT = rf"(?>'{_INSIDE}'|\"{_INSIDE}\"|{_MEASURED}|{_ID}|{_WORD})"
_SCALAR = rf"(?>{_TEXT}|{_NUMBER}|true|false)"


def _each(item: str, end: str) -> str:
    """Items with a comma and a space between them, and what ends them. The item stands in it once: a pattern takes time to compile."""
    return rf"(?:{item}(?:, (?!\{end})|(?=\{end})))*+\{end}"


_LIST = rf"(?>\[{_each(_SCALAR, ']')}|\[{_NUMBER}(?:, ?{_NUMBER})*+\])"
_INNER = rf"(?>{_SCALAR}|{_LIST})"
_KEY = rf"(?>'{_INSIDE}'|{_WORD})"
_MAPPING = rf"(?>\{{{_each(f'{_KEY}: {_INNER}', '}')})"
_VALUE = rf"(?>{_INNER}|{_MAPPING})"
_SIMPLE = rf"(?>{_INNER}|\{{{_each(f'{_KEY}: {_VALUE}', '}')})"
_BARE = re.compile(r"([A-Za-z_/][A-Za-z0-9_/.-]*)")
_ANY_TEXT = re.compile(rf"(?<![^ \[{{])(?:'({_INSIDE})'|\"({_INSIDE})\"|({_MEASURED}|{_ID}|{_WORD}))")

_ONE_WORD, _ONE_NUMBER = re.compile(_WORD), re.compile(_NUMBER)
_NUMBERS = re.compile(rf"\[{_NUMBER}(?:, {_NUMBER})*+\]")
_GROUP_IN_ONE = re.compile(r"\{[^{}]++\}")
_ITEMS = re.compile(r"[^ ,\[{][^,\[{]*+(?:\[[^\[\]]*+\]|\{[^{}]*+\})?")
"""Finds the items of a mapping, if no text in quotes looks like several. Whether they are items is yet to be seen."""

_ENTRY = re.compile(r"\n(?=[^\s#])")
_DEEPEST_INDENT = 8
_GROUPS = [re.compile(rf"\n(?= {{{indent}}}[^\s#])") for indent in range(_DEEPEST_INDENT + 1)]
_NAME = re.compile(r"([A-Za-z_][A-Za-z0-9_-]*):(?=[ \n]|\Z)")
_NOTHING = re.compile(r"(?:(?:#[ -~\xa0-\ud7ff]*)?\n)*")  # control characters are a fault in comments too
_BEFORE_VALUES = ("\n", ",", ":", "[", "{", "-", "?")
"""Every value but the first stands behind one of these, so that without aliases a text has no more values than these."""

_SHORT = 200
"""Characters of an entry that many files may have in common, as those of a ledger have most of their lines."""


_USUAL = 2**16
"""Characters that hardly a sheet has more of."""


class UnsureError(Exception):
    """A piece that may mean something else in its place."""


def read_pieces(text: str) -> dict[str, Any] | None:
    """The tree of YAML text, equal to what `build` makes of it; None where that is not certain.

    What is read once is shared between trees: treat them as read only.
    """
    return _met_last(text) if len(text) <= _USUAL else read_anew(text)


def read_anew(text: str) -> dict[str, Any] | None:
    """`read_pieces`, whether the text was met before or not."""
    text = text.replace("\r\n", "\n")
    if not _is_modest(text) or "&" in text or "\t" in text or "\r" in text:
        return None
    if not text.isascii() and any(line_break in text for line_break in "\x85\u2028\u2029"):
        return None
    try:
        return dict(_entries(text))
    except UnsureError:
        return None


_met_last = lru_cache(maxsize=128)(read_anew)
"""Sheets that were read ahead are read again at once."""


def _is_modest(text: str) -> bool:
    """Whether a text without aliases is certainly no tree beyond the limit."""
    return len(text) <= LARGEST_TREE // 2 or sum(map(text.count, _BEFORE_VALUES)) < LARGEST_TREE


def _entries(text: str) -> Iterator[tuple[str, Any]]:
    head, *pieces = _parted(text, _ENTRY)
    if _NAME.match(head):
        pieces.insert(0, head)
    elif not pieces or not _NOTHING.fullmatch(head):
        raise UnsureError
    seen = set()
    for piece in pieces:
        name, value = _short(piece) if len(piece) <= _SHORT else _named(piece)
        if name in seen:
            raise UnsureError
        seen.add(name)
        yield name, value


def _named(piece: str) -> tuple[str, Any]:
    """The name and the value of an entry of a file."""
    name = _NAME.match(piece)
    if name is None:
        raise UnsureError
    return sys.intern(name[1]), _section(name[1], piece, piece[name.end() :])


_short = lru_cache(maxsize=16384)(_named)


def _parted(text: str, starts: re.Pattern[str]) -> list[str]:
    """The text in parts, each from a start to the next."""
    places = [0, *(start.end() for start in starts.finditer(text)), len(text)]
    return [text[start:end] for start, end in pairwise(places)]


def _section(name: str, piece: str, below: str) -> Any:
    """The value of one entry of a file: its groups one by one, where it has any."""
    indent = len(below) - len(below.lstrip("\n").lstrip(" ")) - 1
    if not below.startswith("\n ") or indent > _DEEPEST_INDENT:
        return _entry(name, piece, below)
    groups: dict[str, Any] = {}
    for text in _parted(below[1:], _GROUPS[indent]):
        group = _group(text, indent)
        if group is None or group[0] in groups:
            return _entry(name, piece, below)
        groups[group[0]] = group[1]
    return groups


@lru_cache(maxsize=4096)
def _group(text: str, indent: int) -> tuple[str, Any] | None:
    """The name and the value of an indented group; None where it has no plain name."""
    name = _NAME.match(text, indent)
    if name is None:
        return None
    value = _simple(text[name.end() :])
    return sys.intern(name[1]), value if value is not None else _built(f"_:\n{text}", "_", name[1])


def _entry(name: str, text: str, typed: str) -> Any:
    value = _simple(typed)
    return value if value is not None else _built(text, name)


def _simple(typed: str) -> Any:
    """What stands behind a name and its colon, where it is on one line and means the same in JSON."""
    value = typed.rstrip("\n").lstrip(" ")
    if "\n" in value:
        return None
    items = by_items(value[1:-1]) if value[:1] == "{" and value[-1:] == "}" else None
    return items if items is not None else in_one_line(value)


def by_items(inside: str) -> dict[str, Any] | None:
    """A mapping of which most was met before, item by item; None where these may not be its items."""
    texts = _ITEMS.findall(inside)
    if ", ".join(texts) != inside:
        return None
    items = [*filter(None, map(_item, texts))]
    return _once(items) if len(items) == len(texts) else None


@lru_cache(maxsize=65536)
def _item(text: str) -> tuple[str, Any] | None:
    """One key and its value; None where it is not certain that it is one."""
    stated, _, typed = text.partition(": ")
    name = _word(stated)
    if name is not None:
        if _ONE_NUMBER.fullmatch(typed):
            return name, _number(typed)
        if _NUMBERS.fullmatch(typed):
            return name, list(map(_number, typed[1:-1].split(", ")))
        if _GROUP_IN_ONE.fullmatch(typed) and (inner := by_items(typed[1:-1])) is not None:
            return name, inner
    mapping = in_one_line(f"{{{text}}}")
    if mapping is None or len(mapping) != 1:
        return None
    ((name, value),) = mapping.items()
    return sys.intern(name), value


@cache
def _simple_value() -> re.Pattern[str]:
    return re.compile(_SIMPLE)


@lru_cache(maxsize=4096)
def _word(text: str) -> str | None:
    """A name, each the same object wherever it stands; None for what is none, or may be something else."""
    return sys.intern(text) if _ONE_WORD.fullmatch(text) else None


def _number(digits: str) -> float:
    is_whole = "." not in digits and "e" not in digits and "E" not in digits
    return int(digits) if is_whole else float(digits)


def in_one_line(value: str) -> Any:
    """A value in one line, where it means the same in JSON."""
    if not _simple_value().fullmatch(value):
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
        raise UnsureError
    return result


_json = json.JSONDecoder(object_pairs_hook=_once).decode


def _built(text: str, *way: str) -> Any:
    """The value at the end of a way of single keys, as `build` reads it."""
    faults = Faults(Path(), lambda place: None)
    try:
        tree = build(yaml_events(text), faults)
    except (yaml.YAMLError, UnicodeEncodeError, SheetError):
        raise UnsureError from None
    for key in way:
        if not isinstance(tree, dict) or tree.keys() != {key}:
            raise UnsureError
        tree = tree[key]
    if len(faults):
        raise UnsureError
    return tree
