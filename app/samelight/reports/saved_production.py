"""A check of a production that was saved with `--format json`: the cases of each sequence as they stood then."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from samelight.decisions.state import State
from samelight.reports.summary import CaseKey
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.plain_files import UnfitFileError, open_plain
from samelight.sheets.upgrades import STATES

_OFF = ("drift", "break")
_WANTED = "a check of a production, saved with samelight check PRODUCTION --format json"

LARGEST = 512 * 2**20
"""Bytes of a saved check."""


@dataclass(frozen=True, slots=True)
class SavedCases:
    """The cases of one sequence that were not settled, each with its state; `since` names the file."""

    since: str
    cases: Mapping[CaseKey, str]


def read_saved(path: Path) -> dict[str, SavedCases]:
    """What a saved check says of each sequence that was looked at. Raises `SheetError` for what is none."""
    try:
        with open_plain(path, LARGEST) as file:
            data = json.loads(file.read())
        sequences = data["sequences"]
        return {
            str(one["name"]): SavedCases(path.name, _cases(one["result"]))
            for one in sequences
            if one.get("result")
        }
    except UnfitFileError as error:
        raise SheetError([Fault(str(path), "", error.expected or _WANTED, error.found)]) from None
    except OSError as error:
        raise SheetError([Fault(str(path), "", _WANTED, error.strerror or str(error))]) from None
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise SheetError([Fault(str(path), "", _WANTED, "another file")]) from None


def _cases(result: Mapping[str, Any]) -> dict[CaseKey, str]:
    cells = [one for one in result["cells"] if not one.get("follows")]
    cases = [case for finding in result["findings"] for case in finding.get("cases", ())]
    return {
        (str(one["shot"]), str(one["parameter"])): STATES.get(one["state"], one["state"])
        for one in [*cells, *cases]
        if one["level"] in _OFF and STATES.get(one["state"], one["state"]) != State.INTENDED
    }
