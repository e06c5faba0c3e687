"""Text of a YAML or JSON file into a plain tree, with the line of everything in it.

PyYAML's resolution surprises people: `1e-5` is text, `on` is true even as a key, `12:30` is 750, `010` is 8,
and the last of two equal keys wins without a word. Here numbers are read as a person means them, keys are
always text, and equal keys are a fault. The parser is libyaml through PyYAML; only scalars are read anew.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

import yaml
from yaml._yaml import CParser
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from yaml.reader import ReaderError
from yaml.resolver import BaseResolver

from samelight.sheets.errors import Fault, Faults, Found, Locate, Place, SheetError

LARGEST_FILE = 16 * 1024 * 1024
"""Bytes. A full sheet of a feature shot has about 14 kB; a file above this is not a sheet."""

LARGEST_TREE = 400_000
"""Values after aliases are expanded; a feature shot has about 600."""

DEEPEST = 60

_INTEGER = re.compile(r"[-+]?[0-9][0-9_]*\Z")
_FLOAT = re.compile(r"[-+]?(?:[0-9][0-9_]*\.?[0-9_]*|\.[0-9][0-9_]*)(?:[eE][-+]?[0-9]+)?\Z")
_OTHER_BASE = re.compile(r"[-+]?0(?:x[0-9a-fA-F_]+|o[0-7_]+|b[01_]+)\Z")
_NOT_FINITE = re.compile(r"(?:[-+]?\.?inf(?:inity)?|\.?nan)\Z", re.IGNORECASE)
_WORDS: Mapping[str, bool | None] = {
    **{word: True for base in ("true", "yes", "on") for word in (base, base.title(), base.upper())},
    **{word: False for base in ("false", "no", "off") for word in (base, base.title(), base.upper())},
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
}
_PLAIN, _QUOTED = "plain", "quoted"
_AS_TEXT = "tag:yaml.org,2002:str"
_HIGH_SURROGATES = re.compile(r"\\u[dD][89abAB][0-9a-fA-F]{2}\\u[dD][c-fC-F][0-9a-fA-F]{2}")


@dataclass(frozen=True, slots=True)
class Document:
    """A file as a plain tree, and the way back to its lines."""

    path: Path
    data: Any
    faults: Faults
    """What was already found wrong; whoever reads on adds to it and raises all together."""


class _Composer(CParser, BaseResolver):
    """Composes nodes with libyaml; a scalar's tag only says whether it was written plain."""

    def __init__(self, text: str) -> None:
        CParser.__init__(self, text)
        BaseResolver.__init__(self)

    def resolve(self, kind: type[Node], value: str | None, implicit: object) -> str:
        if kind is ScalarNode and isinstance(implicit, tuple) and implicit[0]:
            return _PLAIN
        return _QUOTED


def read_document(path: Path) -> Document:
    """Read a .yaml, .yml or .json file.

    Raises `SheetError` with file, line, expected and found when the file is missing, too large, empty, in
    an unknown encoding, not well formed, has cyclic aliases or aliases that expand beyond `LARGEST_TREE` values.
    Equal keys and numbers that are not finite are noted in the document's faults.
    """
    return parse_document(path, read_text(path))


def read_text(path: Path) -> str:
    """The text of a file: UTF-8, or UTF-16 with its byte order mark."""
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            _fail(path, f"at most {LARGEST_FILE // 2**20} MiB", f"{size / 2**20:.1f} MiB")
        raw = path.read_bytes()
    except OSError as error:
        raise SheetError([Fault(str(path), "", "a readable file", error.strerror or str(error))]) from None
    encoding = "utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{raw[error.start]:02x}" if error.start < len(raw) else "a cut-off character"
        raise SheetError([Fault(str(path), "", "UTF-8 text", found, line)]) from None


def parse_document(path: Path, text: str) -> Document:
    """Parse text already read; see `read_document`."""
    if not text.strip():
        _fail(path, "a sheet", "an empty file")
    if path.suffix.lower() == ".json":
        return _parse_json(path, text)
    return _parse_yaml(path, text)


