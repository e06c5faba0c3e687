"""Saved views of a sequence: what is listed and how, under a name; one small file a view, for everybody or for one user.

A view is a YAML file in the folder `views` of a sequence, or of the user's settings; its name is the file's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from pathlib import Path
from typing import Any

from platformdirs import user_config_path

from samelight.sheets.errors import Fault, Found, SamelightError, SheetError, nearest_name
from samelight.sheets.sequence import is_safe_name
from samelight.sheets.trees import Document, read_document
from samelight.sheets.upgrades import VIEW, up_to_date
from samelight.sheets.vocabulary import FORMAT_VERSION
from samelight.sheets.writing import write_whole, yaml_text

FOLDER = "views"
LONGEST_FILTER = 1000
"""Letters."""

_ENDING = ".yaml"
_LONGEST = 80
_WIDEST = 10_000.0
_NOT_IN_NAMES = set('<>:"|?*')
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}


class Show(StrEnum):
    """Which rows are listed."""

    ALL = "everything"
    DRIFTING = "what drifts"
    UNDECIDED = "what is undecided"
    SENT_BACK = "what was sent back"
    WAITING = "waits for my look"
    AGAIN = "what asks again"
    OPINIONS = "two opinions"
    CHANGED = "what changed since"


class Order(StrEnum):
    """In which order groups, and the rows of each, stand."""

    SHEET = "as in the sheet"
    WORST = "worst drift first"
    SHOTS = "most shots first"


class Shown(StrEnum):
    """What a cell's text is."""

    DRIFT = "drift"
    VALUE = "value"
    BOTH = "both"


Names = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class View:
    """What is listed and how. Names are those of groups (`lights.sun`), of parameters and of shots.

    `column_width` is in pixels; None leaves it as it is. With `fitted` the whole cut fills the view, and `column_width`
    is None. `together` are the groups whose traces are drawn together.
    """

    rows: Show = Show.ALL
    filter: str = ""
    order: Order = Order.SHEET
    cells: Shown = Shown.DRIFT
    only_my_shots: bool = False
    column_width: float | None = None
    fitted: bool = False
    expanded: Names = ()
    pinned: Names = ()
    hidden_rows: Names = ()
    hidden_shots: Names = ()
    together: Names = ()

    def unknown(self, rows: set[str], shots: set[str]) -> list[str]:
        """The names that a sequence with these groups, parameters and shots does not have, each once."""
        named = [*self.expanded, *self.pinned, *self.hidden_rows, *self.together]
        missing = [name for name in named if name not in rows]
        return list(dict.fromkeys([*missing, *(shot for shot in self.hidden_shots if shot not in shots)]))


@dataclass(frozen=True, slots=True)
class Saved:
    """A saved view."""

    name: str
    path: Path
    view: View


@dataclass(frozen=True, slots=True)
class ViewFolder:
    """The views of one folder by name, and the files that were skipped there, each with what is wrong by line."""

    saved: tuple[Saved, ...] = ()
    faults: tuple[tuple[Path, str], ...] = ()

    def named(self, name: str) -> Saved | None:
        """The view of a name; where files do not tell capitals apart, neither do names, unless both are there."""
        name = name.strip()
        alike = [one for one in self.saved if one.name.casefold() == name.casefold()]
        return next((one for one in alike if one.name == name), alike[0] if alike else None)

    def is_skipped(self, name: str) -> bool:
        """Whether the file of a view of this name is there and cannot be read."""
        return any(path.stem.casefold() == name.strip().casefold() for path, _ in self.faults)


def shared_folder(sequence: Path) -> Path:
    """Where the views of a sequence are that everybody has."""
    return sequence / FOLDER


def own_folder() -> Path:
    """Where the user's own views are, which go with the user from sequence to sequence."""
    return user_config_path("samelight", appauthor=False) / FOLDER


def list_views(folder: Path) -> ViewFolder:
    """The views of a folder, in the order of their names. A file that cannot be read is skipped, and told."""
    try:
        paths = sorted(path for path in folder.iterdir() if path.suffix == _ENDING and path.name[0] != ".")
    except FileNotFoundError:
        return ViewFolder()
    except OSError as error:
        fault = Fault(str(folder), "", "a folder that can be read", error.strerror or str(error))
        return ViewFolder(faults=((folder, str(fault)),))
    saved, faults = [], []
    for path in paths:
        try:
            saved.append(Saved(path.stem, path, read_view(path)))
        except SheetError as error:
            more = f" (and {len(error.faults) - 1} more)" if len(error.faults) > 1 else ""
            faults.append((path, f"{error.faults[0]}{more}"))
    return ViewFolder(tuple(sorted(saved, key=lambda one: one.name.casefold())), tuple(faults))


