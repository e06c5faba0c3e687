"""Kinds of ray that end in nothing, since no environment is seen by them any more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection
from dataclasses import dataclass

import numpy as np

from samelight.drift.cells import Cell
from samelight.drift.words import value_text
from samelight.findings.board import Board, Rests, is_absent
from samelight.findings.finding import Concern, Finding, Sureness
from samelight.findings.skies import GI_KINDS, REFLECTION_KINDS, any_sees, environments, kinds_seeing
from samelight.findings.words import listed, thing
from samelight.light.rays import sees
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value
from samelight.sheets.vocabulary import LENGTH

GI_GAP = "gi-gap"
REFLECTION_GAP = "reflection-gap"

_SEEING = ("", "seen_by", "visible", "level")


@dataclass(frozen=True, slots=True)
class _Gap:
    """A kind of gap: which rays it is about, and when a sheet has it."""

    name: str
    kinds: tuple[str, ...]
    is_open: Callable[[Sheet | None], bool]


def limited_range(sheet: Sheet | None) -> float | None:
    """The GI range of a sheet in metres where it ends somewhere and GI is not said to be off; None otherwise."""
    if sheet is None or sheet.value("render", "gi", "on") is False:
        return None
    reach = sheet.value("render", "gi", "range")
    return reach if isinstance(reach, float) and reach > 0.0 else None


def _no_gi(sheet: Sheet | None) -> bool:
    return limited_range(sheet) is not None and not any_sees(environments(sheet), GI_KINDS)


def _no_reflection(sheet: Sheet | None) -> bool:
    return not any_sees(environments(sheet), REFLECTION_KINDS)


_GI = _Gap(GI_GAP, GI_KINDS, _no_gi)
_REFLECTION = _Gap(REFLECTION_GAP, REFLECTION_KINDS, _no_reflection)


def gi_gap(board: Board) -> list[Finding]:
    """GI is on with a limited range, and no environment is seen by the rays that leave it."""
    found = []
    for columns, cells in _gaps(board, _GI):
        ranges = {limited_range(board.sheets[column]) for column in columns}
        reach = next(iter(ranges)) if len(ranges) == 1 else None
        within = f"after {value_text(reach, LENGTH)}" if reach is not None else "at the end of their range"
        found.append(
            board.make(
                GI_GAP,
                f"GI rays in {board.shots(columns)} see no environment: {within} they end in nothing, "
                "and the frame goes dark.",
                cells,
                columns=columns,
                parameters=["render.gi.range"],
                sureness=Sureness.LIKELY,
                known="GI is on with a limited range, and no environment is visible to indirect or diffuse rays.",
                guessed="Rays that leave the range take the environment's light, as is usual; then there is none.",
                do=f"Let these rays see {_sky(board)}, or add a copy that only they see.",
                concern=Concern.PICTURE,
                rests=_rests(board, columns, with_range=True),
            )
        )
    return found


def reflection_gap(board: Board) -> list[Finding]:
    """No environment is seen by reflection rays."""
    return [
        board.make(
            REFLECTION_GAP,
            f"Reflection rays in {board.shots(columns)} see no environment: mirrors and gloss go black or lose the sky.",
            cells,
            columns=columns,
            parameters=[f"environments.{name}.seen_by" for name in environments(board.master)],
            known="No environment is visible to reflection rays; in the master one is.",
            do=f"Let reflection rays see {_sky(board)}, or add a copy that only they see.",
            concern=Concern.PICTURE,
            rests=_rests(board, columns, with_range=False),
        )
        for columns, cells in _gaps(board, _REFLECTION)
    ]


def _rests(board: Board, columns: Collection[int], *, with_range: bool) -> dict[int, Rests]:
    """By column, which rays each environment there lets see it, and where it counts the GI range."""
    found = {}
    for column in columns:
        values: dict[str, Value | None] = {
            parameter_name("environments", name, leaf): environment.get(leaf)
            for name, environment in environments(board.sheets[column]).items()
            for leaf in _SEEING
            if leaf and leaf in environment
        }
        if with_range:
            values["render.gi.range"] = limited_range(board.sheets[column])
        found[column] = Rests(values)
    return found


def _sky(board: Board) -> str:
    return listed([thing(name) for name in environments(board.master)]) or "an environment"


def _gaps(board: Board, gap: _Gap) -> list[tuple[list[int], list[Cell]]]:
    """The shots with a gap that the master lacks, and the cells it follows from; alike ones together."""
    if gap.is_open(board.master):
        return []
    suspects: set[int] = set()
    for index, row in enumerate(board.table.rows):
        if row.section == "environments" or (row.section, row.group) == ("render", "gi"):
            suspects.update(board.unsettled[index].nonzero()[0].tolist())
    alike: dict[tuple[int, ...], list[Cell]] = defaultdict(list)
    columns: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for column in sorted(suspects):
        if gap.is_open(board.sheets[column]):
            cells = _causes(board, gap.kinds, column)
            key = tuple(index for index, _ in cells)
            alike[key].extend(cells)
            columns[key].append(column)
    return [(columns[key], alike[key]) for key in columns]


def _causes(board: Board, kinds: Collection[str], column: int) -> list[Cell]:
    """The unsettled cells through which these rays lost what they saw, or GI got its limited range."""
    found: list[Cell] = []
    for index in np.flatnonzero(board.unsettled[:, column] & board.typed).tolist():
        row = board.table.rows[index]
        if row.section not in ("environments", "render"):
            continue
        if row.section == "render":
            hit = row.parameter in ("render.gi.on", "render.gi.range") and limited_range(board.master) is None
        elif not row.leaf:
            hit = is_absent(board.entry(index, column)) and _saw(board.master, row.group, kinds)
        else:
            hit = row.leaf in _SEEING and _saw(board.master, row.group, kinds)
            hit = hit and not _saw(board.sheets[column], row.group, kinds)
        if hit:
            found.append((index, column))
    return found


def _saw(sheet: Sheet | None, name: str, kinds: Collection[str]) -> bool:
    environment = environments(sheet).get(name)
    return environment is not None and any(sees(kinds_seeing(environment), kind) for kind in kinds)