def _fail(
    path: Path, expected: str, found: str, line: int | None = None, column: int | None = None
) -> NoReturn:
    raise SheetError([Fault(str(path), "", expected, found, line, column)])


def _compose(path: Path, text: str) -> Node:
    try:
        node = _Composer(text).get_single_node()
    except ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        character = error.character if isinstance(error.character, str) else chr(error.character)
        _fail(path, "printable text", f"control character U+{ord(character):04X}", line)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        problem = " ".join(part for part in (error.problem, error.context) if part) or "malformed text"
        if mark:
            _fail(path, "well-formed YAML", problem, mark.line + 1, mark.column + 1)
        _fail(path, "well-formed YAML", problem)
    except (yaml.YAMLError, ValueError) as error:
        _fail(path, "well-formed YAML", str(error).splitlines()[0])
    if node is None:
        _fail(path, "a sheet", "a file with nothing but comments")
    return node


def _locator(root: Node) -> Locate:
    def locate(place: Place) -> tuple[int, int] | None:
        node, mark = root, root.start_mark
        for step in place:
            if isinstance(node, MappingNode):
                pair = next(((k, v) for k, v in node.value if getattr(k, "value", None) == step), None)
                if pair is None:
                    break
                mark, node = pair[0].start_mark, pair[1]
            elif isinstance(node, SequenceNode) and isinstance(step, int) and step < len(node.value):
                node = node.value[step]
                mark = node.start_mark
            else:
                break
        return mark.line + 1, mark.column + 1

    return locate


def _parse_yaml(path: Path, text: str) -> Document:
    root = _compose(path, text)
    locate = _locator(root)
    faults = Faults(path, locate)
    return Document(path, _Plain(path, faults).value(root, ()), faults)


class _Plain:
    """Turns nodes into dicts, lists and scalars, noting what a person would not have meant."""

    def __init__(self, path: Path, faults: Faults) -> None:
        self._path = path
        self._faults = faults
        self._count = 0
        self._open: set[int] = set()

    def value(self, node: Node, place: Place) -> Any:
        self._count += 1
        mark = node.start_mark
        if self._count > LARGEST_TREE:
            _fail(
                self._path,
                f"at most {LARGEST_TREE:,} values",
                "aliases that expand beyond that" if len(self._open) else "more than that",
                mark.line + 1,
                mark.column + 1,
            )
        if isinstance(node, ScalarNode):
            return self._scalar(node, place)
        if id(node) in self._open:
            _fail(
                self._path,
                "aliases without a cycle",
                "an alias inside its own anchor",
                mark.line + 1,
                mark.column + 1,
            )
        if len(place) > DEEPEST:
            _fail(self._path, f"at most {DEEPEST} levels", "deeper nesting", mark.line + 1, mark.column + 1)
        self._open.add(id(node))
        try:
            if isinstance(node, SequenceNode):
                return [self.value(item, (*place, index)) for index, item in enumerate(node.value)]
            return self._mapping(node, place)
        finally:
            self._open.discard(id(node))

    def _mapping(self, node: Node, place: Place) -> dict[str, Any]:
        result: dict[str, Any] = {}
        merged: dict[str, Any] = {}
        lines: dict[str, int] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, ScalarNode):
                self._faults.add(place, "a plain name as key", Found("a list or mapping"))
                continue
            key = key_node.value
            if key == "<<" and key_node.tag == _PLAIN:
                self._merge(merged, value_node, place)
                continue
            if key in lines:
                self._faults.add(
                    (*place, key), "each key once", Found(f"it again on line {key_node.start_mark.line + 1}")
                )
                continue
            lines[key] = key_node.start_mark.line + 1
            result[key] = self.value(value_node, (*place, key))
        return {**merged, **result} if merged else result

    def _merge(self, merged: dict[str, Any], node: Node, place: Place) -> None:
        sources = node.value if isinstance(node, SequenceNode) else [node]
        for source in sources:
            value = self.value(source, place)
            if isinstance(value, dict):
                for key, item in value.items():
                    merged.setdefault(key, item)
            else:
                self._faults.add(place, "a mapping after <<", value)

    def _scalar(self, node: ScalarNode, place: Place) -> Any:
        if node.tag in (_QUOTED, _AS_TEXT):
            return node.value
        if node.tag != _PLAIN:
            self._faults.add(place, "a plain value", Found(f"the YAML tag {node.tag}"))
            return None
        try:
            return scalar(node.value)
        except ValueError:
            self._faults.add(place, "a finite number", node.value)
            return None


