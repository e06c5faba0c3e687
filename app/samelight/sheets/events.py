"""The text of a YAML or JSON file as one stream of parsing events, and where in the text each value stands.

YAML is parsed by libyaml through PyYAML. JSON is turned into the same events, so that one reader serves both.
Events are taken one by one and never composed to nodes by the library, whose recursion has no limit of its own.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from yaml._yaml import CParser
from yaml.events import (
    DocumentEndEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
    StreamStartEvent,
)

from samelight.sheets.errors import Place, Position

NextEvent = Callable[[], Any]
"""Gives the next event of a stream. Raises `yaml.YAMLError` for text that is not well formed."""

PLAIN = (True, False)
QUOTED = (False, True)


class Mark(NamedTuple):
    """Line and column of an event, from 0, as libyaml has them."""

    line: int
    column: int


@dataclass(frozen=True, slots=True)
class TextSpot:
    """Where a value stands (its key, if it has one), from 1, and a scalar's text as it was written."""

    line: int
    column: int
    text: str | None


def yaml_events(text: str) -> NextEvent:
    """The events of YAML text."""
    events: NextEvent = CParser(text).get_event
    return events


_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"?|[{}\[\]]|[^\s{}\[\]:,"]+|\n')


def json_events(text: str) -> NextEvent:
    """The events of text that is well-formed JSON."""
    return _json_events(text).__next__


def nests_beyond(text: str, most: int) -> bool:
    """Whether JSON text that is well-formed as far as it goes nests deeper than so many levels.

    >>> nests_beyond("[[", 2), nests_beyond('[["[', 2), nests_beyond("[[[", 2)
    (False, False, True)
    """
    level = 0
    for token in _TOKEN.finditer(text):
        level += (token[0] in ("[", "{")) - (token[0] in ("]", "}"))
        if level > most:
            return True
    return False


def _json_events(text: str) -> Iterator[Event]:
    # Marks are only ever asked for their line and column.
    line, start = 0, 0
    yield StreamStartEvent()
    yield DocumentStartEvent()
    for token in _TOKEN.finditer(text):
        word = token[0]
        if word == "\n":
            line, start = line + 1, token.end()
            continue
        mark: Any = Mark(line, token.start() - start)
        match word:
            case "{":
                yield MappingStartEvent(None, None, True, mark)
            case "[":
                yield SequenceStartEvent(None, None, True, mark)
            case "}":
                yield MappingEndEvent(mark)
            case "]":
                yield SequenceEndEvent(mark)
            case _ if word[0] == '"':
                yield ScalarEvent(None, None, QUOTED, json.loads(word, strict=False), mark)
            case _:
                yield ScalarEvent(None, None, PLAIN, word, mark)
    yield DocumentEndEvent()
    yield StreamEndEvent()


def position(event: Any) -> Position:
    """Where an event starts, from 1."""
    mark = event.start_mark
    return mark.line + 1, mark.column + 1


def spots(events: NextEvent) -> dict[Place, TextSpot]:
    """Where every value of a well-formed document stands; of equal keys the first counts."""
    found: dict[Place, TextSpot] = {}

    def note(event: Event, place: Place, at: Position) -> None:
        text = event.value if isinstance(event, ScalarEvent) else None
        found.setdefault(place, TextSpot(*at, text))
        if isinstance(event, SequenceStartEvent):
            index = 0
            while not isinstance(item := events(), SequenceEndEvent):
                note(item, (*place, index), position(item))
                index += 1
        elif isinstance(event, MappingStartEvent):
            while not isinstance(key := events(), MappingEndEvent):
                if isinstance(key, ScalarEvent):
                    note(events(), (*place, key.value), position(key))
                else:
                    skip(events, key)
                    skip(events, events())

    events(), events()  # the starts of the stream and of its document
    root = events()
    note(root, (), position(root))
    return found


def skip(events: NextEvent, event: Event) -> None:
    """Take the rest of a value whose first event was taken."""
    depth = 0
    while True:
        if isinstance(event, MappingStartEvent | SequenceStartEvent):
            depth += 1
        elif isinstance(event, MappingEndEvent | SequenceEndEvent):
            depth -= 1
        if depth == 0:
            return
        event = events()
