"""What candidates for a spelling are made from, and what they are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

from samelight.sheets.conventions import Conventions
from samelight.sheets.values import Group, Value


class _Removed(Enum):
    REMOVED = "removed"


REMOVED: Final = _Removed.REMOVED
"""Stands where a name is to be taken out of a sheet."""

Edits = dict[str, Any]
"""Names of a group, dotted where they are nested, and what to type; `REMOVED` for one to take out."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What candidates are made from: the group as typed in the shot and in the master (both flat), what it reads as now,
    what it should read as, and both sheets' conventions. `brightened` gives the level that edits would lead to."""

    section: str
    kind: str
    typed: Mapping[str, Any]
    like: Mapping[str, Any]
    now: Group
    wanted: Value | None
    here: Conventions
    there: Conventions
    brightened: Callable[[Edits], Value | None]
