"""Parsing events into dicts, lists and scalars, noting what no person would have meant."""

from __future__ import annotations

from typing import Any, NoReturn

from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    StreamEndEvent,
)

from samelight.sheets.errors import Faults, Found, Place, shown_name
from samelight.sheets.events import NextEvent, position
from samelight.sheets.scalars import scalar

LARGEST_TREE = 400_000
"""Values after aliases are expanded; a feature shot has about 600."""

DEEPEST = 60
"""Levels of mappings and lists inside each other; a sheet has about five."""

_YAML_TAGS = "tag:yaml.org,2002:"
_OF_ITS_OWN = (None, "!", f"{_YAML_TAGS}map", f"{_YAML_TAGS}seq")
_TEXT = ("!", f"{_YAML_TAGS}str")
_HALF = "half of one, as \\ud83d alone"


def build(events: NextEvent, faults: Faults) -> Any:
    """The one document that the events hold, as a plain tree.

    Keys are always text. Equal keys, tags and numbers that are not finite are noted; an alias shares what it
    stands for. Raises `SheetError` when there is no document or more than one, for an alias without an anchor or
    inside its own, and beyond `DEEPEST` and `LARGEST_TREE`.
    """
    return _Builder(events, faults).document()


class _Builder:
    """Takes events in order. `at` is always the event to point at: a value's key, or the value where it has none."""

    def __init__(self, events: NextEvent, faults: Faults) -> None:
        self._take = events
        self._faults = faults
        self._count = 0
        self._anchors: dict[str, tuple[Any, int] | None] = {}

    def document(self) -> Any:
        self._take()
        if not isinstance(self._take(), DocumentStartEvent):
            self._stop("keys and values", "a file with nothing but comments")
        root = self._take()
        tree = self._value(root, (), root)
        self._take()
        event = self._take()
        if not isinstance(event, StreamEndEvent):
            self._stop("one document in a file", "a second one, after ---", event)
        return tree

    def _stop(self, expected: str, found: str, at: Any = None) -> NoReturn:
        self._faults.stop(expected, found, position(at) if at else None)

    def _note(self, place: Place, expected: str, found: object, at: Any) -> None:
        self._faults.add(place, expected, found, at=position(at))

    def _value(self, event: Any, place: Place, at: Any) -> Any:
        kind = event.__class__
        if kind is AliasEvent:
            return self._alias(event, at)
        if kind is ScalarEvent:
            return self._scalar(event, place, None, at)
        self._grow(1, "more", at)
        if len(place) >= DEEPEST:
            self._stop(f"at most {DEEPEST} levels of nesting", "more", at)
        if event.tag not in _OF_ITS_OWN:
            self._tag(event.tag, place, at)
        before = self._count
        if event.anchor is not None:
            self._anchors[event.anchor] = None
        value = self._mapping(place) if kind is MappingStartEvent else self._list(place)
        if event.anchor is not None:
            self._anchors[event.anchor] = (value, self._count - before + 1)
        return value

    def _grow(self, size: int, found: str, at: Any) -> None:
        self._count += size
        if self._count > LARGEST_TREE:
            self._stop(f"at most {LARGEST_TREE:,} values", found, at)

    def _alias(self, event: Any, at: Any) -> Any:
        name = event.anchor
        if name not in self._anchors:
            self._stop(f"an anchor &{shown_name(name)} above its alias", f"*{shown_name(name)} alone", at)
        anchored = self._anchors[name]
        if anchored is None:
            self._stop("an alias outside its own anchor", f"*{shown_name(name)} inside it", at)
        value, size = anchored
        self._grow(size, "aliases that expand to more", at)
        return value

    def _list(self, place: Place) -> list[Any]:
        items: list[Any] = []
        take = self._take
        while (kind := (event := take()).__class__) is not SequenceEndEvent:
            if kind is ScalarEvent:
                items.append(self._scalar(event, place, len(items), event))
            else:
                items.append(self._value(event, (*place, len(items)), event))
        return items

    def _mapping(self, place: Place) -> dict[str, Any]:
        result: dict[str, Any] = {}
        merged: dict[str, Any] = {}
        keys: dict[str, Any] = {}
        take = self._take
        while (event := take()).__class__ is not MappingEndEvent:
            key = self._key(event, place)
            if key is None:
                self._value(take(), place, event)
                continue
            is_merge = key == "<<" and event.implicit[0]
            if key in keys and not is_merge:
                first = position(keys[key])[0]
                self._note((*place, key), "each key once", Found(f"a second one, after line {first}"), event)
            typed = take()
            if typed.__class__ is ScalarEvent:
                value = self._scalar(typed, place, key, event)
            else:
                value = self._value(typed, (*place, key), event)
            if is_merge:
                self._merge(merged, value, (*place, key), event)
            elif key not in keys:
                keys[key] = event
                result[key] = value
        return {**merged, **result} if merged else result

    def _key(self, event: Any, place: Place) -> str | None:
        """The text of a key; None after a fault."""
        if event.__class__ is not ScalarEvent:
            what = "an alias" if event.__class__ is AliasEvent else "a list or a group"
            self._note(place, "a name as key", Found(what), event)
            self._value(event, (*place, "?"), event)
            return None
        if event.tag is not None and event.tag not in _TEXT:
            self._tag(event.tag, (*place, event.value), event)
        if event.anchor is not None:
            self._anchors[event.anchor] = (event.value, 1)
        if not event.value or not _is_whole(event.value):
            self._note(place, "a name as key", Found("an empty one" if not event.value else _HALF), event)
            return None
        key: str = event.value
        return key

    def _merge(self, merged: dict[str, Any], value: Any, place: Place, at: Any) -> None:
        for source in value if isinstance(value, list) else [value]:
            if isinstance(source, dict):
                for key, item in source.items():
                    merged.setdefault(key, item)
            else:
                self._note(place, "a group to merge", source, at)

    def _scalar(self, event: Any, parent: Place, step: str | int | None, at: Any) -> Any:
        """A scalar at a step below its parent, or at the root without one; its place is needed only for faults."""
        self._count += 1
        if self._count > LARGEST_TREE:
            self._grow(0, "more", at)
        value: Any = event.value
        plain, quoted = event.implicit
        try:
            if plain:
                value = scalar(value)
            elif (not quoted and event.tag not in _TEXT) or not (value.isascii() or _is_whole(value)):
                raise ValueError
        except ValueError:
            self._odd_scalar(event, parent if step is None else (*parent, step), at)
            value = None
        if event.anchor is not None:
            self._anchors[event.anchor] = (value, 1)
        return value

    def _odd_scalar(self, event: Any, place: Place, at: Any) -> None:
        plain, quoted = event.implicit
        if plain:
            self._note(place, "a finite number, or text in quotes", event.value, at)
        elif not quoted and event.tag not in _TEXT:
            self._tag(event.tag, place, at)
        else:
            self._note(place, "whole characters", Found(_HALF), at)

    def _tag(self, tag: str, place: Place, at: Any) -> None:
        short = f"!!{tag.removeprefix(_YAML_TAGS)}" if tag.startswith(_YAML_TAGS) else tag
        self._note(place, "a value without a tag", Found(f"the tag {shown_name(short)}"), at)


def _is_whole(text: str) -> bool:
    """Whether text can be written to a file: JSON's escapes may leave one half of a surrogate pair."""
    return text.isascii() or not any("\ud800" <= character <= "\udfff" for character in text)
