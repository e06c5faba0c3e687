"""Many sheets as little data for JSON, and back: what they have in common is stated once.

A film's sheets hold the same lights with a few values changed. Each distinct value has a number, and so has each distinct
row of them, such as a light. A sheet is a row of rows. Rows are kept as text and read when someone asks for them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from samelight.sheets.conventions import Conventions
from samelight.sheets.memo import as_bytes
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import FileRef, decoded, encoded

_ALONE = "="
"""In place of a layout: the row is one value, and no mapping."""

Shape = Sequence[tuple[str, Sequence[str] | None]]
"""The keys of a tree with the names below each; None where there is a row at once."""


class Rows:
    """Rows of values, each made when it is first asked for, and shared: treat them as read only."""

    __slots__ = ("_layouts", "_made", "_texts", "_value")

    def __init__(
        self, texts: Sequence[str], layouts: Sequence[Sequence[str]], value: Callable[[int], Any]
    ) -> None:
        self._texts, self._layouts, self._value = texts, layouts, value
        self._made: dict[int, Any] = {}

    def __getitem__(self, number: int) -> Any:
        if number not in self._made:
            layout, *codes = self._texts[number].split(" ")
            values = map(self._value, map(int, codes))
            self._made[number] = (
                next(values)
                if layout == _ALONE
                else dict(zip(self._layouts[int(layout)], values, strict=True))
            )
        return self._made[number]


class StoredTree(Mapping[str, Any]):
    """A sheet's tree. What stands under a key is put together of rows when it is first asked for."""

    __slots__ = ("_made", "_numbers", "_rows", "_shape")

    def __init__(self, shape: Shape, numbers: str, rows: Rows) -> None:
        self._shape, self._numbers, self._rows = shape, numbers, rows
        self._made: dict[str, Any] = {}

    def __getitem__(self, key: str) -> Any:
        if key not in self._made:
            self._made[key] = self._below(key)
        return self._made[key]

    def _below(self, key: str) -> Any:
        first = 0
        for known, names in self._shape:
            after = first + (1 if names is None else len(names))
            if known == key:
                rows = map(self._rows.__getitem__, map(int, self._numbers.split(" ")[first:after]))
                return next(rows) if names is None else dict(zip(names, rows, strict=True))
            first = after
        raise KeyError(key)

    def __contains__(self, key: object) -> bool:
        return any(known == key for known, _ in self._shape)

    def __iter__(self) -> Iterator[str]:
        return (key for key, _ in self._shape)

    def __len__(self) -> int:
        return len(self._shape)


def packed(sheets: Sequence[Sheet]) -> dict[str, Any]:
    """Sheets as data for JSON; `unpacked` is the inverse. Paths are not in it."""
    typed, canonical = _Box(as_bytes), _Box(_key)
    conventions: dict[Conventions, int] = {}
    stated = [
        (
            sheet.shot,
            sheet.version,
            sheet.master,
            sheet.frames,
            sheet.remarks,
            conventions.setdefault(sheet.conventions, len(conventions)),
            *typed.tree(sheet.typed),
            *canonical.tree(sheet.sections),
        )
        for sheet in sheets
    ]
    return {
        "sheets": stated,
        "conventions": [_encoded_conventions(one) for one in conventions],
        "typed": typed.data(typed.values),
        "canonical": canonical.data(map(_encoded, canonical.values)),
    }


def unpacked(data: Mapping[str, Any], paths: Sequence[Path]) -> list[Sheet]:
    """The sheets that `packed` made this data of. Raises ValueError, KeyError, IndexError or TypeError for other data.

    What stands in their trees is not looked at before someone asks for it.
    """
    conventions = [_decoded_conventions(stated) for stated in data["conventions"]]
    typed, canonical = data["typed"], data["canonical"]
    values = canonical["values"]
    typed_rows = Rows(typed["rows"], typed["layouts"], typed["values"].__getitem__)
    rows = Rows(canonical["rows"], canonical["layouts"], cache(lambda code: decoded(values[code])))
    typed_shapes, shapes = typed["shapes"], canonical["shapes"]
    sheets: list[Sheet] = []
    for path, stated in zip(paths, data["sheets"], strict=True):
        shot, version, master, frames, remarks, by, typed_shape, typed_numbers, shape, numbers = stated
        sheets.append(
            Sheet(
                path,
                shot,
                version,
                master,
                None if frames is None else (frames[0], frames[1]),
                StoredTree(typed_shapes[typed_shape], typed_numbers, typed_rows),
                StoredTree(shapes[shape], numbers, rows),
                conventions[by],
                tuple(remarks),
            )
        )
    return sheets


class _Box:
    """Gives equal things one number. Sheets must live as long, since what they share is known by its identity."""

    def __init__(self, key: Callable[[Any], object]) -> None:
        self.values: list[Any] = []
        self._key = key
        self._codes: dict[object, int] = {}
        self._rows: dict[str, int] = {}
        self._layouts: dict[tuple[str, ...], int] = {}
        self._shapes: dict[object, int] = {}
        self._known_values: dict[int, int] = {}
        self._known_rows: dict[int, int] = {}

    def data(self, values: Iterable[Any]) -> dict[str, Any]:
        """The box for JSON, with its values in a form for it."""
        return {
            "values": list(values),
            "rows": list(self._rows),
            "layouts": list(self._layouts),
            "shapes": list(self._shapes),
        }

    def tree(self, tree: Mapping[str, Any]) -> tuple[int, str]:
        """The number of a tree's shape, and the numbers of its rows."""
        parts: list[Any] = []
        shape: list[tuple[str, tuple[str, ...] | None]] = []
        for key, below in tree.items():
            names = tuple(below) if isinstance(below, dict) else None
            shape.append((key, names))
            parts.extend((below,) if names is None else below.values())
        numbers = " ".join(map(str, map(self._row, parts)))
        return self._shapes.setdefault(tuple(shape), len(self._shapes)), numbers

    def _row(self, row: Any) -> int:
        number = self._known_rows.get(id(row))
        if number is None:
            number = self._rows.setdefault(self._text(row), len(self._rows))
            self._known_rows[id(row)] = number
        return number

    def _text(self, row: Any) -> str:
        if not isinstance(row, dict):
            return f"{_ALONE} {self._code(row)}"
        layout = self._layouts.setdefault(tuple(row), len(self._layouts))
        codes = [*map(self._known_values.get, map(id, row.values()))]
        if None in codes:
            codes = [*map(self._code, row.values())]
        return " ".join(map(str, (layout, *codes)))

    def _code(self, value: Any) -> int:
        code = self._known_values.get(id(value))
        if code is None:
            code = self._codes.setdefault(self._key(value), len(self.values))
            if code == len(self.values):
                self.values.append(value)
            self._known_values[id(value)] = code
        return code


_BY_EQUALITY = frozenset({str, bool, frozenset, FileRef})


def _key(value: object) -> object:
    # Of numbers the digits tell: 1.0 equals True, and 0.0 equals -0.0.
    kind = value.__class__
    return kind, value if kind in _BY_EQUALITY else repr(value)


def _encoded(value: Any) -> Any:
    """A value as data, of a file with what its sheet keeps of it."""
    if isinstance(value, FileRef) and value.holds:
        return {"path": value.path, "sha256": value.sha256, "holds": value.holds}
    return encoded(value)


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
