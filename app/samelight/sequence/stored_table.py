"""Drift tables kept from one day to the next, so that only what changed is compared again: one of each set-up.

One file a sequence beside its kept sheets, under the same conditions: it may be deleted at any time, and what is damaged
or was of anything else counts as nothing. Sheets are known by the digests of their files.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.drift.cells import Grade
from samelight.drift.figures import OfEntries
from samelight.drift.policy import Policy
from samelight.drift.pool import Pool
from samelight.drift.rows import Entry, Row
from samelight.drift.table import Table
from samelight.sequence.contents import Contents
from samelight.sequence.disk import DAMAGE
from samelight.sequence.store import FEWEST
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value, decoded, encoded

_ENDING = "table"
_GRADES = tuple(Grade)
_AS_THEY_ARE = frozenset({float, str, bool, type(None)})
"""Kinds of values that JSON gives back as they were."""


Kept = tuple[Table, dict[str, Sheet]]
"""A table as it was kept, with the sheets it was of."""


def load_tables(contents: Contents) -> list[Kept | None]:
    """For each part of the contents its table as it was kept, with the sheets it was of, most of which will be those there are
    now; None where nothing was kept for its shots, what they are compared with, its policy and key shot."""
    nothing: list[Kept | None] = [None] * len(contents.parts)
    try:
        line, _, body = contents.disk.read(_ENDING).partition(b"\n")
        data = json.loads(line)
        if data["head"] != _head(contents):
            return nothing
        arrays = BytesIO(body)
        stored = {(of["setup"], of["follows"]): (of, _arrays(arrays)) for of in data["tables"]}
        return [
            _loaded(contents, part, *stored.get((part.name, part.follows), ())) for part in contents.parts
        ]
    except DAMAGE:
        return nothing


def _loaded(contents: Contents, part: Contents, data: Any = None, arrays: Any = None) -> Kept | None:
    """The table of a part; None where what is kept is of anything else, or nobody knows any more what it was of."""
    if data is None or data["of"] != _of(contents, part):
        return None
    try:
        sheets = {shot: _sheet(contents, shot, *of) for shot, of in data["sheets"].items()}
    except KeyError:
        return None
    return _unpacked(data, arrays, part), sheets


def save_tables(contents: Contents, tables: Sequence[Table]) -> None:
    """Keep the table of each part of the contents, where the sequence is large enough and all its files are known for
    certain."""
    store, folder = contents.store, contents.sequence.folder
    digests = {shot: store.digest(sheet) for shot, sheet in contents.sheets.items()}
    if len(contents.sheets) < FEWEST or None in digests.values():
        return
    files = {
        shot: (sheet.path.relative_to(folder).as_posix(), digests[shot])
        for shot, sheet in contents.sheets.items()
    }
    stored: list[dict[str, Any]] = []
    arrays = BytesIO()
    for part, table in zip(contents.parts, tables, strict=True):
        of = _of(contents, part)
        if of is None:
            continue
        shown = dict.fromkeys([*part.shots, part.sequence.key_shot or "", part.follows])
        values: list[Any] = []
        entries, remarks = _coded(table, values)
        stored.append(
            {
                "setup": part.name,
                "follows": part.follows,
                "of": of,
                "sheets": {shot: files[shot] for shot in shown if shot in files},
                "rows": [(r.parameter, r.section, r.group, r.leaf, r.kind, r.light_type) for r in table.rows],
                "values": values,
                "remarks": remarks,
            }
        )
        aways = np.array([entry.away if entry else 0.0 for entry in table.pool], dtype=np.float64)
        for array in (table.codes, entries, *table.of_entries, aways):
            np.save(arrays, array, allow_pickle=False)
    if stored:
        line = json.dumps({"head": _head(contents), "tables": stored}).encode()
        contents.disk.write(_ENDING, line + b"\n" + arrays.getvalue())


def _head(contents: Contents) -> dict[str, Any]:
    measured = {shot: repr(one) for shot, one in sorted(contents.measured.items())}
    return {**({"measured": measured} if measured else {}), **contents.disk.head}


def _of(contents: Contents, part: Contents) -> dict[str, Any] | None:
    """What has to be the same for the table of a part to hold; None where that is not certain."""
    reference = _reference(contents, part)
    if reference is None:
        return None
    return {
        "policy": hashlib.sha256(repr(part.policy).encode()).hexdigest(),
        "shots": list(part.shots),
        "key_shot": part.sequence.key_shot,
        "reference": reference,
    }


def _reference(contents: Contents, part: Contents) -> list[Any] | None:
    """The files, with their digests, of what a part is compared with: its master, and where that comes from another set-up
    what is its own of it, and that one's; None where there is none, or a file is not known for certain."""
    found: list[Any] = []
    at: Contents | None = part
    while at is not None:
        sheet = at.master
        if sheet is not None and not at.follows:
            sheet = at.published.get(sheet.version, sheet)
        digest = None if sheet is None else contents.store.digest(sheet)
        if sheet is None or digest is None:
            return None
        found.append([sheet.path.relative_to(contents.sequence.folder).as_posix(), digest])
        stated = None if at.follows else contents.sequence.setups.get(at.name)
        at = None if stated is None or stated.base is None else contents.setup_called(stated.base)
        if at is not None and at.master is None:
            at = None  # nothing is taken over from it
        elif at is not None and stated is not None:
            found.append(list(stated.apart))
    return found


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


def _unpacked(data: Mapping[str, Any], arrays: Sequence[NDArray[Any]], contents: Contents) -> Table:
    codes, entries, drift, severity, grade, aways = arrays
    values, remarks = _Values(data["values"]), data["remarks"]
    rows = tuple(_row(contents.policy, *stated) for stated in data["rows"])
    count = len(entries) + 1
    numbers = ((entries[:, :2], len(values.stated)), (entries[:, 2:], len(remarks)), (grade, len(_GRADES)))
    if (
        entries.shape[1:] != (3,)
        or not count == len(drift) == len(severity) == len(grade) == len(aways)
        or any(((given < 0) | (given >= most)).any() for given, most in (*numbers, (codes, count)))
        or codes.shape != (len(rows), len(contents.shots))
        or codes.dtype != np.int32
    ):
        raise ValueError("a table of another shape")

    def entry(code: int) -> Entry:
        master, own, said = entries[code - 1].tolist()
        off, heavy, away = (float(of[code]) for of in (drift, severity, aways))
        # One object for all that is no number, so that entries of equal values are equal.
        off = math.nan if math.isnan(off) else off
        return Entry(values[master], values[own], off, heavy, _GRADES[grade[code]], remarks[said], away)

    figures = OfEntries(drift, severity, grade)
    return Table(contents.shots, rows, Pool(count, entry), codes, figures, grade[codes])


class _Values(dict[int, Value | None]):
    """Values by their numbers, each one object that is decoded when it is first asked for."""

    def __init__(self, stated: Sequence[Any]) -> None:
        super().__init__()
        self.stated = stated

    def __missing__(self, number: int) -> Value | None:
        value = self.stated[number]
        return self.setdefault(number, value if value.__class__ in _AS_THEY_ARE else decoded(value))


def _arrays(stream: BytesIO) -> list[NDArray[Any]]:
    """The six arrays of the next table."""
    return [read_array(stream) for _ in range(6)]


def read_array(stream: BytesIO) -> NDArray[Any]:
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