def save_view(folder: Path, name: str, view: View) -> Path:
    """Write a view whole, over the one of the same name. Raises `SamelightError` for a name that no file can have, or
    whose file is there and cannot be read, or comes to be there meanwhile."""
    name = checked_name(name)
    listed = list_views(folder)
    if listed.is_skipped(name):
        raise SamelightError(
            f"{name} is there and cannot be read: mend or delete its file, or take another name"
        )
    there = listed.named(name)
    path = there.path if there is not None else folder / f"{name}{_ENDING}"
    write_whole(path, view_text(view), overwrite=there is not None)
    return path


def delete_view(saved: Saved) -> None:
    """Delete a view; one that is gone already is no error. Raises `SamelightError`."""
    try:
        saved.path.unlink(missing_ok=True)
    except OSError as error:
        raise SamelightError(f"{saved.path}: could not be deleted: {error.strerror or error}") from None


def checked_name(name: str) -> str:
    """A name without the space around it, if it can be a file's on every system. Raises `SamelightError`.

    >>> checked_name("  Sun and sky ")
    'Sun and sky'
    """
    name = name.strip()
    if not name:
        raise SamelightError("a view needs a name")
    wrong = sorted(
        {sign for sign in name if sign in _NOT_IN_NAMES or sign in "/\\" or not sign.isprintable()}
    )
    if wrong:
        raise SamelightError(f"a view's name is a file's: it cannot hold {' '.join(map(repr, wrong))}")
    if len(name) > _LONGEST:
        raise SamelightError(f"a view's name has at most {_LONGEST} letters, this one {len(name)}")
    reserved = name.split(".")[0].strip().casefold() in _DEVICES
    if reserved or name[0] == "." or name[-1] == "." or not is_safe_name(name + _ENDING):
        raise SamelightError(f"a view's name is a file's: no file can be called {name!r} everywhere")
    return name


def view_text(view: View) -> str:
    """A view as the text of its file."""
    data: dict[str, Any] = {"samelight_view": FORMAT_VERSION}
    for one in fields(View):
        value = getattr(view, one.name)
        if isinstance(value, tuple):
            data[one.name] = list(value)
        elif value is not None:
            data[one.name] = str(value) if isinstance(value, StrEnum) else value
    return yaml_text(data)


def read_view(path: Path) -> View:
    """Read a view. Raises `SheetError` with file, line, expected and found of every fault."""
    document = read_document(path)
    data, faults = document.data, document.faults
    if not isinstance(data, dict):
        faults.add((), "keys and values, such as rows and filter", data)
        faults.raise_if_any()
    data = up_to_date(data, "samelight_view", VIEW, faults)
    document = replace(document, data=data)
    readers = _readers()
    read: dict[str, Any] = {}
    for key, value in data.items():
        if key == "samelight_view":
            continue
        if key not in readers:
            faults.unknown_key((key,), "a key of a view", readers)
        elif value is not None:
            read[key] = readers[key](document, key)
    faults.raise_if_any()
    return View(**read)


KeyReader = Callable[[Document, str], Any]


def _readers() -> dict[str, KeyReader]:
    return {
        "rows": _one_of(Show),
        "filter": _text,
        "order": _one_of(Order),
        "cells": _one_of(Shown),
        "only_my_shots": _switch,
        "column_width": _width,
        "fitted": _switch,
        **dict.fromkeys(("expanded", "pinned", "hidden_rows", "hidden_shots", "together"), _names),
    }


def _one_of(choices: type[StrEnum]) -> KeyReader:
    def read(document: Document, key: str) -> StrEnum | None:
        value = document.data[key]
        if isinstance(value, str) and value in set(choices):
            return choices(value)
        near = nearest_name(value, list(choices)) if isinstance(value, str) else None
        document.faults.add((key,), f"one of {', '.join(choices)}", value, near)
        return None

    return read


def _text(document: Document, key: str) -> str:
    """Text, or a number as it is written."""
    value = document.data[key]
    text = value if isinstance(value, str) else document.written((key,))
    if text is None:
        document.faults.add((key,), "text", value)
    elif len(text) > LONGEST_FILTER:
        document.faults.add((key,), f"at most {LONGEST_FILTER} letters", Found(f"{len(text)}"))
    return text or ""


def _switch(document: Document, key: str) -> bool:
    value = document.data[key]
    if not isinstance(value, bool):
        document.faults.add((key,), "true or false", value)
    return bool(value)


def _width(document: Document, key: str) -> float | None:
    value = document.data[key]
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if number and math.isfinite(value) and 0 < value <= _WIDEST:
        return float(value)
    document.faults.add((key,), f"a width in pixels, up to {_WIDEST:g}", value)
    return None


def _names(document: Document, key: str) -> Names:
    value = document.data[key]
    if not isinstance(value, list):
        document.faults.add((key,), "a list of names", value)
        return ()
    found: dict[str, None] = {}
    for index, item in enumerate(value):
        name = item if isinstance(item, str) else document.written((key, index))
        if name is None or item is None:
            document.faults.add((key, index), "a name", item)
        else:
            found[name] = None
    return tuple(found)
