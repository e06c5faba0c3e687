"""The rows of a table by what they belong to: a light, an environment, a group of settings. No Qt."""

from __future__ import annotations

from dataclasses import dataclass

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


def groups_of(table: Table) -> tuple[Group, ...]:
    """The groups of a table, in the order of their first rows."""
    members: dict[str, list[int]] = {}
    for index, row in enumerate(table.rows):
        members.setdefault(row.group_name, []).append(index)
    groups = []
    for name, rows in members.items():
        first = table.rows[rows[0]]
        title = first.group or _SECTION_TITLES.get(first.section, first.section)
        presence = rows[0] if not first.leaf and first.kind == "presence" else None
        groups.append(Group(name, title, first.section, tuple(rows), presence))
    return tuple(groups)
