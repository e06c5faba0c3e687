"""The drift table kept from one day to the next, so that only what changed is compared again.

One file a sequence beside its kept sheets, under the same conditions: it may be deleted at any time, and what is damaged
or was of anything else counts as nothing. Sheets are known by the digests of their files.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.policy import Policy
from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table, figures_of
from samelight.sequence.contents import Contents
from samelight.sequence.disk import DAMAGE
from samelight.sequence.store import FEWEST
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value, decoded, encoded

_ENDING = "table"
_GRADES = tuple(Grade)
_AS_THEY_ARE = frozenset({float, str, bool, type(None)})
"""Kinds of values that JSON gives back as they were."""


def load_table(contents: Contents) -> tuple[Table, dict[str, Sheet]] | None:
    """The table as it was kept, with the sheets it was of, most of which will be those there are now.

    None where nothing was kept for this cut, master setup, policy and key shot.
    """
    try:
        line, _, arrays = contents.disk.read(_ENDING).partition(b"\n")
        data = json.loads(line)
        if contents.master is None or data["head"] != _head(contents, contents.master):
            return None
        sheets = {shot: _sheet(contents, shot, *of) for shot, of in data["sheets"].items()}
        return _unpacked(data, BytesIO(arrays), contents), sheets
    except DAMAGE:
        return None


def save_table(contents: Contents, table: Table) -> None:
    """Keep the table against the master, where its sequence is large enough and all its files are known for certain."""
    master = contents.master
    if master is None or len(contents.sheets) < FEWEST:
        return
    store, folder = contents.store, contents.sequence.folder
    digests = {shot: store.digest(sheet) for shot, sheet in contents.sheets.items()}
    if None in digests.values() or store.digest(master) is None:
        return
    sheets = {
        shot: (sheet.path.relative_to(folder).as_posix(), digests[shot])
        for shot, sheet in contents.sheets.items()
    }
    values: list[Any] = []
    entries, remarks = _coded(table, values)
    data = {
        "head": _head(contents, master),
        "sheets": sheets,
        "rows": [(r.parameter, r.section, r.group, r.leaf, r.kind, r.light_type) for r in table.rows],
        "values": values,
        "remarks": remarks,
    }
    arrays = BytesIO()
    aways = np.array([entry.away if entry else 0.0 for entry in table.pool], dtype=np.float64)
    for array in (table.codes, entries, *figures_of(table.pool), aways):
        np.save(arrays, array, allow_pickle=False)
    contents.disk.write(_ENDING, json.dumps(data).encode() + b"\n" + arrays.getvalue())


def _head(contents: Contents, master: Sheet) -> dict[str, Any]:
    name = master.path.relative_to(contents.sequence.folder).as_posix()
    measured = {shot: repr(one) for shot, one in sorted(contents.measured.items())}
    return {
        **({"measured": measured} if measured else {}),
        **contents.disk.head,
        "policy": repr(contents.policy),
        "shots": list(contents.shots),
        "key_shot": contents.sequence.key_shot,
        "master": [name, contents.store.digest(master)],
    }


def _sheet(contents: Contents, shot: str, name: str, digest: str) -> Sheet:
    """The sheet that a table had for a shot. Raises KeyError where there is no saying what was in it."""
    folder, store, sheet = contents.sequence.folder, contents.store, contents.sheets.get(shot)
    if sheet is not None and str(sheet.path) == f"{folder}/{name}" and store.digest(sheet) == digest:
        return sheet  # the most frequent by far, found without making a path
    return store.at_hand(folder / name, digest)


def _coded(table: Table, values: list[Any]) -> tuple[NDArray[np.int32], list[str]]:
    """For every entry of the pool the numbers of its reference, its value and its remark, shape (entries, 3)."""
    number_of: dict[int, int] = {}
    remarks: dict[str, int] = {}

    def number(value: Value | None) -> int:
        found = number_of.get(id(value))
        if found is None:
            found = number_of[id(value)] = len(values)
            values.append(encoded(value))
        return found

    held = [entry for entry in table.pool if entry is not None]
    entries = [
        (number(entry.master), number(entry.value), remarks.setdefault(entry.remark, len(remarks)))
        for entry in held
    ]
    return np.array(entries, dtype=np.int32).reshape(-1, 3), list(remarks)


def _unpacked(data: Mapping[str, Any], arrays: BytesIO, contents: Contents) -> Table:
    codes, entries, drift, severity, grade, aways = (_array(arrays) for _ in range(6))
    values = [value if value.__class__ in _AS_THEY_ARE else decoded(value) for value in data["values"]]
    remarks: list[str] = data["remarks"]
    if entries.shape[1:] != (3,) or not len(entries) + 1 == len(drift) == len(severity) == len(grade) == len(
        aways
    ):
        raise ValueError("a table of another shape")
    masters, theirs, said = entries.T.tolist()
    # One object for all that is no number, so that entries of equal values are equal.
    drifts = [math.nan if math.isnan(off) else off for off in drift[1:].tolist()]
    grades = [_GRADES[graded] for graded in grade[1:].tolist()]
    pool: list[Entry | None] = [
        None,
        *map(
            Entry,
            map(values.__getitem__, masters),
            map(values.__getitem__, theirs),
            drifts,
            severity[1:].tolist(),
            grades,
            map(remarks.__getitem__, said),
            aways[1:].tolist(),
        ),
    ]
    rows = tuple(_row(contents.policy, *stated) for stated in data["rows"])
    if (
        codes.shape != (len(rows), len(contents.shots))
        or codes.dtype != np.int32
        or codes.max(initial=0) >= len(pool)
    ):
        raise ValueError("a table of another shape")
    return Table(contents.shots, rows, pool, codes, drift[codes], severity[codes], grade[codes])


def _array(stream: BytesIO) -> NDArray[Any]:
    """The next array. Raises ValueError where it says that it is larger than what there is of it."""
    start = stream.tell()
    np.lib.format.read_magic(stream)
    shape, _, kind = np.lib.format.read_array_header_1_0(stream)
    if math.prod(shape) * kind.itemsize > stream.getbuffer().nbytes - stream.tell():
        raise ValueError("an array that is cut off")
    stream.seek(start)
    found: NDArray[Any] = np.load(stream, allow_pickle=False)
    return found


def _row(policy: Policy, name: str, section: str, group: str, leaf: str, kind: str, light_type: str) -> Row:
    tolerance, lock = policy.tolerance(name, kind, light_type), policy.lock(name, light_type)
    return Row(name, section, group, leaf, kind, tolerance, lock, light_type)
