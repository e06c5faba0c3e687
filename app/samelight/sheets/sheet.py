"""A sheet: one shot's lighting, or a master setup, as typed and in canonical form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from samelight.sheets.canonical import Sections, canonical
from samelight.sheets.conventions import Conventions, read_conventions
from samelight.sheets.errors import Faults, Found, nearest_name
from samelight.sheets.quantities import Reader
from samelight.sheets.trees import Document, read_document
from samelight.sheets.values import Value
from samelight.sheets.vocabulary import FOLDED, FORMAT_VERSION, SHEET_KEYS, Patterns


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
        """What the file says of a parameter: every name that folds into it, with its typed value."""
        data: Any = self.typed.get(section)
        data = data.get(group) if group and isinstance(data, Mapping) else data
        if not isinstance(data, Mapping):
            return {}
        names = FOLDED.get(leaf, ()) if section in ("lights", "environments", "camera") else ()
        if section == "environments" and leaf in ("rotation", "tilt"):
            names = ("rotation", "rotation_order", "matrix")
        found = {name: data[name] for name in names if name in data}
        if found:
            return found
        for part in leaf.split("."):
            if not isinstance(data, Mapping) or part not in data:
                return {}
            data = data[part]
        return {leaf: data}


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
        faults.add((), "a mapping that starts with samelight: 1", data)
        faults.raise_if_any()
    _check_format(data, faults)
    faults.raise_if_any()
    for key in data:
        if key not in SHEET_KEYS:
            known = nearest_name(key, SHEET_KEYS)
            faults.add((key,), "a key of a sheet", Found(f"the key {key}"), known)
    remarks = _remarks(data, faults)
    name = data.get("shot", shot or "")
    if isinstance(name, int | float) and not isinstance(name, bool):
        name = str(name)
    if not isinstance(name, str) or (shot and not name):
        faults.add(("shot",), "the name of the shot", name)
    elif shot and name != shot:
        faults.add(("shot",), f"the shot {shot}", Found(f"a sheet of {name}"))
    stated = _whole_number(data, "version", faults)
    if stated is not None and stated != version:
        remarks = (*remarks, f"The sheet says version {stated}; its file name says version {version}.")
    master = _whole_number(data, "master", faults)
    frames = _frames(data.get("frames"), faults)
    conventions = read_conventions(data, given or Conventions(), faults)
    sections = canonical(data, Reader(conventions, faults), kinds)
    faults.raise_if_any()
    return Sheet(
        document.path,
        shot if shot is not None else str(name),
        version,
        master,
        frames,
        data,
        sections,
        conventions,
        remarks,
    )


def _check_format(data: Mapping[str, Any], faults: Faults) -> None:
    stated = data.get("samelight")
    if isinstance(stated, bool) or not isinstance(stated, int):
        found: Any = Found("no such key") if "samelight" not in data else stated
        near = nearest_name("samelight", (str(key) for key in data)) if "samelight" not in data else None
        faults.add(("samelight",), f"the format version, samelight: {FORMAT_VERSION}", found, near)
    elif stated != FORMAT_VERSION:
        faults.add(
            ("samelight",), f"format version {FORMAT_VERSION}", Found(f"version {stated}, of a newer program")
        )


def _remarks(data: Mapping[str, Any], faults: Faults) -> tuple[str, ...]:
    remarks = data.get("remarks")
    if remarks is None:
        return ()
    if isinstance(remarks, list) and all(isinstance(remark, str) for remark in remarks):
        return tuple(remarks)
    faults.add(("remarks",), "a list of sentences", remarks)
    return ()


def _whole_number(data: Mapping[str, Any], key: str, faults: Faults) -> int | None:
    value = data.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        faults.add((key,), "a version number", value)
        return None
    return value


def _frames(value: Any, faults: Faults) -> tuple[int, int] | None:
    if value is None:
        return None
    whole = isinstance(value, list) and all(isinstance(v, int) and not isinstance(v, bool) for v in value)
    if whole and len(value) == 2 and value[0] <= value[1]:
        return value[0], value[1]
    faults.add(("frames",), "[first, last]", value)
    return None
