"""What a sequence folder holds, read: master setups, one sheet a shot, the policy, and what is wrong with any of it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path

from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.sequence.ahead import File
from samelight.sequence.kept import FEWEST, Kept
from samelight.sequence.reading import Reading
from samelight.sequence.shelf import Asked, Seen, Shelf
from samelight.sequence.troubles import Trouble, rivals, said_of, without_master, without_sheet
from samelight.sheets.errors import Fault, Position, SamelightError, SheetError
from samelight.sheets.plain_files import is_within
from samelight.sheets.sequence import (
    SEQUENCE_FILE,
    Published,
    SequenceFile,
    published_masters,
    read_sequence,
)
from samelight.sheets.sheet import Sheet, read_sheet, without_collection
from samelight.sheets.stamps import Stamp
from samelight.sheets.trees import read_document
from samelight.sources.cut.cuts import Cut, read_cut
from samelight.sources.errors import CaptureError
from samelight.sources.read_well import read_guarded
from samelight.sources.trial import CUT

__all__ = ["CancelledError", "Contents", "Progress", "Shelf", "Trouble", "read_contents"]

Progress = Callable[[int, int, str], None]
"""Called with how many files are read, how many there are to read, and the name of the next."""


class CancelledError(SamelightError):
    """The user stopped the loading."""


@dataclass(slots=True)
class _Steps:
    """The count of the files that are read, told to whoever watches."""

    total: int
    progress: Progress | None
    cancelled: Callable[[], bool] | None
    done: int = 0
    ahead: int = 0
    """How many were read before it was their turn."""

    def look(self) -> None:
        """Raise `CancelledError` where the user stopped the reading."""
        if self.cancelled is not None and self.cancelled():
            raise CancelledError("loading was stopped")

    def came(self, count: int) -> None:
        """So many more were read ahead."""
        self.ahead += count
        self._tell(self.ahead, "")

    def to(self, name: str) -> None:
        """The next file's turn has come."""
        self.look()
        if self.done >= self.ahead:
            self._tell(self.done, name)
        self.done += 1

    def end(self) -> None:
        """All are read."""
        self._tell(self.total, "")

    def _tell(self, done: int, name: str) -> None:
        if self.progress is not None:
            self.progress(done, self.total, name)


@dataclass(frozen=True, slots=True)
class Contents:
    """A sequence folder as it was read at one moment. `master_version` is the setup that shots are held against."""

    sequence: SequenceFile
    policy: Policy
    own_policy: Policy
    shots: tuple[str, ...]
    masters: dict[int, Sheet]
    master_version: int | None
    sheets: dict[str, Sheet]
    versions: dict[str, dict[int, Path]]
    troubles: tuple[Trouble, ...]
    cut: Cut | None = None
    """The cut with its ranges, where it comes from a file."""
    newest_master: int = 0
    """The newest version that is published, whether or not it can be read or is the one in use; 0 without any."""

    def __eq__(self, other: object) -> bool:
        """Whether the folder held the same, also in the spelling of values: 1 is neither 1.0 nor true."""
        if not isinstance(other, Contents):
            return NotImplemented
        return (
            all(getattr(self, each.name) == getattr(other, each.name) for each in fields(self))
            and all(_as_typed(sheet, other.masters[version]) for version, sheet in self.masters.items())
            and all(_as_typed(sheet, other.sheets[shot]) for shot, sheet in self.sheets.items())
        )

    def __hash__(self) -> int:
        return hash((self.shots, self.master_version))

    @property
    def master(self) -> Sheet | None:
        """The master setup that shots are held against."""
        return None if self.master_version is None else self.masters[self.master_version]

    def read_sheet(self, shelf: Shelf, path: Path, shot: str | None, version: int) -> Sheet:
        """A sheet by the sequence's conventions and policy. Raises `SheetError`."""
        _, outcome = _outcome(
            shelf, path, shot, version, Kept(self.sequence.folder, self.sequence, self.policy)
        )
        if isinstance(outcome, SheetError):
            raise SheetError(outcome.faults)
        return outcome


def _as_typed(one: Sheet, other: Sheet) -> bool:
    return one is other or repr(dict(one.typed)) == repr(dict(other.typed))


