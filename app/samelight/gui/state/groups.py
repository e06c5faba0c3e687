"""The rows of a table by what they belong to: a light, an environment, a group of settings. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

from samelight.drift.table import Table

_SECTION_TITLES = {"cost": "Cost"}


@dataclass(frozen=True, slots=True)
class Group:
    """A light, an environment, a group of settings. `rows` are indices of the table, `presence` is one of them."""

    name: str
    title: str
    section: str
    rows: tuple[int, ...]
    presence: int | None


class Groups(Sequence[Group]):
    """The groups of a table, in the order of their first rows."""

    def __init__(self, table: Table) -> None:
        members: dict[str, list[int]] = {}
        for index, row in enumerate(table.rows):
            members.setdefault(row.group_name, []).append(index)
        self._groups = [_group(table, name, rows) for name, rows in members.items()]
        self._places = {name: index for index, name in enumerate(members)}
        self.of_row = [self._places[row.group_name] for row in table.rows]
        """The index of each row's group."""

    @overload
    def __getitem__(self, index: int) -> Group: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Group]: ...
    def __getitem__(self, index: int | slice) -> Group | Sequence[Group]:
        return self._groups[index]

    def __len__(self) -> int:
        return len(self._groups)

    def named(self, name: str) -> int | None:
        """The index of a group."""
        return self._places.get(name)


def _group(table: Table, name: str, rows: list[int]) -> Group:
    first = table.rows[rows[0]]
    title = first.group or _SECTION_TITLES.get(first.section, first.section)
    presence = rows[0] if not first.leaf and first.kind == "presence" else None
    return Group(name, title, first.section, tuple(rows), presence)
