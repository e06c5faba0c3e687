"""Which cells are cases, and which follow from others: computed rows change since something typed does.

The level of a light at a mark follows from that light; a sum, the fill and a ratio from all lights and environments; the
key from all lights; what rays see from the environments; the sun against the sky from both; the count from which lights
there are. Whoever decides on the cause has decided on what follows from it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.derived_names import SECTIONS
from samelight.drift.rows import Row
from samelight.drift.table import Table
from samelight.drift.words import first_names
from samelight.sheets.patterns import DISTANT, SUN

PRESENCE = ""
"""The leaf of the row that says whether a whole group is there."""

REACHES_A_MARK = frozenset(
    {
        PRESENCE,
        "type",
        "level",
        "position",
        "direction",
        "roll",
        "axis",
        "radius",
        "width",
        "height",
        "length",
        "angle",
        "cone",
        "inner_cone",
        "softness",
        "focus",
        "focus_tint",
        "texture",
        "format",
        "rotation",
        "tilt",
        "ies",
        "mesh",
        "instances",
        "area",
        "ies_angle_scale",
        "ies_normalize",
        "diffuse",
        "visible",
        "seen_by",
    }
)
"""What of a light decides what a surface at a mark receives of it; its colour, samples and links do not."""

SEEN_BY_RAYS = frozenset({PRESENCE, "level", "visible", "seen_by"})
PLACES_THE_SUN = frozenset({PRESENCE, "type", "level", "direction", "visible", "seen_by", "diffuse"})
"""The sun is the brightest distant light that is on, so that what makes another the brightest counts too."""

_OF_THE_KEY = frozenset({"key", "key_side", "key_angle", "key_height", "key_size"})
_ONE_LIGHT = ("level.", "lit.")

Mask = NDArray[np.bool_]
Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Feed:
    """Computed rows that come from the same typed rows: indices of both, each ascending."""

    rows: Rows
    inputs: Rows


@dataclass(frozen=True, slots=True, eq=False)
class Following:
    """What follows in a table, all arrays of the shape (rows, shots).

    `mask` marks the cells that differ and follow from others. `case` marks those that differ and do not: each is decided
    on by itself. `weight` is the grade of a cell, raised where it is a cause of something that breaks a lock.

    A computed cell follows from the typed ones of its shot that differ and that it comes from. Where all of these are
    inside their tolerances and it is not, or where none differs, it is a case by itself. `drifting` (shape (shots,)) is how
    many cases of each shot weigh as much as a drift.
    """

    table: Table
    feeds: tuple[Feed, ...]
    mask: Mask
    case: Mask
    weight: NDArray[np.uint8]
    drifting: NDArray[np.intp]
    _feed_of: Mapping[int, Feed]

    def causes(self, row: int, column: int) -> tuple[int, ...]:
        """The rows that a cell follows from in this shot; none where it is a case by itself, or does not differ."""
        if not self.mask[row, column]:
            return ()
        inputs = self._feed_of[row].inputs
        found: list[int] = inputs[self.table.grade[inputs, column] > Grade.SAME].tolist()
        return tuple(found)

    def deciding(self, row: int, column: int) -> tuple[int, ...]:
        """Those of `causes` that decide on the cell: the ones out of tolerance, where any is."""
        causes = self.causes(row, column)
        off = tuple(cause for cause in causes if self.table.grade.item(cause, column) >= Grade.DRIFT)
        return off or causes

    def parameters(self, row: int, column: int) -> tuple[str, ...]:
        """The parameters that a computed cell follows from in its shot, and is decided on with; none for a case."""
        return self._named(self.causes(row, column))

    def text(self, row: int, column: int) -> str:
        """Why a cell is not decided on, and where it is."""
        causes = first_names(self._named(self.deciding(row, column)), 4)
        shot = self.table.shots[column]
        return f"{self.table.rows[row].parameter} follows from {causes} in {shot}: decide there"

    def _named(self, rows: Sequence[int]) -> tuple[str, ...]:
        return tuple(self.table.rows[row].parameter for row in rows)


def following(table: Table, before: Following | None = None) -> Following:
    """What follows from what in a table. Of one that was made after that of `before` only the shots that changed are gone
    through."""
    columns = None if before is None else table.columns_since(before.table)
    if before is None or columns is None:
        feeds = tuple(_feeds(table.rows)) if table.shots else ()
        feed_of = {row: feed for feed in feeds for row in feed.rows.tolist()}
        return Following(table, feeds, *_followed(table.grade, feeds), feed_of)
    mask, case, weight, drifting = (
        before.mask.copy(),
        before.case.copy(),
        before.weight.copy(),
        before.drifting.copy(),
    )
    mask[:, columns], case[:, columns], weight[:, columns], drifting[columns] = _followed(
        table.grade[:, columns], before.feeds
    )
    return Following(table, before.feeds, mask, case, weight, drifting, before._feed_of)  # noqa: SLF001 - it is of the same rows


_Followed = tuple[Mask, Mask, NDArray[np.uint8], NDArray[np.intp]]


def _followed(grade: NDArray[np.uint8], feeds: Sequence[Feed]) -> _Followed:
    """Mask, case, weight and drifting cases of the cells of these grades."""
    mask: Mask = np.zeros(grade.shape, dtype=np.bool_)
    weight = grade
    for feed in feeds:
        causes, effects = grade[feed.inputs], grade[feed.rows]
        top = causes.max(axis=0)
        follows = (
            (effects > Grade.SAME) & (top > Grade.SAME) & ((effects < Grade.DRIFT) | (top >= Grade.DRIFT))
        )
        mask[feed.rows] = follows
        heaviest = np.where(follows, effects, np.uint8(Grade.NONE)).max(axis=0)
        if (heaviest > top).any():
            weight = grade.copy() if weight is grade else weight
            raised = np.where(decide(causes), heaviest, np.uint8(Grade.NONE))
            weight[feed.inputs] = np.maximum(weight[feed.inputs], raised)
    case: Mask = (grade > Grade.SAME) & ~mask
    return mask, case, weight, np.count_nonzero(case & (weight >= Grade.DRIFT), axis=0)


def decide(causes: NDArray[np.uint8]) -> Mask:
    """Of the grades of causes, shape (causes, shots), which decide on what follows from them in that shot.

    Those out of tolerance where any is; else those that differ.
    """
    least = np.where((causes >= Grade.DRIFT).any(axis=0), Grade.DRIFT, Grade.WITHIN)
    decides: Mask = causes >= least
    return decides


def _feeds(rows: Sequence[Row]) -> Iterator[Feed]:
    typed: dict[str, list[tuple[int, Row]]] = defaultdict(list)
    for index, row in enumerate(rows):
        if row.section in ("lights", "environments"):
            typed[row.section].append((index, row))
    fed: dict[tuple[int, ...], list[int]] = defaultdict(list)
    known: dict[tuple[str, ...], tuple[int, ...]] = {}
    for index, row in enumerate(rows):
        if row.section not in SECTIONS:
            continue
        source = _source(row)
        inputs = known.get(source)
        if inputs is None:
            wanted = _wanted(source)
            inputs = known[source] = tuple(
                place
                for section in ("lights", "environments")
                for place, one in typed[section]
                if wanted(one)
            )
        if inputs:
            fed[inputs].append(index)
    for inputs, computed in fed.items():
        yield Feed(np.array(computed, dtype=np.intp), np.array(sorted(inputs), dtype=np.intp))


def _source(row: Row) -> tuple[str, ...]:
    """What a computed row comes from, as a name that rows which come from the same have in common."""
    match row.section:
        case "marks" if row.leaf.startswith(_ONE_LIGHT):
            return "light", row.leaf.partition(".")[2]
        case "marks":
            return ("lights",) if row.leaf in _OF_THE_KEY else ("all",)
        case "sky":
            return "sky", row.group
        case _:
            return (row.section,)


def _wanted(source: tuple[str, ...]) -> Callable[[Row], bool]:
    match source:
        case ("light", name):
            return lambda row: row.group == name and row.leaf in REACHES_A_MARK
        case ("lights",):
            return lambda row: row.section == "lights" and row.leaf in REACHES_A_MARK
        case ("all",):
            return lambda row: row.leaf in REACHES_A_MARK
        case ("sky", name):
            return lambda row: (
                (row.section == "lights" and row.light_type in (DISTANT, SUN) and row.leaf in PLACES_THE_SUN)
                or ((row.section, row.group) == ("environments", name) and row.leaf in (PRESENCE, "rotation"))
            )
        case ("rays",):
            return lambda row: row.section == "environments" and row.leaf in SEEN_BY_RAYS
        case ("count",):
            return lambda row: row.section == "lights" and row.leaf == PRESENCE
        case _:
            return lambda row: False
