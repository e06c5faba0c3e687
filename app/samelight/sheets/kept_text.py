"""A YAML or JSON file with some values changed, and every other character of it as it was: comments, order and layout.

The places come from the marks of PyYAML's own tree of nodes. A library that reads a file with its comments and writes it anew
lays it out anew as well: of a light that stands on three lines it makes one, and then a comparison of both files shows every line.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import yaml

from samelight.sheets.errors import SamelightError
from samelight.sheets.trees import BYTE_ORDER_MARK, parse_document
from samelight.sheets.writing import yaml_text

_MOST_STEPS = 500
"""Keys that are added or taken out one by one; a file in which more change is laid out anew."""


class _UnfitError(Exception):
    """A text whose places cannot be told: it refers back to itself, or a key stands in it twice."""


def kept_text(path: Path, text: str, tree: Mapping[str, Any]) -> str | None:
    """A file's text with the values of another tree; None where they cannot be put into it, and it is to be laid out anew.

    What comes back is read again, and is that tree to the last value; in which order its keys stand is the file's own, and so are
    a byte order mark and the ends of its lines, where these are all alike.
    """
    plain = text.removeprefix(BYTE_ORDER_MARK)
    ends = "\r\n" if 0 < plain.count("\r\n") == plain.count("\n") else "\n"
    kept = _kept(path, plain.replace(ends, "\n"), tree)
    return None if kept is None else text[: len(text) - len(plain)] + kept.replace("\n", ends)


def _kept(path: Path, text: str, tree: Mapping[str, Any]) -> str | None:
    is_json = path.suffix.lower() == ".json"
    try:
        for _ in range(_MOST_STEPS):
            old = parse_document(path, text).data
            if _same(old, tree):
                return text
            root = yaml.compose(text, Loader=yaml.CSafeLoader)
            if root is None:
                return None
            _check(root, set())
            changed = _replaced(text, root, old, tree, is_json)
            changed = changed if changed is not None else _stepped(text, root, old, tree, is_json)
            if changed is None or changed == text:
                return None
            text = changed
    except (_UnfitError, SamelightError, yaml.YAMLError, ValueError):
        return None
    return None


def _same(one: Any, other: Any) -> bool:
    """Whether two trees hold the same, 1 and 1.0 being two things, in whichever order their keys stand."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return repr(one) == repr(other)


def _check(node: yaml.Node, seen: set[int]) -> None:
    if id(node) in seen:
        raise _UnfitError
    seen.add(id(node))
    if isinstance(node, yaml.MappingNode):
        keys = [key.value for key, _ in node.value]
        if len(set(map(str, keys))) < len(keys) or "<<" in keys:
            raise _UnfitError
    if isinstance(node, yaml.CollectionNode):
        for item in node.value:
            for part in item if isinstance(item, tuple) else (item,):
                _check(part, seen)


Pair = tuple[yaml.ScalarNode, yaml.Node]


def _pairs(node: yaml.MappingNode) -> dict[str, Pair]:
    return {str(key.value): (key, value) for key, value in node.value}


def _both(node: yaml.Node, old: Any, new: Any) -> Iterator[tuple[yaml.MappingNode, Any, Any]]:
    """The mappings that stand in both trees, with their node, the outer ones first."""
    if not isinstance(node, yaml.MappingNode) or not _goes_on(node, old, new):
        return
    yield node, old, new
    for name, (_, value) in _pairs(node).items():
        if name in old and name in new:
            yield from _both(value, old[name], new[name])


def _goes_on(node: yaml.Node, old: Any, new: Any) -> bool:
    """Whether a node is a mapping in both trees, of which some keys stay; else it is another value as a whole."""
    is_mapping = isinstance(node, yaml.MappingNode) and isinstance(old, Mapping) and isinstance(new, Mapping)
    return is_mapping and bool(old.keys() & new.keys())