@without_collection()
def read_contents(
    folder: Path,
    shelf: Shelf,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    only: Collection[str] | None = None,
    reading: Reading | None = None,
) -> Contents:
    """Read a sequence folder.

    A sheet that cannot be read makes its shot a trouble and stops nothing else. `only` are the shots of which alone
    something changed since the shelf was used last, where that is known: the others are not looked at, unless they are
    to be read in another way. `reading` may leave shots out, which then have no sheet. Raises `SheetError` when
    sequence.yaml or a policy is at fault, and `CancelledError`.
    """
    how = reading or Reading()
    shelf.policy = how.policy or shelf.policy
    sequence = _sequence(folder, shelf)
    policy, own_policy = _policies(sequence, shelf)
    troubles: list[Trouble] = []
    cut = _cut_from_file(sequence, shelf, troubles)
    order = shelf.order(sequence, cut)
    read = how.chosen(order.shots, sequence)
    is_whole = len(read) == len(order.shots)
    rules = shelf.rules(sequence.conventions, policy.kinds)
    asked = {shot: (sequence.pinned.get(shot), rules) for shot in read}
    setups, found = published_masters(folder), _looked_at(folder, shelf, asked, only)
    published = {shot: one.published if isinstance(one, Seen) else one for shot, one in found.items()}
    due = {shot: one for shot, one in found.items() if isinstance(one, Published)}
    troubles += [*order.troubles, *rivals(setups, None)]
    troubles += [rival for shot, one in published.items() if one.rivals for rival in rivals(one, shot)]
    steps = _Steps(len(setups.versions) + len(due), progress, cancelled)
    kept, files = Kept(folder, sequence, policy), list(_files(setups, due, sequence.pinned))
    if len(setups.versions) + len(read) >= FEWEST and not shelf.has_sheets:
        shelf.kept = kept
        kept.load(path for path, _, _ in files)
    if not is_whole:
        shelf.kept = None  # some shots are not to be kept in the place of all
    how.take_parts(kept)
    how.read_ahead(kept, files, steps.came, steps.look)
    masters: dict[int, Sheet] = {}
    for version, path in setups.versions.items():
        steps.to(path.name)
        _, outcome = _outcome(shelf, path, None, version, kept)
        if isinstance(outcome, Sheet):
            masters[version] = outcome
        troubles += said_of(outcome, None, version)
    sheets: dict[str, Sheet] = {}
    for shot, one in found.items():
        if isinstance(one, Seen):
            seen = one
        else:
            steps.to(shot)
            seen = shelf.put(shot, _read_shot(shelf, shot, one, asked[shot], kept))
        unbuilt = None if seen.sheet is None else _of_no_master(seen.sheet, setups, seen.stamp)
        if unbuilt is not None:
            troubles += said_of(unbuilt, shot, 0)
            continue
        if seen.sheet is not None:
            sheets[shot] = seen.sheet
        troubles += seen.troubles
    steps.end()
    kept.drop_offers()
    if not is_whole:
        own_policy = Policy()  # what it names may be in the shots that were left out
    return Contents(
        sequence,
        policy,
        own_policy,
        order.shots,
        masters,
        _reference_version(sequence, setups, masters, troubles),
        sheets,
        {shot: one.versions for shot, one in published.items()},
        tuple(troubles),
        cut,
        max(setups.versions, default=0),
    )


def _policies(sequence: SequenceFile, shelf: Shelf) -> tuple[Policy, Policy]:
    """The program's policy with the sequence's own on top, and what is the sequence's own of it."""
    base = default_policy()
    if sequence.policy is None:
        return base, Policy()
    path = sequence.policy
    policy = shelf.get(path, "policy", lambda: read_policy(path, base))
    return policy, Policy(
        tolerances=policy.tolerances[len(base.tolerances) :], locks=policy.locks[len(base.locks) :]
    )


def _sequence(folder: Path, shelf: Shelf) -> SequenceFile:
    path = folder / SEQUENCE_FILE
    try:
        way = ((folder / "policy.yaml").exists(), shelf.policy)
        return shelf.get(path, way, lambda: read_sequence(folder, shelf.policy))
    except SheetError:
        shelf.forget(path)  # a file that it names may be what is missing, and come
        raise


def _looked_at(
    folder: Path, shelf: Shelf, asked: Mapping[str, Asked], only: Collection[str] | None
) -> dict[str, Seen | Published]:
    """Every shot as it was where it still is so, or need not be looked at; else its sheets as they are listed now."""
    place, some = str(folder / "shots"), frozenset(asked if only is None else only)
    found: dict[str, Seen | Published] = {}
    for shot, how in asked.items():
        seen = None if shot in some else shelf.as_seen(shot, how)
        found[shot] = shelf.look(shot, f"{place}/{shot}", how) if seen is None else seen
    return found


