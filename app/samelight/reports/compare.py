"""Two saved checks of one sequence: what was mended, what is new, what moved."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from samelight.decisions.state import State
from samelight.drift.cells import CellName
from samelight.sheets.errors import Fault, Faults, SheetError, shown
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.upgrades import CHECK, up_to_date
from samelight.sheets.values import alike, decoded_bound
from samelight.sheets.vocabulary import FORMAT_VERSION

OFF = ("drift", "break")
"""Levels out of tolerance."""

_TEXTS = ("master", "value", "unit", "state")
_STATES = frozenset(map(str, State))
LARGEST = 512 * 1024 * 1024
"""Bytes of a saved check; one of 2,000 shots with everything listed has about a third of that."""


@dataclass(frozen=True, slots=True)
class SavedCheck:
    """A saved check: its cells as they stand in the file, by shot and parameter, and the cases of its findings as cells.

    `shots` are those it looked at, None in a file that does not say so.
    """

    sequence: str
    master: int | None
    shots: tuple[str, ...] | None
    cells: Mapping[CellName, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class CheckChanges:
    """What changed from one check to the next, in the order of the newer one; mended cells in that of the older.

    Pairs are before and after. `decided` are cells whose values held while somebody decided on them; `unchanged` counts
    those out of tolerance in both. Only shots that both looked at are compared.
    """

    mended: tuple[Mapping[str, Any], ...]
    new: tuple[Mapping[str, Any], ...]
    moved: tuple[tuple[Mapping[str, Any], Mapping[str, Any]], ...]
    decided: tuple[tuple[Mapping[str, Any], Mapping[str, Any]], ...]
    unchanged: int
    only_old: tuple[str, ...] = ()
    only_new: tuple[str, ...] = ()

    @property
    def is_worse(self) -> bool:
        """Whether something is new that nobody has said is meant."""
        return any(cell["state"] != "intended" for cell in self.new)


def read_check(path: Path) -> SavedCheck:
    """A file that `samelight check --format json` wrote. Raises `SheetError` with what is wrong with it."""
    try:
        data = json.loads(read_plain(path, LARGEST))
    except UnfitFileError as error:
        _fail(path, "", error.expected or "what samelight check --format json prints", error.found)
    except OSError as error:
        _fail(path, "", "a readable file", error.strerror or str(error))
    except (ValueError, RecursionError) as error:
        _fail(path, "", "what samelight check --format json prints", f"malformed JSON ({str(error)[:80]})")
    if not isinstance(data, dict) or "samelight" not in data:
        _fail(path, "", "what samelight check --format json prints", shown(data))
    if "production" in data:
        _fail(path, "", "the check of one sequence", "that of a production")
    faults = Faults(path, lambda place: None)
    data = up_to_date(data, "samelight", CHECK, faults)
    faults.raise_if_any()
    cells = data.get("cells")
    if not isinstance(cells, list):
        _fail(path, "cells", "a list of cells", shown(cells))
    by_key: dict[CellName, Mapping[str, Any]] = {}
    for index, cell in enumerate(cells):
        _check_cell(path, f"cells[{index}]", cell)
        by_key[cell["shot"], cell["parameter"]] = cell
    for place, case in _cases(path, data):
        _check_cell(path, place, case)
        by_key[case["shot"], case["parameter"]] = case
    shots = data.get("shots")
    if shots is not None and not (isinstance(shots, list) and all(isinstance(shot, str) for shot in shots)):
        _fail(path, "shots", "a list of names", shown(shots))
    master = data.get("master")
    return SavedCheck(
        str(data.get("sequence", "")),
        master if isinstance(master, int) else None,
        None if shots is None else tuple(shots),
        by_key,
    )


def _cases(path: Path, data: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """The cases of findings with where they stand; a file of before findings had any has none."""
    findings = data.get("findings", [])
    if not isinstance(findings, list):
        _fail(path, "findings", "a list of findings", shown(findings))
    for index, finding in enumerate(findings):
        cases = finding.get("cases", []) if isinstance(finding, dict) else None
        if not isinstance(cases, list):
            _fail(path, f"findings[{index}]", "a finding with a list of cases", shown(finding))
        for number, case in enumerate(cases):
            yield (
                f"findings[{index}].cases[{number}]",
                {"unit": "", **case} if isinstance(case, dict) else case,
            )


def _check_cell(path: Path, place: str, cell: Any) -> None:
    if not isinstance(cell, dict):
        _fail(path, place, "a cell", shown(cell))
    for name in ("shot", "parameter", "level", *_TEXTS):
        if not isinstance(cell.get(name), str):
            _fail(path, f"{place}.{name}", "text", shown(cell.get(name)))
    if cell["state"] not in _STATES:
        _fail(path, f"{place}.state", f"one of {', '.join(State)}", shown(cell["state"]))
    drift = cell.get("drift")
    if drift is not None and (isinstance(drift, bool) or not isinstance(drift, int | float)):
        _fail(path, f"{place}.drift", "a number, or null", shown(drift))


def _fail(path: Path, place: str, expected: str, found: str) -> NoReturn:
    raise SheetError([Fault(str(path), place, expected, found)])


def same_values(a: Mapping[str, Any], b: Mapping[str, Any]) -> bool:
    """Whether a cell holds what it held: both values as written, the drift, and how bad it is; a finding's case, what it
    rests on.

    Drifts and values agree but for the last digits of floating point, which differ from machine to machine.
    """
    return (
        # What a case says in words follows from what it rests on.
        ("kind" not in b or (a["master"], a["value"]) == (b["master"], b["value"]))
        and a["level"] == b["level"]
        and _close(a.get("drift"), b.get("drift"))
        and _same_rests(a.get("rests"), b.get("rests"))
    )


def is_known(saved: SavedCheck, data: Mapping[str, Any], *, by_state: bool = False) -> bool:
    """Whether a saved check has this cell or case as it is, where asked in the same state too."""
    before = saved.cells.get((data["shot"], data["parameter"]))
    return (
        before is not None
        and same_values(before, data)
        and (not by_state or before["state"] == data["state"])
    )


def _same_rests(a: Any, b: Any) -> bool:
    if not isinstance(a, Mapping) or not isinstance(b, Mapping):
        return a is b
    try:
        return all(alike(*(decoded_bound(side.get(name)) for side in (a, b))) for name in ("value", "master"))
    except ValueError:
        return False


def _close(a: float | None, b: float | None) -> bool:
    if a is None or b is None:
        return a is b
    return math.isclose(a, b, rel_tol=1e-6, abs_tol=1e-9)


def compared(old: SavedCheck, new: SavedCheck) -> CheckChanges:
    """What changed from `old` to `new`."""
    old_shots, new_shots = _shots(old), _shots(new)
    both = old_shots & new_shots if old.shots is not None and new.shots is not None else old_shots | new_shots
    mended, decided, moved, fresh, unchanged = [], [], [], [], 0
    for key, before in old.cells.items():
        after = new.cells.get(key)
        if key[0] in both and _is_off(before) and (after is None or not _is_off(after)):
            mended.append(before)
    for key, after in new.cells.items():
        if key[0] not in both or not _is_off(after):
            continue
        earlier = old.cells.get(key)
        if earlier is None or not _is_off(earlier):
            fresh.append(after)
        elif not same_values(earlier, after):
            moved.append((earlier, after))
        elif earlier["state"] != after["state"]:
            decided.append((earlier, after))
        else:
            unchanged += 1
    return CheckChanges(
        tuple(mended),
        tuple(fresh),
        tuple(moved),
        tuple(decided),
        unchanged,
        tuple(sorted(old_shots - both)),
        tuple(sorted(new_shots - both)),
    )


def _is_off(cell: Mapping[str, Any]) -> bool:
    """Whether a cell or case is out of tolerance; what follows from others goes with these."""
    return cell["level"] in OFF and not cell.get("follows")


def _shots(saved: SavedCheck) -> set[str]:
    return set(saved.shots) if saved.shots is not None else {shot for shot, _ in saved.cells}


def comparison_data(old: SavedCheck, new: SavedCheck, found: CheckChanges) -> dict[str, Any]:
    """The comparison as plain data, for JSON."""
    return {
        "samelight": FORMAT_VERSION,
        "sequence": new.sequence,
        "masters": [old.master, new.master],
        "mended": [dict(cell) for cell in found.mended],
        "new": [dict(cell) for cell in found.new],
        "moved": [{"before": dict(a), "after": dict(b)} for a, b in found.moved],
        "decided": [{"before": dict(a), "after": dict(b)} for a, b in found.decided],
        "unchanged": found.unchanged,
        "only_in_old": list(found.only_old),
        "only_in_new": list(found.only_new),
    }


def comparison_lines(old: SavedCheck, new: SavedCheck, found: CheckChanges) -> list[str]:
    """The comparison in words, a line each; names stand as they are in the files."""
    lines = [f"{new.sequence}: {_count(found)}"]
    if old.master != new.master:
        lines.append(f"The master was {_version(old.master)} and is {_version(new.master)}.")
    for title, cells in (("mended", found.mended), ("new", found.new)):
        for cell in cells:
            state = "" if cell["state"] == State.UNDECIDED else f", {cell['state']}"
            lines.append(
                f"{title}  {cell['shot']}  {cell['parameter']}  {_values(cell)}"
                f"{_drift(cell)}, {cell['level']}{state}"
            )
    for before, after in found.moved:
        lines.append(
            f"moved  {after['shot']}  {after['parameter']}  {before['value']} → {_values(after)}"
            f"{_drift(after)}, {_way(before, after)}"
        )
    for before, after in found.decided:
        lines.append(f"decided  {after['shot']}  {after['parameter']}  {before['state']} → {after['state']}")
    for title, shots in (("older", found.only_old), ("newer", found.only_new)):
        if shots:
            lines.append(f"Only in the {title} one, and not compared: {', '.join(shots)}.")
    return lines


def _values(cell: Mapping[str, Any]) -> str:
    return f"{cell['value']} for {cell['master']}" if cell["master"] else str(cell["value"])


def _count(found: CheckChanges) -> str:
    return (
        f"{len(found.mended)} mended, {len(found.new)} new, {len(found.moved)} moved, {len(found.decided)} decided, "
        f"{found.unchanged} as before"
    )


def _version(master: int | None) -> str:
    return "none" if master is None else f"version {master}"


def _drift(cell: Mapping[str, Any]) -> str:
    drift = cell.get("drift")
    return "" if drift is None else f" ({drift:.4g} {cell['unit']})".replace(" )", ")")


def _way(before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    """Whether a cell came nearer to the master; a count's drift is a ratio, 1 being the master's."""
    sizes = [_size(cell) for cell in (before, after)]
    if None in sizes or sizes[0] == sizes[1]:
        return "otherwise than before"
    assert sizes[0] is not None and sizes[1] is not None
    return "nearer than before" if sizes[1] < sizes[0] else "further off than before"


def _size(cell: Mapping[str, Any]) -> float | None:
    drift = cell.get("drift")
    if drift is None:
        return None
    if cell["unit"] == "x":
        return abs(math.log(drift)) if drift > 0 else math.inf
    return abs(float(drift))
