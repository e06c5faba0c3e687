"""Many sheets as little data for JSON, and back: what they have in common is stated once.

A film's sheets hold the same lights with a few values changed. Each distinct value, group and typed piece has a number,
and a sheet is a list of such numbers. The typed tree is kept as text and read when someone asks for it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from samelight.sheets.canonical import Section, Sections
from samelight.sheets.conventions import Conventions
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import FileRef, Group, Value, decoded, encoded


class Pieces:
    """Typed pieces as JSON, each read when it is first asked for, and shared: treat them as read only."""

    __slots__ = ("_read", "_texts")

    def __init__(self, texts: Sequence[str]) -> None:
        self._texts = texts
        self._read: dict[int, Any] = {}

    def __getitem__(self, number: int) -> Any:
        if number not in self._read:
            self._read[number] = json.loads(self._texts[number])
        return self._read[number]


class StoredTree(Mapping[str, Any]):
    """A typed tree that is put together of pieces as it is asked for."""

    __slots__ = ("_made", "_pieces", "_places")

    def __init__(self, places: Mapping[str, Any], pieces: Pieces) -> None:
        self._places = places
        self._pieces = pieces
        self._made: dict[str, Any] = {}

    def __getitem__(self, key: str) -> Any:
        if key not in self._made:
            place, pieces = self._places[key], self._pieces
            self._made[key] = (
                {name: pieces[number] for name, number in place.items()}
                if isinstance(place, dict)
                else pieces[place]
            )
        return self._made[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)


def packed(sheets: Sequence[Sheet]) -> dict[str, Any]:
    """Sheets as data for JSON; `unpacked` is the inverse. Paths are not in it."""
    box = _Box()
    return {
        "sheets": [box.sheet(sheet) for sheet in sheets],
        "values": [encoded(value) for value in box.values],
        "groups": box.groups,
        "layouts": [json.loads(layout) for layout in box.layouts],
        "pieces": list(box.pieces),
        "conventions": [_encoded_conventions(conventions) for conventions in box.conventions],
    }


def unpacked(data: Mapping[str, Any], paths: Sequence[Path]) -> list[Sheet]:
    """The sheets that `packed` made this data of. Raises ValueError, KeyError, IndexError or TypeError for other data."""
    values = [decoded(value) for value in data["values"]]
    groups: list[tuple[Sequence[str], Sequence[Any]]] = []
    for leaves, codes in data["groups"]:
        groups.append((data["layouts"][leaves], [values[code] for code in codes]))
    conventions = [_decoded_conventions(stated) for stated in data["conventions"]]
    pieces = Pieces(data["pieces"])
    return [
        _sheet(path, stated, groups, pieces, conventions)
        for path, stated in zip(paths, data["sheets"], strict=True)
    ]


def _sheet(
    path: Path,
    stated: Mapping[str, Any],
    groups: Sequence[tuple[Sequence[str], Sequence[Any]]],
    pieces: Pieces,
    conventions: Sequence[Conventions],
) -> Sheet:
    sections: Sections = {}
    for section, members in stated["sections"].items():
        group: Section = sections.setdefault(section, {})
        for name, number in members.items():
            group[name] = dict(zip(*groups[number], strict=True))
    frames = stated["frames"]
    return Sheet(
        path,
        stated["shot"],
        stated["version"],
        stated["master"],
        None if frames is None else (frames[0], frames[1]),
        StoredTree(stated["typed"], pieces),
        sections,
        conventions[stated["conventions"]],
        tuple(stated["remarks"]),
    )


_BY_EQUALITY = frozenset({str, bool, frozenset, FileRef})


class _Box:
    """Gives equal things one number. Sheets must live as long, since trees they share are known by their identity."""

    def __init__(self) -> None:
        self.values: list[Value] = []
        self.groups: list[tuple[int, list[int]]] = []
        self.layouts: dict[str, int] = {}
        self.pieces: dict[str, int] = {}
        self.conventions: dict[Conventions, int] = {}
        self._value_numbers: dict[object, int] = {}
        self._group_numbers: dict[object, int] = {}
        self._trees: dict[int, int] = {}

    def sheet(self, sheet: Sheet) -> dict[str, Any]:
        conventions = self.conventions.setdefault(sheet.conventions, len(self.conventions))
        return {
            "shot": sheet.shot,
            "version": sheet.version,
            "master": sheet.master,
            "frames": sheet.frames,
            "remarks": sheet.remarks,
            "conventions": conventions,
            "typed": {key: self._typed(tree) for key, tree in sheet.typed.items()},
            "sections": {
                section: {name: self._group(group) for name, group in groups.items()}
                for section, groups in sheet.sections.items()
            },
        }

    def _typed(self, tree: Any) -> Any:
        if isinstance(tree, dict):
            return {name: self._piece(below) for name, below in tree.items()}
        return self._piece(tree)

    def _piece(self, tree: Any) -> int:
        is_shared = isinstance(tree, dict)
        number = self._trees.get(id(tree)) if is_shared else None
        if number is None:
            number = self.pieces.setdefault(json.dumps(tree), len(self.pieces))
            if is_shared:
                self._trees[id(tree)] = number
        return number

    def _group(self, group: Group) -> int:
        known = tuple(map(id, group.values())), tuple(group)
        number = self._group_numbers.get(known)
        if number is None:
            layout = self.layouts.setdefault(json.dumps(list(group)), len(self.layouts))
            number = self._group_numbers[known] = len(self.groups)
            self.groups.append((layout, [self._value(value) for value in group.values()]))
        return number

    def _value(self, value: Value) -> int:
        # Of numbers the digits tell: 1.0 equals True, and 0.0 equals -0.0.
        kind = value.__class__
        known = (kind, value if kind in _BY_EQUALITY else repr(value))
        number = self._value_numbers.setdefault(known, len(self.values))
        if number == len(self.values):
            self.values.append(value)
        return number


def _encoded_conventions(stated: Conventions) -> list[Any]:
    return [
        stated.length,
        stated.area,
        stated.level,
        stated.up_axis,
        list(stated.north),
        stated.working_space,
    ]


def _decoded_conventions(stated: Sequence[Any]) -> Conventions:
    length, area, level, up_axis, (x, y, z), space = stated
    return Conventions(length, area, level, up_axis, (x, y, z), space)
