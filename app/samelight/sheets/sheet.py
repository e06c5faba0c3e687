"""A sheet: one shot's lighting, or a master setup, as typed and in canonical form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from samelight.sheets.canonical import Sections, canonical
from samelight.sheets.conventions import Conventions, read_conventions
from samelight.sheets.errors import Faults, Found, nearest_name, shown_name
from samelight.sheets.quantities import Reader, way_to_nothing
from samelight.sheets.trees import Document, read_document
from samelight.sheets.upgrades import SHEET, up_to_date
from samelight.sheets.values import Value
from samelight.sheets.vocabulary import FORMAT_VERSION, KEPT_OF_FILES, SHEET_KEYS, Patterns, typed_names


@dataclass(frozen=True, slots=True)
class Sheet:
    """One published state of one shot (or of the master setup, whose `shot` is empty).

    `typed` is the tree as the file has it; `sections` holds what is compared.
    """

    path: Path
    shot: str
    version: int
    master: int | None
    frames: tuple[int, int] | None
    typed: Mapping[str, Any] = field(repr=False)
    sections: Sections = field(repr=False)
    conventions: Conventions = field(default_factory=Conventions)
    remarks: tuple[str, ...] = ()

    def value(self, section: str, group: str, leaf: str) -> Value | None:
        """The canonical value of a parameter, or None."""
        return self.sections.get(section, {}).get(group, {}).get(leaf)

    def as_typed(self, section: str, group: str, leaf: str) -> dict[str, Any]:
        """What the file says of a parameter: every name that folds into it, with its typed value, but for what a capture keeps of a
        file, which nobody types or reads."""
        data: Any = self.typed.get(section)
        data = data.get(group) if group and isinstance(data, Mapping) else data
        if not isinstance(data, Mapping):
            return {}
        found = {name: _under(data, name) for name in typed_names(section, leaf) if name not in KEPT_OF_FILES}
        return {name: value for name, value in found.items() if value is not _ABSENT}


_ABSENT = object()


def _under(data: Mapping[str, Any], name: str) -> Any:
    """What stands under a name whose dots may be steps into mappings, or `_ABSENT`."""
    if name in data:
        return data[name]
    first, _, rest = name.partition(".")
    below = data.get(first)
    return _under(below, rest) if rest and isinstance(below, Mapping) else _ABSENT


def read_sheet(
    path: Path,
    *,
    shot: str | None = None,
    version: int = 1,
    given: Conventions | None = None,
    kinds: Patterns = (),
) -> Sheet:
    """Read a sheet file.

    `shot` is the shot it should be for (None: a master setup, or not known), `version` the version its file
    name states, `given` the sequence's conventions, `kinds` a policy's patterns. Raises `SheetError` with every
    fault of the file.
    """
    return sheet_from_document(read_document(path), shot=shot, version=version, given=given, kinds=kinds)


def sheet_from_document(
    document: Document,
    *,
    shot: str | None = None,
    version: int = 1,
    given: Conventions | None = None,
    kinds: Patterns = (),
) -> Sheet:
    """The sheet that a parsed document holds; see `read_sheet`."""
    faults = document.faults
    data = document.data
    if not isinstance(data, dict):
        faults.add((), f"keys and values, samelight: {FORMAT_VERSION} first", data)
        faults.raise_if_any()
    data = _of_today(data, faults)
    for key in data:
        if key not in SHEET_KEYS:
            faults.unknown_key((key,), "a key of a sheet", SHEET_KEYS)
        elif data[key] is None:
            faults.add((key,), "a value", None)
    remarks = _remarks(data, faults)
    name = _shot(document, shot, faults)
    stated = _whole_number(data, "version", faults)
    if stated is not None and stated != version:
        remarks = (*remarks, f"The sheet says version {stated}; its file name says version {version}.")
    master = _whole_number(data, "master", faults)
    frames = _frames(data.get("frames"), faults)
    sync = data.get("sync_frame", 0)
    if not isinstance(sync, int | float) or isinstance(sync, bool):
        faults.add(("sync_frame",), "the frame that animation is told from, such as 1012", sync)
    _check_texts(data, faults)
    conventions = read_conventions(data, given or Conventions(), faults)
    sections = canonical(data, Reader(conventions, faults), kinds)
    faults.raise_if_any()
    return Sheet(
        document.path,
        name,
        version,
        master,
        frames,
        data,
        sections,
        conventions,
        remarks,
    )


def _check_texts(data: Mapping[str, Any], faults: Faults) -> None:
    """What is text, and what is said of where a sheet comes from."""
    for key in ("notes", "setup", "key_shot"):
        if isinstance(data.get(key), dict | list):
            faults.add((key,), "text", data[key])
    for key in ("source", "published"):
        if isinstance(data.get(key), list):
            faults.add((key,), "text, or values by name", data[key])
        nothing = way_to_nothing(data[key]) if data.get(key) is not None else None
        if nothing is not None:
            faults.add((key, *nothing), "a value", None)


def _of_today(data: dict[str, Any], faults: Faults) -> Mapping[str, Any]:
    """The sheet as today's format says it. Raises `SheetError` at once for a newer one, whose rules are not known."""
    key = "samelight"
    if key in data or nearest_name(key, (name for name in data if name not in SHEET_KEYS)) is not None:
        # A misspelt one is told as the unknown key that it is.
        return up_to_date(data, key, SHEET, faults)
    faults.add((key,), f"the format version, {key}: {FORMAT_VERSION}", Found("none"))
    return data


def _shot(document: Document, shot: str | None, faults: Faults) -> str:
    """The name of the shot the sheet is for. A number or a switch is a name as it is written, such as 010."""
    value = document.data.get("shot")
    if value is None:
        return shot or ""
    name = value if isinstance(value, str) else document.written(("shot",))
    if name is None or not name.strip():
        faults.add(("shot",), "the name of the shot", value)
        return ""
    if shot and name != shot:
        faults.add(("shot",), f"the shot {shown_name(shot)}", Found(f"a sheet of {shown_name(name)}"))
    return shot if shot is not None else name


def _remarks(data: Mapping[str, Any], faults: Faults) -> tuple[str, ...]:
    remarks = data.get("remarks")
    if remarks is None:
        return ()
    if isinstance(remarks, list) and all(isinstance(remark, str) for remark in remarks):
        return tuple(remarks)
    faults.add(("remarks",), "a list of sentences", remarks)
    return ()


def _whole(value: Any) -> int | None:
    """A whole number, also one written as 2.0; None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return int(value) if float(value).is_integer() else None


def _whole_number(data: Mapping[str, Any], key: str, faults: Faults) -> int | None:
    value = data.get(key)
    if value is None:
        return None
    whole = _whole(value)
    if whole is None or whole < 0:
        faults.add((key,), "a version number", value)
        return None
    return whole


def _frames(value: Any, faults: Faults) -> tuple[int, int] | None:
    if value is None:
        return None
    if isinstance(value, list) and len(value) == 2:
        first, last = _whole(value[0]), _whole(value[1])
        if first is not None and last is not None and first <= last:
            return first, last
    faults.add(("frames",), "the first and the last frame, such as [1001, 1084]", value)
    return None
