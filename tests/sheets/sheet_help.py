"""Sheets from text, and their faults, for the tests of this folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from samelight.sheets.conventions import Conventions
from samelight.sheets.errors import Fault, Faults, SheetError
from samelight.sheets.quantities import Reader
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text

YAML, JSON = Path("quay.yaml"), Path("quay.json")

Known = Mapping[str, Any]
"""The values of a group, each of the class that its parameter has."""


def sheet_of(text: str, path: Path = YAML, **given: Any) -> Sheet:
    """The sheet that a text holds."""
    return sheet_from_document(parse_document(path, text), **given)


def faults_of(text: str, path: Path = YAML, **given: Any) -> tuple[Fault, ...]:
    """The faults of a text that is no sheet."""
    with pytest.raises(SheetError) as caught:
        sheet_of(text, path, **given)
    return caught.value.faults


def only_fault(text: str, path: Path = YAML, **given: Any) -> Fault:
    """The one fault of a text."""
    faults = faults_of(text, path, **given)
    assert len(faults) == 1, "\n".join(map(str, faults))
    return faults[0]


def tree_fault(text: str, path: Path = YAML) -> Fault:
    """The one fault of a text that is no plain tree."""
    with pytest.raises(SheetError) as caught:
        parse_document(path, text).faults.raise_if_any()
    assert len(caught.value.faults) == 1, str(caught.value)
    return caught.value.faults[0]


def tree_of(text: str, path: Path = YAML) -> Any:
    """The tree of a text without faults."""
    document = parse_document(path, text)
    document.faults.raise_if_any()
    return document.data


def section_of(section: str, groups: dict[str, Any], **sheet: Any) -> Mapping[str, Known]:
    """The canonical values of one section, given as a tree; `sheet` adds to the top of the sheet."""
    return sheet_of(yaml_text({"samelight": 2, **sheet, section: groups})).sections[section]


def light_of(typed: dict[str, Any], **sheet: Any) -> Known:
    """The canonical values of one light."""
    return section_of("lights", {"sun": typed}, **sheet)["sun"]


def light_fault(typed: dict[str, Any], **sheet: Any) -> Fault:
    """The one fault of one light."""
    return only_fault(yaml_text({"samelight": 2, **sheet, "lights": {"sun": typed}}))


def reader(conventions: Conventions | None = None) -> Reader:
    """A reader whose faults have no lines."""
    return Reader(conventions or Conventions(), Faults(YAML, lambda place: None))
