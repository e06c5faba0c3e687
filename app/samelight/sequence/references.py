"""What shots are compared with: the master, an older master, another shot, the shot before, or their own versions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from samelight.drift.computed.attempts import NotComputed
from samelight.drift.computed.derived import derived_rows, key_sheet
from samelight.drift.computed.rig import Whole
from samelight.drift.joined import joined
from samelight.drift.rebuilt import Rebuild, regraded, with_columns, with_columns_of_each
from samelight.drift.table import Table, build_table
from samelight.sequence.contents import Contents
from samelight.sheets.errors import SamelightError, SheetError
from samelight.sheets.garbage import without_collection
from samelight.sheets.moved import each_moved
from samelight.sheets.sheet import Sheet


class Against(StrEnum):
    """The kinds of reference."""

    MASTER = "the master"
    OLDER_MASTER = "an older master"
    SHOT = "a shot"
    BEFORE = "the shot before"
    VERSIONS = "versions of a shot"


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference to compare with. `version` is a master's, or of `shot` where its versions are compared."""

    against: Against = Against.MASTER
    version: int | None = None
    shot: str | None = None

    @property
    def text(self) -> str:
        """The reference in words, for a list to choose from."""
        match self.against:
            case Against.OLDER_MASTER:
                return f"master v{self.version:03d}"
            case Against.SHOT:
                return f"shot {self.shot}"
            case Against.VERSIONS:
                return f"{self.shot} v{self.version:03d}, its versions"
            case _:
                return str(self.against)


_OF_ALL = (Against.MASTER, Against.OLDER_MASTER, Against.SHOT)
"""The references that are one sheet for all shots."""

MASTER = Reference()
"""The sequence's own reference, on which decisions are made."""