def scalar(text: str) -> str | int | float | bool | None:
    """A plain scalar as a person means it. Raises ValueError for NaN and infinity.

    >>> [scalar(text) for text in ("010", "1e3", "12:30", "yes", "1_000", "0x1F", "~", "3.5 m")]
    [10, 1000.0, '12:30', True, 1000, 31, None, '3.5 m']
    """
    if text in _WORDS:
        return _WORDS[text]
    first = text[0]
    if first not in "+-.0123456789iInN":
        return text
    if _INTEGER.match(text):
        digits = text.replace("_", "")
        return int(digits) if len(digits) < 400 else _finite(digits)
    if _FLOAT.match(text):
        return _finite(text.replace("_", ""))
    if _OTHER_BASE.match(text):
        return int(text.replace("_", ""), 0)
    if _NOT_FINITE.match(text):
        raise ValueError(text)
    return text


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(text)
    return value


class _EqualKeysError(ValueError):
    """A JSON object with one key twice."""


def _parse_json(path: Path, text: str) -> Document:
    def locate(place: Place) -> tuple[int, int] | None:
        # JSON is YAML but for the escapes of astral characters; replaced at equal length, columns stay true.
        try:
            return _locator(_compose(path, _HIGH_SURROGATES.sub(r"\\u003f\\u003f", text)))(place)
        except SheetError:
            return None

    faults = Faults(path, locate)

    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        result = dict(pairs)
        if len(result) != len(pairs):
            names = [name for name, _ in pairs]
            twice = next(name for name in names if names.count(name) > 1)
            raise _EqualKeysError(twice)
        return result

    def reject(constant: str) -> NoReturn:
        raise ValueError(constant)

    try:
        data = json.loads(text, object_pairs_hook=unique, parse_constant=reject, parse_float=_finite)
    except json.JSONDecodeError as error:
        raise SheetError(
            [Fault(str(path), "", "well-formed JSON", error.msg, error.lineno, error.colno)]
        ) from None
    except _EqualKeysError as error:
        line = _second_line(text, str(error))
        raise SheetError([Fault(str(path), str(error), "each key once", "it twice", line)]) from None
    except ValueError as error:
        line = next((n for n, row in enumerate(text.splitlines(), 1) if str(error) in row), None)
        raise SheetError([Fault(str(path), "", "a finite number", str(error)[:40], line)]) from None
    except RecursionError:
        _fail(path, f"at most {DEEPEST} levels", "deeper nesting")
    _limit_depth(path, data)
    return Document(path, data, faults)


def _second_line(text: str, key: str) -> int | None:
    quoted = json.dumps(key)
    lines = [n for n, row in enumerate(text.splitlines(), 1) for _ in range(row.count(quoted))]
    return lines[1] if len(lines) > 1 else None


def _limit_depth(path: Path, data: Any) -> None:
    level, count = [data], 0
    for _ in range(DEEPEST + 1):
        count += len(level)
        children: list[Any] = []
        for item in level:
            if isinstance(item, dict):
                children.extend(item.values())
            elif isinstance(item, list):
                children.extend(item)
        if not children:
            break
        level = children
    else:
        _fail(path, f"at most {DEEPEST} levels", "deeper nesting")
    if count > LARGEST_TREE:
        _fail(path, f"at most {LARGEST_TREE:,} values", f"{count:,}")