def _files(setups: Published, due: Mapping[str, Published], pinned: Mapping[str, int]) -> Iterator[File]:
    """The files that are to be read."""
    yield from ((path, None, version) for version, path in setups.versions.items())
    for shot, published in due.items():
        chosen = _chosen_version(published, pinned.get(shot))
        if chosen is not None:
            yield published.versions[chosen], shot, chosen


def _read_shot(shelf: Shelf, shot: str, published: Published, asked: Asked, kept: Kept) -> Seen:
    """What there is of a shot whose sheets are listed."""
    pin, _ = asked
    version = _chosen_version(published, pin)
    if version is None:
        return Seen(asked, published, None, None, None, (without_sheet(shot, published, pin),))
    path = published.versions[version]
    stamp, outcome = _outcome(shelf, path, shot, version, kept)
    sheet = outcome if isinstance(outcome, Sheet) else None
    return Seen(asked, published, str(path), stamp, sheet, said_of(outcome, shot, version))


def _of_no_master(sheet: Sheet, setups: Published, stamp: Stamp | None) -> SheetError | None:
    """What is wrong with a sheet that says it was built on a master setup that was never published, if it does."""
    newest = max(setups.versions, default=0)
    if (
        not newest or sheet.master is None or 0 < sheet.master <= newest
    ):  # an older one may have been put away since
        return None
    line, column = _place_of_master(sheet.path, stamp) or (None, None)
    expected = f"the version of a published master setup, {newest} at most"
    found = f"version {sheet.master}, which was never published"
    return SheetError([Fault(str(sheet.path), "master", expected, found, line, column)])


@lru_cache(maxsize=256)
def _place_of_master(path: Path, stamp: Stamp | None) -> Position | None:
    """Where a sheet, as it was with this stamp, says which master setup it was built on."""
    try:
        return read_document(path).faults.locate(("master",))
    except SheetError:
        return None


def _chosen_version(published: Published, pin: int | None) -> int | None:
    if pin is not None:
        return pin if pin in published.versions else None
    return max(published.versions, default=None)


def _outcome(
    shelf: Shelf, path: Path, shot: str | None, version: int, kept: Kept
) -> tuple[Stamp | None, Sheet | SheetError]:
    """A sheet, or what is wrong with it, with the stamp of its file from before it was read."""
    given, kinds = kept.sequence.conventions, kept.policy.kinds

    def read() -> Sheet:
        return read_sheet(path, shot=shot, version=version, given=given, kinds=kinds)

    stamp, outcome = shelf.outcome(
        path, (shot, version, given, kinds), lambda: kept.get(path, shot, version, read)
    )
    if isinstance(outcome, SheetError) and not is_within(path, kept.folder):
        # What it quotes may be nobody's business.
        outcome = SheetError([Fault(str(path), "", "a sheet", "a link to another file outside the sequence")])
    return stamp, outcome


def _cut_from_file(sequence: SequenceFile, shelf: Shelf, troubles: list[Trouble]) -> Cut | None:
    """The cut that sequence.yaml names a file for; None where it names none, or one that cannot be read."""
    path, rate = sequence.cut_file, sequence.frame_rate
    if path is None:
        return None

    def read() -> Cut:
        try:
            return read_guarded(path, CUT, read_cut, path, rate)
        except CaptureError as error:
            raise SheetError([error.fault]) from None

    try:
        return shelf.get(path, rate, read)
    except SheetError as error:
        says = f"The cut cannot be read, so that shots stand in the order of their names and no run of them is known: {error.faults[0]}"
        troubles.append(Trouble(says, faults=error.faults))
        return None


def _reference_version(
    sequence: SequenceFile, setups: Published, masters: Mapping[int, Sheet], troubles: list[Trouble]
) -> int | None:
    files = setups.versions
    if setups.unreadable:
        says = f"Nothing is compared: the folder of master setups cannot be read: {setups.unreadable}."
        troubles.append(Trouble(says))
        return None
    if not files:
        troubles.append(without_master(sequence.folder, sequence.key_shot))
        return None
    wanted = sequence.master if sequence.master is not None else max(files)
    if wanted in masters:
        return wanted
    why = "cannot be read" if wanted in files else "is asked for and not there"
    troubles.append(Trouble(f"Nothing is compared: master version {wanted} {why}."))
    return None