def _replaced(text: str, root: yaml.Node, old: Any, new: Any, is_json: bool) -> str | None:
    """The text with every value that is another one replaced; None where there is none."""
    edits: list[tuple[int, int, str]] = []
    for node, before, after in _both(root, old, new):
        for name, (key, value) in _pairs(node).items():
            if name not in before or name not in after or _same(before[name], after[name]):
                continue
            if _goes_on(value, before[name], after[name]):
                continue
            start, end = value.start_mark.index, _end(value)
            put = _flow(after[name], is_json)
            if (isinstance(value, yaml.CollectionNode) and not value.flow_style) or start == end:
                start = text.index(":", key.end_mark.index) + 1
                put = f" {put}"
            edits.append((start, max(end, start), put))
    for start, end, put in sorted(edits, reverse=True):
        text = f"{text[:start]}{put}{text[end:]}"
    return text if edits else None


def _stepped(text: str, root: yaml.Node, old: Any, new: Any, is_json: bool) -> str | None:
    """The text with one key taken out or added; None where each mapping has its keys."""
    for node, before, after in _both(root, old, new):
        pairs = _pairs(node)
        for name in pairs:
            if name in before and name not in after:
                called = _called_now(name, before, after)
                return (
                    _without(text, node, name)
                    if called is None
                    else _renamed(text, pairs[name], called, is_json)
                )
        previous = None
        for name in after:
            if name not in before:
                return _with(text, node, name, after[name], previous, is_json)
            previous = name
    return None


def _called_now(name: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> str | None:
    """The name under which what stood under another goes on; None where it is gone."""
    return next((new for new in after if new not in before and _same(after[new], before[name])), None)


def _renamed(text: str, pair: Pair, name: str, is_json: bool) -> str:
    key = pair[0]
    return f"{text[: key.start_mark.index]}{_key(name, is_json)}{text[key.end_mark.index :]}"


def _without(text: str, node: yaml.MappingNode, name: str) -> str:
    pairs = _pairs(node)
    names = list(pairs)
    key, value = pairs[name]
    start, end = key.start_mark.index, _end(value)
    if not node.flow_style:
        start = text.rfind("\n", 0, start) + 1
        end = text.find("\n", end)
        return text[:start] + (text[end + 1 :] if end >= 0 else "")
    place = names.index(name)
    if place + 1 < len(names):
        end = pairs[names[place + 1]][0].start_mark.index
    elif place:
        start = _end(pairs[names[place - 1]][1])
    return text[:start] + text[end:]


def _with(
    text: str, node: yaml.MappingNode, name: str, value: Any, previous: str | None, is_json: bool
) -> str:
    """The text with a key added behind another, or before all."""
    pairs = _pairs(node)
    first = next(iter(pairs.values()), None)
    if first is None:
        raise _UnfitError
    if node.flow_style:
        entry = f"{_key(name, is_json)}: {_flow(value, is_json)}"
        if previous is None:
            place = first[0].start_mark.index
            return f"{text[:place]}{entry}, {text[place:]}"
        place = _end(pairs[previous][1])
        return f"{text[:place]}, {entry}{text[place:]}"
    indent = " " * first[0].start_mark.column
    entry = f"{indent}{_key(name, is_json)}: {_flow(value, is_json)}\n"
    if not indent and isinstance(value, Mapping):
        entry = yaml_text({name: value})
    if previous is None:
        place = text.rfind("\n", 0, first[0].start_mark.index) + 1
        return text[:place] + entry + text[place:]
    place = text.find("\n", _end(pairs[previous][1]))
    if place < 0:
        return f"{text}\n{entry}"
    return text[: place + 1] + entry + text[place + 1 :]


def _end(node: yaml.Node) -> int:
    """Where a node ends, without the lines behind it that YAML counts as a block's."""
    if isinstance(node, yaml.ScalarNode) and node.style in ("|", ">"):
        raise _UnfitError
    if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return _end(last[1] if isinstance(last, tuple) else last)
    return int(node.end_mark.index)


def _flow(value: Any, is_json: bool) -> str:
    """A value on one line."""
    if is_json:
        return json.dumps(value, ensure_ascii=False, allow_nan=False)
    return yaml_text({"x": [value]}).removeprefix("x: [").rstrip("\n").removesuffix("]")


def _key(name: str, is_json: bool) -> str:
    if is_json:
        return json.dumps(name, ensure_ascii=False)
    return yaml_text({name: 0}).rstrip().removesuffix(": 0")