class NoReferenceError(SamelightError):
    """A reference that is not there."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """A drift table, and for each of its columns the sheet that stands there and the sheet it is compared with.

    `failed` are the computed rows that the table lacks, since working them out failed. `parts` are those of the set-ups,
    in their order, where there are several.
    """

    reference: Reference
    table: Table
    sheets: Mapping[str, Sheet]
    reference_sheets: Mapping[str, Sheet]
    failed: tuple[NotComputed, ...] = ()
    parts: tuple[Comparison, ...] = ()


@without_collection()
def compare_again(before: Comparison, was: Contents, contents: Contents) -> Comparison:
    """`compare` with the reference of `before`, which was of `was`: what did not change is not compared again.

    Raises `NoReferenceError`.
    """
    reference = before.reference
    if not before.parts and not contents.setups:
        return _again(before, was, contents)
    known = {_place(part): (part, of) for part, of in zip(was.setups, before.parts, strict=False)}

    def again(part: Contents) -> Comparison:
        found = known.get(_place(part))
        return compare(part, reference) if found is None else _again(found[1], found[0], part)

    if reference.against is Against.VERSIONS or not contents.setups:
        return compare(contents, reference)
    return of_parts(contents, reference, [again(part) for part in contents.setups])


def _place(part: Contents) -> tuple[str, str]:
    """By what a set-up is known from one reading to the next."""
    return part.name, part.follows


def of_parts(contents: Contents, reference: Reference, parts: Sequence[Comparison]) -> Comparison:
    """The comparison of all shots, of those of the set-ups."""
    held = {shot: sheet for part in parts for shot, sheet in part.reference_sheets.items()}
    failed = tuple(one for part in parts for one in part.failed)
    table = joined(contents.shots, [part.table for part in parts])
    return Comparison(reference, table, contents.sheets, held, failed, tuple(parts))


def _again(before: Comparison, was: Contents, contents: Contents) -> Comparison:
    """The same of what is compared as one."""
    reference = before.reference
    found: Comparison | None = None
    if before.failed or was.measured != contents.measured:
        return compare(contents, reference)
    if reference.against in _OF_ALL:
        found = _mended(before, was, contents)
    elif reference.against is Against.BEFORE:
        found = _mended_in_pairs(before, was, contents)
    return found or compare(contents, reference)


def _mended(before: Comparison, was: Contents, contents: Contents) -> Comparison | None:
    """The comparison with one sheet for all where a few sheets or tolerances changed; None where more did."""
    reference_sheet = _reference_sheet(contents, before.reference)
    if reference_sheet is None or reference_sheet is not _reference_sheet(was, before.reference):
        return None
    changed, keys = _changed(was, contents), _keys(contents, reference_sheet)
    if changed is None or keys is not _keys(was, reference_sheet):
        return None
    table: Table | None = _graded_as_now(before.table, was, contents)
    if table is not None and changed:
        held = {shot: contents.sheets[shot] for shot in changed if shot in contents.sheets}
        failed: list[NotComputed] = []
        moved = each_moved(reference_sheet, held, changed)
        against = moved if isinstance(moved, dict) else dict.fromkeys(changed, moved)
        derived = derived_rows(changed, held, moved, keys, _whole_of(before.table), failed, contents.measured)
        if failed:
            return None
        mending = Rebuild(table, changed, contents.sheets, was.sheets, against, contents.policy, derived)
        table = with_columns(mending, reference_sheet)
    reference_sheets = _of_each(each_moved(reference_sheet, contents.sheets, contents.shots), contents.shots)
    return None if table is None else Comparison(before.reference, table, contents.sheets, reference_sheets)


def _mended_in_pairs(before: Comparison, was: Contents, contents: Contents) -> Comparison | None:
    """The comparison of each shot with the one before it, likewise."""
    changed, keys = _changed(was, contents), _keys(contents, contents.master)
    if changed is None or keys is not _keys(was, was.master):
        return None
    reference_sheets, own = _shots_before(contents), set(changed)
    anew = {
        shot: reference_sheet
        for shot, reference_sheet in reference_sheets.items()
        if shot in own or reference_sheet is not before.reference_sheets.get(shot)
    }
    table: Table | None = _graded_as_now(before.table, was, contents)
    if table is not None and anew:
        failed: list[NotComputed] = []
        derived = derived_rows(
            list(anew), contents.sheets, anew, keys, _whole_of(before.table), failed, contents.measured
        )
        if failed:
            return None
        table = with_columns_of_each(
            Rebuild(table, changed, contents.sheets, was.sheets, anew, contents.policy, derived)
        )
    return None if table is None else Comparison(before.reference, table, contents.sheets, reference_sheets)


def _changed(was: Contents, contents: Contents) -> list[str] | None:
    """The shots whose sheet is another one; None where too much is, so that all are compared anew."""
    if contents.shots != was.shots or contents.policy.kinds != was.policy.kinds:
        return None
    changed = [shot for shot in contents.shots if contents.sheets.get(shot) is not was.sheets.get(shot)]
    return changed if len(changed) <= max(len(contents.shots) // 8, 1) else None


def _keys(contents: Contents, reference_sheet: Sheet | None) -> Sheet | None:
    return key_sheet(contents.sequence.key_shot, reference_sheet, contents.sheets)


def _whole_of(table: Table) -> Whole:
    """What the computed figures of some shots share with those of all."""
    lights, environments = (
        tuple(dict.fromkeys(row.group for row in table.rows if row.section == section))
        for section in ("lights", "environments")
    )
    return Whole(lights, environments, frozenset(row.parameter for row in table.rows))


def _graded_as_now(table: Table, was: Contents, contents: Contents) -> Table:
    return table if contents.policy == was.policy else regraded(table, contents.policy)


@without_collection()
def compare(contents: Contents, reference: Reference = MASTER) -> Comparison:
    """Every shot against a reference, with computed rows. Raises `NoReferenceError`.

    Against `BEFORE` each shot is compared with its neighbour in the cut, so that the first has nothing to be held
    against. Against `VERSIONS` the columns are the readable versions of one shot.
    """
    if contents.setups and reference.against is not Against.VERSIONS:
        return of_parts(contents, reference, [compare(part, reference) for part in contents.setups])
    if reference.against is Against.BEFORE:
        before = _shots_before(contents)
        return _comparison(contents, reference, contents.shots, contents.sheets, before, contents.master)
    if reference.against is Against.VERSIONS:
        return _versions(contents, reference)
    sheet = _reference_sheet(contents, reference)
    against = None if sheet is None else each_moved(sheet, contents.sheets, contents.shots)
    return _comparison(contents, reference, contents.shots, contents.sheets, against, sheet)


def _comparison(
    contents: Contents,
    reference: Reference,
    columns: Sequence[str],
    sheets: Mapping[str, Sheet],
    against: Sheet | Mapping[str, Sheet] | None,
    setup: Sheet | None,
) -> Comparison:
    """Columns compared with one sheet, or each against its own; `setup` may name the key shot."""
    failed: list[NotComputed] = []
    derived = derived_rows(
        columns, sheets, against, _keys(contents, setup), failed=failed, measured=contents.measured
    )
    table = build_table(columns, sheets, against, contents.policy, derived)
    reference_sheets = {} if against is None else _of_each(against, columns)
    return Comparison(reference, table, sheets, reference_sheets, tuple(failed))


def _of_each(against: Sheet | Mapping[str, Sheet], shots: Sequence[str]) -> Mapping[str, Sheet]:
    return dict.fromkeys(shots, against) if isinstance(against, Sheet) else against


def _reference_sheet(contents: Contents, reference: Reference) -> Sheet | None:
    if reference.against is Against.MASTER:
        return contents.master
    if reference.against is Against.SHOT:
        sheet = contents.sheets.get(reference.shot or "")
        if sheet is None:
            raise NoReferenceError(f"{reference.shot} has no readable sheet to compare with")
        return sheet
    master = contents.masters.get(reference.version or 0)
    if master is None and not contents.name and not contents.follows:
        raise NoReferenceError(f"there is no readable master version {reference.version}")
    return master


def _versions(contents: Contents, reference: Reference) -> Comparison:
    if reference.shot is None or reference.shot not in contents.versions:
        raise NoReferenceError(f"there is no shot {reference.shot} in the cut")
    sheets, unreadable = versions_of(contents, reference.shot)
    name, contents = f"v{reference.version:03d}", contents.setup_of(reference.shot)
    if name in unreadable:
        raise NoReferenceError(f"{reference.shot} {name} is unreadable: {unreadable[name].faults[0]}")
    if name not in sheets:
        raise NoReferenceError(f"{reference.shot} has no version {reference.version}")
    return _comparison(contents, reference, tuple(sheets), sheets, sheets[name], sheets[name])


def versions_of(contents: Contents, shot: str) -> tuple[dict[str, Sheet], dict[str, SheetError]]:
    """The readable versions of a shot by name, such as v002, oldest first; and what is wrong with the others."""
    sheets: dict[str, Sheet] = {}
    unreadable: dict[str, SheetError] = {}
    for version, path in contents.versions.get(shot, {}).items():
        try:
            sheets[f"v{version:03d}"] = contents.read_sheet(path, shot, version)
        except SheetError as error:
            unreadable[f"v{version:03d}"] = error
    return sheets, unreadable


def _shots_before(contents: Contents) -> dict[str, Sheet]:
    """For every shot but the first the sheet of the shot before it that has one."""
    reference_sheets: dict[str, Sheet] = {}
    before: Sheet | None = None
    for shot in contents.shots:
        if before is not None:
            reference_sheets[shot] = before
        before = contents.sheets.get(shot) or before
    return reference_sheets
