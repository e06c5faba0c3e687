"""What a drift table is made of: rows, and the entry of a row for one shot."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from samelight.drift.cells import ABSENT, EXTRA, Grade
from samelight.drift.derived_names import APART
from samelight.drift.metrics import SCALES, measure, severity
from samelight.drift.policy import Lock, Tolerance
from samelight.sheets.names import parameter_name
from samelight.sheets.values import Curve, Value
from samelight.sheets.vocabulary import COUNT


class Row(NamedTuple):
    """One parameter, or with an empty `leaf` the presence of a whole group.

    `light_type` is the type of the light it belongs to, for patterns such as `lights.<distant>.level`.
    """

    parameter: str
    section: str
    group: str
    leaf: str
    kind: str
    tolerance: Tolerance
    lock: Lock | None
    light_type: str = ""

    @property
    def group_name(self) -> str:
        """The full name of the group the row belongs to, such as `lights.sun`."""
        return parameter_name(self.section, self.group)

    def of(self, reference: Value | None, away: float = 0.0) -> Row:
        """The row with the tolerance of one cell: by what it is compared with, and how many metres that is from a mark."""
        if reference is None or not (self.tolerance.seen or self.tolerance.share):
            return self
        still = reference.keys[0][1] if isinstance(reference, Curve) else reference
        tolerance = self.tolerance.of(still, away)
        return self if tolerance is self.tolerance else self._replace(tolerance=tolerance)


@dataclass(frozen=True, slots=True)
class ExtraRow:
    """A row that is computed and not typed, such as the level at a mark: reference and value for each shot.

    `remarks` are said beside the figures of a shot; those of `ungraded` shots are shown and not graded. A shot with a
    remark and neither reference nor value has no figure, for the reason that the remark gives.
    """

    parameter: str
    section: str
    group: str
    leaf: str
    kind: str
    pairs: Mapping[str, tuple[Value | None, Value | None]]
    remarks: Mapping[str, str] = field(default_factory=dict)
    ungraded: frozenset[str] = frozenset()


class Entry(NamedTuple):
    """What a row holds for one shot. `master` is the reference the value is compared with. Two are equal where all of them are,
    and what is no number (one object: `math.nan`) equals itself.

    The grade is NONE where there is a value but nothing to hold it against, since its whole group is absent or
    extra: the row of the group's presence then says so once.
    """

    master: Value | None
    value: Value | None
    drift: float
    severity: float
    grade: Grade
    remark: str = ""
    away: float = 0.0
    """Of a light's place that is not where it is compared with, how many metres that is from the nearest mark; else 0."""


NOTHING = Entry(None, None, math.nan, 0.0, Grade.NONE)
"""What a cell without an entry reads as."""


def entry_of(row: Row, reference: Value | None, value: Value | None) -> Entry:
    """A value compared with its reference; one that only one side has is absent or extra."""
    if reference is None:
        return one_sided(row, reference, value, EXTRA)
    if value is None:
        return one_sided(row, reference, value, ABSENT)
    return graded(row, reference, value)


def derived_entry(row: Row, extra: ExtraRow, shot: str) -> Entry | None:
    """What a computed row holds for a shot; None where it has nothing to say of it."""
    reference, value = extra.pairs.get(shot, (None, None))
    remark = extra.remarks.get(shot, "")
    if reference is None and value is None:
        return Entry(None, None, math.nan, 0.0, Grade.NONE, remark) if remark else None
    if shot in extra.ungraded:
        return Entry(reference, value, math.nan, 0.0, Grade.NONE, remark)
    if reference is value:
        return Entry(reference, value, SCALES[row.kind].neutral, 0.0, Grade.SAME, remark)
    entry = entry_of(row, reference, value)
    if not remark:
        return entry
    return entry._replace(remark=f"{entry.remark}; {remark}" if entry.remark else remark)


def one_sided(row: Row, reference: Value | None, value: Value | None, how: str) -> Entry:
    """An entry of which only one side is there. No tolerance excuses that."""
    # A lock holds what the master has; what it does not have at all breaks none.
    grade = Grade.DRIFT if how == EXTRA and not row.leaf else bad_grade(row)
    return Entry(reference, value, math.nan, math.inf, grade, how)


def graded(row: Row, reference: Value, value: Value) -> Entry:
    """A value measured against its reference and graded by the row's tolerance and lock."""
    measured = measure(row.kind, reference, value)
    row = row.of(reference)
    heavy = severity(row.kind, measured.drift, row.tolerance.at_most)
    if heavy == 0.0:
        grade = Grade.SAME
    elif heavy <= 1.0:
        grade = inside_grade(row)
    else:
        grade = bad_grade(row, measured.drift)
    return Entry(reference, value, measured.drift, heavy, grade, measured.remark)


def inside_grade(row: Row) -> Grade:
    """The grade of what differs inside its tolerance. No subject is lit in two shots alike, and no two frames are: there is nothing to say of it."""
    return Grade.SAME if row.section in APART else Grade.WITHIN


def bad_grade(row: Row, drift: float = math.nan) -> Grade:
    """The grade of what is outside its tolerance: more samples than the master's cost time and break no lock."""
    return Grade.BREAK if row.lock and not costs_only(row, drift) else Grade.DRIFT


def costs_only(row: Row, drift: float) -> bool:
    """Whether a drift is of samples or rays, and there are more of them than in the master."""
    return row.kind == COUNT and drift > 1.0 and _SAMPLING.search(row.leaf) is not None


_SAMPLING = re.compile(r"(^|[._])(samples|rays)($|[._])")
